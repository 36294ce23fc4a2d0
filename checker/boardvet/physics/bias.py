"""How much capacitance a ceramic capacitor keeps while direct voltage lies across it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import StrEnum

from boardvet.errors import PhysicsDomainError

__all__ = ["MIDDLE_LOSS", "Dielectric", "capacitance_kept", "loss_at_rating"]


class Dielectric(StrEnum):
    """Classes of ceramic, by how they answer to voltage."""

    STABLE = "class 1"
    """C0G, NP0, U2J: no ferroelectric, keeps its capacitance."""
    FERROELECTRIC = "class 2"
    """X5R, X7R and their like."""
    STRONG = "class 2 of the kind Y5V"
    """Y5V, Z5U: more capacitance in the volume, and most of it goes under voltage."""


MIDDLE_LOSS = 1.5
"""Ratio of what is lost to what is kept at the rated voltage, where the size is not known.

From the middle of the bands quoted in `capacitance_kept`: 40 % kept at the rating is 60/40."""

_STRONG_LOSS = 8.0
"""The same for Y5V and Z5U, from memory of makers' curves: some 11 % are kept at the rating."""

_LOSS_OF_DENSITY = 0.01e-3
"""Lost over kept for each F·V²/m³ of a class 2 body: 1.5 for 1.5 µF/mm³ at 10 V (assumption)."""

_LEAST_LOSS, _MOST_LOSS = 0.3, 6.0
"""Between these the loss at the rating of parts that are sold lies (assumption)."""

_THICKEST = 2.5e-3
"""No chip is thicker. [m]"""

_BODIES: Mapping[str, tuple[float, float]] = {
    "01005": (0.4e-3, 0.2e-3),
    "0201": (0.6e-3, 0.3e-3),
    "0402": (1.0e-3, 0.5e-3),
    "0603": (1.6e-3, 0.8e-3),
    "0805": (2.0e-3, 1.25e-3),
    "1206": (3.2e-3, 1.6e-3),
    "1210": (3.2e-3, 2.5e-3),
    "1812": (4.5e-3, 3.2e-3),
    "2220": (5.7e-3, 5.0e-3),
}
"""Length and width of chips by imperial case code, the names of their metric codes. [m]"""


def capacitance_kept(
    voltage: float,
    rated: float,
    dielectric: Dielectric = Dielectric.FERROELECTRIC,
    *,
    capacitance: float | None = None,
    case: str | None = None,
) -> float:
    r"""Return the share of its capacitance that a ceramic capacitor keeps under bias.

    Parameters
    ----------
    voltage : float
        Direct voltage across it, whichever way. [V]
    rated : float
        Rated voltage, more than 0. [V]
    dielectric : Dielectric
        Class of the ceramic.
    capacitance : float, optional
        Nominal capacitance, more than 0. [F]
    case : str, optional
        Imperial case code. Both this and `capacitance` are needed to tell how thin the layers
        are; else the middle of what is sold is taken.

    Returns
    -------
    float
        From 0 (exclusive) to 1. Tolerance, temperature and ageing are not in it.

    Raises
    ------
    PhysicsDomainError
        If an argument is outside its range.

    Notes
    -----
    An own smooth curve, an assumption; the curve of the maker's part replaces it:

    .. math:: \frac{C(V)}{C_0} = \frac{1}{1 + k (V / V_\mathrm{rated})^2}

    With k = 1.5 it lies in all bands of a trade page [1]_ for class 2 parts of 10 V (60 to 80 %
    kept at 5 V, 80 to 90 % at 3.3 V, 30 to 50 % at 10 V) and 16 V (85 to 95 % at 5 V).

    What counts is the field in the layers. A body of volume v holds layers of thickness d with
    C ∝ v/d², so the square of the field goes with C·V²/v: the same capacitance in a smaller case
    loses more. Where both are known, k follows that, scaled so that 1.5 µF/mm³ at 10 V has
    k = 1.5, and is held between 0.3 and 6. The thickness is taken as the width, as it is for
    the largest capacitance in a case.

    Examples
    --------
    A 10 V part of unknown size at 5 V, 60 to 80 % [1]_:

    >>> round(capacitance_kept(5.0, 10.0), 2)
    0.73

    10 µF, 10 V in an 0805 at 5 V: the maker's curve shown in [2]_ keeps 5 µF:

    >>> round(capacitance_kept(5.0, 10.0, capacitance=10e-6, case="0805"), 2)
    0.56

    References
    ----------
    .. [1] ufcapacitors.com/5455, a trade page: rule of thumb for X7R.
    .. [2] ufcapacitors.com/5354, the same: curves of 10 µF, 10 V parts in 0805 and 1206.
    """
    if not math.isfinite(voltage):
        raise PhysicsDomainError("voltage", voltage, "V", "finite")
    if not (math.isfinite(rated) and rated > 0.0):
        raise PhysicsDomainError("rated", rated, "V", "finite and more than 0")
    if dielectric is Dielectric.STABLE:
        return 1.0
    loss = _STRONG_LOSS
    if dielectric is Dielectric.FERROELECTRIC:
        loss = loss_at_rating(rated, capacitance, case)
    return 1.0 / (1.0 + loss * (voltage / rated) ** 2)


def loss_at_rating(rated: float, capacitance: float | None, case: str | None) -> float:
    """Return lost over kept capacitance of a class 2 part at its rated voltage.

    Parameters
    ----------
    rated : float
        Rated voltage, more than 0. [V]
    capacitance : float or None
        Nominal capacitance, more than 0. [F]
    case : str or None
        Imperial case code.

    Returns
    -------
    float
        `MIDDLE_LOSS` where the size is not known, else between 0.3 and 6.

    Examples
    --------
    10 µF in 2.0 · 1.25 · 1.25 mm³ are 3.2 µF/mm³:

    >>> round(loss_at_rating(10.0, 10e-6, "0805"), 2), loss_at_rating(10.0, 10e-6, None)
    (3.2, 1.5)
    """
    if capacitance is not None and not (math.isfinite(capacitance) and capacitance > 0.0):
        raise PhysicsDomainError("capacitance", capacitance, "F", "finite and more than 0")
    body = _BODIES.get(case or "")
    if body is None or capacitance is None:
        return MIDDLE_LOSS
    length, width = body
    volume = length * width * min(width, _THICKEST)
    loss = _LOSS_OF_DENSITY * capacitance * rated**2 / volume
    return min(max(loss, _LEAST_LOSS), _MOST_LOSS)
