"""Single values of an intent page: from a node with its place to what it states."""

from __future__ import annotations

from pathlib import PurePath

from boardvet.board import Place
from boardvet.errors import InputError, QuantityError
from boardvet.intent.names import expand_all, quoted
from boardvet.intent.nodes import Listing, Node, Text
from boardvet.known import Known
from boardvet.vocabulary.forms import Form, Property, Stated, parse

__all__ = ["REFERENCES", "LeafError", "joined_pins", "raw_text", "stated"]

REFERENCES = frozenset({"part", "lights", "sources", "at"})
"""Keys whose lists are of references, so that ranges are written out."""


class LeafError(ValueError):
    """A value that is not right, with the mistakes and their places."""

    def __init__(self, *mistakes: InputError) -> None:
        super().__init__("; ".join(map(str, mistakes)))
        self.mistakes = mistakes


def stated(of: Property, given: Node) -> Known[object]:
    """Return what is stated of one property, or raise `LeafError` with every mistake in it."""
    values: list[object] = []
    unit, mistakes = of.unit, []
    for piece, at in _pieces(of, given):
        try:
            value, unit = parse(of, piece)
            if of.form is Form.LIST and of.name in REFERENCES and isinstance(value, tuple):
                value = expand_all(value)
            values.append(value)
        except QuantityError as error:
            what = f"{of.name}: {quoted(error.text)} {error.what}"
            mistakes.append(InputError(at.file, what, error.do, *at[1:]))
    if mistakes:
        raise LeafError(*mistakes)
    return Known(_joined(of, values), unit, _source(given.place))


def raw_text(given: Node) -> Text:
    """Return a value that is read later, or raise `LeafError` if it is not one value."""
    if isinstance(given, Text):
        return given
    what = "a list or table stands where one value has to"
    raise _wrong(given.place, what, "write one text or number")


def joined_pins(given: Node) -> tuple[tuple[str, ...], ...]:
    """Read ``[1, 2]``, one group of joined pins, or ``[[1, 2], [4, 5]]``, several.

    Raises
    ------
    LeafError
        If it is neither, or a group joins fewer than two pins.
    """
    groups = given.items if isinstance(given, Listing) else ()
    if isinstance(given, Listing) and groups and all(isinstance(item, Text) for item in groups):
        groups = (given,)
    read = tuple(
        tuple(pin.text for pin in group.items if isinstance(pin, Text))
        for group in groups
        if isinstance(group, Listing)
    )
    if read and len(read) == len(groups) and all(len(set(group)) > 1 for group in read):
        return read
    what = "closed: this does not say which pins of the switch are joined"
    raise _wrong(given.place, what, "for instance closed: {SW1: [1, 2]}")


def _pieces(of: Property, given: Node) -> list[tuple[Stated, Place]]:
    """Return what is to be read apart, each with its place."""
    if isinstance(given, Text):
        return [(given.text, given.place)]
    if isinstance(given, Listing):
        items = [item for item in given.items if isinstance(item, Text)]
        of_texts = len(items) == len(given.items)
        if of.form is Form.LIST and of_texts:
            return [([item.text], item.place) for item in items]
        what = f"{of.name}: a list cannot stand here"
        if of.form is Form.LIST:
            what = f"{of.name}: the items of this list have to be texts"
    else:
        roles = [(key.text, role) for key, role in given.entries if isinstance(role, Text)]
        if of.form is Form.ROLES and len(roles) == len(given.entries):
            return [({pin: role.text}, role.place) for pin, role in roles]
        what = f"{of.name}: keys with values cannot stand here"
    raise _wrong(given.place, what, f"for instance {of.name}: {of.example}")


def _joined(of: Property, values: list[object]) -> object:
    if of.form is Form.LIST:
        return tuple(item for value in values if isinstance(value, tuple) for item in value)
    if of.form is Form.ROLES:
        return {
            pin: role for value in values if isinstance(value, dict) for pin, role in value.items()
        }
    return values[0]


def _source(place: Place) -> str:
    return f"intent {PurePath(place.file).name}:{place.line}"


def _wrong(place: Place, what: str, do: str) -> LeafError:
    return LeafError(InputError(place.file, what, do, *place[1:]))
