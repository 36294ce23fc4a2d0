"""The resistor in series with a light: its value, what flows, how that fades with the supply."""

from __future__ import annotations

import math

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive
from boardvet.physics.junction import Junction, current_at, forward_voltage

__all__ = [
    "led_current",
    "led_resistance",
    "mean_led_current",
    "resistance_for_mean",
    "supply_for_current",
]

_STEPS = 64
"""Steps of the mean; doubling them changes it by less than 0.1 %."""

_SMALLEST, _LARGEST = 1e-3, 1e9
"""Between which a resistance is looked for. [Ω]"""


def led_resistance(supply: float, drop: float, current: float, other: float = 0.0) -> float:
    r"""Return the series resistance that lets a wanted current through a light.

    Parameters
    ----------
    supply : float
        Voltage across light and resistor together, more than 0. [V]
    drop : float
        Forward voltage at that current of all lights in series, at least 0. [V]
    current : float
        Wanted, more than 0. [A]
    other : float, default 0
        What else is in series (a pin, a cell), at least 0. [Ω]

    Returns
    -------
    float
        :math:`(V - V_F) / I - R_\mathrm{other}`, never negative. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range, or no resistance at all leaves too little current.

    Examples
    --------
    6 V, 1.4 V, 20 mA [1]_:

    >>> led_resistance(6.0, 1.4, 20e-3)
    230.0

    References
    ----------
    .. [1] University of Nairobi, course answer "LED resistor" (uonbi.ac.ke): 230 Ω, 0.092 W.
    """
    require_positive("supply", supply, "V")
    require_at_least_zero("drop", drop, "V")
    require_positive("current", current, "A")
    require_at_least_zero("other", other, "Ω")
    resistance = (supply - drop) / current - other
    if resistance < 0:
        allowed = f"at least {drop + current * other:.4g} for {current:.4g} A"
        raise PhysicsDomainError("supply", supply, "V", allowed)
    return resistance


def led_current(supply: float, junction: Junction, resistance: float, count: int = 1) -> float:
    r"""Return what flows through equal lights in series with a resistance.

    Parameters
    ----------
    supply : float
        Voltage across all of them, at least 0. [V]
    junction : Junction
        One of the lights.
    resistance : float
        At least 0. [Ω]
    count : int, default 1
        How many lights are in series, at least 1.

    Returns
    -------
    float
        At least 0. [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Notes
    -----
    Junctions in series are one junction of :math:`N n` and :math:`N R_s`, and the resistance adds
    to its :math:`R_s`; no search is needed.

    Examples
    --------
    Red, 1.95 V at 10 mA. By hand: 100 Ω take 1 V at 10 mA, so the current at 2.95 V is 10 mA:

    >>> from boardvet.physics.junction import LED_FAMILIES, junction_from_points
    >>> red = junction_from_points([(1.95, 10e-3)], LED_FAMILIES["red"])
    >>> led_current(2.95, red, 100.0) * 1e3
    10.000
    """
    require_at_least_zero("supply", supply, "V")
    require_at_least_zero("resistance", resistance, "Ω")
    _require_count(count)
    series = junction.series_resistance * count + resistance
    together = Junction(junction.saturation_current, junction.emission * count, series)
    return max(current_at(together, supply), 0.0)  # at 0 V rounding leaves less than nothing


def supply_for_current(
    current: float, junction: Junction, resistance: float, count: int = 1
) -> float:
    r"""Return the supply at which a current flows: the inverse of `led_current`.

    Parameters
    ----------
    current : float
        At least 0. [A]
    junction : Junction
        One of the lights.
    resistance : float
        At least 0. [Ω]
    count : int, default 1
        How many lights are in series, at least 1.

    Returns
    -------
    float
        :math:`N V_F(I) + I R`. [V]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    >>> from boardvet.physics.junction import LED_FAMILIES, junction_from_points
    >>> red = junction_from_points([(1.95, 10e-3)], LED_FAMILIES["red"])
    >>> supply_for_current(10e-3, red, 100.0), supply_for_current(10e-3, red, 100.0, count=2)
    (2.950, 4.900)
    """
    require_at_least_zero("resistance", resistance, "Ω")
    _require_count(count)
    return forward_voltage(junction, current) * count + current * resistance


def mean_led_current(
    lowest: float, highest: float, junction: Junction, resistance: float, count: int = 1
) -> float:
    r"""Return the mean current over a supply that falls in a straight line.

    Parameters
    ----------
    lowest, highest : float
        Ends of the supply, `lowest` at least 0 and not above `highest`. [V]
    junction : Junction
        One of the lights.
    resistance : float
        At least 0. [Ω]
    count : int, default 1
        How many lights are in series, at least 1.

    Returns
    -------
    float
        :math:`\frac{1}{V_h - V_l} \int_{V_l}^{V_h} I(V)\,dV`, by Simpson's rule. [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Notes
    -----
    A cell whose voltage is linear in the share of its charge that is used spends equal *charge*
    on equal steps of voltage, not equal time; so this is the mean over the charge.

    Examples
    --------
    A supply that stays where it is has its own current as its mean:

    >>> from boardvet.physics.junction import LED_FAMILIES, junction_from_points
    >>> red = junction_from_points([(1.95, 10e-3)], LED_FAMILIES["red"])
    >>> mean_led_current(2.95, 2.95, red, 100.0) * 1e3
    10.000
    """
    require_at_least_zero("lowest", lowest, "V")
    if not (math.isfinite(highest) and highest >= lowest):
        raise PhysicsDomainError("highest", highest, "V", f"finite and at least {lowest!r}")
    total = 0.0
    for step in range(_STEPS + 1):
        weight = 1 if step in {0, _STEPS} else 4 if step % 2 else 2
        supply = lowest + (highest - lowest) * step / _STEPS
        total += weight * led_current(supply, junction, resistance, count)
    return total / (3 * _STEPS)


def resistance_for_mean(
    lowest: float, highest: float, junction: Junction, current: float, count: int = 1
) -> float:
    """Return the series resistance that gives a wanted mean current over a falling supply.

    Parameters
    ----------
    lowest, highest : float
        Ends of the supply, as for `mean_led_current`. [V]
    junction : Junction
        One of the lights.
    current : float
        Wanted mean, more than 0. [A]
    count : int, default 1
        How many lights are in series, at least 1.

    Returns
    -------
    float
        By halving the interval, since more resistance always means less current. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range, or even no resistance leaves too little current.

    Examples
    --------
    The inverse of the example of `mean_led_current`:

    >>> from boardvet.physics.junction import LED_FAMILIES, junction_from_points
    >>> red = junction_from_points([(1.95, 10e-3)], LED_FAMILIES["red"])
    >>> resistance_for_mean(2.95, 2.95, red, 10e-3)
    100.0
    """
    require_positive("current", current, "A")
    most = mean_led_current(lowest, highest, junction, _SMALLEST, count)
    if most < current:
        raise PhysicsDomainError("current", current, "A", f"at most {most:.4g} from this supply")
    low, high = math.log(_SMALLEST), math.log(_LARGEST)
    while high - low > 1e-9:
        middle = (low + high) / 2
        if mean_led_current(lowest, highest, junction, math.exp(middle), count) > current:
            low = middle
        else:
            high = middle
    return math.exp((low + high) / 2)


def _require_count(count: int) -> None:
    if count < 1:
        raise PhysicsDomainError("count", count, "", "at least 1")
