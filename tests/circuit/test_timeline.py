"""Timelines: from the page of intent to what is on when. Times and shares by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from boardvet.circuit.states import States
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

CELL = "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032}\n"
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 = pin_resistance 30 ohm\n"
LIGHTS = """
D1 led/red P0 N0
R1 1k N0 GND
D2 led/red P1 N1
R2 1k N1 GND
D3 led/red P2 N2
R3 1k N2 GND
"""
FACING = "D1 led/red P0 N1\nD2 led/red N1 P0\nR1 1k N1 P1\n"
"""Two lights against each other between two pins."""

ARRAY = """
D1 led/red L0 L1
D2 led/red L1 L0
D3 led/red L1 L2
D4 led/red L2 L1
D5 led/red L2 L0
D6 led/red L0 L2
R1 100 P0 L0
R2 100 P1 L1
R3 100 P2 L2
"""
"""Six lights on three pins, each between two of them."""


def timelines(*lines: str) -> tuple[Timeline, ...]:
    return circuit_of(CELL + MCU + "\n".join(lines)).view(Timelines).all


def timeline(*lines: str) -> Timeline:
    (only,) = timelines(*lines)
    return only


def pattern(*entries: str) -> str:
    return "~ pattern:\n" + "\n".join(f"~   - {{{entry}}}" for entry in entries)


def modes(*entries: str) -> str:
    return "~ modes:\n" + "\n".join(f"~   {entry}" for entry in entries)


def lit(found: Timeline) -> dict[tuple[str, ...], float]:
    """Return for what is lit together its share of the time."""
    return {tuple(sorted(m.lights)): m.weight for m in found.meetings}


def order(found: Timeline) -> list[tuple[list[str], float]]:
    """Return what is lit one after another, each with how long, in milliseconds."""
    (course,) = found.courses
    return [(sorted(step.lights), round(step.duration * 1e3, 6)) for step in course.steps]


def drawn(found: Timeline, part: str = "U1") -> dict[float, float]:
    """Return for what a part draws its share of the time."""
    total: dict[float, float] = {}
    for meeting in found.meetings:
        amperes = round(dict(meeting.draws).get(part, 0.0), 9)
        total[amperes] = total.get(amperes, 0.0) + meeting.weight
    return total


# A pattern


def test_a_light_without_for_is_always_on() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1]"))

    assert (set(found.lights), found.courses) == ({"D1"}, ())


def test_a_flash_is_on_for_its_share_of_the_time() -> None:
    """5 ms each 500 ms: 1 %."""
    found = timeline(LIGHTS, pattern("lights: [D1, D2], for: 5 ms, every: 500 ms"))

    assert lit(found) == pytest.approx({("D1", "D2"): 0.01, (): 0.99})


def test_a_flash_lasts_as_long_as_stated() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1], for: 5 ms, every: 500 ms"))

    assert found.meetings[0].run == pytest.approx(5e-3)


def test_after_shifts_one_flash_against_another() -> None:
    entries = "lights: [D1], for: 10 ms, every: 100 ms", "lights: [D2], for: 10 ms, every: 100 ms"

    assert lit(timeline(LIGHTS, pattern(*entries))) == pytest.approx({("D1", "D2"): 0.1, (): 0.9})
    shifted = pattern(entries[0], entries[1] + ", after: 50 ms")
    assert lit(timeline(LIGHTS, shifted)) == pytest.approx({("D1",): 0.1, (): 0.8, ("D2",): 0.1})


def test_a_part_without_for_always_draws() -> None:
    found = timeline(pattern("part: U1, current: 2 mA"))

    assert (dict(found.draws), found.courses) == ({"U1": 2e-3}, ())


def test_a_part_draws_for_its_share_of_the_time() -> None:
    """2 ms each 500 ms: 0.4 %."""
    found = timeline(pattern("part: U1, current: 1.1 mA, for: 2 ms, every: 500 ms"))

    assert drawn(found) == pytest.approx({1.1e-3: 0.004, 0.0: 0.996})


def test_a_burst_is_drawn_step_by_step() -> None:
    """8 mA for 4 of 1000 ms and 15 mA for 1: one pulse of 5 ms."""
    burst = "part: U1, draws: 8 mA for 2 ms then 15 mA for 1 ms then 8 mA for 2 ms, every: 1 s"
    found = timeline(pattern(burst))
    (course,) = found.courses

    assert drawn(found) == pytest.approx({8e-3: 0.004, 15e-3: 0.001, 0.0: 0.995})
    assert [s.run for s in course.steps] == pytest.approx([5e-3, 5e-3, 5e-3, 0.0])


def test_a_burst_without_every_goes_on_and_on() -> None:
    """1 mA for 1 s, 3 mA for 1 s, again and again."""
    found = timeline(pattern("part: U1, draws: 1 mA for 1 s then 3 mA for 1 s"))

    assert drawn(found) == pytest.approx({1e-3: 0.5, 3e-3: 0.5})


def test_what_stands_in_two_entries_adds_up() -> None:
    entries = (
        "part: U1, draws: 8 mA for 2 ms, every: 1 s",
        "part: U1, current: 1 mA, for: 1 ms, every: 1 s, after: 1 ms",
        "part: U1, current: 100 uA",
    )

    assert drawn(timeline(pattern(*entries))) == pytest.approx(
        {8.1e-3: 0.001, 9.1e-3: 0.001, 0.1e-3: 0.998}
    )


def test_for_as_long_as_every_is_always_on() -> None:
    (meeting,) = timeline(LIGHTS, pattern("lights: [D1], for: 1 s, every: 1 s")).meetings

    assert (set(meeting.lights), meeting.weight, meeting.run) == ({"D1"}, 1.0, math.inf)


def test_a_pattern_of_the_page_is_stated() -> None:
    assert timeline(LIGHTS, pattern("lights: [D1]")).stated


def test_parts_whose_draw_the_pattern_states_are_named() -> None:
    found = timeline(pattern("part: U1, current: 1 mA, for: 1 ms, every: 1 s"))

    assert found.active == {"U1"}


def test_what_is_always_drawn_for_two_reasons_adds_up() -> None:
    found = timeline(pattern("part: U1, current: 1 mA", "part: U1, current: 2 mA"))

    assert dict(found.draws) == pytest.approx({"U1": 3e-3})


def test_lights_in_turn_that_just_fit_fill_the_period() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1, D2], for: 5 ms, every: 10 ms, in_turn: yes"))

    assert order(found) == [(["D1"], 5.0), (["D2"], 5.0)]


# One after another


def test_lights_in_turn_are_lit_one_after_another_for_as_long_as_stated() -> None:
    entry = "lights: [D1, D2, D3], for: 5 ms, every: 500 ms, in_turn: yes"

    assert order(timeline(LIGHTS, pattern(entry))) == [
        (["D1"], 5.0),
        (["D2"], 5.0),
        (["D3"], 5.0),
        ([], 485.0),
    ]


def test_lights_in_turn_that_begin_late_go_over_the_end_of_the_period() -> None:
    entry = "lights: [D1, D2], for: 5 ms, every: 20 ms, after: 15 ms, in_turn: yes"

    assert order(timeline(LIGHTS, pattern(entry))) == [(["D2"], 5.0), ([], 10.0), (["D1"], 5.0)]


def test_lights_in_turn_without_a_time_share_all_of_it() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1, D2, D3], in_turn: yes"))

    assert lit(found) == pytest.approx({("D1",): 1 / 3, ("D2",): 1 / 3, ("D3",): 1 / 3})


def test_lights_that_need_a_pin_high_and_low_at_once_share_the_time_of_their_entry() -> None:
    """Half of 10 ms for each of two against each other."""
    entry = "lights: [D1, D2], for: 10 ms, every: 100 ms"

    assert order(timeline(FACING, pattern(entry))) == [(["D1"], 5.0), (["D2"], 5.0), ([], 90.0)]


def test_such_lights_are_scanned_where_they_are_always_on() -> None:
    found = timeline(FACING, pattern("lights: [D1, D2]"))

    assert lit(found) == pytest.approx({("D1",): 0.5, ("D2",): 0.5})


def test_one_light_of_such_a_pair_has_its_whole_time() -> None:
    found = timeline(FACING, pattern("lights: [D2], for: 10 ms, every: 100 ms"))

    assert order(found) == [(["D2"], 10.0), ([], 90.0)]


def test_the_colours_of_a_part_against_each_other_are_lit_in_turn() -> None:
    """A pin cannot be high for the red one and low for the green one at once."""
    part = "D1 led/two 1:RA P0 2:RK N1 3:GA N1 4:GK P0\nR1 1k N1 P1"
    found = timeline(part, pattern("lights: [D1], for: 10 ms, every: 100 ms"))

    assert order(found) == [(["D1 (ra)"], 5.0), (["D1 (ga)"], 5.0), ([], 90.0)]


def test_the_colours_of_a_part_that_can_be_lit_together_are() -> None:
    part = "D1 led/two 1:RA P0 2:RK N1 3:GA P1 4:GK N2\nR1 1k N1 GND\nR2 1k N2 GND"
    found = timeline(part, pattern("lights: [D1], for: 10 ms, every: 100 ms"))

    assert order(found) == [(["D1"], 10.0), ([], 90.0)]


# Dimmed


def test_pwm_counts_in_the_mean_and_not_in_the_current() -> None:
    """10 % of 1 % of the time; while it is on the light is lit as any other."""
    entry = "lights: [D1], for: 5 ms, every: 500 ms, pwm: 10 %"
    found = timeline(LIGHTS, pattern(entry))

    assert lit(found) == pytest.approx({("D1",): 0.001, (): 0.999})


def test_a_light_that_is_always_dimmed_is_on_for_that_share() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1], pwm: 10 %"))

    assert lit(found) == pytest.approx({("D1",): 0.1, (): 0.9})


def test_full_pwm_is_no_pwm() -> None:
    found = timeline(LIGHTS, pattern("lights: [D1], pwm: 100 %"))

    assert (set(found.lights), found.courses) == ({"D1"}, ())


# No pattern


def test_without_a_pattern_every_light_is_always_on_together() -> None:
    found = timeline(LIGHTS)

    assert (set(found.lights), found.courses) == ({"D1", "D2", "D3"}, ())


def test_without_a_pattern_it_is_not_stated() -> None:
    assert not timeline(LIGHTS).stated


def test_the_pessimistic_pattern_is_said() -> None:
    circuit = circuit_of(CELL + MCU + LIGHTS)
    with circuit.noting() as noted:
        circuit.view(Timelines)

    assert noted["pattern of all lights"].source.startswith("assumed")


@pytest.mark.parametrize(
    "text", [LIGHTS + pattern("lights: [D1]"), ""], ids=["a pattern", "no lights"]
)
def test_nothing_is_said_where_nothing_is_assumed(text: str) -> None:
    circuit = circuit_of(CELL + MCU + text)
    with circuit.noting() as noted:
        circuit.view(Timelines)

    assert "pattern of all lights" not in noted


def test_without_a_pattern_lights_that_share_pins_are_scanned() -> None:
    """In no step a line is high and low at once; each light has the same share of the time."""
    ends = {"D1": "01", "D2": "10", "D3": "12", "D4": "21", "D5": "20", "D6": "02"}
    found = lit(timeline(ARRAY))

    for together in found:
        high = {ends[light][0] for light in together}
        assert not high & {ends[light][1] for light in together}
    assert sorted(light for together in found for light in together) == sorted(ends)
    assert list(found.values()) == pytest.approx([1 / len(found)] * len(found))


def test_without_a_pattern_lights_on_rows_and_columns_are_all_on() -> None:
    """Both rows high and both columns low light all four."""
    mcu = "U2 mcu VCC+ VBAT GND- GND A R0 B R1 C C0 D C1 = pin_resistance 30 ohm"
    matrix = "\n".join(
        f"D{1 + 2 * row + column} led/red R{row} M{row}{column}\n"
        f"R{1 + 2 * row + column} 100 M{row}{column} C{column}"
        for row in range(2)
        for column in range(2)
    )

    assert timeline(mcu, matrix).lights == {"D1", "D2", "D3", "D4"}


# States


def test_nobody_s_finger_is_on_a_button() -> None:
    found = timeline("SW1 button P0 GND", "D1 led/red P1 N1\nR1 1k N1 GND")

    assert not found.state.closed


def test_a_button_that_alone_keeps_the_board_on_is_held_down() -> None:
    board = circuit_of(CELL + "U1 mcu VCC+ VDD GND- GND PB0 P0\nSW1 button VBAT VDD")
    (found,) = board.view(Timelines).all

    assert {contact[0] for contact in found.state.closed} == {"SW1"}


def test_a_switch_is_closed_without_modes() -> None:
    found = timeline("SW1 switch VBAT ON", "R1 1k ON GND")

    assert {contact[0] for contact in found.state.closed} == {"SW1"}


def test_without_modes_the_everyday_state_is_there_all_the_time() -> None:
    usb = "J1 usb-connector 1:VBUS V5 2:GND GND 3:D+ . 4:D- .\nR9 1k V5 GND"
    found = timeline(usb)

    assert (found.share, found.on_cell) == (1.0, True)
    assert found.state.sources == {"BT1"}


# Modes


def shares(*lines: str) -> dict[str, float]:
    return {found.name: found.share for found in timelines(*lines)}


def test_the_rest_of_the_time_is_rest() -> None:
    """3 h of 24."""
    assert shares(modes("on: {share: 3 h per day}")) == pytest.approx({"on": 0.125, "rest": 0.875})


def test_modes_that_fill_the_time_leave_no_rest() -> None:
    assert shares(modes("day: {share: 30 %}", "night: {share: 70 %}")) == pytest.approx(
        {"day": 0.3, "night": 0.7}
    )


def test_one_mode_without_a_share_has_what_the_others_leave() -> None:
    assert shares(modes("day: {share: 30 %}", "night: {}")) == pytest.approx(
        {"day": 0.3, "night": 0.7}
    )


def test_two_modes_without_a_share_are_asked_for() -> None:
    with pytest.raises(MissingFact) as raised:
        timelines(modes("day: {}", "night: {}"))

    assert (raised.value.of, raised.value.key) == ("modes", "share")
    assert "day and night" in str(raised.value)


def test_a_mode_without_a_share_beside_modes_that_fill_the_time_has_none_of_it() -> None:
    page = modes("a: {share: 10 %}", "b: {share: 20 %}", "c: {share: 70 %}", "spare: {}")

    assert shares(page)["spare"] == pytest.approx(0.0, abs=1e-12)
    assert shares(page)["spare"] >= 0.0


def test_each_mode_has_its_own_pattern_and_rest_has_none() -> None:
    found = timelines(LIGHTS, modes("on: {share: 10 %, pattern: [{lights: [D1]}]}"))

    assert [(each.name, set(each.lights)) for each in found] == [("on", {"D1"}), ("rest", set())]


SWITCHES = "SW1 switch VBAT ON\nR1 1k ON GND\nSW2 switch VBAT AUX\nR2 1k AUX GND\n"


def closed(*lines: str) -> dict[str, set[str]]:
    return {
        found.name: {contact[0] for contact in found.state.closed} for found in timelines(*lines)
    }


def test_rest_opens_the_switches_that_modes_name_and_no_others() -> None:
    assert closed(SWITCHES, modes("on: {share: 10 %, closed: {SW1: [1, 2]}}")) == {
        "on": {"SW1"},
        "rest": {"SW2"},
    }


def test_modes_that_name_no_switch_leave_all_closed() -> None:
    assert closed(SWITCHES, modes("on: {share: 10 %}")) == {
        "on": {"SW1", "SW2"},
        "rest": {"SW1", "SW2"},
    }


def test_a_button_that_a_mode_closes_is_held_down_in_it_and_not_at_rest() -> None:
    button = "SW1 button P0 GND"

    assert closed(button, modes("press: {share: 1 %, closed: {SW1: [1, 2]}}")) == {
        "press": {"SW1"},
        "rest": set(),
    }


def test_a_mode_that_names_no_switch_has_its_buttons_released() -> None:
    assert closed("SW1 button P0 GND", modes("on: {share: 10 %}")) == {"on": set(), "rest": set()}


def test_a_mode_with_another_source_is_not_on_the_cell() -> None:
    usb = "J1 usb-connector 1:VBUS V5 2:GND GND 3:D+ . 4:D- .\nR9 1k V5 GND"
    found = timelines(usb, modes("charging: {share: 10 %, sources: [J1]}"))

    assert [(each.name, each.on_cell) for each in found] == [("charging", False), ("rest", True)]
    assert found[0].state.sources == {"BT1", "J1"}


def test_the_timeline_of_a_state_is_found() -> None:
    circuit = circuit_of(CELL + MCU + LIGHTS + modes("a: {share: 10 %}", "b: {share: 20 %}"))
    found = circuit.view(Timelines)

    assert [found.of_state(state) for state in circuit.view(States).all] == list(found.all[:2])


def test_without_modes_the_same_is_on_in_every_state() -> None:
    usb = "J1 usb-connector 1:VBUS V5 2:GND GND 3:D+ . 4:D- .\nR9 1k V5 GND"
    circuit = circuit_of(CELL + MCU + usb)
    found = circuit.view(Timelines)

    assert [found.of_state(s) for s in circuit.view(States).all] == [found.all[0]] * 2


def test_a_mode_that_is_not_on_the_page_has_no_timeline() -> None:
    circuit = circuit_of(CELL + MCU + modes("a: {share: 10 %}"))
    other = replace(circuit.view(States).main, mode="b", name="mode b")

    assert circuit.view(Timelines).of_state(other) is None
