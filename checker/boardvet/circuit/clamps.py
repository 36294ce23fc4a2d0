"""View: clamps, inputs of parts without supply that resistors on a cell hold up.

A CMOS input has a diode to its supply. While the supply stands at 0 V the input clamps a diode's
drop above ground, and what the resistor lets through flows into the part.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Feeding, FeedingIn
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.states import State
from boardvet.circuit.values import missing_value, resistance
from boardvet.known import Known
from boardvet.physics.junction import SILICON_DIODE, junction_from_points
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Clamped", "Clamps"]

_CLAMPING = frozenset({Role.INPUT, Role.BIDIRECTIONAL, Role.RESET})
_SUPPLIES = (Role.SUPPLY, Role.REGULATOR_INPUT)
_POWER = frozenset({Kind.REGULATOR, Kind.CHARGER})
_FARTHEST = 30
"""Nodes behind a resistor beyond which no further one is looked at."""


class Clamped(NamedTuple):
    """A resistor on the cell, its two nodes, and the part without supply behind it."""

    resistor: str
    start: str
    end: str
    reference: str


@dataclass(frozen=True)
class Clamps:
    """Finds and solves such inputs on one board."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; states are looked at when asked for."""
        return cls(circuit)

    def in_state(self, state: State, cells: Collection[str]) -> Iterator[Clamped]:
        """Yield each resistor on a rail of the cells alone, and each part that clamps behind it.

        Parts whose inputs are stated to stand a voltage without supply do not clamp.
        """
        fed = self.circuit.view(Feeding).at(state)
        dead = self._without_supply(fed)
        resistors = self.circuit.view(Elements).of_kind(ElementKind.RESISTOR)
        for element in resistors if dead else ():
            for start, end in ((element.a, element.b), (element.b, element.a)):
                if start not in fed or end in fed or end in self.circuit.view(Grounds):
                    continue
                if not set(fed[start].sources) <= set(cells):
                    continue
                parts = {pin.reference for node in self._behind(fed, end) for pin in dead[node]}
                for reference in sorted(parts):
                    yield Clamped(element.reference, start, end, reference)

    def current(self, state: State, start: str, end: str, reference: str) -> Known[float]:
        """Return what flows from the cell into a part without supply, in amperes.

        Parameters
        ----------
        state : State
            In which the part has no supply.
        start, end : str
            Nodes of the resistor, the first on the cell.
        reference : str
            The part.

        Raises
        ------
        MissingFact
            Where a resistance or a voltage is not known.
        """
        from boardvet.physics.network import Junctions, Network, Resistors, Sources, solve

        fed = self.circuit.view(Feeding).at(state)
        fed[start].need()
        inside = self._behind(fed, end)
        numbers = {node: place for place, node in enumerate(inside, start=1)}
        rows, held = self._network(fed, numbers)
        pins = [
            numbers[node]
            for node in inside
            if any(pin.reference == reference for pin in self._without_supply(fed)[node])
        ]
        junction = junction_from_points((), SILICON_DIODE)
        count = len(pins)
        network = Network(
            nodes=1 + len(numbers) + len(held),
            resistors=Resistors(*zip(*rows, strict=True)),
            junctions=Junctions(
                pins,
                [0] * count,
                [junction.saturation_current] * count,
                [junction.emission] * count,
                [junction.series_resistance] * count,
            ),
            sources=Sources(
                list(held.values()),
                [0] * len(held),
                [[fed[node].high[0] for node in held]],
                [[0.0] * len(held)],
            ),
        )
        into = float(solve(network).require().junction_currents[0].sum())
        return Known(into, "A", "computed: resistors and an input at 0 V supply, solved")

    def _network(
        self, fed: FeedingIn, numbers: dict[str, int]
    ) -> tuple[list[tuple[int, int, float]], dict[str, int]]:
        """Return the resistors between some nodes and the fed nodes and ground around them."""
        elements, grounds = self.circuit.view(Elements), self.circuit.view(Grounds)
        held: dict[str, int] = {}
        rows: dict[str, tuple[int, int, float]] = {}
        for node in numbers:
            for element in elements.at(node, ElementKind.RESISTOR):
                ohms = resistance(self.circuit, element.reference)
                if ohms is None:
                    raise missing_value(element.reference)
                other = element.other(node)
                if other in grounds:
                    beyond = 0
                elif other in fed:
                    beyond = held.setdefault(other, len(numbers) + len(held) + 1)
                elif other in numbers:
                    beyond = numbers[other]
                else:
                    continue
                rows[f"{element.reference}{element.name}"] = (numbers[node], beyond, ohms.value)
        return list(rows.values()), held

    def _behind(self, fed: FeedingIn, node: str) -> tuple[str, ...]:
        """Return the nodes that resistors join to a node, fed nodes and ground left out."""
        elements, grounds = self.circuit.view(Elements), self.circuit.view(Grounds)
        found = {node: None}
        queue = [node]
        while queue and len(found) < _FARTHEST:
            here = queue.pop(0)
            for element in elements.at(here, ElementKind.RESISTOR):
                other = element.other(here)
                if other not in found and other not in fed and other not in grounds:
                    found[other] = None
                    queue.append(other)
        return tuple(found)

    def _without_supply(self, fed: FeedingIn) -> _Dead:
        """Return the inputs of parts all of whose supplies are without source, by node."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        nodes, feeding = self.circuit.view(Nodes), self.circuit.view(Feeding)
        dead = _Dead()
        for reference in kinds.fitted_of(*(INTEGRATED - _POWER)):
            supplies = {
                nodes.node_of[pin.pin.net]
                for pin in roles.pins(reference, *_SUPPLIES)
                if pin.pin.net is not None
            }
            if not supplies or supplies & fed.keys() or not any(map(feeding.ever, supplies)):
                continue
            safe = self.circuit.known(reference, "fail_safe")
            if safe is not None and safe.value:
                continue
            for pin in roles.pins(reference, *_CLAMPING):
                if pin.pin.net is not None:
                    dead.setdefault(nodes.node_of[pin.pin.net], []).append(pin)
        return dead


class _Dead(dict[str, list[PinRef]]):
    """Inputs without supply by node; none at nodes that are not there."""

    def __missing__(self, node: str) -> list[PinRef]:
        return []
