"""A cell: open-circuit voltage and resistance over the share of its charge that is used.

The model of a cell is a voltage source and a resistance, both functions of the charge drawn so
far. The resistance also grows in the cold and with the length of a pulse. Polarisation that
recovers over minutes is not modelled.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import pairwise
from operator import itemgetter

from boardvet.errors import PhysicsDomainError

__all__ = [
    "REFERENCE_TEMPERATURE",
    "CellCurve",
    "CurvePoints",
    "in_parallel",
    "in_series",
    "open_circuit_voltage",
    "resistance",
    "share_left_at_rate",
    "share_used_at",
]

REFERENCE_TEMPERATURE = 25.0
"""Temperature at which the resistance is taken where none is stated. [°C]"""

CurvePoints = tuple[tuple[float, float], ...]
"""Pairs of abscissa and value, the abscissa rising; linear between points, constant outside."""


@dataclass(frozen=True, slots=True)
class CellCurve:
    """How the voltage and the resistance of a cell change while it is used up.

    Parameters
    ----------
    voltage_points : CurvePoints
        Voltage without load over the share of charge used, from 0 (fresh) to 1 (empty); it never
        rises, and is never negative. [V]
    resistance_points : CurvePoints
        Resistance over the share of charge used, at least 0, at `REFERENCE_TEMPERATURE` and for
        a long pulse. [Ω]
    temperature_points : CurvePoints
        What the resistance is multiplied by, over the temperature in °C; more than 0.
    pulse_points : CurvePoints
        What the resistance is multiplied by, over the length of a pulse in s, which is more than
        0; linear over the logarithm of the length; more than 0.

    Raises
    ------
    PhysicsDomainError
        If a value is not finite or out of range, or an abscissa does not rise.
    """

    voltage_points: CurvePoints
    resistance_points: CurvePoints
    temperature_points: CurvePoints = ((REFERENCE_TEMPERATURE, 1.0),)
    pulse_points: CurvePoints = ((1.0, 1.0),)

    def __post_init__(self) -> None:
        _check_points("voltage_points", self.voltage_points, "V")
        _check_points("resistance_points", self.resistance_points, "Ω")
        _check_points("temperature_points", self.temperature_points, "", positive=True)
        _check_points("pulse_points", self.pulse_points, "", positive=True)
        for name in ("voltage_points", "resistance_points"):
            for used, _ in getattr(self, name):
                _check_share(f"share used of {name}", used)
        shortest = self.pulse_points[0][0]
        if shortest <= 0:
            raise PhysicsDomainError("pulse length", shortest, "s", "more than 0")
        voltages = [voltage for _, voltage in self.voltage_points]
        for before, after in pairwise(voltages):
            if after > before:
                allowed = f"at most {before!r} V, that of the point before"
                raise PhysicsDomainError("voltage_points", after, "V", allowed)


def open_circuit_voltage(curve: CellCurve, used: float) -> float:
    """Return the voltage without load.

    Parameters
    ----------
    curve : CellCurve
        The cell.
    used : float
        Share of the charge used, 0 to 1.

    Returns
    -------
    float
        Linear between the points of the curve. [V]

    Raises
    ------
    PhysicsDomainError
        If the share is not from 0 to 1.

    Examples
    --------
    Half way between 3.0 V at 40 % and 2.8 V at 80 %:

    >>> cell = CellCurve(((0.0, 3.2), (0.4, 3.0), (0.8, 2.8), (1.0, 2.0)), ((0.0, 12.0),))
    >>> open_circuit_voltage(cell, 0.6)
    2.9
    """
    _check_share("used", used)
    return _between(curve.voltage_points, used)


def resistance(
    curve: CellCurve,
    used: float,
    temperature: float = REFERENCE_TEMPERATURE,
    duration: float = math.inf,
) -> float:
    """Return the resistance in series with the open-circuit voltage.

    Parameters
    ----------
    curve : CellCurve
        The cell.
    used : float
        Share of the charge used, 0 to 1.
    temperature : float
        Temperature of the cell, above -273.15. [°C]
    duration : float
        How long the pulse lasts, more than 0; infinite for a steady load. [s]

    Returns
    -------
    float
        At least 0. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of the range given above.

    Examples
    --------
    12 Ω fresh and 40 Ω empty, and twice as much at −20 °C:

    >>> cell = CellCurve(
    ...     ((0.0, 3.2), (1.0, 2.0)), ((0.0, 12.0), (1.0, 40.0)), ((-20.0, 2.0), (25.0, 1.0))
    ... )
    >>> resistance(cell, 0.5), resistance(cell, 0.5, temperature=-20.0)
    (26.0, 52.0)
    """
    _check_share("used", used)
    if not (math.isfinite(temperature) and temperature > -273.15):
        raise PhysicsDomainError("temperature", temperature, "°C", "finite and above -273.15")
    if not duration > 0:
        raise PhysicsDomainError("duration", duration, "s", "more than 0")
    value = _between(curve.resistance_points, used)
    value *= _between(curve.temperature_points, temperature)
    logarithmic = tuple((math.log(length), factor) for length, factor in curve.pulse_points)
    return value * _between(logarithmic, math.log(duration))


def share_used_at(curve: CellCurve, voltage: float) -> float:
    """Return the share of charge used when the open-circuit voltage first falls to a voltage.

    Parameters
    ----------
    curve : CellCurve
        The cell.
    voltage : float
        Finite. [V]

    Returns
    -------
    float
        0 if even the fresh cell is not above the voltage, 1 if the empty cell still is.

    Raises
    ------
    PhysicsDomainError
        If the voltage is not finite.

    Examples
    --------
    >>> cell = CellCurve(((0.0, 3.2), (0.4, 3.0), (0.8, 2.8), (1.0, 2.0)), ((0.0, 12.0),))
    >>> share_used_at(cell, 2.9), share_used_at(cell, 1.8)
    (0.6, 1.0)
    """
    if not math.isfinite(voltage):
        raise PhysicsDomainError("voltage", voltage, "V", "finite")
    points = curve.voltage_points
    if voltage >= points[0][1]:
        return 0.0
    for (used, high), (after, low) in pairwise(points):
        if voltage >= low:
            return used + (after - used) * (high - voltage) / (high - low)
    return 1.0


def share_left_at_rate(points: CurvePoints, rate: float) -> float:
    """Return the share of the capacity that a cell still gives at a mean current.

    Parameters
    ----------
    points : CurvePoints
        Share left over the current in multiples of the capacity per hour, which is more than 0;
        linear over the logarithm of the current, constant outside. No point: no effect.
    rate : float
        Mean current, at least 0. [capacity/h]

    Returns
    -------
    float
        1 where there is no effect.

    Raises
    ------
    PhysicsDomainError
        If the rate is not finite or is negative.

    Examples
    --------
    60 % at a hundredth of the capacity per hour, all of it at a ten-thousandth: half of the
    decades lie between, so half of the loss.

    >>> share_left_at_rate(((1e-4, 1.0), (1e-2, 0.6)), 1e-3)
    0.8
    """
    if not (math.isfinite(rate) and rate >= 0):
        raise PhysicsDomainError("rate", rate, "capacity/h", "finite and at least 0")
    if not points:
        return 1.0
    if rate == 0:
        return points[0][1]
    logarithmic = tuple((math.log(at), share) for at, share in points)
    return _between(logarithmic, math.log(rate))


def in_series(curve: CellCurve, count: int) -> CellCurve:
    """Return the curve of equal cells in series: voltage and resistance add.

    Parameters
    ----------
    curve : CellCurve
        One cell.
    count : int
        Number of cells, at least 1.

    Raises
    ------
    PhysicsDomainError
        If there is no cell.

    Examples
    --------
    Two alkaline cells of 1.6 V and 0.3 Ω:

    >>> pair = in_series(CellCurve(((0.0, 1.6), (1.0, 1.0)), ((0.0, 0.3),)), 2)
    >>> open_circuit_voltage(pair, 0.0), resistance(pair, 0.0)
    (3.2, 0.6)
    """
    _check_count(count)
    return replace(
        curve,
        voltage_points=_times(curve.voltage_points, count),
        resistance_points=_times(curve.resistance_points, count),
    )


def in_parallel(curve: CellCurve, count: int) -> CellCurve:
    """Return the curve of equal cells in parallel, over the share of their common charge.

    Parameters
    ----------
    curve : CellCurve
        One cell.
    count : int
        Number of cells, at least 1.

    Raises
    ------
    PhysicsDomainError
        If there is no cell.

    Examples
    --------
    >>> pair = in_parallel(CellCurve(((0.0, 1.6), (1.0, 1.0)), ((0.0, 0.3),)), 2)
    >>> open_circuit_voltage(pair, 0.0), resistance(pair, 0.0)
    (1.6, 0.15)
    """
    _check_count(count)
    return replace(curve, resistance_points=_times(curve.resistance_points, 1.0 / count))


def _between(points: CurvePoints, at: float) -> float:
    index = bisect_left(points, at, key=itemgetter(0))
    if index == 0:
        return points[0][1]
    if index == len(points):
        return points[-1][1]
    (left, low), (right, high) = points[index - 1], points[index]
    if at == right:
        return high
    return low + (high - low) * (at - left) / (right - left)


def _times(points: CurvePoints, factor: float) -> CurvePoints:
    return tuple((at, value * factor) for at, value in points)


def _check_points(name: str, points: CurvePoints, unit: str, *, positive: bool = False) -> None:
    if not points:
        raise PhysicsDomainError(f"number of points of {name}", 0, "", "at least 1")
    before = -math.inf
    for at, value in points:
        if not (math.isfinite(at) and at > before):
            raise PhysicsDomainError(f"abscissa of {name}", at, "", "finite and rising")
        if not (math.isfinite(value) and (value > 0 if positive else value >= 0)):
            allowed = "finite and more than 0" if positive else "finite and at least 0"
            raise PhysicsDomainError(name, value, unit, allowed)
        before = at


def _check_share(name: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise PhysicsDomainError(name, share, "", "from 0 to 1")


def _check_count(count: int) -> None:
    if count < 1:
        raise PhysicsDomainError("count", count, "", "at least 1")
