"""Reading a page of intent: all its mistakes at once, each with its place and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from boardvet.board import Place
from boardvet.errors import InputError, InputErrors
from boardvet.intent.build import build
from boardvet.intent.cross import cross_mistakes
from boardvet.intent.models import LeafError, keys_at, page_model, plain, shape_example
from boardvet.intent.names import quoted, shortened
from boardvet.intent.nodes import Listing, Node, Table, Text, read_nodes
from boardvet.intent.types import Intent
from boardvet.vocabulary.forms import nearest

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
    page, wrong = _shaped(root)
    mistakes += wrong
    mistakes += cross_mistakes(root)
    if page is None or mistakes:
        unique = dict.fromkeys((m.line, m.column, m.what, m.do) for m in mistakes)
        raise InputErrors(InputError(file, w, d, line, col) for line, col, w, d in sorted(unique))
    return build(page, root, file)


def _shaped(root: Table) -> tuple[BaseModel | None, list[InputError]]:
    """Return the page in its shape, or what is wrong with it."""
    try:
        return page_model().model_validate(plain(root)), []
    except ValidationError as error:
        return None, [
            mistake
            for details in error.errors(include_url=False, include_input=False)
            for mistake in _mistakes(root, dict(details))
        ]


def _mistakes(root: Table, details: dict[str, Any]) -> tuple[InputError, ...]:
    """Put one complaint of the schema into our words, with its place."""
    path: tuple[str | int, ...] = details["loc"]
    cause = details.get("ctx", {}).get("error")
    if isinstance(cause, LeafError):
        return cause.mistakes
    name = str(path[-1])
    if details["type"] == "extra_forbidden":
        return (_mistake(_place(root, path, key=True), *_unknown_key(path)),)
    if details["type"] == "missing":
        holder = _node(root, path[:-1])
        if isinstance(holder, Table) and name in holder.dropped:
            return ()
        do = f"add {shape_example(path)}"
        return (_mistake(_place(root, path[:-1]), f"{quoted(name)} is missing here", do),)
    wanted = "a list" if details["type"] == "list_type" else "keys with values"
    where = _words(path)
    do = f"for instance {shape_example(path)}"
    return (_mistake(_place(root, path), f"{where}: {wanted} has to stand here", do),)


def _unknown_key(path: tuple[str | int, ...]) -> tuple[str, str]:
    name = str(path[-1])
    keys = list(keys_at(path[:-1]))
    above = _words(path[:-1])
    what = f"unknown key {quoted(name)}" + (f" under {above}" if above else "")
    like = nearest(name, keys)
    if like:
        return what, f"did you mean {like!r}?"
    if len(keys) > 12:
        return what, "`boardvet explain intent` lists the keys"
    return what, f"the keys here are {', '.join(keys)}"


def _words(path: tuple[str | int, ...]) -> str:
    """Return the keys of a path for a message."""
    names = (shortened(step) for step in path if isinstance(step, str))
    return ", ".join(name if name.isprintable() else repr(name) for name in names)


def _mistake(place: Place, what: str, do: str) -> InputError:
    return InputError(place.file, what, do, *place[1:])


def _place(root: Table, path: tuple[str | int, ...], *, key: bool = False) -> Place:
    """Return the place of a value, or of its key."""
    if key:
        holder = _node(root, path[:-1])
        if isinstance(holder, Table):
            found = (each.place for each, _ in holder.entries if each.text == path[-1])
            return next(found, holder.place)
    return _node(root, path).place


def _node(root: Table, path: tuple[str | int, ...]) -> Node:
    """Return the node at a path, or the deepest on the way that there is."""
    node: Node = root
    for step in path:
        below: Node | None = None
        if isinstance(node, Table):
            below = node.get(str(step))
        elif isinstance(node, Listing) and isinstance(step, int) and step < len(node.items):
            below = node.items[step]
        if below is None and isinstance(node, Text):
            break
        node = below or node
    return node
