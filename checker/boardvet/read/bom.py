"""BOM: the list of parts to buy, in whatever dialect it was exported."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import replace
from operator import itemgetter
from typing import NoReturn

from boardvet.board import Bom, BomLine, Place
from boardvet.errors import InputError, InputErrors
from boardvet.read.columns import check_columns
from boardvet.read.designator import (
    LONGEST_RANGE,
    RangeTooLong,
    looks_like_designator,
    read_designators,
)
from boardvet.read.fitting import (
    mark_among,
    note_says_not_fitted,
    yes_or_no,
)
from boardvet.read.headings import BOM_ROLES, heading, key
from boardvet.read.rows import Row, is_rule
from boardvet.read.table import Header, Table, read_table
from boardvet.read.unfitted import split_value

__all__ = ["MOST_REFERENCES", "read_bom"]

MOST_REFERENCES = 200_000
"""A list with more designators, ranges written out, is refused."""

_TEXT_ROLES = (
    "reference",
    "value",
    "footprint",
    "quantity",
    "part_number",
    "manufacturer",
    "description",
)
_TOTAL = re.compile(
    r"(?:(?:(?:grand|sub)[ -]?)?totals?|(?:component|part|line|item)s? count|sum|summe|gesamt\w*"
    r"|razem|suma|totale|somme)\b.*|.*:",
    re.IGNORECASE | re.DOTALL,
)
_QUANTITY = re.compile(r"[x×]?\s*(\d{1,9}(?:[.,]\d{1,9})*)\s*(?:x|×|[^\W\d]+\.?)?", re.IGNORECASE)
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+")


def read_bom(text: str, file: str, columns: Mapping[str, str] | None = None) -> Bom:
    r"""Read a BOM.

    Parameters
    ----------
    text : str
        The whole decoded file: separated by comma, semicolon, tab or bar.
    file : str
        Its path as the user gave it.
    columns : mapping of str to str, optional
        Heading of each role that the reader does not find by itself (`BOM_ROLES`).

    Returns
    -------
    Bom
        One line a row; rows without designators are items, totals and captions are left out. A
        mark such as "DNP" is taken off the value; the cells keep it. Of two tables that list the
        same parts the one with more recognised columns counts.

    Raises
    ------
    InputError
        If no column holds designators, or `columns` names a role or heading that is not there.
    InputErrors
        All the rows that cannot be used.

    Examples
    --------
    >>> bom = read_bom("Ref,Value,Qty\nR1-R3,4k7,3\n", "tag.csv")
    >>> bom.lines[0].references, bom.lines[0].quantity
    (('R1', 'R2', 'R3'), 3.0)
    """
    stated = check_columns(text, file, columns or {}, BOM_ROLES)
    table = read_table(text, file, stated)
    if table.header is None or "reference" not in table.header.roles:
        _refuse(table, file)
    errors: list[InputError] = []
    listings: list[tuple[Header, list[BomLine]]] = []
    for header, rows in table.parts():
        if "reference" in header.roles:
            listings.append((header, _read_rows(header, rows, file, errors)))
    if errors:
        raise InputErrors(errors)
    best = max(listings, key=_worth)[0]
    named = {role.removeprefix("not "): best.names[i] for role, i in best.roles.items()}
    return Bom(_merged(listings), named)


def _read_rows(
    header: Header, rows: Iterable[Row], file: str, errors: list[InputError]
) -> list[BomLine]:
    """Read the rows under one header; mistakes go to `errors`."""
    reader = _RowReader(header, rows, file)
    lines: list[BomLine] = []
    written = 0
    for row in reader.rows:
        try:
            line = reader.line(row)
        except RangeTooLong as error:
            what = f"the range {error} has more than {LONGEST_RANGE} parts"
            errors.append(InputError(file, what, "write the last number of the range", row.line))
            continue
        if line is None:
            continue
        written += len(line.references)
        if lines and _continues(lines[-1], line):
            line = replace(lines[-1], references=lines.pop().references + line.references)
        lines.append(line)
        if written > MOST_REFERENCES:
            what = f"the list has more than {MOST_REFERENCES} designators"
            errors.append(InputError(file, what, "check its ranges", row.line))
            break
    return lines


class _RowReader:
    """Turns the rows under one header into lines."""

    def __init__(self, header: Header, rows: Iterable[Row], file: str) -> None:
        self.rows = list(rows)
        self.file = file
        self.names = header.names
        self.absent = len(header.names)
        self.columns = [header.roles.get(role, self.absent) for role in _TEXT_ROLES]
        self.pick = itemgetter(*self.columns)
        self.fitted = header.roles.get("fitted", self.absent)
        self.not_fitted = header.roles.get("not fitted", self.absent)
        self.notes = [i for i, name in enumerate(header.names) if self._is_note(i, name)]
        filled = {row.cells[self.fitted] for row in self.rows if self.fitted < len(row.cells)}
        filled.discard("")
        self.empty_is_no = bool(filled) and all(yes_or_no(cell) is True for cell in filled)

    def _is_note(self, column: int, name: str) -> bool:
        """Tell whether a column holds remarks; "Comment" does where it is not the value."""
        named = heading(name)
        if named is None or column in self.columns:
            return False
        return named.role == "note" or key(name).startswith("comment")

    def line(self, row: Row) -> BomLine | None:
        """Return one line; None for captions, totals and drawn lines."""
        width = self.absent + 1
        cells = [*row.cells, *[""] * (width - len(row.cells))]
        # The cell after the last named column stands for every role that has no column.
        beyond, cells[self.absent] = cells[self.absent :], ""
        texts = self.pick(cells)
        if "\n" in "".join(texts):
            texts = tuple(" ".join(text.split()) for text in texts)
        reference, value, footprint, count, number, maker, description = texts
        if not looks_like_designator(reference) and _is_caption(row.cells):
            return None
        named = dict(zip(self.names, cells, strict=False))
        for at, cell in enumerate(beyond, len(self.names) + 1):
            if cell:
                named[f"column {at}"] = cell
        value, fitted = split_value(value)
        quantity = _quantity(count)
        fitted = fitted and quantity != 0 and self._fitted(cells)
        return BomLine(
            references=tuple(read_designators(reference)),
            value=value,
            footprint=footprint,
            part_number=number,
            manufacturer=maker,
            description=description,
            quantity=quantity,
            fitted=fitted,
            cells=named,
            place=Place(self.file, row.line),
        )

    def _fitted(self, cells: Sequence[str]) -> bool:
        """Tell by all cells but the value whether the line is fitted."""
        if mark_among(cells) or any(note_says_not_fitted(cells[i]) for i in self.notes):
            return False
        if self.not_fitted != self.absent and yes_or_no(cells[self.not_fitted]) is True:
            return False
        if self.fitted == self.absent:
            return True
        cell = cells[self.fitted]
        return yes_or_no(cell) is not False if cell else not self.empty_is_no


def _continues(before: BomLine, line: BomLine) -> bool:
    """Tell whether a row holds only further designators, which the quantity above asks for."""
    if line.value or line.quantity is not None or not line.references or not before.quantity:
        return False
    if sum(map(bool, line.cells.values())) > 1:
        return False
    return len(before.references) + len(line.references) <= before.quantity


def _is_caption(cells: Sequence[str]) -> bool:
    """Tell whether a row without designators is a caption, a total or a drawn line."""
    first = next(cell for cell in cells if cell)
    return sum(map(bool, cells)) < 2 or _TOTAL.fullmatch(first[:200]) is not None or is_rule(cells)


def _quantity(text: str) -> float | None:
    """Return the number in a quantity cell ("3 pcs"), None if it has none."""
    if text.isdecimal() and len(text) < 10:
        return float(text)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        return None
    number = match[1]
    if _THOUSANDS.fullmatch(number):
        return float(number.replace(",", ""))
    return float(number.replace(",", "."))


def _worth(listing: tuple[Header, list[BomLine]]) -> tuple[int, bool]:
    """Rank the tables of a file: by columns that are understood, then by stated quantities."""
    header, lines = listing
    return len(header.roles), any(line.quantity is not None for line in lines)


def _merged(listings: Sequence[tuple[Header, list[BomLine]]]) -> tuple[BomLine, ...]:
    """Join the tables of a file.

    A table that shares half its designators with the best one lists the same parts again: only
    what it has beyond is added.
    """
    best = max(range(len(listings)), key=lambda i: _worth(listings[i]))
    seen = {name for line in listings[best][1] for name in line.references}
    kept: list[BomLine] = []
    for i, (_, lines) in enumerate(listings):
        names = {name for line in lines for name in line.references}
        if i == best or 2 * len(names & seen) < min(len(names), len(seen)):
            kept += lines
        else:
            kept += [new for line in lines if (new := _beyond(line, seen))]
        seen |= names
    return tuple(kept)


def _beyond(line: BomLine, seen: Set[str]) -> BomLine | None:
    """Return the line with the designators that are not in `seen`; None if it has none."""
    new = tuple(name for name in line.references if name not in seen)
    if not new or len(new) == len(line.references):
        return line if new else None
    return replace(line, references=new, quantity=None)


def _refuse(table: Table, file: str) -> NoReturn:
    """Say why a list without a column of designators cannot be used."""
    name = file.replace("\\", "/").rsplit("/", 1)[-1]
    if table.header is None:
        if table.rows and all(re.fullmatch(r"[^:\s]+:\d+", "".join(r.cells)) for r in table.rows):
            what = "this is a list of designators and counts, not a BOM: it has no values"
            raise InputError(file, what, "leave it out and give the BOM", table.rows[0].line)
        what = "no row names the columns of a BOM, such as reference, value and quantity"
        do = "export the BOM with a header row"
        raise InputError(file, what, do, table.rows[0].line if table.rows else 0)
    header = table.header
    below = table.rows[header.row + 1 : header.row + 51]
    shares = [
        sum(i < len(row.cells) and looks_like_designator(row.cells[i]) for row in below)
        for i in range(len(header.names))
    ]
    likely = header.names[shares.index(max(shares))] if any(shares) else ""
    seen = ", ".join(header.names)
    what = f"no column of reference designators; the columns are: {seen[:200]}"
    paste = f"columns: {{{name}: {{reference: {likely or '<its heading>'}}}}}"
    do = f"add such a column to the export, or name it on the intent page: {paste}"
    raise InputError(file, what, do, header.line)
