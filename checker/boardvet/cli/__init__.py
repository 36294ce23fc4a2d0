"""cli of boardvet."""
