"""Boards in a few lines of text, for rule pages and tests.

One part a line: reference, value, then pins with their nets. A part with two terminals may give
just its two nets; for diodes and LEDs these are anode and cathode, for cells plus and minus::

    U1 controller/ATtiny85  VCC+ VBAT  GND- GND  PB0 LAMP
    BT1 CR2032  VBAT GND
    R1 330  LAMP N1
    D1 led/red  N1 GND
    C1 100n/16V @0603  VBAT GND

The value may begin with the kind and a slash, or be the kind alone (with hyphens for blanks).
After a pin ``+`` marks a supply, ``-`` a ground, ``>`` an output, ``<`` an input, ``*`` an open
drain. The net ``.`` leaves a pin open, ``x`` leaves it open and marks it so. A net that begins
with ``_`` has an automatic name. ``@text`` is the footprint, ``?`` after the reference says not
fitted. ``= key value`` behind a part states a fact (as under ``parts`` of the intent page);
a line ``~ text`` is a line of the intent page. ``$ references value [@footprint] [×quantity]``
is a line of the BOM, ``! reference x y [side]`` a place in millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from boardvet.board import (
    Board,
    Bom,
    BomLine,
    Net,
    Node,
    Part,
    Pin,
    PinType,
    Place,
    Placement,
    PlacementEntry,
)
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import reference_letters
from boardvet.errors import BoardvetError
from boardvet.facts import FactBook
from boardvet.intent import Intent, check_against, parse_intent
from boardvet.vocabulary.kinds import Kind

__all__ = ["NotationError", "board_of", "circuit_of"]

_MARKS = {
    "+": PinType.SUPPLY_IN,
    "-": PinType.SUPPLY_IN,
    ">": PinType.OUTPUT,
    "<": PinType.INPUT,
    "*": PinType.OPEN_COLLECTOR,
}
_KIND_WORDS = {kind.value.replace(" ", "-"): kind for kind in Kind} | {"mcu": Kind.CONTROLLER}
_POLES = {
    Kind.DIODE: ("A", "K"),
    Kind.LED: ("A", "K"),
    Kind.ZENER: ("A", "K"),
    Kind.TVS: ("A", "K"),
    Kind.CELL: ("+", "-"),
}
_BY_LETTERS = {"D": Kind.DIODE, "LED": Kind.LED, "BT": Kind.CELL, "ZD": Kind.ZENER}


class NotationError(BoardvetError, ValueError):
    """A line of board notation that cannot be read.

    Parameters
    ----------
    line : int
        Line, counted from 1.
    text, what : str
        The line and what is wrong with it.
    """

    def __init__(self, line: int, text: str, what: str) -> None:
        super().__init__(line, text, what)
        self.line = line
        self.text = text
        self.what = what

    def __str__(self) -> str:
        return f"line {self.line}, {self.text!r}: {self.what}"


@dataclass
class _Draft:
    """A board being read."""

    parts: dict[str, Part] = field(default_factory=dict)
    nodes: dict[str, list[Node]] = field(default_factory=dict)
    facts: dict[str, list[str]] = field(default_factory=dict)
    page: list[str] = field(default_factory=list)
    bom: list[BomLine] = field(default_factory=list)
    places: list[PlacementEntry] = field(default_factory=list)


def board_of(text: str) -> Board:
    """Return the board of a text in board notation.

    Raises
    ------
    NotationError
        If a line cannot be read.
    """
    return _board(_draft(text))


def circuit_of(text: str, *, assume_nothing: bool = False) -> Circuit:
    """Return the circuit of a text in board notation, with its facts and lines of intent.

    Raises
    ------
    NotationError
        If a line cannot be read.
    InputErrors
        If a fact or a line of intent is wrong.
    """
    draft = _draft(text)
    board = _board(draft)
    intent = _intent(draft)
    check_against(intent, board)
    return Circuit(board, intent, FactBook(board, intent), assume_nothing=assume_nothing)


def _draft(text: str) -> _Draft:
    draft = _Draft()
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        if line.startswith("~"):
            draft.page.append(raw[raw.index("~") + 1 :].removeprefix(" "))
        elif line.startswith("$"):
            draft.bom.append(_bom_line(line[1:].split(), number))
        elif line.startswith("!"):
            draft.places.append(_placed(line[1:].split(), number, line))
        else:
            _part(draft, line, number)
    return draft


def _part(draft: _Draft, line: str, number: int) -> None:
    described, *facts = line.split(" = ")
    words = described.split()
    if len(words) < 2:
        raise NotationError(number, line, "a part needs a reference and a value")
    reference, text, *rest = words
    fitted = not reference.endswith("?")
    reference = reference.removesuffix("?")
    kind, value = _kind_and_value(text)
    footprint = next((word[1:] for word in rest if word.startswith("@")), "")
    ends = [word for word in rest if not word.startswith("@")]
    place = Place("notation", number)
    if reference in draft.parts:
        raise NotationError(number, line, f"{reference} stands twice")
    pins = tuple(_pins(ends, kind or _BY_LETTERS.get(reference_letters(reference)), number, line))
    draft.parts[reference] = Part(
        reference,
        value,
        footprint,
        "",
        kind.value if kind else "",
        "",
        {},
        fitted,
        True,
        pins,
        place,
    )
    for pin in pins:
        if pin.net is not None:
            draft.nodes.setdefault(pin.net, []).append(Node(reference, pin.number))
    stated = [fact.strip() for fact in facts]
    if kind is not None:
        stated.append(f"kind {kind.value}")
    if stated:
        draft.facts[reference] = stated


def _kind_and_value(text: str) -> tuple[Kind | None, str]:
    head, slash, tail = text.partition("/")
    if head in _KIND_WORDS:
        return _KIND_WORDS[head], tail if slash else ""
    return None, text


def _pins(ends: list[str], kind: Kind | None, number: int, line: str) -> Iterator[Pin]:
    if len(ends) % 2:
        raise NotationError(number, line, "pins and nets do not pair up")
    if len(ends) == 2 and not _is_pin(ends[0]):
        names = _POLES.get(kind, ("", "")) if kind else ("", "")
        # Diodes are numbered 1 for the cathode, as common footprints are.
        numbers = ("2", "1") if names == ("A", "K") else ("1", "2")
        for name, pin_number, net in zip(names, numbers, ends, strict=True):
            yield _pin(pin_number, name, PinType.PASSIVE, net)
        return
    for index in range(0, len(ends), 2):
        name, net = ends[index], ends[index + 1]
        mark = name[-1] if len(name) > 1 and name[-1] in _MARKS else ""
        pin_type = _MARKS.get(mark, PinType.PASSIVE if name in "+-" else PinType.BIDIRECTIONAL)
        stem = name.removesuffix(mark) if mark else name
        pin_number, _, function = stem.rpartition(":")
        yield _pin(pin_number or str(index // 2 + 1), function, pin_type, net)


def _is_pin(word: str) -> bool:
    return word in {"+", "-"} or word[-1] in _MARKS or ":" in word


def _pin(number: str, name: str, pin_type: PinType, net: str) -> Pin:
    if net in {".", "x"}:
        return Pin(number, name, pin_type, None, marked_open=net == "x")
    return Pin(number, name, pin_type, net)


def _bom_line(words: list[str], number: int) -> BomLine:
    references = tuple(words[0].split(","))
    footprint = next((word[1:] for word in words if word.startswith("@")), "")
    quantity = next((float(word[1:]) for word in words if word.startswith("×")), None)
    fitted = "not-fitted" not in words
    value = next((w for w in words[1:] if not w.startswith(("@", "×")) and w != "not-fitted"), "")
    return BomLine(
        references, value, footprint, "", "", "", quantity, fitted, {}, Place("bom", number)
    )


def _placed(words: list[str], number: int, line: str) -> PlacementEntry:
    if len(words) < 3:
        raise NotationError(number, line, "a place needs a reference, x and y")
    side = words[3] if len(words) > 3 else "top"
    return PlacementEntry(
        words[0],
        float(words[1]) / 1e3,
        float(words[2]) / 1e3,
        0.0,
        side,
        "",
        "",
        Place("placement", number),
    )


def _board(draft: _Draft) -> Board:
    nets = {
        key: Net(key, key, not key.startswith("_"), tuple(nodes), Place("notation"))
        for key, nodes in draft.nodes.items()
    }
    bom = Bom(tuple(draft.bom), {"reference": "$", "value": "$"}) if draft.bom else None
    placement = Placement(tuple(draft.places)) if draft.places else None
    return Board("notation", draft.parts, nets, bom, placement)


def _intent(draft: _Draft) -> Intent:
    lines = list(draft.page)
    if draft.facts and not any(line.startswith("parts:") for line in lines):
        lines.append("parts:")
    at = next((i for i, line in enumerate(lines) if line.startswith("parts:")), 0) + 1
    for reference, facts in draft.facts.items():
        stated = ", ".join(f"{f.partition(' ')[0]}: {f.partition(' ')[2]}" for f in facts)
        lines.insert(at, f"  {reference}: {{{stated}}}")
    return parse_intent("\n".join(lines) + "\n") if lines else Intent.empty()
