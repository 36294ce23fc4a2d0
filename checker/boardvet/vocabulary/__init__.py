"""Data: kinds of part, roles of pins, properties and their words."""
