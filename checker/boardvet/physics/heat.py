"""Power that becomes heat in resistors, what they stand of it, and how warm a part gets."""

from __future__ import annotations

import math
from collections.abc import Sequence

from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = [
    "FULL_POWER_UP_TO",
    "NO_POWER_FROM",
    "derated_power",
    "resistor_dissipation",
    "smallest_rating",
    "temperature_rise",
    "working_voltage",
]

FULL_POWER_UP_TO = 70.0
"""Air temperature up to which chip resistors stand their rated power. [°C]"""

NO_POWER_FROM = 155.0
"""Air temperature at which they stand none. [°C]"""


def resistor_dissipation(current: float, resistance: float) -> float:
    r"""Return the power that a resistor turns into heat, :math:`I^2 R`.

    Parameters
    ----------
    current : float
        Current through it, whichever way. [A]
    resistance : float
        At least 0. [Ω]

    Returns
    -------
    float
        [W]

    Examples
    --------
    A light of 1.8 V at 15 mA on 12 V: the resistor takes 10.2 V, that is 680 Ω [1]_:

    >>> resistor_dissipation(15e-3, 680.0)
    0.153

    References
    ----------
    .. [1] NPTEL, Light Emitting Diodes I, exercise: 0.153 W.
    """
    require_at_least_zero("resistance", resistance, "Ω")
    return current * current * resistance


def derated_power(
    rated: float,
    ambient: float,
    full_up_to: float = FULL_POWER_UP_TO,
    none_from: float = NO_POWER_FROM,
) -> float:
    """Return the power that a resistor stands at an air temperature.

    Parameters
    ----------
    rated : float
        Rated power, at least 0. [W]
    ambient : float
        Temperature of the air around it. [°C]
    full_up_to : float
        Up to here it stands the rated power. [°C]
    none_from : float
        From here on it stands none; above `full_up_to`. [°C]

    Returns
    -------
    float
        The rated power up to `full_up_to`, then linear down to 0 at `none_from`. [W]

    Examples
    --------
    0.1 W, half of the way from 70 °C to 155 °C:

    >>> derated_power(0.1, 112.5)
    0.05

    References
    ----------
    Range of use in the chip resistor sheets of Uni-Ohm; that the law is linear between its ends:
    common practice of such sheets, from memory.
    """
    require_at_least_zero("rated", rated, "W")
    require_positive("none_from - full_up_to", none_from - full_up_to, "K")
    share = (none_from - ambient) / (none_from - full_up_to)
    return rated * min(max(share, 0.0), 1.0)


def working_voltage(rated: float, resistance: float, highest: float) -> float:
    r"""Return the most voltage that a resistor may carry for good.

    Parameters
    ----------
    rated : float
        Power that it stands, at least 0. [W]
    resistance : float
        At least 0. [Ω]
    highest : float
        Limit of its case, at least 0. [V]

    Returns
    -------
    float
        The smaller of :math:`\sqrt{P R}` and the limit of the case. [V]

    Examples
    --------
    0.1 W: 100 Ω are limited by the power, 1 MΩ by the case:

    >>> round(working_voltage(0.1, 100.0, 75.0), 2), working_voltage(0.1, 1e6, 75.0)
    (3.16, 75.0)

    References
    ----------
    IEC 60115-1, rated and limiting element voltage (from memory).
    """
    require_at_least_zero("rated", rated, "W")
    require_at_least_zero("resistance", resistance, "Ω")
    require_at_least_zero("highest", highest, "V")
    return min(math.sqrt(rated * resistance), highest)


def smallest_rating(power: float, ratings: Sequence[float]) -> float | None:
    """Return the smallest rating that is not below a power, None if all are.

    Parameters
    ----------
    power : float
        [W]
    ratings : sequence of float
        What is sold, in any order. [W]

    Examples
    --------
    4.6 V at 20 mA are 92 mW: of 1/16, 1/8, 1/4, 1/2 and 1 W the second does [1]_:

    >>> smallest_rating(20e-3 * 4.6, (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0))
    0.125

    References
    ----------
    .. [1] University of Nairobi, course answer: 6 V, 1.4 V, 20 mA, 230 Ω, 1/8 W.
    """
    return min((rating for rating in ratings if rating >= power), default=None)


def temperature_rise(power: float, thermal_resistance: float) -> float:
    """Return how much warmer than the air a part gets.

    Parameters
    ----------
    power : float
        What it turns into heat, at least 0. [W]
    thermal_resistance : float
        From the place that is asked about to the air, at least 0. [K/W]

    Returns
    -------
    float
        [K]

    Examples
    --------
    152.7 mW in a package of 336 K/W [1]_:

    >>> round(temperature_rise(0.1527, 336.0), 1)
    51.3

    References
    ----------
    .. [1] Microchip DS22049E, section 6.3.1.
    """
    require_at_least_zero("power", power, "W")
    require_at_least_zero("thermal_resistance", thermal_resistance, "K/W")
    return power * thermal_resistance
