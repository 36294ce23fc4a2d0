"""The JSON schema for editors agrees with the reader on keys, shapes and words."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from boardvet.errors import InputErrors
from boardvet.intent import parse_intent
from boardvet.intent.page import EXAMPLE, MODES_EXAMPLE
from boardvet.intent.schema import json_schema
from boardvet.vocabulary.entries import CELL, GROUPS, PAGE
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES

SCHEMA = json_schema()
VALIDATOR = Draft202012Validator(SCHEMA)


class EditorLoader(yaml.SafeLoader):
    """Reads a page as editors do: numbers and yes/no become such, dates stay texts."""


EditorLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in known if not tag.endswith(":timestamp")]
    for first, known in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def with_text_keys(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): with_text_keys(each) for key, each in value.items()}
    if isinstance(value, list):
        return [with_text_keys(each) for each in value]
    return value


def editor_complains(text: str) -> bool:
    loaded = with_text_keys(yaml.load(text, EditorLoader))
    return not VALIDATOR.is_valid(loaded)


def reader_complains(text: str) -> bool:
    try:
        parse_intent(text)
    except InputErrors:
        return True
    return False


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_the_schema_has_every_key_with_its_meaning() -> None:
    assert set(SCHEMA["properties"]) == {*PAGE, *GROUPS}
    for name, keys in {"Part": PROPERTIES, "Net": NET_PROPERTIES, "Cell": CELL}.items():
        described = SCHEMA["$defs"][name]["properties"]
        assert {key: each["description"] for key, each in described.items()} == {
            key: of.meaning for key, of in keys.items()
        }


RIGHT = [
    EXAMPLE,
    MODES_EXAMPLE,
    "board: 12\nboards: 100\nnear: []",
    "board: yes\nexports: 3",
    "cell: {protected: yes, series: 2}",
    "cell: [{part: BT1}, {part: [BT2, BT3]}]",
    "parts: {U1: {fail_safe: no, pull_inside: yes, emission: 2}}",
    "parts: {U1: {pull_inside: [3, RESET], pins: {3: enable, 7: no connect}}}",
    "modes: {a: {closed: {SW1: [1, 2], SW2: [[1, 2], [A, B]], SW3: [1, 2, 3]}, share: 10 %}}",
    "modes: {a: {closed: {}}}",
    "nets: {12: {bus: i2c, leaves_board: true, driven_by: U1}}",
    "settings: {some-rule: {limit: 3, other: yes, third: far}}",
    "waivers: [{rule: a, at: [D1, 2], because: b, until: 2027-06-01}]",
    "columns: {a.csv: {reference: Pos, quantity: 3}}",
]
WRONG = [
    "bord: x",
    "board: [x]",
    "board: {x: y}",
    "cell: {typ: CR2032}",
    "cell: CR2032",
    "cell: [CR2032]",
    "near: [kids]",
    "exports: [a, [b]]",
    "sources: [J1]",
    "sources: {J1: 5 V}",
    "pattern: {lights: D1}",
    "pattern: [D1]",
    "pattern: [{light: D1}]",
    "modes: {a: {closed: {SW1: [1]}}}",
    "modes: {a: {closed: {SW1: 1}}}",
    "modes: {a: {closed: {SW1: []}}}",
    "modes: {a: {closed: [SW1]}}",
    "modes: [a]",
    "parts: {U1: {kind: gizmo}}",
    "parts: {U1: {pins: {3: wiggle}}}",
    "parts: {U1: {pins: [3]}}",
    "parts: {U1: {supply: [1, 2]}}",
    "parts: {U1: }",
    "nets: {A: {bus: train}}",
    "settings: {some-rule: 3}",
    "settings: {some-rule: {limit: [3]}}",
    "waivers: [{rule: a, at: b}]",
    "waivers: {rule: a, at: b, because: c}",
    "columns: {a.csv: Pos}",
    "- a",
]


@pytest.mark.parametrize("page", RIGHT)
def test_a_page_that_is_right_pleases_editor_and_reader(page: str) -> None:
    assert (editor_complains(page), reader_complains(page)) == (False, False)


@pytest.mark.parametrize("page", WRONG)
def test_a_page_of_the_wrong_shape_displeases_editor_and_reader(page: str) -> None:
    assert (editor_complains(page), reader_complains(page)) == (True, True)


def test_the_schema_can_be_written_to_a_file() -> None:
    written = subprocess.run(
        [sys.executable, "-m", "boardvet.intent.schema"], capture_output=True, check=True
    )
    assert json.loads(written.stdout) == SCHEMA
