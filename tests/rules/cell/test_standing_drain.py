"""`standing-drain`: paths by hand, shares walked through their limits, what is quiet, cures.

The cell is one of 3.0 V without resistance and of 1000 mAh; over 1000 h it can give 1 mA on
average, so that a query begins at 250 µA and a note at 50 µA.
"""

from __future__ import annotations

import math
import re

import pytest
from tests.rules.judging import Judging, number

from boardvet.review.review import Review
from boardvet.review.verdict import Level
from boardvet_rules.cell.standing_drain import check as rule

CURVE = "voltage: 3.0 V at 0 % and 3.0 V at 100 %, resistance: 0 ohm"
CELL = (
    "BT1 cell/holder + VBAT - GND",
    f"~ cell: {{part: BT1, type: CR2032, capacity: 1000 mAh, {CURVE}}}",
)
HOURS = "~ run_time: 1000 h"
MCU = "U1 mcu VCC+ VBAT GND- GND PA1 P1 PA2 P2 = sleep_current 0 A"
QUERY, NOTE = 250e-6, 50e-6
WALK = [(1.01 * QUERY, Level.QUERY), (0.99 * QUERY, Level.NOTE), (1.01 * NOTE, Level.NOTE)]
WALKED = [*WALK, (0.99 * NOTE, None)]


JUDGING = Judging(rule)
review = JUDGING.review


def board(*lines: str) -> Review:
    return review(*CELL, HOURS, *lines)


def level(done: Review) -> Level | None:
    assert not done.undetermined, done.undetermined
    assert len(done.findings) <= 1
    return done.findings[0].level if done.findings else None


# Currents and levels.


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_the_level_follows_the_share_of_the_mean_current(
    amperes: float, expected: Level | None
) -> None:
    """By hand: 3.0 V / R; a quarter and a twentieth of 1 mA, 1 % around."""
    assert level(board(f"R1 {3.0 / amperes:.5g} VBAT GND")) is expected


def test_dividers_behind_each_other_are_one_path() -> None:
    """By hand: 10 kΩ + (10 kΩ ∥ 20 kΩ) = 16.67 kΩ, and 3.0 V / 16.67 kΩ = 180 µA."""
    done = board("R1 10k VBAT A", "R2 10k A GND", "R3 10k A B", "R4 10k B GND", MCU)
    (finding,) = done.findings

    assert number(finding, "standing current") == pytest.approx(180e-6, rel=1e-3)
    assert finding.subject.name == "R1, R2, R3 and R4"
    assert finding.level is Level.NOTE


def test_dividers_beside_each_other_are_two() -> None:
    """By hand: 150 µA and 75 µA, 15 % and 7.5 %."""
    done = board("R1 10k VBAT A", "R2 10k A GND", "R3 20k VBAT B", "R4 20k B GND")

    assert {f.subject.name for f in done.findings} == {"R1 and R2", "R3 and R4"}


def test_more_than_all_of_it_says_when_the_cell_is_empty() -> None:
    """By hand: 3.0 V / 1 kΩ = 3 mA, three times 1 mA: after a third of 1000 h, 14 days."""
    (finding,) = board("R1 1k VBAT GND").findings

    assert "BT1 is empty after 14 days of the 42 days wanted" in finding.bench


@pytest.mark.parametrize(("ohms", "expected"), [(260.2e3, Level.NOTE), (265.5e3, None)])
def test_without_a_run_time_it_is_a_note_where_it_empties_the_cell_within_ten_years(
    ohms: float, expected: Level | None
) -> None:
    """By hand: 1000 mAh / 87,600 h = 11.42 µA, and 3.0 V / 11.42 µA = 262.8 kΩ; ±1 %."""
    assert level(review(*CELL, f"R1 {ohms} VBAT GND")) is expected


MODES = (
    "~ modes:",
    "~   on:",
    "~     share: 2.4 h per day",
    "~     closed: {SW1: [1, 2]}",
)


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_a_path_counts_for_the_share_of_its_mode(amperes: float, expected: Level | None) -> None:
    """A pull-up held low for a tenth of the time: ten times the current."""
    lines = (MCU, f"R1 {3.0 / (10 * amperes):.5g} VBAT P1", "SW1 switch 1: P1 2: GND", *MODES)
    assert level(board(*lines)) is expected


def test_a_path_of_several_modes_is_one_with_the_mean_of_them() -> None:
    """R1 and R2 all the time, SW1 across R2 a tenth of it.

    By hand: 0.9 · 3.0 V / 20 kΩ + 0.1 · 3.0 V / 10 kΩ = 135 + 30 = 165 µA.
    """
    lines = ("R1 10k VBAT A", "R2 10k A GND", "SW1 switch 1: A 2: GND", MCU, *MODES)
    (finding,) = board(*lines).findings

    assert number(finding, "mean of it") == pytest.approx(165e-6, rel=1e-3)
    assert number(finding, "share of the time") == pytest.approx(1.0)


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_a_light_straight_on_its_supply(amperes: float, expected: Level | None) -> None:
    """By hand: red, V = 1.9 V + 2 · 25.865 mV · ln(I / 10 mA) + 6 Ω · (I − 10 mA); its resistor
    takes the rest of 3.0 V.
    """
    drop = 1.9 + 2 * 0.025865 * math.log(amperes / 10e-3) + 6.0 * (amperes - 10e-3)
    light = (
        "D1 led N1 GND = colour red = forward_voltage 1.9 V at 10 mA = emission 2"
        " = series_resistance 6 ohm"
    )
    assert level(board(f"R1 {(3.0 - drop) / amperes:.5g} VBAT N1", light)) is expected


def booster(enable: str, ohms: float) -> tuple[str, ...]:
    return (
        f"U2 regulator VIN+ VBAT SW SW VOUT> VOUT FB FB EN< {enable} GND- GND"
        " = output 5 V = conversion step-up = quiescent_current 0 A = efficiency 80 % at 1 mA",
        "L1 10u VBAT SW",
        "D9 diode SW VOUT = forward_voltage 0.3 V at 1 mA = emission 1.05"
        " = series_resistance 0 ohm",
        f"R3 {ohms / 2:.5g} VOUT FB",
        f"R4 {ohms / 2:.5g} FB GND",
    )


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_coil_and_diode_of_a_booster_that_is_off(amperes: float, expected: Level | None) -> None:
    """By hand: the diode drops 0.3 V + 1.05 · Vt · ln(I / 1 mA), the divider takes the rest."""
    drop = 0.3 + 1.05 * 0.025865 * math.log(amperes / 1e-3)
    done = board(MCU, *booster("P1", (3.0 - drop) / amperes))

    assert level(done) is expected
    for finding in done.findings:
        assert {"L1", "D9", "R3", "R4", "U2"} <= set(finding.parts)
        assert "disconnects its load" in finding.fix


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_behind_a_booster_that_is_on_a_path_counts_as_power(
    amperes: float, expected: Level | None
) -> None:
    """By hand: each microampere at 5 V is 5 V / (0.8 · 3.0 V) = 2.083 µA at the cell."""
    behind = f"R5 {5.0 / (amperes / (5.0 / (0.8 * 3.0))):.0f} VOUT GND"
    assert level(board(MCU, *booster("VBAT", 198e3), behind)) is expected


@pytest.mark.parametrize(
    ("words", "rate"),
    [
        ("electrolytic", 0.01),
        ("tantalum", 0.01),
        ("polymer", 0.1),
    ],
)
@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_what_a_capacitor_leaks(
    words: str, rate: float, amperes: float, expected: Level | None
) -> None:
    """By hand: C = I / (0.01 · 3.0 V) for aluminium and tantalum, a tenth of it for polymer."""
    farads = amperes / (rate * 3.0)
    done = board(f"C1 {farads * 1e6:.5g}u VBAT GND = dielectric {words}")

    assert level(done) is expected
    for finding in done.findings:
        assert finding.numbers[0].source.startswith("assumed")


@pytest.mark.parametrize(("amperes", "expected"), WALKED)
def test_what_a_supercapacitor_leaks(amperes: float, expected: Level | None) -> None:
    """5 µA for each farad, from memory."""
    assert level(board(f"C1 {amperes / 5e-6:.5g}F VBAT GND = dielectric supercap")) is expected


def test_own_currents_of_regulators_and_addressable_lights_are_only_listed() -> None:
    done = board(
        "U2 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.5 V = quiescent_current 400 uA",
        "D5 addressable-led VDD+ VBAT GND- GND DIN P1 = sleep_current 600 uA",
        "R1 10k VBAT GND",
    )
    (finding,) = done.findings

    assert finding.subject.name == "R1"
    assert number(finding, "own current of U2") == pytest.approx(400e-6)
    assert number(finding, "own current of D5") == pytest.approx(600e-6)


# What is quiet, each with a twin that differs in one thing.

SHARED = ("R1 10k {} N1", "R2 10k N1 GND")
"""A divider that takes 150 µA of 3.0 V: note."""


def regulator(enable: str) -> str:
    """Return a linear regulator for 2.5 V that uses nothing itself."""
    return (
        f"U2 regulator VIN+ VBAT VOUT> VR EN< {enable} GND- GND = output 2.5 V"
        " = conversion linear = dropout 10 mV at 10 mA = quiescent_current 0 A"
    )


def divider(rail: str) -> tuple[str, ...]:
    return tuple(line.format(rail) for line in SHARED)


@pytest.mark.parametrize(("rail", "expected"), [("VBUS", None), ("VBAT", Level.NOTE)])
def test_quiet_where_only_usb_feeds_it(rail: str, expected: Level | None) -> None:
    usb = ("J1 usb-connector 1:VBUS VBUS 2:GND GND", "~ sources: {J1: {net: VBUS, voltage: 5 V}}")
    assert level(board(*usb, *divider(rail))) is expected


@pytest.mark.parametrize(("sources", "expected"), [("[J1]", Level.NOTE), ("[]", Level.QUERY)])
def test_the_time_on_usb_does_not_count(sources: str, expected: Level) -> None:
    """By hand: 3.0 V / 7.5 kΩ = 400 µA; half of the day on USB leaves 200 µA, 20 %."""
    done = board(
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
        "~ sources: {J1: {net: VBUS, voltage: 5 V}}",
        "R1 7.5k VBAT GND",
        f"~ modes: {{day: {{share: 12 h per day, sources: {sources}}}}}",
    )
    assert level(done) is expected


@pytest.mark.parametrize(("gate", "expected"), [("P1", None), ("GND", Level.NOTE)])
def test_quiet_behind_a_load_switch_that_is_off_at_rest(gate: str, expected: Level | None) -> None:
    switch = f"Q1 fet 1:G {gate} 2:S VBAT 3:D VLOAD = channel p = on_resistance 0.1 ohm at 3 V"
    assert level(board(MCU, switch, *divider("VLOAD"))) is expected


@pytest.mark.parametrize(("enable", "expected"), [("P1", None), ("VBAT", Level.NOTE)])
def test_quiet_behind_a_regulator_that_is_off_at_rest(enable: str, expected: Level | None) -> None:
    """By hand: 2.5 V / 20 kΩ = 125 µA while it is on."""
    assert level(board(MCU, regulator(enable), *divider("VR"))) is expected


@pytest.mark.parametrize(("pin", "expected"), [("FB N1", None), ("NC FREE", Level.NOTE)])
def test_quiet_where_it_sets_the_output_of_a_regulator(pin: str, expected: Level | None) -> None:
    part = (
        f"U2 regulator VIN+ VBAT VOUT> VR {pin} GND- GND = output 2.5 V"
        " = conversion linear = dropout 10 mV at 10 mA = quiescent_current 0 A"
    )
    assert level(board(part, *divider("VR"))) is expected


@pytest.mark.parametrize(
    ("part", "expected"),
    [("SW1 switch 1: VBAT 2: VON", None), ("F1 fuse 1: VBAT 2: VON", Level.NOTE)],
)
def test_quiet_behind_a_hand_switch(part: str, expected: Level | None) -> None:
    assert level(board(part, *divider("VON"))) is expected


def test_behind_a_hand_switch_it_counts_while_a_mode_closes_it() -> None:
    """By hand: 150 µA for a tenth of the time is 1.5 %, 3 mA is 30 %."""
    switch = "SW1 switch 1: VBAT 2: VON"
    assert level(board(switch, *divider("VON"), *MODES)) is None
    assert level(board(switch, "R1 1k VON GND", *MODES)) is Level.QUERY


LIGHT = "D1 led N1 GND = colour red = forward_voltage 1.9 V at 10 mA"


@pytest.mark.parametrize(
    ("page", "expected"),
    [
        ("~ pattern: [{name: on, lights: [D1]}]", None),
        ("~ pattern: [{name: other, part: U1, current: 1 uA}]", Level.QUERY),
    ],
)
def test_quiet_where_the_pattern_lights_it(page: str, expected: Level | None) -> None:
    assert level(board(MCU, "R1 1k VBAT N1", LIGHT, page)) is expected


@pytest.mark.parametrize(("part", "expected"), [("R1", None), ("U1", Level.NOTE)])
def test_quiet_where_the_pattern_lists_it_as_a_part(part: str, expected: Level | None) -> None:
    page = f"~ pattern: [{{name: divider, part: {part}, current: 150 uA}}]"
    assert level(board(MCU, *divider("VBAT"), page)) is expected


@pytest.mark.parametrize(("top", "expected"), [("P1", None), ("VBAT", Level.QUERY)])
def test_quiet_where_a_pin_feeds_the_light(top: str, expected: Level | None) -> None:
    assert level(board(MCU, f"R1 1k {top} N1", LIGHT)) is expected


@pytest.mark.parametrize(
    ("part", "expected"),
    [("SW1 switch 1: N0 2: N1", None), ("F1 fuse 1: N0 2: N1", Level.QUERY)],
)
def test_quiet_where_a_hand_switches_the_light(part: str, expected: Level | None) -> None:
    assert level(board(MCU, "R1 1k VBAT N0", part, LIGHT)) is expected


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("SW1 button 1: P1 2: GND", None),
        ("JP1 jumper 1: P1 2: GND", None),
        ("SW1 switch 1: P1 2: GND", Level.NOTE),
    ],
)
def test_a_pull_up_is_held_low_by_a_switch_only(part: str, expected: Level | None) -> None:
    """A button is released, a jumper drawn open is open; a switch may stay closed for good."""
    assert level(board(MCU, "R1 20k VBAT P1", part)) is expected


@pytest.mark.parametrize(("bottom", "expected"), [("P2", None), ("GND", Level.NOTE)])
def test_quiet_where_the_controller_closes_the_divider(
    bottom: str, expected: Level | None
) -> None:
    assert level(board(MCU, "R1 10k VBAT P1", f"R2 10k P1 {bottom}")) is expected


@pytest.mark.parametrize(("words", "expected"), [("ceramic", None), ("tantalum", Level.NOTE)])
def test_quiet_where_a_capacitor_is_a_ceramic_one(words: str, expected: Level | None) -> None:
    assert level(board(f"C1 2000u VBAT GND = dielectric {words}")) is expected


@pytest.mark.parametrize(("gate", "expected"), [("P1", None), ("GND", Level.NOTE)])
def test_a_capacitor_behind_a_load_switch_does_not_leak_at_rest(
    gate: str, expected: Level | None
) -> None:
    switch = f"Q1 fet 1:G {gate} 2:S VBAT 3:D VLOAD = channel p"
    assert level(board(MCU, switch, "C1 2000u VLOAD GND = dielectric tantalum")) is expected


@pytest.mark.parametrize(("enable", "expected"), [("P1", None), ("VBAT", Level.NOTE)])
def test_a_capacitor_behind_a_regulator_that_is_off_does_not_leak(
    enable: str, expected: Level | None
) -> None:
    """By hand: 0.01 · 2.5 mF · 2.5 V = 62.5 µA while it is on."""
    capacitor = "C1 2500u VR GND = dielectric tantalum"
    assert level(board(MCU, regulator(enable), capacitor)) is expected


@pytest.mark.parametrize(("ohms", "expected"), [("0", None), ("1k", Level.QUERY)])
def test_what_joins_a_rail_to_ground_is_left_to_its_own_rule(
    ohms: str, expected: Level | None
) -> None:
    assert level(board(f"R2 {ohms} VBAT GND")) is expected
    assert level(board(MCU, *booster("VBAT", 198e3), f"R6 {ohms} VOUT GND")) is expected


BACKWARDS = ("D1 diode/BAT54 VCHG VBAT", "R1 20k VCHG GND")


@pytest.mark.parametrize(
    "charger", [(), ("U4 charger VIN+ VBAT VOUT> VCHG GND- GND = charge_voltage 4.2 V",)]
)
def test_what_creeps_backwards_through_a_diode_is_left_to_its_own_rule(
    charger: tuple[str, ...],
) -> None:
    """Also where a charger is drawn with its pins the other way round."""
    assert board(*charger, *BACKWARDS).no_subject == ("standing-drain",)
    forward = BACKWARDS[0].replace("VCHG VBAT", "VBAT VCHG")
    assert level(board(*charger, forward, BACKWARDS[1])) is Level.NOTE


def test_what_flows_from_rail_to_rail_is_no_path_to_ground() -> None:
    assert board(MCU, regulator("VBAT"), "R9 10k VBAT VR").no_subject == ("standing-drain",)


def test_of_what_flows_to_another_rail_too_only_the_part_to_ground_counts() -> None:
    """By hand: 10 kΩ each from 3.0 V, from 1.0 V and to ground: the middle is at 4/3 V."""
    held = regulator("VBAT").replace("output 2.5 V", "output 1.0 V")
    (finding,) = board(MCU, held, "R1 10k VBAT A", "R2 10k A GND", "R3 10k A VR").findings

    assert number(finding, "standing current") == pytest.approx(133.3e-6, rel=1e-3)


def test_a_regulator_that_feeds_what_enables_it_is_on() -> None:
    """By hand: 2.5 V / 20 kΩ = 125 µA."""
    fed = MCU.replace("VCC+ VBAT", "VCC+ VR")
    assert level(board(fed, regulator("P1"), *divider("VR"))) is Level.NOTE
    assert level(board(MCU, regulator("P1"), *divider("VR"))) is None


def test_without_a_cell_there_is_nothing_to_judge() -> None:
    done = review("J1 connector/in 1: IN 2: GND", "R1 1k IN GND", HOURS)
    assert done.no_subject == ("standing-drain",)


# Cures.


@pytest.mark.parametrize(("scale", "times"), [(1, 10), (0.1, 100)])
def test_larger_resistors_in_the_same_ratio_put_into_the_board_are_clear(
    scale: float, times: int
) -> None:
    """By hand: 3.0 V / 15 kΩ = 200 µA; a tenth of that is 20 µA, below the 50 µA of a note.

    3.0 V / 1.5 kΩ = 2 mA; a tenth of that is 200 µA, and a hundredth 20 µA.
    """
    ohms = 10e3 * scale, 5e3 * scale
    (finding,) = board(f"R1 {ohms[0]:.0f} VBAT A", f"R2 {ohms[1]:.0f} A GND", MCU).findings
    put = dict(re.findall(r"(R\d) (\d+) kΩ", finding.fix))

    assert [float(value) * 1e3 for value in put.values()] == [each * times for each in ohms]
    assert "100 nF" in finding.fix
    assert level(board(f"R1 {put['R1']}k VBAT A", f"R2 {put['R2']}k A GND", MCU)) is None


def test_resistors_that_would_be_too_large_are_switched_instead() -> None:
    """1.5 MΩ times ten is above 10 MΩ: at 100 nA allowed nothing that can be bought would do."""
    (finding,) = review(*CELL, "~ run_time: 50000 h", "R1 1.5M VBAT A", "R2 1k A GND").findings
    assert "make R1" not in finding.fix
    assert "let a pin or a FET close it only while it is read" in finding.fix


# What is missing.


def undetermined(done: Review) -> list[tuple[str, str]]:
    assert not done.findings
    return [(each.of, each.key) for each in done.undetermined]


def test_the_value_of_a_resistor_is_asked_for() -> None:
    assert undetermined(board("R1 resistor VBAT GND")) == [("R1", "value")]


def test_the_cell_is_asked_for() -> None:
    done = review("BT1 cell/holder + VBAT - GND", HOURS, "R1 1k VBAT GND")
    assert undetermined(done) == [("BT1", "cell")]


@pytest.mark.parametrize("wanted", [(HOURS,), ()])
def test_the_capacity_is_asked_for(wanted: tuple[str, ...]) -> None:
    cell = ("BT1 cell/holder + VBAT - GND", "~ cell: {part: BT1, type: alkaline}")
    assert undetermined(review(*cell, *wanted, "R1 1k VBAT GND")) == [("BT1", "capacity")]


def test_the_shares_of_the_modes_are_asked_for() -> None:
    modes = "~ modes: {one: {pattern: []}, other: {pattern: []}}"
    assert undetermined(board("R1 1k VBAT GND", modes)) == [("modes", "share")]


def test_the_value_of_a_capacitor_that_leaks_is_asked_for_and_the_rest_judged() -> None:
    done = board("C1 capacitor VBAT GND = dielectric tantalum", "R1 20k VBAT GND")
    assert [each.of for each in done.undetermined] == ["C1"]
    assert [each.subject.name for each in done.findings] == ["R1"]


def test_without_assumptions_a_leakage_is_asked_for_until_the_pattern_states_it() -> None:
    capacitor = "C1 2000u VBAT GND = dielectric tantalum"
    done = review(*CELL, HOURS, capacitor, assume_nothing=True)
    (missing,) = done.undetermined

    assert (missing.of, missing.key) == ("C1", "pattern")
    stated = review(*CELL, HOURS, capacitor, f"~ {missing.how}", assume_nothing=True)
    assert not stated.undetermined
