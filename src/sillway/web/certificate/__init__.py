"""The lot's own authority, for phones to install."""
