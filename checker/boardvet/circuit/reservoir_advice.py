"""What a reservoir would do for a sag: the capacitance, or a plain word where none helps."""

from __future__ import annotations

import math
from typing import NamedTuple

from boardvet.circuit.sags import Sag
from boardvet.physics.reservoir_size import Reach, needed_capacitance
from boardvet.quantity import preferred, show, show_time

__all__ = ["LARGEST", "Advice", "advice"]

LARGEST = 1e-3
"""What still fits beside a cell and can be bought with little series resistance: common practice,
no source. [F]"""

LOW_RESISTANCE = 0.1
"""Series resistance of a capacitor that is bought for pulses (polymer, several ceramics): common
practice, no source. [ohm]"""


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


def advice(sag: Sag, limit: float, share: float) -> Advice:
    """Return what keeps the node of a sag above a voltage at a share of charge used.

    The current of the pulse is taken as constant, which asks for too much where lights let go.
    """
    allowed = sag.at(sag.resting, share) - limit
    current = sag.at(sag.current, share)
    dip = sag.at(sag.resting, share) - sag.at(sag.still, share)
    run = sag.meeting.run
    if allowed <= 0.0:
        return Advice(None, f"at rest it is below {show(limit, 'V')} there already")
    if current <= 0.0 or dip <= allowed:
        return Advice(0.0, "no reservoir is needed")
    if math.isinf(run):
        return Advice(None, "the load never pauses, so no capacitor helps")
    ohms = dip / current
    period = max(sag.period(), run)
    needed = needed_capacitance(current, run, ohms, allowed, LOW_RESISTANCE, period)
    if needed.reach is Reach.POSSIBLE and needed.capacitance <= LARGEST:
        value = preferred(needed.capacitance, "E6", "up")
        return Advice(value, f"{show(value, 'F')} of low series resistance")
    if needed.reach is Reach.POSSIBLE:
        size = show(needed.capacitance, "F")
        return Advice(None, f"{show_time(run)} would take {size}, more than fits")
    if needed.reach is Reach.MEAN:
        return Advice(None, "the mean current alone pulls it too low, so no capacitor helps")
    return Advice(None, "the series resistance of the capacitor alone would drop too much")
