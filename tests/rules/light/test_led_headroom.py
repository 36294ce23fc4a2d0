"""`led-headroom`: how lights fade, by hand and by ngspice; levels, cures and what stays quiet.

By hand: a red junction through 1.9 V at 10 mA with n = 2 and Rs = 6 Ω behind R needs
V(I) = 1.9 V + 2 · 25.865 mV · ln(I / 10 mA) + 6 Ω · (I − 10 mA) + R · I, so a cell that is given
that voltage at a share of its charge lets just I flow there.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.physics.spice import needs_ngspice
from tests.rules.judging import Judging, number
from tests.rules.light.test_led_unlimited import spice

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing.notation import circuit_of
from boardvet_rules.light.led_headroom import check as rule
from boardvet_rules.light.led_shared_resistor import check as shared_rule
from boardvet_rules.rail.rail_shorted import check as shorted_rule

RED = (
    " = colour red = forward_voltage 1.9 V at 10 mA = emission 2 = series_resistance 6 ohm"
    " = current_max 30 mA"
)
BLUE = " = colour blue = forward_voltage 3.0 V at 5 mA"
OHMS = 100.0
LIMIT = 4e-3
"""A tenth of the 40 mA that the lights below are meant to have. [A]"""


def needed(amperes: float, ohms: float = OHMS) -> float:
    """Return the voltage at which a red light behind a resistor carries a current; see above."""
    light = 1.9 + 2 * 0.025865 * math.log(amperes / 10e-3) + 6.0 * (amperes - 10e-3)
    return light + ohms * amperes


def cell(*points: tuple[float, float], more: str = "") -> tuple[str, str]:
    """Return a cell without resistance that shows these volts at these shares of its charge."""
    curve = " and ".join(f"{volts!r} V at {share!r} %" for volts, share in points)
    page = f"{{part: BT1, type: CR2032, resistance: 0 ohm, voltage: {curve}{more}}}"
    return "BT1 cell/holder + VBAT - GND", f"~ cell: {page}"


FULL = (3.0, 0.0)
LIGHT = "D1 led N1 GND" + RED
WANTED = LIGHT + f" = wanted_current {10 * LIMIT} A"
RESISTOR = f"R1 {OHMS:g} VBAT N1"


JUDGING = Judging(rule)
review, finding, level = JUDGING.review, JUDGING.finding, JUDGING.level


# The currents.


@needs_ngspice
def test_the_currents_are_those_of_ngspice(tmp_path: Path) -> None:
    """Two lights share a cell of 3.0 to 2.2 V and 20 Ω; the junctions of test_led_unlimited."""
    page = "voltage: 3.0 V at 0 % and 2.6 V at 50 % and 2.2 V at 100 %, resistance: 20 ohm"
    found = finding(
        "BT1 cell/holder + VBAT - GND",
        f"~ cell: {{part: BT1, type: CR2032, {page}}}",
        "R1 33 VBAT N1",
        "D1 led N1 GND" + BLUE,
        "R2 220 VBAT N2",
        "D2 led N2 GND = colour red = forward_voltage 1.9 V at 10 mA",
        "~ pattern: [{name: both, lights: [D1, D2]}]",
    )
    names = (
        "LED current, fresh cell",
        "LED current, half of the charge",
        "LED current, empty cell",
    )
    for name, volts in zip(names, (3.0, 2.6, 2.2), strict=True):
        expected = spice(
            tmp_path,
            f"Vc 1 0 {volts}",
            "Rc 1 2 20",
            "R1 2 3 33",
            "Vd 3 4 0",
            "D1 4 0 blue",
            "R2 2 5 220",
            "D2 5 0 red",
        )
        assert number(found, name) == pytest.approx(expected, rel=1e-2, abs=1e-6)


def test_share_and_voltage_are_where_the_current_is_a_tenth_of_the_wanted_one() -> None:
    """By hand: 4 mA need 1.9 − 0.0474 − 0.036 + 0.4 V = 2.217 V, here at 30 % of the charge."""
    assert needed(LIMIT) == pytest.approx(2.217, abs=1e-3)
    found = finding(*cell(FULL, (needed(LIMIT), 30.0), (1.9, 100.0)), RESISTOR, WANTED)

    assert number(found, "share of charge left") == pytest.approx(0.7, abs=2e-3)
    assert number(found, "cell voltage then") == pytest.approx(needed(LIMIT), rel=2e-3)


# Levels, walked through their limits.


@pytest.mark.parametrize(
    ("used", "expected"),
    [
        (49.5, Level.HOLD),
        (50.5, Level.QUERY),
        (89.1, Level.QUERY),
        (90.9, Level.NOTE),
    ],
)
def test_the_level_is_by_the_charge_that_is_left(used: float, expected: Level) -> None:
    """Half and a tenth of the charge, 1 % around the share used."""
    curve = cell(FULL, (needed(LIMIT), used), (1.9, 100.0))
    assert level(*curve, RESISTOR, WANTED) is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, Level.HOLD), (1.01, None)])
def test_less_than_a_tenth_of_the_wanted_current_when_fresh_is_a_hold(
    share: float, expected: Level | None
) -> None:
    """A cell that never falls lets 1 % less, or 1 % more, than 4 mA flow all the time."""
    volts = needed(share * LIMIT)
    assert level(*cell((volts, 0.0), (volts, 100.0)), RESISTOR, WANTED) is expected


@pytest.mark.parametrize("wanted", ["1 A", "5 A", "1000000 A"])
def test_amperes_wanted_of_a_small_light_get_a_clear_answer(wanted: str) -> None:
    """A slip of the pen for mA: once it broke the rule, once it took all of the memory."""
    light = LIGHT + f" = wanted_current {wanted}"
    assert level(*cell((3.0, 0.0), (2.0, 100.0)), RESISTOR, light) is Level.HOLD
    assert level(*cell((1e15, 0.0), (0.0, 100.0)), RESISTOR, light) is not None


@pytest.mark.parametrize(("share", "expected"), [(0.99, Level.HOLD), (1.01, None)])
def test_without_a_wanted_current_twenty_microamperes_are_dark(
    share: float, expected: Level | None
) -> None:
    volts = needed(share * 20e-6)
    assert level(*cell((volts, 0.0), (volts, 100.0)), RESISTOR, LIGHT) is expected


def test_a_light_that_is_meant_to_have_so_little_is_clear() -> None:
    volts = needed(10e-6)
    curve = cell((volts, 0.0), (volts, 100.0))
    assert level(*curve, RESISTOR, LIGHT + " = wanted_current 50 uA") is None


@pytest.mark.parametrize(("share", "expected"), [(0.99, Level.NOTE), (1.01, None)])
def test_without_a_wanted_current_a_tenth_of_the_fresh_one_is_too_dim(
    share: float, expected: Level | None
) -> None:
    """10 mA with a fresh cell, at the end 1 % below or above 1 mA."""
    curve = cell((needed(10e-3), 0.0), (needed(share * 1e-3), 100.0), more=", stop: 1 V")
    assert level(*curve, RESISTOR, LIGHT) is expected


@pytest.mark.parametrize(("share", "expected"), [(1.01, None), (0.99, Level.QUERY)])
def test_what_dims_only_after_the_cell_is_at_its_end_is_quiet(
    share: float, expected: Level | None
) -> None:
    """Its end is 1 % above or below the voltage at which 4 mA flow: above, it has stopped."""
    curve = cell(
        FULL, (needed(LIMIT), 80.0), (1.5, 100.0), more=f", stop: {share * needed(LIMIT)} V"
    )
    assert level(*curve, RESISTOR, WANTED) is expected


@pytest.mark.parametrize(("run_time", "expected"), [("95 h", Level.HOLD), ("102 h", Level.QUERY)])
def test_where_the_charge_is_not_enough_a_light_is_not_early(
    run_time: str, expected: Level
) -> None:
    """1000 mAh at 10 mA, the light next to nothing: 99 h, and it dims after 80 % of them."""
    ohms = 10e3
    curve = cell(
        FULL, (needed(50e-6, ohms), 80.0), (1.9, 100.0), more=", capacity: 1000 mAh, stop: 1 V"
    )
    board = (*curve, MCU, "R1 10k VBAT N1", LIGHT + " = wanted_current 500 uA", WORK)
    assert level(*board, f"~ run_time: {run_time}") is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, Level.QUERY), (1.01, None)])
def test_the_coldest_temperature_counts_and_is_an_assumption(
    share: float, expected: Level | None
) -> None:
    """−2 mV/K for red (common practice): at −25 °C the light drops 0.1 V more than at 25 °C.

    Dark with a fresh cell is a hold; that it is so rests on the assumed change, so it is asked.
    """
    volts = needed(share * LIMIT) + 0.1
    board = (*cell((volts, 0.0), (volts, 100.0)), RESISTOR, WANTED)
    cold = "~ temperature: -25 to 40 degC"

    assert level(*board, cold) is expected
    assert level(*board) is None
    if expected is not None:
        assert "at −25 °C" in finding(*board, cold).bench


HOURS = "~ run_time: {} h"
WORK = "~ pattern: [{name: work, part: U1, current: 10 mA}, {name: light, lights: [D1]}]"
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 = pin_resistance 30 ohm"


@pytest.mark.parametrize(("run_time", "expected"), [(78.4, Level.QUERY), (80.0, Level.HOLD)])
def test_before_the_run_time_wanted_it_is_a_hold(run_time: float, expected: Level) -> None:
    """Too dim at 80 % of 1000 mAh. By hand: behind 10 kΩ it has (3.0 − 1.66) V / 10 kΩ = 134 µA
    fresh and 50 µA then, 92 µA on average, and U1 takes 10 mA: 800 mAh / 10.09 mA = 79.3 h; ±1 %.
    """
    ohms = 10e3
    curve = cell(FULL, (needed(50e-6, ohms), 80.0), (1.9, 100.0), more=", capacity: 1000 mAh")
    board = (*curve, MCU, "R1 10k VBAT N1", LIGHT + " = wanted_current 500 uA", WORK)

    assert level(*board, HOURS.format(run_time)) is expected
    assert level(*board) is Level.QUERY


def test_where_the_run_time_cannot_be_told_it_says_so() -> None:
    curve = cell(FULL, (needed(LIMIT), 80.0), (1.9, 100.0))
    board = [line.replace("type: CR2032", "type: lithium-ion") for line in curve]
    found = finding(*board, RESISTOR, WANTED, HOURS.format(100))

    assert found.level is Level.QUERY
    assert "the capacity of BT1 (lithium-ion) is not known" in found.why


def test_an_assumed_forward_voltage_alone_makes_no_hold() -> None:
    """A blue light on 2.4 V, its colour known and its forward voltage assumed."""
    curve = cell((2.4, 0.0), (2.0, 100.0))
    assert level(*curve, RESISTOR, "D1 led/blue N1 GND") is Level.QUERY
    assert level(*curve, RESISTOR, "D1 led N1 GND" + BLUE) is Level.HOLD


def test_which_light_was_taken_alone_is_said() -> None:
    """Without a pattern each alone; with one, what is on with it counts."""
    curve = cell(FULL, (needed(LIMIT), 80.0), (1.9, 100.0))
    alone = finding(*curve, RESISTOR, WANTED)
    stated = finding(*curve, RESISTOR, WANTED, "~ pattern: [{name: on, lights: [D1]}]")

    assert "no other light on" in alone.why
    assert "no other light on" not in stated.why


def test_lights_that_are_alike_are_one_finding() -> None:
    curve = cell(FULL, (needed(LIMIT), 80.0), (1.9, 100.0))
    lights = [f"R{n} {OHMS:g} VBAT _{n}\nD{n} led _{n} GND" for n in range(1, 6)]
    facts = "{colour: red, forward_voltage: 1.9 V at 10 mA, wanted_current: 40 mA}"
    page = "~ pattern: [{name: on, lights: [D1, D2, D3, D4, D5]}]"

    found = finding(*curve, *lights, "~ parts:", f"~   D1-D5: {facts}", page)

    assert found.folded == 5
    assert all(each.value == float(f"{each.value:.6g}") for each in found.numbers)


# Cures, put back into the board.


def test_the_smaller_resistor_lasts_and_the_next_larger_does_not() -> None:
    """By hand: at 2.0 V and 2 mA the light drops 1.9 − 0.083 − 0.048 = 1.769 V, which leaves
    0.231 V / 2 mA = 116 Ω: 100 Ω of E12. With a fresh cell of 3.0 V that lets some 10 mA flow.
    """
    board = (*cell(FULL, (2.0, 100.0)), LIGHT + " = wanted_current 20 mA")
    assert "make its resistor 100 Ω in place of 330 Ω" in finding(*board, "R1 330 VBAT N1").fix
    assert level(*board, "R1 100 VBAT N1") is None
    assert level(*board, "R1 120 VBAT N1") is Level.NOTE


def test_the_smaller_resistor_stays_within_the_rating() -> None:
    """Fresh, 100 Ω lets (3.0 − 1.9) V / 106 Ω = 10 mA flow: not where the light stands 8 mA."""
    light = (LIGHT + " = wanted_current 20 mA").replace("current_max 30 mA", "current_max 8 mA")
    assert (
        "make its resistor" not in finding(*cell(FULL, (2.0, 100.0)), light, "R1 330 VBAT N1").fix
    )


def test_the_light_that_drops_less_lasts_and_one_that_drops_a_tenth_of_a_volt_more_does_not() -> (
    None
):
    curve = cell((3.3, 0.0), (2.4, 100.0))
    blue = "D1 led N1 GND = colour blue = emission 2.5 = series_resistance 15 ohm"
    found = finding(*curve, RESISTOR, blue + " = forward_voltage 3.0 V at 5 mA")
    _, _, words = found.fix.partition("drops at most ")
    volts, _, words = words.partition(" V at ")
    amperes, _, _ = words.partition(" mA")

    assert "booster of" in found.fix
    for more, expected in ((0.0, None), (0.1, Level.NOTE)):
        stated = f" = forward_voltage {float(volts) + more} V at {amperes} mA"
        assert level(*curve, RESISTOR, blue + stated) is expected


def test_where_no_led_drops_so_little_a_booster_is_left() -> None:
    found = finding(*cell((1.6, 0.0), (1.0, 100.0)), RESISTOR, LIGHT)

    assert found.fix == "feed it from a booster of 3 V"


# What is quiet, each with a twin that differs in one thing.

FALLING = cell(FULL, (needed(LIMIT), 80.0), (1.9, 100.0))
BOOSTER = (
    "U2 regulator VIN+ VBAT VOUT> V5 GND- GND = output 5 V = conversion step-up"
    " = quiescent_current 1 uA"
)


@pytest.mark.parametrize(("rail", "expected"), [("V5", None), ("VBAT", Level.QUERY)])
def test_quiet_behind_a_booster(rail: str, expected: Level | None) -> None:
    assert level(*FALLING, BOOSTER, f"R1 {OHMS:g} {rail} N1", WANTED) is expected


def test_a_booster_that_the_cell_cannot_feed_is_left_to_its_own_rule() -> None:
    """By hand: 5 V behind 100 Ω are 30 mA and 0.15 W; 3 V behind 100 Ω give 22 mW at most."""
    weak = [line.replace("resistance: 0 ohm", "resistance: 100 ohm") for line in FALLING]
    (clear,) = review(*weak, BOOSTER, f"R1 {OHMS:g} V5 N1", WANTED).clear
    assert clear.numbers == ()


@pytest.mark.parametrize(
    ("output", "wanted", "expected"),
    [("1.85 V", "10 mA", None), ("2.4 V", "40 mA", Level.QUERY)],
)
def test_quiet_on_a_rail_that_its_regulator_holds(
    output: str, wanted: str, expected: Level | None
) -> None:
    """The cell falls to 1.9 V: 1.85 V are held to the end, 2.4 V only while it is above that.

    By hand: 1 mA and 100 Ω take 1.9 − 0.119 − 0.054 + 0.1 = 1.827 V, so 1.85 V give a little more
    than the 1 mA that is a tenth of 10 mA; 4 mA take 2.217 V.
    """
    regulator = (
        f"U2 regulator VIN+ VBAT VOUT> VR GND- GND = output {output} = conversion linear"
        " = dropout 10 mV at 100 mA = quiescent_current 1 uA"
    )
    light = f"{LIGHT} = wanted_current {wanted}"
    assert level(*FALLING, regulator, f"R1 {OHMS:g} VR N1", light) is expected


@pytest.mark.parametrize(("rail", "expected"), [("VBUS", None), ("VBAT", Level.QUERY)])
def test_quiet_where_no_cell_feeds_it(rail: str, expected: Level | None) -> None:
    usb = "J1 connector/in 1: VBUS 2: GND\n~ sources: {J1: {net: VBUS, voltage: 2.0 V}}"
    assert level(*FALLING, usb, f"R1 {OHMS:g} {rail} N1", WANTED) is expected


@pytest.mark.parametrize(("end", "expected"), [("OUT", None), ("GND", Level.QUERY)])
def test_quiet_at_the_output_of_a_driver(end: str, expected: Level | None) -> None:
    driver = "U3 driver VCC+ VBAT GND- GND OUT> OUT"
    light = WANTED.replace("N1 GND", f"N1 {end}")
    assert level(*FALLING, driver, RESISTOR, light) is expected


@pytest.mark.parametrize(("ohms", "expected"), [("390", None), ("390k", Level.HOLD)])
def test_quiet_where_a_tenth_is_left_to_the_end(ohms: str, expected: Level | None) -> None:
    """By hand: (2.04 − 1.69) V / 405 Ω is 0.9 mA; behind 390 kΩ 1.4 V / 390 kΩ is 4 µA."""
    board = ("BT1 CR2032 VBAT GND", f"R1 {ohms} VBAT N1", LIGHT + " = wanted_current 3 mA")
    assert level(*board) is expected


@pytest.mark.parametrize(("rail", "expected"), [("VCHG", None), ("VBAT", Level.HOLD)])
def test_quiet_where_something_cuts_it_off_from_the_cell(
    rail: str, expected: Level | None
) -> None:
    """The status light of a charger drawn with its pins the other way round, which never charges
    backwards; the twin is a light that has 10 MΩ in its way.
    """
    charger = "U4 charger VIN+ VBAT VOUT> VCHG GND- GND = charge_voltage 4.2 V"
    board = (*cell((3.7, 0.0), (3.0, 100.0)), charger, f"R1 10M {rail} N1", WANTED)
    assert level(*board) is expected


def test_quiet_where_nothing_lights_it() -> None:
    """A light with an end on nothing belongs to other rules."""
    assert level(*FALLING, "R1 100 VBAT N1", "D1 led N1 N2" + RED) is None


@pytest.mark.parametrize(
    "way",
    [("SW1 button 1: VBAT 2: N0", "R1 100 N0 N1"), ("R1 100 VBAT N0", "SW1 button 1: N0 2: N1")],
)
def test_a_light_under_a_button_is_judged_with_the_button_pressed(way: tuple[str, str]) -> None:
    assert level(*FALLING, *way, WANTED) is Level.QUERY


def test_the_mode_in_which_it_fades_first_decides() -> None:
    """Alone it is too dim at 80 % of the charge; beside U1, 10 Ω · 10 mA, 0.1 V earlier.

    By hand: the cell falls by (3.0 − 2.217) V over 80 %, so that is 10.2 % of the charge.
    """
    volts, share = FULL[0] - needed(LIMIT), 80.0
    curve = cell(FULL, (needed(LIMIT) + 10.0 * LIMIT, share), (1.9, 100.0))
    board = [line.replace("resistance: 0 ohm", "resistance: 10 ohm") for line in curve]
    modes = (
        "~ modes:",
        "~   plain: {share: 1 h per day, pattern: [{name: on, lights: [D1]}]}",
        "~   busy:",
        "~     share: 1 h per day",
        "~     pattern: [{name: on, lights: [D1]}, {name: work, part: U1, current: 10 mA}]",
    )
    found = finding(*board, MCU, RESISTOR, WANTED, *modes)
    earlier = share / 100.0 * 0.1 / (volts - 10.0 * LIMIT)

    assert number(found, "share of charge left") == pytest.approx(0.2 + earlier, abs=5e-3)
    assert found.state == "mode busy"


def test_a_light_of_which_the_pattern_says_nothing_is_judged_alone() -> None:
    other = "R2 1k VBAT N2\nD2 led N2 GND" + RED
    found = finding(*FALLING, RESISTOR, WANTED, other, "~ pattern: [{name: on, lights: [D2]}]")
    assert found.subject.name == "D1"
    assert "no other light on" in found.why


def test_a_mode_in_which_another_source_feeds_it_does_not_count() -> None:
    usb = "J1 connector/in 1: VBUS 2: GND\n~ sources: {J1: {net: VBUS, voltage: 5 V}}"
    diode = "D9 diode/BAT54 VBUS VBAT"
    for sources, expected in (("[J1]", None), ("[]", Level.QUERY)):
        mode = (
            f"~ modes: {{on: {{share: 1 h per day, sources: {sources}, "
            "pattern: [{name: on, lights: [D1]}]}}"
        )
        found = review(*FALLING, usb, diode, RESISTOR, WANTED, mode)
        alone = [f for f in found.findings if "no other light on" in f.why]
        assert bool(alone) is (expected is None)


# Consequences.


def both(other: object, *lines: str) -> Review:
    pack = LoadedPack("two", "0", (rule, other))  # type: ignore[arg-type]
    return run(circuit_of("\n".join(lines)), [pack], budget=False)


def test_what_a_neighbour_keeps_dark_follows_the_shared_resistor() -> None:
    curve = cell((3.3, 0.0), (3.2, 100.0))
    blue = "D2 led N1 GND" + BLUE
    found = both(shared_rule, *curve, RESISTOR, LIGHT, blue)
    by_rule = {each.rule: each for each in found.findings}

    assert by_rule["led-headroom"].subject.name == "D2"
    assert by_rule["led-headroom"].follows == by_rule["led-shared-resistor"].fingerprint


def test_a_light_on_a_shorted_cell_follows_the_short() -> None:
    board = (
        "BT1 CR2032 VBAT GND",
        "U1 mcu VCC+ VCC GND- GND",
        "FB1 ferrite VBAT VCC",
        "R9 0 VCC GND",
    )
    found = both(shorted_rule, *board, RESISTOR, WANTED)
    mine = next(each for each in found.findings if each.rule == "led-headroom")

    assert mine.follows in {e.fingerprint for e in found.findings if e.rule == "rail-shorted"}


# What is missing.


@pytest.mark.parametrize(
    ("board", "of", "key"),
    [
        ((*FALLING, RESISTOR, "D1 led N1 GND"), "D1", "forward_voltage"),
        ((*FALLING, "R1 resistor VBAT N1", WANTED), "R1", "value"),
        (("BT1 cell/holder + VBAT - GND", RESISTOR, WANTED), "BT1", "cell"),
        (("J1 connector 1: IN 2: GND", RESISTOR.replace("VBAT", "IN"), WANTED), "J1", "sources"),
    ],
)
def test_what_is_missing_is_asked_for(board: tuple[str, ...], of: str, key: str) -> None:
    found = review(*board)

    assert not found.findings
    assert [(each.of, each.key) for each in found.undetermined] == [(of, key)]
