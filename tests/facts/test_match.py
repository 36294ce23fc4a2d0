"""Which family a text names: literal prefixes, whole groups, the longest one."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.facts.match import PrefixTable, check_prefix, fold

TABLE = PrefixTable(
    (prefix, prefix)
    for prefix in ("1N4148", "ATtiny4", "ATtiny44", "74HC", "74HCT", "TLV700##", "TLV70033",
                   "ESP32!", "ESP32-C3!", "AMS1117", "CD40##", "BC847")
)  # fmt: skip


def named(text: str) -> str | None:
    found = TABLE.find(text)
    return found.entry if found else None


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("1N4148", "1N4148"),
        ("1n4148w", "1N4148"),
        ("1N4148WS-7-F", "1N4148"),
        ("BC847B", "BC847"),
        ("74HC04D", "74HC"),
        ("AMS1117-3.3", "AMS1117"),
        ("ams 1117 3.3", "AMS1117"),
        ("CD4013BE", "CD40##"),
        ("ESP32", "ESP32!"),
    ],
)
def test_a_longer_part_number_belongs_to_the_family_of_its_prefix(text: str, family: str) -> None:
    assert named(text) == family


@pytest.mark.parametrize(
    "text",
    [
        "1N41480",
        "ATtiny441",
        "ATtiny45",
        "74HCU04",
        "AMS11173",
        "CD40106",
        "ESP32-H2",
        "BC84",
        "1N4",
    ],
)
def test_a_prefix_that_ends_inside_a_group_names_nothing(text: str) -> None:
    """ATtiny441 is no ATtiny44 and no ATtiny4; ESP32-H2 is not the ESP32."""
    assert named(text) is None


def test_the_longest_prefix_wins() -> None:
    assert named("ATtiny44A") == "ATtiny44"
    assert named("74HCT04") == "74HCT"
    assert named("ESP32-C3") == "ESP32-C3!"


def test_a_literal_digit_wins_over_any_digit() -> None:
    assert named("TLV70033DDC") == "TLV70033"
    assert named("TLV70018DDC") == "TLV700##"


def test_what_follows_the_literal_part_is_handed_on_as_written() -> None:
    found = TABLE.find("AMS1117-3.3")
    assert found is not None
    assert found.rest == "-3.3"
    digits = TABLE.find("TLV70018DDC")
    assert digits is not None
    assert digits.rest == "18DDC"


@pytest.mark.parametrize("prefix", ["1N4", "LM3", "", "--", "1##4", "U_3"])
def test_a_prefix_that_would_match_by_accident_is_refused(prefix: str) -> None:
    assert check_prefix(prefix)


@pytest.mark.parametrize("prefix", ["74HC", "TLV700##", "ESP32!", "SS14"])
def test_a_prefix_of_four_letters_and_digits_is_taken(prefix: str) -> None:
    assert check_prefix(prefix) == ""


@given(st.text(max_size=30))
@example("µΩ-10k")
@example("¹²³")
def test_folding_keeps_the_place_of_every_letter(text: str) -> None:
    folded = fold(text)
    assert len(folded.origin) == len(folded.text) + 1
    for letter, index in zip(folded.text, folded.origin, strict=False):
        assert text[index].upper() == letter


@given(st.text(max_size=40))
def test_whatever_is_found_begins_with_its_prefix(text: str) -> None:
    """Law: a match is never fuzzy. Checked by a second, slower way of comparing."""
    found = TABLE.find(text)
    if found is None:
        return
    letters = [each for each in text.upper() if each.isascii() and each.isalnum()]
    wanted = [each for each in found.prefix.upper() if each == "#" or each.isalnum()]
    assert len(letters) >= len(wanted)
    assert all(a == b or (b == "#" and a.isdigit()) for a, b in zip(letters, wanted, strict=False))
