"""BOM: the list of parts to buy, in whatever dialect it was exported."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
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
    cell_says_not_fitted,
    note_says_not_fitted,
    value_says_not_fitted,
    yes_or_no,
)
from boardvet.read.headings import BOM_ROLES
from boardvet.read.table import Header, Row, Table, read_table

__all__ = ["MOST_REFERENCES", "read_bom"]

MOST_REFERENCES = 200_000
"""A list with more designators, ranges written out, is refused."""

_TOTAL = re.compile(
    r"(?:(?:(?:grand|sub)[ -]?)?totals?|(?:component|part|line|item)s? count|sum|summe|gesamt\w*"
    r"|razem|suma|totale|somme)\b.*|.*:",
    re.IGNORECASE | re.DOTALL,
)
_QUANTITY = re.compile(r"[x×]?\s*(\d+(?:[.,]\d+)?)\s*(?:x|×|[^\W\d]+\.?)?", re.IGNORECASE)


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
        One line a row; rows without designators are items, totals and captions are left out. Of
        two tables that list the same parts the one with more recognised columns counts.

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
    best = max(listings, key=lambda listing: len(listing[0].roles))[0]
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
        if line is not None:
            written += len(line.references)
            lines.append(line)
        if written > MOST_REFERENCES:
            what = f"the list has more than {MOST_REFERENCES} designators"
            errors.append(InputError(file, what, "check its ranges", row.line))
            break
    return lines


class _RowReader:
    """Turns the rows under one header into lines."""

    def __init__(self, header: Header, rows: Iterable[Row], file: str) -> None:
        self.header = header
        self.rows = list(rows)
        self.file = file
        self.place = header.roles.get
        self.notes = tuple(
            i for role, i in header.roles.items() if role in ("note", "description", "part_number")
        )
        self.empty_means_absent = self._only_yes("fitted")

    def _only_yes(self, role: str) -> bool:
        """Tell whether every filled cell of a column says yes, and one at least does."""
        column = self.header.roles.get(role)
        if column is None:
            return False
        filled = {row.cells[column] for row in self.rows if column < len(row.cells)} - {""}
        return bool(filled) and all(yes_or_no(cell) is True for cell in filled)

    def line(self, row: Row) -> BomLine | None:
        """Return one line; None for captions, totals and empty rows."""
        cells = row.cells
        count = len(cells)
        roles = self.header.roles

        def text(role: str) -> str:
            column = roles.get(role, count)
            return " ".join(cells[column].split()) if column < count else ""

        designators = text("reference")
        if not looks_like_designator(designators):
            first = next(cell for cell in cells if cell)
            if sum(map(bool, cells)) < 2 or _TOTAL.fullmatch(first):
                return None
        quantity = _quantity(text("quantity"))
        value = text("value")
        return BomLine(
            references=tuple(read_designators(designators)),
            value=value,
            footprint=text("footprint"),
            part_number=text("part_number"),
            manufacturer=text("manufacturer"),
            description=text("description"),
            quantity=quantity,
            fitted=quantity != 0 and not value_says_not_fitted(value) and self._fitted(cells),
            cells=self._cells(cells),
            place=Place(self.file, row.line),
        )

    def _cells(self, cells: Sequence[str]) -> dict[str, str]:
        """Return every cell by its heading; cells beyond the header get a number."""
        names = self.header.names
        found = dict(zip(names, cells, strict=False))
        if len(cells) < len(names):
            found.update(dict.fromkeys(names[len(cells) :], ""))
        for number in range(len(names) + 1, len(cells) + 1):
            if cells[number - 1]:
                found[f"column {number}"] = cells[number - 1]
        return found

    def _fitted(self, cells: Sequence[str]) -> bool:
        """Tell by all cells but the value whether the line is fitted."""
        roles = self.header.roles
        for column, cell in enumerate(cells):
            if cell and cell_says_not_fitted(cell) and column != roles.get("reference"):
                return False
        note = roles.get("note", len(cells))
        if note < len(cells) and note_says_not_fitted(cells[note]):
            return False
        if "not fitted" in roles and roles["not fitted"] < len(cells):
            return yes_or_no(cells[roles["not fitted"]]) is not True
        if "fitted" in roles:
            cell = cells[roles["fitted"]] if roles["fitted"] < len(cells) else ""
            return not self.empty_means_absent if not cell else yes_or_no(cell) is not False
        return True


def _quantity(text: str) -> float | None:
    """Return the number in a quantity cell ("3 pcs"), None if it has none."""
    match = _QUANTITY.fullmatch(text)
    return float(match[1].replace(",", ".")) if match else None


def _merged(listings: Sequence[tuple[Header, list[BomLine]]]) -> tuple[BomLine, ...]:
    """Join the tables of a file; one that lists the same parts again adds only what is new."""
    best = max(range(len(listings)), key=lambda i: len(listings[i][0].roles))
    seen = {name for line in listings[best][1] for name in line.references}
    kept: list[BomLine] = []
    for i, (_, lines) in enumerate(listings):
        names = {name for line in lines for name in line.references}
        if i == best or not names & seen:
            kept += lines
        elif i != best:
            kept += [line for line in lines if line.references and not seen & {*line.references}]
        seen |= names
    return tuple(kept)


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
