"""What a reservoir would do for a sag: the capacitance, or a plain word where none helps.

Values are put on the board and its pulses are solved in time: lights draw more as the dip shrinks,
and what is fitted already carries a part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from boardvet.circuit.capacitors import Capacitor, Technology
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.reservoirs import Reservoir
from boardvet.circuit.sags import Sag, Sags
from boardvet.known import Known
from boardvet.physics.reservoir_size import NeededCapacitance, Reach, needed_capacitance
from boardvet.quantity import preferred, show, show_time

__all__ = ["LARGEST", "LOW_RESISTANCE", "Advice", "Wanted", "advice"]

SMALLEST = 1e-6
"""Where the search begins: less is a bypass capacitor. [F]"""

LARGEST = 1e-3
"""What still fits beside a cell and can be bought with little series resistance: common practice,
no source. [F]"""

LOW_RESISTANCE = 0.1
"""Series resistance of a capacitor that is bought for pulses (polymer, several ceramics): common
practice, no source. [ohm]"""

_ASSUMED = "assumed: put in to solve the board with it"


class Wanted(NamedTuple):
    """That the node of a sag stays above a voltage [V] at a share of the charge used."""

    sag: Sag
    limit: float
    share: float


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


def advice(circuit: Circuit, wanted: Sequence[Wanted], fitted: Sequence[Reservoir]) -> Advice:
    """Return what keeps the voltage of a node in all of its modes of use.

    Parameters
    ----------
    circuit : Circuit
        The board.
    wanted : sequence of Wanted
        At least one; words are about the first.
    fitted : sequence of Reservoir
        What stays on the board beside the new capacitor.
    """
    sag, limit, share = worst = wanted[0]
    run = sag.meeting(share).run
    if sag.at(sag.resting, share) <= limit:
        return Advice(None, f"even without load it is below {show(limit, 'V')} there")
    if sag.at(sag.still, share) >= limit:
        return Advice(0.0, "no reservoir is needed")
    if math.isinf(run):
        return Advice(None, "the load never pauses, so no capacitor helps")
    solved = _Solved(circuit, wanted, fitted)
    if not solved.can_be_followed():
        return _estimate(worst)
    value = solved.least()
    return Advice(value, _bought(value)) if value is not None else _hopeless(worst)


class _Solved(NamedTuple):
    """The board with one capacitor more, solved in time."""

    circuit: Circuit
    wanted: Sequence[Wanted]
    fitted: Sequence[Reservoir]

    def can_be_followed(self) -> bool:
        """Tell whether the largest capacitor makes any difference to the first that is wanted."""
        most = self._sag(self.wanted[0], LARGEST)
        return bool((most.lowest != most.still).any())

    def least(self) -> float | None:
        """Return the least E6 value that keeps all, None where none does. [F]."""
        values = _values()
        if not self._keeps(values[-1]):
            return None
        low, high = 0, len(values) - 1  # the value at `high` is known to do
        while low < high:
            middle = (low + high) // 2
            if self._keeps(values[middle]):
                high = middle
            else:
                low = middle + 1
        return values[high]

    def _keeps(self, value: float) -> bool:
        return all(
            float(self._sag(each, value).lowest.min()) >= each.limit for each in self.wanted
        )

    def _sag(self, wanted: Wanted, value: float) -> Sag:
        import numpy as np

        fitted = (*self.fitted, _added(self.circuit, wanted.sag, value))
        used = np.array([wanted.share])
        return self.circuit.view(Sags).with_reservoirs(wanted.sag, fitted, used)


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


def _estimate(wanted: Wanted) -> Advice:
    """Return the sum of a constant current, where the pulses are not solved in time."""
    needed = _needed(wanted)
    if needed.reach is Reach.POSSIBLE and needed.capacitance <= LARGEST:
        value = preferred(needed.capacitance, "E6", "up")
        return Advice(value, f"about {_bought(value)}")
    return _hopeless(wanted)


def _hopeless(wanted: Wanted) -> Advice:
    """Say why no capacitor helps, by the sum of a constant current."""
    needed = _needed(wanted)
    if needed.reach is Reach.MEAN:
        return Advice(None, "the mean current alone pulls it too low, so no capacitor helps")
    if needed.reach is Reach.SERIES_RESISTANCE:
        return Advice(None, "the series resistance of a capacitor alone would drop too much")
    run = wanted.sag.meeting(wanted.share).run
    pulse = f"the pulse of {show_time(run)} is too long for a capacitor"
    if needed.capacitance > LARGEST:
        return Advice(None, f"{pulse}, it would take {show(needed.capacitance, 'F')}")
    return Advice(None, f"{pulse}, not even {show(LARGEST, 'F')} carries it")


def _needed(wanted: Wanted) -> NeededCapacitance:
    sag, limit, share = wanted
    allowed = sag.at(sag.resting, share) - limit
    current = sag.at(sag.current, share)
    dip = sag.at(sag.resting, share) - sag.at(sag.still, share)
    run = sag.meeting(share).run
    period = max(sag.period(), run)
    return needed_capacitance(current, run, dip / current, allowed, LOW_RESISTANCE, period)
