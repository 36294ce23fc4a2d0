"""Rules on chargers and the cells that they charge."""
