"""Photos, shown to those who may see the record they belong to."""
