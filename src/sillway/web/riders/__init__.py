"""Riders: the people who call, sealed each under a key of their own."""
