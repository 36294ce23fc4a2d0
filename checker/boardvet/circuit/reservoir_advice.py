"""What a reservoir would do for a sag: the capacitance, or a plain word where none helps.

Values are put on the board and its pulses are solved in time: lights draw more as the dip shrinks,
and what is fitted already carries a part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from boardvet.circuit.capacitors import Capacitor, Technology
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.reservoirs import Reservoir
from boardvet.circuit.sags import Sag, Sags
from boardvet.known import Known
from boardvet.physics.reservoir_size import NeededCapacitance, Reach, needed_capacitance
from boardvet.quantity import preferred, show, show_time

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["LARGEST", "LOW_RESISTANCE", "Advice", "advice"]

SMALLEST = 1e-6
"""Where the search begins: less is a bypass capacitor. [F]"""

LARGEST = 1e-3
"""What still fits beside a cell and can be bought with little series resistance: common practice,
no source. [F]"""

LOW_RESISTANCE = 0.1
"""Series resistance of a capacitor that is bought for pulses (polymer, several ceramics): common
practice, no source. [ohm]"""

_ASSUMED = "assumed: put in to solve the board with it"


class Advice(NamedTuple):
    """The least capacitance that keeps a voltage, as it can be bought, or why there is none.

    Parameters
    ----------
    capacitance : float or None
        E6 value; 0 where none is needed, None where none helps. [F]
    words : str
        As a clause of a cure.
    """

    capacitance: float | None
    words: str


def advice(
    circuit: Circuit, sag: Sag, limit: float, share: float, fitted: Sequence[Reservoir]
) -> Advice:
    """Return what keeps the node of a sag above a voltage at a share of charge used.

    Parameters
    ----------
    circuit : Circuit
        The board.
    sag : Sag
        The pulses.
    limit : float
        The voltage. [V]
    share : float
        The share of charge used.
    fitted : sequence of Reservoir
        What stays on the board beside the new capacitor.
    """
    run = sag.meeting(share).run
    if sag.at(sag.resting, share) <= limit:
        return Advice(None, f"even without load it is below {show(limit, 'V')} there")
    if sag.at(sag.still, share) >= limit:
        return Advice(0.0, "no reservoir is needed")
    if math.isinf(run):
        return Advice(None, "the load never pauses, so no capacitor helps")
    found = _search(circuit, sag, limit, share, fitted)
    if found is None:
        return _estimate(sag, limit, share)
    return found if found.capacitance else _hopeless(sag, limit, share)


def _search(
    circuit: Circuit, sag: Sag, limit: float, share: float, fitted: Sequence[Reservoir]
) -> Advice | None:
    """Return the least E6 value with which the solved pulses stay above the limit.

    Its capacitance is None where none is large enough; None where they cannot be solved in time.
    """
    import numpy as np

    sags, used = circuit.view(Sags), np.array([share])
    values = _values()

    def solved(value: float) -> Sag:
        return sags.with_reservoirs(sag, (*fitted, _added(circuit, sag, value)), used)

    most = solved(values[-1])
    if np.array_equal(most.lowest, most.still):
        return None
    if not _keeps(most.lowest, limit):
        return Advice(None, "")
    low, high = 0, len(values) - 1  # the value at `high` is known to do
    while low < high:
        middle = (low + high) // 2
        if _keeps(solved(values[middle]).lowest, limit):
            high = middle
        else:
            low = middle + 1
    return Advice(values[high], _bought(values[high]))


def _keeps(volts: Floats, limit: float) -> bool:
    return bool(volts.min() >= limit)


def _values() -> list[float]:
    values = [SMALLEST]
    while values[-1] < LARGEST * 0.99:
        values.append(preferred(values[-1] * 1.01, "E6", "up"))
    return values


def _added(circuit: Circuit, sag: Sag, value: float) -> Reservoir:
    """Return a capacitor from the node to ground that is not on the board."""
    ground = next(iter(circuit.view(Grounds).nodes))
    capacitance = Known(value, "F", _ASSUMED)
    return Reservoir(
        Capacitor("", sag.node, ground, capacitance, Technology.POLYMER),
        capacitance,
        Known(LOW_RESISTANCE, "ohm", _ASSUMED),
    )


def _bought(value: float) -> str:
    return (
        f"{show(value, 'F')} (left under voltage, {show(LOW_RESISTANCE, 'ohm')} or less in series)"
    )


def _estimate(sag: Sag, limit: float, share: float) -> Advice:
    """Return the sum of a constant current, where the pulses are not solved in time."""
    needed = _needed(sag, limit, share)
    if needed.reach is Reach.POSSIBLE and needed.capacitance <= LARGEST:
        value = preferred(needed.capacitance, "E6", "up")
        return Advice(value, f"about {_bought(value)}")
    return _hopeless(sag, limit, share)


def _hopeless(sag: Sag, limit: float, share: float) -> Advice:
    """Say why no capacitor helps, by the sum of a constant current."""
    needed = _needed(sag, limit, share)
    if needed.reach is Reach.MEAN:
        return Advice(None, "the mean current alone pulls it too low, so no capacitor helps")
    if needed.reach is Reach.SERIES_RESISTANCE:
        return Advice(None, "the series resistance of a capacitor alone would drop too much")
    pulse = f"the pulse of {show_time(sag.meeting(share).run)} is too long for a capacitor"
    if needed.capacitance > LARGEST:
        return Advice(None, f"{pulse}, it would take {show(needed.capacitance, 'F')}")
    return Advice(None, f"{pulse}, not even {show(LARGEST, 'F')} carry it")


def _needed(sag: Sag, limit: float, share: float) -> NeededCapacitance:
    allowed = sag.at(sag.resting, share) - limit
    current = sag.at(sag.current, share)
    dip = sag.at(sag.resting, share) - sag.at(sag.still, share)
    run = sag.meeting(share).run
    period = max(sag.period(), run)
    return needed_capacitance(current, run, dip / current, allowed, LOW_RESISTANCE, period)
