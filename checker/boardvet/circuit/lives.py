"""The arithmetic behind the view `Batches`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from boardvet.circuit.cell import Cell
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.drain import Lowest, drain_of, lowest_of
from boardvet.circuit.handle import Circuit
from boardvet.circuit.life import at_its_rate, own_loss
from boardvet.circuit.running import Running
from boardvet.circuit.target import Target
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.variation import Deviations, Tolerances, Variation
from boardvet.circuit.workload import coldest
from boardvet.physics.discharge import elapsed, first_below, time_until

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["lives_of"]

COARSE = (0.0, 0.2, 0.45, 0.7, 0.9, 1.0)
"""Shares of the charge at which boards are compared with the typical one."""

_LEAST = 1e-12
_MOST_TIMES = 1e3


def lives_of(
    circuit: Circuit,
    discharge: Discharge,
    tolerances: Tolerances,
    deviations: Deviations,
    boards: Sequence[int],
) -> Floats:
    """Return the run time of the typical board (number 0), then of some others, in seconds."""
    numbers = np.array([0, *boards])
    coarse = np.array(COARSE)
    variation = Variation(tolerances, deviations, np.repeat(numbers, len(coarse)))
    shape = (len(numbers), len(coarse))
    mean, lowest = _solved(circuit, np.tile(coarse, len(numbers)), variation)
    taken = mean.reshape(shape)
    ratio = np.minimum(taken / np.maximum(taken[:1], _LEAST), _MOST_TIMES)
    ratio = np.where(taken[:1] > _LEAST, ratio, 1.0)
    used = discharge.used
    typical = Variation(tolerances, deviations, numbers)
    current = at_its_rate(circuit, discharge.drawn * _onto(used, coarse, ratio))
    capacity = discharge.capacity.value * _capacity(circuit, typical)
    times = elapsed(used, current + own_loss(circuit), capacity)
    stop = np.full(len(numbers), 1.0)
    for fine in discharge.lowest:
        rough = lowest.get((fine.subject, fine.timeline.name))
        if rough is not None:
            stop = np.minimum(stop, _stop(used, coarse, fine, rough, shape))
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


def _stop(
    used: Floats, coarse: Floats, fine: Lowest, rough: Lowest, shape: tuple[int, int]
) -> Floats:
    """Return the share used at which each board falls below one limit."""
    subject = fine.subject
    limit = subject.end_voltage.value if isinstance(subject, Cell) else subject.volts.value
    volts = rough.volts.reshape(shape)
    dips = (rough.resting - rough.volts).reshape(shape)[:1]
    carried = np.interp(coarse, used, fine.resting - fine.volts)
    # Where a reservoir carries a part of the pulse, so it does on boards that dip more.
    eased = np.where(dips > 0.0, np.minimum(carried / np.maximum(dips, _LEAST), 1.0), 1.0)
    lower = _onto(used, coarse, (volts - volts[:1]) * eased)
    return first_below(used, fine.volts + lower, np.full(shape[0], limit))


def _capacity(circuit: Circuit, variation: Variation) -> Floats:
    """Return by what the charge of all cells is multiplied on each board."""
    total = np.zeros(len(variation.boards))
    whole = 0.0
    for bank in circuit.view(Target).banks:
        row = min(bank.rows, key=lambda cells: sum(c.need_capacity().value for c in cells))
        for cell in row:
            own = cell.need_capacity().value
            total, whole = total + own * variation.capacity(cell.reference), whole + own
    return np.asarray(total / whole, dtype=np.float64)
