"""Mistakes on the page: all at once, each with its place, what is wrong and what to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from boardvet.errors import InputErrors
from boardvet.intent import parse_intent, read_intent


def mistakes(text: str) -> list[str]:
    """Return the mistakes of a page without the name of the file."""
    with pytest.raises(InputErrors) as caught:
        parse_intent(text, "page.yaml")
    shown = str(caught.value).splitlines()
    assert all(re.fullmatch(r"page\.yaml:\d+:\d+: .+ \(.+\)", line) for line in shown), shown
    return [line.removeprefix("page.yaml:") for line in shown]


def test_three_mistakes_show_three_places() -> None:
    first, second, third = mistakes(
        "board: Wren\n"
        "runtime: 10 days\n"
        "parts:\n"
        "  U1: {supply: 1.8 to 5.5, kind: controller}\n"
        "  D1: {forward_voltge: 2.0 V at 10 mA}\n"
    )
    assert first == "2:1: unknown key 'runtime' (did you mean 'run_time'?)"
    assert second == "4:16: supply: '1.8 to 5.5' has no unit (for instance supply: 1.8 to 5.5 V)"
    assert third.startswith("5:8: unknown key 'forward_voltge' under parts, D1 ")
    assert third.endswith("(did you mean 'forward_voltage'?)")


def test_a_doubled_key_is_shown_at_both_places() -> None:
    assert mistakes("parts:\n  U1: {clock: 1 MHz}\n  U2: {clock: 1 MHz}\n  U1: {kind: fet}\n") == [
        "2:3: the key 'U1' stands twice, here and in line 4 (keep one)",
        "4:3: the key 'U1' stands twice, here and in line 2 (keep one)",
    ]


def test_a_doubled_key_inside_a_doubled_key_is_shown_too() -> None:
    shown = mistakes("board: a\nboard: b\nnets: {A: {pull: 1 kohm, pull: 2 kohm}}\n")
    assert [line.split(": ")[0] for line in shown] == ["1:1", "2:1", "3:12", "3:26"]


def test_what_a_range_and_a_part_of_it_both_state_is_shown_at_both_places() -> None:
    assert mistakes("parts:\n  D1-D3: {colour: red}\n  D2: {colour: blue}\n") == [
        "2:11: 'colour' of D2 is stated twice, here (under 'D1-D3') and in line 3 (keep one)",
        "3:8: 'colour' of D2 is stated twice, here (under 'D2') and in line 2 (keep one)",
    ]


ONE_MISTAKE = [
    # Keys.
    ("cel: {}", "1:1: unknown key 'cel' (did you mean 'cell'?)"),
    ("cell: {Type: CR2032}", "1:8: unknown key 'Type' under cell (did you mean 'type'?)"),
    ("cell: [{tpe: CR2032}]", "1:9: unknown key 'tpe' under cell (did you mean 'type'?)"),
    ("zzz: 1", "1:1: unknown key 'zzz' (`boardvet explain intent` lists the keys)"),
    (
        "sources: {J1: {zzz: 1}}",
        "1:16: unknown key 'zzz' under sources, J1 (the keys here are net, voltage, current_max)",
    ),
    (
        "nets: {SDA: {sped: 1 MHz}}",
        "1:14: unknown key 'sped' under nets, SDA (did you mean 'speed'?)",
    ),
    (
        "modes: {a: {pattern: [{lihgts: D1, lights: D1}]}}",
        "1:24: unknown key 'lihgts' under modes, a, pattern (did you mean 'lights'?)",
    ),
    ("modes: {a: {shares: 3 h per day}}", "1:13: unknown key 'shares' under modes, a "
     "(did you mean 'share'?)"),
    ("columns: {a.csv: {refrence: Pos}}", "1:19: 'refrence' is nothing a column holds "
     "(did you mean reference?)"),
    # Shapes.
    ("parts: [U1]", "1:8: parts: keys with values has to stand here "
     "(for instance parts: {U1: {supply: 1.8 to 5.5 V}})"),
    ("parts: {U1: 3 V}", "1:13: parts, U1: keys with values has to stand here "
     "(for instance parts: {U1: {supply: 1.8 to 5.5 V}})"),
    ("waivers: {rule: x}", "1:10: waivers: a list has to stand here "
     "(for instance waivers: [{rule: led-headroom, at: D3, because: dims on purpose}])"),
    ("board: [a]", "1:8: board: a list cannot stand here (for instance board: Tide lamp)"),
    ("board: {a: b}",
     "1:8: board: keys with values cannot stand here (for instance board: Tide lamp)"),
    ("exports: [a, [b]]", "1:10: exports: the items of this list have to be texts "
     "(for instance exports: [tide-lamp.net, tide-lamp-bom.csv])"),
    ("settings: {some-rule: 5 mm}", "1:23: settings, some-rule: keys with values has to stand "
     "here (for instance settings: {bypass-far: {distance: 5 mm}})"),
    ("settings: {some-rule: {limit: [1]}}",
     "1:31: a list or table stands where one value has to (write one text or number)"),
    ("modes: {a: {closed: {SW1: [1]}}}", "1:27: closed: this does not say which pins of the "
     "switch are joined (for instance closed: {SW1: [1, 2]})"),
    ("modes: {a: {closed: {SW1: yes}}}", "1:27: closed: this does not say which pins of the "
     "switch are joined (for instance closed: {SW1: [1, 2]})"),
    ("- a\n- b", "1:1: the page has no keys (write `key: value` lines)"),
    ("just words", "1:1: the page has no keys (write `key: value` lines)"),
    # Nothing where something has to be.
    ("board:", "1:1: 'board' has no value (write one, or delete the key)"),
    ("near: [skin, '']", "1:14: an item of the list is empty (fill or delete it)"),
    ("? [a]\n: b", "1:3: this key is not a text (write `key: value`)"),
    ("parts: {U1: {supply 3 V}}",
     "1:14: 'supply 3 V' has no value (write `key: value`, and no comma inside a value)"),
    # Values.
    ("cell: {capacity: 220 mA}",
     "1:18: capacity: '220 mA' has a unit that does not fit, 'mA' "
     "(for instance capacity: 620 mAh)"),
    ("run_time: 60", "1:11: run_time: '60' has no unit (for instance run_time: 60 days)"),
    ("near: [skin, eys]", "1:14: near: 'eys' is no word for near (did you mean eyes?)"),
    ("parts: {U1: {kind: regulater}}",
     "1:20: kind: 'regulater' is no word for kind (did you mean regulator?)"),
    ("parts: {U1: {pins: {7: no conect}}}",
     "1:24: pins: 'no conect' is no word for pins (did you mean no connect?)"),
    ("boards: 2.5", "1:9: boards: '2.5' is not a whole number from 1 (for instance boards: 100)"),
    ("boards: 0", "1:9: boards: '0' is not a whole number from 1 (for instance boards: 100)"),
    ("run_time: -1 h", "1:11: run_time: '-1 h' is below 0 s (for instance run_time: 60 days)"),
    ("lights: [D9-D3]", "1:1: unknown key 'lights' (`boardvet explain intent` lists the keys)"),
    ("parts: {D9-D3: {}}", "1:9: 'D9-D3' is a range that runs backwards (write D3-D9)"),
    ("cell: {part: BT1-BT99999}",
     "1:14: part: 'BT1-BT99999' is a range of too many parts (name at most 10000)"),
    ("waivers: [{rule: a, at: b, because: c, until: 2027-02-30}]",
     "1:47: until: '2027-02-30' is no date (year, month and day, such as 2027-06-01)"),
    ("waivers: [{rule: a, at: b, because: c, until: soon}]",
     "1:47: until: 'soon' is no date (year, month and day, such as 2027-06-01)"),
    # Waivers.
    ("waivers: [{rule: a, at: b}]",
     "1:11: 'because' is missing here (add because: dims on purpose when the cell is low)"),
    ("waivers: [{rule: a, at: [], because: c}]",
     "1:25: this waiver covers nothing (say what: at: D3)"),
    # Patterns.
    ("pattern: [{lights: D1, for: 2 s, every: 1 s}]",
     "1:24: for: 2 s is longer than every 1 s (make it shorter, or every longer)"),
    ("pattern: [{part: U1, draws: 1 mA for 1 s then 2 mA for 1 s, every: 1.5 s}]",
     "1:22: draws: 2 s is longer than every 1.5 s (make it shorter, or every longer)"),
    ("pattern: [{lights: D1, for: 2 s}]",
     "1:24: for is given without every (add how often: every: 1 s)"),
    ("pattern: [{lights: D1, every: 2 s}]",
     "1:24: every is given without for (add how long: for: 5 ms)"),
    ("pattern: [{lights: [D1], in_turn: yes}]",
     "1:35: one light cannot be lit in turn (name more, or delete in_turn)"),
    ("pattern: [{lights: D1-D1, in_turn: yes}]",
     "1:36: one light cannot be lit in turn (name more, or delete in_turn)"),
    ("pattern: [{lights: D1-D3, for: 20 ms, every: 50 ms, in_turn: yes}]",
     "1:62: in_turn: 3 lights for 20 ms each are longer than every 50 ms "
     "(make for shorter, or every longer)"),
    ("pattern: [{for: 1 s, every: 2 s}]", "1:11: nothing is on in this entry "
     "(add lights: [D1], or part: U1 with a current)"),
    ("pattern: [{lights: []}]", "1:11: nothing is on in this entry "
     "(add lights: [D1], or part: U1 with a current)"),
    ("pattern: [{lights: D1, part: U1, current: 1 mA}]",
     "1:11: this entry has both lights and a part (make two entries of it)"),
    ("pattern: [{part: U1}]", "1:11: what this part draws is missing "
     "(give either current: 1 mA or draws: 8 mA for 2 ms)"),
    ("pattern: [{part: U1, current: 1 mA, draws: 1 mA for 1 s}]",
     "1:11: this part has both current and draws "
     "(give either current: 1 mA or draws: 8 mA for 2 ms)"),
    ("pattern: [{part: U1, draws: 1 mA for 1 s, for: 1 s}]",
     "1:43: the steps of draws say how long (delete for)"),
    ("pattern: [{lights: D1, current: 1 mA}]",
     "1:24: current is for a part; the current of lights is computed (delete it)"),
    ("pattern: [{part: U1, current: 1 mA, pwm: 10 %}]", "1:37: pwm is for lights (delete it)"),
    ("pattern: [{lights: D1, for: 0 s, every: 0 s}]",
     "1:34: every: 0 s is no period (such as every: 500 ms)"),
    # Cells and parts.
    ("cell: {part: BT1, capacity: 0 mAh}",
     "1:29: a cell of no capacity runs nothing (state what it holds)"),
    ("cell: [{part: BT1, voltage: 2 V at 0 % and 3 V at 100 %}]",
     "1:29: the voltage rises from 2 V to 3 V while the cell is used "
     "(0 % is fresh, 100 % is empty)"),
    ("cell: {voltage: 3 V at 60 % and 2.5 V at 100 % and 2.9 V at 0 %}",
     "1:17: the voltage rises from 2.9 V to 3 V while the cell is used "
     "(0 % is fresh, 100 % is empty)"),
    ("parts: {U1: {supply: 1.8 to 3.6 V, brown_out: 4.3 V}}",
     "1:47: brown_out: 4.3 V is above the highest supply, 3.6 V (one of the two is wrong)"),
    ("parts: {U1: {pin_current_max: 0 mA}}", "1:31: pin_current_max: '0 mA' is not more than 0 A "
     "(for instance pin_current_max: 20 mA)"),
    ("parts: {R1: {power_rating: 0 W}}", "1:28: power_rating: '0 W' is not more than 0 W "
     "(for instance power_rating: 0.1 W)"),
    ("parts: {D1: {wanted_current: 0 mA}}", "1:30: wanted_current: '0 mA' is not more than 0 A "
     "(for instance wanted_current: 5 mA)"),
    ("run_time: 0 days", "1:11: run_time: '0 days' is not more than 0 s "
     "(for instance run_time: 60 days)"),
    ("temperature: -10 to 400 degC",
     "1:14: temperature: no board works at 400 °C (such as -10 to 40 degC)"),
    # Modes.
    ("modes:\n  a: {share: 13 h per day}\n  b: {share: 50 %}", "3:3: the shares of the modes up "
     "to 'b' make 104.2 % (they can make 100 % together, the rest is rest)"),
    ("pattern: [{lights: D1}]\nmodes: {a: {}}", "1:1: pattern and modes are both given "
     "(modes in line 2) (put the pattern into a mode, or drop the modes)"),
    # YAML.
    ("board: *name", "1:8: an alias stands here (write the value itself)"),
    ("board: !!python/object:a.b x",
     "1:8: a type tag stands here: 'tag:yaml.org,2002:python/object:a.b' (leave it out)"),
    ("board: a\n---\nboard: b", "2:1: a second document begins (keep one page in one file)"),
    ("parts:\n\tU1: {}", "2:1: a tab stands where YAML wants spaces (indent with spaces)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "mistake"), ONE_MISTAKE)
def test_a_mistake_says_where_what_and_what_to_do(text: str, mistake: str) -> None:
    assert mistakes(text) == [mistake]


@pytest.mark.parametrize(
    "text", ["parts: {U1: {supply: 3 V", "a: b: c", "board: 'x", "]", "%", "@"]
)
def test_broken_yaml_names_the_line(text: str) -> None:
    (shown,) = mistakes("\n" + text)
    assert int(shown.split(":")[0]) >= 2
    assert "brackets, quotes, colons and indentation" in shown


def test_mistakes_before_broken_yaml_are_kept() -> None:
    shown = mistakes("board:\nparts: {a: &x 1, a: 2}\nnets: ]")
    assert shown[-1].startswith("3:7: the YAML cannot be read from here")
    assert len(shown) >= 2


def test_shares_of_a_whole_day_are_right() -> None:
    """Added up in binary, these five are a little more than 1."""
    shares = enumerate((1, 14, 17, 34, 34))
    modes = ", ".join(f"m{index}: {{share: {share} %}}" for index, share in shares)
    assert len(parse_intent(f"modes: {{{modes}}}").modes) == 5


def test_an_entry_that_lasts_as_long_as_its_period_is_right() -> None:
    """Added up in binary, 0.1 s and 0.2 s are a little more than 0.3 s."""
    steps = "1 mA for 0.1 s then 2 mA for 0.2 s"
    assert parse_intent(f"pattern: [{{part: U1, draws: {steps}, every: 0.3 s}}]").pattern


def test_a_value_that_is_missing_is_not_complained_of_twice() -> None:
    assert len(mistakes("waivers: [{rule: a, at: b, because: }]")) == 1


def test_control_characters_never_reach_the_screen() -> None:
    (shown,) = mistakes('board: x\nparts: {U1: {"\\e[2J": 3}}')
    assert shown.isprintable()


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputErrors, match=r"none\.yaml: cannot be read: .+ \(check"):
        read_intent(tmp_path / "none.yaml")


def test_a_folder_is_no_page(tmp_path: Path) -> None:
    with pytest.raises(InputErrors, match="cannot be read"):
        read_intent(tmp_path)


def test_a_file_that_is_not_utf_8_names_the_line(tmp_path: Path) -> None:
    page = tmp_path / "page.yaml"
    page.write_bytes("boards: 3\nboard: Wärme\n".encode("latin-1"))
    with pytest.raises(InputErrors, match=r"page\.yaml:2: has a character that is not UTF-8"):
        read_intent(page)


def test_a_picture_is_no_page(tmp_path: Path) -> None:
    page = tmp_path / "page.yaml"
    page.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00")
    with pytest.raises(InputErrors, match="UTF-8"):
        read_intent(page)


def test_a_nul_is_refused() -> None:
    with pytest.raises(InputErrors, match="no text file has"):
        parse_intent("board: a\0b")
