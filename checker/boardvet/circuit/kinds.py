"""View: what kind each part is, and by what evidence.

Asked in this order: the intent page and the facts of a known part; the symbol that was drawn; the
words of its description; the names of its pins; the letters of its designator; its footprint.
A part that none of them tells is `Kind.UNKNOWN`, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import Board, Part, PinType
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import is_ground_name, is_supply_name, pin_name, reference_letters
from boardvet.vocabulary.kinds import Kind

__all__ = ["Kinds", "PartKind"]

_BY_LETTERS: Mapping[str, Kind] = {
    "R": Kind.RESISTOR,
    "RN": Kind.RESISTOR_NETWORK,
    "RP": Kind.RESISTOR_NETWORK,
    "RV": Kind.POTENTIOMETER,
    "POT": Kind.POTENTIOMETER,
    "VR": Kind.POTENTIOMETER,
    "RT": Kind.THERMISTOR,
    "TH": Kind.THERMISTOR,
    "NTC": Kind.THERMISTOR,
    "C": Kind.CAPACITOR,
    "CP": Kind.CAPACITOR,
    "L": Kind.INDUCTOR,
    "FB": Kind.FERRITE,
    "F": Kind.FUSE,
    "D": Kind.DIODE,
    "CR": Kind.DIODE,
    "ZD": Kind.ZENER,
    "DZ": Kind.ZENER,
    "TVS": Kind.TVS,
    "LED": Kind.LED,
    "BT": Kind.CELL,
    "BAT": Kind.CELL,
    "XBT": Kind.CELL,
    "Y": Kind.CRYSTAL,
    "XTAL": Kind.CRYSTAL,
    "SW": Kind.SWITCH,
    "S": Kind.SWITCH,
    "PB": Kind.BUTTON,
    "BTN": Kind.BUTTON,
    "J": Kind.CONNECTOR,
    "P": Kind.CONNECTOR,
    "CN": Kind.CONNECTOR,
    "CON": Kind.CONNECTOR,
    "CONN": Kind.CONNECTOR,
    "USB": Kind.USB_CONNECTOR,
    "JP": Kind.JUMPER,
    "SJ": Kind.JUMPER,
    "SB": Kind.JUMPER,
    "NT": Kind.JOINED_GROUND,
    "TP": Kind.TEST_POINT,
    "H": Kind.HOLE,
    "MH": Kind.HOLE,
    "FID": Kind.FIDUCIAL,
    "BZ": Kind.BUZZER,
    "LS": Kind.BUZZER,
    "MK": Kind.MICROPHONE,
    "MIC": Kind.MICROPHONE,
    "M": Kind.MOTOR,
    "T": Kind.TRANSFORMER,
    "AE": Kind.ANTENNA,
    "ANT": Kind.ANTENNA,
    "RL": Kind.RELAY,
    "REL": Kind.RELAY,
    "U": Kind.INTEGRATED_CIRCUIT,
    "IC": Kind.INTEGRATED_CIRCUIT,
    "MOD": Kind.MODULE,
    "LOGO": Kind.GRAPHIC,
}


def _patterns(*rows: tuple[str, Kind]) -> tuple[tuple[re.Pattern[str], Kind], ...]:
    return tuple((re.compile(pattern), kind) for pattern, kind in rows)


# Symbols and descriptions are matched in lower case. The first match wins: the narrow come first.
_BY_SYMBOL = _patterns(
    (r"ws28\d\d|sk68\d\d|apa10\d|neopixel|addressable", Kind.ADDRESSABLE_LED),
    (r"^led|(^|[_-])led([_-]|$)|^ir_?led|dual_?led|rgb_?led", Kind.LED),
    (r"mounting_?hole|mtg|^hole", Kind.HOLE),
    (r"fiducial", Kind.FIDUCIAL),
    (r"logo|graphic|^sym_", Kind.GRAPHIC),
    (r"net-?_?tie|joined", Kind.JOINED_GROUND),
    (r"jumper|^jp\d?([_-]|$)|^sj(\d|[_-]|$)|solder_?bridge", Kind.JUMPER),
    (r"test_?(point|pad)", Kind.TEST_POINT),
    (r"solar", Kind.SOLAR_CELL),
    (r"^(battery|batt?|cell)([_-]|$)|coin_?cell|battery_?(holder|cell)|cr\d{4}", Kind.CELL),
    (r"^usb|usb_?[abc]([_-]|$)|usb.*(receptacle|plug|micro|mini|otg)", Kind.USB_CONNECTOR),
    (
        r"^con(n|\d|$)|^b?h[ns]?\d+[sx]|header|^socket|receptacle|^jst|terminal|card_?edge|barrel|jack",
        Kind.CONNECTOR,
    ),
    (r"push|button|tact|momentary", Kind.BUTTON),
    (r"^sw([_-]|$|\d)|switch_?(sp|dp|slide|dip)?|^sp[sd]t|^dp[sd]t|slide", Kind.SWITCH),
    (r"relay", Kind.RELAY),
    (r"opto", Kind.OPTOCOUPLER),
    (r"thermistor|^ntc|^ptc", Kind.THERMISTOR),
    (r"varistor|^mov", Kind.VARISTOR),
    (r"^pot|potentiometer|r_pot|trimmer|^r_var", Kind.POTENTIOMETER),
    (r"r_?(pack|network)|^ra\d|resistor_?(net|pack|array)", Kind.RESISTOR_NETWORK),
    (r"fuse", Kind.FUSE),
    (r"ferrite", Kind.FERRITE),
    (r"buzzer|speaker|piezo", Kind.BUZZER),
    (r"crystal|^xtal", Kind.CRYSTAL),
    (r"resonator", Kind.RESONATOR),
    (r"oscillator|^osc", Kind.OSCILLATOR),
    (r"zener", Kind.ZENER),
    (r"tvs|^d_?esd|transil|esd_?(protection|diode)", Kind.TVS),
    (r"d_?bridge|bridge_?rect", Kind.BRIDGE),
    (r"diode|^d([_-]|$)|schottky|^1n\d{4}", Kind.DIODE),
    (r"mosfet|[np]-?mos|q_[np]_?jfet|^fet", Kind.FET),
    (r"(^|_)(npn|pnp)([_-]|$)|darlington|^q_[np]pn", Kind.TRANSISTOR),
    (r"motor([_-]|$)", Kind.MOTOR),
    (r"microphone|^mic([_-]|$)", Kind.MICROPHONE),
    (r"transformer", Kind.TRANSFORMER),
    (r"antenna", Kind.ANTENNA),
    (r"^r([_-]|$)|^resistor|^rr?_?(us|small)", Kind.RESISTOR),
    (r"^cp?\d?([_-]|$)|^cap", Kind.CAPACITOR),
    (r"^l([_-]|$)|inductor|^coil|choke", Kind.INDUCTOR),
)

_BY_DESCRIPTION = _patterns(
    (r"charg(er|e management|ing)", Kind.CHARGER),
    (r"battery protect", Kind.PROTECTOR),
    (r"supervis|reset (ic|generator|circuit)|voltage (detector|monitor)", Kind.SUPERVISOR),
    (
        r"regulator|\bldo\b|low[- ]?drop|dc[-/ ]dc|buck|boost|step[- ](up|down)|switcher",
        Kind.REGULATOR,
    ),
    (r"microcontroller|\bmcu\b|microprocessor|\bsoc\b", Kind.CONTROLLER),
    (r"eeprom|flash memory|sram|\bmemory\b", Kind.MEMORY),
    (r"real[- ]?time clock|\brtc\b", Kind.CLOCK),
    (r"(tvs|esd|transient).*(array|protection|suppress)|esd protection", Kind.TVS),
    (r"\bdriver\b", Kind.DRIVER),
    (r"sensor|accelerometer|gyroscope|magnetometer|thermometer", Kind.SENSOR),
    (r"\bmodule\b", Kind.MODULE),
    (r"display|\boled\b|\blcd\b", Kind.DISPLAY),
    (r"oscillator", Kind.OSCILLATOR),
    (r"op(erational)?[- ]?amp|comparator|amplifier", Kind.ANALOGUE),
    (r"\bgate\b|buffer|inverter|flip[- ]?flop|shift register|\blogic\b|multiplexer", Kind.LOGIC),
)

_CLASSES_OF_CIRCUITS = frozenset({"U", "IC", "A", "MOD", "VR", "PS", "N", "AMP", "CMP", "ESP"})
_INPUTS = frozenset({"VIN", "IN", "VI", "INPUT", "VCCIN"})
_OUTPUTS = frozenset({"VOUT", "OUT", "VO", "OUTPUT"})


@dataclass(frozen=True, slots=True)
class PartKind:
    """The kind of one part and the evidence for it, in words."""

    kind: Kind
    evidence: str


@dataclass(frozen=True)
class Kinds:
    """The kind of every part, and which parts are fitted."""

    of_part: Mapping[str, PartKind]
    fitted: frozenset[str]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Decide the kind of each part of the board once."""
        kinds = {ref: _decide(circuit, part) for ref, part in circuit.board.parts.items()}
        return cls(kinds, frozenset(_fitted(circuit.board, circuit)))

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


def _fitted(board: Board, circuit: Circuit) -> Iterator[str]:
    for reference, part in board.parts.items():
        stated = circuit.intent.parts.get(reference, {}).get("fitting")
        if part.fitted and not (stated and stated.value == "not fitted"):
            yield reference


def _decide(circuit: Circuit, part: Part) -> PartKind:
    stated = circuit.facts.kind(part.reference)
    if stated is not None:
        return PartKind(stated.value, stated.source)
    letters = reference_letters(part.reference)
    by_symbol = _first(_BY_SYMBOL, part.name)
    if by_symbol is None and letters not in _CLASSES_OF_CIRCUITS:
        by_symbol = _first(_BY_SYMBOL, part.library)
    if by_symbol and not (letters in _CLASSES_OF_CIRCUITS and _many_pins(part)):
        return PartKind(_refine(by_symbol, part, letters), f"netlist: symbol {part.name!r}")
    if letters in _CLASSES_OF_CIRCUITS or letters not in _BY_LETTERS:
        decided = _circuit_kind(part, letters)
        if decided is not None:
            return decided
    return _by_letters_or_footprint(part, letters)


def _many_pins(part: Part) -> bool:
    return len({pin.number for pin in part.pins}) > 3


def _first(patterns: tuple[tuple[re.Pattern[str], Kind], ...], text: str) -> Kind | None:
    lowered = text.lower()
    return next((kind for pattern, kind in patterns if pattern.search(lowered)), None)


def _refine(kind: Kind, part: Part, letters: str) -> Kind:
    """Correct a symbol by what else is drawn: an LED with a data input, a diode named LED."""
    if kind is Kind.LED and {"DIN", "DI", "DATAIN"} & {pin_name(p.function) for p in part.pins}:
        return Kind.ADDRESSABLE_LED
    if kind is Kind.DIODE and letters == "LED":
        return Kind.LED
    if kind is Kind.USB_CONNECTOR and not any(
        "VBUS" in pin_name(p.function) or "D+" in pin_name(p.function) for p in part.pins
    ):
        return Kind.CONNECTOR if letters in {"J", "P", "CN", "CON"} else kind
    return kind


def _circuit_kind(part: Part, letters: str) -> PartKind | None:
    """Tell integrated circuits apart by description and by pins."""
    names = {pin_name(pin.function) for pin in part.pins}
    texts = ((part.description, "description of the symbol"), (part.library, "library"))
    for text, what in texts:
        described = _first(_BY_DESCRIPTION, text.replace("_", " "))
        if described is not None and (len(part.pins) >= 3 or described is Kind.TVS):
            return PartKind(described, f"netlist: {what}")
    if names & _INPUTS and names & _OUTPUTS and any(is_ground_name(name) for name in names):
        return PartKind(Kind.REGULATOR, "netlist: pins input, output and ground")
    supplied = any(is_supply_name(name) for name in names) or any(
        pin.type is PinType.SUPPLY_IN for pin in part.pins
    )
    if letters in _CLASSES_OF_CIRCUITS or (supplied and _many_pins(part)):
        if _first(_BY_SYMBOL, part.name) is Kind.CONNECTOR:
            return PartKind(Kind.CONNECTOR, f"netlist: symbol {part.name!r}")
        if {"ANODE", "CATHODE"} <= names:
            return PartKind(Kind.LED, "netlist: pins anode and cathode")
        return PartKind(Kind.INTEGRATED_CIRCUIT, f"netlist: designator {part.reference}")
    return None


def _by_letters_or_footprint(part: Part, letters: str) -> PartKind:
    if not part.pins:
        return PartKind(Kind.GRAPHIC, "netlist: no pins")
    if letters == "Q":
        return _transistor(part)
    if letters in _BY_LETTERS:
        kind = _BY_LETTERS[letters]
        names = {pin_name(pin.function) for pin in part.pins}
        if kind is Kind.USB_CONNECTOR and names & {"RESET", "RESETN", "VCCIO", "3V3OUT"}:
            return PartKind(Kind.INTEGRATED_CIRCUIT, "netlist: pins of a circuit")
        by_value = _first(_BY_SYMBOL, part.value)
        if kind in {Kind.DIODE, Kind.SWITCH, Kind.POTENTIOMETER} and by_value in {
            Kind.LED,
            Kind.ZENER,
            Kind.TVS,
            Kind.BUTTON,
            Kind.ADDRESSABLE_LED,
        }:
            return PartKind(by_value, f"netlist: value {part.value!r}")
        return PartKind(kind, f"netlist: designator {part.reference}")
    footprint = part.footprint.rpartition(":")[2]
    for text, what in ((footprint, "footprint"), (part.value, "value")):
        kind_of_text = _first(_BY_SYMBOL, text)
        if kind_of_text is not None:
            return PartKind(kind_of_text, f"netlist: {what} {text!r}")
    return PartKind(Kind.UNKNOWN, "nothing says what it is")


def _transistor(part: Part) -> PartKind:
    names = {pin_name(pin.function) for pin in part.pins}
    if names & {"G", "GATE", "G1"}:
        return PartKind(Kind.FET, "netlist: pin named gate")
    if names & {"B", "BASE"}:
        return PartKind(Kind.TRANSISTOR, "netlist: pin named base")
    return PartKind(Kind.UNKNOWN, "a transistor, but neither pins nor value say of which kind")
