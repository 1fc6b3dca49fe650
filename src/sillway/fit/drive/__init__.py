"""Plan-view motion: proof of no, certified drive, and what lies between."""
