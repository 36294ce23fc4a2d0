"""View: nodes that carry a supply, and what joins them to ground."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self, cast

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_supply_name, pin_name
from boardvet.circuit.nodes import Nodes, Short
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.rails import Rails, node_label
from boardvet.circuit.sources import SourceKind, Sources
from boardvet.circuit.states import State, States
from boardvet.circuit.subjects import OfOneNode
from boardvet.known import Known
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["PowerNode", "Shorts", "source_limit"]

_DIODES = frozenset({ElementKind.DIODE, ElementKind.BODY_DIODE})
TWO_C = 2.0
"""Discharge rate that a rechargeable cell without a stated limit stands: common practice. [1/h]"""

_USB_LIMIT = Known(0.5, "A", "standard USB 2.0, 7.2.1.4: five units of 100 mA")


@dataclass(frozen=True)
class PowerNode(OfOneNode):
    """A node that carries a supply, or a ground on which one stands too, as a subject.

    It is called a rail, so that a finding about the same rail can be pointed to.

    Parameters
    ----------
    node, name : str
        The node and its best net name.
    is_ground : bool
        True for a ground.
    givers : tuple of str
        References of the sources and regulators whose output stands on it.
    takers : tuple of PinRef
        Supply pins on it, by their names.
    returns : tuple of PinRef
        Ground pins on it.
    joined : Short or None
        Parts of metal that join it to ground.
    through : tuple of Element
        Coils, ferrites, fuses and contacts through which it meets ground.
    state : State or None
        The state in which those contacts are closed.
    leaks : mapping of State to tuple of Element
        Ways to ground, forward through diodes.
    """

    node: str
    name: str
    is_ground: bool = False
    givers: tuple[str, ...] = ()
    takers: tuple[PinRef, ...] = field(default=(), compare=False)
    returns: tuple[PinRef, ...] = field(default=(), compare=False)
    joined: Short | None = None
    through: tuple[Element, ...] = ()
    state: State | None = None
    leaks: Mapping[State, tuple[Element, ...]] = field(default_factory=dict, compare=False)

    @property
    def meets(self) -> tuple[str, ...]:
        """The ground that it meets through metal, if it does."""
        if self.joined is not None:
            return (self.joined.ground,)
        node = self.node
        for element in self.through:
            node = element.other(node)
        return (node,) if self.through else ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[PowerNode]:
        """Return the nodes of the board that carry a supply."""
        return circuit.view(Shorts).all

    @classmethod
    def bare(cls, node: str) -> PowerNode:
        """Return a subject that only names a node."""
        return cls(node, node)


@dataclass(frozen=True)
class Shorts:
    """All nodes that carry a supply, with what joins them to ground."""

    all: tuple[PowerNode, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Collect them: rails, what sources stand on, and grounds with a supply on them."""
        search = _Search(circuit)
        return cls(tuple(search.power_nodes()))

    def at(self, node: str) -> PowerNode | None:
        """Return the power node of this node, None if it carries no supply."""
        return next((power for power in self.all if power.node == node), None)


class _Search:
    """Looks for ways from supplies to ground."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        self.feeding = circuit.view(Feeding)
        self.nodes = circuit.view(Nodes)
        self.kinds = circuit.view(Kinds)
        self.roles = circuit.view(PinRoles)
        self.givers = _givers(circuit)
        self.joined: dict[str, Short] = {}
        for short in self.nodes.shorts:
            self.joined.setdefault(self.nodes.node_of[short.supply], short)
        rails = [rail.node for rail in circuit.view(Rails).all]
        found = dict.fromkeys((*rails, *self.givers, *self.joined))
        self.supplies = tuple(node for node in found if node not in self.grounds)
        self.metal = self._through_metal()

    def power_nodes(self) -> Iterator[PowerNode]:
        for node in self.supplies:
            through, state = self.metal.get(node, ((), None))
            yield PowerNode(
                node,
                node_label(self.circuit, node),
                False,
                self.givers.get(node, ()),
                self._named(node, supply=True),
                self._named(node, supply=False),
                self.joined.get(node),
                through,
                state,
                dict(self._leaks(node)),
            )
        for node in self.grounds.nodes:
            takers, givers = self._named(node, supply=True), self.givers.get(node, ())
            if takers or givers:
                name = node_label(self.circuit, node)
                yield PowerNode(node, name, True, givers, takers, self._named(node, supply=False))

    def _named(self, node: str, *, supply: bool) -> tuple[PinRef, ...]:
        """Return the pins of circuits on a node that take a supply by name, or that are ground."""
        return tuple(
            pin
            for net in self.nodes.nets_of[node]
            for pin in self.roles.on_net[net]
            if self.kinds.kind(pin.reference) in INTEGRATED - {Kind.PROTECTOR}
            and (_is_supply(pin) if supply else pin.role is Role.GROUND)
        )

    def _through_metal(self) -> dict[str, tuple[tuple[Element, ...], State | None]]:
        """Return, for the supplies that meet a ground through metal, the way there."""
        found: dict[str, tuple[tuple[Element, ...], State | None]] = {}
        for state in self.circuit.view(States).all:
            ways: dict[str, tuple[Element, ...]] = dict.fromkeys(self.grounds.nodes, ())
            for node in (queue := list(ways)):
                closed = any(e.kind is ElementKind.CONTACT for e in ways[node])
                if node in self.supplies and (not closed or self._is_stiff(node)):
                    found.setdefault(node, (ways[node], state if closed else None))
                    continue
                for element in self.elements.at(node):
                    other = element.other(node)
                    if other not in ways and self._is_metal(element, state):
                        ways[other] = (element, *ways[node])
                        queue.append(other)
        return found

    def _is_stiff(self, node: str) -> bool:
        """Tell whether a node is fed through no resistor: a button may pull others to ground."""
        if node in self.givers:
            return True
        return any(
            self.kinds.kind(reference) is not Kind.RESISTOR
            for _, fed in self.feeding.states_of(node)
            for reference in fed.path[-1:]
        )

    def _is_metal(self, element: Element, state: State) -> bool:
        if element.kind is ElementKind.CONTACT:
            return state.is_closed(element)
        return element.kind in METALLIC

    def _leaks(self, start: str) -> Iterator[tuple[State, tuple[Element, ...]]]:
        """Yield the ways from a fed node to ground, forward through at least one diode."""
        for state, fed in self.feeding.in_state.items():
            if start not in fed:
                continue
            way = self._forward(start, state)
            if any(element.kind in _DIODES for element in way):
                yield state, way

    def _forward(self, start: str, state: State) -> tuple[Element, ...]:
        ways: dict[str, tuple[Element, ...]] = {start: ()}
        for node in (queue := [start]):
            for element in self.elements.at(node):
                other = element.other(node)
                forward = element.kind in _DIODES and element.a == node
                if other in ways or not (forward or self._is_metal(element, state)):
                    continue
                if other in self.grounds:
                    return (*ways[node], element)
                if other not in self.supplies:
                    ways[other] = (*ways[node], element)
                    queue.append(other)
        return ()


def _givers(circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """Return what gives a supply at each node: sources and regulators, no programming header."""
    found: dict[str, list[str]] = {}
    for source in circuit.view(Sources).all:
        if source.kind is not SourceKind.HEADER:
            found.setdefault(source.node, []).append(source.reference)
    for converter in circuit.view(Converters).all:
        for node in converter.outputs:
            found.setdefault(node, []).append(converter.reference)
    return {node: tuple(dict.fromkeys(names)) for node, names in found.items()}


def _is_supply(pin: PinRef) -> bool:
    return pin.role in {Role.SUPPLY, Role.REGULATOR_INPUT} and is_supply_name(
        pin_name(pin.pin.function)
    )


def source_limit(circuit: Circuit, fed: Fed) -> Known[float]:
    """Return how much current the nearest source of a node can give, in amperes.

    Raises
    ------
    MissingFact
        Where nobody says.
    """
    regulators = {converter.reference for converter in circuit.view(Converters).all}
    for reference in (*reversed([r for r in fed.path if r in regulators]), fed.sources[0]):
        stated = circuit.known(reference, "current_max")
        if stated is not None:
            return cast("Known[float]", stated)
        source = circuit.intent.sources.get(reference)
        if source is not None and source.current_max is not None:
            return source.current_max
        if reference in regulators:
            break
        limit = _own_limit(circuit, reference)
        if limit is not None:
            return limit
    return cast("Known[float]", circuit.need(reference, "current_max"))


def _own_limit(circuit: Circuit, reference: str) -> Known[float] | None:
    for source in circuit.view(Sources).of_kind(SourceKind.USB):
        if source.reference == reference:
            return _USB_LIMIT
    cell = next((c for c in circuit.view(Cells).all if c.reference == reference), None)
    if cell is None:
        return None
    rated = (cell.type.pulse_current or cell.type.continuous_current) if cell.type else None
    stated = cell.stated.capacity if cell.stated is not None else None
    if rated is None and stated is not None:
        return Known(TWO_C * stated.value / 3600.0, "A", "assumed: twice its capacity in an hour")
    return rated
