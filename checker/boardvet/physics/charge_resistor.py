"""The resistor that sets the current of a charger."""

from __future__ import annotations

from boardvet.physics.domain import require_positive

__all__ = ["charge_current", "charge_resistance"]


def charge_resistance(gain: float, current: float) -> float:
    """Return the resistor that sets a charge current.

    Parameters
    ----------
    gain : float
        Current times resistance of the charger, more than 0: 1000 V of an MCP73831, 1200 V of a
        TP4056. [V]
    current : float
        Wanted, more than 0. [A]

    Returns
    -------
    float
        Gain over current. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    MCP73831, 500 mA: 2 kΩ (Microchip DS20001984G, from memory):

    >>> charge_resistance(1000.0, 0.5)
    2000.0
    """
    require_positive("gain", gain, "V")
    require_positive("current", current, "A")
    return gain / current


def charge_current(gain: float, resistance: float) -> float:
    """Return the charge current that a resistor sets.

    Parameters
    ----------
    gain : float
        Current times resistance of the charger, more than 0. [V]
    resistance : float
        More than 0. [Ω]

    Returns
    -------
    float
        Gain over resistance. [A]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    TP4056, 1.2 kΩ: 1 A (from memory of its data sheet):

    >>> charge_current(1200.0, 1200.0)
    1.0
    """
    require_positive("gain", gain, "V")
    require_positive("resistance", resistance, "Ω")
    return gain / resistance
