"""Rules on cells and batteries."""
