"""physics of boardvet."""
