"""View: workloads, everything that can be on together solved over the life of the cells."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Self

from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Spread
from boardvet.circuit.junctions import ROOM_TEMPERATURE
from boardvet.circuit.operating import Operating
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.target import Target
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.physics.cell import open_circuit_voltage

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Solved", "Workload", "Workloads", "coldest", "shares_of", "workload_of"]

STEPS = 20
"""Into how many equal steps the charge is cut, besides the points of the cells' own curves."""

_SAME = 9
"""Decimals in which shares are told apart: a slope between closer ones would be noise."""

FALL = 0.1
"""Two e-folds of the current of an LED: how far cells may fall from share to share. [V]"""

MOST_PARTS = 20
"""Into no more parts is a step cut: one of volts is that of many cells in a row, with lights in a
row to match, or a slip of the pen."""

Solved = tuple[tuple[Meeting, Operating], ...]
"""What can be on together, and what the board does then."""


@dataclass(frozen=True)
class Workload:
    """One timeline, solved at each share of charge used.

    Parameters
    ----------
    timeline : Timeline
        What is on when; one that another source feeds is not solved.
    typical : Solved
        At 25 °C: mean currents, with what reservoirs do for the pulses.
    cold, still : Solved
        At the coldest temperature stated: lowest voltages, with reservoirs and without.
    """

    timeline: Timeline
    typical: Solved = field(repr=False)
    cold: Solved = field(repr=False)
    still: Solved = field(repr=False)


@dataclass(frozen=True)
class Workloads:
    """The workloads of the board, in the order of its timelines.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used at which they are solved.
    all : tuple of Workload
        One a timeline.
    """

    used: Floats = field(repr=False)
    all: tuple[Workload, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Solve every timeline that lives on cells.

        Raises
        ------
        MissingFact
            Where there is no cell, or a fact that the current rests on is missing.
        SolverError
            If a network has no solution that could be found.
        """
        import numpy as np

        used = np.array(sorted(shares_of(circuit)))
        timelines = circuit.view(Timelines).all
        return cls(used, tuple(workload_of(circuit, each, used) for each in timelines))

    def on_cell(self) -> Iterator[Workload]:
        """Yield the workloads that live on cells."""
        return (workload for workload in self.all if workload.timeline.on_cell)


def coldest(circuit: Circuit) -> float:
    """Return the temperature at which dips are taken: 25 °C unless the cold end is lower."""
    stated = circuit.intent.temperature
    return min(ROOM_TEMPERATURE, stated.value.low) if stated is not None else ROOM_TEMPERATURE


def shares_of(circuit: Circuit) -> set[float]:
    """Return the shares of the charge used at which the cells of a board are solved.

    Between two of them the cells together fall by no more than `FALL`, as far as `MOST_PARTS` go.
    """
    cells = circuit.view(Target).cells.need_any()
    points = {step / STEPS for step in range(STEPS + 1)}
    for cell in cells:
        curve = cell.curve
        points.update(at for at, _ in (*curve.voltage_points, *curve.resistance_points))
    shares = sorted({round(at, _SAME) for at in points})
    found = set(shares)
    for before, after in pairwise(shares):
        fall = sum(
            open_circuit_voltage(cell.curve, before) - open_circuit_voltage(cell.curve, after)
            for cell in cells
        )
        parts = min(math.ceil(fall / FALL - 1e-9), MOST_PARTS)
        found.update(
            round(before + (after - before) * part / parts, _SAME) for part in range(1, parts)
        )
    return found


def workload_of(
    circuit: Circuit, timeline: Timeline, used: Floats, spread: Spread | None = None
) -> Workload:
    """Solve one timeline at shares of the charge used.

    Parameters
    ----------
    circuit : Circuit
        The board.
    timeline : Timeline
        One that another source feeds is not solved.
    used : array, shape (B,)
        Shares of the charge used.
    spread : Spread, optional
        How the parts of each row differ from typical.

    Raises
    ------
    MissingFact
        Where a fact that the current rests on is missing.
    SolverError
        If a network has no solution that could be found.
    """
    from boardvet.circuit.pulses import pulsed

    if not timeline.on_cell:
        return Workload(timeline, (), (), ())
    running, cold = circuit.view(Running), coldest(circuit)
    shares = tuple(map(float, used))
    still = running.over(timeline, shares, None, spread)
    typical = pulsed(circuit, timeline, still, used, None, spread)
    if cold == ROOM_TEMPERATURE:
        return Workload(timeline, typical, typical, still)
    still = running.over(timeline, shares, cold, spread)
    carried = pulsed(circuit, timeline, still, used, cold, spread)
    return Workload(timeline, typical, carried, still)
