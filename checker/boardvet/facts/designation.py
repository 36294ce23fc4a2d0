"""Designations of cells: what their letters and digits say, and finding them in other text.

IEC 60086 names a round cell by letters for its system, "R" for round, and a size: for buttons and
coins the diameter in whole millimetres, truncated, then the height in tenths of a millimetre.
"""

from __future__ import annotations

import re
from typing import NamedTuple

__all__ = ["Size", "capacity_in", "designations_in", "size_in_name"]

_DIAMETERS = {
    4: 4.8,
    5: 5.8,
    6: 6.8,
    7: 7.9,
    9: 9.5,
    11: 11.6,
    12: 12.5,
    24: 24.5,
}
"""Diameters that are not whole millimetres [mm]: 11 and 24 as in LR1154 and CR2450, the others
from memory of IEC 60086-3."""

_WIDEST = 35
"""No coin is wider. [mm]"""

_WIDEST_BUTTON = 12
"""No alkaline, silver oxide or zinc-air button is wider: "LR2032" is a slip of the pen. [mm]"""

_COINS = (
    "(?P<size>1025|1216|1220|1225|1612|1616|1620|1632|2012|2016|2025|2032"
    "|2320|2325|2330|2354|2412|2430|2450|2477|3032)"
)
_SYSTEMS = "CR|BR|LR|SR|PR|FR|HR|LIR|ICR|INR|IFR|ML|VL"
_NAMED = re.compile(rf"({_SYSTEMS})([0-9]{{2}})([0-9]{{2}})")
_SHORT = re.compile(rf"({_SYSTEMS})([0-9])([0-9]{{2}})")

_TIMES = r"(?<![0-9A-Z/.])(?P<{0}>[1-9])\s?[X×*]\s?"
_IN_TEXT = re.compile(
    r"(?<![A-Z0-9])(?P<battery>[468]LR[0-9]{2,3}|9V|PP3|A23|23A)(?![A-Z0-9])"
    r"|(?:" + _TIMES.format("coins") + r")?"
    r"(?P<coin>(?:CR|BR|LIR|ICR|IFR|ML|VL|DL|ECR)[-_ ]?[0-9]{4})(?![0-9])"
    r"|(?:" + _TIMES.format("codes") + r"|(?<![A-Z0-9]))"
    r"(?P<code>(?:LR|SR|PR|FR|HR)[-_ ]?[0-9]{1,4}|CR123A?|CR2|AG[0-9]{1,2})(?![0-9])"
    r"|(?:" + _TIMES.format("cans") + r"|(?<![A-Z0-9]))"
    r"(?P<can>(?:ICR|INR|IFR)?(?:10440|14500|16340|18650|21700))(?![0-9])"
    r"|(?:(?<![0-9A-Z/.])(?P<trades>[1-9])\s?[X×*]?\s?|(?<![A-Z0-9/]))"
    r"(?P<trade>A{2,4})(?![A-Z0-9]*[A-WYZ])(?:\s?[X×*]\s?(?P<after>[1-9])(?![0-9]))?"
)
_BARE_COIN = re.compile(rf"(?:{_TIMES.format('times')}|(?<![0-9A-Z.])){_COINS}(?![0-9.])")
_HOLDS = re.compile(r"BAT|CELL|COIN|HOLD|HLD|BUTTON|CLIP|RETAINER|AKKU")
_NICKEL = re.compile(r"NI-?MH|NICKEL|ENELOOP|\bHR\b")
_TRADE = {"AAAA": "LR8D425", "AAA": "LR03", "AA": "LR6", "9V": "6LR61", "PP3": "6LR61"}
_NAMES = ("battery", "coin", "code", "can", "trade")
_COUNTS = ("coins", "codes", "cans", "trades", "after")
_NICKEL_TRADE = {"AAA": "HR03", "AA": "HR6"}
_CAPACITY = re.compile(r"(?<![0-9.,])([0-9]{1,5}(?:[.,][0-9]{1,2})?)\s?(M?)AH(?![A-Z0-9])")


class Size(NamedTuple):
    """Diameter and height of a round cell, in m."""

    diameter: float
    height: float


def size_in_name(designation: str) -> Size | None:
    """Return the size that a designation of three or four digits says, None for any other.

    Parameters
    ----------
    designation : str
        In upper case, without spaces.

    Examples
    --------
    >>> size_in_name("CR2032"), size_in_name("LR1154").height, size_in_name("LR6")
    (Size(diameter=0.02, height=0.0032), 0.0054, None)
    """
    match = _NAMED.fullmatch(designation) or _SHORT.fullmatch(designation)
    if match is None:
        return None
    across = int(match[2])
    widest = _WIDEST_BUTTON if match[1] in ("LR", "SR", "PR") else _WIDEST
    if not (4 <= across <= widest and int(match[3])):
        return None
    return Size(round(_DIAMETERS.get(across, across) / 1000, 6), int(match[3]) / 10_000)


def designations_in(text: str) -> list[tuple[str, int]]:
    """Return the designations in a text with the number of cells it says, in its order.

    Parameters
    ----------
    text : str
        Value, footprint, part number or description of a cell or its holder.

    Returns
    -------
    list of (str, int)
        Designations in upper case without spaces; a size alone ("2032") counts as a lithium
        manganese coin if the text speaks of a cell or holder; "AA" and "AAA" as alkaline cells
        if it does not say NiMH. Whether such a cell exists is not looked at here.

    Examples
    --------
    >>> designations_in("Battery holder 2xAAA"), designations_in("BAT-HLD-2032")
    ([('LR03', 2)], [('CR2032', 1)])
    """
    upper = text[:300].upper()
    found = []
    for match in _IN_TEXT.finditer(upper):
        said = match.groupdict()
        name = next(said[group] for group in _NAMES if said[group])
        count = next((int(said[group]) for group in _COUNTS if said[group]), 1)
        found.append((_spelled(name, upper), count))
    if found or _HOLDS.search(upper):
        digits = {name[-4:] for name, _ in found}
        found += [
            (f"CR{match['size']}", int(match["times"] or 1))
            for match in _BARE_COIN.finditer(upper)
            if match["size"] not in digits
        ]
    return found


def capacity_in(text: str) -> float | None:
    """Return the charge that a text states ("LiPo 500 mAh"), in C.

    Returns
    -------
    float or None
        The charge [C]; None where the text states none, or two that differ.

    Examples
    --------
    >>> capacity_in("LiPo 3.7V 500mAh"), capacity_in("CR2032")
    (1800.0, None)
    """
    charges = {
        round(float(number.replace(",", ".")) * (3.6 if milli else 3600.0), 6)
        for number, milli in _CAPACITY.findall(text[:300].upper())
    }
    return charges.pop() if len(charges) == 1 else None


def _spelled(name: str, text: str) -> str:
    plain = re.sub(r"[-_ ]", "", name)
    if plain in _NICKEL_TRADE and _NICKEL.search(text):
        return _NICKEL_TRADE[plain]
    plain = _TRADE.get(plain, plain)
    for brand in ("DL", "ECR"):
        if plain.startswith(brand):
            return "CR" + plain.removeprefix(brand)
    return plain
