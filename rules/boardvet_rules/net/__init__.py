"""Rules on nets."""
