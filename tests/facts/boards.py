"""Small boards for the tests of facts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from boardvet.board import Board, Bom, BomLine, Part, Pin, PinType, Place
from boardvet.intent import Intent
from boardvet.known import Known


def part(
    reference: str,
    value: str = "",
    *,
    name: str = "",
    footprint: str = "",
    fields: Mapping[str, str] | None = None,
    pins: Mapping[str, str] | None = None,
) -> Part:
    """A part on line 7 of ``lamp.net``; `pins` gives functions by number."""
    drawn = tuple(
        Pin(number, function, PinType.PASSIVE, None) for number, function in (pins or {}).items()
    )
    return Part(
        reference,
        value,
        footprint,
        "",
        name,
        "",
        fields or {},
        True,
        True,
        drawn,
        Place("lamp.net", 7),
    )


def line(
    reference: str, *, value: str = "", part_number: str = "", description: str = ""
) -> BomLine:
    """A line 3 of ``lamp.csv``."""
    place = Place("lamp.csv", 3)
    return BomLine((reference,), value, "", part_number, "", description, 1.0, True, {}, place)


def board(*parts: Part, lines: tuple[BomLine, ...] = ()) -> Board:
    """A board of these parts."""
    bom = Bom(lines, {}) if lines else None
    return Board("lamp", {each.reference: each for each in parts}, {}, bom)


def intent(**parts: Mapping[str, Known[object]]) -> Intent:
    """An intent page that states these properties of parts."""
    return replace(Intent.empty(), parts=parts)
