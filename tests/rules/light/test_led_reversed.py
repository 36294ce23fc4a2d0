"""`led-reversed`: lights that can never light and diodes that never conduct, and what is meant.

What a junction does, conduct from anode to cathode only, is all that these boards rest on; the
one current is worked out by hand.
"""

from __future__ import annotations

import pytest

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.light.led_reversed import check as rule
from boardvet_rules.rail.rail_shorted import check as rail_shorted
from boardvet_rules.rail.rail_unfed import check as rail_unfed

CELL = "BT1 CR2032 VBAT GND"
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 PB3 P3"


def review(*lines: str) -> Review:
    found = judge(rule, "\n".join((CELL, MCU, *lines)))
    assert not found.broken, found.broken
    assert not found.undetermined, found.undetermined
    return found


def findings(*lines: str) -> tuple[Finding, ...]:
    return review(*lines).findings


def found_at(*lines: str) -> dict[str, Level]:
    return {finding.subject.name: finding.level for finding in findings(*lines)}


REVERSIBLE = [
    ("pin to ground", ("R1 330 P0 N1", "D1 led/red {} {}"), ("N1", "GND")),
    ("supply to pin", ("R1 330 VBAT N1", "D1 led/red {} {}"), ("N1", "P0")),
    ("supply to ground", ("R1 330 VBAT N1", "D1 led/red {} {}"), ("N1", "GND")),
    ("resistor below", ("R1 330 N1 GND", "D1 led/red {} {}"), ("P0", "N1")),
    (
        "through an N-FET",
        ("R1 330 VBAT N1", "Q1 fet/n 1:G P0 2:S GND 3:D N2 = channel n", "D1 led/red {} {}"),
        ("N1", "N2"),
    ),
    (
        "through a P-FET",
        ("Q1 fet/p 1:G P0 2:S VBAT 3:D N1 = channel p", "R1 330 N2 GND", "D1 led/red {} {}"),
        ("N1", "N2"),
    ),
    (
        "through an NPN transistor",
        ("R1 330 VBAT N1", "Q1 bipolar-transistor/npn 1:B P0 2:E GND 3:C N2", "D1 led/red {} {}"),
        ("N1", "N2"),
    ),
    (
        "through a switch",
        ("SW1 switch VBAT N1", "R1 330 N2 GND", "D1 led/red {} {}"),
        ("N1", "N2"),
    ),
    (
        "into an open drain",
        ("U2 charger/made-up VDD+ VBAT VSS- GND 3:STAT* N2", "R1 330 VBAT N1", "D1 led/red {} {}"),
        ("N1", "N2"),
    ),
    (
        "behind another diode",
        ("D2 diode VBAT N0", "R1 330 N0 N1", "D1 led/red {} {}"),
        ("N1", "GND"),
    ),
]


@pytest.mark.parametrize(
    ("lines", "nets"), [case[1:] for case in REVERSIBLE], ids=[case[0] for case in REVERSIBLE]
)
def test_a_light_is_a_hold_where_it_is_turned_round_and_clear_where_it_is_not(
    lines: tuple[str, ...], nets: tuple[str, str]
) -> None:
    *others, light = lines
    anode, cathode = nets

    assert found_at(*others, light.format(anode, cathode)) == {}
    assert found_at(*others, light.format(cathode, anode)) == {"D1": Level.HOLD}


def test_the_finding_says_which_way_to_turn_it() -> None:
    (finding,) = findings("R1 330 P0 N1", "D1 led/red GND N1")

    assert finding.bench == "D1 never lights."
    assert "anode to N1, cathode to GND" in finding.fix


def test_in_a_stack_the_one_that_is_turned_round_is_found() -> None:
    stack = "R1 100 VBAT N0\nD1 led/red N0 N1\nD2 led/red {} {}\nD3 led/red N2 GND"

    assert found_at(stack.format("N1", "N2")) == {}
    assert found_at(stack.format("N2", "N1")) == {"D2": Level.HOLD}


def test_two_turned_round_in_one_stack_are_both_found() -> None:
    stack = "R1 100 VBAT N0\nD1 led/red N1 N0\nD2 led/red GND N1"

    assert found_at(stack) == {"D1": Level.HOLD, "D2": Level.HOLD}


def test_a_light_of_a_two_colour_part_is_named() -> None:
    part = "D1 led/two 1:RA {} 2:RK {} 3:GA N2 4:GK GND"
    resistors = "R1 330 P0 N1\nR2 330 P1 N2"

    assert found_at(resistors, part.format("N1", "GND")) == {}
    assert list(found_at(resistors, part.format("GND", "N1"))) == ["D1 (ra)"]


def test_a_common_anode_on_ground_asks_for_another_type() -> None:
    part = "D1 led/rgb 1:A {} 2:RK N1 3:GK N2 4:BK N3"
    resistors = "R1 330 P0 N1\nR2 330 P1 N2\nR3 330 P2 N3"

    assert found_at(resistors, part.format("VBAT")) == {}
    found = findings(resistors, part.format("GND"))
    assert len(found) == 3
    assert all("common pin" in finding.fix for finding in found)


# What is meant to be as it is


def test_an_antiparallel_pair_is_quiet_and_one_of_it_alone_is_not() -> None:
    assert found_at("R1 330 P0 N1", "D1 led/red N1 GND", "D2 led/green GND N1") == {}
    assert found_at("R1 330 P0 N1", "D2 led/green GND N1") == {"D2": Level.HOLD}


def test_a_multiplexed_array_is_quiet() -> None:
    rows = [f"R{n} 100 P{n} N{n}" for n in range(3)]
    pairs = [(a, b) for a in range(3) for b in range(3) if a != b]
    lights = [f"D{n} led/red N{a} N{b}" for n, (a, b) in enumerate(pairs, 1)]

    assert found_at(*rows, *lights) == {}


def test_a_row_and_column_array_behind_transistors_is_quiet_until_one_is_turned() -> None:
    row = "Q1 fet/p 1:G P0 2:S VBAT 3:D ROW = channel p\nR1 100 ROW N1"
    column = "Q2 fet/n 1:G P1 2:S GND 3:D COL = channel n"

    assert found_at(row, column, "D1 led/red N1 COL") == {}
    assert found_at(row, column, "D1 led/red COL N1") == {"D1": Level.HOLD}


@pytest.mark.parametrize("kind", ["zener/5V1", "tvs/clamp"])
def test_zeners_and_clamps_block_on_purpose(kind: str) -> None:
    assert found_at(f"D1 {kind} GND VBAT", f"D2 {kind} GND P0") == {}


def test_a_plain_diode_in_that_place_is_protection_too() -> None:
    assert found_at("D1 diode/1N4148 GND VBAT") == {}
    assert found_at("D1 diode/1N4148 GND P0") == {}


def test_a_clamp_to_a_rail_is_quiet() -> None:
    assert found_at("J1 connector 1: IN 2: GND", "R1 1k IN P0", "D1 diode P0 VBAT") == {}


@pytest.mark.parametrize("coil", ["L1 10u VBAT N1", "M1 motor VBAT N1", "BZ1 buzzer VBAT N1"])
def test_a_diode_across_a_coil_is_quiet_and_without_the_coil_it_is_not(coil: str) -> None:
    low_side = "Q1 fet/n 1:G P0 2:S GND 3:D N1 = channel n"

    assert found_at(coil, low_side, "D1 diode N1 VBAT") == {}
    assert found_at(low_side, "D1 diode N1 VBAT") == {"D1": Level.QUERY}


def test_a_diode_across_a_relay_is_quiet() -> None:
    low_side = "Q1 fet/n 1:G P0 2:S GND 3:D N1 = channel n"
    relay = "K1 relay 1: VBAT 2: N1 3: A 4: B"

    assert found_at(relay, low_side, "D1 diode N1 VBAT") == {}


def test_or_ing_diodes_are_quiet() -> None:
    board = """
BT1 CR2032 CELL GND
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
D1 diode/BAT54 CELL VBAT
D2 diode/BAT54 VIN VBAT
U1 mcu VCC+ VBAT GND- GND
"""
    assert not judge(rule, board).findings


def test_a_rectifier_on_a_connector_is_quiet() -> None:
    board = """
J1 connector/ac 1: AC1 2: AC2
D1 diode AC1 VDC
D2 diode AC2 VDC
D3 diode GND AC1
D4 diode GND AC2
C1 10u/25V VDC GND
U1 mcu VCC+ VDC GND- GND
"""
    assert not judge(rule, board).findings


@pytest.mark.parametrize(
    "sensor",
    [
        "U2 analogue-ic/op VCC+ VBAT GND- GND 3:IN<  EYE",
        "U2 mcu VCC+ VBAT GND- GND 3:PB4/ADC2 EYE",
        "U2 mcu VCC+ VBAT GND- GND 3:PB4 EYE\nR1 1M VBAT EYE",
    ],
    ids=["input", "named", "biased"],
)
def test_an_led_that_senses_light_is_quiet(sensor: str) -> None:
    assert found_at(sensor, "D1 led/red GND EYE") == {}


def test_a_bare_reversed_led_on_a_port_is_asked_about() -> None:
    assert found_at("D1 led/red GND P0") == {"D1": Level.QUERY}


def test_an_led_between_two_ports_may_be_both() -> None:
    assert found_at("D1 led/red P0 P1") == {}


def test_a_connector_may_be_any_source() -> None:
    assert found_at("J1 connector 1: OUT 2: GND", "R1 330 OUT N1", "D1 led/red N1 GND") == {}
    assert found_at("J1 connector 1: OUT 2: GND", "R1 330 OUT N1", "D1 led/red GND N1") == {
        "D1": Level.HOLD
    }
    assert found_at("J1 connector 1: OUT 2: RETURN", "R1 330 OUT N1", "D1 led/red RETURN N1") == {}


def test_a_part_that_nobody_understands_may_do_anything() -> None:
    assert found_at("X9 thing 1: OUT 2: GND", "R1 330 OUT N1", "D1 led/red N1 GND") == {}


@pytest.mark.parametrize("nets", ["N9 GND", "GND N9", "P0 N9", "N9 P0", "N8 N9"])
def test_an_open_end_is_left_to_the_rules_on_nets(nets: str) -> None:
    assert found_at(f"D1 led/red {nets}") == {}


def test_a_light_on_a_rail_that_nothing_feeds_is_left_to_that_rule() -> None:
    lost = "U2 mcu VCC+ LOST GND- GND"

    assert found_at(lost, "R1 330 LOST N1", "D1 led/red N1 GND") == {}
    assert found_at(lost, "R1 330 LOST N1", "D1 led/red GND N1") == {"D1": Level.HOLD}


TWO_RAILS = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
U2 regulator/made-up VIN+ VIN GND- GND VOUT> V3 = output 3 V
R1 330 VIN N1
D1 led/red %s
"""


def test_between_two_rails_it_lights_only_from_the_higher_one() -> None:
    assert not judge(rule, TWO_RAILS % "N1 V3").findings
    assert [f.level for f in judge(rule, TWO_RAILS % "V3 N1").findings] == [Level.HOLD]


def test_a_pin_never_stands_above_its_own_supply_however_wide_that_is() -> None:
    board = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 4.5 to 5.5 V}}
U1 mcu VCC+ VIN GND- GND PB0 P0
R1 330 VIN N1
D1 led/red %s
"""
    assert not judge(rule, board % "N1 P0").findings
    assert [f.level for f in judge(rule, board % "P0 N1").findings] == [Level.HOLD]


def test_an_led_through_a_capacitor_is_left_alone() -> None:
    assert found_at("C1 1u P0 N1", "D1 led/red GND N1") == {}
    assert found_at("C1 1u P0 N1", "C2 1u P1 GND", "R1 330 P2 N2", "D1 led/red GND N2") == {
        "D1": Level.HOLD
    }


# Other diodes


def test_a_series_diode_turned_round_is_a_query_under_the_rail_that_it_starves() -> None:
    board = (
        "BT1 CR2032 CELL GND\nD1 diode/BAT54 {}\n"
        "U1 mcu VCC+ VBAT GND- GND\nU2 sensor VCC+ VBAT GND- GND"
    )
    both = run(circuit_of(board.format("VBAT CELL")), [LoadedPack("", "0", (rule, rail_unfed))])
    prints = {finding.rule: finding for finding in both.findings}

    assert prints["led-reversed"].level is Level.QUERY
    assert prints["led-reversed"].follows == prints["rail-unfed"].fingerprint
    assert not judge(rule, board.format("CELL VBAT")).findings


def test_a_diode_that_never_conducts_elsewhere_is_a_query() -> None:
    lines = ("R1 10k GND N1", "R2 10k N2 VBAT")

    assert found_at(*lines, "D1 diode/1N4148 N1 N2") == {"D1": Level.QUERY}
    assert found_at(*lines, "D1 diode/1N4148 N2 N1") == {}


def test_a_diode_that_shorts_a_rail_is_a_hold_under_the_shorted_rail() -> None:
    """By hand: 5 V less some 0.7 V on next to no ohms is far above the 0.5 A of the source."""
    board = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V, current_max: 500 mA}}
U1 mcu VCC+ VIN GND- GND
D1 diode/1N4001 %s
"""
    both = run(circuit_of(board % "VIN GND"), [LoadedPack("", "0", (rule, rail_shorted))])
    prints = {finding.rule: finding for finding in both.findings}

    assert prints["led-reversed"].level is Level.HOLD
    assert prints["led-reversed"].numbers[0].value > 0.5
    assert prints["led-reversed"].follows == prints["rail-shorted"].fingerprint
    assert not judge(rule, board % "GND VIN").findings


def test_without_the_source_s_limit_a_short_through_a_diode_is_undetermined() -> None:
    board = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
U1 mcu VCC+ VIN GND- GND
D1 diode/1N4001 VIN GND
"""
    assert [u.key for u in judge(rule, board).undetermined] == ["current_max"]


def test_a_board_without_diodes_has_no_subject() -> None:
    assert review().no_subject == ("led-reversed",)


def test_a_hundred_diodes_of_a_keyboard_are_all_followed_and_quiet() -> None:
    """Each key joins its column to its diode, whose cathode is on the row."""
    keys = [(row, column) for row in range(10) for column in range(10)]
    pins = " ".join(f"R{n} ROW{n} C{n} COL{n}" for n in range(10))
    lines = [f"U2 mcu VCC+ VBAT GND- GND {pins}"]
    for n, (row, column) in enumerate(keys, 1):
        lines += [f"SW{n} button COL{column} K{n}", f"D{n} diode K{n} ROW{row}"]

    assert found_at(*lines) == {}


CHARGER = """
J1 usb-connector/C VBUS VBUS GND GND
U1 charger/made-up VDD+ VBUS GND- GND VBAT> PACK STAT> STAT = charge_voltage 4.2 V
BT1 cell/pouch PACK GND
R1 1k STAT _1
~ cell: {part: BT1, type: lithium-ion}
"""


@pytest.mark.parametrize(
    ("ends", "found"), [("VBUS _1", 0), ("_1 VBUS", 1)], ids=["anode on VBUS", "turned round"]
)
def test_a_charger_s_status_light_is_judged_by_the_charger_s_own_supply(
    ends: str, found: int
) -> None:
    """A push-pull status pin rises to VBUS, never above it."""
    assert len(judge(rule, f"{CHARGER}D1 led/red {ends}").findings) == found
