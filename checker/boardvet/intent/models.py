"""The shape of an intent page as pydantic models, made from the vocabulary.

A model checks which keys may stand where and hands each value to the form of its property. A
value comes in as a node with its place and goes out as `Known`.
"""

from __future__ import annotations

from collections.abc import Mapping
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
from boardvet.intent.names import expand_all
from boardvet.intent.nodes import Listing, Node, Table, Text
from boardvet.known import Known
from boardvet.vocabulary.entries import CELL, MODE, PAGE, PATTERN, SOURCE, WAIVER
from boardvet.vocabulary.forms import Form, Property, Stated, parse
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES

__all__ = ["ONE", "REFERENCES", "LeafError", "intent_source", "keys_at", "page_model", "plain"]

REFERENCES = frozenset({"part", "lights", "sources", "at"})
"""Keys whose lists are of references, so that ranges are written out."""

ONE: dict[str, Any] = {"type": ["string", "number", "boolean"]}
"""JSON schema of one value: editors see 3 and yes where the page means text."""

_SHAPE_EXAMPLES = {
    "cell": "{part: BT1, type: CR2450}",
    "sources": "J1: {net: VBUS, voltage: 4.75 to 5.25 V}",
    "pattern": "- {lights: [D1], for: 5 ms, every: 1 s}",
    "modes": "bright: {share: 1 h per day, pattern: [{lights: [D1]}]}",
    "parts": "U1: {supply: 1.8 to 5.5 V}",
    "nets": "SDA: {bus: i2c}",
    "settings": "bypass-far: {distance: 5 mm}",
    "waivers": "- {rule: led-headroom, at: D3, because: dims on purpose}",
    "columns": "parts.csv: {reference: Pos}",
    "closed": "{SW1: [1, 2]}",
}


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
    group = next((step for step in reversed(path) if step in _SHAPE_EXAMPLES), "")
    return _SHAPE_EXAMPLES.get(str(group), "see `boardvet explain intent`")


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
        cell=_field(Annotated[list[cell], BeforeValidator(_as_list)]),  # type: ignore[valid-type]
        sources=_field(dict[str, source]),  # type: ignore[valid-type]
        pattern=_field(list[entry]),  # type: ignore[valid-type]
        modes=_field(dict[str, mode]),  # type: ignore[valid-type]
        parts=_field(dict[str, part]),  # type: ignore[valid-type]
        nets=_field(dict[str, net]),  # type: ignore[valid-type]
        settings=_field(texts),
        waivers=_field(list[waiver]),  # type: ignore[valid-type]
        columns=_field(texts),
    )


def _field(annotation: Any) -> Any:
    return annotation, None


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
    """Return what is stated of one property."""
    place = getattr(given, "place", Place(""))
    try:
        value, unit = parse(of, _stated(of, given, place))
        if of.form is Form.LIST and of.name in REFERENCES and isinstance(value, tuple):
            value = expand_all(value)
    except QuantityError as error:
        what = f"{of.name}: {error.text!r} {error.what}"
        raise LeafError(InputError(place.file, what, error.do, *place[1:])) from None
    return Known(value, unit, intent_source(place))


def _stated(of: Property, given: object, place: Place) -> Stated:
    if isinstance(given, Text):
        return given.text
    if of.form is Form.LIST and isinstance(given, list):
        if all(isinstance(item, Text) for item in given):
            return [item.text for item in given]
    elif of.form is Form.ROLES and isinstance(given, dict):
        if all(isinstance(item, Text) for item in given.values()):
            return {pin: role.text for pin, role in given.items()}
    shape = "a table of keys" if isinstance(given, dict) else "a list"
    do = f"for instance {of.name}: {of.example}"
    raise LeafError(
        InputError(place.file, f"{of.name}: {shape} stands where a value has to", do, *place[1:])
    )


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
