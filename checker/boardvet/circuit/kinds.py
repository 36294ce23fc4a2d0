"""View: what kind each part is, and by what evidence.

Asked in this order: the intent page and the facts of a known part; the symbol that was drawn; the
pins and description of a circuit; the letters of its designator; its footprint and value; the
library. What the drawing denies (a diode with a gate) does not count. A part that nothing tells
is `Kind.UNKNOWN`, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Self

from boardvet.board import Part, PinType
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kindwords import (
    BY_DESCRIPTION,
    BY_LETTERS,
    BY_LIBRARY,
    BY_SYMBOL,
    CLASSES_OF_CIRCUITS,
    NO_HOLDERS,
    REFINED,
    first_kind,
)
from boardvet.circuit.names import is_ground_name, is_supply_name, pin_name, reference_letters
from boardvet.facts.cell import find_cell
from boardvet.vocabulary.kinds import INTEGRATED, Kind

__all__ = ["Kinds", "PartKind"]

_INPUTS = frozenset({"VIN", "IN", "VI", "INPUT", "VCCIN", "PVIN"})
_OUTPUTS = frozenset({"VOUT", "OUT", "VO", "OUTPUT"})
_SWITCHING = frozenset({"SW", "LX", "PH", "L"})
_FEEDBACK = frozenset({"FB", "VFB"})
_USB_PINS = frozenset({"VBUS", "D+", "D-", "DP", "DM", "DP1", "DM1", "CC1", "CC2"})
_DATA_IN = frozenset({"DIN", "DI", "DATAIN"})
_TRANSISTORS = frozenset({"Q", "VT", "FET", "TR", "T", "M"})
_WHOLE = re.compile(r"[^\W\d_]+\d*[A-Za-z]?")
"""A designator that is letters and a number: "BAT1" may be a battery, "BAT_LOW1" names a net."""

_FREQUENCY = re.compile(r"(^|[^\d.,])\d+([.,]\d+)?\s*(k|M)(Hz)?\b", re.IGNORECASE)
_COIN_OR_CAN = re.compile(r"(cr|br|lir|ml|vl)[-_ ]?\d{4}|1(4500|8650|6340)|21700", re.IGNORECASE)
_KEPT_SWITCH = re.compile(r"spdt|dpdt|slide|latch|toggle|dip|rotary|encoder", re.IGNORECASE)
_COPPER = re.compile(
    r"(on|in|of)[ _-](the[ _-])?pcb|pcb[ _-]?(trace|antenna|edge)|usb-pcb|printed|card_?edge"
    r"|gold_?finger|solder_?(jumper|bridge)|net_?tie|test_?(point_)?pad|(^|_)pads?([_-]|$)",
    re.IGNORECASE,
)
_MAY_BE_COPPER = frozenset(
    {Kind.USB_CONNECTOR, Kind.CONNECTOR, Kind.ANTENNA, Kind.TEST_POINT, Kind.JOINED_GROUND}
    | {Kind.JUMPER, Kind.HOLE}
)
_OF_GATES = frozenset({Kind.DIODE, Kind.ZENER, Kind.TVS, Kind.LED, Kind.TRANSISTOR})


@dataclass(frozen=True, slots=True)
class PartKind:
    """The kind of one part and the evidence for it, in words."""

    kind: Kind
    evidence: str


@dataclass(frozen=True)
class Kinds:
    """The kind of every part, and which parts are fitted.

    Copper that is drawn as a part (pads of a card edge, a printed antenna, a soldered jumper)
    counts as fitted even where a page says to fit nothing there.
    """

    of_part: Mapping[str, PartKind]
    fitted: frozenset[str]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Decide the kind of each part of the board once."""
        kinds = {ref: _decide(circuit, part) for ref, part in circuit.board.parts.items()}
        return cls(kinds, frozenset(_fitted(circuit, kinds)))

    def kind(self, reference: str) -> Kind:
        """Return the kind of a part; `Kind.UNKNOWN` if it is not on the board."""
        found = self.of_part.get(reference)
        return found.kind if found else Kind.UNKNOWN

    def evidence(self, reference: str) -> str:
        """Return why a part is taken for what it is."""
        return self.of_part[reference].evidence

    def fitted_of(self, *kinds: Kind) -> tuple[str, ...]:
        """Return the fitted parts of these kinds, in the order of the board."""
        return tuple(
            ref
            for ref, found in self.of_part.items()
            if found.kind in kinds and ref in self.fitted
        )


def _fitted(circuit: Circuit, kinds: Mapping[str, PartKind]) -> Iterator[str]:
    for reference, part in circuit.board.parts.items():
        stated = circuit.intent.parts.get(reference, {}).get("fitting")
        if stated is not None:
            fitted = stated.value != "not fitted"
        else:
            fitted = part.fitted or _is_copper(part, kinds[reference].kind)
        if fitted:
            yield reference


def _is_copper(part: Part, kind: Kind) -> bool:
    texts = (part.name, part.footprint.rpartition(":")[2], part.description)
    return kind in _MAY_BE_COPPER and any(_COPPER.search(text) for text in texts)


class _Look:
    """One part as the drawing shows it."""

    def __init__(self, part: Part) -> None:
        self.part = part
        self.letters = reference_letters(part.reference)
        self.footprint = part.footprint.rpartition(":")[2]

    @cached_property
    def names(self) -> frozenset[str]:
        """Names of its pins."""
        return frozenset(pin_name(pin.function) for pin in self.part.pins)

    @cached_property
    def terminals(self) -> int:
        """How many pins of different number it has."""
        return len({pin.number for pin in self.part.pins})

    @cached_property
    def supplied(self) -> bool:
        """True if a pin takes a supply."""
        return any(is_supply_name(name) for name in self.names) or any(
            pin.type is PinType.SUPPLY_IN for pin in self.part.pins
        )

    @cached_property
    def grounded(self) -> bool:
        """True if a pin is named ground."""
        return any(is_ground_name(name) for name in self.names)

    @cached_property
    def is_circuit(self) -> bool:
        """True if its designator is that of integrated circuits."""
        return self.letters in CLASSES_OF_CIRCUITS

    @cached_property
    def switches_a_channel(self) -> bool:
        """True if its pins are a gate with drain and source."""
        plain = {name.rstrip("0123456789") for name in self.names}
        return bool(plain & {"G", "GATE"}) and len(plain & {"D", "S", "DRAIN", "SOURCE"}) == 2


def _decide(circuit: Circuit, part: Part) -> PartKind:
    look = _Look(part)
    stated = circuit.facts.kind(part.reference)
    if stated is not None and (
        stated.source.startswith("intent") or not _denied(look, stated.value)
    ):
        return PartKind(stated.value, stated.source)
    for ask in (_by_symbol, _by_cell, _by_circuit, _by_letters, _by_text, _by_library):
        found = ask(look)
        if found is not None:
            return _refined(found, look)
    return PartKind(Kind.UNKNOWN, "nothing says what it is")


def _denied(look: _Look, kind: Kind) -> bool:
    """Tell whether the drawing shows something else than what the part's text names."""
    if look.switches_a_channel and look.terminals == 3:
        return kind in _OF_GATES
    # A header with the name of a circuit is where its module is plugged in.
    drawn = first_kind(BY_SYMBOL, look.part.name)
    bare = look.letters in _CONNECTING and not (look.supplied or look.grounded)
    return kind in INTEGRATED and (bare or (drawn is Kind.CONNECTOR and not look.is_circuit))


def _by_symbol(look: _Look) -> PartKind | None:
    kind = first_kind(BY_SYMBOL, look.part.name)
    if kind is None or (look.is_circuit and look.terminals > 3 and kind is not Kind.MEMORY):
        return None
    if kind is Kind.CELL and not _may_hold_a_cell(look):
        return None
    if kind is Kind.GRAPHIC and look.part.pins:
        return None
    return PartKind(kind, f"netlist: symbol {look.part.name!r}")


def _may_hold_a_cell(look: _Look) -> bool:
    named = look.letters in NO_HOLDERS or not 1 <= look.terminals <= 4
    return not named and not (look.supplied and look.grounded)


def _by_cell(look: _Look) -> PartKind | None:
    """Tell a holder by the cell that its name, value or footprint names.

    Only cells of the table count: "CR1206" is a size of resistor. "AA" is a word like others on
    what is no holder by its designator, so circuits and connectors need a coin or a can.
    """
    if not _may_hold_a_cell(look) or look.terminals < 2:
        return None
    other = look.is_circuit or BY_LETTERS.get(look.letters, Kind.CELL) is not Kind.CELL
    texts = ((look.part.value, "value"), (look.part.name, "symbol"), (look.footprint, "footprint"))
    for text, what in texts:
        cell = find_cell(text)
        if cell is None or cell[0].capacity is None or (other and not _COIN_OR_CAN.search(text)):
            continue
        return PartKind(Kind.CELL, f"netlist: {what} {text!r}")
    return None


def _by_circuit(look: _Look) -> PartKind | None:
    """Tell circuits by description and by pins."""
    if not look.is_circuit and look.letters in BY_LETTERS and not _is_supplied_circuit(look):
        return None
    if look.terminals < 3:
        return _of_two_terminals(look) if look.is_circuit else None
    described = _described(look)
    if described is not None:
        return described
    has_ground = look.grounded
    if look.names & _INPUTS and look.names & _OUTPUTS and has_ground:
        return PartKind(Kind.REGULATOR, "netlist: pins input, output and ground")
    if look.names & _SWITCHING and look.names & _FEEDBACK and has_ground:
        return PartKind(Kind.REGULATOR, "netlist: pins coil, feedback and ground")
    if not (look.is_circuit or (look.supplied and look.terminals > 3)):
        return None
    if first_kind(BY_SYMBOL, look.part.name) is Kind.CONNECTOR:
        return PartKind(Kind.CONNECTOR, f"netlist: symbol {look.part.name!r}")
    if {"ANODE", "CATHODE"} <= look.names:
        return PartKind(Kind.LED, "netlist: pins anode and cathode")
    if look.letters in {"Y", "X", "XTAL", "ZQ"}:
        return PartKind(Kind.OSCILLATOR, "netlist: a crystal's designator and pins of a supply")
    if look.is_circuit:
        return PartKind(Kind.INTEGRATED_CIRCUIT, f"netlist: designator {look.part.reference}")
    return PartKind(Kind.INTEGRATED_CIRCUIT, "netlist: pins of a supply")


def _of_two_terminals(look: _Look) -> PartKind | None:
    kind = first_kind(BY_SYMBOL, look.footprint)
    if kind is not None and kind is not Kind.CELL and look.part.pins:
        return PartKind(kind, f"netlist: footprint {look.footprint!r}")
    return PartKind(Kind.INTEGRATED_CIRCUIT, f"netlist: designator {look.part.reference}")


_CONNECTING = frozenset({"J", "P", "CN", "CON", "CONN", "HDR", "TB", "SK", "XP", "XS", "ST", "BU"})


def _is_supplied_circuit(look: _Look) -> bool:
    """Tell whether supply and ground pins deny a passive designator, as of USB1, a bridge."""
    if look.letters in _CONNECTING or look.letters in {"TP", "H", "MH"}:
        return False
    if look.letters == "USB":
        return bool(look.names & {"RESET", "RESETN", "VCCIO", "3V3OUT"})
    return look.grounded and look.supplied and look.terminals > 2


def _described(look: _Look) -> PartKind | None:
    part = look.part
    texts = (
        (part.description, "description of the symbol"),
        (f"{part.name} {part.value}", "name and value"),
        (look.footprint, "footprint"),
    )
    for text, what in texts:
        plain = text.replace("_", " ")
        described = first_kind(BY_DESCRIPTION, plain)
        if described is not None and (look.terminals >= 3 or described is Kind.TVS):
            return PartKind(described, f"netlist: {what}")
    kind = first_kind(BY_LIBRARY, part.library)
    if kind in INTEGRATED and look.terminals >= 3:
        return PartKind(kind, f"netlist: library {part.library!r}")
    return None


def _by_letters(look: _Look) -> PartKind | None:
    part, letters = look.part, look.letters
    if not part.pins:
        return PartKind(Kind.GRAPHIC, "netlist: no pins")
    if letters in _TRANSISTORS and (letters not in BY_LETTERS or look.terminals == 3):
        return _transistor(look)
    kind = BY_LETTERS.get(letters)
    if kind is None or not _letters_fit(look, kind):
        return None
    if kind is Kind.HOLE and len({pin.net for pin in part.pins if pin.net is not None}) > 1:
        return PartKind(Kind.CONNECTOR, f"netlist: designator {part.reference}, several nets")
    return PartKind(kind, f"netlist: designator {part.reference}")


def _letters_fit(look: _Look, kind: Kind) -> bool:
    """Tell whether a part has the terminals that its letters ask for."""
    whole = _WHOLE.fullmatch(look.part.reference) is not None
    if kind is Kind.CELL:
        return whole and 2 <= look.terminals <= 4 and not (look.supplied and look.grounded)
    if kind in {Kind.MOTOR, Kind.BUZZER}:
        return whole and 2 <= look.terminals <= 4
    if kind in {Kind.USB_CONNECTOR, Kind.LED}:
        return whole or kind is Kind.LED
    if kind is Kind.TRANSFORMER:
        return look.terminals >= 4
    return True


def _transistor(look: _Look) -> PartKind:
    plain = {name.rstrip("0123456789") for name in look.names}
    part = look.part
    if look.switches_a_channel:
        return PartKind(Kind.FET, "netlist: pin named gate")
    if plain & {"B", "BASE"}:
        return PartKind(Kind.TRANSISTOR, "netlist: pin named base")
    words = f"{part.name} {part.value} {part.description} {part.library}".lower()
    if re.search(r"mosfet|[np][-_ ]?(mos|channel|ch\b)|transistor_fet", words):
        return PartKind(Kind.FET, "netlist: words of its symbol")
    if re.search(r"\b(npn|pnp)\b|bipolar|\bbjt\b|transistor_bjt", words):
        return PartKind(Kind.TRANSISTOR, "netlist: words of its symbol")
    return PartKind(Kind.UNKNOWN, "a transistor, but neither pins nor value say of which kind")


def _by_text(look: _Look) -> PartKind | None:
    """Tell a part of no known designator by footprint, value and description."""
    if look.terminals <= 4 and _FREQUENCY.search(look.part.value) and look.letters in {"X", "Q"}:
        return PartKind(Kind.CRYSTAL, f"netlist: value {look.part.value!r}")
    for text, what in ((look.footprint, "footprint"), (look.part.value, "value")):
        kind = first_kind(BY_SYMBOL, text)
        if kind is Kind.CELL and not _may_hold_a_cell(look):
            continue
        if kind is not None:
            return PartKind(kind, f"netlist: {what} {text!r}")
    return None


def _by_library(look: _Look) -> PartKind | None:
    kind = first_kind(BY_LIBRARY, look.part.library)
    if kind is None or kind in INTEGRATED:
        return None
    return PartKind(kind, f"netlist: library {look.part.library!r}")


def _refined(found: PartKind, look: _Look) -> PartKind:
    """Say a kind that is known in the large more narrowly, by what else is drawn."""
    part = look.part
    if found.kind is Kind.LED and look.names & _DATA_IN:
        return PartKind(Kind.ADDRESSABLE_LED, "netlist: an LED with a data input")
    if found.kind is Kind.USB_CONNECTOR:
        named = bool(look.names - {""} - {pin.number.upper() for pin in part.pins})
        if named and not look.names & _USB_PINS and "VCC" not in look.names:
            other = look.letters in BY_LETTERS and BY_LETTERS[look.letters] is Kind.CONNECTOR
            return PartKind(Kind.CONNECTOR, found.evidence) if other else found
    if found.kind is Kind.DIODE and BY_LETTERS.get(look.letters) in {Kind.LED, Kind.TVS}:
        return PartKind(BY_LETTERS[look.letters], f"netlist: designator {part.reference}")
    if found.kind is Kind.SWITCH and _KEPT_SWITCH.search(f"{part.name} {part.value}"):
        return found
    for text, what in (
        (part.value, "value"),
        (look.footprint, "footprint"),
        (part.description, "description of the symbol"),
    ):
        kind = first_kind(REFINED.get(found.kind), text.replace("_", " "))
        if kind is not None:
            return PartKind(kind, f"netlist: {what} {text!r}"[:90])
    return found
