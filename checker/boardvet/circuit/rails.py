"""View: rails, and the supply and ground pins that stand on them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self

from boardvet.board import PinType
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.sources import Source, Sources
from boardvet.circuit.states import State
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Rails", "SuppliedPart", "SupplyPin", "SupplyRail", "Unrecognised"]

CONSUMING = frozenset({Role.SUPPLY, Role.REGULATOR_INPUT, Role.BACKUP_SUPPLY})
"""Roles of a pin that takes a supply."""


@dataclass(frozen=True)
class Unrecognised:
    """A part whose pins say so little that its subjects cannot be told: undetermined."""

    kind: str
    label: str
    parts: tuple[str, ...]
    nets: tuple[str, ...]
    missing: MissingFact


@dataclass(frozen=True)
class SupplyPin:
    """A supply or ground pin of an integrated circuit, as a subject."""

    pin: PinRef
    part_kind: Kind
    node: str | None
    marked_open: bool = False

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "ground pin" if self.is_ground else "supply pin"

    @property
    def is_ground(self) -> bool:
        """True for ground pins and thermal pads."""
        return self.pin.role in {Role.GROUND, Role.THERMAL}

    @property
    def label(self) -> str:
        """Part, pin number and function."""
        return self.pin.label

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.pin.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The net of the pin."""
        return (self.pin.pin.net,) if self.pin.pin.net is not None else ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[SupplyPin | Unrecognised]:
        """Return the supply and ground pins, and the parts whose pins are not told apart."""
        return circuit.view(Rails).pins


@dataclass(frozen=True)
class SupplyRail:
    """A node from which parts take their supply, as a subject.

    Parameters
    ----------
    node : str
        The node.
    name : str
        Its best net name.
    takers : tuple of PinRef
        Pins that take a supply from it.
    fed : mapping of State to Fed
        The states in which it is fed, with the spans.
    sources : tuple of Source
        Sources that stand directly on it.
    bypass : tuple of str
        References of the fitted capacitors from it to ground.
    """

    node: str
    name: str
    takers: tuple[PinRef, ...]
    fed: Mapping[State, Fed] = field(compare=False)
    sources: tuple[Source, ...]
    bypass: tuple[str, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "rail"

    @property
    def label(self) -> str:
        """Name of the rail."""
        return self.name

    @property
    def parts(self) -> tuple[str, ...]:
        """Nothing: a rail is a net."""
        return ()

    @property
    def nets(self) -> tuple[str, ...]:
        """The node."""
        return (self.node,)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[SupplyRail]:
        """Return the rails of the board, those with most takers first."""
        return circuit.view(Rails).all


@dataclass(frozen=True)
class SuppliedPart:
    """A part and a node that supplies it, as a subject: its pins on that node count once."""

    reference: str
    part_kind: Kind
    node: str
    rail: str
    pins: tuple[PinRef, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "supply"

    @property
    def label(self) -> str:
        """Part and rail."""
        return f"{self.reference} on {self.rail}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The node."""
        return (self.node,)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[SuppliedPart]:
        """Return each part with each node that supplies it."""
        found: list[SuppliedPart] = []
        kinds = circuit.view(Kinds)
        for rail in circuit.view(Rails).all:
            by_part: dict[str, list[PinRef]] = {}
            for pin in rail.takers:
                by_part.setdefault(pin.reference, []).append(pin)
            found.extend(
                cls(reference, kinds.kind(reference), rail.node, rail.name, tuple(pins))
                for reference, pins in by_part.items()
            )
        return found


@dataclass(frozen=True)
class Rails:
    """The rails of the board and all supply and ground pins."""

    all: tuple[SupplyRail, ...]
    pins: tuple[SupplyPin | Unrecognised, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Collect the rails from the pins that take a supply."""
        pins = tuple(_pins(circuit))
        takers: dict[str, list[PinRef]] = {}
        for pin in pins:
            if isinstance(pin, SupplyPin) and pin.node and pin.pin.role in CONSUMING:
                takers.setdefault(pin.node, []).append(pin.pin)
        grounds = circuit.view(Grounds)
        rails = [
            _rail(circuit, node, tuple(found))
            for node, found in takers.items()
            if node not in grounds
        ]
        rails.sort(key=lambda rail: -len(rail.takers))
        return cls(tuple(rails), pins)

    def rail_at(self, node: str) -> SupplyRail | None:
        """Return the rail on a node, None if nothing takes a supply from it."""
        return next((rail for rail in self.all if rail.node == node), None)


def node_label(circuit: Circuit, node: str) -> str:
    """Return how a person calls a node: its best net name, without the sheet's path if unique."""
    name = circuit.board.nets[node].name
    return name.lstrip("/") or node


def _rail(circuit: Circuit, node: str, takers: tuple[PinRef, ...]) -> SupplyRail:
    grounds = circuit.view(Grounds)
    bypass = tuple(
        element.reference
        for element in circuit.view(Elements).at(node, ElementKind.CAPACITOR)
        if element.other(node) in grounds
    )
    return SupplyRail(
        node=node,
        name=node_label(circuit, node),
        takers=takers,
        fed=dict(circuit.view(Feeding).states_of(node)),
        sources=tuple(s for s in circuit.view(Sources).all if s.node == node),
        bypass=bypass,
    )


def _pins(circuit: Circuit) -> Iterator[SupplyPin | Unrecognised]:
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    wanted = CONSUMING | {Role.GROUND, Role.THERMAL}
    for reference in kinds.fitted_of(*INTEGRATED):
        pins = roles.pins(reference)
        found = [pin for pin in pins if pin.role in wanted]
        if not found and len(pins) >= 3:
            missing = MissingFact(
                reference,
                "pins",
                f"no supply or ground pin of {reference} is known",
                f"parts: {{{reference}: {{pins: {{1: supply, 2: ground}}}}}}   # its true numbers",
            )
            nets = tuple(dict.fromkeys(p.pin.net for p in pins if p.pin.net is not None))
            yield Unrecognised("supply pin", reference, (reference,), nets[:1], missing)
        for pin in found:
            yield SupplyPin(
                pin,
                kinds.kind(reference),
                nodes.of_net(pin.pin.net),
                pin.pin.marked_open or pin.pin.type is PinType.NOT_CONNECTED,
            )
