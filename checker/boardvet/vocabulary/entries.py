"""The keys of the intent page besides the properties of parts and nets: a module of data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from boardvet.vocabulary.forms import Form, Property
from boardvet.vocabulary.kinds import Kind

__all__ = [
    "CELL",
    "COLUMN_ROLES",
    "GROUPS",
    "MODE",
    "NEAR",
    "PAGE",
    "PATTERN",
    "SOURCE",
    "WAIVER",
    "Group",
]

_ANY: frozenset[Kind] = frozenset()
_NUMBER, _COUNT, _SPAN, _POINTS = Form.NUMBER, Form.COUNT, Form.SPAN, Form.POINTS
_SHARE, _FLAG, _TEXT, _LIST = Form.SHARE, Form.FLAG, Form.TEXT, Form.LIST

NEAR = ("children", "skin", "eyes")
"""What a board can be near to."""

COLUMN_ROLES = (
    "reference", "value", "footprint", "part_number", "manufacturer", "description", "quantity",
    "fitted", "note", "x", "y", "rotation", "side",
)  # fmt: skip
"""What a column of a BOM or placement file can hold."""


class Group(NamedTuple):
    """A key of the page that holds more: meaning, an example, what is said where it is needed."""

    meaning: str
    example: str
    missing: str


def _table(properties: Iterable[Property]) -> Mapping[str, Property]:
    return {each.name: each for each in properties}


# fmt: off
PAGE: Mapping[str, Property] = _table([
    Property("board", "", "", _TEXT, _ANY, "name of the board", "Tide lamp"),
    Property("exports", "", "", _LIST, _ANY,
             "exported files, beside this page; absent: what is recognised in the folder",
             "[tide-lamp.net, tide-lamp-bom.csv]"),
    Property("run_time", "s", "", _NUMBER, _ANY, "how long it has to run on one cell", "60 days",
             missing="how long the board has to run is not known", positive=True),
    Property("temperature", "degC", "", _SPAN, _ANY, "coldest and hottest air around it",
             "-10 to 40 degC", missing="the temperatures around the board are not known",
             least=-273.15),
    Property("boards", "", "", _COUNT, _ANY, "how many boards are ordered", "100",
             missing="how many boards are ordered is not known"),
    Property("near", "", "", _LIST, _ANY,
             "who and what is near it: children, skin, eyes; [] for nobody; "
             "absent: all three are assumed",
             "[skin]", missing="who and what the board is near to is not known", choices=NEAR),
    Property("facts", "", "", _LIST, _ANY, "facts files of your own parts, beside this page",
             "[our-parts.yaml]"),
    Property("house_rules", "", "", _LIST, _ANY,
             "files of house rules that only state and compare, beside this page",
             "[house.yaml]"),
])
"""Keys of the page that hold one value or a list."""

CELL: Mapping[str, Property] = _table([
    Property("part", "", "", _LIST, _ANY, "the cell, or its holder; several of one pack as a list",
             "BT1"),
    Property("type", "", "", _TEXT, _ANY, "IEC code, or chemistry such as lithium-ion", "CR2450"),
    Property("capacity", "C", "", _NUMBER, _ANY, "charge of a fresh cell", "620 mAh"),
    Property("series", "", "", _COUNT, _ANY, "cells in series inside one holder", "2"),
    Property("parallel", "", "", _COUNT, _ANY, "cells side by side inside one holder", "1"),
    Property("protected", "", "", _FLAG, _ANY,
             "whether the cell has its own protection circuit", "yes"),
    Property("voltage", "V", "", _POINTS, _ANY,
             "its voltage at rest, at the share of its charge that is used",
             "3.2 V at 0 % and 2.9 V at 60 % and 2.0 V at 100 %"),
    Property("resistance", "ohm", "", _POINTS, _ANY,
             "its resistance, at the share of its charge that is used",
             "12 ohm at 0 % and 40 ohm at 100 %"),
    Property("stop", "V", "", _NUMBER, _ANY, "voltage at which it counts as empty", "2.0 V"),
])
"""Keys of a cell."""

SOURCE: Mapping[str, Property] = _table([
    Property("net", "", "", _TEXT, _ANY, "the net that it feeds", "VBUS"),
    Property("voltage", "V", "", _SPAN, _ANY, "lowest and highest voltage", "4.75 to 5.25 V"),
    Property("current_max", "A", "", _NUMBER, _ANY, "most current that it gives", "500 mA"),
])
"""Keys of another source, by the part through which it comes in."""

PATTERN: Mapping[str, Property] = _table([
    Property("name", "", "", _TEXT, _ANY, "what reports call it", "flash"),
    Property("lights", "", "", _LIST, _ANY, "lights that are on", "[D1, D2]"),
    Property("part", "", "", _TEXT, _ANY, "a part that draws current, in place of lights", "U1"),
    Property("current", "A", "", _NUMBER, _ANY, "what the part draws", "1.1 mA"),
    Property("draws", "A", "", Form.STEPS, _ANY, "what the part draws, step by step",
             "8 mA for 2 ms then 15 mA for 1 ms"),
    Property("for", "s", "", _NUMBER, _ANY, "how long each time; absent: always", "5 ms"),
    Property("every", "s", "", _NUMBER, _ANY, "from one beginning to the next", "500 ms"),
    Property("after", "s", "", _NUMBER, _ANY,
             "how long after the beginning of the pattern; absent: 0", "100 ms"),
    Property("in_turn", "", "", _FLAG, _ANY, "yes lights them one after another, not together",
             "yes"),
    Property("pwm", "", "", _SHARE, _ANY,
             "share of the time that a dimmed light is on while it is lit", "10 %"),
])
"""Keys of an entry of the pattern."""

MODE: Mapping[str, Property] = _table([
    Property("share", "", "", _SHARE, _ANY, "share of the time; the rest of the time is rest",
             "3 h per day"),
    Property("sources", "", "", _LIST, _ANY, "sources that are there besides the cell", "[J1]"),
])
"""Keys of a mode that hold one value or a list."""

WAIVER: Mapping[str, Property] = _table([
    Property("rule", "", "", _TEXT, _ANY, "the rule", "led-headroom"),
    Property("at", "", "", _LIST, _ANY, "the parts, nets or other subjects that it covers", "D3"),
    Property("because", "", "", _TEXT, _ANY, "the reason", "dims on purpose when the cell is low"),
    Property("until", "", "", Form.DATE, _ANY, "the last day on which it counts", "2027-06-01"),
])
"""Keys of a waiver; the first three have to be there."""

GROUPS: Mapping[str, Group] = {
    "cell": Group("the cell that feeds the board, or a list of them",
                  "{part: BT1, type: CR2450}", "no cell is known"),
    "sources": Group("what else can feed the board, by the part through which it comes in",
                     "{J1: {net: VBUS, voltage: 4.75 to 5.25 V}}",
                     "no source besides the cell is known"),
    "pattern": Group("what is on, for how long, how often",
                     "[{lights: [D1, D2], for: 5 ms, every: 500 ms}]",
                     "what is on, and for how long, is not known"),
    "modes": Group("several patterns, each with its share of the time, in place of pattern",
                   "{bright: {share: 3 h per day, closed: {SW1: [1, 2]}}}",
                   "how the board is used is not known"),
    "parts": Group("what you know of parts, by reference; D1-D70 is a range",
                   "{U1: {supply: 1.8 to 5.5 V}}", "nothing is known of {of}"),
    "nets": Group("what you know of nets, by name", "{SDA: {bus: i2c}}",
                  "nothing is known of {of}"),
    "settings": Group("settings of rules, by rule", "{bypass-far: {distance: 5 mm}}", ""),
    "waivers": Group("findings that you accept, each with its reason",
                     "[{rule: led-headroom, at: D3, because: dims on purpose}]", ""),
    "columns": Group("headers of BOM and placement files that are not recognised, by file",
                     "{tide-lamp-bom.csv: {reference: Pos}}", ""),
}
"""Keys of the page that hold further keys or a list of them."""
# fmt: on
