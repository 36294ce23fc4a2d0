"""View: rails, and the supply and ground pins that stand on them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self

from boardvet.board import PinType
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import pin_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.sources import Source, Sources
from boardvet.circuit.states import State
from boardvet.circuit.subjects import OfOneNode
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Rails", "SuppliedPart", "SupplyPin", "SupplyRail", "Unrecognised"]

CONSUMING = frozenset({Role.SUPPLY, Role.REGULATOR_INPUT, Role.BACKUP_SUPPLY})
"""Roles of a pin that takes a supply."""

_SUPPLYING = re.compile(r"^[A-Z]{0,3}V(?!REF)|VCC|VDD|VBAT|BATT?\b|PWR|POWER|\dV|^IN$|SUPPLY|^\+")

RETURNING = frozenset({Role.GROUND, Role.THERMAL})
"""Roles of a pin by which the current returns."""


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
    """A supply or ground pin of an integrated circuit, as a subject.

    Parameters
    ----------
    pin : PinRef
        The pin.
    part_kind : Kind
        Kind of its part.
    node : str or None
        The node it is on.
    marked_open : bool
        True where the drawing marks it as left open.
    alone : bool
        True where no fitted part but its own, test points aside, stands on its node.
    company : tuple of PinRef
        The pins of the part for the same pole that do lead somewhere.
    first_alone : SupplyPin or None
        The first pin of the part that is alone, where this is a further one.
    part_alone : bool
        True where no pin of the part leads anywhere.
    """

    pin: PinRef
    part_kind: Kind
    node: str | None
    marked_open: bool = False
    alone: bool = False
    company: tuple[PinRef, ...] = ()
    first_alone: SupplyPin | None = field(default=None, compare=False, repr=False)
    part_alone: bool = False

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "ground pin" if self.is_ground else "supply pin"

    @property
    def is_ground(self) -> bool:
        """True for ground pins and thermal pads."""
        return self.pin.role in RETURNING

    @property
    def says_so(self) -> bool:
        """True where the pin's name, not only its type, says supply or ground, or it has none.

        Libraries call outputs of converters inside (DCC) and even ports a supply input.
        """
        return self.is_ground or says_supply(self.pin)

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
class SupplyRail(OfOneNode):
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

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[SupplyRail | Unrecognised]:
        """Return the rails, those with most takers first, and the parts whose rail is not told."""
        rails = circuit.view(Rails)
        return (*rails.all, *(pin for pin in rails.pins if isinstance(pin, Unrecognised)))


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


def says_supply(pin: PinRef) -> bool:
    """Tell whether the name of a supply pin agrees with its role, or it has none."""
    name = pin_name(pin.pin.function)
    return not name or bool(_SUPPLYING.search(name))


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
    kinds, roles = circuit.view(Kinds), circuit.view(PinRoles)
    wanted = CONSUMING | RETURNING
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
        yield from _supply_pins(circuit, reference, found)


def _supply_pins(circuit: Circuit, reference: str, found: list[PinRef]) -> Iterator[SupplyPin]:
    """Make subjects of the supply and ground pins of one part."""
    kind, nodes = circuit.view(Kinds).kind(reference), circuit.view(Nodes)
    alone = {pin.pin.number: _is_alone(circuit, pin) for pin in found}
    part_alone = all(alone.values()) and all(
        _is_alone(circuit, pin) for pin in circuit.view(PinRoles).pins(reference)
    )
    first: SupplyPin | None = None
    for pin in found:
        subject = SupplyPin(
            pin,
            kind,
            nodes.of_net(pin.pin.net),
            pin.pin.marked_open or pin.pin.type is PinType.NOT_CONNECTED,
            alone[pin.pin.number],
            tuple(
                other
                for other in found
                if (other.role in RETURNING) == (pin.role in RETURNING)
                and not alone[other.pin.number]
            ),
            first,
            part_alone,
        )
        if subject.alone and first is None:
            first = subject
        yield subject


def _is_alone(circuit: Circuit, pin: PinRef) -> bool:
    """Tell whether nothing fitted but the part itself, test points aside, is on a pin's node.

    A supply that the part makes itself feeds the pin, and is no loneliness.
    """
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    node = nodes.of_net(pin.pin.net)
    return node is None or not any(
        (other.role is Role.SUPPLY_OUTPUT and other.pin.number != pin.pin.number)
        or (
            other.reference != pin.reference and kinds.kind(other.reference) is not Kind.TEST_POINT
        )
        for net in nodes.nets_of[node]
        for other in roles.on_net[net]
    )
