"""`FactBook`: what is known of the parts of one board, and from where.

Sources count in this order: intent page, facts files of the repository, text of this board, facts
that boardvet ships, default of the kind. The first that states a property wins; what the others
say is kept and can be shown as a conflict, never averaged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from boardvet.errors import InputErrors, MissingFact
from boardvet.facts.builtin import find_builtin
from boardvet.facts.family import Family
from boardvet.facts.match import Match, PrefixTable
from boardvet.facts.names import Name, Text, names_of, texts_of
from boardvet.facts.packages import package_named
from boardvet.facts.ratings import default_of, is_rated, rating_of
from boardvet.facts.reading import TEXT_KEYS, case_in, read_text
from boardvet.known import Known
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.properties import missing_fact
from boardvet.vocabulary.roles import Role

if TYPE_CHECKING:
    from pathlib import Path

    from boardvet.board import Board, BomLine, Pin
    from boardvet.intent import Intent

__all__ = ["FactBook"]

_UNSURE = frozenset({Kind.UNKNOWN, Kind.INTEGRATED_CIRCUIT})


class FactBook:
    """What is known of the parts of one board.

    Parameters
    ----------
    board : Board
        The board.
    intent : Intent
        Its page of intent.
    facts_files : sequence of Path
        Facts files of the repository; of equal prefixes the earlier file counts.

    Raises
    ------
    InputErrors
        With every mistake of every facts file.
    """

    def __init__(self, board: Board, intent: Intent, facts_files: Sequence[Path] = ()) -> None:
        self._board = board
        self._intent = intent
        self._own = PrefixTable(_own_pairs(facts_files))
        self._lines: dict[str, list[BomLine]] = {}
        for line in board.bom.lines if board.bom is not None else ():
            for reference in line.references:
                self._lines.setdefault(reference, []).append(line)
        self._families: dict[str, tuple[Match[Family], ...]] = {}
        self._by_names: dict[tuple[str, ...], tuple[Match[Family], ...]] = {}
        self._texts: dict[str, tuple[Text, ...]] = {}
        self._answers: dict[tuple[str, str, Kind], Known[object] | None] = {}

    def of_board(self, board: Board) -> FactBook:
        """Return what the same page and the same facts files say of another board."""
        book = FactBook(board, self._intent)
        book._own = self._own
        return book

    def known(self, reference: str, key: str, kind: Kind = Kind.UNKNOWN) -> Known[object] | None:
        """Return what is known of a property of a part, None if nothing is.

        Parameters
        ----------
        reference : str
            A part of the board; `KeyError` if there is none.
        key : str
            Key of the property.
        kind : Kind
            What the part is. Facts of a family of another kind do not count.

        Returns
        -------
        Known or None
            The first in order. Its source names those that state something else: a conflict is
            shown wherever the value is, and never averaged.
        """
        asked = (reference, key, kind)
        if asked not in self._answers:
            stated = tuple(self._stated(reference, key, kind))
            self._answers[asked] = (
                _beside(stated) if stated else self._default(reference, key, kind)
            )
        return self._answers[asked]

    def kind(self, reference: str) -> Known[Kind] | None:
        """Return the kind that intent or facts state, None if they state none."""
        stated = self._intent_value(reference, "kind")
        if stated is not None:
            return Known(Kind(str(stated.value)), "", stated.source)
        family = self.family(reference)
        if family is None:
            return None
        return Known(family.kind, "", family.source_of("kind"))

    def family(self, reference: str) -> Family | None:
        """Return the family that a part belongs to, None if it is not known."""
        found = self._matches(reference)
        return found[0].entry if found else None

    def pin_roles(self, reference: str) -> Mapping[str, Role]:
        """Return the roles of pins that intent or facts state, by pin number.

        Facts that boardvet ships speak only for pins which the symbol does not name: a symbol
        that names its pins was drawn for its own footprint (see `data_sheet_pins`).
        """
        roles: dict[str, Role] = {}
        sheet = self.data_sheet_pins(reference)
        family = self.family(reference)
        if sheet is not None and family is not None:
            for pin in self._board.parts[reference].pins:
                if pin.number in sheet.value and (family.own or _unnamed(pin)):
                    roles[pin.number] = sheet.value[pin.number]
        stated = self._intent_value(reference, "pins")
        if stated is not None and isinstance(stated.value, Mapping):
            roles.update({str(pin): Role(role) for pin, role in stated.value.items()})
        return roles

    def data_sheet_pins(self, reference: str) -> Known[Mapping[str, Role]] | None:
        """Return the pin order of the part in its package, None if either is not known."""
        family = self.family(reference)
        if family is None:
            return None
        part = self._board.parts[reference]
        lines = self._lines.get(reference, ())
        footprints = [part.footprint, *(line.footprint for line in lines)]
        for package, roles in family.pins.items():
            if package == "any" or any(
                package_named(package, text) for text in footprints if text
            ):
                return Known(roles, "", family.source_of("pins"))
        return None

    def missing(self, reference: str, key: str) -> MissingFact:
        """Return the error that ends a subject for want of a property of a part."""
        family = self.family(reference)
        if family is not None and key in family.not_stated:
            plain = missing_fact(reference, key)
            return MissingFact(
                reference,
                key,
                f"{plain.missing}: the data sheet of {family.name} does not state it",
                plain.how,
            )
        return missing_fact(reference, key)

    def _stated(self, reference: str, key: str, kind: Kind) -> Iterator[Known[object]]:
        stated = self._intent_value(reference, key)
        if stated is not None:
            yield stated
        matches = [m for m in self._matches(reference) if _agree(m.entry.kind, kind)]
        yield from _of_families(matches, key, own=True)
        if key in TEXT_KEYS:
            yield from read_text(key, kind, self._texts_of(reference))
        yield from _of_families(matches, key, own=False)
        rating = self._rating(reference, key, kind)
        if rating is not None:
            yield rating

    def _rating(self, reference: str, key: str, kind: Kind) -> Known[object] | None:
        if not is_rated(kind, key):
            return None
        case = case_in(kind, self._texts_of(reference))
        return rating_of(kind, case, key) if case else None

    def _default(self, reference: str, key: str, kind: Kind) -> Known[object] | None:
        def other(name: str) -> object:
            known = next(self._stated(reference, name, kind), None)
            return known.value if known is not None else None

        return default_of(kind, key, other)

    def _intent_value(self, reference: str, key: str) -> Known[object] | None:
        return self._intent.parts.get(reference, {}).get(key)

    def _matches(self, reference: str) -> tuple[Match[Family], ...]:
        if reference not in self._families:
            part = self._board.parts[reference]
            names = names_of(part, self._lines.get(reference, ()))
            key = tuple(name.text for name in names)
            if key not in self._by_names:
                self._by_names[key] = tuple(self._find(names))
            self._families[reference] = self._by_names[key]
        return self._families[reference]

    def _find(self, names: Sequence[Name]) -> Iterator[Match[Family]]:
        for name in names:
            match = self._own.find(name.text)
            if match is not None:
                yield match
        for name in names:
            match = find_builtin(name.text)
            if match is not None:
                yield match

    def _texts_of(self, reference: str) -> tuple[Text, ...]:
        if reference not in self._texts:
            part = self._board.parts[reference]
            self._texts[reference] = texts_of(part, self._lines.get(reference, ()))
        return self._texts[reference]


def _unnamed(pin: Pin) -> bool:
    return pin.function.strip() in {"", "~", pin.number, f"Pin_{pin.number}"}


def _beside(stated: tuple[Known[object], ...]) -> Known[object]:
    """Return the first of what is stated, with the sources that say something else named.

    Of one file only what counts first is held against it: a symbol drawn for another type of the
    same file is no second opinion.
    """
    first = stated[0]
    by_file = {known.source.partition(":")[0]: known for known in reversed(stated)}
    against = [known.source for known in by_file.values() if known.value != first.value][::-1]
    if not against:
        return first
    return Known(first.value, first.unit, f"{first.source}; otherwise in {', '.join(against)}")


def _agree(of_family: Kind, asked: Kind) -> bool:
    if of_family is asked or asked in _UNSURE:
        return True
    return of_family in INTEGRATED and asked in INTEGRATED


def _of_families(
    matches: Sequence[Match[Family]], key: str, *, own: bool
) -> Iterator[Known[object]]:
    for match in matches:
        if match.entry.own is own:
            known = match.entry.known(key, match.rest)
            if known is not None:
                yield known


def _own_pairs(files: Sequence[Path]) -> list[tuple[str, Family]]:
    if not files:
        return []
    from boardvet.facts.entries import read_facts_file

    pairs: list[tuple[str, Family]] = []
    errors: list[InputErrors] = []
    for path in files:
        try:
            families = read_facts_file(path)
        except InputErrors as found:
            errors.append(found)
            continue
        pairs += [(prefix, family) for family in families for prefix in family.match]
    if errors:
        raise InputErrors(error for found in errors for error in found.errors)
    return pairs
