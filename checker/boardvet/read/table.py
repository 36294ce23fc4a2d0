"""Text into rows, and where in them a part list or a placement table begins.

Python's `csv` module reads the cells; which separator, which row is the header and what its
columns mean is told from the headings (`boardvet.read.headings`), never from the name of a file.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from boardvet.errors import InputError
from boardvet.read.designator import looks_like_designator
from boardvet.read.headings import heading, key

__all__ = ["Header", "Row", "Table", "find_header", "looks_like", "nearest", "read_table"]

_DELIMITERS = ",;\t|"
_SAMPLE = 50
_LONGEST_CELL_LINES = 50
_DIGIT = re.compile(r"\d")
_GAP = re.compile(r"\s{2,}|\t")
_ONE_WORD = frozenset({"reference", "x", "y", "rotation", "side"})
_NO_TABLE = ("(", "{", "<", "[", "%PDF")


class Row(NamedTuple):
    """The cells of one row, stripped, and the line on which it begins, from 1."""

    line: int
    cells: Sequence[str]


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
    """The rows of a text, its comment rows apart, and the first header, None if there is none."""

    rows: list[Row]
    comments: list[Row]
    header: Header | None

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
    text = text.removeprefix("\ufeff")
    best = Table([], [], None)
    for delimiter in [mark for mark in _DELIMITERS if mark in text] or [","]:
        rows, comments = _delimited(text, delimiter, file)
        table = Table(rows, comments, find_header(rows, chosen))
        if _goodness(table) > _goodness(best):
            best = table
    if best.header is None or "reference" not in best.header.roles:
        rows, comments = _aligned(text)
        table = Table(rows, comments, find_header(rows, chosen))
        if _goodness(table) > max((2, 0), _goodness(best)):
            return table
    return best


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
        missing), "placement" or None.

    Examples
    --------
    >>> looks_like("Designator;Value;Qty\nR1;1k;1\n")
    'bom'
    >>> looks_like("R1 is too small") is None
    True
    """
    if text.lstrip("\ufeff \t\r\n").startswith(_NO_TABLE):
        return None
    try:
        header = read_table(text).header
    except InputError:
        return None
    return header.kind if header else None


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


def _goodness(table: Table) -> tuple[int, int]:
    """Rank a reading: roles of its header, a column of designators above all; then columns."""
    if table.header is None:
        return (0, max((len(row.cells) for row in table.rows[:_SAMPLE]), default=0))
    roles = table.header.roles
    return (len(roles) + 20 * ("reference" in roles), len(table.header.names))


def _delimited(text: str, delimiter: str, file: str) -> tuple[list[Row], list[Row]]:
    """Read rows parted by `delimiter`; blank rows are dropped."""
    rows: list[Row] = []
    comments: list[Row] = []
    lines = io.StringIO(text, newline="")
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    before = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if before - line > _LONGEST_CELL_LINES:
                raise _never_closed(file, line)
            stripped = [cell.strip() for cell in cells]
            while stripped and not stripped[-1]:
                stripped.pop()
            if stripped:
                (comments if stripped[0].startswith("##") else rows).append(Row(line, stripped))
    except csv.Error as error:
        raise _never_closed(file, before + 1) from error
    last = (rows or comments)[-1].line if rows or comments else 0
    if before > last and _is_open(text, last, before, delimiter):
        raise _never_closed(file, last)
    return rows, comments


def _is_open(text: str, first: int, last: int, delimiter: str) -> bool:
    """Tell whether the row on lines `first` to `last`, the end of the file, lacks a quote."""
    lines = list(io.StringIO(text, newline=""))[first - 1 : last]
    if not any(line.strip() for line in lines[1:]):
        return False
    try:
        list(csv.reader(lines, delimiter=delimiter, skipinitialspace=True, strict=True))
    except csv.Error as error:
        return "end of data" in str(error)
    return False


def _never_closed(file: str, line: int) -> InputError:
    return InputError(file, "a quote that opens here is never closed", 'add the closing "', line)


def _aligned(text: str) -> tuple[list[Row], list[Row]]:
    """Read columns that are aligned with spaces, as far as a header is found."""
    rows: list[Row] = []
    comments: list[Row] = []
    layout: list[tuple[int, str]] = []
    for line, raw in enumerate(io.StringIO(text, newline=""), 1):
        content = raw.strip()
        if not content:
            continue
        if content.startswith("##"):
            comments.append(Row(line, [content]))
            continue
        if not layout:
            layout = _layout(raw)
        cells = _aligned_cells(raw.rstrip(), layout) if layout else [content]
        rows.append(Row(line, cells))
    return rows, comments


def _layout(raw: str) -> list[tuple[int, str]]:
    """Return start and name of each column if the line is a header, else nothing."""
    line = raw.rstrip()
    if line.startswith("#"):
        line = " " + line[1:]
    if len(line) > 500:
        return []
    for pattern in (r"\S+(?: \S+)*", r"\S+"):
        found = [(match.start(), match[0]) for match in re.finditer(pattern, line)]
        roles = {named.role for _, name in found if (named := heading(name))}
        if len(roles) >= 3 and roles & {"reference", "weak reference"}:
            return found
    return []


def _aligned_cells(line: str, layout: Sequence[tuple[int, str]]) -> list[str]:
    """Cut one line into the columns of `layout`.

    Columns of one word (designator, coordinates, rotation, side) are taken from both ends, so
    that values with spaces in them and numbers set to the right do no harm.
    """
    if line.startswith("#"):
        return [name for _, name in layout]
    chunks = _GAP.split(line.strip())
    if len(chunks) == len(layout):
        return chunks
    single = [
        (named := heading(name)) is not None and named.role in _ONE_WORD for _, name in layout
    ]
    head = next((i for i, one in enumerate(single) if not one), len(single))
    tail = next((i for i, one in enumerate(reversed(single)) if not one), len(single))
    words = [(match.start(), match[0]) for match in re.finditer(r"\S+", line)]
    if len(words) < len(layout) or head == len(single):
        return [word for _, word in words]
    first, last = words[head][0], words[len(words) - tail][0] if tail else len(line)
    middle = line[first:last].rstrip()
    inner = [start for start, _ in layout[head + 1 : len(layout) - tail]]
    parts = _GAP.split(middle.strip())
    if len(parts) != len(inner) + 1:
        edges = [0, *(max(0, start - first) for start in inner), len(middle)]
        parts = [middle[a:b].strip() for a, b in pairwise(edges)]
    ends = [word for _, word in words[len(words) - tail :]] if tail else []
    return [*(word for _, word in words[:head]), *parts, *ends]


def _unique(cells: Sequence[str]) -> tuple[str, ...]:
    """Name every column once."""
    names: list[str] = []
    taken: set[str] = set()
    for number, cell in enumerate(cells, 1):
        base = " ".join(cell.split()) or f"column {number}"
        name, copy = base, 1
        while name in taken:
            copy += 1
            name = f"{base} ({copy})"
        taken.add(name)
        names.append(name)
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
        named = heading(cell)
        if named is None or column in stated.values():
            continue
        candidates.setdefault(named.role, []).append((named.rank, column))
        units[column] = named.unit
    weak = candidates.pop("weak reference", [])
    if len(candidates) + len(stated) + bool(weak) < 2 and not stated:
        return None
    below = rows[index + 1 : index + 1 + _SAMPLE]
    roles = {
        role: min(found, key=lambda item: (not _any_content(below, item[1]), item))[1]
        for role, found in candidates.items()
    }
    reference = _reference_column(below, candidates.get("reference", []), weak)
    if reference is not None:
        roles["reference"] = reference
    roles.update(stated)
    by_role = {role: units[column] for role, column in roles.items() if units.get(column)}
    return Header(index, row.line, _unique(row.cells), roles, by_role)


def _stated(cells: Sequence[str], chosen: Mapping[str, str]) -> dict[str, int]:
    """Return the column of each role that the user states."""
    names = _unique(cells)
    keys = [key(name) for name in names]
    return {
        role: names.index(name) if name in names else keys.index(key(name))
        for role, name in chosen.items()
    }


def _any_content(rows: Sequence[Row], column: int) -> bool:
    return any(column < len(row.cells) and row.cells[column] for row in rows)


def _reference_column(
    below: Sequence[Row], strong: Sequence[tuple[int, int]], weak: Sequence[tuple[int, int]]
) -> int | None:
    """Choose the column of designators by its name and by what stands under it."""
    if len(strong) == 1 and not weak:
        return strong[0][1]

    def share(column: int) -> float:
        cells = [row.cells[column] for row in below if column < len(row.cells)]
        filled = [cell for cell in cells if cell]
        return sum(map(looks_like_designator, filled)) / max(1, len(filled))

    shares = {column: share(column) for _, column in (*strong, *weak)}
    good = [(rank, column) for rank, column in strong if shares[column] >= 0.5]
    good = good or [(rank, column) for rank, column in weak if shares[column] >= 0.6]
    good = good or list(strong)
    return min(good)[1] if good else None


def _repeated_header(rows: Sequence[Row], index: int) -> Header | None:
    """Return a later row as a header if most of its cells are headings."""
    filled = [cell for cell in rows[index].cells if cell]
    known = sum(heading(cell) is not None for cell in filled)
    if known < 2 or 2 * known < len(filled):
        return None
    header = _as_header(rows, index, None)
    return header if header is not None and len(header.roles) > 1 else None
