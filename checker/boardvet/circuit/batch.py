"""View: batches, how the run time spreads over boards whose parts are not all typical.

Each board is solved at a few shares of the charge, together with a typical one. How much more
or less than that one it takes, and how much lower it dips, changes little from share to share, so
the typical discharge in fine steps carries these few over to the whole life.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.variation import Corner, Deviations, RandomBoards, Tolerances

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Batches", "Lives"]

BOARDS = 400
"""How many boards are drawn where nobody asks for more: a share of 1 in 20 is then known to one in
a hundred."""

SEED = 20
AT_ONCE = 1000
"""How many boards are solved in one go, so that arrays stay small and progress can be told."""


class Lives(NamedTuple):
    """The run times of several boards, in the order in which they were drawn. [s]."""

    run_times: Floats

    def share_reaching(self, wanted: float) -> float:
        """Return what share of the boards runs as long as wanted, in seconds, or longer."""
        return float((self.run_times >= wanted).mean())


class Range(NamedTuple):
    """The run time with every part at its worst, and at its best. [s]."""

    worst: float
    best: float


@dataclass(frozen=True)
class Batches:
    """Draws boards and lets them run."""

    circuit: Circuit = field(repr=False)
    _drawn: dict[tuple[int, int], Lives] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; boards are drawn as they are asked for, and kept."""
        return cls(circuit)

    def corners(self) -> Range:
        """Return the run time with everything against it, and with everything for it.

        Raises
        ------
        MissingFact
            As the view `Discharge`.
        """
        _, worst, best = (float(value) for value in self._lives(Corner(), [1, 2]))
        return Range(worst, best)

    def most(self) -> Lives:
        """Return the largest batch that was drawn, `BOARDS` boards where none was."""
        largest = max(self._drawn, default=None)
        return self.drawn(BOARDS) if largest is None else self._drawn[largest]

    def drawn(self, boards: int, seed: int = SEED) -> Lives:
        """Return the run times of boards drawn at random; the circuit's `progress` is told.

        Parameters
        ----------
        boards : int
            How many, at least 1.
        seed : int
            The same seed draws the same boards.

        Raises
        ------
        MissingFact
            As the view `Discharge`.
        """
        if (boards, seed) not in self._drawn:
            self._drawn[boards, seed] = Lives(self._draw(boards, seed))
        return self._drawn[boards, seed]

    def _draw(self, boards: int, seed: int) -> Floats:
        import numpy as np

        deviations = RandomBoards(boards, seed)
        parts: list[Floats] = []
        for first in range(1, boards + 1, AT_ONCE):
            some = range(first, min(first + AT_ONCE, boards + 1))
            parts.append(self._lives(deviations, list(some))[1:])
            if self.circuit.progress is not None:
                self.circuit.progress("boards drawn", some[-1], boards)
        return np.concatenate(parts)

    def _lives(self, deviations: Deviations, boards: list[int]) -> Floats:
        """Return the run time of the typical board, then of some others, in seconds."""
        from boardvet.circuit.lives import lives_of

        tolerances = self.circuit.view(Tolerances)
        discharge = self.circuit.view(Discharge)
        return lives_of(self.circuit, discharge, tolerances, deviations, boards)
