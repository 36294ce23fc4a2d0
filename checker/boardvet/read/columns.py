"""The columns that a user names on the intent page, checked against the file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from boardvet.errors import InputError, InputErrors
from boardvet.read.headings import key
from boardvet.read.table import nearest, read_table

__all__ = ["check_columns"]


def check_columns(
    text: str, file: str, columns: Mapping[str, str], roles: Sequence[str]
) -> dict[str, str]:
    """Return heading by role, each role spelled as the reader spells it.

    Parameters
    ----------
    text, file : str
        The decoded file and its path.
    columns : mapping of str to str
        What the user states: heading by role.
    roles : sequence of str
        The roles of this kind of file.

    Returns
    -------
    dict of str to str

    Raises
    ------
    InputErrors
        Every role that does not exist and every heading that the file does not have, each with
        the nearest right one.
    """
    if not columns:
        return {}
    by_key = {key(role): role for role in roles} | {"package": "footprint"}
    stated = {by_key[key(role)]: name for role, name in columns.items() if key(role) in by_key}
    errors = [
        _unknown(file, f"there is no column role {role!r}", role, roles)
        for role in columns
        if key(role) not in by_key
    ]
    table = read_table(text, file, stated)
    if table.header is None:
        errors += _absent(text, file, stated)
    if errors:
        raise InputErrors(errors)
    return stated


def _absent(text: str, file: str, stated: Mapping[str, str]) -> list[InputError]:
    """Return an error for each stated heading that the likeliest header row lacks."""
    table = read_table(text, file)
    if table.header is None:
        seen, line = [cell for row in table.rows[:50] for cell in row.cells], 0
    else:
        seen, line = list(table.header.names), table.header.line
    keys = {key(name) for name in seen}
    missing = [name for name in stated.values() if key(name) not in keys]
    return [
        _unknown(file, f"there is no column {name!r}", name, seen, line)
        for name in missing or stated.values()
    ]


def _unknown(file: str, what: str, word: str, words: Sequence[str], line: int = 0) -> InputError:
    near = nearest(word, words)
    do = f"did you mean {near!r}?" if near else "there are: " + ", ".join(words)[:200]
    return InputError(file, what, do, line)
