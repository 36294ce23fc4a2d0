r"""A cell with a capacitor beside it under loads of constant current, exactly.

The cell is a voltage V0 behind a resistance Ri. The capacitor C with its series resistance r
stands across the load. While the load draws a constant current I, the capacitor's own voltage v
goes towards V0 − I·Ri with the time constant τ = (Ri + r)·C, and the voltage that the load sees is

.. math:: u = \frac{r \, (V_0 - I R_i) + R_i \, v}{R_i + r}

A load with a resistor lets go as the voltage falls, so these figures bound it from above; for
such loads solve the network. They do not bound a switching regulator, which draws more as its
input sags. The capacitance is what is left after tolerance, ageing and DC bias.

How large a capacitor has to be is in `boardvet.physics.reservoir_size`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = [
    "Load",
    "Reservoir",
    "StepResult",
    "alone_dip",
    "alone_time",
    "carried_time",
    "dip",
    "share_of_inner",
]


class Load(NamedTuple):
    """A constant current for a time.

    Parameters
    ----------
    current : float
        At least 0. [A]
    duration : float
        At least 0. [s]
    """

    current: float
    duration: float


class StepResult(NamedTuple):
    """What one step of a load does.

    Parameters
    ----------
    begin, end : float
        Voltage at the load just after its beginning and at its end. [V]
    inner : float
        Voltage of the capacitor behind its series resistance at the end. [V]
    """

    begin: float
    end: float
    inner: float

    @property
    def lowest(self) -> float:
        """Lowest voltage at the load during the step, in V: it goes one way only."""
        return min(self.begin, self.end)


@dataclass(frozen=True, slots=True)
class Reservoir:
    """A cell and the capacitor beside the load.

    Parameters
    ----------
    voltage : float
        Of the cell without load, at least 0. [V]
    resistance : float
        Of the cell and what lies between it and the load, at least 0. [Ω]
    capacitance : float
        At least 0; 0 is no capacitor. [F]
    series_resistance : float, default 0
        Of the capacitor, at least 0. [Ω]

    Raises
    ------
    PhysicsDomainError
        If a value is outside its range or not finite.
    """

    voltage: float
    resistance: float
    capacitance: float
    series_resistance: float = 0.0

    def __post_init__(self) -> None:
        require_at_least_zero("voltage", self.voltage, "V")
        require_at_least_zero("resistance", self.resistance, "Ω")
        require_at_least_zero("capacitance", self.capacitance, "F")
        require_at_least_zero("series_resistance", self.series_resistance, "Ω")

    @property
    def time_constant(self) -> float:
        """Time in which a difference falls to 1/e, in s."""
        return (self.resistance + self.series_resistance) * self.capacitance

    def settled(self, current: float) -> float:
        """Return the voltage in V that a steady current ends at, below 0 where the cell cannot."""
        return self.voltage - current * self.resistance

    def at_load(self, inner: float, current: float) -> float:
        """Return the voltage at the load for a voltage of the capacitor and a current, in V."""
        if self.capacitance == 0 or self.resistance == 0:
            return self.settled(current)
        total = self.resistance + self.series_resistance
        settled = self.settled(current)
        return (self.series_resistance * settled + self.resistance * inner) / total

    def after(self, inner: float, load: Load) -> float:
        """Return the voltage of the capacitor after a load, in V."""
        require_at_least_zero("current", load.current, "A")
        require_at_least_zero("duration", load.duration, "s")
        settled, constant = self.settled(load.current), self.time_constant
        if constant == 0:
            return settled if load.duration > 0 else inner
        return inner - (settled - inner) * math.expm1(-load.duration / constant)

    def run(self, start: float, steps: Sequence[Load]) -> tuple[StepResult, ...]:
        """Run through steps of constant current, exactly.

        Parameters
        ----------
        start : float
            Voltage of the capacitor at the beginning. [V]
        steps : sequence of Load
            One after another.

        Returns
        -------
        tuple of StepResult
            One a step.

        Raises
        ------
        PhysicsDomainError
            If a current or a duration is outside its range.

        Examples
        --------
        TI SWRA349: a worn cell of 2.7 V and 1 kΩ with 100 µF, charged to 2.6 V, 8 mA for 2 ms,
        30 mA for 1 ms and 8 mA for 2 ms:

        >>> worn = Reservoir(2.7, 1000.0, 100e-6)
        >>> radio = (Load(8e-3, 2e-3), Load(30e-3, 1e-3), Load(8e-3, 2e-3))
        >>> [each.end for each in worn.run(2.6, radio)]
        [2.444, 2.148, 2.000]
        """
        results = []
        inner = start
        for load in steps:
            begin = self.at_load(inner, load.current)
            inner = self.after(inner, load)
            results.append(StepResult(begin, self.at_load(inner, load.current), inner))
        return tuple(results)

    def time_to(self, target: float, start: float, current: float = 0.0) -> float:
        r"""Return how long the capacitor takes from one voltage to another.

        Parameters
        ----------
        target, start : float
            Voltages of the capacitor. [V]
        current : float, default 0
            That the load draws meanwhile, at least 0. [A]

        Returns
        -------
        float
            :math:`\tau \ln \frac{V_\infty - V_a}{V_\infty - V_b}`; 0 where both are equal or
            there is no capacitor, infinite where it never gets there. [s]

        Examples
        --------
        TI SWRA349, Appendix A: 87 µF from 2.0 V to 2.6 V, cell of 2.7 V and 1 kΩ, 169 ms.

        >>> Reservoir(2.7, 1000.0, 87e-6).time_to(2.6, 2.0)
        0.1693
        """
        require_at_least_zero("current", current, "A")
        settled = self.settled(current)
        if target == start:
            return 0.0
        between = (target - start) * (settled - target) > 0
        if not between:
            return math.inf
        return self.time_constant * math.log((settled - start) / (settled - target))


def dip(
    current: float,
    duration: float,
    resistance: float,
    capacitance: float = 0.0,
    series_resistance: float = 0.0,
) -> float:
    r"""Return how far a cell with a capacitor sags in one pulse from rest.

    Parameters
    ----------
    current, duration : float
        Of the pulse, at least 0. [A], [s]
    resistance : float
        Of the cell, at least 0. [Ω]
    capacitance : float, default 0
        Beside the load, at least 0. [F]
    series_resistance : float, default 0
        Of the capacitor, at least 0. [Ω]

    Returns
    -------
    float
        :math:`I R_i (1 - e^{-t/(R_i C)})` for a capacitor without series resistance, I·Ri
        without one. [V]

    Examples
    --------
    8 mA for 5 ms from a cell of 30 Ω, with no capacitor and with 100 µF:

    >>> dip(8e-3, 5e-3, 30.0), dip(8e-3, 5e-3, 30.0, 100e-6)
    (0.2400, 0.1947)
    """
    rest = Reservoir(0.0, resistance, capacitance, series_resistance)
    (result,) = rest.run(0.0, (Load(current, duration),))
    return -result.end


def carried_time(
    current: float,
    resistance: float,
    capacitance: float,
    allowed_dip: float,
    series_resistance: float = 0.0,
) -> float:
    r"""Return how long cell and capacitor together carry a pulse from rest.

    Parameters
    ----------
    current : float
        At least 0. [A]
    resistance : float
        Of the cell, at least 0. [Ω]
    capacitance : float
        At least 0. [F]
    allowed_dip : float
        More than 0. [V]
    series_resistance : float, default 0
        Of the capacitor, at least 0. [Ω]

    Returns
    -------
    float
        :math:`-R_i C \ln(1 - \Delta V / (I R_i))` for a capacitor without series resistance;
        infinite where the cell carries it alone, 0 where the dip is there at once. [s]

    Examples
    --------
    8 mA from 30 Ω and 100 µF, of which 194.7 mV are allowed, as above:

    >>> carried_time(8e-3, 30.0, 100e-6, 0.1947)
    0.0050
    """
    require_at_least_zero("current", current, "A")
    require_at_least_zero("resistance", resistance, "Ω")
    require_at_least_zero("capacitance", capacitance, "F")
    require_positive("allowed_dip", allowed_dip, "V")
    require_at_least_zero("series_resistance", series_resistance, "Ω")
    steady = current * resistance
    if steady <= allowed_dip:
        return math.inf
    share = share_of_inner(steady, allowed_dip, resistance, series_resistance)
    return -(resistance + series_resistance) * capacitance * math.log1p(-max(share, 0.0))


def share_of_inner(steady: float, allowed: float, ohms: float, series: float) -> float:
    """Return how far the capacitor itself may fall, as a share of I·Ri.

    Parameters
    ----------
    steady : float
        I·Ri, more than 0. [V]
    allowed : float
        Dip allowed at the load. [V]
    ohms, series : float
        Of the cell, more than 0, and of the capacitor. [Ω]

    Returns
    -------
    float
        Below 0 where the series resistance alone dips further than allowed.

    Examples
    --------
    Without series resistance it may fall as far as the load:

    >>> share_of_inner(0.9, 0.3, 30.0, 0.0)
    0.3333
    """
    return (allowed * (ohms + series) / steady - series) / ohms


def alone_dip(
    current: float, duration: float, capacitance: float, series_resistance: float = 0.0
) -> float:
    r"""Return how far a capacitor falls that alone carries a constant current.

    Parameters
    ----------
    current, duration : float
        At least 0. [A], [s]
    capacitance : float
        More than 0. [F]
    series_resistance : float, default 0
        At least 0. [Ω]

    Returns
    -------
    float
        :math:`I (t / C + r)`. [V]

    Examples
    --------
    24 V across 100 Ω, 20 ms, 2400 µF (All About Circuits forum, thread 2137):

    >>> alone_dip(0.24, 0.02, 2400e-6)
    2.000
    """
    require_at_least_zero("current", current, "A")
    require_at_least_zero("duration", duration, "s")
    require_positive("capacitance", capacitance, "F")
    require_at_least_zero("series_resistance", series_resistance, "Ω")
    return current * (duration / capacitance + series_resistance)


def alone_time(
    current: float, allowed_dip: float, capacitance: float, series_resistance: float = 0.0
) -> float:
    r"""Return how long a capacitor alone carries a constant current.

    Parameters
    ----------
    current : float
        At least 0. [A]
    allowed_dip : float
        At least 0. [V]
    capacitance : float
        At least 0. [F]
    series_resistance : float, default 0
        At least 0. [Ω]

    Returns
    -------
    float
        :math:`C (\Delta V - I r) / I`; 0 where its series resistance takes the whole dip,
        infinite for no current. [s]

    Examples
    --------
    100 µF, 0.6 V and 30 mA:

    >>> alone_time(0.030, 0.6, 100e-6)
    0.002
    """
    require_at_least_zero("current", current, "A")
    require_at_least_zero("allowed_dip", allowed_dip, "V")
    require_at_least_zero("capacitance", capacitance, "F")
    require_at_least_zero("series_resistance", series_resistance, "Ω")
    if current == 0:
        return math.inf
    return max(capacitance * (allowed_dip - current * series_resistance) / current, 0.0)
