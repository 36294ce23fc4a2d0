"""A cell emptied in plain Python, in 2,000 equal parts of its charge: the oracle of a discharge.

Nothing of the program is used here: straight lines for voltage and resistance, Ohm's law, and the
equation of a junction, solved by halving.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

STEPS = 2000

THERMAL_VOLTAGE = 1.380649e-23 * 300.15 / 1.602176634e-19
"""k·T/q at 27 °C, of the constants of the SI. [V]"""

YEAR = 365.25 * 86400.0
"""[s]"""


class Sloping(NamedTuple):
    """A cell whose voltage [V] and resistance [ohm] are straight lines from fresh to empty.

    `charge` is in C; `loss` is the current that self-discharge amounts to: 1.5 % a year, the
    middle of the 1 to 2 % of Energizer's CR2032 data sheet (Form 2032NA0618). [A]
    """

    fresh: float = 3.2
    empty: float = 2.0
    ohms_fresh: float = 10.0
    ohms_empty: float = 60.0
    charge: float = 225e-3 * 3600.0

    @property
    def loss(self) -> float:
        """Return what self-discharge amounts to, in amperes."""
        return 0.015 * self.charge / YEAR

    def page(self, stop: str = "0.1 V", part: str = "BT1") -> str:
        """Return the entry of an intent page for this cell."""
        return (
            f"{{part: {part}, type: CR2032, capacity: {self.charge!r} C, stop: {stop}, "
            f"voltage: {self.fresh} V at 0 % and {self.empty} V at 100 %, "
            f"resistance: {self.ohms_fresh} ohm at 0 % and {self.ohms_empty} ohm at 100 %}}"
        )

    def at(self, used: float) -> tuple[float, float]:
        """Return voltage and resistance at a share of the charge used."""
        volts = self.fresh + (self.empty - self.fresh) * used
        return volts, self.ohms_fresh + (self.ohms_empty - self.ohms_fresh) * used


Current = Callable[[float, float], float]
"""What is drawn on average from a voltage [V] behind a resistance [ohm]. [A]"""

Lasts = Callable[[float, float], bool]
"""Whether the board still works there."""


def always(volts: float, ohms: float) -> bool:
    """Let the board work to the last."""
    return True


def run_time(cell: Sloping, current: Current, lasts: Lasts = always) -> float:
    """Return how long a cell lasts, in seconds."""
    total = 0.0
    for step in range(STEPS):
        volts, ohms = cell.at((step + 0.5) / STEPS)
        if not lasts(volts, ohms):
            break
        total += cell.charge / STEPS / (current(volts, ohms) + cell.loss)
    return total


def mean_over_charge(cell: Sloping, current: Current) -> float:
    """Return the mean of the current over the curve of the cell, as people divide by it."""
    return sum(current(*cell.at((step + 0.5) / STEPS)) for step in range(STEPS)) / STEPS


class Light(NamedTuple):
    """An LED in series with a resistor: 10 mA at `forward` volts, n, Rs, and the resistor."""

    forward: float
    emission: float
    series: float
    ohms: float

    @property
    def facts(self) -> str:
        """Return the facts of the LED in board notation."""
        return (
            f" = forward_voltage {self.forward} V at 10 mA = emission {self.emission}"
            f" = series_resistance {self.series} ohm"
        )

    def drawn(self, volts: float, ohms: float) -> float:
        """Return its current from a voltage behind a resistance, by halving. [A]."""
        slope = self.emission * THERMAL_VOLTAGE
        saturation = 10e-3 / math.expm1((self.forward - 10e-3 * self.series) / slope)
        whole = ohms + self.ohms + self.series
        low, high = 0.0, 1.0
        for _ in range(100):
            middle = (low + high) / 2.0
            if middle * whole + slope * math.log1p(middle / saturation) > volts:
                high = middle
            else:
                low = middle
        return low
