"""Boards that differ only in the resistance of their cells, solved over their lives together.

Cells of one chemistry have the same curve in all sizes but for their resistance. One batch of all
sizes takes little longer than one size.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.workload import Solved, Workload, Workloads, shares_of, workload_of
from boardvet.errors import SolverError
from boardvet.physics.cell import CurvePoints

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["ScaledCells", "families", "solve_together"]

_FIGURES = 9
"""Significant figures to which two curves have to agree."""


@dataclass(frozen=True)
class ScaledCells:
    """A `Spread` in which the cells have another resistance in each row."""

    factors: Floats

    @property
    def cells_alone(self) -> bool:
        """Nothing but cells differs."""
        return True

    def of(self, rows: Indices) -> ScaledCells:
        """Return some of the rows."""
        return replace(self, factors=self.factors[rows])

    def tiled(self, count: int) -> ScaledCells:
        """Return as many repetitions of the rows."""
        return replace(self, factors=np.tile(self.factors, count))

    def resistance(self, reference: str) -> float | Floats:
        """Return 1: resistors are typical."""
        return 1.0

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return 1: pins are typical."""
        return 1.0

    def forward_shift(self, reference: str) -> float | Floats:
        """Return 0: lights are typical."""
        return 0.0

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a cell is multiplied."""
        return self.factors


def families(circuits: Sequence[Circuit]) -> list[list[Circuit]]:
    """Group circuits of one board whose cells have the same curve but for a factor of resistance.

    Within a group the cell of the largest resistance comes first.
    """
    groups: dict[Hashable, list[Circuit]] = {}
    for circuit in circuits:
        groups.setdefault(_likeness(circuit), []).append(circuit)
    return [sorted(group, key=_ohms, reverse=True) for group in groups.values()]


def solve_together(family: Sequence[Circuit]) -> None:
    """Solve the workloads of a family in one go, and give each circuit its own.

    A family that has no solution together is left to be solved one by one.

    Raises
    ------
    MissingFact
        As the view `Workloads`.
    """
    first = family[0]
    used = np.array(sorted(shares_of(first)))
    factors = np.array([_ohms(each) for each in family]) / (_ohms(first) or 1.0)
    spread = ScaledCells(np.repeat(factors, len(used)))
    rows = np.tile(used, len(family))
    try:
        solved = [
            workload_of(first, timeline, rows, spread) for timeline in first.view(Timelines).all
        ]
    except SolverError:
        return
    for number, circuit in enumerate(family):
        own = slice(number * len(used), (number + 1) * len(used))
        circuit.keep(Workloads(used, tuple(_part(each, own) for each in solved)))


def _part(workload: Workload, rows: slice) -> Workload:
    """Return the rows of one board."""

    def of(solved: Solved) -> Solved:
        return tuple((meeting, operating.rows(rows)) for meeting, operating in solved)

    return Workload(workload.timeline, of(workload.typical), of(workload.cold), of(workload.still))


def _ohms(circuit: Circuit) -> float:
    """Return the resistance of the cells of a board that have most, fresh. [ohm]."""
    cells = circuit.view(Cells).need_any()
    return max(cell.curve.resistance_points[0][1] for cell in cells)


def _likeness(circuit: Circuit) -> Hashable:
    """Return all of the curves of the cells of a board but for a factor of their resistance."""
    most = _ohms(circuit) or 1.0

    def rounded(points: CurvePoints) -> CurvePoints:
        return tuple((at, float(f"{ohms / most:.{_FIGURES}g}")) for at, ohms in points)

    curves = [cell.curve for cell in circuit.view(Cells).need_any()]
    return tuple(
        (
            curve.voltage_points,
            rounded(curve.resistance_points),
            curve.temperature_points,
            curve.pulse_points,
        )
        for curve in curves
    )
