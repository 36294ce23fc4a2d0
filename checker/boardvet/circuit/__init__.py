"""circuit of boardvet."""
