"""Constant power on a cell: what a switching regulator asks, and whether the cell can give it.

Its current rises as its input falls, so that there may be no voltage at which it stands.
"""

from __future__ import annotations

import math

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = ["constant_power_voltage", "largest_power", "settled_low", "time_to_fall"]

_ALIKE = 1e-12
"""Powers that differ from the most by less than this share are taken as the most."""

_MOST_PULSES = 2000
"""So many pulses are followed until they are alike."""


def largest_power(source_voltage: float, resistance: float) -> float:
    r"""Return the most power that a source can give through its resistance.

    Parameters
    ----------
    source_voltage : float
        Without load, at least 0. [V]
    resistance : float
        In series, at least 0. [Ω]

    Returns
    -------
    float
        :math:`V^2 / (4 R)`, where the load takes half of the voltage; infinite without a
        resistance. [W]

    Raises
    ------
    PhysicsDomainError
        If an argument is negative or not finite.

    Examples
    --------
    3 V behind 15 Ω: 1.5 V · 100 mA:

    >>> largest_power(3.0, 15.0)
    0.15
    """
    require_at_least_zero("source_voltage", source_voltage, "V")
    require_at_least_zero("resistance", resistance, "Ω")
    if resistance == 0.0:
        return math.inf if source_voltage > 0.0 else 0.0
    return source_voltage * source_voltage / (4.0 * resistance)


def constant_power_voltage(source_voltage: float, resistance: float, power: float) -> float | None:
    r"""Return the voltage at which a load of constant power stands on a source.

    Parameters
    ----------
    source_voltage : float
        Without load, more than 0. [V]
    resistance : float
        In series, at least 0. [Ω]
    power : float
        Drawn whatever the voltage, at least 0. [W]

    Returns
    -------
    float or None
        :math:`(V_0 + \sqrt{V_0^2 - 4 R P}) / 2`, the stable one of two, at least half of the
        source's; None where the source cannot give the power: the voltage collapses. [V]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Notes
    -----
    Both roots of V² − V0·V + R·P = 0 balance. At the lower one a small fall of the voltage
    raises the current by more than the source can follow, so a regulator never stays there.

    Examples
    --------
    126 mW on 3 V behind 15 Ω: 2.1 V · 60 mA, and 60 mA · 15 Ω is the 0.9 V that are missing:

    >>> constant_power_voltage(3.0, 15.0, 0.126)
    2.1
    """
    require_positive("source_voltage", source_voltage, "V")
    require_at_least_zero("resistance", resistance, "Ω")
    require_at_least_zero("power", power, "W")
    under_root = source_voltage * source_voltage - 4.0 * resistance * power
    if under_root < 0.0:
        return None
    return (source_voltage + math.sqrt(under_root)) / 2.0


def time_to_fall(
    source_voltage: float, resistance: float, capacitance: float, power: float, to: float
) -> float:
    r"""Return how long a capacitor beside a source keeps constant power above a voltage.

    Parameters
    ----------
    source_voltage : float
        Without load, to which the capacitor is charged at the start, more than 0. [V]
    resistance : float
        Of the source, more than 0. [Ω]
    capacitance : float
        At least 0. [F]
    power : float
        Drawn from the start, at least 0. [W]
    to : float
        More than 0, at most the source's. [V]

    Returns
    -------
    float
        0 without a capacitor where the voltage falls below at once; infinite where it stays
        above. [s]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Notes
    -----
    :math:`C \dot V = (V_0 - V)/R - P/V` parts into
    :math:`t = R C \int V \, dV / (V^2 - V_0 V + R P)` from `to` to the source's voltage, whose
    denominator is positive as long as the voltage falls.

    Examples
    --------
    Through a very large resistance the capacitor gives it all, ½·C·(3² − 2²) V² / P, so
    100 µF carry 25 mW for 10 ms:

    >>> time_to_fall(3.0, 1e9, 100e-6, 25e-3, 2.0)
    0.010
    """
    require_positive("source_voltage", source_voltage, "V")
    require_positive("resistance", resistance, "Ω")
    require_at_least_zero("capacitance", capacitance, "F")
    require_at_least_zero("power", power, "W")
    require_positive("to", to, "V")
    if to > source_voltage:
        raise PhysicsDomainError(
            "to", to, "V", f"at most that of the source ({source_voltage!r} V)"
        )
    if to == source_voltage:
        return 0.0
    stands = _stands(source_voltage, resistance * power)
    if stands is not None and to <= stands:
        return math.inf
    whole = _falling(source_voltage, resistance * power, source_voltage)
    return resistance * capacitance * (whole - _falling(source_voltage, resistance * power, to))


def settled_low(
    source_voltage: float,
    resistance: float,
    capacitance: float,
    power: float,
    duration: float,
    gap: float,
) -> float | None:
    r"""Return how low repeated pulses of constant power pull a capacitor beside a source.

    Parameters
    ----------
    source_voltage : float
        Without load, more than 0. [V]
    resistance : float
        Of the source, more than 0. [Ω]
    capacitance : float
        More than 0. [F]
    power : float
        During each pulse, more than 0; nothing between them. [W]
    duration, gap : float
        Of each pulse, and from its end to the next, more than 0; the gap may be infinite. [s]

    Returns
    -------
    float or None
        Voltage at the end of a pulse when all are alike; None where it collapses. [V]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Notes
    -----
    In a pulse it falls as `time_to_fall` says, in the gap it comes back as
    :math:`V_0 - (V_0 - V) e^{-t/(R C)}`; repeated until nothing changes. From pulse to pulse the
    voltage only falls, and from below where it stands only by less and less, so that it settles.

    Examples
    --------
    25 mW for 10 ms out of 100 µF through a very large resistance, from 3 V for once:
    √(9 V² − 2 · 250 µJ / 100 µF) = 2 V:

    >>> settled_low(3.0, 1e6, 100e-6, 25e-3, 10e-3, 1e6)
    2.000
    """
    require_positive("source_voltage", source_voltage, "V")
    require_positive("resistance", resistance, "Ω")
    require_positive("capacitance", capacitance, "F")
    require_positive("power", power, "W")
    require_positive("duration", duration, "s")
    if not gap > 0:
        raise PhysicsDomainError("gap", gap, "s", "more than 0")
    time_constant = resistance * capacitance
    back = math.exp(-gap / time_constant)
    high, low = source_voltage, math.inf
    for _ in range(_MOST_PULSES):
        before = low
        after = _after(source_voltage, resistance * power, high, duration / time_constant)
        if after is None:
            return None
        low = after
        if before - low <= 1e-7 * source_voltage:
            break
        high = source_voltage - (source_voltage - low) * back
    return low


def _after(source_voltage: float, product: float, start: float, time: float) -> float | None:
    """Return the voltage after a time in time constants, None where it has collapsed."""
    stands = _stands(source_voltage, product)
    if stands is not None and start <= stands:
        return start
    floor = stands if stands is not None else 0.0
    whole = _falling(source_voltage, product, start)
    if stands is None and whole - _falling(source_voltage, product, 0.0) < time:
        return None
    low, high = floor, start
    for _ in range(42):
        middle = (low + high) / 2.0
        if whole - _falling(source_voltage, product, middle) < time:
            high = middle
        else:
            low = middle
    return high


def _stands(source_voltage: float, product: float) -> float | None:
    """Return where it stands; at just the most power half of the source, rounding aside."""
    discriminant = source_voltage * source_voltage - 4.0 * product
    if abs(discriminant) < _ALIKE * source_voltage * source_voltage:
        return source_voltage / 2.0
    return constant_power_voltage(source_voltage, product, 1.0)


def _falling(source_voltage: float, product: float, voltage: float) -> float:
    """Return the antiderivative of V/(V² − V0·V + R·P) at a voltage."""
    denominator = voltage * voltage - source_voltage * voltage + product
    discriminant = source_voltage * source_voltage - 4.0 * product
    slope = 2.0 * voltage - source_voltage
    if denominator <= 0.0:
        return -math.inf  # so near to where it stands that the difference is lost in rounding
    if abs(discriminant) < _ALIKE * source_voltage * source_voltage:
        inverse = -2.0 / slope
    elif discriminant < 0.0:
        root = math.sqrt(-discriminant)
        inverse = 2.0 * math.atan(slope / root) / root
    else:
        root = math.sqrt(discriminant)
        if slope <= root:
            return -math.inf
        inverse = math.log((slope - root) / (slope + root)) / root
    return 0.5 * math.log(denominator) + 0.5 * source_voltage * inverse
