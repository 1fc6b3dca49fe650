"""Bringing in a lot or riders from a sheet: look first, then all of it or nothing."""
