"""How mean current and lowest voltages answer to each quantity that differs from board to board.

Solving ten thousand boards one by one takes long. Instead each quantity is set to both of its
limits by itself, and the board is solved; between them the answer is a parabola, and the answers
to several quantities are multiplied (currents) or added (voltages). Where boards are within their
limits this is within some tenths of a per cent of solving each, and within a few per cent where
the cells lose much of their voltage inside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.lives import Differences, differences_of
from boardvet.circuit.variation import Deviations, Quantity, Tolerances

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["MOST_QUANTITIES", "Surface", "asked_of", "surface_of"]

MOST_QUANTITIES = 60
"""With more than this, solving some boards takes less than solving both limits of each."""

Key = tuple[Quantity, str]


@dataclass(frozen=True)
class _Asking:
    """A typical board that keeps what is asked of it."""

    asked: dict[Key, None] = field(default_factory=dict)

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return 0 for the typical board."""
        self.asked[quantity, reference] = None
        return np.zeros(1)


@dataclass(frozen=True)
class _OneByOne:
    """A typical board, then two for each quantity: at its upper limit, and at its lower."""

    keys: tuple[Key, ...]

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return one number for each board."""
        found = np.zeros(1 + 2 * len(self.keys))
        if (quantity, reference) in self.keys:
            place = self.keys.index((quantity, reference))
            found[1 + 2 * place], found[2 + 2 * place] = 1.0, -1.0
        return found


@dataclass(frozen=True)
class Surface:
    """The answers to each quantity: d·slope + d²·bend, d its deviation in limits.

    Parameters
    ----------
    keys : tuple of (Quantity, str)
        What differs: of which part.
    current : (array, array), shape (Q, C) each
        Slope and bend of the logarithm of the mean current, at coarse shares of the charge.
    volts : mapping of (subject, mode) to (array, array)
        The same of the lowest voltage. [V]
    """

    keys: tuple[Key, ...]
    current: tuple[Floats, Floats]
    volts: dict[tuple[object, str], tuple[Floats, Floats]]

    def differences(self, deviations: Deviations, numbers: Indices) -> Differences:
        """Return by what some boards differ from the typical one."""
        drawn = np.array([deviations.of(*key)[numbers] for key in self.keys])
        drawn = drawn.reshape(len(self.keys), len(numbers)).T
        return Differences(
            np.exp(_answer(drawn, self.current)),
            {key: _answer(drawn, parts) for key, parts in self.volts.items()},
        )


def asked_of(circuit: Circuit, discharge: Discharge, tolerances: Tolerances) -> tuple[Key, ...]:
    """Return the quantities on which currents and voltages of a board rest."""
    asking = _Asking()
    differences_of(circuit, discharge, tolerances, asking, np.array([0]))
    return tuple(asking.asked)


def surface_of(
    circuit: Circuit, discharge: Discharge, tolerances: Tolerances, keys: tuple[Key, ...]
) -> Surface:
    """Solve the board with each quantity at both of its limits."""
    boards = _OneByOne(keys)
    numbers = np.arange(1 + 2 * len(keys))
    found = differences_of(circuit, discharge, tolerances, boards, numbers)
    return Surface(
        keys,
        _parabola(np.log(found.current)),
        {key: _parabola(volts) for key, volts in found.volts.items()},
    )


def _parabola(values: Floats) -> tuple[Floats, Floats]:
    """Return slope and bend through the values at the upper and the lower limit."""
    upper, lower = values[1::2], values[2::2]
    return (upper - lower) / 2.0, (upper + lower) / 2.0


def _answer(drawn: Floats, parts: tuple[Floats, Floats]) -> Floats:
    slope, bend = parts
    return np.asarray(drawn @ slope + drawn**2 @ bend, dtype=np.float64)
