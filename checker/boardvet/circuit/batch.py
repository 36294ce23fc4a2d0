"""View: batches, how the run time spreads over boards whose parts are not all typical.

Boards are solved at a few shares of the charge, together with a typical one. How much more or
less than that one they take, and how much lower they dip, changes little from share to share, so
the typical discharge in fine steps carries these few over to the whole life. Of very many boards
not each is solved: `surface` says how the board answers to each quantity that differs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.variation import Corner, Deviations, RandomBoards, Tolerances, Variation

if TYPE_CHECKING:
    from boardvet.circuit.surface import Surface
    from boardvet.physics.elements import Floats

__all__ = ["Batches", "Lives"]

BOARDS = 400
"""How many boards are drawn where nobody asks for more: a share of 1 in 20 is then known to one in
a hundred."""

SEED = 20
SOLVED_EACH = 500
"""Up to so many boards each is solved by itself; of more, only how the board answers."""

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
    _limits: list[Range] = field(default_factory=list, repr=False)
    _surface: list[Surface | None] = field(default_factory=list, repr=False)

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
        if not self._limits:
            _, worst, best = (float(value) for value in self._lives(Corner(), [1, 2]))
            self._limits.append(Range(worst, best))
        return self._limits[0]

    def reaching(self, wanted: float, boards: int | None = None) -> float:
        """Return what share of a batch runs as long as wanted, in seconds, or longer.

        Where even a board at its worst limits does, or not even one at its best, none is drawn.

        Parameters
        ----------
        wanted : float
            [s]
        boards : int, optional
            How many are drawn; else the largest batch that was, or `BOARDS`.

        Raises
        ------
        MissingFact
            As the view `Discharge`.
        """
        limits = self.corners()
        if limits.worst >= wanted or limits.best < wanted:
            return 1.0 if limits.worst >= wanted else 0.0
        largest = max(self._drawn, default=(BOARDS, SEED))
        lives = self.drawn(*largest) if boards is None else self.drawn(boards)
        return lives.share_reaching(wanted)

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
            numbers = list(some)
            if boards <= SOLVED_EACH or (surface := self._surface_of()) is None:
                parts.append(self._lives(deviations, numbers)[1:])
            else:
                parts.append(self._answered(surface, deviations, numbers))
            if self.circuit.progress is not None:
                self.circuit.progress("boards drawn", some[-1], boards)
        return np.concatenate(parts)

    def _answered(self, surface: Surface, deviations: Deviations, boards: list[int]) -> Floats:
        """Return the run time of some boards that were drawn, by the surface."""
        import numpy as np

        from boardvet.circuit.lives import lives_with

        circuit, numbers = self.circuit, np.array(boards)
        rows = Variation(circuit.view(Tolerances), deviations, numbers)
        found = surface.differences(deviations, numbers)
        return lives_with(circuit, circuit.view(Discharge), rows, found)

    def _surface_of(self) -> Surface | None:
        """Return how the board answers to what differs, None where too much does."""
        from boardvet.circuit.surface import MOST_QUANTITIES, asked_of, surface_of

        if not self._surface:
            tolerances, discharge = self.circuit.view(Tolerances), self.circuit.view(Discharge)
            keys = asked_of(self.circuit, discharge, tolerances)
            few = len(keys) <= MOST_QUANTITIES
            self._surface.append(
                surface_of(self.circuit, discharge, tolerances, keys) if few else None
            )
        return self._surface[0]

    def _lives(self, deviations: Deviations, boards: list[int]) -> Floats:
        """Return the run time of the typical board, then of some others, in seconds."""
        from boardvet.circuit.lives import lives_of

        tolerances = self.circuit.view(Tolerances)
        discharge = self.circuit.view(Discharge)
        return lives_of(self.circuit, discharge, tolerances, deviations, boards)
