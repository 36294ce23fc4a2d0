"""View: the cells that the board lives on, without one that only keeps a clock going.

Its charge is no charge of the board: counted in, it would make the run time longer than it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from boardvet.circuit.cell import Cell
from boardvet.circuit.handle import Circuit
from boardvet.circuit.target import Bank, Target
from boardvet.circuit.workload import Workload, Workloads
from boardvet.known import Known

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Giving"]

NOTHING = 0.01
"""A bank that never gives this share of the current is a back-up: assumed."""


@dataclass(frozen=True)
class Giving:
    """The banks of cells that feed the board.

    Parameters
    ----------
    banks : tuple of Bank
        All of them where there is one, or none gives anything.
    """

    banks: tuple[Bank, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Leave out what gives next to nothing, whatever the share of the charge that is used.

        Raises
        ------
        MissingFact
            Where there are several banks and a fact that the current rests on is missing.
        SolverError
            If a network has no solution that could be found.
        """
        banks = circuit.view(Target).banks
        if len(banks) < 2:
            return cls(banks)
        work = list(circuit.view(Workloads).on_cell())
        given = [_given(work, bank) for bank in banks]
        total = sum(given, start=0.0 * given[0])
        giving = tuple(
            bank
            for bank, current in zip(banks, given, strict=True)
            if bool((current > NOTHING * total).any())
        )
        return cls(giving or banks)

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Every cell of them."""
        return tuple(cell for bank in self.banks for cell in bank.cells)

    def need_capacity(self) -> Known[float]:
        """Return their charge, in coulombs; `MissingFact` where a capacity is not known."""
        return Target.sum_of(self.banks)


def _given(work: list[Workload], bank: Bank) -> Floats:
    """Return the mean current of a bank at each share of its charge used. [A]."""
    import numpy as np

    total = np.zeros(1)
    for each in work:
        for meeting, operating in each.typical:
            for cell in bank.rows[0]:
                current = operating.cells.get(cell.reference)
                if current is not None:
                    total = total + each.timeline.share * meeting.weight * current
    return total
