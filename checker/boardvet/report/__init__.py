"""report of boardvet."""
