"""A rider against the whole lot, and a van against all who wait."""
