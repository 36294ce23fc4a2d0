"""The shape of an intent page as pydantic models, made from the vocabulary.

A model checks which keys may stand where and hands each value to the form of its property. A
value comes in as a node with its place and goes out as `Known`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache, partial
from pathlib import PurePath
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
    create_model,
)

from boardvet.board import Place
from boardvet.errors import InputError, QuantityError
from boardvet.intent.names import expand_all, quoted
from boardvet.intent.nodes import Listing, Node, Table, Text
from boardvet.known import Known
from boardvet.vocabulary.entries import CELL, GROUPS, MODE, PAGE, PATTERN, SOURCE, WAIVER
from boardvet.vocabulary.forms import Form, Property, Stated, parse
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES

__all__ = ["ONE", "REFERENCES", "LeafError", "intent_source", "keys_at", "page_model", "plain"]

REFERENCES = frozenset({"part", "lights", "sources", "at"})
"""Keys whose lists are of references, so that ranges are written out."""

ONE: dict[str, Any] = {"type": ["string", "number", "boolean"]}
"""JSON schema of one value: editors see 3 and yes where the page means text."""


class LeafError(ValueError):
    """A value that is not right, with the mistakes and their places."""

    def __init__(self, *mistakes: InputError) -> None:
        super().__init__("; ".join(map(str, mistakes)))
        self.mistakes = mistakes


class _Branch(dict[str, Any]):
    """A table on its way through pydantic; knows where it stands."""

    place: Place


class _Branches(list[Any]):
    """A list on its way through pydantic; knows where it stands."""

    place: Place


def plain(node: Node) -> Any:
    """Return a node as pydantic wants it: dicts and lists down to the texts."""
    if isinstance(node, Table):
        branch = _Branch((key.text, plain(value)) for key, value in node.entries)
        branch.place = node.place
        return branch
    if isinstance(node, Listing):
        branches = _Branches(plain(item) for item in node.items)
        branches.place = node.place
        return branches
    return node


def intent_source(place: Place) -> str:
    """Return the source text of what stands at a place of the page."""
    return f"intent {PurePath(place.file).name}:{place.line}"


def keys_at(path: tuple[str | int, ...]) -> Mapping[str, object]:
    """Return the keys that may stand in the table at a path, by name."""
    names = [step for step in path if isinstance(step, str)]
    match names:
        case []:
            return page_model().model_fields
        case ["cell"]:
            return CELL
        case ["sources", _]:
            return SOURCE
        case ["pattern"] | ["modes", _, "pattern"]:
            return PATTERN
        case ["modes", _]:
            return {**MODE, "closed": None, "pattern": None}
        case ["parts", _]:
            return PROPERTIES
        case ["nets", _]:
            return NET_PROPERTIES
        case ["waivers"]:
            return WAIVER
    return {}


def shape_example(path: tuple[str | int, ...]) -> str:
    """Return an example of what should stand at a path."""
    keys = keys_at(path[:-1])
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    of = keys.get(name)
    if isinstance(of, Property):
        return f"{name}: {of.example}"
    group = next((step for step in reversed(path) if step in GROUPS), "")
    return f"{group}: {GROUPS[str(group)].example}" if group else "see `boardvet explain intent`"


@cache
def page_model() -> type[BaseModel]:
    """Return the model of the whole page."""
    cell, source = _model("Cell", CELL), _model("Source", SOURCE)
    entry = _model("PatternEntry", PATTERN)
    part, net = _model("Part", PROPERTIES), _model("Net", NET_PROPERTIES)
    mode = _model("Mode", MODE, closed=_field(dict[str, _CLOSED]), pattern=_field(list[entry]))  # type: ignore[valid-type]
    waiver = _model("Waiver", WAIVER, required=("rule", "at", "because"))
    texts = dict[str, dict[str, _RAW]]
    return _model(
        "Page",
        PAGE,
        cell=_group("cell", Annotated[list[cell], BeforeValidator(_as_list)]),  # type: ignore[valid-type]
        sources=_group("sources", dict[str, source]),  # type: ignore[valid-type]
        pattern=_group("pattern", list[entry]),  # type: ignore[valid-type]
        modes=_group("modes", dict[str, mode]),  # type: ignore[valid-type]
        parts=_group("parts", dict[str, part]),  # type: ignore[valid-type]
        nets=_group("nets", dict[str, net]),  # type: ignore[valid-type]
        settings=_group("settings", texts),
        waivers=_group("waivers", list[waiver]),  # type: ignore[valid-type]
        columns=_group("columns", texts),
    )


def _field(annotation: Any) -> Any:
    return annotation, None


def _group(name: str, annotation: Any) -> Any:
    return annotation, Field(None, description=GROUPS[name].meaning)


def _model(
    name: str, of: Mapping[str, Property], required: tuple[str, ...] = (), **further: Any
) -> type[BaseModel]:
    fields: dict[str, Any] = {
        each.name: (
            Annotated[
                Any, PlainValidator(partial(_leaf, each)), WithJsonSchema(_leaf_schema(each))
            ],
            Field(... if each.name in required else None, description=each.meaning),
        )
        for each in of.values()
    }
    return create_model(name, __config__=ConfigDict(extra="forbid"), **fields, **further)


def _leaf(of: Property, given: object) -> Known[object]:
    """Return what is stated of one property, or raise with every mistake in it."""
    place = getattr(given, "place", Place(""))
    values: list[object] = []
    unit, mistakes = of.unit, []
    for piece, at in _pieces(of, given, place):
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
    return Known(_joined(of, values), unit, intent_source(place))


def _pieces(of: Property, given: object, place: Place) -> list[tuple[Stated, Place]]:
    """Return what is to be read apart, each with its place."""
    if isinstance(given, Text):
        return [(given.text, place)]
    texts = given.values() if isinstance(given, dict) else given
    if isinstance(texts, Iterable) and all(isinstance(text, Text) for text in texts):
        if of.form is Form.LIST and isinstance(given, list):
            return [([item.text], item.place) for item in given]
        if of.form is Form.ROLES and isinstance(given, dict):
            return [({pin: role.text}, role.place) for pin, role in given.items()]
    shape = "keys with values" if isinstance(given, dict) else "a list"
    what = f"{of.name}: {shape} cannot stand here"
    if of.form is Form.LIST and isinstance(given, list):
        what = f"{of.name}: the items of this list have to be texts"
    do = f"for instance {of.name}: {of.example}"
    raise LeafError(InputError(place.file, what, do, *place[1:]))


def _joined(of: Property, values: list[object]) -> object:
    if of.form is Form.LIST:
        return tuple(item for value in values if isinstance(value, tuple) for item in value)
    if of.form is Form.ROLES:
        return {
            pin: role for value in values if isinstance(value, dict) for pin, role in value.items()
        }
    return values[0]


def _leaf_schema(of: Property) -> dict[str, Any]:
    one: dict[str, Any] = {"enum": list(of.choices)} if of.choices else dict(ONE)
    if of.form is Form.LIST:
        alone = {"anyOf": [one, {"enum": ["yes", "no", True, False]}]} if of.yes_too else one
        return {"anyOf": [alone, {"type": "array", "items": one}], "examples": [of.example]}
    if of.form is Form.ROLES:
        return {"type": "object", "additionalProperties": one}
    return {**one, "examples": [of.example]}


def _as_list(given: object) -> object:
    return [given] if isinstance(given, dict) else given


def _raw(given: object) -> Text:
    if isinstance(given, Text):
        return given
    place = getattr(given, "place", Place(""))
    what = "a list or table stands where one value has to"
    raise LeafError(InputError(place.file, what, "write one text or number", *place[1:]))


def _closed(given: object) -> tuple[tuple[str, ...], ...]:
    """Read ``[1, 2]``, one group of joined pins, or ``[[1, 2], [4, 5]]``, several."""
    groups = given if isinstance(given, list) else []
    if groups and all(isinstance(item, Text) for item in groups):
        groups = [groups]
    read = tuple(
        tuple(pin.text for pin in group if isinstance(pin, Text))
        for group in groups
        if isinstance(group, list)
    )
    if read and len(read) == len(groups) and all(len(set(group)) > 1 for group in read):
        return read
    place = getattr(given, "place", Place(""))
    what = "closed: this does not say which pins of the switch are joined"
    raise LeafError(InputError(place.file, what, "for instance closed: {SW1: [1, 2]}", *place[1:]))


_PINS = {"type": "array", "items": ONE, "minItems": 2}
_RAW = Annotated[Any, PlainValidator(_raw), WithJsonSchema(dict(ONE))]
_CLOSED = Annotated[
    Any,
    PlainValidator(_closed),
    WithJsonSchema({"anyOf": [_PINS, {"type": "array", "items": _PINS, "minItems": 1}]}),
]
