"""View: which way current can flow through each diode and LED, whatever drives it.

Every way is followed from the anode to what can hold it high, and from the cathode to what can
hold it low. Every connector, test point and pin of a part that is not understood counts as both:
a diode is said to be reversed only where nothing that is drawn can ever light or open it, and
where it would conduct if it were turned round.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, Self

from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.shorts import PowerNode, Shorts
from boardvet.circuit.sources import Sources
from boardvet.circuit.states import State
from boardvet.circuit.subjects import OfOneElement
from boardvet.vocabulary.kinds import INTEGRATED, MECHANICAL, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["DiodeWay", "Diodes", "Leak", "Sense"]

_SUBJECTS = (ElementKind.LED, ElementKind.DIODE)
_BOTH_WAYS = METALLIC | {
    ElementKind.RESISTOR,
    ElementKind.THERMISTOR,
    ElementKind.COIL,
    ElementKind.CONTACT,
    ElementKind.CHANNEL,
    ElementKind.COLLECTOR,
    ElementKind.ZENER,
    ElementKind.CLAMP,
}
_ONE_WAY = frozenset({ElementKind.LED, ElementKind.DIODE, ElementKind.BODY_DIODE})
_INDUCTIVE = (ElementKind.INDUCTOR, ElementKind.COIL)
_RAIL_ROLES = frozenset(
    {Role.SUPPLY, Role.REGULATOR_INPUT, Role.SUPPLY_OUTPUT, Role.BATTERY, Role.BACKUP_SUPPLY}
)
_NO_END = frozenset({Role.GROUND, Role.THERMAL, Role.NO_CONNECT, Role.SHIELD, *_RAIL_ROLES})
_OUTSIDE = frozenset({Kind.CONNECTOR, Kind.USB_CONNECTOR})
_MAY_STEP_UP = frozenset({Kind.REGULATOR, Kind.DRIVER, Kind.MODULE, Kind.DISPLAY})
_SENSING = re.compile(r"SENS|LIGHT|PHOTO|AMBI|LDR|ADC|AIN|(^|[^A-Z])AN?\d", re.IGNORECASE)


class Sense(StrEnum):
    """Which way current can flow through a junction."""

    FORWARD = "forward"
    REVERSED = "reversed"
    NEITHER = "neither"


class Leak(NamedTuple):
    """A rail that a diode leads to ground from: its node, in which state, by which way."""

    power: PowerNode
    state: State
    way: tuple[Element, ...]


@dataclass(frozen=True)
class DiodeWay(OfOneElement):
    """One diode or light and which way current can flow through it, as a subject.

    Parameters
    ----------
    element : Element
        The junction; `a` is its anode.
    sense : Sense
        Forward where something can hold the anode above the cathode; reversed where nothing can,
        and something can hold the cathode above the anode; neither where it is open or dead.
    meant : str
        Why a reversed one is meant to be so, "" where nothing says that.
    asks : bool
        True for a reversed LED straight on a pin, which may be meant as a sensor of light.
    unfed_rail : str or None
        Node of a rail that nothing feeds because the diode stands against it.
    leak : Leak or None
        The rail that it leads to ground from.
    shares_a_pin : bool
        True where another junction of the part has a pin in common with it.
    """

    element: Element
    sense: Sense
    meant: str = ""
    asks: bool = False
    unfed_rail: str | None = None
    leak: Leak | None = None
    shares_a_pin: bool = False

    @property
    def is_light(self) -> bool:
        """True for an LED."""
        return self.element.kind is ElementKind.LED

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "light" if self.is_light else "diode"

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[DiodeWay]:
        """Return the diodes and lights of the board; zeners and clamps block on purpose."""
        return circuit.view(Diodes).all


@dataclass(frozen=True)
class Diodes:
    """All diodes and lights, in the order of the board."""

    all: tuple[DiodeWay, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Follow every one both ways."""
        elements = circuit.view(Elements).of_kind(*_SUBJECTS)
        if not elements:
            return cls(())
        walk = _Walk(circuit)
        leaks = _leaks(circuit)
        return cls(tuple(_way(walk, element, leaks.get(element)) for element in elements))


def _leaks(circuit: Circuit) -> dict[Element, Leak]:
    """Return the plain diodes that alone stand between a rail and ground."""
    found: dict[Element, Leak] = {}
    for power in circuit.view(Shorts).all:
        for state, way in power.leaks.items():
            diodes = [e for e in way if e.kind in _ONE_WAY]
            if len(diodes) == 1 and diodes[0].kind is ElementKind.DIODE:
                found.setdefault(diodes[0], Leak(power, state, way))
    return found


def _way(walk: _Walk, element: Element, leak: Leak | None) -> DiodeWay:
    if leak is not None or walk.conducts(element):
        return DiodeWay(element, Sense.FORWARD, leak=leak)
    if not walk.would_conduct_turned(element):
        return DiodeWay(element, Sense.NEITHER)
    unfed = element.a if walk.is_unfed_rail(element.a) else None
    return DiodeWay(
        element,
        Sense.REVERSED,
        walk.meaning(element),
        walk.may_sense(element),
        unfed,
        shares_a_pin=walk.shares_a_pin(element),
    )


class _End(NamedTuple):
    """Something that can hold a node: `rail` limits how high, or is how low, None for anything.

    `sure` is False for a rail that nothing feeds.
    """

    rail: str | None
    sure: bool = True


_ANYTHING = _End(None)


class _Walk:
    """Walks from a node to all that can hold it high, or low."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.elements = circuit.view(Elements)
        self.grounds = frozenset(circuit.view(Grounds).nodes)
        self.feeding = circuit.view(Feeding)
        self.roles = circuit.view(PinRoles)
        self.kinds = circuit.view(Kinds)
        self.nodes = circuit.view(Nodes)
        self.sources = {source.node for source in circuit.view(Sources).all}
        self.understood = {element.reference for element in self.elements.all}
        self._pins: dict[str, tuple[PinRef, ...]] = {}
        self._rails: dict[str, _End | None] = {}

    def conducts(self, element: Element) -> bool:
        """Tell whether anything can hold the anode above the cathode."""
        return self._possible(element, element.a, element.b, turned=False)

    def would_conduct_turned(self, element: Element) -> bool:
        """Tell whether anything can hold the cathode above the anode."""
        return self._possible(element, element.b, element.a, turned=True)

    def is_unfed_rail(self, node: str) -> bool:
        """Tell whether parts take their supply from a node that nothing feeds."""
        rail = self._rail(node)
        return rail is not None and not rail.sure

    def meaning(self, element: Element) -> str:
        """Return why a junction that never conducts is there all the same, "" if nothing says."""
        pair = (element.b, element.a)
        at_both = [e for e in self.elements.at(element.a) if e.other(element.a) == element.b]
        if any(e.kind in _ONE_WAY and (e.a, e.b) == pair for e in at_both):
            return "one of an antiparallel pair"
        if any(e.kind in _INDUCTIVE for e in at_both):
            return "takes over the current of a coil"
        if any(self._is_coupled(node) for node in (element.a, element.b)):
            return "pulses reach it through a capacitor"
        if element.kind is not ElementKind.LED:
            inductive = self.elements.at(element.a, *_INDUCTIVE)
            if element.a in self.grounds:
                return "clamps to ground"
            return "takes over the current of a coil" if inductive else ""
        return "senses light" if self._senses(element) else ""

    def _is_coupled(self, node: str) -> bool:
        """Tell whether a capacitor brings pulses to a node: a charge pump, a coupling."""
        if node in self.grounds or self._rail(node) is not None:
            return False
        return any(
            e.other(node) not in self.grounds and self._rail(e.other(node)) is None
            for e in self.elements.at(node, ElementKind.CAPACITOR)
        )

    def shares_a_pin(self, element: Element) -> bool:
        """Tell whether another junction of the part hangs on the same pin."""
        others = (e for e in self.elements.at(element.a) if e.reference == element.reference)
        more = (e for e in self.elements.at(element.b) if e.reference == element.reference)
        return any(
            e != element and (e.a_pin == element.a_pin or e.b_pin == element.b_pin)
            for e in (*others, *more)
        )

    def may_sense(self, element: Element) -> bool:
        """Tell whether a reversed LED sits straight between ground and a pin."""
        return (
            element.kind is ElementKind.LED
            and element.a in self.grounds
            and self._rail(element.b) is None
            and any(self._is_circuit_pin(pin) for pin in self._pins_at(element.b))
        )

    def _senses(self, element: Element) -> bool:
        if not self.may_sense(element):
            return False
        pins = [pin for pin in self._pins_at(element.b) if self._is_circuit_pin(pin)]
        names = [self.circuit.board.nets[net].name for net in self.nodes.nets_of[element.b]]
        told = any(_SENSING.search(text) for text in [*names, *(p.pin.function for p in pins)])
        takes = any(
            pin.role is Role.INPUT or self.kinds.kind(pin.reference) is Kind.ANALOGUE
            for pin in pins
        )
        return told or takes or bool(self.elements.at(element.b, ElementKind.RESISTOR))

    def _possible(self, element: Element, top: str, bottom: str, *, turned: bool) -> bool:
        """Tell whether `top` can be held above `bottom` by something besides the element."""
        light = element.kind is ElementKind.LED
        highs = self._ends(element, top, bottom, upward=True, turned=turned)
        if not turned and not light and self._blocks_a_rail(element):
            highs = (end for end in highs if end.sure)
        unseen = self._ends(element, bottom, top, upward=False, turned=turned)
        lows: dict[_End, None] = {}
        # The first pair decides: a search of all that a mesh reaches would take long.
        for high in _once(highs):
            if any(self._above(high, low, light) for low in lows):
                return True
            for low in unseen:
                lows[low] = None
                if self._above(high, low, light):
                    return True
        return False

    def _blocks_a_rail(self, element: Element) -> bool:
        """Tell whether a diode points from an unfed rail to where a supply comes in."""
        if not self.is_unfed_rail(element.a):
            return False
        before = self._rail(element.b)
        outside = any(self.kinds.kind(p.reference) in _OUTSIDE for p in self._pins_at(element.b))
        return outside or (before is not None and before.sure)

    def _above(self, high: _End, low: _End, light: bool) -> bool:
        if high.rail is None or low.rail is None or low.rail in self.grounds:
            return True
        if high.rail == low.rail:
            return False
        return not light or self._rail_above(high.rail, low.rail)

    def _rail_above(self, high: str, low: str) -> bool:
        """Tell whether one rail ever stands above another at the same moment."""
        for fed in self.feeding.in_state.values():
            if high in fed and (
                low not in fed
                or fed[high].missing is not None
                or fed[low].missing is not None
                or any(h > lo for h, lo in zip(fed[high].high, fed[low].low, strict=True))
            ):
                return True
        return not self.feeding.ever(high)

    def _ends(
        self, element: Element, start: str, barred: str, *, upward: bool, turned: bool
    ) -> Iterator[_End]:
        seen = {start, barred}
        queue = [start]
        while queue:
            node = queue.pop()
            if node in self.grounds:
                if not upward:
                    yield _End(node)
                continue
            rail = self._rail(node)
            if rail is not None:
                yield rail
                continue
            yield from self._held_by_pins(node, upward)
            for other_element in self.elements.at(node):
                other = other_element.other(node)
                if other_element == element or other in seen:
                    continue
                if _lets_pass(other_element, node, upward, turned):
                    seen.add(other)
                    queue.append(other)

    def _rail(self, node: str) -> _End | None:
        """Return the rail on a node, None if it is none; a connector may feed it."""
        if node not in self._rails:
            self._rails[node] = self._find_rail(node)
        return self._rails[node]

    def _find_rail(self, node: str) -> _End | None:
        fed = node in self.sources or self.feeding.ever(node)
        pins = self._pins_at(node)
        if not fed and not any(pin.role in _RAIL_ROLES for pin in pins):
            return None
        return _End(node, fed or any(self._may_give(pin) for pin in pins))

    def _may_give(self, pin: PinRef) -> bool:
        """Tell whether a pin may feed its rail: a connector, an output, a pin not understood."""
        kind = self.kinds.kind(pin.reference)
        return (
            kind in _OUTSIDE
            or kind is Kind.UNKNOWN
            or pin.role in {Role.SUPPLY_OUTPUT, Role.UNKNOWN}
            or (kind is Kind.MODULE and pin.role is Role.PASSIVE)
        )

    def _pins_at(self, node: str) -> tuple[PinRef, ...]:
        if node not in self._pins:
            found = (pin for net in self.nodes.nets_of[node] for pin in self.roles.on_net[net])
            self._pins[node] = tuple(found)
        return self._pins[node]

    def _held_by_pins(self, node: str, upward: bool) -> Iterator[_End]:
        for pin in self._pins_at(node):
            kind = self.kinds.kind(pin.reference)
            if kind in MECHANICAL or pin.role in _NO_END:
                continue
            if self._is_circuit_pin(pin):
                if upward:
                    yield from self._driven_high(pin, kind)
                else:
                    yield _ANYTHING
            elif pin.reference not in self.understood or pin.role in {Role.GATE, Role.BASE}:
                yield _ANYTHING

    def _is_circuit_pin(self, pin: PinRef) -> bool:
        return self.kinds.kind(pin.reference) in INTEGRATED and pin.role not in _NO_END

    def _driven_high(self, pin: PinRef, kind: Kind) -> Iterator[_End]:
        """Yield how high a pin can go: as high as the supplies of its part."""
        if pin.role is Role.OPEN_DRAIN:
            return
        taking = self.roles.pins(pin.reference, Role.SUPPLY, Role.REGULATOR_INPUT)
        # The battery of a charger supplies it only where the part has no other supply.
        taking = taking or self.roles.pins(pin.reference, Role.BATTERY)
        supplies = [self.nodes.of_net(p.pin.net) for p in taking]
        known = [node for node in supplies if node is not None]
        if not known or kind in _MAY_STEP_UP:
            yield _ANYTHING
        else:
            yield from (_End(node) for node in known)


def _once(ends: Iterator[_End]) -> Iterator[_End]:
    seen: set[_End] = set()
    for end in ends:
        if end not in seen:
            seen.add(end)
            yield end


def _lets_pass(element: Element, node: str, upward: bool, turned: bool) -> bool:
    """Tell whether current can come from the other end of an element, or go there.

    If `turned`, other diodes may be turned round as well: two in a row may both stand wrong.
    """
    if element.kind in _ONE_WAY:
        return turned or (element.b if upward else element.a) == node
    return element.kind in _BOTH_WAYS
