"""intent of boardvet."""
