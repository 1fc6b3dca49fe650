"""The lot: every van, where it stands, how long, and what it waits for."""
