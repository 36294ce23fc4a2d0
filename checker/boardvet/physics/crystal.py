"""The two capacitors of a crystal, so that it sees the capacitance that it is made for."""

from __future__ import annotations

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = ["load_capacitors", "load_seen"]


def load_capacitors(load: float, stray: float) -> float:
    r"""Return each of two equal capacitors that load a crystal as it wants.

    Parameters
    ----------
    load : float
        Load capacitance of the crystal, more than 0. [F]
    stray : float
        Of pins and board *across* the crystal, at least 0. Where it is given for each pin to
        ground, as some makers do, this is half of it: two of them in series. [F]

    Returns
    -------
    float
        :math:`2 (C_L - C_S)`. [F]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range, or the strays alone are more than the load.

    Examples
    --------
    6 pF with strays of 2 pF, 8 pF each [1]_; 18 pF with 5 pF a pin, 31 pF each [2]_:

    >>> load_capacitors(6e-12, 2e-12) * 1e12
    8.0
    >>> load_capacitors(18e-12, 5e-12 / 2) * 1e12
    31.0

    References
    ----------
    .. [1] STM32F103x8/xB, DocID13587 Rev 17, s. 5.3.6: CL = CL1·CL2/(CL1 + CL2) + Cstray.
    .. [2] Atmel AVR042 rev. 2521F, equations 5-1 and 5-2: C = 2·CL − Cs, Cs 5 to 10 pF a pin.
    """
    require_positive("load", load, "F")
    require_at_least_zero("stray", stray, "F")
    if stray >= load:
        raise PhysicsDomainError("stray", stray, "F", f"less than the load of {load!r} F")
    return 2 * (load - stray)


def load_seen(first: float, second: float, stray: float) -> float:
    r"""Return the capacitance that a crystal sees.

    Parameters
    ----------
    first, second : float
        From each of its pins to ground, more than 0. [F]
    stray : float
        Across the crystal, at least 0. [F]

    Returns
    -------
    float
        :math:`C_1 C_2 / (C_1 + C_2) + C_S`. [F]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    >>> load_seen(8e-12, 8e-12, 2e-12) * 1e12
    6.0
    """
    require_positive("first", first, "F")
    require_positive("second", second, "F")
    require_at_least_zero("stray", stray, "F")
    return first * second / (first + second) + stray
