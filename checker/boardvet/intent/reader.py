"""Reading a page of intent: all its mistakes at once, each with its place and what to do."""

from __future__ import annotations

from pathlib import Path

from boardvet.errors import InputError, InputErrors
from boardvet.intent.build import build
from boardvet.intent.cross import cross_mistakes
from boardvet.intent.nodes import read_nodes
from boardvet.intent.shape import read
from boardvet.intent.types import Intent

__all__ = ["parse_intent", "read_intent"]


def read_intent(path: Path) -> Intent:
    """Read an intent page from a file.

    Parameters
    ----------
    path : Path
        A YAML file in UTF-8.

    Returns
    -------
    Intent
        What it states; references are not yet compared with a board, see `check_against`.

    Raises
    ------
    InputErrors
        With every mistake of the page, in the order of their places.
    """
    file = str(path)
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        what = "has a character that is not UTF-8"
        raise InputErrors([InputError(file, what, "save it as UTF-8", line)]) from None
    except OSError as error:
        what = f"cannot be read: {error.strerror or error}"
        raise InputErrors([InputError(file, what, "check the path and its rights")]) from None
    return parse_intent(text, file)


def parse_intent(text: str, file: str = "boardvet.yaml") -> Intent:
    """Read an intent page from a text; `file` names it in places. Raises as `read_intent`.

    Examples
    --------
    >>> parse_intent("boards: 100").boards
    Known(value=100, unit='', source='intent boardvet.yaml:1')
    """
    mistakes: list[InputError] = []
    root = read_nodes(text, file, mistakes)
    if root is None:
        if mistakes:
            raise InputErrors(mistakes)
        return Intent(path=file)
    page = read(root, mistakes)
    mistakes += cross_mistakes(root)
    if mistakes:
        unique = dict.fromkeys((m.line, m.column, m.what, m.do) for m in mistakes)
        raise InputErrors(InputError(file, w, d, line, col) for line, col, w, d in sorted(unique))
    return build(page, root, file)
