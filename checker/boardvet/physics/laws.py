"""Current and conductance of junctions and loads, for whole arrays: the inside of the solver."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from boardvet.physics.elements import Floats
from boardvet.physics.junction import THERMAL_VOLTAGE

__all__ = ["LOAD_KNEE", "SMALLEST_RESISTANCE", "CurvedLaw", "JunctionLaw", "LoadLaw", "floored"]

SMALLEST_RESISTANCE = 1e-6
"""What a resistance of 0 counts as: 1 µV at 1 A, and nothing is singular or overflows. [Ω]"""

LOAD_KNEE = 0.2
"""Voltage from which a load draws all of its current. [V]"""

Rows = slice | NDArray[np.intp]
"""Some rows of the batch."""

_START_CURRENT = 1e-3
_SMALLEST_LOGARITHM = -700.0


def floored(resistance: Floats) -> Floats:
    """Return resistances with what is nearly 0 raised to `SMALLEST_RESISTANCE`."""
    return np.maximum(resistance, SMALLEST_RESISTANCE)


class JunctionLaw(NamedTuple):
    r"""Junctions with their series resistance eliminated.

    With y = I + Is the law of a junction reads y = Is·exp((V + Is·Rs − y·Rs)/(n·Vt)), so that
    w = y·Rs/(n·Vt) solves w + ln w = L, L = ln(Is·Rs/(n·Vt)) + (V + Is·Rs)/(n·Vt): w is Lambert's
    function of exp(L). An inner node in its place would double the matrix, and its voltage would
    need limiting of its own. In this form nothing overflows either: for large L, w grows like L.

    All arrays have the shape (B, n).
    """

    logarithm: Floats
    saturation_current: Floats
    slope: Floats
    resistance: Floats
    offset: Floats
    knee: Floats

    @classmethod
    def of(cls, logarithm: Floats, emission: Floats, resistance: Floats) -> JunctionLaw:
        """Prepare the law from ln(Is), n and Rs."""
        slope = emission * THERMAL_VOLTAGE
        resistance = floored(resistance)
        current = np.exp(logarithm)
        offset = logarithm + np.log(resistance / slope) + current * resistance / slope
        knee = slope * (np.log(_START_CURRENT + current) - logarithm)
        knee += _START_CURRENT * resistance
        return cls(logarithm, current, slope, resistance, offset, knee)

    def rows(self, rows: Rows) -> JunctionLaw:
        """Return the law of some rows of the batch."""
        return JunctionLaw(*(array[rows] for array in self))

    def at(self, voltage: Floats) -> tuple[Floats, Floats]:
        """Return the current [A] and the conductance dI/dV [S] at a voltage [V]."""
        level = np.maximum(self.offset + voltage / self.slope, _SMALLEST_LOGARITHM)
        # log(1 + exp(level)), then the start of Iacono and Boyd, good to a few per cent anywhere
        root = np.maximum(level, 0.0) + np.log1p(np.exp(-np.abs(level)))
        root *= 1.0 - np.log1p(root) / (2.0 + root)
        for _ in range(3):
            root *= (1.0 + level - np.log(root)) / (1.0 + root)
        current = root * (self.slope / self.resistance) - self.saturation_current
        return current, root / ((1.0 + root) * self.resistance)

    def limited(self, voltage: Floats, wanted: Floats, tangent: Floats) -> Floats:
        """Return where to linearise next, when the linear network asks for `wanted`.

        An exponential is better known by its current: go to the voltage that belongs to the
        current on the tangent, which is never more than `wanted` since the law is convex. On the
        way up from where next to nothing flows that would creep: go to the knee at least. On the
        way down to no current at all it would be n·Vt a step: go to 0 V.
        """
        asked = tangent + self.saturation_current
        forward = tangent > 0.0
        logarithm = np.log(np.where(forward, asked, 1.0)) - self.logarithm
        by_current = self.slope * logarithm + tangent * self.resistance
        up = np.where(forward, np.maximum(by_current, self.knee), self.knee)
        down = np.where(forward, by_current, 0.0)
        return np.minimum(wanted, np.where(wanted > voltage, up, down))


class LoadLaw(NamedTuple):
    """Loads that draw their current from `LOAD_KNEE` up and nothing at or below 0 V.

    The array has the shape (B, n).
    """

    full: Floats

    def rows(self, rows: Rows) -> LoadLaw:
        """Return the law of some rows of the batch."""
        return LoadLaw(self.full[rows])

    def at(self, voltage: Floats) -> tuple[Floats, Floats]:
        """Return the current [A] and the conductance dI/dV [S] at a voltage [V]."""
        part = np.clip(voltage / LOAD_KNEE, 0.0, 1.0)
        current = self.full * (part * part * (3.0 - 2.0 * part))
        return current, self.full * (6.0 / LOAD_KNEE) * part * (1.0 - part)

    def limited(self, voltage: Floats, wanted: Floats) -> Floats:
        """Stop a step over the steepest point there: from it Newton's steps go one way only."""
        middle = LOAD_KNEE / 2.0
        crossed = (voltage - middle) * (wanted - middle) < 0.0
        return np.where(crossed, middle, wanted)


class CurvedLaw(NamedTuple):
    """Junctions and loads side by side: arrays of shape (B, n), the junctions first."""

    junctions: JunctionLaw
    loads: LoadLaw

    def rows(self, rows: Rows) -> CurvedLaw:
        """Return the laws of some rows of the batch."""
        return CurvedLaw(self.junctions.rows(rows), self.loads.rows(rows))

    def start(self) -> Floats:
        """Return the voltages to begin with: junctions at their knee, loads fully on."""
        return np.concatenate(
            [self.junctions.knee, np.full(self.loads.full.shape, LOAD_KNEE)], axis=1
        )

    def at(self, voltage: Floats) -> tuple[Floats, Floats]:
        """Return the current [A] and the conductance dI/dV [S] at a voltage [V]."""
        count = self.junctions.slope.shape[1]
        if count == voltage.shape[1]:
            return self.junctions.at(voltage)
        first, second = self.junctions.at(voltage[:, :count]), self.loads.at(voltage[:, count:])
        current = np.concatenate([first[0], second[0]], axis=1)
        return current, np.concatenate([first[1], second[1]], axis=1)

    def limited(self, voltage: Floats, wanted: Floats, tangent: Floats) -> Floats:
        """Return where to linearise next, when the linear network asks for `wanted`."""
        count = self.junctions.slope.shape[1]
        first = self.junctions.limited(voltage[:, :count], wanted[:, :count], tangent[:, :count])
        if count == voltage.shape[1]:
            return first
        second = self.loads.limited(voltage[:, count:], wanted[:, count:])
        return np.concatenate([first, second], axis=1)
