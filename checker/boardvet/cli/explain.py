"""``boardvet explain``: the page of a rule or of a topic, or the list of all."""

from __future__ import annotations

import argparse
import difflib
import re
import textwrap
from collections.abc import Iterable, Sequence
from importlib.resources import files
from typing import TYPE_CHECKING

from boardvet.cli._output import emit, width
from boardvet.errors import UsageError
from boardvet.report.text import plain

if TYPE_CHECKING:
    from boardvet.review.packs import LoadedPack
    from boardvet.review.rule import Rule

__all__ = ["SUMMARY", "run"]

SUMMARY = "show the page of a rule or topic, or the list of all"

_MEASURE = 100
"""Longest line of a page, however wide the terminal."""

_SECOND_COLUMN = re.compile(r" *(?:- )?\S(?:\S| (?! ))* {2,}")
"""What stands left of the second column of a list: a few words, then two spaces or more."""


def run(arguments: Sequence[str]) -> int:
    """Print what the arguments name and return the exit status."""
    parser = argparse.ArgumentParser(
        prog="boardvet explain",
        description="Shows the page of a rule or topic; alone, the list of them by area.",
        allow_abbrev=False,
    )
    parser.add_argument("name", nargs="?", metavar="RULE|TOPIC", help="an id, a topic or an area")
    name = parser.parse_args(arguments).name
    emit(_list_all() if name is None else _page(name.strip().lower()))
    return 0


def _topics() -> dict[str, str]:
    """Return each topic that has a page in the wheel with its text."""
    folder = files("boardvet.cli").joinpath("pages")
    return {
        page.name.removesuffix(".txt"): page.read_text("utf-8")
        for page in sorted(folder.iterdir(), key=lambda page: page.name)
        if page.name.endswith(".txt")
    }


def _page(name: str) -> str:
    if name == "intent":
        from boardvet.intent.page import intent_page

        return _end(intent_page())
    topics = _topics()
    if name in topics:
        return _end(_reflow(topics[name]))
    packs = _packs()
    rules = {rule.id: (rule, pack) for pack in packs for rule in pack.rules}
    if name in rules:
        return _rule_page(*rules[name])
    areas = sorted({rule.area for rule, _ in rules.values()})
    if name in areas:
        return _list_area(name, [rule for rule, _ in rules.values()])
    raise UsageError(_unknown(name, [*rules, *areas, *topics, "intent"]))


def _packs() -> tuple[LoadedPack, ...]:
    from boardvet.review.packs import load_packs

    return load_packs()


def _unknown(name: str, names: Iterable[str]) -> str:
    near = difflib.get_close_matches(name, names, n=3, cutoff=0.5)
    hint = f"nearest: {', '.join(near)}; " if near else ""
    return f"nothing is called {name!r} ({hint}'boardvet explain' lists all)"


def _rule_page(rule: Rule, pack: LoadedPack) -> str:
    head = f"{rule.id} · {rule.area} · {rule.level.value} · {pack.name} {pack.version}"
    return _end(f"{head}\n\n{_reflow(rule.page)}")


def _list_all() -> str:
    rules = [rule for pack in _packs() for rule in pack.rules]
    areas = [_list_area(area, rules) for area in sorted({rule.area for rule in rules})]
    topics = ", ".join(sorted([*_topics(), "intent"]))
    return "\n".join([*areas, f"topics\n  {topics}\n"])


def _list_area(area: str, rules: Iterable[Rule]) -> str:
    lines = [area]
    for rule in sorted(rules, key=lambda rule: rule.id):
        if rule.area == area:
            head = f"  {rule.id:<22} {rule.level.value:<5}  "
            lines += textwrap.wrap(
                plain(rule.title),
                _columns(),
                initial_indent=head,
                subsequent_indent=" " * len(head),
            )
    return _end("\n".join(lines))


def _columns() -> int:
    return max(40, min(width(), _MEASURE))


def _reflow(text: str) -> str:
    """Fill the paragraphs of a page to the width; lists, boards and headings stay as written."""
    blocks = text.strip("\n").split("\n\n")
    return "\n\n".join(map(_fill, blocks))


def _fill(block: str) -> str:
    lines = [plain(line) for line in block.split("\n")]
    if len(lines) > 2 and set(lines[1]) in ({"-"}, {"="}):
        heading = "\n".join(lines[:2])
        return f"{heading}\n{_fill(chr(10).join(lines[2:]))}"
    if any(_is_set(line) for line in lines):
        return "\n".join(_kept(line) for line in lines)
    return textwrap.fill(" ".join(lines).replace("::", ":"), _columns())


def _is_set(line: str) -> bool:
    """Return whether the line is one whose breaks mean something."""
    return line.startswith((" ", "- ", ".. ", "---", "===")) or " : " in line


def _kept(line: str) -> str:
    """Return a line as it is or, where it is too long, hung under its own second column."""
    if len(line) <= _columns():
        return line
    gap = _SECOND_COLUMN.match(line)
    indent = gap.end() if gap else len(line) - len(line.lstrip()) + 2
    return textwrap.fill(line, _columns(), subsequent_indent=" " * indent)


def _end(text: str) -> str:
    return text.rstrip("\n") + "\n"
