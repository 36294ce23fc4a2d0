"""Whether two texts, one of the netlist and one of the BOM, say the same of a part.

In doubt they do: only what two texts say clearly, and differently, is a difference.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from boardvet.board import BomLine, Part
from boardvet.circuit.values import LETTERS
from boardvet.quantity import case_size, parse_component
from boardvet.vocabulary.kinds import INTEGRATED, TWO_TERMINAL, Kind

__all__ = [
    "CHIPS",
    "NAMED",
    "SOLD_AS_ONE",
    "VALUED",
    "Difference",
    "case_beside",
    "cases",
    "colours",
    "difference",
    "readings",
    "same_name",
    "says_name",
]

VALUED = {
    **LETTERS,
    Kind.RESISTOR_NETWORK: "R",
    Kind.THERMISTOR: "R",
    Kind.POTENTIOMETER: "R",
    Kind.ZENER: "D",
}
"""Kinds whose value is a number, and the letter by which the quantity reader is told."""

NAMED = (INTEGRATED - {Kind.ADDRESSABLE_LED, Kind.MODULE, Kind.DISPLAY}) | {
    Kind.DIODE,
    Kind.TRANSISTOR,
    Kind.FET,
    Kind.OPTOCOUPLER,
}
"""Kinds that go by the name of a part."""

CHIPS = TWO_TERMINAL
"""Kinds whose case is given by a code of four digits."""


SOLD_AS_ONE = frozenset({"1210", "1411"})
"""Codes under which one case, B of tantalum capacitors (3528), is sold (from memory)."""


class Difference(NamedTuple):
    """A quantity that two texts give differently: in the netlist, in the BOM, and its unit."""

    drawn: float
    listed: float
    unit: str


_COLOURS = {
    "red": "red",
    "green": "green",
    "blue": "blue",
    "white": "white",
    "amber": "yellow",
    "yellow": "yellow",
    "orange": "yellow",
    "infrared": "infrared",
    "ir": "infrared",
    "ultraviolet": "ultraviolet",
    "uv": "ultraviolet",
    "pink": "pink",
    "violet": "ultraviolet",
    "purple": "ultraviolet",
}
"""Amber, yellow and orange are sold under each other's names, so they count as one."""
_WORD = re.compile(r"[^\W\d_]+")
_CASE_DIGITS = re.compile(r"(?<![0-9])[0-9]{4,5}(?![0-9])")
_LOST_ZERO = re.compile(r"0?(201|402|603|805)")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._+-]*[A-Za-z0-9]")
_TRADE = frozenset({"1", "2", "54", "74"})
"""Numbers that lead the names of a whole trade: 1N4148, 2N7002, 74HC595."""
_DIGITS = re.compile(r"[0-9]+")
_VOLTS = re.compile(r"(?<![0-9.])([0-9]\.[0-9]{1,2})(?=V?(?:[^0-9.]|$))")


def readings(text: str, kind: Kind) -> tuple[tuple[float, ...], str]:
    """Return every value that a text can mean for a part of this kind, and the unit.

    A number of three or four digits on a resistor is ohms or a marking code.

    >>> readings("4k7 1%", Kind.RESISTOR), readings("104", Kind.RESISTOR)
    (((4700.0,), 'ohm'), ((104.0, 100000.0), 'ohm'))
    """
    letter = VALUED.get(kind)
    if letter is None:
        return (), ""
    said = parse_component(text, letter)
    if said.value is not None:
        return (said.value,), said.unit
    if kind is Kind.FUSE and said.current is not None and not _DIGITS.search(said.rest):
        return (said.current,), "A"
    if kind is Kind.ZENER and said.voltage is not None:
        return (said.voltage,), "V"
    digits = text.strip()
    if letter == "R" and digits.isdecimal() and len(digits) in (3, 4) and not case_size(digits):
        return (float(digits), float(digits[:-1]) * 10.0 ** int(digits[-1])), "ohm"
    return (), ""


def colours(text: str) -> frozenset[str]:
    """Return the colours that a text names.

    >>> sorted(colours("LED Green 0402")), sorted(colours("KT-0603R"))
    (['green'], [])
    """
    words = (word.lower() for word in _WORD.findall(text))
    return frozenset(_COLOURS[word] for word in words if word in _COLOURS)


def same_name(drawn: str, listed: str) -> bool:
    """Tell whether two texts can be names of one part; True unless they clearly are not.

    Names are alike if one holds the other (suffixes of package and reel), if their first number
    of three digits or more is the same, or, having none, if their numbers are the same as far
    as both go. A text without a name of letters and two digits says nothing.

    >>> same_name("LM358", "LM358ADT"), same_name("1N4148", "LL4148"), same_name("LM358", "LM324")
    (True, True, False)
    >>> same_name("ATtiny85", "ATtiny45"), same_name("PWR_OK", "TPS3839")
    (False, True)
    """
    ours, theirs = _names(drawn), _names(listed)
    if not ours or not theirs:
        return True
    if _volts_differ(drawn, listed):
        return False
    return any(_alike(one, other) for one in ours for other in theirs)


def says_name(text: str) -> bool:
    """Tell whether a text holds what can be the name of a part."""
    return bool(_names(text))


def _names(text: str) -> list[str]:
    names = [name.upper() for name in _NAME.findall(text)]
    return [
        name
        for name in names
        if sum(map(str.isdigit, name)) >= 2 and any(map(str.isalpha, name)) and len(name) >= 4
    ]


def _alike(one: str, other: str) -> bool:
    plain, otherwise = (re.sub(r"[._+-]", "", name) for name in (one, other))
    if plain in otherwise or otherwise in plain:
        return True
    numbers, others = _DIGITS.findall(one), _DIGITS.findall(other)
    long = next((n for n in numbers if len(n) >= 3), None)
    other_long = next((n for n in others if len(n) >= 3), None)
    if long and other_long:
        led = numbers[: numbers.index(long)], others[: others.index(other_long)]
        trade = _TRADE.issuperset(led[0]) and _TRADE.issuperset(led[1])
        return long == other_long and (trade or led[0] == led[1])
    return all(a == b for a, b in zip(numbers, others, strict=False))


def _volts_differ(drawn: str, listed: str) -> bool:
    ours, theirs = set(_VOLTS.findall(drawn)), set(_VOLTS.findall(listed))
    return bool(ours and theirs) and not {float(v) for v in ours} & {float(v) for v in theirs}


def cases(text: str) -> tuple[str | None, str | None]:
    """Return the imperial case code of a text, and the other one that a bare code can mean.

    0402 and 0603 are codes of both systems: without a word or a second code beside them they
    can be metric. A code that lost its zero in a spreadsheet ("402") is taken for what it was.

    >>> cases("C_0603"), cases("C_0603_1608Metric"), cases("402"), cases("SOT-23")
    (('0603', '0201'), ('0603', None), ('0402', '01005'), (None, None))
    """
    lost = _LOST_ZERO.fullmatch(text.strip())
    if lost:
        text = f"0{lost[1]}"
    case = case_size(text)
    other = {"0402": "01005", "0603": "0201"}.get(case or "")
    if other and len(_CASE_DIGITS.findall(text)) > 1:
        other = None
    return case, other


def case_beside(text: str, kind: Kind) -> str:
    """Return the imperial case code that stands beside a value, "" if there is none.

    >>> case_beside("22uF/6.3V/X5R/C0603", Kind.CAPACITOR), case_beside("1206", Kind.RESISTOR)
    ('0603', '')
    """
    return parse_component(text, VALUED.get(kind, "")).case or ""


def difference(part: Part, kind: Kind, line: BomLine, within: float) -> Difference | None:
    """Return how the value on a line of the BOM differs from that of the netlist, if it does.

    Parameters
    ----------
    within : float
        Values closer than this share of the smaller one are the same.
    """
    drawn, unit = readings(part.value, kind)
    listed, listed_unit = readings(line.value, kind)
    if not listed:
        listed, listed_unit = readings(line.description, kind)
    if not drawn or not listed or unit != listed_unit:
        return None
    if any(_close(one, other, within) for one in drawn for other in listed):
        return None
    return Difference(drawn[0], listed[0], unit)


def _close(one: float, other: float, within: float) -> bool:
    low, high = sorted((abs(one), abs(other)))
    return high - low <= within * low * (1 + 1e-9)
