"""The names under which a part can be known: part number, then value, then library name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from boardvet.board import BomLine, Part

__all__ = ["Name", "Text", "names_of", "part_number_fields", "texts_of"]

_PART_NUMBER_FIELDS = frozenset(
    {
        "mpn",
        "pn",
        "partnumber",
        "partno",
        "manufacturerpartnumber",
        "manufacturerpart",
        "manufacturerpn",
        "mfrpartnumber",
        "mfrpart",
        "mfrpn",
        "mfgpartnumber",
        "mfgpart",
        "mfgpn",
        "mfpn",
        "manfpn",
    }
)
_WRAPPED = re.compile(r"(?i)^(?:NA|DNP|DNF|NC)\((.*?)\)?$")
_NO_SILICON = frozenset({"R", "C", "L", "FB", "RN", "F", "TP", "H", "MH", "FID", "JP", "SB", "W"})


class Text(NamedTuple):
    """A text of this board and the source that a fact read from it gets."""

    text: str
    source: str


class Name(NamedTuple):
    """A name of a part, the source of that name, and how strong it is (0 is strongest)."""

    text: str
    source: str
    rank: int


def part_number_fields(fields: Mapping[str, str]) -> Iterator[str]:
    """Yield the values of the fields that hold a maker's part number."""
    for name, value in fields.items():
        if re.sub(r"[^a-z]", "", name.lower()) in _PART_NUMBER_FIELDS and value.strip():
            yield value


def names_of(part: Part, lines: Iterable[BomLine]) -> tuple[Name, ...]:
    """Return the names of a part, strongest first, doubles left out.

    A resistor, capacitor, coil, fuse, test point, hole or jumper (by the letters of its
    reference) has none: its value ``1117`` or ``104`` is a quantity and no name.
    """
    letters = re.match(r"[A-Za-z]*", part.reference)
    if letters and letters[0].upper() in _NO_SILICON:
        return ()
    netlist = _netlist(part)
    lines = tuple(lines)
    found: list[Name] = []
    found += [Name(line.part_number, _bom(line), 0) for line in lines]
    found += [Name(text, netlist, 0) for text in part_number_fields(part.fields)]
    found.append(Name(_bare(part.value), netlist, 1))
    found += [Name(_bare(line.value), _bom(line), 1) for line in lines]
    found.append(Name(part.name, netlist, 2))
    first: dict[str, Name] = {}
    for name in found:
        if name.text.strip():
            first.setdefault(name.text, name)
    return tuple(first.values())


def texts_of(part: Part, lines: Iterable[BomLine]) -> tuple[Text, ...]:
    """Return everything that netlist and BOM say of a part in words, the netlist first.

    Addresses of pages are left out: the words in them are about the page.
    """
    netlist = _netlist(part)
    texts = [_bare(part.value), part.name, *part.fields.values(), part.description]
    found = [Text(text, netlist) for text in texts]
    for line in lines:
        texts = [_bare(line.value), line.part_number, line.description]
        found += [Text(text, _bom(line)) for text in texts]
    found.append(Text(part.footprint.rpartition(":")[2], netlist))
    found += [Text(line.footprint, _bom(line)) for line in lines]
    return tuple(text for text in found if text.text.strip() and "://" not in text.text)


def _bare(value: str) -> str:
    """Take the not-fitted wrapper off a value, so that ``NA(2N7002)`` is a 2N7002."""
    wrapped = _WRAPPED.match(value.strip())
    return wrapped[1] if wrapped else value


def _netlist(part: Part) -> str:
    return f"netlist {part.place.file}:{part.place.line}"


def _bom(line: BomLine) -> str:
    return f"bom {line.place.file}:{line.place.line}"
