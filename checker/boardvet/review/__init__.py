"""Rules, their runner and what they answered."""
