"""facts of boardvet."""
