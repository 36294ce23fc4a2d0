"""Lines of the page, held against the wrapping of the library that colours them."""

from __future__ import annotations

import io

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from boardvet.report.layout import wrapped

TEXTS = st.lists(
    st.text(st.sampled_from("ab-Ω°電路é"), min_size=1, max_size=30), min_size=1, max_size=12
).map(" ".join)


@given(TEXTS, st.integers(2, 40))
def test_law_lines_are_those_of_the_reference(text: str, width: int) -> None:
    console = Console(file=io.StringIO(), width=width)
    expected = [line.plain.rstrip() for line in Text(text).wrap(console, width)]
    assert wrapped(text, width) == expected


@given(TEXTS, st.integers(2, 40))
def test_law_no_line_is_wider_and_no_word_is_lost(text: str, width: int) -> None:
    lines = wrapped(text, width)
    assert max(map(cell_len, lines)) <= width
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_words_wrap_at_the_last_space_that_fits() -> None:
    assert wrapped("one two three", 7) == ["one two", "three"]
