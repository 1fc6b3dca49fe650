"""Everything that is kept, in one archive."""
