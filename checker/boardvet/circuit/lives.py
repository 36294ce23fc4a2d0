"""The arithmetic behind the view `Batches`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from boardvet.circuit.cell import Cell
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.drain import Lowest
from boardvet.circuit.handle import Circuit
from boardvet.circuit.life import at_its_rate, own_loss, simulate
from boardvet.circuit.target import Target
from boardvet.circuit.variation import Deviations, Tolerances, Variation
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
    drains, lowest = simulate(circuit, np.tile(coarse, len(numbers)), variation)
    mean = sum(drain.timeline.share * drain.total for drain in drains)
    shape = (len(numbers), len(coarse))
    taken = np.asarray(mean).reshape(shape)
    ratio = np.minimum(taken / np.maximum(taken[:1], _LEAST), _MOST_TIMES)
    ratio = np.where(taken[:1] > _LEAST, ratio, 1.0)
    used = discharge.used
    typical = Variation(tolerances, deviations, numbers)
    current = at_its_rate(circuit, discharge.drawn * _onto(used, coarse, ratio))
    capacity = discharge.capacity.value * _capacity(circuit, typical)
    times = elapsed(used, current + own_loss(circuit), capacity)
    stop = np.full(len(numbers), 1.0)
    for fine, rough in zip(discharge.lowest, lowest, strict=True):
        stop = np.minimum(stop, _stop(used, coarse, fine, rough, shape))
    return time_until(used, times, stop)


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
    lower = _onto(used, coarse, volts - volts[:1])
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
