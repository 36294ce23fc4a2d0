"""The user page on the intent page, made from the vocabulary."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping

from boardvet.vocabulary.entries import (
    CELL,
    COLUMN_ROLES,
    GROUPS,
    MODE,
    PAGE,
    PATTERN,
    SOURCE,
    WAIVER,
)
from boardvet.vocabulary.forms import Form, Property
from boardvet.vocabulary.properties import NET_PROPERTIES, PROPERTIES

__all__ = ["EXAMPLE", "MODES_EXAMPLE", "intent_page"]

_WIDTH = 80
_KEY = 24
_UNBROKEN = 40
_NO_BREAK = "\ue000"

EXAMPLE = """\
board: Burrow beacon
exports: [burrow.net, burrow-parts.csv, burrow-places.csv]
cell: {part: BT1, type: CR2477}
run_time: 90 days
temperature: -5 to 35 degC
boards: 40
near: [children, skin]
pattern:
  - {name: blink, lights: [D1-D3], for: 8 ms, every: 2 s}
  - {name: tx, part: U2, draws: 3 mA for 1 ms then 9 mA for 2 ms, every: 1 s}
parts:
  U1: {supply: 1.8 to 3.6 V, brown_out: 1.9 V, sleep_current: 0.9 uA}
  D1-D3: {forward_voltage: 1.9 V at 2 mA, wanted_current: 2 mA}
nets:
  SCL: {bus: i2c, speed: 100 kHz}
waivers:
  - {rule: led-headroom, at: D2, because: a bench light, until: 2027-03-31}
"""
"""A page for the coin-cell board of this text; the tests read it."""

MODES_EXAMPLE = """\
cell: {type: LR03, series: 2}
sources:
  J1: {net: VBUS, voltage: 4.75 to 5.25 V, current_max: 500 mA}
modes:
  bright: {share: 2 h per day, closed: {SW1: [1, 2]}, pattern: [{lights: D1}]}
  stored: {closed: {}}
  plugged: {sources: [J1]}
"""
"""Modes in place of a pattern; the tests read it."""

_INTRO = """\
The netlist says what is connected. It does not say which cell you will use, how
long it has to last, how the lights flash, or what you know of a part that no
file states. That goes on one page, boardvet.yaml, beside the exports.

Every key may be left out. What is missing is either assumed, and then listed as
an assumption, or it leaves something undetermined, and the report prints the
line to add. A fact is a key of this page. A wish or an acceptance ("dims on
purpose") is a waiver with a reason.
"""

_VALUES = """\
A value is one of

  number unit          3.3 V    0.6 uA    4.7 kohm    60 days    620 mAh
  A to B               1.8 to 5.5 V
  A at B               2.0 V at 10 mA; several joined by "and":
                       1.75 V at 1 mA and 1.95 V at 10 mA
  A for B              8 mA for 2 ms; several in turn joined by "then"
  share                3 h per day, 10 %
  yes or no

Everything is read as text, so a net may be called NO and a value may be 010.
Where a list can stand, one text can too. D1-D70 is a range of parts.
"""

_OUTRO = """\
A mistake is reported with its line and column, all of them at once. What the
page names has to be on the board, except under waivers: there it is a finding
of its own (waiver-stale).

What is stated here counts before facts files of the repository, those before
the text of the board, that before the facts that boardvet brings, and those
before a default.

For an editor that knows JSON schemas:
  python -m boardvet.intent.schema > boardvet-schema.json
"""


def intent_page() -> str:
    """Return the page as plain text of at most 80 columns."""
    return "\n".join(_lines()).strip() + "\n"


def _lines() -> Iterator[str]:
    yield from _section("The intent page", _INTRO)
    yield from _section("A whole page", textwrap.indent(EXAMPLE, "  "))
    yield from _section("How values are written", _VALUES)
    yield from _section("Keys of the page", "")
    yield from _keys(PAGE)
    for name, group in GROUPS.items():
        yield from _key(name, f"{group.meaning}; see below")
    for title, keys in (
        ("cell", CELL),
        ("sources, by part", SOURCE),
        ("pattern, each entry", PATTERN),
        ("modes, by name", MODE),
    ):
        yield from _section(f"Keys of {title}", "")
        yield from _keys(keys)
    yield from _key(
        "closed",
        "contacts that are closed, by switch: {SW1: [1, 2]}, or groups of "
        "pins [[1, 2], [4, 5]]; other switches are open; {} for all open",
    )
    yield from _key("pattern", "what is on in this mode")
    yield from _section("Modes in place of a pattern", textwrap.indent(MODES_EXAMPLE, "  "))
    yield from _section("Keys of parts, by reference", "")
    yield from _keys(PROPERTIES)
    yield from _section("Keys of nets, by name", "")
    yield from _keys(NET_PROPERTIES)
    yield from _section("Keys of waivers, each entry (all but until have to be there)", "")
    yield from _keys(WAIVER)
    yield from _section("settings, columns", "")
    yield from _key(
        "settings",
        f"for instance settings: {GROUPS['settings'].example}; the page "
        "of a rule lists its settings",
    )
    yield from _key(
        "columns",
        f"for instance columns: {GROUPS['columns'].example}; a column "
        f"holds one of {', '.join(COLUMN_ROLES)}",
    )
    yield from _section("Mistakes, and what counts first", _OUTRO)


def _section(title: str, text: str) -> Iterator[str]:
    yield ""
    yield title
    yield "-" * len(title)
    yield from text.splitlines()


def _keys(keys: Mapping[str, Property]) -> Iterator[str]:
    for of in keys.values():
        yield from _key(of.name, f"{of.meaning}. {_how(of)}")


def _how(of: Property) -> str:
    if of.choices and of.form is Form.CHOICE:
        return f"One of: {', '.join(map(_unbroken, of.choices))}"
    return f"Example: {_unbroken(of.example)}"


def _unbroken(text: str) -> str:
    """Keep a short text on one line."""
    return text.replace(" ", _NO_BREAK) if len(text) <= _UNBROKEN else text


def _key(name: str, text: str) -> Iterator[str]:
    wrapped = textwrap.wrap(
        text,
        _WIDTH,
        initial_indent=f"  {name:<{_KEY}}",
        subsequent_indent=" " * (_KEY + 2),
        break_on_hyphens=False,
    )
    return (line.replace(_NO_BREAK, " ") for line in wrapped)
