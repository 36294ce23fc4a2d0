"""Numbers only: networks, junctions, cells. SI floats in and out."""
