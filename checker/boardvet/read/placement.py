"""Placement (centroid) files: where each part sits, in metres."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NoReturn

from boardvet.board import Place, Placement, PlacementEntry
from boardvet.errors import InputError, InputErrors
from boardvet.read.columns import check_columns
from boardvet.read.headings import PLACEMENT_ROLES, key
from boardvet.read.rows import Row
from boardvet.read.table import Header, Table, read_table

__all__ = ["read_placement"]

_MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1e-3, "in": 25.4, "mil": 0.0254}
"""Size of each unit of length [mm]; the inch is exactly 25.4 mm (international inch of 1959)."""

_UNIT_WORDS = {
    "mm": "mm millimeter millimeters millimetre millimetres",
    "cm": "cm centimeter centimeters centimetre centimetres",
    "m": "m meter meters metre metres",
    "um": "um µm μm micron microns micrometer micrometers micrometre micrometres",
    "in": "in inch inches zoll pouce pouces pulgada pulgadas \" ''",
    "mil": "mil mils thou th",
}
_UNITS = {
    word: _MILLIMETRES[unit] for unit, words in _UNIT_WORDS.items() for word in words.split()
}
_UNIT_NOTE = re.compile(
    r"\b(?:units?|einheit(?:en)?|unites?|unités?|unidad(?:es)?|jednostk[ai])\b[^:=,;\t|]{0,20}[:=,;\t|]"
    r"[:=,;\s|\"]{0,5}([^\W\d_]+)"
    r"|\bin (mm|millimet(?:er|re)s|inch(?:es)?|mils?)\b"
    r"|[(\[](mm|inch(?:es)?|mils?)[)\]]",
    re.IGNORECASE,
)
_SIDE_NOTE = re.compile(r"\bside\b\s*[:=]\s*(\w+)", re.IGNORECASE)
_NUMBER = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?)\s*(\D*)")
_ROTATION = re.compile(
    r"(M?)R?\s*([+-]?\d{0,9}[.,]?\d{1,20}[.,]?)\s*(?:°|º|deg\w*)?", re.IGNORECASE
)

_SIDE_WORDS = {
    "top": """t top toplayer topside f front frontside fcu component componentside comp upper
        primary 1 oben oberseite dessus superior haut cima gora gorna boven 顶层 顶面 正面 表""",
    "bottom": """b bot bottom bottomlayer bottomside botlayer back backside rear bcu solder
        solderside lower secondary 2 m mirror mirrored unten unterseite dessous inferior bas dol
        dolna onder 底层 底面 反面 背面 裏""",
}
_SIDES = {key(word): side for side, words in _SIDE_WORDS.items() for word in words.split()}


def read_placement(text: str, file: str, columns: Mapping[str, str] | None = None) -> Placement:
    r"""Read a placement file.

    The unit of a coordinate is that of its cell, else of its heading, else of the preamble
    ("Units: inches"), else the millimetre (common practice). Without a column for the side, the
    side is that of the preamble ("Side : bottom"), else the top.

    Parameters
    ----------
    text : str
        The whole decoded file: separated by comma, semicolon, tab or bar, or aligned columns.
    file : str
        Its path as the user gave it.
    columns : mapping of str to str, optional
        Heading of each role that the reader does not find by itself (`PLACEMENT_ROLES`).

    Returns
    -------
    Placement
        Middle in metres, rotation in degrees, side "top" or "bottom"; every row, also where a
        panel repeats a reference. Rows without a reference are left out.

    Raises
    ------
    InputError
        If designators, X and Y are not all there, or `columns` names what does not exist.
    InputErrors
        All the rows that cannot be used.

    Examples
    --------
    >>> text = "Designator,Mid X,Mid Y,Rotation,Layer\nR1,12.5,-3mm,90,B\n"
    >>> entry = read_placement(text, "tag-pos.csv").entries[0]
    >>> entry.reference, entry.x, entry.y, entry.side
    ('R1', 0.0125, -0.003, 'bottom')
    """
    stated = check_columns(text, file, columns or {}, PLACEMENT_ROLES)
    table = read_table(text, file, stated)
    if table.header is None or table.header.kind != "placement":
        _refuse(table, file)
    unit, side = _preamble(table, table.header)
    errors: list[InputError] = []
    entries: list[PlacementEntry] = []
    for header, rows in table.parts():
        if header.kind == "placement":
            entries += _entries(header, rows, (unit, side, file), errors)
    if errors:
        raise InputErrors(errors)
    return Placement(tuple(entries))


def _preamble(table: Table, header: Header) -> tuple[float, str]:
    """Return the unit [mm] and the side that comments and the rows above the header state."""
    unit, side = _MILLIMETRES["mm"], "top"
    for row in (*table.comments, *table.rows[: header.row]):
        line = ",".join(row.cells)
        if (match := _UNIT_NOTE.search(line)) is not None:
            word = next(group for group in match.groups() if group).lower()
            unit = _UNITS.get(word, unit)
        if (match := _SIDE_NOTE.search(line)) is not None:
            side = _side(match[1]) or side
    return unit, side


def _entries(
    header: Header, rows: Iterable[Row], usual: tuple[float, str, str], errors: list[InputError]
) -> list[PlacementEntry]:
    """Read the rows under one header; mistakes go to `errors`."""
    unit, side, file = usual
    unit_x, unit_y = (_UNITS.get(header.units.get(axis, ""), unit) for axis in ("x", "y"))
    found: list[PlacementEntry] = []
    for row in rows:
        cell = _cells(header, row)
        reference = cell["reference"]
        if not reference or "*" in reference or sum(map(bool, row.cells)) < 2:
            continue
        x = _length(cell["x"], unit_x)
        y = _length(cell["y"], unit_y)
        turn = _rotation(cell["rotation"])
        where = _side(cell["side"]) if cell["side"] else side
        if x is None or y is None or turn is None or where is None:
            mistakes = _mistakes(reference, cell, (x, y, turn, where))
            errors += [InputError(file, what, do, row.line) for what, do in mistakes]
            continue
        found.append(
            PlacementEntry(
                reference=reference,
                x=x,
                y=y,
                rotation=turn[0],
                side="bottom" if turn[1] and not cell["side"] else where,
                package=cell["footprint"],
                value=cell["value"],
                place=Place(file, row.line),
            )
        )
    return found


def _cells(header: Header, row: Row) -> dict[str, str]:
    """Return the cell of each role, "" where there is none."""
    cells, width = row.cells, len(row.cells)
    found = dict.fromkeys(PLACEMENT_ROLES, "")
    for role, column in header.roles.items():
        if column < width:
            found[role] = cells[column]
    return found


def _mistakes(
    reference: str,
    cell: Mapping[str, str],
    read: tuple[float | None, float | None, tuple[float, bool] | None, str | None],
) -> list[tuple[str, str]]:
    """Say what of a row could not be read, and what to do."""
    dos = (
        ("x", "write a number, with its unit if it is not millimetres"),
        ("y", "write a number, with its unit if it is not millimetres"),
        ("rotation", "write degrees, such as 90"),
        ("side", "write top or bottom"),
    )
    return [
        (f"{role} of {reference} is {cell[role]!r}", do)
        for (role, do), value in zip(dos, read, strict=True)
        if value is None
    ]


def _length(cell: str, unit: float) -> float | None:
    """Return a length [m], in `unit` [mm] where the cell has none; None if it is no length."""
    match = _NUMBER.fullmatch(cell.replace("−", "-").strip())
    if match is None:
        return None
    digits, word = match.groups()
    size = _UNITS.get(word.strip().lower()) if word else unit
    number = float(digits.replace(",", "."))
    if size is None or not math.isfinite(number):
        return None
    return number * size / 1000


@lru_cache(maxsize=256)
def _side(cell: str) -> str | None:
    """Return "top" or "bottom"; None if the cell names no side."""
    return _SIDES.get(key(cell))


@lru_cache(maxsize=1024)
def _rotation(cell: str) -> tuple[float, bool] | None:
    """Return degrees and whether the cell marks the part as mirrored ("MR90")."""
    if not cell:
        return 0.0, False
    match = _ROTATION.fullmatch(cell.replace("−", "-"))
    if match is None:
        return None
    return float(match[2].replace(",", ".")), bool(match[1])


def _refuse(table: Table, file: str) -> NoReturn:
    """Say which of designator, X and Y has no column."""
    header = table.header
    if header is None:
        what = "no row names the columns of a placement file: designator, X, Y, rotation, side"
        do = "export it with a header row"
        raise InputError(file, what, do, table.rows[0].line if table.rows else 0)
    absent = [role for role in ("reference", "x", "y") if role not in header.roles]
    name = file.replace("\\", "/").rsplit("/", 1)[-1]
    paste = ", ".join(f"{role}: <its heading>" for role in absent)
    what = (
        f"no column for {' and '.join(absent)}; the columns are: {', '.join(header.names)[:200]}"
    )
    do = f"name it on the intent page: columns: {{{name}: {{{paste}}}}}"
    raise InputError(file, what, do, header.line)
