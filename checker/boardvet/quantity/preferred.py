"""Preferred numbers of IEC 60063: the values that can be bought.

Why not a library: `eseries` gives right answers (it is the oracle of the tests), but it brings
`future`, a shim for Python 2, and a command line framework; importing it takes 20 to 30 ms of a
start-up that has 600 ms for all. What it would save is the two tables below.

The tables (from memory of IEC 60063:2015, compared with `eseries` in the tests): E24 is a list of
its own, eight of its entries do not follow the rounding rule; E192 is 10^(n/192) to three figures
with the one exception 920 (the rule gives 919); the other series leave out every second entry.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import Literal

from boardvet.errors import PhysicsDomainError, QuantityError

__all__ = ["SERIES", "Direction", "is_two_figures", "preferred"]

Direction = Literal["nearest", "up", "down"]

# fmt: off
_E24 = (
    100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300,
    330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910,
)
# fmt: on
_E192 = tuple(
    920 if figures == 919 else figures
    for figures in (round(100 * 10 ** (step / 192)) for step in range(192))
)

SERIES: dict[str, tuple[int, ...]] = {
    "E3": _E24[::8],
    "E6": _E24[::4],
    "E12": _E24[::2],
    "E24": _E24,
    "E48": _E192[::4],
    "E96": _E192[::2],
    "E192": _E192,
}
"""The figures of one decade, from 100 up, by name of the series."""

_SAME = 1e-9
"""Values closer than this share are one value; what floats add is below it."""


def preferred(value: float, series: str = "E24", direction: Direction = "nearest") -> float:
    """Return the value of a series that is nearest, or the next at or above, at or below.

    Parameters
    ----------
    value : float
        More than 0, in any unit.
    series : str
        "E3", "E6", "E12", "E24", "E48", "E96" or "E192".
    direction : {"nearest", "up", "down"}
        "nearest" goes by the difference; of two at one distance it takes the lower.

    Returns
    -------
    float
        In the unit of `value`, as its decimal figures read: 4700.0 and not 4700.000000000001.

    Raises
    ------
    PhysicsDomainError
        If the value is not finite and more than 0.
    QuantityError
        If there is no such series.

    Examples
    --------
    >>> preferred(133), preferred(133, "E12", "up"), preferred(9.5, "E24", "up")
    (130.0, 150.0, 10.0)
    """
    if series not in SERIES:
        raise QuantityError(series, "is no series of IEC 60063", "use E3, E6, E12 … or E192")
    if not (math.isfinite(value) and value > 0):
        raise PhysicsDomainError("value", value, "", "finite and more than 0")
    figures = SERIES[series]
    decade = math.floor(math.log10(value)) - 2
    mantissa = value / 10.0**decade
    above = bisect_left(figures, mantissa * (1 - _SAME))
    if above < len(figures) and figures[above] <= mantissa * (1 + _SAME):
        return _number(figures, above, decade)
    low, high = _number(figures, above - 1, decade), _number(figures, above, decade)
    if direction == "nearest":
        return low if value - low <= high - value else high
    return high if direction == "up" else low


def is_two_figures(figures: str) -> bool:
    """Say whether two figures ("47"), or three of E96, begin a resistor's marking code."""
    return int(figures) * 10 in _E24 if len(figures) == 2 else int(figures) in SERIES["E96"]


def _number(figures: tuple[int, ...], index: int, decade: int) -> float:
    decades, place = divmod(index, len(figures))
    return float(f"{figures[place]}e{decade + decades}")
