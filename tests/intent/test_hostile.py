"""Pages made to break the reader: refused, quickly, and with a place."""

from __future__ import annotations

import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from boardvet.errors import InputError, InputErrors
from boardvet.intent import Intent, parse_intent
from boardvet.vocabulary.properties import PROPERTIES

BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join(['*' + below] * 9)}]\n"
    for below, name in zip("abcdefghi", "bcdefghij", strict=True)
)

FRAGMENTS = st.lists(
    st.one_of(
        st.sampled_from(
            ["parts", "cell", "modes", "pattern", "waivers", ": ", "{", "}", "[", "]", ", ", "\n",
             "  ", "- ", "D1-D3", "? ", "&a ", "*a", "!!int ", "|", ">", "'", '"', "#", "---\n",
             "3 V", "%", "on", "<<", "\t", "U1", "supply", "1.8 to 5.5 V", *PROPERTIES]
        ),
        st.text(max_size=3),
    )
).map("".join)  # fmt: skip


def read_or_refuse(text: str) -> None:
    """Read a page; anything but a result or a proper refusal fails the test."""
    mistakes: tuple[InputError, ...] = ()
    try:
        assert isinstance(parse_intent(text), Intent)
    except InputErrors as refused:
        mistakes = refused.errors
        if not mistakes:
            raise
    for mistake in mistakes:
        assert mistake.what
        assert mistake.do
        assert str(mistake).isprintable()


@given(st.text())
@example("\udc80")
@example("a: \x85b")
@example("\ufeff\ufeff")
@example("{? a}")
@example("? ? a")
@example("!<> a: b")
@example("--- >\n")
def test_any_text_is_read_or_refused(text: str) -> None:
    read_or_refuse(text)


@given(FRAGMENTS)
@settings(max_examples=300)
@example("cell: {part: [D1-D3, 1], series: {a: 1}}")
@example("modes: {a: {closed: {b: [[1, {c: d}]]}}}")
@example("pattern: [1, {lights: {a: b}, in_turn: [yes], for: [1], every: {}}]")
@example("parts: {D1-D3: 1, D2: [2]}")
def test_any_heap_of_yaml_is_read_or_refused(text: str) -> None:
    read_or_refuse(text)


@given(st.sampled_from(sorted(PROPERTIES)), st.text(st.characters(exclude_categories=["C"])))
def test_any_value_of_any_property_is_read_or_refused(key: str, text: str) -> None:
    quoted = text.replace("'", "''").replace("\n", " ")
    read_or_refuse(f"parts: {{U1: {{{key}: '{quoted}'}}}}")


TOO_MUCH = {
    "aliases": (BOMB, "an alias stands here"),
    "lists": ("exports: " + "[" * 10_000 + "]" * 10_000, "nest"),
    "some lists": ("exports: " + "[" * 100 + "]" * 100, "nested too deep"),
    "tables": ("{parts: " * 10_000 + "}" * 10_000, "nested too deep"),
    "open lists": ("[" * 10_000, "nest"),
    "dashes": ("- " * 10_000, "nested too deep"),
    "steps": ("".join(" " * depth + "a:\n" for depth in range(1_000)), "nested too deep"),
    "items": ("exports: [" + "x, " * 200_000 + "]", "too many entries"),
    "text": ("board: " + "x" * 100_000, "a text is too long"),
    "size": ("board: a\n" + "#\n" * 600_000, "is too long"),
    "parts": ("parts: {D1-D999999999: {colour: red}}", "too many parts"),
    "lights": ("pattern: [{lights: [D1-D999999999], in_turn: yes}]", "too many parts"),
    "digits": ("run_time: 1" + "0" * 3_000 + " s", "run_time: "),
    "keys": ("parts: {? " + "x" * 3_000 + ": 3}", "keys with values"),
}


@pytest.mark.parametrize("name", TOO_MUCH)
def test_what_is_too_deep_too_long_or_too_many_is_refused_quickly(name: str) -> None:
    text, what = TOO_MUCH[name]
    begun = time.perf_counter()
    with pytest.raises(InputErrors, match=what) as caught:
        parse_intent(text)
    assert time.perf_counter() - begun < 2
    assert all(len(str(mistake)) < 200 for mistake in caught.value.errors)


def test_a_page_of_many_parts_is_read_in_reasonable_time() -> None:
    """3,000 parts with three facts each: far above any real page."""
    entry = "{supply: 1.8 to 5.5 V, brown_out: 1.8 V, kind: controller}"
    page = "parts:\n" + "".join(f"  U{number}: {entry}\n" for number in range(3_000))
    begun = time.perf_counter()
    intent = parse_intent(page)
    assert len(intent.parts) == 3_000
    assert time.perf_counter() - begun < 5
