"""The user page: true to the vocabulary, and its examples are read."""

from __future__ import annotations

import subprocess
import sys

import pytest

from boardvet.intent import parse_intent
from boardvet.intent.page import EXAMPLE, MODES_EXAMPLE, intent_page
from boardvet.vocabulary.entries import CELL, GROUPS, PAGE, PATTERN, WAIVER
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES


def test_every_key_is_on_the_page() -> None:
    first_words = {line.split()[0] for line in intent_page().splitlines() if line.startswith("  ")}
    wanted = {*PAGE, *GROUPS, *CELL, *PATTERN, *WAIVER, *PROPERTIES, *NET_PROPERTIES, "closed"}
    assert wanted <= first_words


def test_the_page_is_plain_text_of_eighty_columns() -> None:
    lines = intent_page().splitlines()
    assert [line for line in lines if len(line) > 80] == []
    assert all(line.isprintable() and line == line.rstrip() for line in lines)


@pytest.mark.parametrize("example", [EXAMPLE, MODES_EXAMPLE])
def test_the_examples_of_the_page_are_on_it_and_are_read(example: str) -> None:
    shown = "".join(f"  {line}\n" for line in example.splitlines())
    assert shown in intent_page()
    assert parse_intent(example).cells


def test_the_value_forms_that_the_page_shows_are_read() -> None:
    page = intent_page()
    for text, key in [
        ("1.8 to 5.5 V", "parts: {U1: {supply: %s}}"),
        ("1.75 V at 1 mA and 1.95 V at 10 mA", "parts: {D1: {forward_voltage: %s}}"),
        ("3 h per day", "modes: {a: {share: %s}}"),
        ("620 mAh", "cell: {capacity: %s}"),
        ("60 days", "run_time: %s"),
    ]:
        assert text in page
        parse_intent(key % text)


def test_asking_for_no_page_loads_neither_the_yaml_library_nor_pydantic() -> None:
    code = (
        "import sys, boardvet.intent, boardvet.vocabulary.properties; "
        "boardvet.intent.Intent.empty(); "
        "sys.exit(len({'yaml', 'pydantic', 'pydantic_core', 'numpy'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
