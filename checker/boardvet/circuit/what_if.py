"""The same board with one value changed: a suggestion is put back and solved before it is made."""

from __future__ import annotations

from dataclasses import replace

from boardvet.board import Board, Bom, BomLine
from boardvet.circuit.handle import Circuit

__all__ = ["with_value"]


def with_value(circuit: Circuit, reference: str, value: str) -> Circuit:
    """Return the circuit of the same board on which one part has another value.

    Parameters
    ----------
    circuit : Circuit
        Is left as it is.
    reference : str
        A part of the board; `KeyError` if there is none.
    value : str
        As it would be drawn, such as ``"330"`` or ``"4k7 1%"``. What the old value said besides
        (a tolerance, a voltage) counts no longer.

    Returns
    -------
    Circuit
        With the same page of intent and the same facts. The BOM says the new value of this part
        too, so that the two do not contradict each other.
    """
    board = circuit.board
    parts = {**board.parts, reference: replace(board.parts[reference], value=value)}
    changed = replace(board, parts=parts, bom=_bom(board, reference, value))
    return Circuit(
        changed,
        circuit.intent,
        circuit.facts.of_board(changed),
        assume_nothing=circuit.assume_nothing,
    )


def _bom(board: Board, reference: str, value: str) -> Bom | None:
    """Return the BOM with a line of its own for the part, where it lists it."""
    if board.bom is None:
        return None
    lines: list[BomLine] = []
    for line in board.bom.lines:
        if reference not in line.references:
            lines.append(line)
            continue
        others = tuple(other for other in line.references if other != reference)
        if others:
            quantity = line.quantity and line.quantity * len(others) / len(line.references)
            lines.append(replace(line, references=others, quantity=quantity))
        quantity = line.quantity and line.quantity / len(line.references)
        own = replace(
            line, references=(reference,), value=value, quantity=quantity, part_number=""
        )
        lines.append(own)
    return board.bom._replace(lines=tuple(lines))
