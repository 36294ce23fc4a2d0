"""How large a capacitor beside a load has to be, so that a cell does not sag too far.

The model is that of `boardvet.physics.reservoir`. TI's SWRA349 (Appendix A) credits the cell with
the current Vmin/Ri during the pulse, though it can give no more than (V0 − u)/Ri. Its formula
therefore asks for too little and is not used here: its own 87 µF fall to 1.913 V, not 2.0 V.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import NamedTuple

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive
from boardvet.physics.reservoir import Load, Reservoir, share_of_inner

__all__ = [
    "NeededCapacitance",
    "Reach",
    "alone_capacitance",
    "capacitance_for_steps",
    "needed_capacitance",
]

_LARGEST = 1e6
"""Where the search for a capacitance ends: far beyond anything that is made. [F]"""


class Reach(StrEnum):
    """What a capacitor can do against a dip."""

    UNNEEDED = "none is needed"
    POSSIBLE = "a capacitor keeps it"
    START = "no capacitor keeps it: it begins below"
    MEAN = "no capacitor keeps it: the mean current alone dips further"
    SERIES_RESISTANCE = "no capacitance keeps it: its series resistance alone dips further"


class NeededCapacitance(NamedTuple):
    """The capacitance that keeps a dip.

    Parameters
    ----------
    capacitance : float
        The least that does; 0 where none is needed, infinite where none can. [F]
    reach : Reach
        Which of these it is.
    """

    capacitance: float
    reach: Reach


def needed_capacitance(
    current: float,
    duration: float,
    resistance: float,
    allowed_dip: float,
    series_resistance: float = 0.0,
    period: float = math.inf,
) -> NeededCapacitance:
    r"""Return the capacitance that keeps the dip of a pulse, or of a train of them.

    Parameters
    ----------
    current, duration : float
        Of the pulse, at least 0 and more than 0. [A], [s]
    resistance : float
        Of the cell, at least 0. [Ω]
    allowed_dip : float
        Below the voltage of the cell without load, more than 0. [V]
    series_resistance : float, default 0
        Of the capacitor, at least 0. [Ω]
    period : float, default infinite
        From one pulse to the next, at least `duration`; infinite for a single pulse from
        rest. [s]

    Returns
    -------
    NeededCapacitance
        The dip at the end of each pulse, once the train has settled, is the one allowed.

    Raises
    ------
    PhysicsDomainError
        If an argument is outside its range.

    Notes
    -----
    Where a steady current I dips by no more than allowed, no capacitor is needed. In a train the
    capacitor ends each pulse :math:`x = I R_i (1 - e_1)/(1 - e_1 e_2)` below the cell, with
    :math:`e_1 = e^{-t/\tau}` and :math:`e_2 = e^{-(T - t)/\tau}`. However large it is, that stays
    above the mean, I·Ri·t/T: below that no capacitor reaches.

    Examples
    --------
    8 mA for 5 ms from 30 Ω, of which 194.7 mV are allowed, as above:

    >>> needed_capacitance(8e-3, 5e-3, 30.0, 0.1947).capacitance
    100e-6
    """
    require_at_least_zero("current", current, "A")
    require_positive("duration", duration, "s")
    require_at_least_zero("resistance", resistance, "Ω")
    require_positive("allowed_dip", allowed_dip, "V")
    require_at_least_zero("series_resistance", series_resistance, "Ω")
    if not period >= duration:
        raise PhysicsDomainError("period", period, "s", "at least the duration of the pulse")
    steady = current * resistance
    if steady <= allowed_dip:
        return NeededCapacitance(0.0, Reach.UNNEEDED)
    total = resistance + series_resistance
    if steady * duration / period >= allowed_dip:
        return NeededCapacitance(math.inf, Reach.MEAN)
    share = share_of_inner(steady, allowed_dip, resistance, series_resistance)
    if share <= duration / period:
        return NeededCapacitance(math.inf, Reach.SERIES_RESISTANCE)
    if math.isinf(period):
        constant = -duration / math.log1p(-share)
    else:
        constant = _constant_of_train(duration, period, share)
    return NeededCapacitance(constant / total, Reach.POSSIBLE)


def _constant_of_train(duration: float, period: float, share: float) -> float:
    """Return the time constant at which a train ends its pulses at a share of I·Ri."""

    def kept(constant: float) -> bool:
        on, whole = -math.expm1(-duration / constant), -math.expm1(-period / constant)
        return on / whole <= share

    return _least(kept, duration * 1e-6, duration * 1e15)


def capacitance_for_steps(
    cell: Reservoir, start: float, steps: Sequence[Load], lowest: float
) -> NeededCapacitance:
    """Return the capacitance that keeps steps of constant current at a voltage or above.

    Parameters
    ----------
    cell : Reservoir
        Cell and series resistance of the capacitor; its capacitance does not count.
    start : float
        Voltage of the capacitor at the beginning. [V]
    steps : sequence of Load
        One after another.
    lowest : float
        Lowest voltage allowed at the load. [V]

    Returns
    -------
    NeededCapacitance
        Found by halving: with it the steps run to `lowest` and no further. `Reach.START` where
        even the start is below the lowest voltage allowed.

    Examples
    --------
    TI SWRA349 once more: 2.0 V are kept by 100 µF, where its own formula asks for 87 µF.

    >>> radio = (Load(8e-3, 2e-3), Load(30e-3, 1e-3), Load(8e-3, 2e-3))
    >>> capacitance_for_steps(Reservoir(2.7, 1000.0, 0.0), 2.6, radio, 2.0).capacitance
    100e-6
    """

    def kept(capacitance: float) -> bool:
        fitted = Reservoir(cell.voltage, cell.resistance, capacitance, cell.series_resistance)
        return all(step.lowest >= lowest for step in fitted.run(start, steps))

    if kept(0.0):
        return NeededCapacitance(0.0, Reach.UNNEEDED)
    if start < lowest:
        return NeededCapacitance(math.inf, Reach.START)
    if not kept(_LARGEST):
        return NeededCapacitance(math.inf, Reach.SERIES_RESISTANCE)
    return NeededCapacitance(_least(kept, 1e-15, _LARGEST), Reach.POSSIBLE)


def _least(kept: Callable[[float], bool], low: float, high: float) -> float:
    """Return the least value that is kept, between one that need not be and one that is."""
    while high / low > 1 + 1e-12:
        middle = math.sqrt(low * high)
        if middle in {low, high}:
            break
        if kept(middle):
            high = middle
        else:
            low = middle
    return high


def alone_capacitance(
    current: float, duration: float, allowed_dip: float, series_resistance: float = 0.0
) -> float:
    r"""Return the capacitance that alone carries a constant current for a time.

    Parameters
    ----------
    current, duration : float
        At least 0. [A], [s]
    allowed_dip : float
        More than 0. [V]
    series_resistance : float, default 0
        At least 0. [Ω]

    Returns
    -------
    float
        :math:`I t / (\Delta V - I r)`; infinite where its series resistance takes the whole
        dip. [F]

    Examples
    --------
    >>> alone_capacitance(0.24, 0.02, 2.0)
    0.002400
    """
    require_at_least_zero("current", current, "A")
    require_at_least_zero("duration", duration, "s")
    require_positive("allowed_dip", allowed_dip, "V")
    require_at_least_zero("series_resistance", series_resistance, "Ω")
    left = allowed_dip - current * series_resistance
    return current * duration / left if left > 0 else math.inf
