"""quantity of boardvet."""
