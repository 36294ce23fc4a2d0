"""View: variation, how far parts of one type differ, and boards drawn at random from that.

Each quantity has a limit within which makers keep it. Drawn at random it is normally distributed
with three standard deviations to the limit (common practice, no source); at a corner it stands
at its limit.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol, Self, cast

from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["Corner", "Deviations", "Quantity", "RandomBoards", "Tolerances", "Variation"]

RESISTOR = 0.05
"""Of a resistor whose tolerance nobody states: 5 % (common practice, no source)."""

FORWARD_VOLTAGE = 0.1
"""Wuerth Elektronik 150060SS75003: measurement tolerance of the forward voltage, +-0.1 V. [V]"""

PIN_RESISTANCE = 0.3
"""Assumption, no source: makers draw typical curves of output levels only."""

CAPACITY = 0.1
"""Makers of CR2032 cells print 200 to 250 mAh (common practice, no source)."""

CELL_RESISTANCE = 2.0
"""Up to this factor either way: makers' fresh CR2032 cells have 10 to 40 ohm (second hand)."""


class Quantity(StrEnum):
    """What of a part differs from board to board."""

    RESISTANCE = "resistance"
    FORWARD_VOLTAGE = "forward voltage"
    PIN_RESISTANCE = "pin resistance"
    CAPACITY = "capacity"
    CELL_RESISTANCE = "cell resistance"


class Deviations(Protocol):
    """Of several boards: how far each quantity is from typical, in units of its limit."""

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return one number for each board; 0 is typical, -1 and 1 are the limits."""


@dataclass(frozen=True)
class Corner:
    """Two boards beside a typical one: everything against a long life, and everything for it."""

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return 0 for the typical board, then the worst and the best."""
        import numpy as np

        worse = 1.0 if quantity is Quantity.CELL_RESISTANCE else -1.0
        return np.array([0.0, worse, -worse])


@dataclass(frozen=True)
class RandomBoards:
    """A typical board, then boards drawn at random.

    Parameters
    ----------
    boards : int
        How many are drawn, at least 1.
    seed : int
        The same seed draws the same boards, whatever else is asked for.
    """

    boards: int
    seed: int = 0
    _drawn: dict[tuple[Quantity, str], Floats] = field(default_factory=dict, repr=False)

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return 0 for the typical board, then what was drawn for the others."""
        from zlib import crc32

        import numpy as np

        key = (quantity, reference)
        if key not in self._drawn:
            name = crc32(f"{quantity} {reference}".encode())
            drawn = np.random.default_rng([self.seed, name]).standard_normal(self.boards) / 3.0
            self._drawn[key] = np.concatenate([[0.0], drawn])
        return self._drawn[key]


@dataclass(frozen=True)
class Tolerances:
    """How far parts may be off; what nobody states is noted as an assumption."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; tolerances are read as they are asked for."""
        return cls(circuit)

    def resistance(self, reference: str) -> float:
        """Return by what share a resistor may be off; contacts and channels are not varied."""
        if self.circuit.view(Kinds).kind(reference) is not Kind.RESISTOR:
            return 0.0
        known = cast("Known[float] | None", self.circuit.known(reference, "tolerance"))
        if known is not None:
            return known.value
        self._assume("tolerance of resistors", _percent(RESISTOR), "", "common practice")
        return RESISTOR

    def forward_voltage(self, reference: str) -> float:
        """Return by how much the forward voltage of an LED may be off, in volts."""
        if self.circuit.view(Kinds).kind(reference) is not Kind.LED:
            return 0.0
        self._assume("spread of forward voltages", FORWARD_VOLTAGE, "V", "as one maker states")
        return FORWARD_VOLTAGE

    def pin_resistance(self) -> float:
        """Return by what share the resistance of a pin may be off."""
        self._assume(
            "spread of pin resistances", _percent(PIN_RESISTANCE), "", "no maker states it"
        )
        return PIN_RESISTANCE

    def capacity(self) -> float:
        """Return by what share the capacity of a cell may be off."""
        self._assume(
            "spread of cell capacity", _percent(CAPACITY), "", "between makers of one type"
        )
        return CAPACITY

    def cell_resistance(self) -> float:
        """Return up to which factor, either way, the resistance of a cell may be off."""
        self._assume("spread of cell resistance", CELL_RESISTANCE, "times", "between makers")
        return CELL_RESISTANCE

    def _assume(self, what: str, value: float | str, unit: str, why: str) -> None:
        self.circuit.assume(what, value, unit, f"assumed: {why}")


@dataclass(frozen=True)
class Variation:
    """A spread for the solver: which board each row is of, and how that board deviates.

    Parameters
    ----------
    tolerances : Tolerances
        How far parts may be off.
    deviations : Deviations
        How far those of each board are.
    boards : array of int, shape (B,)
        The board of each row.
    """

    tolerances: Tolerances
    deviations: Deviations
    boards: Indices

    @property
    def cells_alone(self) -> bool:
        """Every part may differ."""
        return False

    def of(self, rows: Indices) -> Variation:
        """Return the variation of some rows."""
        return replace(self, boards=self.boards[rows])

    def tiled(self, count: int) -> Variation:
        """Return the variation of as many repetitions of the rows."""
        import numpy as np

        return replace(self, boards=np.tile(self.boards, count))

    def resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a part is multiplied."""
        return self._share(Quantity.RESISTANCE, reference, self.tolerances.resistance(reference))

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of the pins of a part is multiplied."""
        limit = self.tolerances.pin_resistance()
        return self._share(Quantity.PIN_RESISTANCE, reference, limit)

    def forward_shift(self, reference: str) -> float | Floats:
        """Return what is added to the forward voltage of a part, in volts."""
        limit = self.tolerances.forward_voltage(reference)
        return limit * self._of(Quantity.FORWARD_VOLTAGE, reference) if limit else 0.0

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a cell is multiplied."""
        own = self._of(Quantity.CELL_RESISTANCE, reference)
        return self.tolerances.cell_resistance() ** own

    def capacity(self, reference: str) -> Floats:
        """Return by what the capacity of a cell is multiplied."""
        return 1.0 + self.tolerances.capacity() * self._of(Quantity.CAPACITY, reference)

    def _share(self, quantity: Quantity, reference: str, limit: float) -> float | Floats:
        return 1.0 + limit * self._of(quantity, reference) if limit else 1.0

    def _of(self, quantity: Quantity, reference: str) -> Floats:
        return self.deviations.of(quantity, reference)[self.boards]


def _percent(share: float) -> str:
    return f"{share * 100:g} %"
