"""Values that can be bought: E12 first, E24 where E12 misses by too much; resistor sizes."""

from __future__ import annotations

import math
from typing import cast

from boardvet.quantity import preferred, show
from boardvet.quantity.preferred import Direction
from boardvet.sizing._calculation import Chosen, Unsizable

__all__ = ["MARGIN", "choose", "choose_between", "resistor"]

MARGIN = 0.10
"""How far E12 may miss the wanted value before E24 is taken: about half a step of E12."""

_CASES = ("0603", "0805", "1206", "2010", "2512")
_LOADED = 0.5
"""Share of its rating that a resistor is used at: common practice, which keeps it cool."""


def choose(
    name: str,
    wanted: float,
    unit: str,
    margin: float = MARGIN,
    direction: Direction = "nearest",
) -> Chosen:
    """Return the value of E12, or of E24 where E12 misses by more than the margin.

    Examples
    --------
    >>> choose("R", 1308.0, "ohm").value, choose("R", 1350.0, "ohm").series
    (1200.0, 'E24')
    """
    value = preferred(wanted, "E12", direction)
    if abs(value / wanted - 1) <= margin:
        return Chosen(name, value, unit, "E12", wanted)
    return Chosen(name, preferred(wanted, "E24", direction), unit, "E24", wanted)


def choose_between(name: str, low: float, high: float, wanted: float, unit: str) -> Chosen:
    """Return the value inside a range that is nearest to the wanted, of the coarsest series.

    Raises
    ------
    Unsizable
        If even E96 has none inside.

    Examples
    --------
    >>> choose_between("R", 966.7, 1770.3, 1308.2, "ohm").shown
    '1.2 kΩ'
    """
    for series in ("E12", "E24", "E96"):
        nearest = preferred(wanted, series)
        up, down = preferred(low, series, "up"), preferred(high, series, "down")
        for value in (nearest, up, down):
            if low <= value <= high:
                return Chosen(name, value, unit, series, wanted)
    raise Unsizable(
        f"no value of E96 lies between {show(low, unit, 4)} and {show(high, unit, 4)}",
        "widen the range",
    )


def resistor(chosen: Chosen, power: float) -> str:
    """Say which resistor to buy and how warm it is used.

    Parameters
    ----------
    chosen : Chosen
        Its value.
    power : float
        Most heat. [W]
    """
    from boardvet.facts.ratings import rating_of  # brings the YAML library
    from boardvet.vocabulary.kinds import Kind

    heat = show(power, "W", 2)
    tolerance = "5 %" if math.isclose(preferred(chosen.value), chosen.value) else "1 %"
    for case in _CASES:
        rating = rating_of(Kind.RESISTOR, case, "power_rating")
        watts = cast("float", rating.value) if rating else 0.0
        if power <= _LOADED * watts:
            good = f"{case} takes {show(watts, 'W')}"
            return f"{chosen.shown} {tolerance}, {case} or larger ({heat} of heat; {good})"
    return (
        f"{chosen.shown} {tolerance} for {show(power / _LOADED, 'W', 2)} or more ({heat} of heat)"
    )
