"""Lines of boards that tests of several rules begin with."""

from __future__ import annotations

__all__ = ["FIVE", "FLAT_CELL", "HOLDER", "cell", "reservoir"]

FIVE = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}"
"""Five volts on VIN."""

FLAT_CELL = (
    "BT1 cell/holder + VIN - GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3.0 V at 0 % and 3.0 V at 100 %, resistance: 15 ohm}"
)
"""A made-up cell on VIN: 3 V to the last behind 15 Ω."""

HOLDER = "BT1 cell/holder + VBAT - GND"


def cell(volts: float = 3.0, ohms: float | str = 20.0, *, end: float | None = None) -> str:
    """Return a cell on VBAT that falls in a straight line, or not at all."""
    last = volts if end is None else end
    curve = f"{volts!r} V at 0 % and {last!r} V at 100 %"
    return (
        f"{HOLDER}\n~ cell: {{part: BT1, type: CR2032, voltage: {curve}, resistance: {ohms} ohm}}"
    )


def reservoir(farads: float, ohms: float = 0.0, reference: str = "C1") -> str:
    """Return a capacitor on VBAT that loses nothing under bias."""
    return (
        f"{reference} {farads * 1e6!r}u/10V VBAT GND"
        f" = dielectric polymer = series_resistance {ohms!r} ohm"
    )
