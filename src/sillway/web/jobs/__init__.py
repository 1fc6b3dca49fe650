"""Long work: what runs, how far it is, and stopping it."""
