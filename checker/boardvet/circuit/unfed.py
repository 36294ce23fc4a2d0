"""View: rails that no source reaches in any state, and why."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import FEED_RESISTOR_LIMIT, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import natural_key, pin_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.rails import Rails, SupplyPin, SupplyRail, says_supply
from boardvet.circuit.shorts import Shorts
from boardvet.circuit.sources import SourceKind, Sources, is_programming_header
from boardvet.circuit.values import resistance
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Unfed", "UnfedRails", "Why"]

_PLUGGED = frozenset({Kind.CONNECTOR, Kind.USB_CONNECTOR})
_OPAQUE = frozenset(
    {Kind.UNKNOWN, Kind.RELAY, Kind.TRANSFORMER, Kind.BRIDGE, Kind.OPTOCOUPLER, Kind.PROTECTOR}
)
_MODELLED = frozenset(
    {Kind.FET, Kind.TRANSISTOR, Kind.DIODE, Kind.INDUCTOR, Kind.FERRITE, Kind.FUSE}
)


HEADERS, PLUGS = "headers", "plugs"

_INLET = re.compile(r"pwr|power|dc[_ -]?in|barrel|jack|supply|usb|vin\b|batt?", re.IGNORECASE)
"""Words of a connector through which a supply comes in."""

WIRE_LIKE = 100.0
"""A resistor up to this value is followed upstream whatever lies behind it. [ohm]"""

_MAIN = re.compile(r"(A|D|IO)?V(DD|CC)(A|D|IO)?\d?|VIO|VIN|VBAT|V\+|VS")
"""Names of ordinary supply pins."""


_GIVING = frozenset({Role.SWITCH_NODE, Role.OUTPUT, Role.PASSIVE, Role.UNKNOWN})


class Why(StrEnum):
    """Why nothing reaches a rail, as far as the board says."""

    OPEN = "its pins are on nothing"
    ASKED = "a connector may feed it"
    INSIDE = "the part may make it itself"
    DOWNSTREAM = "what feeds it is not fed"
    SHORTED = "the source is shorted"
    CUT_OFF = "what would feed it has an open pin"
    NOTHING = "nothing reaches it"


class _Reached(NamedTuple):
    """A node upstream of a rail, how many parts away, and behind how many regulators."""

    node: str
    distance: int
    regulators: int


@dataclass(frozen=True)
class Unfed:
    """A rail that no source reaches.

    Parameters
    ----------
    rail : SupplyRail
        The rail.
    why : Why
        The reason.
    givers : tuple of str
        References of what may feed it: connectors that nobody stated, or the part itself.
    given : str
        The node at which they would.
    cause : str or None
        The node that is the cause, of a rail downstream or of a shorted source.
    open_pin : SupplyPin or None
        The open pin that is the cause.
    headers : tuple of str
        Programming headers on the way, which are no source.
    left_off : tuple of str
        Connectors on the way that are not fitted.
    resistors : tuple of str
        Resistors, too large for a supply, between the rail and another one.
    missing : MissingFact or None
        Set where a part on the way is not understood.
    """

    rail: SupplyRail
    why: Why
    givers: tuple[str, ...] = ()
    given: str = ""
    cause: str | None = None
    open_pin: SupplyPin | None = None
    headers: tuple[str, ...] = ()
    left_off: tuple[str, ...] = ()
    resistors: tuple[str, ...] = ()
    missing: MissingFact | None = None


@dataclass(frozen=True)
class UnfedRails:
    """The rails that no source reaches, by node."""

    at: Mapping[str, Unfed]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Look upstream of every rail that is not fed, for what may feed it.

        Raises
        ------
        MissingFact
            Where the whole board has neither a cell nor another source.
        """
        rails = [rail for rail in circuit.view(Rails).all if not rail.fed]
        everyday = [s for s in circuit.view(Sources).all if s.kind is not SourceKind.HEADER]
        if not everyday:
            circuit.view(Cells).need_any()
        if not rails:
            return cls({})
        search = _Search(circuit)
        return cls(_folded({rail.node: search.explain(rail) for rail in rails}, search))


class _Search:
    """Walks upstream from rails that are not fed."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        self.feeding = circuit.view(Feeding)
        self.kinds = circuit.view(Kinds)
        self.nodes = circuit.view(Nodes)
        self.roles = circuit.view(PinRoles)
        self.converters = circuit.view(Converters).all
        self.alone = {
            (pin.pin.reference, pin.pin.pin.number): pin
            for pin in circuit.view(Rails).pins
            if isinstance(pin, SupplyPin) and pin.alone
        }
        self.rails = {rail.node for rail in circuit.view(Rails).all}
        self.modelled = {element.reference for element in self.elements.all}
        self.upstream: dict[str, list[_Reached]] = {}

    def explain(self, rail: SupplyRail) -> Unfed:
        """Say why a rail is not fed, each by itself."""
        # Ports that a library calls a supply input take nothing, unless someone stated it.
        if not any(says_supply(pin) for pin in rail.takers) or all(
            (pin.reference, pin.pin.number) in self.alone for pin in rail.takers
        ):
            return Unfed(rail, Why.OPEN)
        reached = self.upstream[rail.node] = list(self._walk(rail.node))
        headers = tuple(dict.fromkeys(r for n in reached for r in self._plugged(n.node, HEADERS)))
        asked = self._asked(reached)
        unclear = self._not_understood([n.node for n in reached])
        # A connector that is no inlet by its name is asked only where nothing else may feed.
        if asked is not None and (unclear is None or any(map(self._is_inlet, asked[1]))):
            return Unfed(rail, Why.ASKED, asked[1], asked[0], headers=headers)
        shorted = self._shorted(rail, {near.node for near in reached})
        if shorted is not None:
            return Unfed(rail, Why.SHORTED, cause=shorted)
        open_pin = self._open_input({near.node for near in reached})
        if open_pin is not None:
            return Unfed(rail, Why.CUT_OFF, open_pin=open_pin)
        if unclear is not None:
            return Unfed(rail, Why.NOTHING, missing=unclear)
        left_off = tuple(dict.fromkeys(r for n in reached for r in self._left_off(n.node)))
        if self._is_made_inside(rail):
            inside = rail.takers[0].reference
            unclear = None if _is_main(rail.takers) else _what_for(rail)
            return Unfed(rail, Why.INSIDE, (inside,), rail.node, headers=headers, missing=unclear)
        resistors = tuple(
            element.reference
            for element in self.elements.at(rail.node, ElementKind.RESISTOR)
            if self._is_supply(element.other(rail.node), rail.node)
        )
        return Unfed(rail, Why.NOTHING, headers=headers, left_off=left_off, resistors=resistors)

    def _asked(self, reached: list[_Reached]) -> tuple[str, tuple[str, ...]] | None:
        """Return the node at which a connector may feed, and the connectors.

        Inlets by name come first, then what lies before a regulator: connectors behind it are
        usually fed by it.
        """
        found = [(near, tuple(self._plugged(near.node, PLUGS))) for near in reached]
        ordered = sorted(
            ((near, givers) for near, givers in found if givers),
            key=lambda item: (
                not any(self._is_inlet(giver) for giver in item[1]),
                -item[0].regulators,
                item[0].distance,
            ),
        )
        if not ordered:
            return None
        near, givers = ordered[0]
        return near.node, tuple(sorted(givers, key=lambda giver: not self._is_inlet(giver)))

    def _is_inlet(self, reference: str) -> bool:
        part = self.circuit.board.parts[reference]
        return bool(_INLET.search(f"{reference} {part.value} {part.name}"))

    def _walk(self, start: str) -> Iterator[_Reached]:
        seen = {start}
        layer, distance = [(start, 0)], 0
        while layer:
            yield from (_Reached(node, distance, behind) for node, behind in layer)
            distance += 1
            following: list[tuple[str, int]] = []
            for node, behind in layer:
                for other, regulators in self._onward(node):
                    dead = other in seen or other in self.grounds or self.feeding.ever(other)
                    if not dead:
                        seen.add(other)
                        following.append((other, behind + regulators))
            layer = following

    def _onward(self, node: str) -> Iterator[tuple[str, int]]:
        for element in self.elements.at(node):
            other = element.other(node)
            limit = FEED_RESISTOR_LIMIT if other in self.rails else WIRE_LIKE
            if _passes(element, node) or self._is_small(element, limit):
                yield other, 0
        for converter in self.converters:
            if node in converter.outputs:
                yield from ((other, 1) for other in converter.inputs)
        for pin in self._pins(node):
            if pin.role is Role.SUPPLY_OUTPUT:
                for taking in self.roles.pins(pin.reference, Role.SUPPLY, Role.REGULATOR_INPUT):
                    supplying = self.nodes.of_net(taking.pin.net)
                    if supplying is not None:
                        yield supplying, 1

    def _is_small(self, element: Element, limit: float) -> bool:
        if element.kind is not ElementKind.RESISTOR:
            return False
        known = resistance(self.circuit, element.reference)
        return known is None or known.value <= limit

    def _pins(self, node: str) -> Iterator[PinRef]:
        for net in self.nodes.nets_of[node]:
            yield from self.roles.on_net[net]

    def _plugged(self, node: str, which: str) -> Iterator[str]:
        """Yield the connectors on a node that may feed it, or those for a programmer."""
        found: set[str] = set()
        for pin in self._pins(node):
            if self.kinds.kind(pin.reference) not in _PLUGGED:
                continue
            header = is_programming_header(self.circuit, pin.reference)
            stated = self.circuit.known(pin.reference, "powers_board")
            if header == (which is HEADERS) and (header or stated is None):
                found.add(pin.reference)
        yield from sorted(found, key=natural_key)

    def _left_off(self, node: str) -> Iterator[str]:
        """Yield the connectors on a node that are not fitted."""
        for net in self.nodes.nets_of[node]:
            for reference, _ in self.circuit.board.nets[net].nodes:
                if self.kinds.kind(reference) in _PLUGGED and reference not in self.kinds.fitted:
                    yield reference

    def _not_understood(self, reached: list[str]) -> MissingFact | None:
        """Return what to state of a part between the rail and another one that nobody tells."""
        for node in reached:
            for pin in self._pins(node):
                kind = self.kinds.kind(pin.reference)
                opaque = kind in _OPAQUE or (
                    kind in _MODELLED and pin.reference not in self.modelled
                )
                # A coil from a circuit's pin: a step-down regulator that nobody recognised.
                opaque |= node not in self.rails and pin.role in _GIVING and kind in INTEGRATED
                if opaque and any(self._is_supply(o, node) for o in self._nodes_of(pin)):
                    return self._what_it_is(pin.reference, kind)
        return None

    def _nodes_of(self, pin: PinRef) -> Iterator[str]:
        for other in self.roles.pins(pin.reference):
            node = self.nodes.of_net(other.pin.net)
            if node is not None:
                yield node

    def _is_supply(self, other: str, node: str) -> bool:
        if other == node or other in self.grounds:
            return False
        return other in self.rails or self.feeding.ever(other)

    def _what_it_is(self, reference: str, kind: Kind) -> MissingFact:
        if kind is not Kind.FET:
            key = "kind" if kind is Kind.UNKNOWN or kind in INTEGRATED else "pins"
            return self.circuit.facts.missing(reference, key)
        return MissingFact(
            reference,
            "pins",
            f"what the pins of {reference} are for is not known",
            f"parts: {{{reference}: {{pins: {{1: gate, 2: source, 3: drain}}}}}}"
            "   # its true numbers",
        )

    def _shorted(self, rail: SupplyRail, reached: set[str]) -> str | None:
        """Return the node of a short that explains it: its own, or that of what would feed it."""
        shorts = self.circuit.view(Shorts)
        own = shorts.at(rail.node)
        if own is not None and (own.joined is not None or own.through):
            return rail.node
        sources = [source.node for source in self.circuit.view(Sources).all]
        inputs = [
            node
            for pin in self._inputs(reached)
            if (node := self.nodes.of_net(pin.pin.net)) is not None
        ]
        return next(
            (node for node in (*sources, *inputs) if node in self.grounds and shorts.at(node)),
            None,
        )

    def _inputs(self, reached: set[str]) -> Iterator[PinRef]:
        """Yield the inputs of the regulators that would feed one of the nodes."""
        for converter in self.converters:
            if reached & set(converter.outputs):
                yield from self.roles.pins(converter.reference, Role.REGULATOR_INPUT, Role.SUPPLY)

    def _open_input(self, reached: set[str]) -> SupplyPin | None:
        """Return the open input of a regulator that would feed one of the nodes."""
        for pin in self._inputs(reached):
            if (pin.reference, pin.pin.number) in self.alone:
                return self.alone[pin.reference, pin.pin.number]
        return None

    def _is_made_inside(self, rail: SupplyRail) -> bool:
        """Tell whether only one part takes from a rail, and is supplied by another pin as well."""
        first = rail.takers[0].reference
        if all(pin.role is Role.BACKUP_SUPPLY for pin in rail.takers):
            return False
        return all(pin.reference == first for pin in rail.takers) and any(
            node is not None and node != rail.node and node not in self.grounds
            for pin in self.roles.pins(first, Role.SUPPLY, Role.REGULATOR_INPUT)
            for node in (self.nodes.of_net(pin.pin.net),)
            if (pin.reference, pin.pin.number) not in self.alone
        )


def _is_main(takers: tuple[PinRef, ...]) -> bool:
    """Tell whether a pin's name is that of an ordinary supply, which parts seldom make inside."""
    return any(_MAIN.fullmatch(pin_name(pin.pin.function).replace("_", "")) for pin in takers)


def _what_for(rail: SupplyRail) -> MissingFact:
    pins = ", ".join(f"{pin.pin.number}: supply output" for pin in rail.takers)
    reference = rail.takers[0].reference
    named = ", ".join(pin.label.removeprefix(f"{reference} ") for pin in rail.takers)
    return MissingFact(
        reference,
        "pins",
        f"whether {reference} takes a supply at {named}, or makes it, is not known",
        f"parts: {{{reference}: {{pins: {{{pins}}}}}}}   # or supply",
    )


def _passes(element: Element, node: str) -> bool:
    """Tell whether a feed could come to a node through an element, in some state."""
    if element.kind in {ElementKind.DIODE, ElementKind.BODY_DIODE}:
        return element.b == node
    return element.kind in METALLIC or element.kind in {
        ElementKind.CONTACT,
        ElementKind.CHANNEL,
        ElementKind.COLLECTOR,
    }


def _folded(found: dict[str, Unfed], search: _Search) -> dict[str, Unfed]:
    """Point each rail that lies downstream of another one to the one nearest the cause."""
    causes: dict[str, str] = {}
    for node, unfed in found.items():
        above = [r for r in search.upstream.get(node, []) if r.distance and r.node in found]
        cause = _nearest_the_cause(found, search, unfed, above)
        if unfed.missing is None and cause is not None and cause != node:
            causes[node] = cause
    return {
        node: Unfed(unfed.rail, Why.DOWNSTREAM, cause=root)
        if (root := _root(causes, node)) != node
        else unfed
        for node, unfed in found.items()
    }


def _root(causes: Mapping[str, str], node: str) -> str:
    """Follow the causes to the last one; rails that name each other are their own cause."""
    seen = [node]
    while seen[-1] in causes:
        following = causes[seen[-1]]
        if following in seen:
            return min(seen)
        seen.append(following)
    return seen[-1]


def _nearest_the_cause(
    found: Mapping[str, Unfed], search: _Search, unfed: Unfed, above: list[_Reached]
) -> str | None:
    """Return the rail upstream that has fewest parts between it and what would feed them all."""

    def from_giver(node: str) -> tuple[float, int, str]:
        reached = search.upstream.get(node, [])
        far = next((float(r.distance) for r in reached if r.node == unfed.given), None)
        further = sum(1 for r in reached if r.distance and r.node in found)
        return far if far is not None else float(len(found) + further), further, node

    same = [r.node for r in above if found[r.node].why is unfed.why]
    candidates = [unfed.rail.node, *same]
    return min(candidates, key=from_giver) if same else None
