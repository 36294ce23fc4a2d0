"""The shape of an intent page: which keys may stand where, made from the vocabulary.

The shape is data. `read` checks a page against it; `boardvet.intent.models` makes pydantic
models of the same data, for the JSON schema and as a second opinion in tests. Importing pydantic
and making the models would take longer than the rest of a small review.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple, TypeAlias

from boardvet.board import Place
from boardvet.errors import InputError
from boardvet.intent.leaves import LeafError, joined_pins, raw_text, stated
from boardvet.intent.names import quoted, shortened
from boardvet.intent.nodes import Listing, Node, Table
from boardvet.vocabulary.entries import CELL, GROUPS, MODE, PAGE, PATTERN, SOURCE, WAIVER
from boardvet.vocabulary.forms import Property, nearest
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES

__all__ = ["PAGE_SHAPE", "Keys", "Named", "Pins", "Raw", "Several", "Shape", "Value", "read"]

Path: TypeAlias = tuple[str | int, ...]


class Value(NamedTuple):
    """One value of a property."""

    of: Property


class Raw(NamedTuple):
    """One value that is read by whom it concerns."""


class Pins(NamedTuple):
    """Groups of pins that a switch joins."""


class Keys(NamedTuple):
    """A table with these keys and no others; `name` is what schemas call it."""

    name: str
    fields: Mapping[str, Shape]
    required: tuple[str, ...] = ()


class Named(NamedTuple):
    """A table with any keys: parts, nets, modes."""

    each: Shape


class Several(NamedTuple):
    """A list; `one_too` if a single table stands for a list of one."""

    each: Shape
    one_too: bool = False


Shape: TypeAlias = Value | Raw | Pins | Keys | Named | Several


def _keys(
    name: str, of: Mapping[str, Property], required: tuple[str, ...] = (), **further: Shape
) -> Keys:
    return Keys(name, {**{key: Value(each) for key, each in of.items()}, **further}, required)


_ENTRIES: Final = Several(_keys("PatternEntry", PATTERN))
_TEXTS: Final = Named(Named(Raw()))

PAGE_SHAPE: Final = _keys(
    "Page",
    PAGE,
    cell=Several(_keys("Cell", CELL), one_too=True),
    sources=Named(_keys("Source", SOURCE)),
    pattern=_ENTRIES,
    modes=Named(_keys("Mode", MODE, closed=Named(Pins()), pattern=_ENTRIES)),
    parts=Named(_keys("Part", PROPERTIES)),
    nets=Named(_keys("Net", NET_PROPERTIES)),
    settings=_TEXTS,
    waivers=Several(_keys("Waiver", WAIVER, ("rule", "at", "because"))),
    columns=_TEXTS,
)
"""The whole page."""


def read(root: Table, mistakes: list[InputError]) -> dict[str, Any]:
    """Read a page.

    Parameters
    ----------
    root : Table
        The page.
    mistakes : list of InputError
        Gets every mistake; where it got one, what is returned is not whole.

    Returns
    -------
    dict
        Every key of the page with what it states, None where it is absent: a dict for a table,
        a list for a list, and for a single value what `boardvet.intent.leaves` makes of it.
    """
    page = _read(PAGE_SHAPE, root, (), mistakes)
    return page if isinstance(page, dict) else {}


def _read(shape: Shape, node: Node, path: Path, mistakes: list[InputError]) -> Any:
    match shape:
        case Keys():
            if isinstance(node, Table):
                return _table(shape, node, path, mistakes)
        case Named(each):
            if isinstance(node, Table):
                return {
                    key.text: _read(each, value, (*path, key.text), mistakes)
                    for key, value in node.entries
                }
        case Several(each, one_too):
            alone = one_too and isinstance(node, Table)
            if alone or isinstance(node, Listing):
                items = node.items if isinstance(node, Listing) else (node,)
                return [
                    _read(each, item, (*path, index), mistakes) for index, item in enumerate(items)
                ]
        case _:
            try:
                return _single(shape, node)
            except LeafError as error:
                mistakes += error.mistakes
                return None
    mistakes.append(_misshapen(shape, node.place, path))
    return None


def _single(shape: Value | Raw | Pins, node: Node) -> object:
    if isinstance(shape, Value):
        return stated(shape.of, node)
    return joined_pins(node) if isinstance(shape, Pins) else raw_text(node)


def _table(shape: Keys, node: Table, path: Path, mistakes: list[InputError]) -> dict[str, Any]:
    read: dict[str, Any] = dict.fromkeys(shape.fields)
    for key, value in node.entries:
        each = shape.fields.get(key.text)
        if each is None:
            mistakes.append(_mistake(key.place, *_unknown_key(shape, key.text, path)))
        else:
            read[key.text] = _read(each, value, (*path, key.text), mistakes)
    mistakes += _absent(shape, node)
    return read


def _absent(shape: Keys, node: Table) -> Iterator[InputError]:
    """Yield the keys that have to be there; one without its value is a mistake already."""
    for name in shape.required:
        if node.get(name) is None and name not in node.dropped:
            do = f"add {_example(shape.fields[name], name, ())}"
            yield _mistake(node.place, f"{quoted(name)} is missing here", do)


def _unknown_key(shape: Keys, name: str, path: Path) -> tuple[str, str]:
    keys = list(shape.fields)
    above = _words(path)
    what = f"unknown key {quoted(name)}" + (f" under {above}" if above else "")
    like = nearest(name, keys)
    if like:
        return what, f"did you mean {like!r}?"
    if len(keys) > 12:
        return what, "`boardvet explain intent` lists the keys"
    return what, f"the keys here are {', '.join(keys)}"


def _misshapen(shape: Shape, place: Place, path: Path) -> InputError:
    wanted = "a list" if isinstance(shape, Several) else "keys with values"
    names = [step for step in path if isinstance(step, str)]
    do = f"for instance {_example(shape, names[-1] if names else '', path)}"
    return _mistake(place, f"{_words(path)}: {wanted} has to stand here", do)


def _example(shape: Shape, name: str, path: Path) -> str:
    """Return an example of what should stand at a path."""
    if isinstance(shape, Value):
        return f"{name}: {shape.of.example}"
    group = next((step for step in reversed(path) if step in GROUPS), "")
    return f"{group}: {GROUPS[str(group)].example}" if group else "see `boardvet explain intent`"


def _words(path: Path) -> str:
    """Return the keys of a path for a message."""
    names = (shortened(step) for step in path if isinstance(step, str))
    return ", ".join(name if name.isprintable() else repr(name) for name in names)


def _mistake(place: Place, what: str, do: str) -> InputError:
    return InputError(place.file, what, do, *place[1:])
