"""`rail-shorted`: metal, pins and diodes between a supply and ground."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging

from boardvet.review.verdict import Level
from boardvet_rules.rail.rail_shorted import check as rule

BOARD = ("BT1 CR2032 VBAT GND", "U1 mcu VCC+ VBAT GND- GND")


JUDGING = Judging(rule)
review = JUDGING.review


def found(*lines: str) -> dict[str, Level]:
    done = review(*lines)
    assert not done.undetermined, done.undetermined
    return {finding.subject.name: finding.level for finding in done.findings}


@pytest.mark.parametrize(
    "part",
    [
        "R1 0R VBAT GND",
        "L1 inductor VBAT GND",
        "FB1 ferrite VBAT GND",
        "F1 fuse VBAT GND",
        "JP1 jumper/bridged 1: VBAT 2: GND",
        "JP1 jumper 1: VBAT 2: GND",
        "SW1 switch 1: VBAT 2: GND",
        "NT1 joined-nets VBAT GND",
        "FB1 ferrite VBAT N1\nR1 0R N1 GND",
    ],
)
def test_metal_from_a_supply_to_ground_is_a_hold(part: str) -> None:
    assert found(*BOARD, part) == {"VBAT": Level.HOLD}


@pytest.mark.parametrize(
    "part",
    [
        "R1? 0R VBAT GND",
        "R1 10k VBAT GND",
        "C1 100n VBAT GND",
        "R1 0R GND AGND\nFB1 ferrite AGND PGND",
        "FB1 ferrite VBAT N1\nC1 100n N1 GND",
        "D1 SS14 GND VBAT",
        "ZD1 zener A GND K VBAT",
        "D1 tvs A GND K VBAT",
        "R1 10k VBAT RST\nSW1 button 1: RST 2: GND",
        "R1 10k VBAT VR\nU2 supervisor VDD+ VR GND- GND\nSW1 button 1: VR 2: GND",
        "SW1 switch 1: VBAT 2: N1 3: GND\nR1 1M N1 GND",
        "R1 0R VBAT N1",
    ],
    ids=[
        "not fitted",
        "a load",
        "capacitor",
        "joined grounds",
        "filter",
        "diode against a reversed cell",
        "zener",
        "clamp",
        "button with pull-up",
        "button on a supply pin behind a resistor",
        "change-over switch",
        "wire to nowhere",
    ],
)
def test_what_is_no_short_is_quiet(part: str) -> None:
    assert found(*BOARD, part) == {}


def test_both_straps_are_named_and_one_of_them_is_to_go() -> None:
    (finding,) = review(*BOARD, "R1 0R VBAT ADR", "R2 0R ADR GND").findings

    assert finding.parts == ("R1", "R2")
    assert finding.fix == "fit only one of R1 and R2"


@pytest.mark.parametrize(
    "straps", ["R1 0R VBAT ADR\nR2 0R ADR GND", "R2 0R GND ADR\nR1 0R ADR VBAT"]
)
def test_the_order_of_the_straps_does_not_matter(straps: str) -> None:
    (finding,) = review(*BOARD, straps).findings

    assert finding.subject.name == "VBAT"
    assert set(finding.parts) == {"R1", "R2"}


def test_of_two_rails_on_one_ferrite_the_nearer_one_reports() -> None:
    lines = (*BOARD, "FB1 ferrite VBAT VS", "U2 sensor VDD+ VS GND- GND", "L1 inductor VS GND")

    assert found(*lines) == {"VS": Level.HOLD}


def test_a_ground_pin_on_the_supply_is_a_hold() -> None:
    assert found(*BOARD, "U2 sensor VDD+ VBAT GND- VBAT") == {"VBAT": Level.HOLD}


def test_supply_and_ground_drawn_as_one_net_is_a_hold() -> None:
    (finding,) = review("BT1 CR2032 GND GND", "U1 mcu VCC+ GND GND- GND").findings

    assert finding.level is Level.HOLD
    assert finding.parts == ("BT1", "U1")


def test_an_only_supply_pin_on_ground_is_a_hold_and_a_second_one_a_query() -> None:
    assert found(*BOARD, "U2 sensor VDD+ GND GND- GND") == {"GND": Level.HOLD}
    assert found(*BOARD, "U2 sensor VDD+ VBAT VDDIO+ GND GND- GND") == {"GND": Level.QUERY}


def test_a_back_up_supply_tied_to_ground_is_quiet() -> None:
    """Data sheets of clocks ask for that where no back-up cell is fitted (from memory)."""
    assert found(*BOARD, "U2 clock VCC+ VBAT VBAT+ GND GND- GND") == {}


def test_a_supply_pin_tied_to_ground_by_a_strap_of_its_own_is_a_query() -> None:
    lines = (*BOARD, "U2 sensor VDD+ VBAT VDDIO+ VIO GND- GND", "R1 0R VIO GND")

    assert found(*lines) == {"VIO": Level.QUERY}


DIODES = "D{0} diode A {1} K {2} = forward_voltage 0.7 V at 10 mA"
SUPPLY = "J1 connector 1: VIN 2: GND\nU1 mcu VCC+ VIN GND- GND"


def sourced(volts: float, limit: str, *lines: str) -> dict[str, Level]:
    page = f"~ sources:\n~   J1: {{net: VIN, voltage: {volts} V, current_max: {limit}}}"
    return found(SUPPLY, *lines, page)


def test_a_diode_forward_to_ground_is_judged_by_what_the_source_gives() -> None:
    """A diode of 0.7 V at 10 mA carries 10 mA at 0.7 V: a limit of 9.9 mA is exceeded, one of
    10.1 mA is not.
    """
    forward = DIODES.format(1, "VIN", "GND")

    assert sourced(0.7, "9.9 mA", forward) == {"VIN": Level.HOLD}
    assert sourced(0.7, "10.1 mA", forward) == {}


def test_two_diodes_in_series_share_the_voltage() -> None:
    """By hand: 1.4 V over two equal diodes is 0.7 V each, so 10 mA."""
    chain = DIODES.format(1, "VIN", "N1"), DIODES.format(2, "N1", "GND")

    assert sourced(1.4, "9.9 mA", *chain) == {"VIN": Level.HOLD}
    assert sourced(1.4, "10.1 mA", *chain) == {}


def test_of_two_rails_before_a_diode_to_ground_the_nearer_one_reports() -> None:
    chain = DIODES.format(1, "VIN", "VS"), DIODES.format(2, "VS", "GND")

    assert set(sourced(5.0, "50 mA", *chain, "U2 sensor VDD+ VS GND- GND")) == {"VS"}


def test_a_body_diode_counts_as_a_diode() -> None:
    """The body diode of an N type leads from source to drain."""
    wrong, right = "Q1 fet D GND G GND S VIN = channel n", "Q1 fet D VIN G GND S GND = channel n"

    assert sourced(3.3, "500 mA", wrong) == {"VIN": Level.HOLD}
    assert sourced(3.3, "500 mA", right) == {}


def test_lights_are_left_to_their_own_rule() -> None:
    assert sourced(5.0, "500 mA", "D1 led/red A VIN K GND = forward_voltage 2 V at 10 mA") == {}


def test_a_source_of_which_nobody_says_what_it_gives_is_asked_about() -> None:
    page = "~ sources:\n~   J1: {net: VIN, voltage: 3.3 V}"
    done = review(SUPPLY, DIODES.format(1, "VIN", "GND"), page)

    assert [(u.of, u.key) for u in done.undetermined] == [("J1", "current_max")]


def test_what_else_meets_a_ground_with_a_supply_on_it_follows() -> None:
    findings = review(
        "BT1 CR2032 VBAT GND",
        "SW1 switch 1: VBAT 2: GND",
        "U1 mcu VCC+ GND GND- GND",
    ).findings

    causes = {f.subject.name: f.follows is None for f in findings}
    assert causes == {"GND": True, "VBAT": False}


def test_a_lithium_cell_of_stated_capacity_is_taken_to_give_twice_that_in_an_hour() -> None:
    """By hand: 1 Ah gives 2 A. The limit is an assumption, so that it is a query."""
    (finding,) = review(
        "BT1 cell/holder + VBAT - GND",
        "U1 mcu VCC+ VBAT GND- GND",
        "D1 SS14 VBAT GND",
        "~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh}",
    ).findings

    assert finding.level is Level.QUERY
    assert finding.numbers[1].value == pytest.approx(2.0)
