"""Reports of a finished review, one module a format."""
