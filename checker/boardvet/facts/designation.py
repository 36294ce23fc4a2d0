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

_COINS = (
    "1025|1216|1220|1225|1612|1616|1620|1632|2012|2016|2025|2032"
    "|2320|2325|2330|2354|2412|2430|2450|2477|3032"
)
_SYSTEMS = "CR|BR|LR|SR|PR|FR|HR|LIR|ICR|INR|IFR|ML|VL"
_NAMED = re.compile(rf"({_SYSTEMS})([0-9]{{2}})([0-9]{{2}})")
_SHORT = re.compile(rf"({_SYSTEMS})([0-9])([0-9]{{2}})")

_COUNT = r"(?:(?<![0-9A-Z/.])([1-9])\s?[X×*]?\s?)?"
_AFTER = r"(?:\s?[X×*]\s?([1-9])(?![0-9]))?"
_IN_TEXT = re.compile(
    rf"{_COUNT}(?<![0-9])(?:"
    r"(?P<coin>(?:CR|BR|LIR|ICR|IFR|ML|VL|DL|ECR)[-_ ]?[0-9]{4})(?![0-9])"
    r"|(?<![A-Z])(?P<code>[468]LR[0-9]{2,3}|(?:LR|SR|PR|FR|HR)[-_ ]?[0-9]{1,4}|CR123A?|CR2)"
    r"(?![0-9])"
    r"|(?<![A-Z])(?P<bare>(?:ICR|INR)?(?:10440|14500|16340|18650|21700))(?![0-9])"
    r"|(?<![A-Z0-9/])(?P<trade>AAAA|AAA|AA|PP3|9V|AG[0-9]{1,2}|A23|23A)(?![A-Z0-9]*[A-Z])"
    rf"){_AFTER}"
)
_BARE_COIN = re.compile(rf"(?:(?<![0-9A-Z])([1-9])\s?[X×*]\s?|(?<![0-9A-Z.]))({_COINS})(?![0-9.])")
_HOLDS = re.compile(r"BAT|CELL|COIN|HOLD|HLD|BUTTON|CLIP|RETAINER|AKKU")
_NICKEL = re.compile(r"NI-?MH|NICKEL|ENELOOP|\bHR\b")
_TRADE = {
    "AAAA": "LR8D425",
    "AAA": "LR03",
    "AA": "LR6",
    "9V": "6LR61",
    "PP3": "6LR61",
}
_NICKEL_TRADE = {"AAA": "HR03", "AA": "HR6"}
_CAPACITY = re.compile(r"(?<![0-9.,])([0-9]{1,5}(?:[.,][0-9]{1,2})?)\s?(M?)AH(?![A-Z0-9])")


class Size(NamedTuple):
    """Diameter and height of a round cell. [m]"""

    diameter: float
    height: float


def size_in_name(designation: str) -> Size | None:
    """Return the size that a designation of three or four digits says, None for another.

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
    if not (across and int(match[3])):
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
        name = match["coin"] or match["code"] or match["bare"] or match["trade"]
        count = int(match[1] or match[match.re.groups] or 1)
        found.append((_spelled(name, upper), count))
    if not found and _HOLDS.search(upper):
        for match in _BARE_COIN.finditer(upper):
            found.append((f"CR{match[2]}", int(match[1] or 1)))
    return found


def capacity_in(text: str) -> float | None:
    """Return the charge that a text states ("LiPo 500 mAh"). [C]

    Returns
    -------
    float or None
        None where the text states none, or two that differ.

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
