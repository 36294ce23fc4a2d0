"""View: what each pin is for, and the supply and ground pins as subjects."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import Part, Pin, PinType
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_ground_name, is_supply_name, pin_name
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["DRIVERS", "PinRef", "PinRoles", "can_drive"]

_EXACT: Mapping[str, Role] = {
    "EP": Role.THERMAL,
    "EPAD": Role.THERMAL,
    "PAD": Role.THERMAL,
    "EXP": Role.THERMAL,
    "THERMAL": Role.THERMAL,
    "THERMALPAD": Role.THERMAL,
    "GNDPAD": Role.THERMAL,
    "TAB": Role.THERMAL,
    "3V3OUT": Role.SUPPLY_OUTPUT,
    "VREGO": Role.SUPPLY_OUTPUT,
    "VREGOUT": Role.SUPPLY_OUTPUT,
    "USB_VREGO": Role.SUPPLY_OUTPUT,
    "VREF": Role.REFERENCE,
    "VREF+": Role.REFERENCE,
    "AREF": Role.REFERENCE,
    "REF": Role.REFERENCE,
    "VCAP": Role.REFERENCE,
    "VCAP1": Role.REFERENCE,
    "VCAP2": Role.REFERENCE,
    "VCORE": Role.REFERENCE,
    "DECOUPLE": Role.REFERENCE,
    "DEC1": Role.REFERENCE,
    "DEC2": Role.REFERENCE,
    "DEC3": Role.REFERENCE,
    "DEC4": Role.REFERENCE,
    "DEC5": Role.REFERENCE,
    "DEC6": Role.REFERENCE,
    "DECUSB": Role.REFERENCE,
    "VBAK": Role.BACKUP_SUPPLY,
    "VBACKUP": Role.BACKUP_SUPPLY,
    "VRTC": Role.BACKUP_SUPPLY,
    "RESET": Role.RESET,
    "RST": Role.RESET,
    "NRST": Role.RESET,
    "NRESET": Role.RESET,
    "MCLR": Role.RESET,
    "RSTN": Role.RESET,
    "RESETN": Role.RESET,
    "XTAL1": Role.CLOCK_TERMINAL,
    "XTAL2": Role.CLOCK_TERMINAL,
    "OSCIN": Role.CLOCK_TERMINAL,
    "OSCOUT": Role.CLOCK_TERMINAL,
    "NC": Role.NO_CONNECT,
    "DNC": Role.NO_CONNECT,
    "N/C": Role.NO_CONNECT,
    "SHIELD": Role.SHIELD,
    "SH": Role.SHIELD,
    "MP": Role.SHIELD,
    "MNT": Role.SHIELD,
}
_POWER_PART: Mapping[str, Role] = {
    "VIN": Role.REGULATOR_INPUT,
    "IN": Role.REGULATOR_INPUT,
    "VI": Role.REGULATOR_INPUT,
    "INPUT": Role.REGULATOR_INPUT,
    "VCC": Role.REGULATOR_INPUT,
    "VDD": Role.REGULATOR_INPUT,
    "VBUS": Role.REGULATOR_INPUT,
    "PVIN": Role.REGULATOR_INPUT,
    "VOUT": Role.SUPPLY_OUTPUT,
    "OUT": Role.SUPPLY_OUTPUT,
    "VO": Role.SUPPLY_OUTPUT,
    "OUTPUT": Role.SUPPLY_OUTPUT,
    "SYS": Role.SUPPLY_OUTPUT,
    "EN": Role.ENABLE,
    "ENABLE": Role.ENABLE,
    "CE": Role.ENABLE,
    "SHDN": Role.ENABLE,
    "NSHDN": Role.ENABLE,
    "ON/OFF": Role.ENABLE,
    "ON": Role.ENABLE,
    "FB": Role.FEEDBACK,
    "ADJ": Role.FEEDBACK,
    "VFB": Role.FEEDBACK,
    "SW": Role.SWITCH_NODE,
    "LX": Role.SWITCH_NODE,
    "L": Role.SWITCH_NODE,
    "L1": Role.SWITCH_NODE,
    "L2": Role.SWITCH_NODE,
    "PH": Role.SWITCH_NODE,
    "PROG": Role.PROGRAM,
    "ISET": Role.PROGRAM,
    "RPROG": Role.PROGRAM,
    "PROG1": Role.PROGRAM,
    "ICHG": Role.PROGRAM,
    "BAT": Role.BATTERY,
    "VBAT": Role.BATTERY,
    "BATT": Role.BATTERY,
    "BYP": Role.REFERENCE,
    "BP": Role.REFERENCE,
    "NR": Role.REFERENCE,
}
_TWIN = frozenset({"VDD", "VIN", "VCC", "IN", "VBAT", "BAT"})
"""Pins that larger chargers have twice, as VBAT1 and VBAT2."""

_TRANSISTOR: Mapping[str, Role] = {
    "G": Role.GATE,
    "GATE": Role.GATE,
    "D": Role.DRAIN,
    "DRAIN": Role.DRAIN,
    "S": Role.SOURCE,
    "SOURCE": Role.SOURCE,
    "B": Role.BASE,
    "BASE": Role.BASE,
    "C": Role.COLLECTOR,
    "COLLECTOR": Role.COLLECTOR,
    "E": Role.EMITTER,
    "EMITTER": Role.EMITTER,
}
_BY_TYPE: Mapping[PinType, Role] = {
    PinType.INPUT: Role.INPUT,
    PinType.OUTPUT: Role.OUTPUT,
    PinType.BIDIRECTIONAL: Role.BIDIRECTIONAL,
    PinType.THREE_STATE: Role.BIDIRECTIONAL,
    PinType.OPEN_COLLECTOR: Role.OPEN_DRAIN,
    PinType.OPEN_EMITTER: Role.OUTPUT,
    PinType.SUPPLY_OUT: Role.SUPPLY_OUTPUT,
    PinType.PASSIVE: Role.PASSIVE,
    PinType.NOT_CONNECTED: Role.NO_CONNECT,
    PinType.FREE: Role.PASSIVE,
}
_POLARITY = re.compile(r"(?P<plus>\+|POS(ITIVE)?|PLUS)|(?P<minus>-|NEG(ATIVE)?|MINUS)")
_COLOURS = "RED|GREEN|BLUE|WHITE|YELLOW|AMBER|ORANGE"
_ANODE = re.compile(rf"A\d?|.*ANODE.*|[A-Z]{{1,2}}A|A[RGBWY]|A({_COLOURS})|({_COLOURS})A?|[RGBWY]")
_CATHODE = re.compile(rf"[KC]\d?|.*CATHODE.*|[A-Z]{{1,2}}K|K[RGBWY]|K({_COLOURS})|({_COLOURS})K")
_PORT = re.compile(r"(P[A-K]\d{1,2}|P\d[._]\d{1,2}|R[A-G]\d)(?![A-Z0-9])")
_STATUS = re.compile(r"N?(CHRG|CHG|STAT\d?|STDBY|STBY|PG|PGOOD|DONE)")
_FROM_BATTERY = (Kind.REGULATOR, Role.BATTERY)
_REGULATING = frozenset({Kind.REGULATOR, Kind.CHARGER})
_DIODES = frozenset({Kind.DIODE, Kind.ZENER, Kind.TVS, Kind.LED})

DRIVERS = frozenset({Role.OUTPUT, Role.BIDIRECTIONAL, Role.OPEN_DRAIN, Role.UNKNOWN})
"""Roles of a pin that may pull its net high or low."""


@dataclass(frozen=True, slots=True)
class PinRef:
    """One pin of one part, with its role."""

    reference: str
    pin: Pin
    role: Role

    @property
    def label(self) -> str:
        """Reference, number and function, as in "U1 pin 8 (VCC)"."""
        function = f" ({self.pin.function})" if self.pin.function else ""
        return f"{self.reference} pin {self.pin.number}{function}"


@dataclass(frozen=True)
class PinRoles:
    """The role of every pin, and the fitted pins on every net."""

    of_part: Mapping[str, tuple[PinRef, ...]]
    on_net: Mapping[str, tuple[PinRef, ...]]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Give each pin its role: stated ones first, then by name, then by electrical type."""
        kinds = circuit.view(Kinds)
        of_part = {
            ref: tuple(_roles(circuit, part, kinds.kind(ref)))
            for ref, part in circuit.board.parts.items()
        }
        on_net: dict[str, list[PinRef]] = {key: [] for key in circuit.board.nets}
        for ref, pins in of_part.items():
            if ref in kinds.fitted:
                for pin in pins:
                    if pin.pin.net is not None:
                        on_net[pin.pin.net].append(pin)
        return cls(of_part, {key: tuple(pins) for key, pins in on_net.items()})

    def pins(self, reference: str, *roles: Role) -> tuple[PinRef, ...]:
        """Return the pins of a part that have one of the roles, all pins without roles."""
        return tuple(p for p in self.of_part[reference] if not roles or p.role in roles)

    def net_of(self, reference: str, *roles: Role) -> str | None:
        """Return the net of the first connected pin with one of the roles."""
        return next((p.pin.net for p in self.pins(reference, *roles) if p.pin.net), None)


def can_drive(pin: PinRef, kind: Kind) -> bool:
    """Tell whether a pin may pull its net high or low: outputs, and circuits' pins unknown."""
    if kind in {Kind.CONNECTOR, Kind.USB_CONNECTOR, Kind.TEST_POINT}:
        return True
    if kind not in INTEGRATED and kind not in {Kind.OPTOCOUPLER, Kind.UNKNOWN, Kind.RELAY}:
        return False
    return pin.role in DRIVERS or (pin.role is Role.PASSIVE and kind is not Kind.CRYSTAL)


def _roles(circuit: Circuit, part: Part, kind: Kind) -> Iterator[PinRef]:
    stated = circuit.facts.pin_roles(part.reference)
    has_main_supply = any(pin_name(pin.function).startswith(("VCC", "VDD")) for pin in part.pins)
    for pin in part.pins:
        role = stated.get(pin.number) or _role(pin, kind, has_main_supply)
        yield PinRef(part.reference, pin, role)


def _role(pin: Pin, kind: Kind, has_main_supply: bool) -> Role:
    name = pin_name(pin.function)
    if kind in _DIODES:
        return _diode_role(name)
    if kind in {Kind.FET, Kind.TRANSISTOR}:
        return _TRANSISTOR.get(name.rstrip("0123456789"), _BY_TYPE.get(pin.type, Role.UNKNOWN))
    if kind in {Kind.CELL, Kind.SOLAR_CELL, Kind.CAPACITOR, Kind.BUZZER, Kind.MOTOR}:
        return _polarity(name)
    if kind in INTEGRATED or kind in {Kind.CONNECTOR, Kind.USB_CONNECTOR, Kind.UNKNOWN}:
        return _circuit_role(pin, name, kind, has_main_supply)
    return _BY_TYPE.get(pin.type, Role.PASSIVE)


def _diode_role(name: str) -> Role:
    if _ANODE.fullmatch(name):
        return Role.ANODE
    if _CATHODE.fullmatch(name):
        return Role.CATHODE
    return Role.PASSIVE


def _polarity(name: str) -> Role:
    match = _POLARITY.match(name)
    if match is None:
        return Role.PASSIVE
    return Role.POSITIVE if match["plus"] else Role.NEGATIVE


def _circuit_role(pin: Pin, name: str, kind: Kind, has_main_supply: bool) -> Role:
    if name in _EXACT:
        return _EXACT[name]
    if pin.type is PinType.NOT_CONNECTED:
        return Role.NO_CONNECT
    if is_ground_name(name):
        return Role.GROUND
    if (
        kind in _REGULATING
        and name in _POWER_PART
        and not (kind is Kind.CHARGER and name == "OUT" and has_main_supply)
    ):
        role = _POWER_PART[name]
        # A regulator takes from the battery what a charger gives to it.
        return Role.REGULATOR_INPUT if (kind, role) == _FROM_BATTERY else role
    if kind is Kind.CHARGER and name in _POWER_PART:
        return Role.BATTERY
    if kind is Kind.CHARGER and name.rstrip("12") in _TWIN:
        return _POWER_PART[name.rstrip("12")]
    if pin.type is PinType.SUPPLY_OUT:
        return Role.SUPPLY_OUTPUT
    if pin.type in {PinType.OUTPUT, PinType.OPEN_COLLECTOR, PinType.BIDIRECTIONAL}:
        return _BY_TYPE[pin.type]
    if name.startswith("VBAT") and has_main_supply:
        return Role.BACKUP_SUPPLY
    if pin.type is PinType.SUPPLY_IN or (is_supply_name(name) and pin.type is not PinType.INPUT):
        return Role.SUPPLY
    if pin.type is PinType.INPUT and _PORT.match(name):
        return Role.BIDIRECTIONAL  # a port is both, whatever its library says
    if pin.type is PinType.INPUT and kind is Kind.CHARGER and _STATUS.fullmatch(name):
        return Role.OPEN_DRAIN
    if kind in INTEGRATED and name in {"EN", "CE", "CHIPEN", "CHPD", "SHDN"}:
        return Role.ENABLE
    return _BY_TYPE.get(pin.type, Role.UNKNOWN)
