"""View: which nodes are fed in a state, from where, and at which voltages.

Voltages are spans at each moment of the cell's life, so that two rails are always compared at
the same state of the cell. They are open-circuit spans: what the load takes off is the business
of the network solver, and no current is computed here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Self, cast

from boardvet.circuit.cells import MOMENTS, Cell, Cells
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.elements import (
    METALLIC,
    Element,
    ElementKind,
    Elements,
    is_p_channel,
)
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import diode_drop
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles, can_drive
from boardvet.circuit.sources import Source, SourceKind, Sources
from boardvet.circuit.states import State, States
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.quantity.statement import Span
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["HEADER_VOLTAGE", "Fed", "Feeding", "FeedingIn"]

FEED_RESISTOR_LIMIT = 10e3
"""A resistor up to this value may feed a supply pin (filter, limiter): common practice. [ohm]"""

HEADER_VOLTAGE = 5.0
"""What a programmer that powers the board puts on its rail at the highest: common practice. [V]"""


@dataclass(frozen=True, slots=True)
class Fed:
    """How one node is fed.

    Parameters
    ----------
    low, high : tuple of float
        Lowest and highest open-circuit voltage at each of `MOMENTS`. [V]
    highest : float
        The highest that a fresh source can show, for damage. [V]
    sources : tuple of str
        References of the sources it comes from.
    path : tuple of str
        References of the parts on the way from the nearest source.
    because : tuple of str
        Where the deciding numbers were read.
    missing : MissingFact or None
        Set where it is fed, but a fact that the voltage rests on is missing.
    """

    low: tuple[float, ...]
    high: tuple[float, ...]
    highest: float
    sources: tuple[str, ...]
    path: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    missing: MissingFact | None = None

    def need(self) -> Fed:
        """Return the span, or end the subject where a fact is missing."""
        if self.missing is not None:
            raise self.missing.with_traceback(None)
        return self


FeedingIn = Mapping[str, Fed]
"""The fed nodes in one state."""


@dataclass(frozen=True)
class Feeding:
    """What is fed in each state.

    Parameters
    ----------
    in_state : mapping of State to mapping of node to Fed
        By the cells and sources that are present in the state.
    channels_on : mapping of State to set of str
        Channels that are on, or may be put on, by reference and name.
    from_header : mapping of str to mapping of node to Fed
        What each programming header alone would feed, at `HEADER_VOLTAGE`, in the main state. A
        header is no source in everyday use.
    circuit : Circuit
        Whose states those are; further states are spread as they are asked for.
    """

    in_state: Mapping[State, FeedingIn]
    channels_on: Mapping[State, frozenset[str]]
    from_header: Mapping[str, FeedingIn]
    circuit: Circuit = field(repr=False, compare=False)
    _further: dict[State, _Spread] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Follow every source through what conducts, in every state."""
        states = circuit.view(States)
        solved = {state: _Spread(circuit, state).run() for state in states.all}
        headers = circuit.view(Sources).of_kind(SourceKind.HEADER)
        return cls(
            {state: fed for state, (fed, _) in solved.items()},
            {state: on for state, (_, on) in solved.items()},
            {
                header.reference: _Spread(circuit, states.main, header).run()[0]
                for header in headers
            },
            circuit,
        )

    def at(self, state: State) -> FeedingIn:
        """Return the fed nodes in any state, those of modes and rest included."""
        return self.in_state[state] if state in self.in_state else self._spread(state).fed

    def conducting(self, state: State) -> frozenset[str]:
        """Return the channels that are on, or may be put on, in any state."""
        if state in self.channels_on:
            return self.channels_on[state]
        return self._spread(state).channels_on

    def _spread(self, state: State) -> _Spread:
        if state not in self._further:
            spread = _Spread(self.circuit, state)
            spread.run()
            self._further[state] = spread
        return self._further[state]

    def switched(self, state: State, channel: Element) -> bool:
        """Tell whether a pin, transistor or contact puts a channel on and off in a state."""
        return self._spread(state).gate(channel) == "either"

    def ever(self, node: str) -> bool:
        """Tell whether a node is fed in any state."""
        return any(node in fed for fed in self.in_state.values())

    def states_of(self, node: str) -> Iterator[tuple[State, Fed]]:
        """Yield the states in which a node is fed."""
        for state, fed in self.in_state.items():
            if node in fed:
                yield state, fed[node]


class _Spread:
    """One spreading of the sources over the nodes, in one state."""

    def __init__(self, circuit: Circuit, state: State, header: Source | None = None) -> None:
        self.circuit = circuit
        self.state = state
        self.header = header
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        self.fed: dict[str, Fed] = {}
        self.channels_on: frozenset[str] = frozenset()
        self.converters: dict[str, list[Regulator]] = {}
        for converter in circuit.view(Converters).all:
            for node in converter.inputs:
                self.converters.setdefault(node, []).append(converter)

    def run(self) -> tuple[dict[str, Fed], frozenset[str]]:
        """Spread until the channels that conduct no longer change."""
        for _ in range(4):
            self.fed = {}
            self._spread(dict(self._seeds()))
            self._spread(dict(self._through_resistors()))
            self._spread(dict(self._from_pins()))
            on = frozenset(self._conducting())
            if on == self.channels_on:
                break
            self.channels_on = on
        return self.fed, self.channels_on

    def _seeds(self) -> Iterator[tuple[str, Fed]]:
        if self.header is not None:
            flat = (HEADER_VOLTAGE,) * len(MOMENTS)
            yield self.header.node, Fed(flat, flat, flat[0], (self.header.reference,))
            return
        for cell in self.circuit.view(Cells).all:
            if cell.reference in self.state.sources and cell.plus is not None:
                yield cell.plus, self._cell(cell, frozenset())
        for source in self.circuit.view(Sources).besides_cells:
            if source.reference not in self.state.sources:
                continue
            if source.voltage is None:
                missing = self.circuit.facts.missing(source.reference, "voltage")
                yield source.node, _unknown((source.reference,), (), missing)
                continue
            span = source.voltage.value
            yield (
                source.node,
                Fed(
                    (span.low,) * len(MOMENTS),
                    (span.high,) * len(MOMENTS),
                    source.highest or span.high,
                    (source.reference,),
                    (),
                    (source.voltage.source,),
                ),
            )

    def _cell(self, cell: Cell, below: frozenset[str]) -> Fed:
        """Return what a cell's plus shows, standing on the cell under its minus if one is."""
        try:
            cell.rest_on_curve(self.circuit)
            volts = cell.voltages()
            highest = cell.highest()
        except MissingFact as missing:
            return _unknown((cell.reference,), (), missing)
        fed = Fed(
            volts, volts, highest.value, (cell.reference,), (), (cell.curve_source, highest.source)
        )
        under = [
            other
            for other in self.circuit.view(Cells).all
            if other.plus is not None
            and other.plus == cell.minus
            and other.reference not in below | {cell.reference}
        ]
        if not under or cell.minus in self.grounds:
            return fed
        base = self._cell(under[0], below | {cell.reference})
        return base if base.missing else _add(fed, base)

    def _spread(self, fresh: dict[str, Fed]) -> None:
        queue: list[tuple[str, Fed]] = list(fresh.items())
        steps = 0
        while queue and steps < 200_000:
            steps += 1
            node, fed = queue.pop(0)
            if node in self.grounds:
                continue
            before = self.fed.get(node)
            merged = fed if before is None else _either(before, fed)
            if before is not None and _same(before, merged):
                continue
            self.fed[node] = merged
            queue.extend(self._onward(node, merged))

    def _onward(self, node: str, fed: Fed) -> Iterator[tuple[str, Fed]]:
        for element in self.elements.at(node):
            if element.reference in fed.path or not self._conducts(element, node):
                continue
            other = element.other(node)
            try:
                drop = self._drop(element)
            except MissingFact as missing:
                yield other, _unknown(fed.sources, (*fed.path, element.reference), missing)
                continue
            yield other, _less(fed, drop, element.reference)
        for converter in self.converters.get(node, ()):
            if converter.reference not in fed.path:
                yield from self._converted(converter, fed)

    def _conducts(self, element: Element, node: str) -> bool:
        kind = element.kind
        if kind in METALLIC:
            return True
        if kind is ElementKind.CONTACT:
            return self.state.is_closed(element)
        if kind is ElementKind.CHANNEL:
            return f"{element.reference}{element.name}" in self.channels_on
        if kind in {ElementKind.DIODE, ElementKind.BODY_DIODE}:
            return element.a == node
        if kind is ElementKind.COLLECTOR:
            p_type = is_p_channel(self.circuit, element.reference)
            return (element.b == node) if p_type else (element.a == node and False)
        return False

    def _drop(self, element: Element) -> Span:
        if element.kind is ElementKind.BODY_DIODE:
            if f"{element.reference}{element.name}" in self.channels_on:
                return Span(0.0, 0.0)
            return Span(0.3, 0.8)
        if element.kind is not ElementKind.DIODE:
            return Span(0.0, 0.0)
        return diode_drop(self.circuit, element)

    def _converted(self, converter: Regulator, fed: Fed) -> Iterator[tuple[str, Fed]]:
        for node in converter.outputs:
            yield node, self._output(converter, fed)

    def _output(self, converter: Regulator, fed: Fed) -> Fed:
        path = (*fed.path, converter.reference)
        conversion = converter.conversion
        if conversion.output is None:
            key = "charge_voltage" if converter.charger else "output"
            missing = self.circuit.facts.missing(converter.reference, key)
            return _unknown(fed.sources, path, missing)
        low, high = conversion.output.value
        because = (conversion.output.source,)
        if fed.missing is not None or conversion.steps_up:
            flat = len(MOMENTS)
            return Fed((low,) * flat, (high,) * flat, high, fed.sources, path, because)
        return Fed(
            tuple(min(low, max(v - conversion.dropout, 0.0)) for v in fed.low),
            tuple(min(high, v) for v in fed.high),
            min(high, fed.highest),
            fed.sources,
            path,
            because,
        )

    def _through_resistors(self) -> Iterator[tuple[str, Fed]]:
        """Let small resistors feed supply pins that nothing else feeds."""
        roles = self.circuit.view(PinRoles)
        nodes = self.circuit.view(Nodes)
        for element in self.elements.of_kind(ElementKind.RESISTOR):
            ohms = resistance(self.circuit, element.reference)
            if ohms is not None and ohms.value > FEED_RESISTOR_LIMIT:
                continue
            for node in (element.a, element.b):
                other = element.other(node)
                if node not in self.fed or other in self.fed or other in self.grounds:
                    continue
                takes = any(
                    pin.role in {Role.SUPPLY, Role.REGULATOR_INPUT, Role.BACKUP_SUPPLY}
                    for net in nodes.nets_of[other]
                    for pin in roles.on_net[net]
                )
                if not takes:
                    continue
                fed = _less(self.fed[node], Span(0.0, 0.0), element.reference)
                if ohms is None:
                    unknown = missing_value(element.reference)
                    fed = replace(fed, missing=fed.missing or unknown)
                yield other, fed

    def _from_pins(self) -> Iterator[tuple[str, Fed]]:
        """Let outputs feed supply pins that nothing else feeds: a pin, or a supply output."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        nodes = self.circuit.view(Nodes)
        takers = {Role.SUPPLY, Role.REGULATOR_INPUT}
        for node, nets in nodes.nets_of.items():
            if node in self.fed or node in self.grounds:
                continue
            pins = [pin for net in nets for pin in roles.on_net[net]]
            takes = {pin.reference for pin in pins if pin.role in takers}
            for pin in pins if takes else ():
                kind = kinds.kind(pin.reference)
                gives = pin.role is Role.SUPPLY_OUTPUT or (
                    kind in INTEGRATED
                    and pin.role in {Role.OUTPUT, Role.BIDIRECTIONAL}
                    and can_drive(pin, kind)
                )
                own = pin.role is Role.SUPPLY_OUTPUT  # a regulator inside feeds its own core
                if gives and (own or takes - {pin.reference}):
                    fed = self._supply_of(pin.reference)
                    if fed is not None:
                        yield node, _less(fed, Span(0.0, 0.0), pin.reference)

    def _supply_of(self, reference: str) -> Fed | None:
        nodes = self.circuit.view(Nodes)
        for pin in self.circuit.view(PinRoles).pins(reference, Role.SUPPLY, Role.REGULATOR_INPUT):
            node = nodes.of_net(pin.pin.net)
            if node in self.fed:
                return self.fed[node]
        return None

    def _conducting(self) -> Iterator[str]:
        """Name the channels that are on, or may be put on, with what is fed now."""
        for element in self.elements.of_kind(ElementKind.CHANNEL):
            if self.gate(element) != "off":
                yield f"{element.reference}{element.name}"

    def gate(self, element: Element) -> str:
        """Return "on", "off" or "either" for a channel, by what holds its gate."""
        gate = element.control
        p_channel = is_p_channel(self.circuit, element.reference)
        if gate is None or p_channel is None:
            return "either"
        if gate in self.grounds:
            return "on" if p_channel else "off"
        if self._driven(gate):
            return "either"
        if gate in self.fed:
            return self._against_source(element, p_channel)
        pulls = {r.other(gate) for r in self.elements.at(gate, ElementKind.RESISTOR)}
        if any(self._driven(node) for node in pulls - self.fed.keys() - set(self.grounds.nodes)):
            return "either"
        if any(node in self.grounds for node in pulls):
            return "on" if p_channel else "off"
        if any(node in self.fed for node in pulls):
            return "off" if p_channel else "on"
        return "either"

    def _against_source(self, element: Element, p_channel: bool) -> str:
        """Judge a gate that stands on a fed node against the voltage at the source pin."""
        gate = self.fed[cast("str", element.control)]
        source = self.fed.get(element.b) or self.fed.get(element.a)
        if not p_channel:
            return "on" if element.b in self.grounds or source is None else "either"
        if source is None or gate.missing or source.missing:
            return "off"
        return "off" if gate.high[0] >= source.high[0] - 0.6 else "on"

    def _driven(self, node: str) -> bool:
        """Tell whether something may pull a node either way: a pin, a transistor, a contact."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        nodes = self.circuit.view(Nodes)
        moving = {ElementKind.CHANNEL, ElementKind.COLLECTOR, ElementKind.CONTACT}
        if any(e.kind in moving and e.control != node for e in self.elements.at(node)):
            return True
        return any(
            can_drive(pin, kinds.kind(pin.reference))
            and kinds.kind(pin.reference)
            not in {Kind.CONNECTOR, Kind.USB_CONNECTOR, Kind.TEST_POINT, Kind.UNKNOWN}
            and kinds.kind(pin.reference) in INTEGRATED
            for net in nodes.nets_of[node]
            for pin in roles.on_net[net]
        )


def _unknown(sources: tuple[str, ...], path: tuple[str, ...], missing: MissingFact) -> Fed:
    nothing = (0.0,) * len(MOMENTS)
    return Fed(nothing, nothing, 0.0, sources, path, (), missing)


def _less(fed: Fed, drop: Span, through: str) -> Fed:
    path = (*fed.path, through)
    if drop == (0.0, 0.0):
        return replace(fed, path=path)
    return replace(
        fed,
        low=tuple(max(v - drop.high, 0.0) for v in fed.low),
        high=tuple(max(v - drop.low, 0.0) for v in fed.high),
        highest=max(fed.highest - drop.low, 0.0),
        path=path,
    )


def _add(upper: Fed, lower: Fed) -> Fed:
    return Fed(
        tuple(a + b for a, b in zip(upper.low, lower.low, strict=True)),
        tuple(a + b for a, b in zip(upper.high, lower.high, strict=True)),
        upper.highest + lower.highest,
        (*lower.sources, *upper.sources),
        (),
        tuple(dict.fromkeys((*lower.because, *upper.because))),
    )


def _either(one: Fed, other: Fed) -> Fed:
    """Join two feeds of one node: the higher holds it at each moment."""
    stronger, weaker = (one, other) if one.highest >= other.highest else (other, one)
    return Fed(
        tuple(map(max, one.low, other.low)),
        tuple(map(max, one.high, other.high)),
        stronger.highest,
        tuple(dict.fromkeys((*stronger.sources, *weaker.sources))),
        stronger.path,
        stronger.because,
        one.missing or other.missing,
    )


def _same(one: Fed, other: Fed) -> bool:
    return (one.low, one.high, one.highest, set(one.sources), one.missing is None) == (
        other.low,
        other.high,
        other.highest,
        set(other.sources),
        other.missing is None,
    )
