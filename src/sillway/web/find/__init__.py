"""One box for everything that is kept."""
