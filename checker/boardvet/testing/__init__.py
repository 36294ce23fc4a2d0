"""testing of boardvet."""
