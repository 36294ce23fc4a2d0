"""Rules on rails and their sources."""
