"""Two resistors in series: the voltage between them, what they draw, how stiff they are."""

from __future__ import annotations

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive, require_share

__all__ = ["divider_output", "divider_spread", "source_resistance", "total_for_source"]


def divider_output(supply: float, top: float, bottom: float) -> float:
    r"""Return the voltage between the two resistors, without load.

    Parameters
    ----------
    supply : float
        Voltage across both, at least 0. [V]
    top, bottom : float
        From the supply to the tap and from the tap to ground, more than 0. [Ω]

    Returns
    -------
    float
        :math:`V R_2 / (R_1 + R_2)`. [V]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    LM317 turned round: 1.25 V of reference on 240 Ω under 720 Ω hold 5.0 V [1]_:

    >>> divider_output(5.0, 720.0, 240.0)
    1.25

    References
    ----------
    .. [1] Fairchild LM317 Rev. 1.0.6: Vo = 1.25 V · (1 + R2/R1), adjust current left out.
    """
    require_at_least_zero("supply", supply, "V")
    require_positive("top", top, "Ω")
    require_positive("bottom", bottom, "Ω")
    return supply * bottom / (top + bottom)


def source_resistance(top: float, bottom: float) -> float:
    r"""Return the resistance that the tap shows: both resistors in parallel.

    Parameters
    ----------
    top, bottom : float
        More than 0. [Ω]

    Returns
    -------
    float
        :math:`R_1 R_2 / (R_1 + R_2)`. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    >>> source_resistance(20e3, 20e3)
    10000.0
    """
    require_positive("top", top, "Ω")
    require_positive("bottom", bottom, "Ω")
    return top * bottom / (top + bottom)


def total_for_source(source: float, ratio: float) -> float:
    r"""Return the sum of both resistors that shows a source resistance at a ratio.

    Parameters
    ----------
    source : float
        Both in parallel, more than 0. [Ω]
    ratio : float
        Output over supply, more than 0 and less than 1.

    Returns
    -------
    float
        :math:`R_S / (k (1 - k))`. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    Two of 20 kΩ show 10 kΩ:

    >>> total_for_source(10e3, 0.5)
    40000.0
    """
    require_positive("source", source, "Ω")
    require_share("ratio", ratio)
    return source / (ratio * (1 - ratio))


def divider_spread(top: float, bottom: float, tolerance: float) -> tuple[float, float]:
    r"""Return the lowest and the highest ratio that the tolerance of both resistors allows.

    Parameters
    ----------
    top, bottom : float
        More than 0. [Ω]
    tolerance : float
        Of each, at least 0 and less than 1.

    Returns
    -------
    (float, float)
        The ratio with one resistor at its high and the other at its low end.

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    Two alike of 1 %. By hand: 0.99 / (0.99 + 1.01) = 0.495:

    >>> divider_spread(10e3, 10e3, 0.01)
    (0.495, 0.505)
    """
    if not 0 <= tolerance < 1:
        raise PhysicsDomainError("tolerance", tolerance, "", "at least 0 and less than 1")
    less, more = 1 - tolerance, 1 + tolerance
    return (
        divider_output(1.0, top * more, bottom * less),
        divider_output(1.0, top * less, bottom * more),
    )
