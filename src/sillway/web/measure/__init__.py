"""Measuring, guided: a van in the order of a walk around it, a chair against a wall."""
