"""Light-emitting and other diodes: one junction from what a data sheet states of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from boardvet.errors import ContradictingPoints, PhysicsDomainError

__all__ = [
    "LED_FAMILIES",
    "SCHOTTKY_DIODE",
    "SILICON_DIODE",
    "THERMAL_VOLTAGE",
    "Junction",
    "JunctionFamily",
    "current_at",
    "forward_voltage",
    "junction_from_points",
]

THERMAL_VOLTAGE = 0.025865
"""Vt = k·T/q at 27 °C. [V]"""

_STATED_AT = 25.0
_LARGEST_EXPONENT = 700.0
_ROUNDING = 1e-9


class Junction(NamedTuple):
    """A junction and its series resistance: I = Is·(exp((V − I·Rs)/(n·Vt)) − 1).

    Parameters
    ----------
    saturation_current : float
        Is, more than 0. [A]
    emission : float
        n, more than 0.
    series_resistance : float
        Rs, at least 0. [Ω]
    """

    saturation_current: float
    emission: float
    series_resistance: float


class JunctionFamily(NamedTuple):
    """What is assumed of a kind of diode beyond its stated points.

    Parameters
    ----------
    emission : float
        n.
    series_resistance : float
        Rs where only one point is stated. [Ω]
    temperature_coefficient : float
        Change of the forward voltage with temperature. [V/K]
    point : (float, float) or None
        Forward voltage [V] at a current [A] where none is stated; None where the family is too
        wide for that.
    """

    emission: float
    series_resistance: float
    temperature_coefficient: float
    point: tuple[float, float] | None = None


_PHOSPHIDE = JunctionFamily(2.0, 6.0, -2e-3)
_NITRIDE = JunctionFamily(2.5, 15.0, -3e-3)

LED_FAMILIES: Mapping[str, JunctionFamily] = MappingProxyType(
    {
        "red": _PHOSPHIDE,
        "orange": _PHOSPHIDE,
        "amber": _PHOSPHIDE,
        "yellow": _PHOSPHIDE,
        "yellow-green": _PHOSPHIDE,
        "green": _NITRIDE,
        "cyan": _NITRIDE,
        "blue": _NITRIDE,
        "violet": _NITRIDE,
        "ultraviolet": _NITRIDE,
        "white": _NITRIDE,
        "warm white": _NITRIDE,
        "pink": _NITRIDE,
        "infrared": JunctionFamily(1.5, 3.0, -2e-3),
    }
)
"""By colour of the light. Assumptions of this project for indicator LEDs.

Models through one same point differ by ±4 % in the current at 330 Ω from 3.0 V, ±17 % from 2.2 V,
and a factor of 2 for blue from 3.0 V.
"""

SILICON_DIODE = JunctionFamily(1.75, 0.6, -2e-3, (0.70, 10e-3))
"""Small silicon diodes and the body diodes of FETs. Assumption, from memory of 1N4148 data."""

SCHOTTKY_DIODE = JunctionFamily(1.05, 1.0, -1.5e-3, (0.30, 10e-3))
"""Small Schottky diodes, which differ widely. Assumption, from memory."""


def junction_from_points(
    points: Sequence[tuple[float, float]],
    family: JunctionFamily,
    temperature: float = _STATED_AT,
    emission: float | None = None,
    series_resistance: float | None = None,
) -> Junction:
    r"""Return the junction that passes through the stated points.

    Parameters
    ----------
    points : sequence of (float, float)
        Forward voltage [V] at a current [A], both more than 0, at 25 °C. None: the family's point.
        One: Rs is the family's. Two or more: Rs is fitted to those of least and most current.
    family : JunctionFamily
        Emission coefficient, and what else is not stated.
    temperature : float, default 25
        The curve is shifted by the family's coefficient as a whole. [°C]
    emission, series_resistance : float, optional
        Stated values, which count before the family's; with `series_resistance` the least point
        alone decides. [–], [Ω]

    Returns
    -------
    Junction
        Through the first point exactly, and through the last where Rs is fitted.

    Raises
    ------
    ContradictingPoints
        If the two points ask for Rs < 0, or one point leaves less than half of its voltage to the
        junction (the assumed Rs is then that of another size of diode: a second point helps).
    PhysicsDomainError
        If there is no point at all, or a value is out of its range.

    Notes
    -----
    From two points, with :math:`a = n V_t`,

    .. math:: R_s = \frac{V_2 - V_1 - a \ln((I_2 + I_s)/(I_1 + I_s))}{I_2 - I_1}, \quad
              I_s = \frac{I_1}{\exp((V_1 - I_1 R_s)/a) - 1}

    by turns, since Is is next to nothing beside I. A colder junction has the same curve at a
    higher voltage, which is the same as a smaller Is.

    Examples
    --------
    Red, 1.75 V at 1 mA and 1.95 V at 10 mA. By hand: 2 · 25.865 mV · ln 10 = 119.1 mV of the
    200 mV belong to the junction, the other 80.9 mV over 9 mA make 8.99 Ω:

    >>> junction = junction_from_points([(1.75, 1e-3), (1.95, 10e-3)], LED_FAMILIES["red"])
    >>> junction.series_resistance
    8.988
    >>> forward_voltage(junction, 10e-3)
    1.9500
    """
    n = family.emission if emission is None else emission
    _require("emission", n, "", more_than=0.0)
    _require("temperature", temperature, "°C", more_than=-273.15)
    slope = n * THERMAL_VOLTAGE
    first, last = _outer_points(points, family)
    if series_resistance is not None:
        resistance = series_resistance
        _require("series_resistance", resistance, "Ω", at_least=0.0)
        saturation = _saturation(first, slope, resistance)
    elif first == last:
        resistance = family.series_resistance
        if first[1] * resistance > first[0] / 2.0:
            what = f"leaves less than half of it to the junction at the assumed {resistance:g} Ω"
            raise ContradictingPoints((first,), what)
        saturation = _saturation(first, slope, resistance)
    else:
        resistance, saturation = _fitted(first, last, slope)
    shift = family.temperature_coefficient * (temperature - _STATED_AT)
    return Junction(saturation * math.exp(-shift / slope), n, resistance)


def forward_voltage(junction: Junction, current: float) -> float:
    r"""Return the voltage of a junction that carries a current.

    Parameters
    ----------
    junction : Junction
        The junction.
    current : float
        At least 0. [A]

    Returns
    -------
    float
        :math:`I R_s + n V_t \ln(1 + I / I_s)`. [V]

    Raises
    ------
    PhysicsDomainError
        If the current is negative or not finite.

    Examples
    --------
    By hand: 2 · 25.865 mV · ln(10 mA / 10 aA) = 51.73 mV · 34.539 = 1.7867 V, and 10 mA · 6 Ω:

    >>> forward_voltage(Junction(1e-17, 2.0, 6.0), 10e-3)
    1.8467
    """
    _require("current", current, "A", at_least=0.0)
    slope = junction.emission * THERMAL_VOLTAGE
    ratio = current / junction.saturation_current
    return current * junction.series_resistance + slope * math.log1p(ratio)


def current_at(junction: Junction, voltage: float) -> float:
    r"""Return the current of a junction at a voltage.

    Parameters
    ----------
    junction : Junction
        The junction.
    voltage : float
        Finite; negative where it is reversed. [V]

    Returns
    -------
    float
        Negative, and never below -Is, where it is reversed. [A]

    Raises
    ------
    PhysicsDomainError
        If the voltage is not finite, or the current too large for a number (Rs = 0 only).

    Notes
    -----
    With :math:`a = n V_t`, :math:`I = (a / R_s) W(z) - I_s` where W is Lambert's function and
    :math:`\ln z = \ln(I_s R_s / a) + (V + I_s R_s) / a`. W is found by Newton's method on
    :math:`w + \ln w = \ln z`, which does not overflow.

    Examples
    --------
    The inverse of the example of `forward_voltage`:

    >>> current_at(Junction(1e-17, 2.0, 6.0), 1.8467) * 1e3
    10.000
    """
    _require("voltage", voltage, "V")
    saturation, n, resistance = junction
    slope = n * THERMAL_VOLTAGE
    if resistance == 0.0:
        if voltage / slope > _LARGEST_EXPONENT:
            raise PhysicsDomainError(
                "voltage", voltage, "V", f"at most {_LARGEST_EXPONENT * slope:.3g} where Rs is 0"
            )
        return saturation * math.expm1(voltage / slope)
    drop = saturation * resistance / slope
    root = _lambert(math.log(drop) + voltage / slope + drop)
    return root * slope / resistance - saturation


def _lambert(logarithm: float) -> float:
    """Return w, more than 0, with w + ln w = `logarithm`."""
    if logarithm < -_LARGEST_EXPONENT:
        return 0.0
    root = math.exp(logarithm) if logarithm < -1.0 else max(logarithm, 0.5)
    for _ in range(50):
        following = root * (1.0 + logarithm - math.log(root)) / (1.0 + root)
        if abs(following - root) <= 1e-15 * root:
            break
        root = following
    return root


def _outer_points(
    points: Sequence[tuple[float, float]], family: JunctionFamily
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the points of least and most current, twice the same where there is one."""
    stated = sorted(points, key=lambda point: point[1])
    if not stated:
        if family.point is None:
            raise PhysicsDomainError("points", 0, "", "at least one for this family")
        stated = [family.point]
    for voltage, current in stated:
        _require("voltage", voltage, "V", more_than=0.0)
        _require("current", current, "A", more_than=0.0)
    first, last = stated[0], stated[-1]
    if first != last and first[1] == last[1]:
        raise ContradictingPoints((first, last), "state two voltages at one current")
    return first, last


def _fitted(
    first: tuple[float, float], last: tuple[float, float], slope: float
) -> tuple[float, float]:
    """Return Rs and Is through two points."""
    saturation = resistance = 0.0
    for _ in range(20):
        logarithm = math.log((last[1] + saturation) / (first[1] + saturation))
        resistance = (last[0] - first[0] - slope * logarithm) / (last[1] - first[1])
        saturation = _saturation(first, slope, max(resistance, 0.0))
    if resistance < -_ROUNDING:
        what = f"ask for a series resistance of {resistance:.3g} Ω, which is below 0"
        raise ContradictingPoints((first, last), what)
    return max(resistance, 0.0), saturation


def _saturation(point: tuple[float, float], slope: float, resistance: float) -> float:
    """Return Is through a point."""
    voltage, current = point
    exponent = (voltage - current * resistance) / slope
    if exponent <= 0.0:
        what = f"leaves nothing to the junction at a series resistance of {resistance:g} Ω"
        raise ContradictingPoints((point,), what)
    if exponent > _LARGEST_EXPONENT:
        allowed = f"at most {_LARGEST_EXPONENT * slope:.3g} for one junction"
        raise PhysicsDomainError("voltage", voltage, "V", allowed)
    return current / math.expm1(exponent)


def _require(
    name: str,
    value: float,
    unit: str,
    *,
    more_than: float = -math.inf,
    at_least: float = -math.inf,
) -> None:
    if math.isfinite(value) and value > more_than and value >= at_least:
        return
    allowed = "finite"
    if more_than > -math.inf:
        allowed += f" and more than {more_than:g}"
    if at_least > -math.inf:
        allowed += f" and at least {at_least:g}"
    raise PhysicsDomainError(name, value, unit, allowed)
