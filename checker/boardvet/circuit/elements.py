"""View: the two-terminal elements between nodes, as drawn, whatever the state.

Parts with more pins appear as what lies between two of their pins: the channel and the body
diode of a FET, each contact of a switch, each light of a two-colour LED. A part never conducts
merely by being one part.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import Self

from boardvet.board import Part
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes, terminals
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["JUNCTIONS", "METALLIC", "Element", "ElementKind", "Elements", "is_p_channel"]


class ElementKind(StrEnum):
    """What lies between two nodes."""

    RESISTOR = "resistor"
    INDUCTOR = "inductor"
    FERRITE = "ferrite"
    FUSE = "fuse"
    CAPACITOR = "capacitor"
    DIODE = "diode"
    ZENER = "zener"
    CLAMP = "clamp"
    LED = "led"
    CONTACT = "contact"
    CHANNEL = "channel"
    BODY_DIODE = "body diode"
    COLLECTOR = "collector"
    THERMISTOR = "thermistor"
    COIL = "coil"


METALLIC = frozenset({ElementKind.INDUCTOR, ElementKind.FERRITE, ElementKind.FUSE})
"""Elements that pass direct current with next to no drop."""

JUNCTIONS = frozenset({ElementKind.DIODE, ElementKind.LED, ElementKind.BODY_DIODE})
"""Elements that conduct from `a` (anode) to `b` (cathode) only."""


@dataclass(frozen=True, slots=True)
class Element:
    """One element between two nodes.

    Parameters
    ----------
    reference : str
        The part it belongs to.
    kind : ElementKind
        What it is.
    a, b : str
        Its nodes. Junctions: `a` is the anode. Channels: `a` is the drain, `b` the source.
    a_pin, b_pin : str
        Pin numbers.
    control : str or None
        Node of gate or base.
    name : str
        Tells apart several elements of one part, as in "red"; "" for an only one.
    position : int
        For a contact: the position of the switch that closes it, from 0.
    """

    reference: str
    kind: ElementKind
    a: str
    b: str
    a_pin: str = ""
    b_pin: str = ""
    control: str | None = None
    name: str = ""
    position: int = 0

    def __hash__(self) -> int:
        # Enough to tell elements apart, and several times faster than all fields.
        return hash((self.reference, self.name, self.a_pin, self.b_pin))

    @property
    def label(self) -> str:
        """Reference, and name where the part has several elements."""
        return f"{self.reference} ({self.name})" if self.name else self.reference

    def other(self, node: str) -> str:
        """Return the node at the other end."""
        return self.b if node == self.a else self.a


_POLE = re.compile(r"ANODE|CATHODE|[AK]|_")

_SIMPLE: Mapping[Kind, ElementKind] = {
    Kind.RESISTOR: ElementKind.RESISTOR,
    Kind.THERMISTOR: ElementKind.THERMISTOR,
    Kind.INDUCTOR: ElementKind.INDUCTOR,
    Kind.FERRITE: ElementKind.FERRITE,
    Kind.FUSE: ElementKind.FUSE,
    Kind.CAPACITOR: ElementKind.CAPACITOR,
    Kind.MOTOR: ElementKind.COIL,
    Kind.BUZZER: ElementKind.COIL,
}
_JUNCTION: Mapping[Kind, ElementKind] = {
    Kind.DIODE: ElementKind.DIODE,
    Kind.ZENER: ElementKind.ZENER,
    Kind.TVS: ElementKind.CLAMP,
    Kind.LED: ElementKind.LED,
}


@dataclass(frozen=True)
class Elements:
    """All elements of fitted parts, and those at each node."""

    all: tuple[Element, ...]
    at_node: Mapping[str, tuple[Element, ...]]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Read the elements off the board, parts in its order."""
        found = tuple(_elements(circuit))
        at_node: dict[str, list[Element]] = {}
        for element in found:
            at_node.setdefault(element.a, []).append(element)
            if element.b != element.a:
                at_node.setdefault(element.b, []).append(element)
        return cls(found, {node: tuple(items) for node, items in at_node.items()})

    @cached_property
    def order(self) -> Mapping[Element, int]:
        """The place of each element among all."""
        return {element: place for place, element in enumerate(self.all)}

    @cached_property
    def passing(self) -> Mapping[str, tuple[Element, ...]]:
        """By node, the elements that pass a current whatever the state: resistors, junctions."""
        kinds = METALLIC | JUNCTIONS | {ElementKind.RESISTOR}
        return self._by_node(lambda element: element.kind in kinds)

    @cached_property
    def switching(self) -> Mapping[str, tuple[Element, ...]]:
        """By node, the elements that pass a current in some states: contacts, transistors."""
        kinds = {ElementKind.CONTACT, ElementKind.CHANNEL, ElementKind.COLLECTOR}
        return self._by_node(lambda element: element.kind in kinds)

    def _by_node(self, wanted: Callable[[Element], bool]) -> Mapping[str, tuple[Element, ...]]:
        chosen = {id(element) for element in self.all if wanted(element)}
        found = (
            (node, tuple(element for element in elements if id(element) in chosen))
            for node, elements in self.at_node.items()
        )
        return {node: elements for node, elements in found if elements}

    def of_kind(self, *kinds: ElementKind) -> tuple[Element, ...]:
        """Return the elements of these kinds."""
        return tuple(element for element in self.all if element.kind in kinds)

    def of_part(self, reference: str) -> tuple[Element, ...]:
        """Return the elements of one part."""
        return tuple(element for element in self.all if element.reference == reference)

    def at(self, node: str, *kinds: ElementKind) -> tuple[Element, ...]:
        """Return the elements at a node, of these kinds if any are given."""
        found = self.at_node.get(node, ())
        return tuple(e for e in found if e.kind in kinds) if kinds else found


def is_p_channel(circuit: Circuit, reference: str) -> bool | None:
    """Tell whether a FET or transistor is of the P (or PNP) type; None if nothing says so."""
    stated = circuit.known(reference, "channel")
    if stated is not None:
        return stated.value in {"p", "pnp"}
    part = circuit.board.parts[reference]
    words = f"{part.name} {part.value} {part.description}".lower().replace("-", "_")
    if any(word in words for word in ("pmos", "p_mos", "p_channel", "pch", "pnp")):
        return True
    if any(word in words for word in ("nmos", "n_mos", "n_channel", "nch", "npn")):
        return False
    return None


def _elements(circuit: Circuit) -> Iterator[Element]:
    kinds = circuit.view(Kinds)
    for reference, found in kinds.of_part.items():
        if reference not in kinds.fitted:
            continue
        kind = found.kind
        part = circuit.board.parts[reference]
        if kind in _SIMPLE:
            yield from _simple(circuit, part, _SIMPLE[kind])
        elif kind in _JUNCTION:
            yield from _junctions(circuit, part, _JUNCTION[kind])
        elif kind in {Kind.SWITCH, Kind.BUTTON, Kind.JUMPER}:
            yield from _contacts(circuit, part, kind)
        elif kind is Kind.FET:
            yield from _channels(circuit, part)
        elif kind is Kind.TRANSISTOR:
            yield from _collectors(circuit, part)
        elif kind is Kind.RESISTOR_NETWORK:
            yield from _network(circuit, part)


def _simple(circuit: Circuit, part: Part, kind: ElementKind) -> Iterator[Element]:
    ends = terminals(part)
    nodes = circuit.view(Nodes)
    if ends is None or ends[0] is None or ends[1] is None:
        return
    numbers = sorted({pin.number for pin in part.pins})
    a, b = nodes.node_of[ends[0]], nodes.node_of[ends[1]]
    if a != b:
        yield Element(part.reference, kind, a, b, numbers[0], numbers[-1])


def _junctions(circuit: Circuit, part: Part, kind: ElementKind) -> Iterator[Element]:
    """Pair anodes with cathodes; a part with one common pin gives a junction a colour."""
    pins = circuit.view(PinRoles).pins(part.reference)
    anodes = [pin for pin in pins if pin.role is Role.ANODE]
    cathodes = [pin for pin in pins if pin.role is Role.CATHODE]
    numbers = {pin.pin.number for pin in pins}
    if not anodes and not cathodes and len(numbers) == 2 and len(pins) == 2:
        # Pin 1 is the cathode: IEC 61188-7 and common practice for diodes without pin names.
        cathodes, anodes = [pins[0]], [pins[1]]
    several = len({p.pin.number for p in anodes}) * len({p.pin.number for p in cathodes}) > 1
    for anode, cathode in _pairs(anodes, cathodes):
        element = _junction(circuit, part, kind, anode, cathode)
        if element is not None:
            name = _branch_name(anode, cathode, len(anodes) >= len(cathodes)) if several else ""
            yield Element(
                element.reference,
                kind,
                element.a,
                element.b,
                element.a_pin,
                element.b_pin,
                name=name,
            )


def _pairs(anodes: list[PinRef], cathodes: list[PinRef]) -> Iterator[tuple[PinRef, PinRef]]:
    if len(anodes) == len(cathodes):
        yield from _by_colour(anodes, cathodes)
    else:
        for anode in anodes:
            for cathode in cathodes:
                yield anode, cathode


def _by_colour(anodes: list[PinRef], cathodes: list[PinRef]) -> Iterator[tuple[PinRef, PinRef]]:
    """Pair RA with RK, A1 with K1; pins without such names in their order."""

    def tag(pin: PinRef) -> str:
        return _POLE.sub("", pin.pin.function.upper())

    by_tag = {tag(pin): pin for pin in cathodes}
    if len(by_tag) == len(cathodes) and all(tag(pin) in by_tag for pin in anodes):
        yield from ((pin, by_tag[tag(pin)]) for pin in anodes)
    else:
        yield from zip(anodes, cathodes, strict=True)


def _junction(
    circuit: Circuit, part: Part, kind: ElementKind, anode: PinRef, cathode: PinRef
) -> Element | None:
    nodes = circuit.view(Nodes)
    a, b = nodes.of_net(anode.pin.net), nodes.of_net(cathode.pin.net)
    if a is None or b is None or a == b:
        return None
    return Element(part.reference, kind, a, b, anode.pin.number, cathode.pin.number)


def _branch_name(anode: PinRef, cathode: PinRef, anode_names: bool) -> str:
    return (anode if anode_names else cathode).pin.function.lower() or anode.pin.number


def _contacts(circuit: Circuit, part: Part, kind: Kind) -> Iterator[Element]:
    """Neighbouring pins of a switch close in turn; pads of one number are one pin."""
    nodes = circuit.view(Nodes)
    live = {pin.number: pin.net for pin in part.pins if pin.number.isalnum()}
    numbers = [n for n in live if not n.upper().startswith(("S", "M", "G"))] or list(live)
    pairs = list(pairwise(sorted(numbers)))
    if len(numbers) == 4 and kind in {Kind.BUTTON, Kind.SWITCH}:
        pairs = _four_leg_pairs(live, sorted(numbers))
    if len(numbers) == 6:
        pairs = [*pairwise(sorted(numbers)[:3]), *pairwise(sorted(numbers)[3:])]
    throws = len(numbers) in {3, 6}
    for index, (one, other) in enumerate(pairs):
        a, b = nodes.of_net(live[one]), nodes.of_net(live[other])
        if a is not None and b is not None and a != b:
            position = index % 2 if throws else 0
            yield Element(part.reference, ElementKind.CONTACT, a, b, one, other, position=position)


def _four_leg_pairs(live: Mapping[str, str | None], numbers: list[str]) -> list[tuple[str, str]]:
    """Pair the legs of a four-leg button across its contact, whichever way it is numbered."""
    first, *rest = numbers
    for other in rest:
        if live[other] is not None and live[other] != live[first]:
            remaining = [n for n in rest if n != other]
            return [(first, other), (remaining[0], remaining[1])]
    return [(first, rest[-1])]


def _channels(circuit: Circuit, part: Part) -> Iterator[Element]:
    roles = circuit.view(PinRoles)
    nodes = circuit.view(Nodes)
    for suffix in ("", "1", "2"):
        drain = _named(roles, part.reference, Role.DRAIN, suffix)
        source = _named(roles, part.reference, Role.SOURCE, suffix)
        gate = _named(roles, part.reference, Role.GATE, suffix)
        if drain is None or source is None:
            continue
        a, b = nodes.of_net(drain.pin.net), nodes.of_net(source.pin.net)
        if a is None or b is None or a == b:
            continue
        control = nodes.of_net(gate.pin.net) if gate else None
        yield Element(
            part.reference,
            ElementKind.CHANNEL,
            a,
            b,
            drain.pin.number,
            source.pin.number,
            control,
            suffix,
        )
        p_channel = is_p_channel(circuit, part.reference)
        if p_channel is not None:
            anode, cathode = (a, b) if p_channel else (b, a)
            yield Element(
                part.reference,
                ElementKind.BODY_DIODE,
                anode,
                cathode,
                control=control,
                name=suffix,
            )


def _named(roles: PinRoles, reference: str, role: Role, suffix: str) -> PinRef | None:
    """Return the pin of a role whose function ends in the suffix, the plain one for ""."""
    for pin in roles.pins(reference, role):
        function = pin.pin.function.rstrip()
        ending = function[-1:] if function[-1:].isdigit() else ""
        if ending == suffix:
            return pin
    return None


def _collectors(circuit: Circuit, part: Part) -> Iterator[Element]:
    roles = circuit.view(PinRoles)
    nodes = circuit.view(Nodes)
    collector = nodes.of_net(roles.net_of(part.reference, Role.COLLECTOR))
    emitter = nodes.of_net(roles.net_of(part.reference, Role.EMITTER))
    base = nodes.of_net(roles.net_of(part.reference, Role.BASE))
    if collector is not None and emitter is not None and collector != emitter:
        yield Element(part.reference, ElementKind.COLLECTOR, collector, emitter, control=base)


def _network(circuit: Circuit, part: Part) -> Iterator[Element]:
    """Pair the pins of a resistor array as its names say: R1.1 with R1.2, else opposite pins."""
    nodes = circuit.view(Nodes)
    groups: dict[str, list[str]] = {}
    for pin in part.pins:
        stem = pin.function.rpartition(".")[0]
        if stem and pin.net is not None:
            groups.setdefault(stem, []).append(pin.net)
    for stem, nets in groups.items():
        if len(nets) == 2 and nodes.node_of[nets[0]] != nodes.node_of[nets[1]]:
            yield Element(
                part.reference,
                ElementKind.RESISTOR,
                nodes.node_of[nets[0]],
                nodes.node_of[nets[1]],
                name=stem,
            )
