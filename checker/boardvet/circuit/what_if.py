"""The same board with one thing changed: a suggestion is put back and solved before it is made."""

from __future__ import annotations

from dataclasses import replace

from boardvet.board import Board, Bom, BomLine, Place
from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.intent import StatedCell
from boardvet.known import Known
from boardvet.quantity.statement import Point, Points

__all__ = ["with_cell", "with_supply", "with_value"]

_SOURCE = "assumed: put in to compare"


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


def with_cell(circuit: Circuit, designation: str, series: int = 1, parallel: int = 1) -> Circuit:
    """Return the circuit of the same board with other cells in all of its holders.

    Parameters
    ----------
    circuit : Circuit
        Is left as it is.
    designation : str
        As on a page of intent: "CR2032", "LR03", "18650".
    series, parallel : int
        Cells inside each holder, at least 1.

    Returns
    -------
    Circuit
        What the page states of the old cells (charge, curve, end voltage) counts no longer.
    """
    stated = StatedCell(
        parts=tuple(cell.reference for cell in circuit.view(Cells).all),
        type=Known(designation, "", _SOURCE),
        capacity=None,
        series=Known(series, "", _SOURCE),
        parallel=Known(parallel, "", _SOURCE),
        protected=None,
        voltage=None,
        resistance=None,
        stop=None,
        place=Place(""),
    )
    return _with_stated(circuit, stated)


def with_supply(circuit: Circuit, volts: Points, capacity: Known[float]) -> Circuit:
    """Return the circuit of the same board on an ideal source in place of its cells.

    Parameters
    ----------
    circuit : Circuit
        With one holder; is left as it is.
    volts : Points
        Voltage over the share of charge used, which never rises. [V]
    capacity : Known of float
        Its charge. [C]

    Returns
    -------
    Circuit
        With a source that has no resistance and no limit.
    """
    (cell,) = circuit.view(Cells).need_any()
    stated = StatedCell(
        parts=(cell.reference,),
        type=Known(cell.designation or cell.need_chemistry().name, "", _SOURCE),
        capacity=capacity,
        series=Known(1, "", _SOURCE),
        parallel=Known(1, "", _SOURCE),
        protected=None,
        voltage=Known(volts, "V", _SOURCE),
        resistance=Known((Point(0.0, None),), "ohm", _SOURCE),
        stop=Known(volts[-1].value, "V", _SOURCE),
        place=Place(""),
    )
    return _with_stated(circuit, stated)


def _with_stated(circuit: Circuit, stated: StatedCell) -> Circuit:
    return Circuit(
        circuit.board,
        replace(circuit.intent, cells=(stated,)),
        circuit.facts,
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
