"""View: which nodes are ground."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Self

from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_ground_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Grounds"]


@dataclass(frozen=True)
class Grounds:
    """The nodes taken as ground, the most used first.

    A net whose name says ground; without one, the node of most ground pins; without those, the
    minus of a cell that is no other cell's plus.
    """

    nodes: tuple[str, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Find the ground nodes."""
        nodes = circuit.view(Nodes)
        board = circuit.board
        named = Counter[str]()
        for key, net in board.nets.items():
            if net.named and is_ground_name(net.name) and net.nodes:
                named[nodes.node_of[key]] += len(net.nodes)
        if named:
            return cls(tuple(node for node, _ in named.most_common()))
        return cls(_by_pins(circuit) or _by_cells(circuit))

    @property
    def main(self) -> str:
        """The ground with most pins.

        Raises
        ------
        MissingFact
            Where nothing on the board says ground.
        """
        if not self.nodes:
            raise MissingFact(
                "board",
                "ground",
                "no net of the board is known to be ground",
                "name the ground net GND in the drawing",
            )
        return self.nodes[0]

    def __contains__(self, node: object) -> bool:
        """Tell whether a node is ground."""
        return node in self.nodes


def _by_pins(circuit: Circuit) -> tuple[str, ...]:
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    votes = Counter[str]()
    for reference in kinds.fitted_of(*INTEGRATED):
        for pin in roles.pins(reference, Role.GROUND):
            if pin.pin.net is not None:
                votes[nodes.node_of[pin.pin.net]] += 1
    return tuple(node for node, _ in votes.most_common(1))


def _by_cells(circuit: Circuit) -> tuple[str, ...]:
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    plus: set[str] = set()
    minus: list[str] = []
    for reference in kinds.fitted_of(Kind.CELL):
        for pin in roles.pins(reference):
            if pin.pin.net is None:
                continue
            if pin.role is Role.POSITIVE:
                plus.add(nodes.node_of[pin.pin.net])
            elif pin.role is Role.NEGATIVE:
                minus.append(nodes.node_of[pin.pin.net])
    return tuple(dict.fromkeys(node for node in minus if node not in plus))[:1]
