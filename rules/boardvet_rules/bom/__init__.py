"""Rules on the BOM against the netlist."""
