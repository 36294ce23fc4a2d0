"""Values of passive parts, as their value texts state them.

The netlist counts first; where its value says nothing ("R", "C_Small"), the BOM line does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import BomLine
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import ComponentText, parse_component
from boardvet.vocabulary.kinds import Kind

__all__ = ["BomLines", "Values", "capacitance", "missing_value", "resistance"]

LETTERS: Mapping[Kind, str] = {
    Kind.RESISTOR: "R",
    Kind.CAPACITOR: "C",
    Kind.INDUCTOR: "L",
    Kind.FERRITE: "L",
    Kind.FUSE: "F",
    Kind.CRYSTAL: "Y",
    Kind.RESONATOR: "Y",
}
"""The letter by which the quantity reader is told what a value is of."""


@dataclass(frozen=True)
class BomLines:
    """The BOM line of each part, the first where several name it."""

    of_part: Mapping[str, BomLine]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Index the BOM by reference."""
        lines: dict[str, BomLine] = {}
        for line in circuit.board.bom.lines if circuit.board.bom else ():
            for reference in line.references:
                lines.setdefault(reference, line)
        return cls(lines)


@dataclass(frozen=True)
class Values:
    """The value of each part of a kind that has one, with its source."""

    of_part: Mapping[str, Known[float]]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Read the value of every passive part once."""
        values: dict[str, Known[float]] = {}
        lines = circuit.view(BomLines).of_part
        for reference, found in circuit.view(Kinds).of_part.items():
            letter = LETTERS.get(found.kind)
            if letter is None:
                continue
            part = circuit.board.parts[reference]
            text = parse_component(part.value, letter)
            source = f"netlist {part.place.file}:{part.place.line}"
            if text.value is None and reference in lines:
                line = lines[reference]
                text = _bom_text(line, letter)
                source = f"bom {line.place.file}:{line.place.line}"
            # Only a resistor of 0 is a part: 0 F, 0 H or 0 A is a value that nobody gave.
            if text.value is not None and (text.value > 0.0 or letter == "R"):
                values[reference] = Known(text.value, text.unit, source)
        return cls(values)


def _bom_text(line: BomLine, letter: str) -> ComponentText:
    text = parse_component(line.value, letter)
    return text if text.value is not None else parse_component(line.description, letter)


def resistance(circuit: Circuit, reference: str) -> Known[float] | None:
    """Return the resistance of a resistor, None if its value does not say it, in ohms."""
    return circuit.view(Values).of_part.get(reference)


def capacitance(circuit: Circuit, reference: str) -> Known[float] | None:
    """Return the capacitance of a capacitor, None if its value does not say it, in farads."""
    return circuit.view(Values).of_part.get(reference)


def missing_value(reference: str) -> MissingFact:
    """Return the error that ends a subject for want of the value of a passive part."""
    return MissingFact(
        reference,
        "value",
        f"the value of {reference} is not known",
        f"give {reference} a value such as 4k7 in the drawing, or in its line of the BOM",
    )
