"""Regulators: drop-out, efficiency, heat, accuracy, and what a switching one draws."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = [
    "DropoutPoints",
    "converter_input_current",
    "dropout_curve",
    "dropout_voltage",
    "junction_temperature",
    "largest_dissipation",
    "linear_dissipation",
    "linear_efficiency",
    "output_deviation",
    "pulse_share",
]

DropoutPoints = tuple[tuple[float, float], ...]
"""Pairs of output current [A] and drop-out voltage [V], the currents rising."""


def dropout_voltage(points: DropoutPoints, current: float) -> float:
    r"""Return the least voltage between input and output of a linear regulator at a current.

    Parameters
    ----------
    points : DropoutPoints
        At least one; currents more than 0, voltages at least 0.
    current : float
        Output current, at least 0. [A]

    Returns
    -------
    float
        Linear between the points and in the line of the outer two beyond them, at least 0. [V]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Notes
    -----
    In drop-out a MOS pass element is a resistance, :math:`V_{do} = I R_{on}` [1]_, so that one
    point gives all others. A bipolar one keeps some of its voltage at no current: that takes two
    points to know, and with two it is known.

    Examples
    --------
    350 mV at 1 A, so 35 mV at 100 mA [1]_:

    >>> dropout_voltage(((1.0, 0.35),), 0.1)
    0.035

    References
    ----------
    .. [1] TI SLVA079, "Understanding the terms and definitions of LDO voltage regulators", s. 1.
    """
    _check_dropout(points)
    require_at_least_zero("current", current, "A")
    if len(points) == 1:
        at, volts = points[0]
        return volts * current / at
    lines = list(pairwise(points))
    (low_at, low), (high_at, high) = next(
        (line for line in lines if current <= line[1][0]), lines[-1]
    )
    value = low + (high - low) * (current - low_at) / (high_at - low_at)
    return max(value, 0.0)


def dropout_curve(points: DropoutPoints, most: float) -> DropoutPoints:
    """Return points between which, joined by lines, a drop-out lies at every current up to one.

    Parameters
    ----------
    points : DropoutPoints
        As for `dropout_voltage`; empty where nothing is known.
    most : float
        Largest current asked for, at least 0. [A]

    Returns
    -------
    DropoutPoints
        The points with those at no current and at `most`; empty where there are none.

    Raises
    ------
    PhysicsDomainError
        As `dropout_voltage`.

    Examples
    --------
    >>> dropout_curve(((1.0, 0.35),), 2.0)
    ((0.0, 0.0), (1.0, 0.35), (2.0, 0.7))
    """
    require_at_least_zero("most", most, "A")
    if not points:
        return ()
    inner = tuple(point for point in points if point[0] < most)
    ends = (0.0, dropout_voltage(points, 0.0)), (most, dropout_voltage(points, most))
    return (ends[0], *inner, ends[1]) if most > 0.0 else (ends[0],)


def linear_efficiency(
    input_voltage: float, output_voltage: float, output_current: float, quiescent_current: float
) -> float:
    r"""Return power out over power in of a linear regulator.

    Parameters
    ----------
    input_voltage : float
        More than 0, and not below the output. [V]
    output_voltage : float
        At least 0. [V]
    output_current : float
        At least 0. [A]
    quiescent_current : float
        What it uses itself, at least 0. [A]

    Returns
    -------
    float
        :math:`I_o V_o / ((I_o + I_q) V_i)`, from 0 to 1; 0 without a load.

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Examples
    --------
    3.3 V at 100 mA from 4.5 V, 17 µA of its own [1]_:

    >>> linear_efficiency(4.5, 3.3, 0.1, 17e-6)
    0.733

    References
    ----------
    .. [1] TI SLVA079, s. 4.
    """
    require_positive("input_voltage", input_voltage, "V")
    require_at_least_zero("output_voltage", output_voltage, "V")
    _require_not_above("output_voltage", output_voltage, input_voltage, "V", "the input")
    require_at_least_zero("output_current", output_current, "A")
    require_at_least_zero("quiescent_current", quiescent_current, "A")
    if output_current == 0.0:
        return 0.0
    return output_current * output_voltage / ((output_current + quiescent_current) * input_voltage)


def linear_dissipation(
    input_voltage: float,
    output_voltage: float,
    output_current: float,
    quiescent_current: float = 0.0,
) -> float:
    """Return the power that a linear regulator turns into heat, (Vi − Vo)·Io + Vi·Iq.

    Parameters
    ----------
    input_voltage, output_voltage : float
        At least 0, the output not above the input. [V]
    output_current, quiescent_current : float
        At least 0. [A]

    Returns
    -------
    float
        At least 0. [W]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Examples
    --------
    4.8 V to 1.8 V less 3 % at 50 mA [1]_:

    >>> linear_dissipation(4.8, 0.97 * 1.8, 0.05)
    0.1527

    References
    ----------
    .. [1] Microchip DS22049E, s. 6.3.1.
    """
    require_at_least_zero("input_voltage", input_voltage, "V")
    require_at_least_zero("output_voltage", output_voltage, "V")
    _require_not_above("output_voltage", output_voltage, input_voltage, "V", "the input")
    require_at_least_zero("output_current", output_current, "A")
    require_at_least_zero("quiescent_current", quiescent_current, "A")
    return (input_voltage - output_voltage) * output_current + input_voltage * quiescent_current


def junction_temperature(ambient: float, power: float, thermal_resistance: float) -> float:
    """Return the temperature inside a part, Ta + P·θ.

    Parameters
    ----------
    ambient : float
        Temperature of the air, above -273.15. [°C]
    power : float
        At least 0. [W]
    thermal_resistance : float
        From junction to air, at least 0. [K/W]

    Returns
    -------
    float
        [°C]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Examples
    --------
    152.7 mW in a package of 336 K/W at 40 °C [1]_:

    >>> junction_temperature(40.0, 0.1527, 336.0)
    91.3

    References
    ----------
    .. [1] Microchip DS22049E, s. 6.3.1.
    """
    _require_temperature("ambient", ambient)
    require_at_least_zero("power", power, "W")
    require_at_least_zero("thermal_resistance", thermal_resistance, "K/W")
    return ambient + power * thermal_resistance


def largest_dissipation(junction_max: float, ambient: float, thermal_resistance: float) -> float:
    """Return the power at which the inside of a part reaches its limit, (TJmax − Ta)/θ.

    Parameters
    ----------
    junction_max, ambient : float
        Above -273.15. [°C]
    thermal_resistance : float
        From junction to air, more than 0. [K/W]

    Returns
    -------
    float
        0 where the air alone is at the limit or above. [W]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Examples
    --------
    125 °C in air of 40 °C, 336 K/W [1]_:

    >>> largest_dissipation(125.0, 40.0, 336.0)
    0.253

    References
    ----------
    .. [1] Microchip DS22049E, s. 6.3.1.
    """
    _require_temperature("junction_max", junction_max)
    _require_temperature("ambient", ambient)
    require_positive("thermal_resistance", thermal_resistance, "K/W")
    return max(junction_max - ambient, 0.0) / thermal_resistance


def pulse_share(duration: float, period: float, time_constant: float) -> float:
    r"""Return how far repeated pulses of heat warm a part, as a share of the same heat for good.

    Parameters
    ----------
    duration : float
        Of each pulse, at least 0 and at most the period. [s]
    period : float
        From one beginning to the next, more than 0; infinite for a single pulse. [s]
    time_constant : float
        Of the part with its package, more than 0. [s]

    Returns
    -------
    float
        At the end of a pulse, once it has settled, from 0 to 1:
        :math:`(1 - e^{-t/\tau}) / (1 - e^{-T/\tau})`. For a time constant far above the period
        that is the duty t/T, far below the pulse it is 1.

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Notes
    -----
    One thermal resistance with one heat capacity. A real part has several, the chip itself with
    a few milliseconds, so its chip gets hotter in a pulse than this says.

    Examples
    --------
    100 ms of each second with a time constant of 1 s:
    (1 − e^−0.1)/(1 − e^−1) = 0.09516/0.63212:

    >>> pulse_share(0.1, 1.0, 1.0)
    0.1505
    """
    require_at_least_zero("duration", duration, "s")
    require_positive("time_constant", time_constant, "s")
    if not period > 0:
        raise PhysicsDomainError("period", period, "s", "more than 0")
    _require_not_above("duration", duration, period, "s", "the period")
    return math.expm1(-duration / time_constant) / math.expm1(-period / time_constant)


def output_deviation(certain: Sequence[float], random: Sequence[float]) -> float:
    r"""Return how far an output may be off: what is certain adds, what is random by its squares.

    Parameters
    ----------
    certain : sequence of float
        Deviations that all boards have together, such as regulation, at least 0. [V]
    random : sequence of float
        Deviations that differ from board to board, such as tolerances, at least 0. [V]

    Returns
    -------
    float
        :math:`\sum c + \sqrt{\sum r^2}`. [V]

    Raises
    ------
    PhysicsDomainError
        If a deviation is negative or not finite.

    Examples
    --------
    Line and load regulation 5 mV and 10 mV, drift, reference and resistors 33, 27, 41.2 mV [1]_:

    >>> output_deviation([5e-3, 10e-3], [33e-3, 27e-3, 41.2e-3])
    0.0743

    References
    ----------
    .. [1] TI SLVA079, s. 11.
    """
    for deviation in (*certain, *random):
        require_at_least_zero("deviation", deviation, "V")
    return math.fsum(certain) + math.hypot(*random)


def converter_input_current(output_power: float, efficiency: float, input_voltage: float) -> float:
    r"""Return what a switching regulator draws: its current rises as its input falls.

    Parameters
    ----------
    output_power : float
        At least 0. [W]
    efficiency : float
        More than 0, at most 1.
    input_voltage : float
        More than 0. [V]

    Returns
    -------
    float
        :math:`P / (\eta V_i)`. [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is outside the range given above.

    Examples
    --------
    66 mW at 80 % from 1.5 V: 66 mW / 1.2 V:

    >>> converter_input_current(0.066, 0.8, 1.5)
    0.055
    """
    require_at_least_zero("output_power", output_power, "W")
    require_positive("efficiency", efficiency, "")
    _require_not_above("efficiency", efficiency, 1.0, "", "1")
    require_positive("input_voltage", input_voltage, "V")
    return output_power / (efficiency * input_voltage)


def _check_dropout(points: DropoutPoints) -> None:
    if not points:
        raise PhysicsDomainError("number of points", 0, "", "at least 1")
    before = 0.0
    for at, volts in points:
        if not (math.isfinite(at) and at > before):
            allowed = "finite, more than 0 and rising"
            raise PhysicsDomainError("current of a point", at, "A", allowed)
        require_at_least_zero("drop-out of a point", volts, "V")
        before = at


def _require_not_above(name: str, value: float, most: float, unit: str, of: str) -> None:
    if value > most:
        raise PhysicsDomainError(name, value, unit, f"not above {of} ({most!r} {unit})".strip())


def _require_temperature(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > -273.15):
        raise PhysicsDomainError(name, value, "°C", "finite and above -273.15")
