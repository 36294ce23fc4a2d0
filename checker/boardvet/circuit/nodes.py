"""View: nodes, that is nets taken together where nothing but metal joins them.

A fitted 0 Ω resistor, a part that joins nets, and a jumper that is closed as drawn make one
node of two nets. Everything electrical is said of nodes; a node is named by its best net.

A supply and a ground are never made one node, even where a part joins them: that join is kept as
a *short*, for one rule to report, and everything else is said of the board without it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import Net, Part
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_ground_name, is_supply_name, plain_net_name
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.values import resistance
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Join", "Nodes", "Short", "terminals"]

JOIN_LIMIT = 0.1
"""Up to here a resistor is a wire: jumpers are below 50 mΩ (chip resistor sheets). [ohm]"""


@dataclass(frozen=True, slots=True)
class Join:
    """A part that makes one node of two nets."""

    reference: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Short:
    """Joins that lead from a supply net to a ground net.

    Parameters
    ----------
    joins : tuple of Join
        The way, from the supply to the ground; the nets of each are in this order.
    """

    joins: tuple[Join, ...]

    @property
    def supply(self) -> str:
        """The supply net."""
        return self.joins[0].a

    @property
    def ground(self) -> str:
        """The ground net."""
        return self.joins[-1].b


@dataclass(frozen=True)
class Nodes:
    """Which node each net belongs to.

    Parameters
    ----------
    node_of : mapping of net key to node
        A node is the key of its best-named net.
    nets_of : mapping of node to tuple of net keys
        Best name first, then the order of the board.
    joins : tuple of Join
        What joined them.
    shorts : tuple of Short
        What would have joined a supply to a ground.
    """

    node_of: Mapping[str, str]
    nets_of: Mapping[str, tuple[str, ...]]
    joins: tuple[Join, ...]
    shorts: tuple[Short, ...] = ()

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Join the nets of the board."""
        poles = _poles(circuit)
        parent = {key: key for key in circuit.board.nets}
        pole_of = dict(poles)
        joins: list[Join] = []
        refused: list[Join] = []
        for join in _joins(circuit):
            one, other = _root(parent, join.a), _root(parent, join.b)
            if {pole_of.get(one), pole_of.get(other)} == {_SUPPLY, _GROUND}:
                refused.append(join)
                continue
            joins.append(join)
            parent[one] = other
            pole = pole_of.get(other) or pole_of.get(one)
            if pole is not None:
                pole_of[other] = pole
        groups: dict[str, list[str]] = {}
        for key in circuit.board.nets:
            groups.setdefault(_root(parent, key), []).append(key)
        nets_of = {}
        for members in groups.values():
            ordered = sorted(members, key=lambda key: _plainness(circuit.board.nets[key]))
            nets_of[ordered[0]] = tuple(ordered)
        node_of = {key: node for node, members in nets_of.items() for key in members}
        shorts = tuple(_short(poles, joins, join) for join in refused)
        return cls(node_of, nets_of, tuple(joins), shorts)

    def of_net(self, net: str | None) -> str | None:
        """Return the node of a net, None for an open pin."""
        return None if net is None else self.node_of[net]


def terminals(part: Part) -> tuple[str | None, str | None] | None:
    """Return the nets of a two-terminal part in the order of its pin numbers, None if it is not.

    Several pads of one terminal may stand on one net.
    """
    numbers = {pin.number: pin.net for pin in part.pins}
    if len(numbers) == 2:
        first, second = sorted(numbers)
        return numbers[first], numbers[second]
    nets = list(dict.fromkeys(net for net in numbers.values() if net is not None))
    if len(numbers) > 2 and len(nets) == 2:
        return nets[0], nets[1]
    return None


_SUPPLY, _GROUND = "supply", "ground"
_TAKING_OR_GIVING = frozenset(
    {Role.SUPPLY, Role.REGULATOR_INPUT, Role.SUPPLY_OUTPUT, Role.BATTERY, Role.POSITIVE}
)


def _poles(circuit: Circuit) -> dict[str, str]:
    """Tell which nets are a supply and which a ground, by name, else by the pins on them."""
    kinds, roles = circuit.view(Kinds), circuit.view(PinRoles)
    poles: dict[str, str] = {}
    for key, net in circuit.board.nets.items():
        name = plain_net_name(net.name) if net.named else ""
        powered = {
            pin.role
            for pin in roles.on_net[key]
            if kinds.kind(pin.reference) in INTEGRATED or kinds.kind(pin.reference) is Kind.CELL
        }
        if name and is_ground_name(name):
            poles[key] = _GROUND
        elif (name and is_supply_name(name)) or powered & _TAKING_OR_GIVING:
            poles[key] = _SUPPLY
        elif Role.GROUND in powered:
            poles[key] = _GROUND
    return poles


def _short(poles: Mapping[str, str], joins: list[Join], refused: Join) -> Short:
    """Find the way from the nearest supply net through a refused join to the nearest ground."""
    at: dict[str, list[Join]] = {}
    for join in joins:
        at.setdefault(join.a, []).append(join)
        at.setdefault(join.b, []).append(join)
    sides = {
        poles[key]: (net, way)
        for net in (refused.a, refused.b)
        for key, way in (_nearest(poles, at, net),)
    }
    (near, up), (far, down) = sides[_SUPPLY], sides[_GROUND]
    upward = tuple(Join(j.reference, j.b, j.a) for j in reversed(up))
    return Short((*upward, Join(refused.reference, near, far), *down))


def _nearest(
    poles: Mapping[str, str], at: Mapping[str, list[Join]], net: str
) -> tuple[str, tuple[Join, ...]]:
    """Return the nearest net with a pole, along joins, and the way there."""
    ways: dict[str, tuple[Join, ...]] = {net: ()}
    for here in (queue := [net]):
        if here in poles:
            return here, ways[here]
        for join in at.get(here, ()):
            other = join.b if join.a == here else join.a
            if other not in ways:
                ways[other] = (*ways[here], Join(join.reference, here, other))
                queue.append(other)
    raise KeyError(net)


def _joins(circuit: Circuit) -> Iterator[Join]:
    kinds = circuit.view(Kinds)
    joining = (Kind.RESISTOR, Kind.JOINED_GROUND, Kind.JUMPER)
    for ref in kinds.fitted_of(*joining):
        part = circuit.board.parts[ref]
        kind = kinds.kind(ref)
        if kind is Kind.RESISTOR:
            ohms = resistance(circuit, ref)
            if ohms is None or ohms.value > JOIN_LIMIT:
                continue
        if kind is Kind.JUMPER and not _closed_as_drawn(part):
            continue
        nets = list(dict.fromkeys(pin.net for pin in part.pins if pin.net is not None))
        for other in nets[1:] if kind is not Kind.JUMPER else nets[1:2]:
            yield Join(ref, nets[0], other)


def _closed_as_drawn(part: Part) -> bool:
    text = f"{part.name} {part.value} {part.footprint}".lower()
    return "bridged" in text or "closed" in text or "nc_" in text


def _root(parent: dict[str, str], key: str) -> str:
    while parent[key] != key:
        parent[key] = parent[parent[key]]
        key = parent[key]
    return key


def _plainness(net: Net) -> tuple[bool, int, int]:
    return (not net.named, net.name.count("/"), -len(net.nodes))
