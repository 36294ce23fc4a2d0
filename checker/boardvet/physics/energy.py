"""Charge, mean current and time: the plain divisions, for an ideal cell.

They know neither the resistance of a cell nor what it loses at a high rate, so they bound what a
real one does from above.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive
from boardvet.physics.reservoir import Load

__all__ = ["charge_through", "equivalent_capacitance", "fault_current", "mean_current", "run_time"]


def run_time(capacity: float, current: float, self_discharge: float = 0.0) -> float:
    r"""Return how long an ideal cell gives a mean current.

    Parameters
    ----------
    capacity : float
        At least 0. [C]
    current : float
        Mean current, at least 0. [A]
    self_discharge : float, default 0
        Share of the capacity that the cell loses by itself, at least 0. [1/s]

    Returns
    -------
    float
        :math:`Q / (I + s Q)`; infinite where nothing is drawn or lost. [s]

    Examples
    --------
    Maxim's note on real-time clocks, example 1: 48 mAh at 500 nA, 96 000 h.

    >>> run_time(48e-3 * 3600, 500e-9) / 3600
    96000.0
    """
    require_at_least_zero("capacity", capacity, "C")
    require_at_least_zero("current", current, "A")
    require_at_least_zero("self_discharge", self_discharge, "1/s")
    drain = current + self_discharge * capacity
    return capacity / drain if drain > 0 else math.inf


def mean_current(steps: Sequence[Load], period: float | None = None) -> float:
    """Return the mean of steps of constant current.

    Parameters
    ----------
    steps : sequence of Load
        One after another, lasting more than 0 in all.
    period : float, optional
        From one beginning to the next, at least as long as the steps; nothing flows in what is
        left. Absent: the steps follow one another without a pause. [s]

    Returns
    -------
    float
        [A].

    Raises
    ------
    PhysicsDomainError
        If a step is out of range, or the period shorter than the steps.

    Examples
    --------
    Maxim's note, example 2: 150 µA for 5 % of the time and 1.5 µA for the rest.

    >>> mean_current((Load(150e-6, 0.05), Load(1.5e-6, 0.95)))
    8.925e-06
    """
    for step in steps:
        require_at_least_zero("current", step.current, "A")
        require_at_least_zero("duration", step.duration, "s")
    length = math.fsum(step.duration for step in steps)
    whole = length if period is None else period
    require_positive("period", whole, "s")
    if whole < length * (1 - 1e-12):
        raise PhysicsDomainError("period", whole, "s", f"at least {length!r} s, that of the steps")
    return math.fsum(step.current * step.duration for step in steps) / whole


def charge_through(voltage: float, resistance: float, duration: float) -> float:
    r"""Return the charge that a mean voltage drives through a resistor: a discharge test.

    Parameters
    ----------
    voltage : float
        Mean over the time, at least 0. [V]
    resistance : float
        More than 0. [Ω]
    duration : float
        At least 0. [s]

    Returns
    -------
    float
        :math:`U t / R`. [C]

    Examples
    --------
    FREI LR44: 800 h on 6.8 kΩ, at some 1.3 V, are 153 mAh:

    >>> charge_through(1.3, 6800.0, 800 * 3600) / 3.6
    152.9
    """
    require_at_least_zero("voltage", voltage, "V")
    require_positive("resistance", resistance, "Ω")
    require_at_least_zero("duration", duration, "s")
    return voltage * duration / resistance


def equivalent_capacitance(charge: float, high: float, low: float) -> float:
    r"""Return the capacitor that holds the same charge between two voltages.

    It shows how little a capacitor holds beside a cell, and is only a bound: the voltage of a
    cell does not fall in a straight line.

    Parameters
    ----------
    charge : float
        At least 0. [C]
    high, low : float
        Voltages, finite, `high` above `low`. [V]

    Returns
    -------
    float
        :math:`Q / (V_1 - V_2)`. [F]

    Examples
    --------
    235 mAh between 3 V and 2 V:

    >>> equivalent_capacitance(235 * 3.6, 3.0, 2.0)
    846.0
    """
    require_at_least_zero("charge", charge, "C")
    require_positive("high - low", high - low, "V")
    return charge / (high - low)


def fault_current(supply: float, drop: float, cell: float, resistance: float) -> float:
    r"""Return the current into a cell when the diode before it no longer blocks but conducts.

    Parameters
    ----------
    supply : float
        Voltage of what would charge the cell, finite. [V]
    drop : float
        Of what is still in the way, at least 0. [V]
    cell : float
        Voltage of the cell, finite. [V]
    resistance : float
        In series, that of the cell included, more than 0. [Ω]

    Returns
    -------
    float
        :math:`(V_s - V_F - V_c) / R`, never below 0. [A]

    Examples
    --------
    TI E2E 733036: 4.2 V, 0.6 V, a cell of 3.0 V and 15 Ω behind 10 Ω, 24 mA, just less than the
    25 mA that makers allow.

    >>> fault_current(4.2, 0.6, 3.0, 15.0 + 10.0)
    0.024
    """
    require_at_least_zero("drop", drop, "V")
    require_positive("resistance", resistance, "Ω")
    left = supply - drop - cell
    if not math.isfinite(left):
        raise PhysicsDomainError("supply - drop - cell", left, "V", "finite")
    return max(left / resistance, 0.0)
