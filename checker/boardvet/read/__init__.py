"""read of boardvet."""
