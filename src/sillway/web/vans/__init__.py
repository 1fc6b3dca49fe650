"""One van: identity, measures, photos, history."""
