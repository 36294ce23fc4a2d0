"""What leaks backwards through a junction when it is warm."""

from __future__ import annotations

import math

from boardvet.errors import PhysicsDomainError

__all__ = ["leakage_at"]

_DOUBLING = 10.0
"""Temperature rise for which the reverse current doubles. [K]"""


def leakage_at(current: float, temperature: float, stated_at: float = 25.0) -> float:
    r"""Return the reverse current of a junction at a temperature.

    Parameters
    ----------
    current : float
        Reverse current at the temperature at which it is stated, at least 0. [A]
    temperature : float
        Temperature of the junction, above -273.15. [°C]
    stated_at : float, default 25
        Temperature at which it is stated. [°C]

    Returns
    -------
    float
        :math:`I \cdot 2^{(T - T_0) / 10\,\mathrm{K}}`. [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of the range given above or not finite.

    Notes
    -----
    Doubling every 10 K is the rule of thumb for silicon and Schottky junctions (common practice,
    no source). It holds within a factor of 2 or so from 0 °C to 85 °C.

    Examples
    --------
    0.5 µA at 25 °C is 4 µA at 55 °C, three doublings:

    >>> leakage_at(0.5e-6, 55.0)
    4e-06
    """
    if not (math.isfinite(current) and current >= 0):
        raise PhysicsDomainError("reverse current", current, "A", "finite and at least 0")
    for name, degrees in (("temperature", temperature), ("stated temperature", stated_at)):
        if not (math.isfinite(degrees) and degrees > -273.15):
            raise PhysicsDomainError(name, degrees, "°C", "finite and above -273.15")
    return current * math.exp2((temperature - stated_at) / _DOUBLING)
