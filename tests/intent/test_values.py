"""Each key of the page, read to the right value in SI units."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from boardvet.board import Place
from boardvet.intent import Intent, parse_intent, read_intent
from boardvet.known import Known
from boardvet.quantity.statement import Point, Span, Step

WHOLE = """\
board: Heron lantern
exports: [heron.net, heron-parts.csv]
cell: {part: BT1, type: CR2450, capacity: 600 mAh, series: 2, parallel: 3, protected: yes,
       voltage: 3.2 V at 0 % and 2.9 V at 60 % and 2.0 V at 100 %,
       resistance: 12 ohm at 0 % and 40 ohm at 100 %, stop: 2.0 V}
sources:
  J1: {net: VBUS, voltage: 4.75 to 5.25 V, current_max: 500 mA}
run_time: 10 days
temperature: -10 to 40 degC
boards: 100
near: [children, eyes]
pattern:
  - {name: flash, lights: [D1, D2], for: 5 ms, every: 500 ms, after: 100 ms, pwm: 10 %}
  - {lights: D1-D12, in_turn: yes}
  - {name: tick, part: U1, current: 1.1 mA, for: 2 ms, every: 500 ms}
  - {part: U1, draws: 8 mA for 2 ms then 15 mA for 1 ms then 8 mA for 2 ms, every: 10 s}
parts:
  U1: {supply: 1.8 to 5.5 V, pins: {3: enable, 7: no connect}}
  D1-D3: {forward_voltage: 1.75 V at 1 mA and 1.95 V at 10 mA}
nets:
  SDA: {bus: I2C, speed: 400 kHz, capacitance: 60 pF, pull: 4.7 kohm, dip_max: 50 mV,
        driven_by: [U1.3, J1], leaves_board: no}
settings:
  bypass-far: {distance: 5 mm, strict: yes}
waivers:
  - {rule: led-headroom, at: [D3, D5-D7], because: dims on purpose, until: 2027-06-01}
  - {rule: net-alone, at: /SPARE, because: for later}
facts: our-parts.yaml
columns: {heron-parts.csv: {reference: Pos, value: Wert}}
house_rules: [house.yaml]
"""


@pytest.fixture(scope="module")
def intent() -> Intent:
    return parse_intent(WHOLE, "there/boardvet.yaml")


def value(known: Known[object] | None) -> object:
    assert known is not None
    assert known.source.startswith("intent boardvet.yaml:")
    return known.value


def test_board_and_files(intent: Intent) -> None:
    assert intent.path == "there/boardvet.yaml"
    assert intent.board == "Heron lantern"
    assert intent.exports == ("heron.net", "heron-parts.csv")
    assert intent.facts == ("our-parts.yaml",)
    assert intent.house_rules == ("house.yaml",)
    assert intent.columns == {"heron-parts.csv": {"reference": "Pos", "value": "Wert"}}


def test_the_cell(intent: Intent) -> None:
    """600 mAh are 600e-3 A for 3600 s: 2160 C."""
    (cell,) = intent.cells
    assert cell.parts == ("BT1",)
    assert value(cell.type) == "CR2450"
    assert value(cell.capacity) == pytest.approx(2160)
    assert (value(cell.series), value(cell.parallel)) == (2, 3)
    assert value(cell.protected) is True
    assert value(cell.voltage) == (Point(3.2, 0.0), Point(2.9, 0.6), Point(2.0, 1.0))
    assert value(cell.resistance) == (Point(12.0, 0.0), Point(40.0, 1.0))
    assert cell.stop == Known(2.0, "V", "intent boardvet.yaml:5")
    assert cell.place.line == 3


def test_several_cells_may_be_listed() -> None:
    intent = parse_intent(
        "cell:\n  - {part: [BT1, BT2], type: LR6}\n  - {part: BT3, type: CR1220}"
    )
    assert [cell.parts for cell in intent.cells] == [("BT1", "BT2"), ("BT3",)]
    assert [cell.place.line for cell in intent.cells] == [2, 3]


def test_a_source(intent: Intent) -> None:
    source = intent.sources["J1"]
    assert source.part == "J1"
    assert value(source.net) == "VBUS"
    assert value(source.voltage) == Span(4.75, 5.25)
    assert value(source.current_max) == pytest.approx(0.5)


def test_what_is_wanted(intent: Intent) -> None:
    """10 days of 86 400 s."""
    assert value(intent.run_time) == pytest.approx(864_000)
    assert value(intent.temperature) == Span(-10.0, 40.0)
    assert value(intent.boards) == 100
    assert value(intent.near) == ("children", "eyes")


def test_near_nobody_is_not_the_same_as_nothing_said() -> None:
    assert value(parse_intent("near: []").near) == ()
    assert parse_intent("boards: 1").near is None


def test_a_light_that_flashes(intent: Intent) -> None:
    flash = intent.pattern[0]
    assert (flash.name, flash.lights, flash.part) == ("flash", ("D1", "D2"), None)
    assert value(flash.duration) == pytest.approx(5e-3)
    assert value(flash.every) == pytest.approx(0.5)
    assert value(flash.after) == pytest.approx(0.1)
    assert value(flash.pwm) == pytest.approx(0.1)
    assert not flash.in_turn


def test_lights_in_turn_by_range_have_a_name(intent: Intent) -> None:
    turn = intent.pattern[1]
    assert len(turn.lights) == 12
    assert turn.in_turn
    assert turn.duration is None
    assert turn.name.startswith("D1, D2")


def test_a_part_that_draws(intent: Intent) -> None:
    tick, burst = intent.pattern[2:]
    assert (tick.part, value(tick.current)) == ("U1", pytest.approx(1.1e-3))
    assert value(burst.draws) == (Step(8e-3, 2e-3), Step(15e-3, 1e-3), Step(8e-3, 2e-3))
    assert burst.name == "U1"


def test_modes() -> None:
    """3 h of 24 h are an eighth."""
    intent = parse_intent(
        "modes:\n"
        "  steady: {share: 3 h per day, closed: {SW1: [1, 2]}, pattern: [{lights: [D1]}]}\n"
        "  double: {share: 10 %, closed: {SW2: [[1, 2], [4, 5]]}}\n"
        "  stored: {closed: {}}\n"
        "  charging: {sources: [J1]}\n"
    )
    steady, double, stored, charging = intent.modes
    assert value(steady.share) == pytest.approx(0.125)
    assert steady.closed == {"SW1": (("1", "2"),)}
    assert [entry.lights for entry in steady.pattern] == [("D1",)]
    assert double.closed == {"SW2": (("1", "2"), ("4", "5"))}
    assert stored.closed == {}
    assert (charging.sources, charging.closed, charging.share) == (("J1",), None, None)
    assert [mode.place.line for mode in intent.modes] == [2, 3, 4, 5]


def test_parts_with_ranges_written_out(intent: Intent) -> None:
    assert list(intent.parts) == ["U1", "D1", "D2", "D3"]
    assert value(intent.parts["U1"]["supply"]) == Span(1.8, 5.5)
    assert value(intent.parts["U1"]["pins"]) == {"3": "enable", "7": "no connect"}
    voltage = intent.parts["D2"]["forward_voltage"]
    assert value(voltage) == (Point(1.75, 0.001), Point(1.95, 0.01))
    assert (voltage.unit, voltage.source) == ("V", "intent boardvet.yaml:19")


def test_a_range_and_a_part_of_it_may_state_different_things() -> None:
    intent = parse_intent("parts:\n  D1-D2: {colour: red}\n  D2: {wanted_current: 2 mA}")
    assert set(intent.parts["D2"]) == {"colour", "wanted_current"}
    assert set(intent.parts["D1"]) == {"colour"}


def test_nets(intent: Intent) -> None:
    net = {key: value(known) for key, known in intent.nets["SDA"].items()}
    assert net == {
        "bus": "i2c",
        "speed": pytest.approx(400e3),
        "capacitance": pytest.approx(60e-12),
        "pull": pytest.approx(4700),
        "dip_max": pytest.approx(0.05),
        "driven_by": ("U1.3", "J1"),
        "leaves_board": False,
    }


def test_settings_stay_texts(intent: Intent) -> None:
    assert intent.settings == {"bypass-far": {"distance": "5 mm", "strict": "yes"}}


def test_waivers(intent: Intent) -> None:
    first, second = intent.waivers
    assert (first.rule, first.at) == ("led-headroom", ("D3", "D5", "D6", "D7"))
    assert (first.because, first.until) == ("dims on purpose", datetime.date(2027, 6, 1))
    assert (second.at, second.until) == (("/SPARE",), None)
    assert second.place.line == 27


def test_every_entry_knows_its_place(intent: Intent) -> None:
    file = "there/boardvet.yaml"
    assert intent.place("parts", "U1", "supply") == Place(file, 18, 8)
    assert intent.place("parts", "D3") == Place(file, 19, 3)
    assert intent.place("settings", "bypass-far", "distance") == Place(file, 24, 16)
    assert intent.place("parts", "U1", "clock") == intent.place("parts", "U1")
    assert intent.place("smell") == Place(file)


@pytest.mark.parametrize("text", ["", "# nothing\n", "---\n", "{}", "\ufeff"])
def test_an_empty_page_states_nothing(text: str) -> None:
    intent = parse_intent(text)
    assert (intent.path, intent.cells, intent.parts) == ("boardvet.yaml", (), {})


def test_no_page_is_an_empty_intent() -> None:
    intent = Intent.empty()
    assert intent.path is None
    assert intent.exports is None
    assert not any((intent.pattern, intent.modes, intent.waivers, intent.cells))
    assert not intent.parts
    assert not intent.settings


def test_a_file_may_begin_with_a_byte_order_mark(tmp_path: Path) -> None:
    page = tmp_path / "boardvet.yaml"
    page.write_bytes(b"\xef\xbb\xbfboard: \xc3\x96resund\r\nrun_time: 3 h\r\n")
    intent = read_intent(page)
    assert intent.board == "Öresund"
    assert intent.run_time == Known(10_800.0, "s", "intent boardvet.yaml:2")


def test_nothing_is_taken_for_a_number_a_date_or_a_yes() -> None:
    intent = parse_intent(
        "board: 010\n"
        "exports: [12:30, 1_000, 2027-06-01, ~]\n"
        "nets: {NO: {bus: i2c}, on: {pull: 10 kohm}, 0x1F: {leaves_board: yes}, y: {bus: spi}}\n"
        "settings: {some-rule: {limit: 010}}\n"
    )
    assert intent.board == "010"
    assert intent.exports == ("12:30", "1_000", "2027-06-01", "~")
    assert list(intent.nets) == ["NO", "on", "0x1F", "y"]
    assert intent.settings["some-rule"]["limit"] == "010"


def test_quoted_and_folded_texts_are_read_as_well() -> None:
    intent = parse_intent(
        'board: "Owl: one"\nwaivers:\n- rule: net-alone\n  at: A\n  because: >\n'
        "    two\n    lines\n"
    )
    assert intent.board == "Owl: one"
    assert intent.waivers[0].because == "two lines"
