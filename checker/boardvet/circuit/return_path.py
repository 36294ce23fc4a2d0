"""What lies between the minus of a cell and ground, such as the FETs of a protection IC."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from boardvet.circuit.cells import Cell
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State
from boardvet.circuit.values import resistance

__all__ = ["return_path"]

SHUNT = 1.0
"""A resistor up to here in the minus lead measures the current: common practice. [ohm]"""


def return_path(circuit: Circuit, state: State, cells: Iterable[Cell]) -> frozenset[str]:
    """Return the nodes between the minus of cells and ground, without ground itself.

    Parameters
    ----------
    circuit : Circuit
        The board.
    state : State
        Which contacts are closed; channels count that are on or may be put on.
    cells : iterable of Cell
        Those that feed the board. Of cells in a row only the lowest has its minus here.
    """
    elements, fed = circuit.view(Elements), circuit.view(Feeding).at(state)
    ends = {cell.minus for cell in cells if cell.minus is not None}
    ends -= {*circuit.view(Grounds).nodes, *fed}
    reached: set[str] = set()
    crossed: set[Element] = set()
    queue = list(ends)
    while queue:
        node = queue.pop()
        if node in reached or node in fed:
            continue
        reached.add(node)
        if node not in circuit.view(Grounds):
            onward = [e for e in elements.at(node) if _conducts(circuit, e, state)]
            crossed.update(onward)
            queue.extend(element.other(node) for element in onward)
    return _between(circuit, ends, crossed)


def _between(circuit: Circuit, ends: set[str], crossed: set[Element]) -> frozenset[str]:
    """Return the nodes that do not hang on the way as a dead end, such as a lamp does."""
    kept = ends | set(circuit.view(Grounds).nodes)
    while True:
        degree = Counter(node for element in crossed for node in (element.a, element.b))
        loose = {
            element
            for element in crossed
            if any(degree[node] == 1 and node not in kept for node in (element.a, element.b))
        }
        if not loose:
            return frozenset(degree) - set(circuit.view(Grounds).nodes)
        crossed = crossed - loose


def _conducts(circuit: Circuit, element: Element, state: State) -> bool:
    if element.kind is ElementKind.CONTACT:
        return state.is_closed(element)
    if element.kind is ElementKind.CHANNEL:
        on = circuit.view(Feeding).conducting(state)
        return f"{element.reference}{element.name}" in on
    if element.kind is ElementKind.RESISTOR:
        known = resistance(circuit, element.reference)
        return known is not None and known.value <= SHUNT
    return element.kind in METALLIC
