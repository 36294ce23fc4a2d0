"""View: the BOM held against the netlist: lines, references and the pairs to compare."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Self

from boardvet.board import BomLine, Part, Place
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import reference_letters
from boardvet.circuit.printed import is_bare_board
from boardvet.circuit.subjects import OfOnePart
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import Kind

__all__ = ["BomReference", "ListedPart", "PartLists", "PurchasedLine", "PurchasedPart"]

FEW = 5
"""So many parts that one list lacks are said one by one, however short the list is."""
_NOT_IN_NETLISTS = frozenset({"H", "MH", "FID", "TP", "LOGO", "PCB"})


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


_ALTERNATIVE = re.compile(
    r"(?i)\b(alt(\.|ernat(e|ive)s?)?|substitutes?|(second|2nd)[ -]sources?)\b[^=]{0,40}"
)


def _bought(lines: tuple[BomLine, ...]) -> tuple[BomLine, ...]:
    """Return the fitted lines; of several only the first and those that are no alternative."""
    fitted = [line for line in lines if line.fitted]
    further = [
        line for line in fitted[1:] if not any(map(_ALTERNATIVE.match, line.cells.values()))
    ]
    return (*fitted[:1], *further)


@dataclass(frozen=True)
class BomReference(OfOnePart, _OnLine):
    """A reference on a line of the BOM, as a subject, with all the lines that name it.

    `line` is the first of them; `drawn` says whether the netlist has the part.
    """

    reference: str
    lines: tuple[BomLine, ...]
    drawn: bool

    kind = "BOM reference"

    @property
    def bought(self) -> tuple[BomLine, ...]:
        """The lines that buy it: fitted ones that do not call themselves an alternative."""
        return _bought(self.lines)

    @property
    def off_board(self) -> bool:
        """Whether it names an item beside the board, or what a netlist need not have."""
        numbered = any(letter.isdigit() for letter in self.reference)
        return not numbered or reference_letters(self.reference) in _NOT_IN_NETLISTS

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[BomReference]:
        """Return every reference of the BOM once; none without a BOM."""
        if circuit.board.bom is None:
            return []
        drawn = circuit.board.parts
        lines = circuit.view(PartLists).lines_of
        return [cls(found[0], ref, found, ref in drawn) for ref, found in lines.items()]


@dataclass(frozen=True)
class PurchasedPart:
    """A part of the netlist, as a subject, with the lines of the BOM that list it.

    `bare` says that it comes with the bare board; `fitted` that it is fitted by netlist and
    intent.
    """

    part: Part
    part_kind: Kind
    fitted: bool
    bare: bool
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

    @property
    def to_buy(self) -> bool:
        """Whether a BOM has to list it."""
        return self.fitted and self.part.in_bom and not self.bare

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[PurchasedPart]:
        """Return the parts of the netlist; none without a BOM."""
        return circuit.view(_Purchases).all if circuit.board.bom is not None else ()


@dataclass(frozen=True)
class ListedPart(PurchasedPart):
    """A part that the netlist and a line of the BOM both name, as a subject."""

    @property
    def bought(self) -> tuple[BomLine, ...]:
        """The lines that buy it: fitted ones that do not call themselves an alternative."""
        return _bought(self.lines)

    @property
    def compared(self) -> BomLine | None:
        """The one line that says what is bought; None where none does, or several do.

        A part that is not fitted, in the netlist or on every line, is not compared either: what
        is to be said of it is that the two disagree on that.
        """
        bought = self.bought
        return bought[0] if self.fitted and len(bought) == 1 else None

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[ListedPart]:
        """Return the parts that both name."""
        return circuit.view(_Purchases).listed if circuit.board.bom is not None else ()


@dataclass(frozen=True)
class _Purchases:
    """The parts of the netlist with their lines, made once for all rules that judge them."""

    all: tuple[PurchasedPart, ...]
    listed: tuple[ListedPart, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Join the parts with the lines that name them."""
        kinds = circuit.view(Kinds)
        lines = circuit.view(PartLists).lines_of
        found = []
        for ref, part in circuit.board.parts.items():
            kind = kinds.kind(ref)
            bare = is_bare_board(part, kind)
            found.append(PurchasedPart(part, kind, ref in kinds.fitted, bare, lines.get(ref, ())))
        listed = [ListedPart(p.part, p.part_kind, p.fitted, p.bare, p.lines) for p in found]
        return cls(tuple(found), tuple(part for part in listed if part.lines))


@dataclass(frozen=True)
class PartLists:
    """The lines of the BOM that name each reference, and how far BOM and netlist meet.

    Parameters
    ----------
    lines_of : mapping of str to tuple of BomLine
        By reference as the netlist spells it ("u1" and "U1A" of a BOM are U1), else as the BOM
        does.
    listed, to_buy : int
        Parts of the netlist that the BOM lists, of those that it has to list.
    drawn, named : int
        References of the BOM that the netlist has, of all that lines buy.
    """

    lines_of: Mapping[str, tuple[BomLine, ...]]
    listed: int
    to_buy: int
    drawn: int
    named: int

    def need_most_listed(self) -> None:
        """End the subject where the BOM lists fewer than half of the parts of the netlist.

        A few parts (`FEW`) may be missing from the list of any small board.
        """
        if _meets_little(self.listed, self.to_buy):
            raise _other_board(f"the BOM lists {self.listed} of the {self.to_buy} parts to buy")

    def need_most_drawn(self) -> None:
        """End the subject where the netlist has fewer than half of the references of the BOM."""
        if _meets_little(self.drawn, self.named):
            raise _other_board(f"the netlist has {self.drawn} of the {self.named} parts listed")

    def need_same_board(self) -> None:
        """End the subject where both are so: values would be compared by chance."""
        if _meets_little(self.listed, self.to_buy):
            self.need_most_drawn()

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
        parts = circuit.board.parts
        lines = _index(circuit.board.bom.lines, parts)
        kinds = circuit.view(Kinds)
        to_buy = [
            ref
            for ref, part in parts.items()
            if part.in_bom and ref in kinds.fitted and not is_bare_board(part, kinds.kind(ref))
        ]
        listed = sum(ref in lines for ref in to_buy)
        named = [ref for ref, on in lines.items() if any(line.fitted for line in on)]
        drawn = sum(ref in parts for ref in named)
        return cls(lines, listed, len(to_buy), drawn, len(named))


_UNIT = re.compile(r"(.*\d)[-._]?[A-Z]", re.IGNORECASE)


def _index(
    lines: Sequence[BomLine], parts: Mapping[str, Part]
) -> Mapping[str, tuple[BomLine, ...]]:
    folded: dict[str, str] = {}
    for reference in parts:
        folded[reference.upper()] = "" if reference.upper() in folded else reference
    written = {reference.upper() for line in lines for reference in line.references}
    found: dict[str, list[BomLine]] = {}
    for line in lines:
        for reference in line.references:
            if reference in parts:
                found.setdefault(reference, []).append(line)
            elif drawn := folded.get(reference.upper()):
                found.setdefault(drawn, []).append(line)
            elif drawn := _of_unit(reference, folded, written):
                found.setdefault(drawn, [line])
            else:
                found.setdefault(reference, []).append(line)
    return {reference: tuple(on) for reference, on in found.items()}


def _of_unit(reference: str, folded: Mapping[str, str], written: Set[str]) -> str | None:
    """Return the part that "U1A" is a unit of, where the BOM does not name U1 itself."""
    unit = _UNIT.fullmatch(reference)
    if unit is None or unit[1].upper() in written:
        return None
    return folded.get(unit[1].upper()) or None


def _meets_little(met: int, of: int) -> bool:
    return 2 * met < of and of - met > FEW


def _other_board(what: str) -> MissingFact:
    return MissingFact(
        "board",
        "exports",
        f"{what}: is it the BOM of this board?",
        "exports: [<netlist of the board>, <BOM of the same revision>]",
    )
