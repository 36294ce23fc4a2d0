"""`bypass-missing`: capacitors counted against supply pins, and where none is asked for.

What is wanted (one ceramic of 10 nF or more a supply pin, none at all is a hold) is the rule
book's; it is common practice, no source.
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.decoupling.bypass_missing import check as rule

CELL = "BT1 CR2032 VBAT GND"
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 LAMP"
GATE = "logic/gate VCC+ VBAT GND- GND A< LAMP Y>"


def review(*lines: str) -> Review:
    found = judge(rule, "\n".join((CELL, *lines)))
    assert not found.broken, found.broken
    return found


def findings(*lines: str) -> tuple[Finding, ...]:
    found = review(*lines)
    assert not found.undetermined, found.undetermined
    return found.findings


def level(*lines: str) -> Level | None:
    found = findings(*lines)
    return found[0].level if found else None


def test_a_controller_with_no_capacitor_at_all_is_a_hold_that_names_pin_and_value() -> None:
    (finding,) = findings(MCU)

    assert finding.level is Level.HOLD
    assert finding.parts == ("U1",)
    assert "100 nF" in finding.fix
    assert "U1 pin 1 (VCC)" in finding.fix


def test_one_ceramic_capacitor_cures_it() -> None:
    assert level(MCU, "C1 100n VBAT GND") is None


@pytest.mark.parametrize("made", ["tantalum", "aluminium electrolytic", "polymer"])
def test_a_slow_capacitor_alone_does_not_count_but_it_is_not_nothing(made: str) -> None:
    (finding,) = findings(MCU, f"C1 47u VBAT GND = dielectric {made}")

    assert finding.level is Level.QUERY
    assert "C1" in finding.message


def test_the_least_capacitance_is_ten_nanofarads() -> None:
    """1 % under and over 10 nF."""
    assert level(MCU, "C1 9.9n VBAT GND") is Level.QUERY
    assert level(MCU, "C1 10.1n VBAT GND") is None


def test_the_least_capacitance_is_a_setting() -> None:
    stated = "~ settings: {bypass-missing: {smallest: 1 uF}}"

    assert level(MCU, "C1 470n VBAT GND", stated) is Level.QUERY
    assert level(MCU, "C1 1u VBAT GND", stated) is None


def test_capacitors_are_counted_against_supply_pins() -> None:
    three = "U1 mcu VDD1+ VBAT VDD2+ VBAT VDD3+ VBAT GND- GND"
    caps = ["C1 100n VBAT GND", "C2 100n VBAT GND", "C3 1u VBAT GND"]

    (finding,) = findings(three, *caps[:2])
    assert finding.level is Level.QUERY
    assert "add 100 nF" in finding.fix
    assert level(three, *caps) is None


def test_one_for_two_larger_parts_is_a_query() -> None:
    assert level(MCU, "U2 driver VCC+ VBAT GND- GND", "C1 100n VBAT GND") is Level.QUERY


def test_small_neighbours_may_share_which_is_a_note() -> None:
    """Two single gates beside a controller: enough for the controller, the gates share."""
    parts = (MCU, f"U2 {GATE} N1", f"U3 {GATE} N2")

    assert level(*parts, "C1 100n VBAT GND") is Level.NOTE
    assert level(*parts, *(f"C{n} 100n VBAT GND" for n in (1, 2, 3))) is None


def test_a_large_logic_part_may_not_share() -> None:
    large = (
        "U2 logic/big VCC+ VBAT GND- GND A< LAMP Y> N1 3:B . 4:C . 5:E . 6:F . 7:H . 8:I . 9:J ."
    )

    assert level(MCU, large, "C1 100n VBAT GND") is Level.QUERY


def test_a_capacitor_behind_a_ferrite_is_on_another_rail() -> None:
    assert level(MCU, "FB1 600R VBAT VF", "C1 100n VF GND") is Level.HOLD


def test_a_capacitor_behind_nought_ohms_is_on_the_same_rail() -> None:
    assert level(MCU, "R1 0 VBAT VF", "C1 100n VF GND") is None


def test_a_capacitor_to_something_else_than_ground_does_not_count() -> None:
    assert level(MCU, "C1 100n VBAT LAMP") is Level.HOLD


def test_a_capacitor_to_the_part_s_own_ground_counts() -> None:
    """A protector stands on the minus of the cell, not on the board's ground."""
    lines = ("U1 battery-protector VCC+ VBAT VSS- CELLMINUS", "R1 10 CELLMINUS GND")

    assert level(*lines, "C1 100n VBAT CELLMINUS") is None
    assert level(*lines) is Level.QUERY


def test_a_part_that_is_not_fitted_cures_nothing_and_is_named() -> None:
    (finding,) = findings(MCU, "C1? 100n VBAT GND")

    assert finding.level is Level.HOLD
    assert finding.fix.startswith("fit C1")


@pytest.mark.parametrize(
    "part",
    [
        "U1 module/radio VCC+ VBAT GND- GND TX DATA",
        "U1 display/small VCC+ VBAT GND- GND SDA DATA",
        "U1 sensor/made-up VCC+ VBAT GND- GND OUT> DATA = bypass_inside yes",
    ],
    ids=["module", "display on a board", "stated"],
)
def test_parts_with_their_own_are_quiet(part: str) -> None:
    assert level(part) is None


def test_a_module_stated_to_have_none_is_found() -> None:
    part = "U1 module/radio VCC+ VBAT GND- GND TX DATA = bypass_inside no"

    assert level(part) is Level.HOLD


def test_regulators_and_chargers_are_not_counted() -> None:
    """Their own rule knows what they need; one slow capacitor is there, so it is not nothing."""
    regulator = "U2 regulator/made-up VIN+ VBAT GND- GND VOUT> VREG = output 2.5 V"
    bulk = ("C1 47u VBAT GND = dielectric tantalum", "C2 47u VREG GND = dielectric tantalum")

    assert level(regulator, *bulk) is None
    assert level(regulator, bulk[0], "U1 sensor VDD+ VREG GND- GND", "C3 100n VREG GND") is None
    assert level(regulator, bulk[0], "U1 sensor VDD+ VREG GND- GND", bulk[1]) is Level.QUERY


def test_a_bias_pin_of_a_regulator_is_not_counted_either() -> None:
    """It has the role of a plain supply pin, and is still its maker's business."""
    regulator = "U2 {} VIN+ VBAT VBIAS+ VB GND- GND VOUT> VREG"
    slow = (
        "R1 10 VBAT VB",
        "C1 1u VBAT GND",
        "C2 1u VREG GND",
        "C3 47u VB GND = dielectric tantalum",
    )

    assert level(regulator.format("regulator/made-up"), *slow) is None
    assert level(regulator.format("driver/made-up"), *slow) is Level.QUERY


def test_a_rail_of_a_regulator_with_nothing_on_it_is_a_hold() -> None:
    regulator = "U2 regulator/made-up VIN+ VBAT GND- GND VOUT> VREG = output 2.5 V"

    (finding,) = findings(regulator, "C1 1u VBAT GND", "U1 sensor VDD+ VREG GND- GND")
    assert finding.level is Level.HOLD
    assert finding.nets == ("VREG",)


def test_back_up_and_reference_pins_ask_for_none() -> None:
    part = "U1 mcu VDD+ VBAT GND- GND 3:VBACKUP+ COIN 4:VREF AREF"
    more = ("C1 100n VBAT GND", "BT2 CR1220 COIN GND", "R1 10k AREF VBAT")

    assert level(part, *more) is None


def test_the_same_pin_as_a_plain_supply_is_found() -> None:
    part = "U1 mcu VDD+ VBAT GND- GND 3:VDDIO+ COIN"

    assert level(part, "C1 100n VBAT GND", "BT2 CR1220 COIN GND") is Level.HOLD


def test_a_supply_pin_on_nothing_is_left_to_its_own_rule() -> None:
    assert level("U1 mcu VCC+ VBAT VDD2+ LOST GND- GND", "C1 100n VBAT GND") is None


def test_a_rail_that_is_not_fed_carries_its_cause() -> None:
    from boardvet.review.packs import LoadedPack
    from boardvet.review.runner import run
    from boardvet.testing import circuit_of
    from boardvet_rules.rail.rail_unfed import check as unfed

    board = circuit_of(f"{CELL}\nU1 mcu VCC+ V3 GND- GND\nU2 sensor VCC+ V3 GND- GND")
    both = run(board, [LoadedPack("two rules", "0", (rule, unfed))])
    prints = {finding.rule: finding for finding in both.findings}

    assert prints["bypass-missing"].follows == prints["rail-unfed"].fingerprint


def test_a_capacitor_of_unknown_value_that_decides_is_asked_for() -> None:
    found = review(MCU, "C1 C VBAT GND")

    (missing,) = found.undetermined
    assert (missing.of, missing.key) == ("C1", "value")


def test_a_capacitor_of_unknown_value_beside_enough_others_is_not() -> None:
    assert level(MCU, "C1 C VBAT GND", "C2 100n VBAT GND") is None


def test_a_capacitor_of_unknown_value_that_cannot_be_enough_is_not() -> None:
    assert level(MCU, "U2 driver VCC+ VBAT VM+ VBAT GND- GND", "C1 C VBAT GND") is Level.QUERY


def test_a_large_capacitor_of_unknown_making_that_decides_is_asked_for() -> None:
    found = review(MCU, "C1 22u VBAT GND")

    (missing,) = found.undetermined
    assert (missing.of, missing.key) == ("C1", "dielectric")


def test_without_any_ground_it_is_undetermined() -> None:
    found = judge(rule, "U1 mcu VCC+ VBAT PB0 N1\nR1 10k VBAT N1")

    (missing,) = found.undetermined
    assert missing.key == "ground"


def test_as_many_as_wanted_is_a_setting() -> None:
    stated = "~ settings: {bypass-missing: {per_pin: 2}}"

    assert level(MCU, "C1 100n VBAT GND", stated) is Level.QUERY
    assert level(MCU, "C1 100n VBAT GND", "C2 1u VBAT GND", stated) is None


def test_a_part_whose_supply_pins_are_not_known_is_not_passed_over() -> None:
    found = review("U1 integrated-circuit 1:A N1 2:B N2 3:C N3")

    assert [(u.of, u.key) for u in found.undetermined] == [("U1", "pins")]
