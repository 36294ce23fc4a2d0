"""What lies between the minus of a cell and ground, such as the FETs of a protection IC."""

from __future__ import annotations

from collections.abc import Iterable

from boardvet.circuit.cells import Cell
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State

__all__ = ["return_path"]


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
    grounds, elements = circuit.view(Grounds), circuit.view(Elements)
    feeding = circuit.view(Feeding)
    fed, on = feeding.at(state), feeding.conducting(state)
    found: set[str] = set()
    queue = [cell.minus for cell in cells if cell.minus is not None]
    while queue:
        node = queue.pop()
        if node in found or node in grounds or node in fed:
            continue
        found.add(node)
        queue.extend(e.other(node) for e in elements.at(node) if _conducts(e, state, on))
    return frozenset(found)


def _conducts(element: Element, state: State, on: frozenset[str]) -> bool:
    if element.kind is ElementKind.CONTACT:
        return state.is_closed(element)
    if element.kind is ElementKind.CHANNEL:
        return f"{element.reference}{element.name}" in on
    return element.kind in METALLIC
