"""`rail-unfed`: what carries a supply, what asks, and what follows."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging

from boardvet.review.verdict import Level
from boardvet_rules.rail.rail_unfed import check as rule

CELL = "BT1 CR2032 VBAT GND"
TAKER = "U1 sensor VDD+ VX GND- GND"
CAP = "C1 100n VX GND"


JUDGING = Judging(rule)
review = JUDGING.review


def found(*lines: str) -> dict[str, Level]:
    done = review(*lines)
    assert not done.undetermined, done.undetermined
    return {finding.subject.name: finding.level for finding in done.findings}


def test_a_rail_that_nothing_reaches_is_a_hold() -> None:
    assert found(CELL, TAKER, CAP) == {"VX": Level.HOLD}


def test_it_names_the_parts_and_the_rail_of_the_same_voltage() -> None:
    (finding,) = review(
        CELL,
        "U2 regulator VIN+ VBAT VOUT> +3V3 GND- GND = output 3.3 V",
        "U3 mcu VCC+ +3V3 GND- GND",
        "U1 sensor VDD+ 3V3 GND- GND",
        "C1 100n 3V3 GND",
    ).findings

    assert finding.parts == ("U1",)
    assert finding.fix == "join 3V3 to +3V3"


@pytest.mark.parametrize(
    "through",
    [
        "FB1 ferrite VBAT VX",
        "F1 fuse VBAT VX",
        "L1 inductor VBAT VX",
        "SW1 switch 1: VBAT 2: VX",
        "JP1 jumper 1: VBAT 2: VX",
        "R1 0R VBAT VX",
        "R1 100 VBAT VX",
        "D1 SS14 VBAT VX",
        "U2 regulator VIN+ VBAT VOUT> VX GND- GND = output 1.8 V",
        "Q1 fet D VX G GATE S VBAT = channel p\nU3 mcu VCC+ VBAT GND- GND PB0 GATE",
        "Q1 fet D VX G GT S VBAT = channel p\nU3 mcu VCC+ VBAT GND- GND PB0 GATE\nR1 1k GATE GT"
        "\nR2 100k GT VBAT",
        "U3 mcu VCC+ VBAT GND- GND PB0 VX",
    ],
)
def test_what_passes_a_supply_feeds(through: str) -> None:
    assert found(CELL, TAKER, CAP, through) == {}


@pytest.mark.parametrize(
    "through",
    [
        "C2 10u VBAT VX",
        "D1 SS14 VX VBAT",
        "FB1? ferrite VBAT VX",
        "J1 connector/ISP 1:VCC VX 2:MISO A 3:SCK B 4:GND GND\nU3 mcu VCC+ VBAT MISO A SCK B"
        " GND- GND",
    ],
    ids=["capacitor", "diode the other way", "not fitted", "programming header"],
)
def test_what_passes_none_does_not(through: str) -> None:
    assert found(CELL, TAKER, CAP, through) == {"VX": Level.HOLD}


def test_a_connector_that_nobody_stated_asks_with_a_line_to_paste() -> None:
    (finding,) = review(CELL, TAKER, CAP, "J1 connector 1: VX 2: GND").findings

    assert finding.level is Level.QUERY
    assert "sources: {J1: {net: VX, voltage: 5 V}}" in finding.fix


def test_the_line_to_paste_cures_it() -> None:
    lines = (CELL, TAKER, CAP, "J1 connector 1: VX 2: GND", "~ sources:")

    assert found(*lines, "~   J1: {net: VX, voltage: 5 V}") == {}


def test_a_connector_beyond_a_transistor_that_stays_off_is_not_asked() -> None:
    lines = ("J1 connector 1: VBAT 2: GND", "Q1 fet D VX G VBAT S VBAT = channel p")

    assert found(CELL, TAKER, CAP, *lines) == {"VX": Level.HOLD}


def test_a_connector_stated_as_no_source_does_not_ask() -> None:
    lines = (CELL, TAKER, CAP, "J1 connector 1: VX 2: GND = powers_board no")

    assert found(*lines) == {"VX": Level.HOLD}


def test_a_connector_that_is_not_fitted_is_named() -> None:
    (finding,) = review(CELL, TAKER, CAP, "J1? connector 1: VX 2: GND").findings

    assert finding.level is Level.QUERY
    assert "J1 would reach it" in finding.message


def test_the_rail_behind_a_regulator_follows_the_one_before_it() -> None:
    findings = review(
        CELL,
        "U3 mcu VCC+ VBAT GND- GND",
        "U2 regulator VIN+ VIN VOUT> VX GND- GND = output 1.8 V",
        "C2 1u VIN GND",
        TAKER,
    ).findings

    follows = {f.subject.name: f.follows for f in findings}
    cause = next(f for f in findings if f.subject.name == "VIN")
    assert follows == {"VIN": None, "VX": cause.fingerprint}
    assert {f.level for f in findings} == {Level.HOLD}


def test_a_consequence_is_no_worse_than_its_cause() -> None:
    lines = (
        CELL,
        "U3 mcu VCC+ VBAT GND- GND",
        "U2 regulator VIN+ VIN VOUT> VX GND- GND = output 1.8 V",
        "J1 connector 1: VIN 2: GND",
        TAKER,
    )

    assert found(*lines) == {"VIN": Level.QUERY, "VX": Level.QUERY}


def test_rails_joined_by_a_ferrite_are_one_finding_and_one_consequence() -> None:
    findings = review(CELL, TAKER, "FB1 ferrite VX VY", "U2 sensor VDD+ VY GND- GND").findings

    assert sorted(f.follows is None for f in findings) == [False, True]


def test_a_pin_on_nothing_is_left_to_supply_open() -> None:
    assert found(CELL, TAKER, "U3 mcu VCC+ VBAT GND- GND") == {}


def test_a_back_up_supply_without_a_cell_is_a_query() -> None:
    lines = (CELL, "U1 clock VCC+ VBAT VBACKUP+ VX GND- GND", CAP)

    assert found(*lines) == {"VX": Level.QUERY}


def test_a_second_ordinary_supply_pin_of_one_part_is_a_query() -> None:
    """Some parts make VDD inside, from another pin; most do not."""
    lines = (CELL, "U1 mcu VCC+ VBAT VDDA+ VX GND- GND", CAP)

    assert found(*lines) == {"VX": Level.QUERY}


def test_a_pin_whose_name_leaves_it_open_is_undetermined() -> None:
    done = review(CELL, "U1 integrated-circuit VCC+ VBAT V3+ VX GND- GND", CAP)

    assert [(u.of, u.key) for u in done.undetermined] == [("U1", "pins")]
    assert done.undetermined[0].how.startswith("parts: {U1: {pins: {2: supply output}}}")


def test_a_pin_stated_as_supply_output_feeds_what_hangs_on_it() -> None:
    part = "U1 integrated-circuit VCC+ VBAT V3+ VX GND- GND = pins {2: supply output}"

    assert found(CELL, part, CAP, "U2 sensor VDD+ VX GND- GND") == {}


def test_a_transistor_of_unknown_pins_on_the_way_is_asked_for() -> None:
    done = review(CELL, "U3 mcu VCC+ VBAT GND- GND", TAKER, CAP, "Q1 fet 1: A 2: VBAT 3: VX")

    assert [(u.of, u.key) for u in done.undetermined] == [("Q1", "pins")]


def test_a_board_with_no_source_at_all_is_one_undetermined() -> None:
    done = review(TAKER, CAP, "U2 sensor VDD+ VY GND- GND", "C2 100n VY GND")

    assert [(u.of, u.key) for u in done.undetermined] == [("board", "cell")]
    assert not done.findings


def test_a_rail_whose_cell_is_shorted_follows_the_short() -> None:
    """The cause is judged by `rail-shorted`; alone, this rule still names its net."""
    (finding,) = review(
        "BT1 CR2032 GND GND",
        "U1 mcu GND- GND VCC+ GND",
        "U2 regulator VIN+ GND VOUT> VX GND- GND = output 1.8 V",
        "U3 sensor VDD+ VX GND- GND",
        "C1 100n VX GND",
    ).findings

    assert finding.nets == ("VX", "GND")
    assert "which is shorted" in finding.message


def test_a_rail_behind_an_open_input_names_the_part_with_the_open_pin() -> None:
    """The cause is judged by `supply-open`."""
    (finding,) = review(
        CELL,
        "U3 mcu VCC+ VBAT GND- GND",
        "U2 regulator VIN+ . VOUT> VX GND- GND = output 1.8 V",
        TAKER,
    ).findings

    assert finding.parts == ("U1", "U2")
    assert "U2 pin 1 (VIN), which would feed it, is on nothing" in finding.message


def test_a_rail_that_is_shorted_through_a_ferrite_names_the_short() -> None:
    (finding,) = review(CELL, "U3 mcu VCC+ VBAT GND- GND", TAKER, "FB1 ferrite VX GND").findings

    assert "VX, which is shorted" in finding.message
