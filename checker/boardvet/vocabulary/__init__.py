"""vocabulary of boardvet."""
