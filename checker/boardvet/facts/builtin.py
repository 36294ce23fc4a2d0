"""The facts that boardvet ships, of which only what a board needs is ever parsed.

Every data file of families is laid out alike: an entry begins at the left edge with ``- match:``
and its prefixes stand on that line. So a glance at those lines is enough to find the entry of a
part, and only entries that are found go through the YAML parser (some 0.2 ms each, while all of
them together would take longer than the rest of a review).
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from boardvet.facts.match import Match, PrefixTable

if TYPE_CHECKING:
    from boardvet.facts.family import Family

__all__ = ["FAMILY_FILES", "Entry", "builtin_table", "data_text", "family_of"]

FAMILY_FILES = (
    "charger.yaml",
    "connector.yaml",
    "controller.yaml",
    "diode.yaml",
    "led.yaml",
    "logic.yaml",
    "memory.yaml",
    "module.yaml",
    "protector.yaml",
    "regulator.yaml",
    "sensor.yaml",
    "transistor.yaml",
)
"""Data files of families, in the order in which equal prefixes count."""

_ENTRY = re.compile(r"^- match: \[(.*)\]$", re.MULTILINE)


class Entry(NamedTuple):
    """Where an unparsed entry stands: file, first line, first and last character."""

    file: str
    line: int
    start: int
    end: int


@cache
def data_text(name: str) -> str:
    """Return the text of a data file of facts."""
    return (Path(__file__).with_name("data") / name).read_text(encoding="utf-8")


@cache
def builtin_table() -> PrefixTable[Entry]:
    """Return every prefix of the shipped families with the place of its entry."""
    pairs: list[tuple[str, Entry]] = []
    for name in FAMILY_FILES:
        text = data_text(name)
        found = list(_ENTRY.finditer(text))
        ends = [match.start() for match in found[1:]] + [len(text)]
        line, counted = 1, 0
        for match, end in zip(found, ends, strict=True):
            line += text.count("\n", counted, match.start())
            counted = match.start()
            entry = Entry(name, line, match.start(), end)
            pairs += [(prefix.strip(" '\""), entry) for prefix in match[1].split(",")]
    return PrefixTable(pairs)


@cache
def family_of(entry: Entry) -> Family:
    """Parse one shipped entry."""
    from boardvet.facts.entries import EntryReader, compose

    text = data_text(entry.file)[entry.start : entry.end]
    reader = EntryReader(entry.file, entry.file, entry.line)
    (family,) = reader.families(compose(text, entry.file, entry.line))
    return family


def find_builtin(text: str) -> Match[Family] | None:
    """Return the shipped family that a text names, None if it names none."""
    match = builtin_table().find(text)
    if match is None:
        return None
    return Match(family_of(match.entry), match.prefix, match.rest)
