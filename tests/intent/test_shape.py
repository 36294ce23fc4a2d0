"""The reader of the page's shape, held against pydantic models of the same shape."""

from __future__ import annotations

import operator
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from boardvet.board import Place
from boardvet.errors import InputError
from boardvet.intent.models import page_model, plain
from boardvet.intent.nodes import Listing, Node, Table, Text, read_nodes
from boardvet.intent.page import EXAMPLE, MODES_EXAMPLE
from boardvet.intent.shape import (
    PAGE_SHAPE,
    Keys,
    Named,
    Pins,
    Raw,
    Several,
    Shape,
    Value,
    read,
)

PLACE = Place("boardvet.yaml", 1, 1)
WORDS = st.sampled_from(["", "1", "3.3 V", "yes", "R1", "D1-D3", "D9-D1", "red", "5 ms", "-4 V"])
TEXTS = WORDS.map(lambda text: Text(text, PLACE))
KEYS = st.sampled_from(["1", "2", "R1", "part", "type", "supply", "D1-D3"])


def table(entries: dict[str, Node]) -> Table:
    return Table(tuple((Text(key, PLACE), node) for key, node in entries.items()), PLACE)


def listing(items: list[Node]) -> Listing:
    return Listing(tuple(items), PLACE)


def anything() -> st.SearchStrategy[Node]:
    return st.recursive(
        TEXTS,
        lambda inner: st.one_of(
            st.lists(inner, max_size=3).map(listing),
            st.dictionaries(KEYS, inner, max_size=3).map(table),
        ),
        max_leaves=4,
    )


def fitting(shape: Shape) -> st.SearchStrategy[Node]:
    """Nodes that have this shape, or nearly: now and then something else stands in them."""
    match shape:
        case Keys(_, fields, required):
            some = {key: near(each) for key, each in list(fields.items())[:17]}
            needed = {key: near(fields[key]) for key in required}
            optional = {key: each for key, each in some.items() if key not in needed}
            right = st.fixed_dictionaries(needed, optional=optional)
            scanty = st.fixed_dictionaries({}, optional={**optional, **needed})
            wrong = st.dictionaries(KEYS, anything(), max_size=1)
            mixed = st.one_of(right, right, scanty, st.builds(operator.or_, right, wrong))
            return mixed.map(table)
        case Named(each):
            return st.dictionaries(KEYS, near(each), max_size=2).map(table)
        case Several(each, _):
            return st.one_of(st.lists(near(each), max_size=2).map(listing), near(each))
        case Value(of):
            return TEXTS if of.example[0] in "[{" else st.just(Text(of.example, PLACE))
        case Pins():
            return st.just(listing([Text("1", PLACE), Text("2", PLACE)]))
        case Raw():
            return TEXTS


def near(shape: Shape) -> st.SearchStrategy[Node]:
    fit = st.deferred(lambda: fitting(shape))
    return st.integers(0, 19).flatmap(lambda chance: anything() if chance == 0 else fit)


def unfolded(value: Any) -> Any:
    """Models as dicts, all the way down."""
    if isinstance(value, BaseModel):
        return {key: unfolded(each) for key, each in value}
    if isinstance(value, list):
        return [unfolded(each) for each in value]
    if isinstance(value, dict):
        return {key: unfolded(each) for key, each in value.items()}
    return value


def by_pydantic(root: Table) -> object:
    try:
        return unfolded(page_model().model_validate(plain(root)))
    except ValidationError as error:
        return error.error_count()


def by_reader(root: Table) -> object:
    mistakes: list[InputError] = []
    page = read(root, mistakes)
    return mistakes or page


@settings(max_examples=300, deadline=None)
@given(fitting(PAGE_SHAPE))
def test_law_reader_and_pydantic_take_the_same_pages_and_read_the_same(root: Node) -> None:
    assert isinstance(root, Table)
    own, other = by_reader(root), by_pydantic(root)
    if isinstance(other, int):
        assert isinstance(own, list)
        assert len(own) >= other
    else:
        assert own == other


@pytest.mark.parametrize("text", [EXAMPLE, MODES_EXAMPLE])
def test_reader_and_pydantic_read_the_same_from_the_examples(text: str) -> None:
    root = read_nodes(text, "boardvet.yaml", [])
    assert root is not None
    own = by_reader(root)
    assert isinstance(own, dict)
    assert own == by_pydantic(root)


def test_a_page_is_read_without_pydantic() -> None:
    code = (
        "import sys; from boardvet.intent import parse_intent; parse_intent('boards: 100'); "
        "print('pydantic' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
