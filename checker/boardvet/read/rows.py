"""Text into rows of cells, with the line of each: parted by a separator, or aligned by spaces.

Python's `csv` module reads separated cells; layouts aligned by spaces are cut here.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from boardvet.read.headings import heading

__all__ = ["Row", "aligned_rows", "delimited_rows", "is_rule"]

_LONGEST_CELL_LINES = 50
_GAP = re.compile(r"\s{2,}|\t")
_ONE_WORD = frozenset({"reference", "x", "y", "rotation", "side"})


class Row(NamedTuple):
    """The cells of one row, stripped, and the line on which it begins, from 1."""

    line: int
    cells: Sequence[str]


def is_rule(cells: Iterable[str]) -> bool:
    """Tell whether a row only draws a line ("---", ":--:", "====")."""
    return all(set(cell) <= set("-:=+_") for cell in cells)


def delimited_rows(text: str, delimiter: str) -> tuple[list[Row], list[Row], int]:
    """Read rows parted by a separator; blank rows are dropped.

    Parameters
    ----------
    text : str
        The whole decoded file.
    delimiter : str
        One character.

    Returns
    -------
    rows, comments : list of Row
        Comments are the rows that begin with ``##``.
    open_line : int
        Line of a quote that is never closed, 0 if there is none.
    """
    rows: list[Row] = []
    comments: list[Row] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True)
    before = line = open_line = 0
    try:
        for cells in reader:
            line, before = before + 1, reader.line_num
            if before - line > _LONGEST_CELL_LINES:
                open_line = line
                break
            stripped = [cell.strip() for cell in cells]
            while stripped and not stripped[-1]:
                stripped.pop()
            if stripped:
                (comments if stripped[0].startswith("##") else rows).append(Row(line, stripped))
    except csv.Error:
        open_line = before + 1
    tail = text[text.rfind("\n", 0, max(0, len(text) - 2)) + 1 :]
    if not open_line and (before > line or '"' in tail) and _is_open(text, line, delimiter):
        open_line = line
    return rows, comments, open_line


def _is_open(text: str, first: int, delimiter: str) -> bool:
    """Tell whether the last row, which begins on line `first`, lacks its closing quote."""
    lines = list(io.StringIO(text, newline=""))[first - 1 :]
    try:
        list(csv.reader(lines, delimiter=delimiter, skipinitialspace=True, strict=True))
    except csv.Error as error:
        return "end of data" in str(error)
    return False


def aligned_rows(text: str) -> tuple[list[Row], list[Row]]:
    """Read columns that are aligned with spaces; lines above the header are one cell.

    Parameters
    ----------
    text : str
        The whole decoded file.

    Returns
    -------
    rows, comments : list of Row
        Comments are the lines that begin with ``##``.
    """
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
    best: list[tuple[int, str]] = []
    most = 2
    for pattern in (r"\S+(?: \S+)*", r"\S+"):
        found = [(match.start(), match[0]) for match in re.finditer(pattern, line)]
        roles = {_role(name) for _, name in found} - {""}
        if len(roles) > most and roles & {"reference", "weak reference"}:
            best, most = found, len(roles)
    return best


def _aligned_cells(line: str, layout: Sequence[tuple[int, str]]) -> list[str]:
    """Cut one line into the columns of `layout`.

    Where every cell begins under its heading, there; else where two spaces part the cells. Else
    columns of one word (designator, coordinates, rotation, side) are taken from both ends, so
    that values with spaces in them and numbers set to the right do no harm.
    """
    if line.startswith("#"):
        return [name for _, name in layout]
    starts = [0, *(start for start, _ in layout[1:])]
    if all(line[at - 1 : at].isspace() for at in starts[1:] if at <= len(line)):
        cells = [line[a:b].rstrip() for a, b in pairwise([*starts, max(len(line), starts[-1])])]
        if not any(cell[:1].isspace() for cell in cells):
            return [_unquoted(cell) for cell in cells]
    chunks = _GAP.split(line.strip())
    if len(chunks) == len(layout):
        return [_unquoted(cell) for cell in chunks]
    words = [(match.start(), match[0]) for match in re.finditer(r"\S+", line)]
    for one_word in (_ONE_WORD, _ONE_WORD | {"footprint"}):
        cells = _from_both_ends(line, words, [_role(name) in one_word for _, name in layout])
        if cells:
            return [_unquoted(cell) for cell in cells]
    return [word for _, word in words]


def _unquoted(cell: str) -> str:
    return cell[1:-1].strip() if len(cell) > 1 and cell[0] == cell[-1] == '"' else cell


def _role(name: str) -> str:
    named = heading(name)
    return named.role if named else ""


def _from_both_ends(
    line: str, words: Sequence[tuple[int, str]], single: Sequence[bool]
) -> list[str]:
    """Cut a line whose columns hold one word where `single` is True; nothing if that fails."""
    count = len(single)
    head = single.index(False) if False in single else count
    tail = single[::-1].index(False) if False in single else 0
    inner = count - head - tail
    if inner == 0 or len(words) < count:
        return [word for _, word in words] if len(words) == count else []
    first = words[head][0]
    last = words[len(words) - tail][0] if tail else len(line)
    middle = line[first:last].strip()
    parts = [middle] if inner == 1 else _GAP.split(middle)
    if len(parts) != inner:
        return []
    ends = words[len(words) - tail :] if tail else []
    return [*(word for _, word in words[:head]), *parts, *(word for _, word in ends)]
