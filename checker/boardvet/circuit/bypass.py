"""View: which parts ask for a bypass capacitor on a rail, and which capacitors serve it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Self

from boardvet.circuit.capacitors import Capacitor, Capacitors, Technology
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes, terminals
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.circuit.places import Field, Places
from boardvet.circuit.rails import RETURNING, Rails, SupplyRail, says_supply
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["SMALLEST", "Bypass", "PlacedBypass", "RailBypass", "asks_for_bypass"]

SMALLEST = 10e-9
"""Least capacitance that counts as a bypass capacitor: common practice, no source. [F]"""

_OWN_RULE = frozenset({Kind.REGULATOR, Kind.CHARGER})
"""What their makers ask for is judged by a rule of its own."""

_SMALL = frozenset(
    {
        Kind.LOGIC,
        Kind.ANALOGUE,
        Kind.SENSOR,
        Kind.MEMORY,
        Kind.SUPERVISOR,
        Kind.PROTECTOR,
        Kind.CLOCK,
        Kind.INTEGRATED_CIRCUIT,
    }
)
_SMALL_PINS = 8
"""Parts of these kinds with up to so many pins may share a capacitor with a neighbour."""

_DISPLAY_ON_A_BOARD = 8
"""A display with up to so many pins is a module with its own capacitors (common practice)."""


@dataclass(frozen=True)
class RailBypass:
    """What one rail asks for and has.

    Parameters
    ----------
    asking : mapping of str to tuple of PinRef
        By part: its supply pins on the rail that ask for a capacitor.
    small : frozenset of str
        Those of the parts that may share one with a neighbour.
    heavy : tuple of str
        Controllers, radios and regulators on the rail that have no capacitors inside.
    capacitors : tuple of Capacitor
        Fitted, from the rail to a ground.
    left_off : tuple of str
        Capacitors from the rail to a ground that are not fitted.
    ground : str or None
        The ground they return to.
    alone : bool
        True where one part, test points aside, is all there is on the rail: an open pin.
    """

    asking: Mapping[str, tuple[PinRef, ...]]
    small: frozenset[str]
    heavy: tuple[str, ...]
    capacitors: tuple[Capacitor, ...]
    left_off: tuple[str, ...]
    ground: str | None
    alone: bool

    @property
    def pins(self) -> tuple[PinRef, ...]:
        """Every pin that asks."""
        return tuple(pin for pins in self.asking.values() for pin in pins)

    def counted(self, smallest: float = SMALLEST) -> tuple[Capacitor, ...]:
        """Return the ceramic capacitors known to be of `smallest` farads or more."""
        return tuple(
            c
            for c in self.capacitors
            if c.ceramic and c.value is not None and c.value.value >= smallest * (1 - 1e-9)
        )

    @cached_property
    def serving(self) -> tuple[Capacitor, ...]:
        """The capacitors that count, of `SMALLEST` or more."""
        return self.counted()

    @cached_property
    def scarce(self) -> bool:
        """True where fewer capacitors count than pins ask."""
        return len(self.serving) < len(self.pins)

    def doubtful(self) -> tuple[Capacitor, ...]:
        """Return the capacitors of which value or making is not known."""
        return tuple(
            c
            for c in self.capacitors
            if (c.ceramic and c.value is None) or c.technology is Technology.UNKNOWN
        )


@dataclass(frozen=True)
class Bypass:
    """What each rail asks for and has, by node."""

    of_rail: Mapping[str, RailBypass]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Look at every rail once."""
        given = _given(circuit)
        left_off = _left_off(circuit)
        return cls(
            {
                rail.node: _rail(circuit, rail, given.get(rail.node, ()), left_off)
                for rail in circuit.view(Rails).all
            }
        )


@dataclass(frozen=True)
class PlacedBypass:
    """Where the capacitors of each rail sit.

    A rail that has none at all is in none of the mappings.

    Parameters
    ----------
    of_rail : mapping of node to Field
        Those that count and are placed.
    unplaced : mapping of node to str
        By rail: one that counts and is not in the placement file.
    """

    of_rail: Mapping[str, Field]
    unplaced: Mapping[str, str]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Sort the capacitors of each rail by place."""
        places = circuit.view(Places)
        of_rail: dict[str, Field] = {}
        unplaced: dict[str, str] = {}
        for node, rail in circuit.view(Bypass).of_rail.items():
            references = [capacitor.reference for capacitor in rail.serving]
            placed = [ref for ref in references if ref in places.of_part]
            if placed:
                of_rail[node] = places.field(placed)
            if len(placed) < len(references):
                unplaced[node] = next(ref for ref in references if ref not in places.of_part)
        return cls(of_rail, unplaced)


def asks_for_bypass(circuit: Circuit, pin: PinRef) -> bool:
    """Tell whether a supply pin asks for a bypass capacitor that this board is to bring."""
    kind = circuit.view(Kinds).kind(pin.reference)
    if pin.role is not Role.SUPPLY or kind in _OWN_RULE or not says_supply(pin):
        return False
    return kind in INTEGRATED and not _has_inside(circuit, pin.reference, kind)


def _has_inside(circuit: Circuit, reference: str, kind: Kind) -> bool:
    known = circuit.known(reference, "bypass_inside")
    if known is not None:
        return bool(known.value)
    few = len({p.number for p in circuit.part(reference).pins}) <= _DISPLAY_ON_A_BOARD
    return kind is Kind.MODULE or (kind is Kind.DISPLAY and few)


def _given(circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """Return the regulators by the node of their output."""
    found: dict[str, tuple[str, ...]] = {}
    for converter in circuit.view(Converters).all:
        for node in converter.outputs:
            if not converter.charger:
                found[node] = (*found.get(node, ()), converter.reference)
    return found


def _rail(
    circuit: Circuit,
    rail: SupplyRail,
    regulators: tuple[str, ...],
    left_off: Mapping[str, list[tuple[str, str]]],
) -> RailBypass:
    kinds = circuit.view(Kinds)
    asking: dict[str, tuple[PinRef, ...]] = {}
    for pin in rail.takers:
        if asks_for_bypass(circuit, pin):
            asking[pin.reference] = (*asking.get(pin.reference, ()), pin)
    returns = _returns(circuit, rail)
    elements = circuit.view(Elements).at(rail.node, ElementKind.CAPACITOR)
    of_part = circuit.view(Capacitors).of_part
    takers = dict.fromkeys(pin.reference for pin in rail.takers)
    heavy = [
        ref
        for ref in takers
        if kinds.kind(ref) is Kind.REGULATOR
        or (ref in asking and kinds.kind(ref) in {Kind.CONTROLLER, Kind.MODULE})
    ]
    return RailBypass(
        asking,
        frozenset(ref for ref in asking if _is_small(circuit, ref)),
        tuple(dict.fromkeys((*heavy, *regulators))),
        tuple(of_part[e.reference] for e in elements if e.other(rail.node) in returns),
        tuple(ref for ref, other in left_off.get(rail.node, ()) if other in returns),
        next(iter(returns), None),
        _is_alone(circuit, rail.node),
    )


def _is_alone(circuit: Circuit, node: str) -> bool:
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    others = {pin.reference for net in nodes.nets_of[node] for pin in roles.on_net[net]}
    return len([ref for ref in others if kinds.kind(ref) is not Kind.TEST_POINT]) < 2


def _is_small(circuit: Circuit, reference: str) -> bool:
    few = len({p.number for p in circuit.part(reference).pins}) <= _SMALL_PINS
    return few and circuit.view(Kinds).kind(reference) in _SMALL


def _returns(circuit: Circuit, rail: SupplyRail) -> dict[str, None]:
    """Return the grounds of the rail's parts, then those of the board."""
    roles, nodes = circuit.view(PinRoles), circuit.view(Nodes)
    own = [
        nodes.of_net(pin.pin.net)
        for ref in dict.fromkeys(pin.reference for pin in rail.takers)
        for pin in roles.pins(ref, *RETURNING)
    ]
    found = dict.fromkeys(node for node in own if node is not None and node != rail.node)
    found.update(dict.fromkeys(n for n in circuit.view(Grounds).nodes if n != rail.node))
    return found


def _left_off(circuit: Circuit) -> dict[str, list[tuple[str, str]]]:
    """Return the capacitors that are not fitted, by each of their nodes, with the other one."""
    found: dict[str, list[tuple[str, str]]] = {}
    for reference, one, other in _unfitted(circuit):
        found.setdefault(one, []).append((reference, other))
        found.setdefault(other, []).append((reference, one))
    return found


def _unfitted(circuit: Circuit) -> Iterator[tuple[str, str, str]]:
    kinds, nodes = circuit.view(Kinds), circuit.view(Nodes)
    for reference, part in circuit.board.parts.items():
        if reference in kinds.fitted or kinds.kind(reference) is not Kind.CAPACITOR:
            continue
        one, other = (nodes.of_net(net) for net in terminals(part) or (None, None))
        if one is not None and other is not None and one != other:
            yield reference, one, other
