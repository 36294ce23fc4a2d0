"""Where in a text a part list or a placement table begins, and what its columns are.

Which separator, which row is the header and what its columns mean is told from the headings
(`boardvet.read.headings`), never from the name of a file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from boardvet.errors import InputError
from boardvet.read.designator import looks_like_designator
from boardvet.read.headings import VALUE_LIKE, heading, key
from boardvet.read.rows import Row, aligned_rows, delimited_rows, is_rule

__all__ = [
    "Header",
    "Table",
    "find_header",
    "looks_like",
    "nearest",
    "read_table",
]

_DELIMITERS = ",;\t|"
_SAMPLE = 50
_RECOGNISED_BY = 200_000
_DIGIT = re.compile(r"\d")
_NO_TABLE = ("(", "{", "<", "[", "%PDF")


class Header(NamedTuple):
    """Where the header stands and what its columns are.

    `row` is its index in the rows, `line` its line in the file. `names` are unique: the second
    column of a name gets " (2)", a column without one "column 3".
    `roles` gives the column of each role; "reference" may be missing, and "not fitted" is a
    column in which yes means no. `units` has the unit words found in headings, by role.
    """

    row: int
    line: int
    names: tuple[str, ...]
    roles: Mapping[str, int]
    units: Mapping[str, str]

    @property
    def kind(self) -> str | None:
        """What such a header is of: "placement", "bom" or None."""
        if "reference" in self.roles and "x" in self.roles and "y" in self.roles:
            return "placement"
        others = self.roles.keys() - {"reference", "x", "y", "rotation", "side", "note"}
        enough = 1 if "reference" in self.roles else 3
        return "bom" if len(others) >= enough else None


class Table(NamedTuple):
    """The rows of a text, its comment rows apart, and the first header, None if there is none.

    `open_line` is the line of a quote that is never closed, else 0; `aligned` is True where the
    columns are set with spaces.
    """

    rows: list[Row]
    comments: list[Row]
    header: Header | None
    open_line: int = 0
    aligned: bool = False

    def parts(self) -> Iterator[tuple[Header, list[Row]]]:
        """Yield each header with the rows under it, up to the next header."""
        header = self.header
        while header is not None:
            reference = header.roles.get("reference", 0)
            following = None
            end = header.row + 1
            for end in range(header.row + 1, len(self.rows)):
                cells = self.rows[end].cells
                if reference < len(cells) and _DIGIT.search(cells[reference]):
                    continue
                following = _repeated_header(self.rows, end)
                if following is not None:
                    break
            else:
                end = len(self.rows)
            yield header, self.rows[header.row + 1 : end]
            header = following


def read_table(text: str, file: str = "", chosen: Mapping[str, str] | None = None) -> Table:
    """Read a text into rows by the separator that makes the best header.

    Parameters
    ----------
    text : str
        The whole decoded file.
    file : str
        Its path, for errors.
    chosen : mapping of str to str, optional
        Heading of each role that the user has stated.

    Returns
    -------
    Table
        `Table.header` is None where no row looks like a header.

    Raises
    ------
    InputError
        If a quoted cell is never closed.
    """
    table = _best_table(text, chosen)
    if table.open_line:
        what = "a quote that opens here is never closed"
        raise InputError(file, what, 'add the closing "', table.open_line)
    return table


def looks_like(text: str) -> str | None:
    r"""Tell whether a text is a part list or a placement file.

    Parameters
    ----------
    text : str
        The whole decoded file.

    Returns
    -------
    str or None
        "bom" (a list without a column of designators too, so that its reader can say what is
        missing), "placement" or None. Prose, also with a table in it ("|---|---|"), is None.

    Examples
    --------
    >>> looks_like("Designator;Value;Qty\nR1;1k;1\n")
    'bom'
    >>> looks_like("R1 is too small") is None
    True
    """
    if text.lstrip("\ufeff \t\r\n").startswith(_NO_TABLE):
        return None
    table = _best_table(text[:_RECOGNISED_BY], None)
    header = table.header
    if header is None:
        return None
    below = table.rows[header.row + 1 : header.row + 1 + _SAMPLE]
    if below and (is_rule(below[0].cells) or max(len(row.cells) for row in below) < 2):
        return None
    if table.aligned and header.kind == "bom" and _share(below, header.roles["reference"]) < 0.5:
        return None
    return header.kind


def find_header(rows: Sequence[Row], chosen: Mapping[str, str] | None = None) -> Header | None:
    """Find the header row and the role of each column.

    The first row that names a column of designators and one thing more is the header; without
    one, the row that names most. Names that may head a running number as well ("Part", "Pos")
    count only if designators stand below.

    Parameters
    ----------
    rows : sequence of Row
        Rows of a whole file.
    chosen : mapping of str to str, optional
        Heading of each role that the user has stated; the header then is the row that has them.

    Returns
    -------
    Header or None
        None if no row names two roles.
    """
    best: Header | None = None
    for index, row in enumerate(rows):
        if len(row.cells) < 2:
            continue
        if chosen and not _has_chosen(row.cells, chosen):
            continue
        header = _as_header(rows, index, chosen)
        if header is None:
            continue
        if chosen or ("reference" in header.roles and len(header.roles) > 1):
            return header
        if best is None or len(header.roles) > len(best.roles):
            best = header
    return best


def nearest(word: str, words: Sequence[str]) -> str:
    """Return the one of `words` that is most like `word`; "" if none is like it.

    Examples
    --------
    >>> nearest("refernce", ["reference", "value"])
    'reference'
    """
    from difflib import get_close_matches

    by_key = {key(candidate) or candidate: candidate for candidate in reversed(words)}
    found = get_close_matches(key(word), by_key, n=1, cutoff=0.5)
    return by_key[found[0]] if found else ""


def _best_table(text: str, chosen: Mapping[str, str] | None) -> Table:
    """Read by each separator that occurs, and as aligned columns, and keep the best."""
    text = text.removeprefix("\ufeff")
    best = Table([], [], None)
    for delimiter in [mark for mark in _DELIMITERS if mark in text] or [","]:
        rows, comments, open_line = delimited_rows(text, delimiter)
        table = Table(rows, comments, find_header(rows, chosen), open_line)
        if _goodness(table) > _goodness(best):
            best = table
    if best.header is None or "reference" not in best.header.roles:
        rows, comments = aligned_rows(text)
        table = Table(rows, comments, find_header(rows, chosen), aligned=True)
        if table.header and _goodness(table) > _goodness(best):
            return table
    return best


def _goodness(table: Table) -> tuple[int, int]:
    """Rank a reading: roles of its header, a column of designators above all; then columns."""
    if table.header is None:
        return (0, max((len(row.cells) for row in table.rows[:_SAMPLE]), default=0))
    roles = table.header.roles
    return (len(roles) + 20 * ("reference" in roles), len(table.header.names))


def _unique(cells: Sequence[str]) -> tuple[str, ...]:
    """Name every column once."""
    names: dict[str, None] = {}
    copies: dict[str, int] = {}
    for number, cell in enumerate(cells, 1):
        name = base = " ".join(cell.split()) or f"column {number}"
        while name in names:
            copies[base] = copies.get(base, 1) + 1
            name = f"{base} ({copies[base]})"
        names[name] = None
    return tuple(names)


def _has_chosen(cells: Sequence[str], chosen: Mapping[str, str]) -> bool:
    """Tell whether a row has every heading that the user names."""
    names = _unique(cells)
    keys = {key(name) for name in names}
    return all(name in names or key(name) in keys for name in chosen.values())


def _as_header(rows: Sequence[Row], index: int, chosen: Mapping[str, str] | None) -> Header | None:
    """Read one row as a header; None if it names too little."""
    row = rows[index]
    stated = _stated(row.cells, chosen or {})
    candidates: dict[str, list[tuple[int, int]]] = {}
    units: dict[int, str] = {}
    for column, cell in enumerate(row.cells):
        # Cells of data are not worth a look: no heading begins with a digit or a sign.
        named = heading(cell) if cell and cell[0] not in "0123456789+-." else None
        if named is None or column in stated.values():
            continue
        candidates.setdefault(named.role, []).append((named.rank, column))
        units[column] = named.unit
    weak = candidates.pop("weak reference", [])
    if len(candidates) + len(stated) + bool(weak) < 2 and not stated:
        return None
    below = rows[index + 1 : index + 1 + _SAMPLE]
    roles = {
        role: found[0][1]
        if len(found) == 1
        else min(found, key=lambda item: (not _any_content(below, item[1]), item))[1]
        for role, found in candidates.items()
    }
    reference = _reference_column(below, candidates.get("reference", []), weak)
    if reference is not None:
        roles["reference"] = reference
    if "value" not in roles and "value" not in stated:
        taken = {*roles.values(), *stated.values()}
        like = [
            i for i, cell in enumerate(row.cells) if key(cell) in VALUE_LIKE and i not in taken
        ]
        roles |= {"value": like[0]} if like else {}
    if stated.keys() & {"fitted", "not fitted"}:
        roles = {role: i for role, i in roles.items() if role not in ("fitted", "not fitted")}
    roles.update(stated)
    by_role = {role: units[column] for role, column in roles.items() if units.get(column)}
    return Header(index, row.line, _unique(row.cells), roles, by_role)


def _stated(cells: Sequence[str], chosen: Mapping[str, str]) -> dict[str, int]:
    """Return the column of each role that the user states."""
    if not chosen:
        return {}
    names = _unique(cells)
    keys = [key(name) for name in names]
    found = {
        role: names.index(name) if name in names else keys.index(key(name))
        for role, name in chosen.items()
    }
    named = heading(cells[found["fitted"]]) if "fitted" in found else None
    if named and named.role == "not fitted":
        found["not fitted"] = found.pop("fitted")
    return found


def _any_content(rows: Sequence[Row], column: int) -> bool:
    return any(column < len(row.cells) and row.cells[column] for row in rows)


def _reference_column(
    below: Sequence[Row], strong: Sequence[tuple[int, int]], weak: Sequence[tuple[int, int]]
) -> int | None:
    """Choose the column of designators by its name and by what stands under it."""
    if len(strong) == 1 and not weak:
        return strong[0][1]
    shares = {column: _share(below, column) for _, column in (*strong, *weak)}
    good = [(rank, column) for rank, column in strong if shares[column] >= 0.5]
    good = good or [(rank, column) for rank, column in weak if shares[column] >= 0.6]
    good = good or list(strong)
    return min(good)[1] if good else None


def _share(rows: Sequence[Row], column: int) -> float:
    """Return the share of the filled cells of a column that look like designators."""
    filled = [row.cells[column] for row in rows if column < len(row.cells) and row.cells[column]]
    return sum(map(looks_like_designator, filled)) / max(1, len(filled))


def _repeated_header(rows: Sequence[Row], index: int) -> Header | None:
    """Return a later row as a header if most of its cells are headings."""
    filled = [cell for cell in rows[index].cells if cell]
    roles = [named.role for cell in filled if (named := heading(cell)) is not None]
    least = 2 if "reference" in roles or "weak reference" in roles else 3
    if len(roles) < least or 2 * len(roles) < len(filled):
        return None
    header = _as_header(rows, index, None)
    return header if header is not None and len(header.roles) > 1 else None
