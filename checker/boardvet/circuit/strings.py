"""View: LED strings, from supply or pin to ground or pin, through whatever limits them."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Self

from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Drive
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles, can_drive
from boardvet.circuit.values import resistance
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["EndKind", "LedString", "StringEnd", "Strings"]

LIMITING_RESISTANCE = 1.0
"""A resistor from this value on limits a light; below it is a wire or a shunt. [ohm]"""


class EndKind(StrEnum):
    """What a string ends on."""

    RAIL = "rail"
    GROUND = "ground"
    PIN = "pin"
    CONNECTOR = "connector"


@dataclass(frozen=True, slots=True)
class StringEnd:
    """One end of a string: what it is, its node, the pin if it is one, and the way there."""

    kind: EndKind
    node: str
    pin: PinRef | None
    path: tuple[Element, ...]


@dataclass(frozen=True)
class LedString:
    """One light with its way to supply and return, as a subject.

    Parameters
    ----------
    light : Element
        The LED.
    name : str
        Its reference and, in a part of several lights, which.
    top, bottom : StringEnd or None
        Where its current comes from and goes to, by the shortest way; None where it is open.
    limiters : tuple of str
        Resistors on those ways.
    bare : bool
        True if a way from supply to return exists that no resistor, driver or sense resistor
        limits.
    bare_ends : tuple of StringEnd
        The ends of that way.
    """

    light: Element
    name: str
    top: StringEnd | None
    bottom: StringEnd | None
    limiters: tuple[str, ...]
    bare: bool
    bare_ends: tuple[StringEnd, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "light"

    @property
    def label(self) -> str:
        """Name of the light."""
        return self.name

    @property
    def parts(self) -> tuple[str, ...]:
        """The LED."""
        return (self.light.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes of the LED."""
        return (self.light.a, self.light.b)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[LedString]:
        """Return the lights of the board."""
        return circuit.view(Strings).all

    def ways(self) -> tuple[StringEnd, ...]:
        """Return the ends by which it is lit, with the ways there: the bare ones if it is bare."""
        return self.bare_ends or tuple(end for end in (self.top, self.bottom) if end is not None)

    def drives(self) -> tuple[Drive, ...]:
        """Return the pins that must drive for the light to be lit."""
        ends = self.bare_ends or (self.top, self.bottom)
        return tuple(
            Drive(end.pin.reference, end.node, high)
            for end, high in zip(ends, (True, False), strict=True)
            if end is not None and end.kind is EndKind.PIN and end.pin is not None
        )

    def is_among(self, lights: Container[str]) -> bool:
        """Tell whether it is among lights that are named by their part, or by their label."""
        return self.light.reference in lights or self.label in lights

    def switches(self) -> frozenset[Element]:
        """Return the channels and collectors that must be on for the light to be lit."""
        return frozenset(
            element
            for end in self.ways()
            for element in end.path
            if element.kind in {ElementKind.CHANNEL, ElementKind.COLLECTOR}
        )


@dataclass(frozen=True)
class Strings:
    """All lights, in the order of the board."""

    all: tuple[LedString, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Trace every LED both ways."""
        lights = circuit.view(Elements).of_kind(ElementKind.LED)
        trace = _Trace(circuit) if lights else None
        return cls(tuple(_string(trace, light) for light in lights if trace is not None))

    @cached_property
    def _by_name(self) -> Mapping[str, tuple[LedString, ...]]:
        """The strings of each part, and by the label of each light of a part of several."""
        found: dict[str, list[LedString]] = {}
        for string in self.all:
            for name in dict.fromkeys((string.light.reference, string.label)):
                found.setdefault(name, []).append(string)
        return {name: tuple(strings) for name, strings in found.items()}

    def of_light(self, reference: str) -> tuple[LedString, ...]:
        """Return the strings of one part, or the one light of a part of several by its label."""
        return self._by_name.get(reference, ())


def _string(trace: _Trace, light: Element) -> LedString:
    top = trace.nearest(light, upward=True)
    bottom = trace.nearest(light, upward=False)
    bare_top = trace.nearest(light, upward=True, through_resistors=False)
    bare_bottom = trace.nearest(light, upward=False, through_resistors=False)
    bare = _is_way(bare_top, top) and _is_way(bare_bottom, bottom)
    limiters = tuple(
        dict.fromkeys(
            element.reference
            for end in (top, bottom)
            if end is not None
            for element in end.path
            if element.kind is ElementKind.RESISTOR
        )
    )
    ends = (bare_top, bare_bottom) if bare and bare_top and bare_bottom else ()
    return LedString(light, light.label, top, bottom, limiters, bare, ends)


def _is_way(bare: StringEnd | None, nearest: StringEnd | None) -> bool:
    """Tell whether a way without resistors is one by which the light is meant to be lit.

    In a multiplexed array a way through more lights than the nearest one is a ghost: it leads
    backwards over another line and has too little voltage.
    """
    return bare is not None and (nearest is None or _lights_on(bare) <= _lights_on(nearest))


def _lights_on(end: StringEnd) -> int:
    return sum(element.kind is ElementKind.LED for element in end.path)


class _Trace:
    """Walks from a light to the nearest thing that can hold a node high, or low."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        self.feeding = circuit.view(Feeding)
        self.roles = circuit.view(PinRoles)
        self.kinds = circuit.view(Kinds)
        self.nodes = circuit.view(Nodes)

    def nearest(
        self, light: Element, *, upward: bool, through_resistors: bool = True
    ) -> StringEnd | None:
        """Return the nearest end, rails and grounds before pins, pins before connectors."""
        start, barred = (light.a, light.b) if upward else (light.b, light.a)
        layer: list[tuple[str, tuple[Element, ...]]] = [(start, ())]
        seen = {start, barred}
        weakest: StringEnd | None = None
        while layer:
            ends = [end for node, path in layer for end in self._ends(node, path, upward)]
            strong = [end for end in ends if end.kind is not EndKind.CONNECTOR]
            if strong:
                return min(strong, key=lambda end: end.kind is EndKind.PIN)
            weakest = weakest or (ends[0] if ends else None)
            following: list[tuple[str, tuple[Element, ...]]] = []
            for node, path in layer:
                if self._is_border(node):
                    continue
                for element, other in self._onward(node, upward, through_resistors):
                    if element != light and other not in seen:
                        seen.add(other)
                        following.append((other, (*path, element)))
            layer = following
        return weakest

    def _is_border(self, node: str) -> bool:
        return node in self.grounds or self._is_rail(node)

    def _is_rail(self, node: str) -> bool:
        return self.feeding.ever(node) or any(
            pin.role in {Role.SUPPLY, Role.REGULATOR_INPUT, Role.SUPPLY_OUTPUT}
            for net in self.nodes.nets_of[node]
            for pin in self.roles.on_net[net]
        )

    def _ends(self, node: str, path: tuple[Element, ...], upward: bool) -> Iterator[StringEnd]:
        if node in self.grounds:
            if not upward:
                yield StringEnd(EndKind.GROUND, node, None, path)
            return
        if self._is_rail(node):
            if upward:
                yield StringEnd(EndKind.RAIL, node, None, path)
            return
        for net in self.nodes.nets_of[node]:
            for pin in self.roles.on_net[net]:
                kind = self.kinds.kind(pin.reference)
                if kind in {Kind.CONNECTOR, Kind.USB_CONNECTOR}:
                    yield StringEnd(EndKind.CONNECTOR, node, pin, path)
                elif _drives_light(pin, kind, upward):
                    yield StringEnd(EndKind.PIN, node, pin, path)

    def _onward(
        self, node: str, upward: bool, through_resistors: bool
    ) -> Iterator[tuple[Element, str]]:
        for element in self.elements.at(node):
            if self._passes(element, node, upward, through_resistors):
                yield element, element.other(node)

    def _passes(self, element: Element, node: str, upward: bool, through_resistors: bool) -> bool:
        kind = element.kind
        if kind is ElementKind.RESISTOR:
            return through_resistors or not self._limits(element)
        if kind in {ElementKind.LED, ElementKind.DIODE, ElementKind.BODY_DIODE}:
            return (element.b if upward else element.a) == node
        return kind in METALLIC or kind in {
            ElementKind.CONTACT,
            ElementKind.CHANNEL,
            ElementKind.COLLECTOR,
        }

    def _limits(self, element: Element) -> bool:
        known = resistance(self.circuit, element.reference)
        return known is None or known.value >= LIMITING_RESISTANCE


def _drives_light(pin: PinRef, kind: Kind, upward: bool) -> bool:
    """Tell whether a pin can light an LED; drivers and converters limit the current themselves."""
    if kind in {Kind.DRIVER, Kind.REGULATOR, Kind.DISPLAY, Kind.TEST_POINT}:
        return False
    if kind not in INTEGRATED and kind is not Kind.UNKNOWN:
        return False
    if pin.role is Role.OPEN_DRAIN:
        return not upward
    return can_drive(pin, kind)
