"""What ``boardvet size`` prints: answers, and the pages that say what a calculation needs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from boardvet.report.layout import ACCENT, STRONG, Page
from boardvet.sizing import calculation, names
from boardvet.sizing._calculation import Answer, Field

__all__ = ["explained", "listed", "paragraphs", "rendered"]

_MEASURE = 100
"""Longest line of a page, however wide the terminal."""


def listed(columns: int) -> str:
    """Return the list of calculations."""
    width = max(map(len, names()))
    lines = [f"  {name:<{width}}  {calculation(name).summary}" for name in names()]
    tail = (
        "'boardvet size NAME' says what it needs, with an example; "
        "'boardvet size PATH...' sizes what is on a board."
    )
    return "\n".join([*lines, "", *textwrap.wrap(tail, _columns(columns)), ""])


def explained(name: str, columns: int) -> str:
    """Return what a calculation needs, with an example that runs."""
    found = calculation(name)
    fields = found.fields()
    wide = max(len(field.name) for field in fields) + 4
    lines = [f"{name}: {found.summary}"]
    for heading, wanted in (("needed", True), ("may be left out", False)):
        some = [field for field in fields if field.required is wanted]
        lines += ["", heading] if some else []
        for field in some:
            lines += textwrap.wrap(
                _need(field),
                _columns(columns),
                initial_indent=f"  {field.name:<{wide - 2}}",
                subsequent_indent=" " * wide,
            )
    example = " ".join(field.stated for field in fields if field.required or field.asked.shown)
    return "\n".join([*lines, "", "for instance", f"  boardvet size {name} {example}", ""])


def _need(field: Field) -> str:
    words = [field.asked.meaning]
    if field.reads.choices:
        words.append(f"one of {', '.join(field.reads.choices)}")
    if field.default_text:
        source = f" ({field.asked.source})" if field.asked.source else ""
        words.append(f"default {field.default_text}{source}")
    if not field.reads.choices:
        words.append(f"as {field.stated}")
    return "; ".join(words)


def rendered(name: str, answer: Answer, columns: int, *, color: bool) -> str:
    """Return an answer as a page."""
    page = Page(columns)
    page.ruled(name)
    for word, text in paragraphs(answer):
        page.gloss(word, text, style={"value": STRONG, "buy": ACCENT}.get(word, ""))
    return page.text(color=color)


def paragraphs(answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield each paragraph of an answer with the word beside it."""
    if not answer.chosen:
        yield "value", "none"
    for chosen in answer.chosen:
        yield "value", f"{chosen.name} {chosen.shown} ({chosen.series})"
    for word, texts in (("sum", answer.sums), ("end", answer.ends)):
        for number, text in enumerate(texts):
            yield "" if number else word, text
    yield "buy", answer.buy
    for number, text in enumerate(answer.notes):
        yield "" if number else "note", text


def _columns(columns: int) -> int:
    return max(40, min(columns, _MEASURE))
