"""Rules on LEDs and their currents."""
