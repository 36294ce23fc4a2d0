"""Pull-ups of an I²C line: the least that its outputs can pull down, the most that is in time."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_positive

__all__ = [
    "I2C_MODES",
    "LOW_SHARE_UP_TO",
    "RISE_FACTOR",
    "I2cMode",
    "low_level_of",
    "pull_up_max",
    "pull_up_min",
    "rise_time",
]

RISE_FACTOR = math.log(0.7 / 0.3)
"""From 0.3·VDD to 0.7·VDD in units of R·C: ln(7/3) = 0.8473 (NXP UM10204 Rev. 5 s. 7.1)."""

LOW_SHARE_UP_TO = 2.0
"""Supply up to which the low level is a share of it. [V]"""

_LOW_LEVEL, _LOW_SHARE = 0.4, 0.2
_LOW_SHARE_CURRENT = 2e-3


class I2cMode(NamedTuple):
    """What a mode of the I²C bus allows.

    Parameters
    ----------
    name : str
        As the specification calls it.
    clock : float
        Highest clock. [Hz]
    rise_time : float
        Longest rise. [s]
    capacitance : float
        Most on one line. [F]
    sink_current : float
        What an output has to sink at 0.4 V, above 2 V of supply. [A]
    """

    name: str
    clock: float
    rise_time: float
    capacitance: float
    sink_current: float


I2C_MODES: Mapping[str, I2cMode] = MappingProxyType(
    {
        mode.name: mode
        for mode in (
            I2cMode("standard", 100e3, 1000e-9, 400e-12, 3e-3),
            I2cMode("fast", 400e3, 300e-9, 400e-12, 3e-3),
            I2cMode("fast-plus", 1e6, 120e-9, 550e-12, 20e-3),
        )
    }
)
"""By name, slowest first (NXP UM10204 Rev. 5, 9 Oct 2012, as the Microchip TWI table gives it)."""


def pull_up_min(supply: float, sink_current: float, low_level: float | None = None) -> float:
    r"""Return the least pull-up that an output still pulls down far enough.

    Parameters
    ----------
    supply : float
        The highest that the pull-up hangs on, more than 0. [V]
    sink_current : float
        What the output sinks at its low level above 2 V of supply, more than 0. At or below 2 V
        it is 2 mA at most, unless `low_level` is given. [A]
    low_level : float, optional
        Low level of the output, at least 0 and below `supply`. By default that of the
        specification: 0.4 V, and 0.2·VDD at or below 2 V. [V]

    Returns
    -------
    float
        :math:`(V_{DD} - V_{OL}) / I_{OL}`. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    3.3 V, 0.4 V at 3 mA [1]_; and 1.8 V, of which a fifth may be left at 2 mA:

    >>> pull_up_min(3.3, 3e-3)
    966.667
    >>> pull_up_min(1.8, 3e-3)
    720.0

    References
    ----------
    .. [1] TI SLVA689 "I2C Bus Pullup Resistor Calculation" s. 4: 966.667 Ω.
    """
    require_positive("supply", supply, "V")
    require_positive("sink_current", sink_current, "A")
    if low_level is None:
        low_level, sink_current = low_level_of(supply, sink_current)
    if not 0 <= low_level < supply:
        raise PhysicsDomainError("low_level", low_level, "V", f"at least 0 and below {supply!r}")
    return (supply - low_level) / sink_current


def low_level_of(supply: float, sink_current: float) -> tuple[float, float]:
    """Return the low level that the specification allows an output, and the current it sinks.

    Parameters
    ----------
    supply : float
        More than 0. [V]
    sink_current : float
        What the mode asks above 2 V of supply, more than 0. [A]

    Returns
    -------
    (float, float)
        0.4 V at that current; 0.2·VDD at 2 mA or less where the supply is 2 V or less. [V], [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    >>> low_level_of(3.3, 3e-3), low_level_of(2.0, 3e-3)
    ((0.4, 0.003), (0.4, 0.002))
    """
    require_positive("supply", supply, "V")
    require_positive("sink_current", sink_current, "A")
    if supply > LOW_SHARE_UP_TO:
        return _LOW_LEVEL, sink_current
    return _LOW_SHARE * supply, min(sink_current, _LOW_SHARE_CURRENT)


def pull_up_max(rise: float, capacitance: float) -> float:
    r"""Return the largest pull-up that raises a line in time.

    Parameters
    ----------
    rise : float
        Longest rise from 30 % to 70 %, more than 0. [s]
    capacitance : float
        Of the line, more than 0. [F]

    Returns
    -------
    float
        :math:`t_r / (0.8473 \, C_b)`. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    300 ns with 200 pF, 1.77 kΩ in TI SLVA689 s. 4:

    >>> pull_up_max(300e-9, 200e-12)
    1770.3
    """
    require_positive("rise", rise, "s")
    require_positive("capacitance", capacitance, "F")
    return rise / (RISE_FACTOR * capacitance)


def rise_time(resistance: float, capacitance: float) -> float:
    """Return how long a line rises from 30 % to 70 % of its supply.

    Parameters
    ----------
    resistance : float
        Pull-up, more than 0. [Ω]
    capacitance : float
        Of the line, more than 0. [F]

    Returns
    -------
    float
        0.8473·R·C. [s]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    By hand: 0.8473 · 1.2 kΩ · 200 pF = 203.4 ns:

    >>> rise_time(1200.0, 200e-12) * 1e9
    203.4
    """
    require_positive("resistance", resistance, "Ω")
    require_positive("capacitance", capacitance, "F")
    return RISE_FACTOR * resistance * capacitance
