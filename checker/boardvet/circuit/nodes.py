"""View: nodes, that is nets taken together where nothing but metal joins them.

A fitted 0 Ω resistor, a part that joins nets, and a jumper that is closed as drawn make one
node of two nets. Everything electrical is said of nodes; a node is named by its best net.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import Net, Part
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.values import resistance
from boardvet.vocabulary.kinds import Kind

__all__ = ["Join", "Nodes", "terminals"]

JOIN_LIMIT = 0.1
"""Up to here a resistor is a wire: jumpers are below 50 mΩ (chip resistor sheets). [ohm]"""


@dataclass(frozen=True, slots=True)
class Join:
    """A part that makes one node of two nets."""

    reference: str
    a: str
    b: str


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
    """

    node_of: Mapping[str, str]
    nets_of: Mapping[str, tuple[str, ...]]
    joins: tuple[Join, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Join the nets of the board."""
        joins = tuple(_joins(circuit))
        parent = {key: key for key in circuit.board.nets}
        for join in joins:
            parent[_root(parent, join.a)] = _root(parent, join.b)
        groups: dict[str, list[str]] = {}
        for key in circuit.board.nets:
            groups.setdefault(_root(parent, key), []).append(key)
        nets_of = {}
        for members in groups.values():
            ordered = sorted(members, key=lambda key: _plainness(circuit.board.nets[key]))
            nets_of[ordered[0]] = tuple(ordered)
        node_of = {key: node for node, members in nets_of.items() for key in members}
        return cls(node_of, nets_of, joins)

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
