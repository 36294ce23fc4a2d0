"""View: what parts a rechargeable cell from the board when it is empty, or when there is a short.

A protection IC does both. A fuse in the lead of the cell stops a short. A lock-out is a
supervisor that opens a channel in the supply, or that disables regulators; it only helps if
nothing else goes on drawing from the cell.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cell
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding, FeedingIn
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Protection", "Protections", "Remaining"]

_FUSE = Kind.FUSE


class Protection(NamedTuple):
    """What parts a cell from its load.

    Parameters
    ----------
    protectors : tuple of str
        Protection ICs at the cell.
    fuses : tuple of str
        Fuses in its lead.
    lockouts : tuple of str
        Supervisors that open the supply when it is low.
    beside : tuple of str
        What draws from the cell all the same when they have done so.
    """

    protectors: tuple[str, ...]
    fuses: tuple[str, ...]
    lockouts: tuple[str, ...]
    beside: tuple[str, ...]

    @property
    def against_emptying(self) -> bool:
        """True where something parts the cell from all of its load in time."""
        return bool(self.protectors or (self.lockouts and not self.beside))

    @property
    def against_short(self) -> bool:
        """True where something ends a short circuit."""
        return bool(self.protectors or self.fuses)


class _Lock(NamedTuple):
    """Supervisors that open the supply, what they open, and the enable pins that they hold."""

    supervisors: tuple[str, ...]
    opened: frozenset[str]
    held: frozenset[str]


class Remaining(NamedTuple):
    """What goes on drawing from a cell when the board has stopped.

    Parameters
    ----------
    current : float
        From the cell. [A]
    timeline : Timeline
        The mode in which it is most.
    unknown : tuple of str
        Parts that are not counted, since nobody knows what they draw at rest.
    """

    current: float
    timeline: Timeline
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class Protections:
    """Answers what protects the cells of one board."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; cells are looked at when asked for."""
        return cls(circuit)

    def of_cell(self, cell: Cell) -> Protection:
        """Return what protects a cell; raises `MissingFact` where modes do not say their share."""
        lockouts: list[str] = []
        beside: dict[str, None] = {}
        for timeline in self._on_cell():
            plant = self.circuit.view(Plants).in_state(timeline.state)
            lock = self._lock(plant)
            lockouts += lock.supervisors
            if lock.supervisors:
                beside.update(dict.fromkeys(self._beside(cell, plant, lock)))
        return Protection(
            self.protectors(cell),
            tuple(dict.fromkeys(self._fuses(cell))),
            tuple(dict.fromkeys(lockouts)),
            tuple(beside),
        )

    def remaining(self, cell: Cell, used: float) -> Remaining | None:
        """Return what a cell still gives when nothing works any more, None on no mode of its own.

        Parameters
        ----------
        cell : Cell
            The cell.
        used : float
            Share of its charge that is used.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        """
        found: list[Remaining] = []
        for timeline in self._on_cell():
            plant = self.circuit.view(Plants).in_state(timeline.state)
            unknown = [c.reference for c in plant.consumers if c.rest is None]
            stated = tuple((ref, timeline.draws[ref]) for ref in unknown if ref in timeline.draws)
            resting = Meeting(frozenset(), stated, 1.0, math.inf)
            solved = self.circuit.view(Running).at(timeline.state, resting, (used,))
            current = max(solved.cell_current(cell.reference)[0], 0.0)
            missing = tuple(ref for ref in unknown if ref not in timeline.draws)
            found.append(Remaining(current, timeline, missing))
        return max(found, key=lambda each: each.current, default=None)

    def _on_cell(self) -> Iterator[Timeline]:
        return (each for each in self.circuit.view(Timelines).all if each.on_cell)

    def protectors(self, cell: Cell) -> tuple[str, ...]:
        """Return the protection ICs with a pin at a pole of the cell, or behind one resistor."""
        return tuple(self._protectors(cell))

    def _protectors(self, cell: Cell) -> Iterator[str]:
        nodes, elements = self.circuit.view(Nodes), self.circuit.view(Elements)
        grounds = self.circuit.view(Grounds)
        poles = {n for n in (cell.plus, cell.minus) if n is not None and n not in grounds}
        near = poles | {
            element.other(pole)
            for pole in poles
            for element in elements.at(pole, ElementKind.RESISTOR)
        }
        for reference in self.circuit.view(Kinds).fitted_of(Kind.PROTECTOR):
            pins = self.circuit.board.parts[reference].pins
            if any(nodes.of_net(pin.net) in near for pin in pins if pin.net is not None):
                yield reference

    def _fuses(self, cell: Cell) -> Iterator[str]:
        """Yield the fuses that all of the current of a cell flows through."""
        kinds, elements = self.circuit.view(Kinds), self.circuit.view(Elements)
        ways = [way for timeline in self._on_cell() for way in self._ways(cell, timeline)]
        if ways:
            common = set(ways[0]).intersection(*ways)
            yield from (each for each in ways[0] if each in common and kinds.kind(each) is _FUSE)
            return
        for pole in (cell.plus, cell.minus):
            if pole is not None and pole not in self.circuit.view(Grounds):
                yield from (each.reference for each in elements.at(pole, ElementKind.FUSE))

    def _ways(self, cell: Cell, timeline: Timeline) -> Iterator[tuple[str, ...]]:
        """Yield the parts between a cell and each part and regulator that it feeds."""
        plant = self.circuit.view(Plants).in_state(timeline.state)
        fed = self.circuit.view(Feeding).at(timeline.state)
        nodes = (*(c.node for c in plant.consumers), *(c.source for c in plant.converting))
        for node in nodes:
            if cell.reference in fed[node].sources:
                yield fed[node].path

    def _lock(self, plant: Plant) -> _Lock:
        """Return the supervisors that open the supply, and what they open."""
        working: list[str] = []
        opened: set[str] = set()
        held: set[str] = set()
        for reference in self.circuit.view(Kinds).fitted_of(Kind.SUPERVISOR):
            driven = self._driven_by(reference)
            channels = {
                channel.reference
                for channel in self.circuit.view(Elements).of_kind(ElementKind.CHANNEL)
                if channel.control in driven and _in_supply(channel, plant)
            }
            enables = {
                converter.reference: node
                for converter in self.circuit.view(Converters).all
                if (node := self._enable(converter.reference)) in driven and node is not None
            }
            if channels or enables:
                working.append(reference)
                opened |= channels | set(enables)
                held |= set(enables.values())
        return _Lock(tuple(working), frozenset(opened), frozenset(held))

    def _driven_by(self, supervisor: str) -> frozenset[str]:
        """Return the nodes at a supervisor's pins that are not of its supply."""
        nodes, roles = self.circuit.view(Nodes), self.circuit.view(PinRoles)
        power = {Role.SUPPLY, Role.GROUND, Role.THERMAL}
        pins = roles.pins(supervisor, *(set(Role) - power))
        return frozenset(nodes.node_of[p.pin.net] for p in pins if p.pin.net is not None)

    def _enable(self, converter: str) -> str | None:
        net = self.circuit.view(PinRoles).net_of(converter, Role.ENABLE)
        return self.circuit.view(Nodes).of_net(net)

    def _beside(self, cell: Cell, plant: Plant, lock: _Lock) -> Iterator[str]:
        """Yield what draws from a cell with nothing opened on the way."""
        fed = self.circuit.view(Feeding).at(plant.state)
        free = {
            node
            for node, one in fed.items()
            if cell.reference in one.sources and not lock.opened & set(one.path)
        }
        for consumer in plant.consumers:
            if consumer.node in free and consumer.reference not in lock.supervisors:
                yield consumer.reference
        for each in plant.converting:
            if each.source in free and each.reference not in lock.opened:
                yield each.reference
        for node in free:
            yield from self._to_ground(node, fed, lock)

    def _to_ground(self, node: str, fed: FeedingIn, lock: _Lock) -> Iterator[str]:
        """Yield the resistors at a node that lead to ground by way of nothing but resistors.

        The enable pins that a supervisor holds are at ground, too.
        """
        elements, grounds = self.circuit.view(Elements), self.circuit.view(Grounds)
        for first in elements.at(node, ElementKind.RESISTOR) if node not in grounds else ():
            edge, seen = [first.other(node)], {node}
            while edge:
                end = edge.pop()
                if end in grounds or end in lock.held:
                    yield first.reference
                    break
                if end not in fed and end not in seen:
                    seen.add(end)
                    edge += [e.other(end) for e in elements.at(end, ElementKind.RESISTOR)]


def _in_supply(channel: Element, plant: Plant) -> bool:
    return any(channel.reference in path for path in plant.paths.values())
