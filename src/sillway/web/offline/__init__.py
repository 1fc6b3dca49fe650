"""Work without signal: entries wait on the phone and arrive exactly once."""
