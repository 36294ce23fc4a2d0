"""The arithmetic behind the view `Batches`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boardvet.circuit.cell import Cell
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.drain import Lowest, drain_of, lowest_of
from boardvet.circuit.giving import Giving
from boardvet.circuit.handle import Circuit
from boardvet.circuit.life import at_its_rate, own_loss
from boardvet.circuit.running import Running
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.variation import Deviations, Tolerances, Variation
from boardvet.circuit.workload import coldest
from boardvet.physics.discharge import elapsed, first_below, time_until

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["Differences", "differences_of", "lives_of", "lives_with"]

COARSE = (0.0, 0.2, 0.45, 0.7, 0.9, 1.0)
"""Shares of the charge at which boards are compared with the typical one."""

_LEAST = 1e-12
_MOST_TIMES = 1e3


@dataclass(frozen=True)
class Differences:
    """By what boards differ from a typical one, at each of `COARSE` shares of the charge.

    Parameters
    ----------
    current : array, shape (N, C)
        By what the mean current is multiplied.
    volts : mapping of (subject, name of the mode) to array, shape (N, C)
        What is added to the lowest voltage. [V]
    """

    current: Floats
    volts: Mapping[tuple[object, str], Floats]


def lives_of(
    circuit: Circuit,
    discharge: Discharge,
    tolerances: Tolerances,
    deviations: Deviations,
    boards: Sequence[int],
) -> Floats:
    """Return the run time of the typical board (number 0), then of some others, in seconds."""
    numbers = np.array([0, *boards])
    found = differences_of(circuit, discharge, tolerances, deviations, numbers)
    return lives_with(circuit, discharge, Variation(tolerances, deviations, numbers), found)


def differences_of(
    circuit: Circuit,
    discharge: Discharge,
    tolerances: Tolerances,
    deviations: Deviations,
    numbers: Indices,
) -> Differences:
    """Solve some boards; the first of them has to be the typical one."""
    coarse = np.array(COARSE)
    variation = Variation(tolerances, deviations, np.repeat(numbers, len(coarse)))
    shape = (len(numbers), len(coarse))
    mean, lowest = _solved(circuit, np.tile(coarse, len(numbers)), variation)
    taken = mean.reshape(shape)
    ratio = np.clip(taken / np.maximum(taken[:1], _LEAST), 1.0 / _MOST_TIMES, _MOST_TIMES)
    volts: dict[tuple[object, str], Floats] = {}
    for fine in discharge.lowest:
        key = (fine.subject, fine.timeline.name)
        if key in lowest:
            volts[key] = _lowered(discharge.used, fine, lowest[key], shape)
    return Differences(np.where(taken[:1] > _LEAST, ratio, 1.0), volts)


def lives_with(
    circuit: Circuit, discharge: Discharge, variation: Variation, found: Differences
) -> Floats:
    """Return the run time of boards that differ so, in seconds; one row of variation each."""
    coarse, used = np.array(COARSE), discharge.used
    current = at_its_rate(circuit, discharge.drawn * _onto(used, coarse, found.current))
    capacity = discharge.capacity.value * _capacity(circuit, variation)
    times = elapsed(used, current + own_loss(circuit), capacity)
    stop = np.full(len(variation.boards), 1.0)
    for fine in discharge.lowest:
        lower = found.volts.get((fine.subject, fine.timeline.name))
        if lower is not None:
            volts = fine.volts + _onto(used, coarse, lower)
            stop = np.minimum(stop, first_below(used, volts, np.full(len(stop), _limit(fine))))
    return time_until(used, times, stop)


def _solved(
    circuit: Circuit, used: Floats, variation: Variation
) -> tuple[Floats, dict[tuple[object, str], Lowest]]:
    """Return the mean current of each row, and how low it is pulled, reservoirs left out.

    All at the coldest temperature: between boards the difference is the same at any.
    """
    total = np.zeros(len(used))
    lowest: dict[tuple[object, str], Lowest] = {}
    running, cold = circuit.view(Running), coldest(circuit)
    for timeline in circuit.view(Timelines).all:
        if timeline.on_cell:
            solved = running.over(timeline, tuple(used), cold, variation)
            drain = drain_of(circuit, timeline, solved, len(used), apart=False)
            total = total + timeline.share * drain.total
            for each in lowest_of(circuit, timeline, solved):
                lowest[each.subject, timeline.name] = each
    return total, lowest


def _onto(used: Floats, coarse: Floats, values: Floats) -> Floats:
    """Return values at the coarse shares, in straight lines between, at all shares."""
    right = np.clip(np.searchsorted(coarse, used), 1, len(coarse) - 1)
    part = (used - coarse[right - 1]) / (coarse[right] - coarse[right - 1])
    low, high = values[:, right - 1], values[:, right]
    return np.asarray(low + part * (high - low), dtype=np.float64)


def _limit(fine: Lowest) -> float:
    subject = fine.subject
    return subject.end_voltage.value if isinstance(subject, Cell) else subject.volts.value


def _lowered(used: Floats, fine: Lowest, rough: Lowest, shape: tuple[int, int]) -> Floats:
    """Return by how much each board is lower than the typical one."""
    volts = rough.volts.reshape(shape)
    dips = (rough.resting - rough.volts).reshape(shape)[:1]
    carried = np.interp(np.array(COARSE), used, fine.resting - fine.volts)
    # Where a reservoir carries a part of the pulse, so it does on boards that dip more.
    eased = np.where(dips > 0.0, np.minimum(carried / np.maximum(dips, _LEAST), 1.0), 1.0)
    return np.asarray((volts - volts[:1]) * eased, dtype=np.float64)


def _capacity(circuit: Circuit, variation: Variation) -> Floats:
    """Return by what the charge of all cells is multiplied on each board."""
    total = np.zeros(len(variation.boards))
    whole = 0.0
    for bank in circuit.view(Giving).banks:
        row = min(bank.rows, key=lambda cells: sum(c.need_capacity().value for c in cells))
        for cell in row:
            own = cell.need_capacity().value
            total, whole = total + own * variation.capacity(cell.reference), whole + own
    return np.asarray(total / whole, dtype=np.float64)
