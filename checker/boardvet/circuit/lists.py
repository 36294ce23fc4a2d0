"""View: the BOM held against the netlist: lines, references and the pairs to compare."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Self

from boardvet.board import BomLine, Part, Place
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import Kind

__all__ = ["BomReference", "ListedPart", "PartLists", "PurchasedLine", "PurchasedPart"]


@dataclass(frozen=True)
class _OnLine:
    """A line of the BOM, or one reference on it."""

    line: BomLine

    @property
    def nets(self) -> tuple[str, ...]:
        """No net."""
        return ()

    @property
    def place(self) -> Place:
        """Where the line stands."""
        return self.line.place


@dataclass(frozen=True)
class PurchasedLine(_OnLine):
    """A line of the BOM that names references, as a subject."""

    kind = "BOM line"

    @property
    def label(self) -> str:
        """The references, shortened."""
        refs = self.line.references
        return ", ".join(refs) if len(refs) <= 4 else f"{refs[0]} … {refs[-1]} ({len(refs)})"

    @property
    def parts(self) -> tuple[str, ...]:
        """The references."""
        return self.line.references

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[PurchasedLine]:
        """Return the lines; none without a BOM."""
        bom = circuit.board.bom
        return [cls(line) for line in bom.lines if line.references] if bom else []


@dataclass(frozen=True)
class BomReference(_OnLine):
    """A reference on a line of the BOM, as a subject, with all the lines that name it."""

    reference: str
    lines: tuple[BomLine, ...]

    kind = "BOM reference"

    @property
    def label(self) -> str:
        """The reference."""
        return self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The reference."""
        return (self.reference,)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[BomReference]:
        """Return every reference of the BOM once."""
        lines = circuit.view(PartLists).lines_of
        return [cls(found[0], reference, found) for reference, found in lines.items()]


@dataclass(frozen=True)
class PurchasedPart:
    """A part of the netlist that is bought, as a subject, with the lines that list it."""

    part: Part
    part_kind: Kind
    fitted: bool
    lines: tuple[BomLine, ...]

    kind = "part"

    @property
    def label(self) -> str:
        """Its designator."""
        return self.part.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.part.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """No net."""
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[PurchasedPart]:
        """Return the parts of the netlist; none without a BOM."""
        if circuit.board.bom is None:
            return []
        kinds = circuit.view(Kinds)
        lines = circuit.view(PartLists).lines_of
        return [
            cls(part, kinds.kind(ref), ref in kinds.fitted, lines.get(ref, ()))
            for ref, part in circuit.board.parts.items()
        ]


@dataclass(frozen=True)
class ListedPart(PurchasedPart):
    """A part that the netlist and a line of the BOM both name, as a subject."""

    @property
    def line(self) -> BomLine:
        """The first line that names it."""
        return self.lines[0]

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[ListedPart]:
        """Return the parts that both name."""
        found = PurchasedPart.on(circuit)
        return [cls(p.part, p.part_kind, p.fitted, p.lines) for p in found if p.lines]


@dataclass(frozen=True)
class PartLists:
    """The lines of the BOM that name each reference."""

    lines_of: Mapping[str, tuple[BomLine, ...]]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Index the BOM."""
        if circuit.board.bom is None:
            raise MissingFact(
                "board",
                "exports",
                "no BOM was given",
                "name the CSV BOM on the command line or under exports",
            )
        lines: dict[str, list[BomLine]] = {}
        for line in circuit.board.bom.lines:
            for reference in line.references:
                lines.setdefault(reference, []).append(line)
        return cls({reference: tuple(found) for reference, found in lines.items()})
