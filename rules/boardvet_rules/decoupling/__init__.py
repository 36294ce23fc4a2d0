"""Rules on bypass and reservoir capacitors."""
