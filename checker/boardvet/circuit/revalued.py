"""How long a board would run with resistors of other values, several changes tried in one go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import resistance
from boardvet.circuit.variation import Quantity, Tolerances

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["run_times_with"]


def run_times_with(circuit: Circuit, changes: Sequence[Mapping[str, float]]) -> tuple[float, ...]:
    """Return the run time with each of some changes, in seconds.

    Parameters
    ----------
    circuit : Circuit
        Is left as it is.
    changes : sequence of mapping of str to float
        The new values of some resistors, by reference, each known by its present value. [ohm]

    Raises
    ------
    MissingFact
        As the view `Discharge`.
    """
    from boardvet.circuit.lives import lives_of

    if not changes:
        return ()
    factors = [
        {reference: ohms / _present(circuit, reference) for reference, ohms in change.items()}
        for change in changes
    ]
    lives = lives_of(
        circuit,
        circuit.view(Discharge),
        _ResistorsAlone(circuit),
        _Changed(tuple(factors)),
        range(1, len(changes) + 1),
    )
    return tuple(float(life) for life in lives[1:])


def _present(circuit: Circuit, reference: str) -> float:
    known = resistance(circuit, reference)
    if known is None or known.value <= 0.0:
        raise KeyError(reference)
    return known.value


class _ResistorsAlone(Tolerances):
    """Deviations of resistors are shares of their value; nothing else differs."""

    def resistance(self, reference: str) -> float:
        """Return 1."""
        return 1.0

    def forward_voltage(self, reference: str) -> float:
        """Return 0."""
        return 0.0

    def pin_resistance(self) -> float:
        """Return 0."""
        return 0.0

    def capacity(self) -> float:
        """Return 0."""
        return 0.0

    def cell_resistance(self) -> float:
        """Return the factor 1."""
        return 1.0


@dataclass(frozen=True)
class _Changed:
    """The board as it is, then one for each change: factors of resistances, by reference."""

    factors: tuple[Mapping[str, float], ...]

    def of(self, quantity: Quantity, reference: str) -> Floats:
        """Return by what share each board differs."""
        import numpy as np

        return np.array([0.0, *(each.get(reference, 1.0) - 1.0 for each in self.factors)])
