"""Rules on what can hurt someone."""
