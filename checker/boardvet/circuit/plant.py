"""View: plants, who takes current from where in a state: consumers, regulators, switched paths."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self, cast

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters, Regulator, dropout_points
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding, FeedingIn
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.idling import Idling
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.states import State
from boardvet.circuit.strings import LedString, Strings
from boardvet.known import Known
from boardvet.physics.regulator import DropoutPoints, dropout_curve
from boardvet.quantity.statement import Points
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

if TYPE_CHECKING:
    from boardvet.intent import PatternEntry
    from boardvet.physics.elements import Floats

__all__ = ["Consumer", "Converting", "Plant", "Plants"]

_MOST_CURRENT = 100.0
"""More than any board here draws: how far drop-out is followed. [A]"""

_CONVERTERS = frozenset({Kind.REGULATOR, Kind.CHARGER})
_AWAKE = frozenset({Kind.CONTROLLER, Kind.MODULE})
"""Kinds that stay on for good where no pattern says when they are awake."""


class Consumer(NamedTuple):
    """A part that draws a current of its own.

    Parameters
    ----------
    reference : str
        The part.
    node : str
        The node that it takes it from.
    rest : Known of float or None
        What it draws at rest; None where nobody knows. [A]
    path : tuple of str
        References of the parts on the way from the source.
    """

    reference: str
    node: str
    rest: Known[float] | None
    path: tuple[str, ...]


class Converting(NamedTuple):
    """A fed regulator in numbers.

    Parameters
    ----------
    reference : str
        The regulator.
    source, target : str
        Its input and output nodes.
    voltage : float
        What it holds its output at. [V]
    stepping_up, switching : bool
        Whether it can make more than it gets, and whether it converts power and not current.
    dropout : DropoutPoints
        Drop-out voltage [V] at output currents [A], with the ends; empty where it is not known.
    dropout_known : bool
        False where nobody knows the drop-out voltage: 0 then.
    efficiency : tuple of (float, float)
        Of a switching one power out over power in, at output currents [A] in rising order.
    quiescent : Known of float or None
        What it uses itself. [A]
    depth : int
        How many parts lie between it and the source.
    """

    reference: str
    source: str
    target: str
    voltage: float
    stepping_up: bool
    switching: bool
    dropout: DropoutPoints
    dropout_known: bool
    efficiency: tuple[tuple[float, float], ...]
    quiescent: Known[float] | None
    depth: int

    def efficiency_at(self, given: Floats) -> Floats:
        """Return the efficiency of a switching one at output currents in amperes.

        Linear between the points stated, that of the ends outside.
        """
        import numpy as np

        at, shares = zip(*self.efficiency, strict=True)
        return np.asarray(np.interp(given, at, shares), dtype=np.float64)

    def power(self, given: Floats) -> Floats:
        """Return what a switching one takes to give currents [A], its own use left out, in W."""
        return self.voltage * given / self.efficiency_at(given)


@dataclass(frozen=True)
class Plant:
    """Who takes current from where in one state.

    Parameters
    ----------
    state : State
        The state.
    consumers : tuple of Consumer
        Parts with a supply pin on a fed node.
    converting : tuple of Converting
        Regulators that are fed, those farthest from the source first.
    switched : tuple of Element
        Channels of the supply path that a pin, transistor or contact puts on and off.
    enabled : frozenset of str
        Regulators that something switches off by their enable pin, and of which the pattern says
        when they are needed.
    awake : frozenset of str
        Controllers and modules, which are there whatever the pattern says.
    cells : frozenset of str
        References of the cells that are there.
    paths : mapping of node to tuple of str
        References of the parts on the way to each fed node.
    """

    state: State
    consumers: tuple[Consumer, ...]
    converting: tuple[Converting, ...]
    switched: tuple[Element, ...]
    enabled: frozenset[str]
    awake: frozenset[str]
    cells: frozenset[str]
    paths: Mapping[str, tuple[str, ...]]

    def consumer(self, reference: str) -> Consumer | None:
        """Return the consumer of a part, None if it has no fed supply."""
        return next((c for c in self.consumers if c.reference == reference), None)

    def resting(
        self, active: frozenset[str] = frozenset(), feeding: frozenset[str] = frozenset()
    ) -> frozenset[Element]:
        """Return the switched channels that are off while only some parts are at work.

        Parameters
        ----------
        active : frozenset of str
            Parts at work, besides those that always are.
        feeding : frozenset of str
            Parts that are on for another reason: what is lit takes its current through them.
        """
        needed = self._needed(active) | feeding
        return frozenset(c for c in self.switched if c.reference not in needed)

    def stopped(
        self, active: frozenset[str] = frozenset(), feeding: frozenset[str] = frozenset()
    ) -> frozenset[str]:
        """Return the regulators that are off while only some parts are at work.

        Those that only get something from them are off with them. For the arguments see `resting`.
        """
        off = self.enabled - self._needed(active) - feeding
        behind = (
            each.reference
            for each in self.converting
            if off & set(self.paths.get(each.source, ()))
        )
        return off.union(behind) if off else off

    def feeding(self, lit: Iterable[LedString]) -> frozenset[str]:
        """Return the parts on the way of the supply to lights that are lit."""
        tops = (string.ways()[0].node for string in lit if string.ways())
        return frozenset(part for node in tops for part in self.paths.get(node, ()))

    def _needed(self, active: frozenset[str]) -> frozenset[str]:
        return frozenset(
            reference
            for consumer in self.consumers
            if consumer.reference in active | self.awake
            for reference in consumer.path
        )


@dataclass(frozen=True)
class Plants:
    """The plants of the board, by state."""

    circuit: Circuit = field(repr=False)
    _made: dict[State, Plant] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; plants are made as they are asked for."""
        return cls(circuit)

    def in_state(self, state: State) -> Plant:
        """Return the plant of a state.

        Raises
        ------
        MissingFact
            Where the output voltage of a fed regulator, or the efficiency of a switching one, is
        not known.
        """
        if state not in self._made:
            self._made[state] = _plant(self.circuit, state)
        return self._made[state]


def _plant(circuit: Circuit, state: State) -> Plant:
    feeding, kinds = circuit.view(Feeding), circuit.view(Kinds)
    fed = feeding.at(state)
    conducting = feeding.conducting(state)
    consumers = tuple(_consumers(circuit, fed))
    paths = {node: one.path for node, one in fed.items()}
    return Plant(
        state,
        consumers,
        tuple(sorted(_converting(circuit, fed), key=lambda each: -each.depth)),
        tuple(
            channel
            for channel in circuit.view(Elements).of_kind(ElementKind.CHANNEL)
            if f"{channel.reference}{channel.name}" in conducting
            and channel.a in fed
            and channel.b in fed
            and feeding.switched(state, channel)
        ),
        _enabled(circuit, consumers, paths),
        frozenset(c.reference for c in consumers if kinds.kind(c.reference) in _AWAKE),
        frozenset(c.reference for c in circuit.view(Cells).all if c.reference in state.sources),
        paths,
    )


def _enabled(
    circuit: Circuit, consumers: Iterable[Consumer], paths: Mapping[str, tuple[str, ...]]
) -> frozenset[str]:
    """Return the regulators with a driven enable pin that something of the pattern needs at times.

    One that the pattern never needs would never be judged if it counted as off.
    """
    driven = [
        each.reference
        for each in circuit.view(Converters).all
        if not each.charger and circuit.view(Idling).enable_driven(each)
    ]
    if not driven:
        return frozenset()
    stated, strings = _stated(circuit), circuit.view(Strings)
    ways = [consumer.path for consumer in consumers if consumer.reference in stated]
    for entry in _entries(circuit):
        for light in entry.lights:
            tops = (s.ways()[0].node for s in strings.of_light(light) if s.ways())
            ways += [paths.get(node, ()) for node in tops]
    needed = {reference for way in ways for reference in way}
    return frozenset(reference for reference in driven if reference in needed)


def _consumers(circuit: Circuit, fed: FeedingIn) -> Iterator[Consumer]:
    seen: set[str] = set()
    for part in SuppliedPart.on(circuit):
        if part.part_kind in _CONVERTERS or part.reference in seen or part.node not in fed:
            continue
        backup = all(pin.role is Role.BACKUP_SUPPLY for pin in part.pins)
        if backup or fed[part.node].path[-1:] == (part.reference,):
            continue
        seen.add(part.reference)
        rest = cast("Known[float] | None", circuit.known(part.reference, "sleep_current"))
        node = _taken_from(circuit, fed, part.node)
        yield Consumer(part.reference, node, rest, fed[node].path)
    for reference in _stated(circuit) - seen:
        node_of_part = _any_fed(circuit, fed, reference)
        if node_of_part is not None:
            node = _taken_from(circuit, fed, node_of_part)
            yield Consumer(reference, node, Known(0.0, "A", "computed: off"), fed[node].path)


def _stated(circuit: Circuit) -> set[str]:
    """Return the parts of which the page states what they draw."""
    converters = {converter.reference for converter in circuit.view(Converters).all}
    return {each.part for each in _entries(circuit) if each.part is not None} - converters


def _entries(circuit: Circuit) -> list[PatternEntry]:
    return [*circuit.intent.pattern, *(e for m in circuit.intent.modes for e in m.pattern)]


def _any_fed(circuit: Circuit, fed: FeedingIn, reference: str) -> str | None:
    nodes = circuit.view(Nodes)
    pins = circuit.board.parts[reference].pins
    ends = (nodes.of_net(pin.net) for pin in pins)
    return next((node for node in ends if node is not None and node in fed), None)


def _taken_from(circuit: Circuit, fed: FeedingIn, node: str) -> str:
    """Return the node from which a supply really comes: a pin hands on that of its part."""
    kinds, nodes, roles = circuit.view(Kinds), circuit.view(Nodes), circuit.view(PinRoles)
    for _ in range(4):
        giver = next(iter(fed[node].path[-1:]), None)
        kind = kinds.kind(giver) if giver is not None else Kind.UNKNOWN
        if giver is None or kind not in INTEGRATED or kind in _CONVERTERS:
            return node
        pins = roles.pins(giver, Role.SUPPLY, Role.REGULATOR_INPUT)
        above = (nodes.of_net(pin.pin.net) for pin in pins)
        supply = next((n for n in above if n is not None and n in fed and n != node), None)
        if supply is None:
            return node
        node = supply
    return node


def _converting(circuit: Circuit, fed: FeedingIn) -> Iterator[Converting]:
    grounds = circuit.view(Grounds)
    for converter in circuit.view(Converters).all:
        if converter.charger:
            continue
        source = next((n for n in converter.inputs if n in fed and n not in grounds), None)
        target = next((n for n in converter.outputs if n in fed and n not in grounds), None)
        if source is None or target is None or source == target:
            continue
        yield _in_numbers(circuit, converter, source, target, len(fed[target].path))


def _in_numbers(
    circuit: Circuit, converter: Regulator, source: str, target: str, depth: int
) -> Converting:
    conversion, reference = converter.conversion, converter.reference
    if conversion.output is None:
        raise circuit.facts.missing(reference, "output")
    low, high = conversion.output.value
    switching = conversion.how != "linear"
    return Converting(
        reference,
        source,
        target,
        (low + high) / 2.0,
        conversion.steps_up,
        switching,
        dropout_curve(dropout_points(circuit, reference), _MOST_CURRENT),
        conversion.dropout_known,
        _efficiency(circuit, reference) if switching else (),
        cast("Known[float] | None", circuit.known(reference, "quiescent_current")),
        depth,
    )


def _efficiency(circuit: Circuit, reference: str) -> tuple[tuple[float, float], ...]:
    points = cast("Points", circuit.need(reference, "efficiency").value)
    return tuple(sorted((point.at or 0.0, point.value) for point in points))
