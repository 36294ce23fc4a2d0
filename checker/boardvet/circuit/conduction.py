"""View: what conducts in a state, as a graph of nodes and two-terminal elements.

It answers path questions only: which way is blocked least. A closed contact, a fuse, a ferrite, a
resistor, a channel that is on and a regulator fed at its output conduct both ways; a diode
against its direction blocks. Parts with more pins never conduct by being one part. The graph
library is imported when the first such question is asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State

if TYPE_CHECKING:
    import networkx

__all__ = ["Conduction", "Hop"]

_BLOCKED = 1_000_000
"""Weight of a part that blocks: more than any number of parts that do not."""


class Hop(NamedTuple):
    """One part on a way, and how it is passed."""

    reference: str
    element: Element | None
    converter: Regulator | None
    blocks: bool
    backwards: bool

    @property
    def weight(self) -> int:
        """What it counts: by far the most if it blocks."""
        return _BLOCKED if self.blocks else 1


@dataclass(frozen=True)
class Conduction:
    """The graph of each state, built when first asked for."""

    circuit: Circuit = field(repr=False)
    _graphs: dict[State, networkx.DiGraph[str]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle."""
        return cls(circuit)

    def least_blocked(self, state: State, start: str, end: str) -> tuple[Hop, ...] | None:
        """Return the parts on the way that is blocked least, then shortest; None without a way."""
        import networkx

        if start == end:
            return ()
        graph = self._graph(state)
        try:
            nodes = networkx.shortest_path(graph, start, end, weight="weight")
        except (networkx.NetworkXNoPath, networkx.NodeNotFound):
            return None
        return tuple(graph.edges[step]["hop"] for step in pairwise(nodes))

    def _graph(self, state: State) -> networkx.DiGraph[str]:
        """Return the graph of a state: between two nodes the part that blocks least."""
        import networkx

        graph = self._graphs.get(state)
        if graph is None:
            graph = self._graphs[state] = networkx.DiGraph()
            for start, end, hop in _hops(self.circuit, state):
                if not graph.has_edge(start, end) or hop.weight < graph[start][end]["weight"]:
                    graph.add_edge(start, end, weight=hop.weight, hop=hop)
        return graph


def _hops(circuit: Circuit, state: State) -> Iterator[tuple[str, str, Hop]]:
    """Yield every way over one part; nothing leads through ground."""
    grounds = circuit.view(Grounds)
    on = circuit.view(Feeding).channels_on.get(state, frozenset())
    for element in circuit.view(Elements).all:
        if element.a in grounds or element.b in grounds:
            continue
        for start in (element.a, element.b):
            hop = _over(element, start, state, on)
            if hop is not None:
                yield start, element.other(start), hop
    for converter in circuit.view(Converters).all:
        for start in converter.inputs:
            for end in converter.outputs:
                yield start, end, Hop(converter.reference, None, converter, False, False)
                yield end, start, Hop(converter.reference, None, converter, False, True)


def _over(element: Element, start: str, state: State, on: frozenset[str]) -> Hop | None:
    kind = element.kind
    passes = (
        kind in METALLIC
        or kind is ElementKind.RESISTOR
        or (kind is ElementKind.CONTACT and state.is_closed(element))
        or (kind is ElementKind.CHANNEL and f"{element.reference}{element.name}" in on)
    )
    if passes:
        return Hop(element.reference, element, None, False, False)
    if kind in {ElementKind.DIODE, ElementKind.BODY_DIODE}:
        against = element.b == start
        return Hop(element.reference, element, None, against, against)
    return None
