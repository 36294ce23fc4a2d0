"""The shape of an intent page as pydantic models, made from the same data as the reader's.

They make the JSON schema, and tests hold the reader against them: a page that one of the two
takes, the other takes too, and reads the same from it. No review imports this module.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, partial
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

from boardvet.intent.leaves import joined_pins, raw_text, stated
from boardvet.intent.nodes import Listing, Node, Table
from boardvet.intent.shape import PAGE_SHAPE, Keys, Named, Pins, Raw, Several, Shape, Value
from boardvet.vocabulary.entries import GROUPS
from boardvet.vocabulary.forms import Form, Property

__all__ = ["page_model", "plain"]

_ONE: dict[str, Any] = {"type": ["string", "number", "boolean"]}
"""JSON schema of one value: editors see 3 and yes where the page means text."""


class _Branch(dict[str, Any]):
    """A table on its way through pydantic; knows the node it was."""

    node: Node


class _Branches(list[Any]):
    """A list on its way through pydantic; knows the node it was."""

    node: Node


def plain(node: Node) -> Any:
    """Return a node as pydantic wants it: dicts and lists down to the texts."""
    if isinstance(node, Table):
        branch = _Branch((key.text, plain(value)) for key, value in node.entries)
        branch.node = node
        return branch
    if isinstance(node, Listing):
        branches = _Branches(plain(item) for item in node.items)
        branches.node = node
        return branches
    return node


@cache
def page_model() -> type[BaseModel]:
    """Return the model of the whole page."""
    return _model(PAGE_SHAPE, {})


def _model(shape: Keys, made: dict[str, type[BaseModel]]) -> type[BaseModel]:
    if shape.name not in made:
        fields: dict[str, Any] = {
            key: (
                _annotation(each, made),
                Field(
                    ... if key in shape.required else None, description=_meaning(shape, key, each)
                ),
            )
            for key, each in shape.fields.items()
        }
        made[shape.name] = create_model(
            shape.name, __config__=ConfigDict(extra="forbid"), **fields
        )
    return made[shape.name]


def _meaning(shape: Keys, key: str, each: Shape) -> str | None:
    if isinstance(each, Value):
        return each.of.meaning
    return GROUPS[key].meaning if shape is PAGE_SHAPE else None


def _annotation(shape: Shape, made: dict[str, type[BaseModel]]) -> Any:
    match shape:
        case Keys():
            return _model(shape, made)
        case Named(each):
            return dict[str, _annotation(each, made)]  # type: ignore[misc]
        case Several(each, one_too):
            items: Any = list[_annotation(each, made)]  # type: ignore[misc]
            return Annotated[items, BeforeValidator(_as_list)] if one_too else items
        case Value(of):
            return _leaf(partial(stated, of), _value_schema(of))
        case Pins():
            return _leaf(joined_pins, _PINS_SCHEMA)
        case Raw():
            return _leaf(raw_text, dict(_ONE))


def _leaf(read: Any, schema: Mapping[str, Any]) -> Any:
    return Annotated[
        Any,
        PlainValidator(lambda given: read(getattr(given, "node", given))),
        WithJsonSchema(dict(schema)),
    ]


def _value_schema(of: Property) -> dict[str, Any]:
    one: dict[str, Any] = {"enum": list(of.choices)} if of.choices else dict(_ONE)
    if of.form is Form.LIST:
        alone = {"anyOf": [one, {"enum": ["yes", "no", True, False]}]} if of.yes_too else one
        return {"anyOf": [alone, {"type": "array", "items": one}], "examples": [of.example]}
    if of.form is Form.ROLES:
        return {"type": "object", "additionalProperties": one}
    return {**one, "examples": [of.example]}


def _as_list(given: object) -> object:
    return [given] if isinstance(given, dict) else given


_PINS = {"type": "array", "items": _ONE, "minItems": 2}
_PINS_SCHEMA = {"anyOf": [_PINS, {"type": "array", "items": _PINS, "minItems": 1}]}
