"""`deep-discharge`: what parts a lithium cell, how soon it is damaged, what is quiet."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, number

from boardvet.review.verdict import Level
from boardvet.testing import examples_of
from boardvet_rules.cell.deep_discharge import check as rule

LINE = "voltage: 4 V at 0 % and 2.5 V at 100 %"
"""A made-up cell that falls in a straight line from 4 V to 2.5 V, so that sums are easy."""

CELL = f"~ cell: {{part: BT1, type: LiPo, capacity: 1000 mAh, resistance: 0 ohm, {LINE}}}"
POUCH = "BT1 connector/LiPo 1: VBAT 2: GND"
STOPS = "U1 mcu VCC+ VBAT GND- GND = supply 3.1 to 5.5 V = sleep_current {}"


JUDGING = Judging(rule)
review, only, quiet = JUDGING.review, JUDGING.only, JUDGING.quiet


@pytest.mark.parametrize("text", examples_of(rule)["Wrong"])
def test_the_page_s_wrong_board_is_a_query(text: str) -> None:
    finding = only(text)

    assert finding.level is Level.QUERY
    assert "no fuse" in finding.message


def test_the_days_are_the_charge_left_over_what_still_flows() -> None:
    """It stops at 3.1 V: (3.1 - 2.5)/(4 - 2.5) = 40 % of 1000 mAh are left; 400 mAh / 1 mA =
    400 h, 16.7 days.
    """
    finding = only(POUCH, CELL, STOPS.format("1 mA"))

    assert "17 days after the board has stopped" in finding.message
    assert number(finding, "charge from the stop to 2.5 V") == pytest.approx(400 * 3.6, rel=1e-3)
    assert number(finding, "current after the stop") == pytest.approx(1e-3)
    assert "U1 needs 3.1 V" in finding.message


def test_hours_are_said_as_hours() -> None:
    """400 mAh / 20 mA = 20 h."""
    assert "20 h after the board has stopped" in only(POUCH, CELL, STOPS.format("20 mA")).message


@pytest.mark.parametrize(
    ("microamperes", "level"), [(91.7, Level.NOTE), (93.5, Level.QUERY)], ids=["slow", "fast"]
)
def test_with_a_fuse_a_season_in_a_drawer_is_the_limit(microamperes: float, level: Level) -> None:
    """400 mAh / (180 · 24 h) = 92.59 µA: one per cent under and over it."""
    finding = only(
        "BT1 connector/LiPo 1: VCELL 2: GND",
        "F1 fuse/1A VCELL VBAT",
        CELL,
        STOPS.format(f"{microamperes} uA"),
    )

    assert finding.level is level
    assert "fuse" not in finding.message


def test_without_a_fuse_a_slow_emptying_is_a_query_still() -> None:
    assert only(POUCH, CELL, STOPS.format("1 uA")).level is Level.QUERY


def test_a_pouch_cell_holds_a_little_below_the_end_of_its_curve() -> None:
    """It stops where the curve of a pouch ends, at 3.0 V; 1 % of 400 mAh is assumed to be left:
    4 mAh / 20 µA = 200 h, 8.3 days.
    """
    done = review(examples_of(rule)["Wrong"][0])

    assert "8 days" in done.findings[0].message
    assert any(each.what == "charge of BT1 (LiPo) below 3 V" for each in done.assumptions)


def test_a_board_that_runs_on_is_told() -> None:
    """A controller down to 1.8 V takes the cell below 2.5 V by itself."""
    finding = only(POUCH, CELL, STOPS.format("1 mA").replace("3.1 to", "1.8 to"))

    assert "runs on below 2.5 V" in finding.message


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param(
            (POUCH, CELL.replace("capacity: 1000 mAh, ", ""), STOPS.format("1 mA")), id="capacity"
        ),
        pytest.param((POUCH, CELL, "U1 mcu VCC+ VBAT GND- GND"), id="what the part needs"),
    ],
)
def test_a_sum_that_cannot_be_made_does_not_hide_the_finding(lines: tuple[str, ...]) -> None:
    finding = only(*lines)

    assert finding.level is Level.QUERY
    assert "days" not in finding.message
    assert "runs on" not in finding.message


def test_what_is_not_counted_is_told() -> None:
    other = "U2 sensor VDD+ VBAT GND- GND = supply 1.5 to 5.5 V"

    assert "at least 1 mA" in only(POUCH, CELL, STOPS.format("1 mA"), other).message


def test_a_cell_stated_as_protected_is_quiet_and_one_stated_as_bare_is_not() -> None:
    assert quiet(POUCH, CELL.replace("}", ", protected: yes}"), STOPS.format("1 mA"))
    bare = only(POUCH, CELL.replace("}", ", protected: no}"), STOPS.format("1 mA"))
    assert "protected: yes" not in bare.fix
    assert "protected: yes" in only(POUCH, CELL, STOPS.format("1 mA")).fix


def test_that_a_cell_is_bare_is_an_assumption() -> None:
    done = review(POUCH, CELL, STOPS.format("1 mA"))
    assert any(each.what == "protection of BT1 (LiPo)" for each in done.assumptions)

    strict = review(POUCH, CELL, STOPS.format("1 mA"), assume_nothing=True)
    assert not strict.findings
    assert [(one.of, one.key) for one in strict.undetermined] == [("BT1", "protected")]
    assert strict.undetermined[0].how.startswith("cell: {part: BT1, type: LiPo, protected: yes}")


PROTECTOR = (
    "BT1 connector/LiPo 1: VBAT 2: CELLMINUS",
    CELL,
    "R9 100 VBAT VSENSE",
    "Q1 fet/2N7002 D COMMON S CELLMINUS G GATEA",
    "Q2 fet/2N7002 D COMMON S GND G GATEB",
    STOPS.format("1 mA"),
)


@pytest.mark.parametrize("part", ["battery-protector/X", "DW01A", "S-8261AAJ", "FS312F-G"])
def test_a_protection_ic_at_the_cell_does_both(part: str) -> None:
    protector = f"U9 {part} VCC+ VSENSE GND- CELLMINUS OD GATEA OC GATEB CS GND"

    assert quiet(*PROTECTOR, protector)


@pytest.mark.parametrize(("supply", "found"), [("VSENSE", False), ("VOTHER", True)])
def test_a_protection_ic_in_the_plus_lead_is_told_by_its_supply(supply: str, found: bool) -> None:
    """All of them have a pin at ground: that tells nothing."""
    board = (POUCH, CELL, "R9 100 VBAT VSENSE", STOPS.format("1 mA"))
    done = review(*board, f"U9 DW01A VCC+ {supply} GND- GND OD A OC B CS C")

    assert bool(done.findings) is found


def test_a_protection_ic_elsewhere_protects_another_cell() -> None:
    elsewhere = "U9 DW01A VCC+ VOTHER GND- OTHERMINUS OD GATEA OC GATEB CS GND"

    assert only(*PROTECTOR, elsewhere).level is Level.QUERY


@pytest.mark.parametrize(
    ("chemistry", "found"),
    [("LiPo", True), ("LiFePO4", True), ("18650", True), ("NiMH", False), ("CR2032", False),
     ("ML2032", False), ("LR6", False)],
)  # fmt: skip
def test_only_lithium_cells_that_are_charged_are_judged(chemistry: str, found: bool) -> None:
    page = f"~ cell: {{part: BT1, type: {chemistry}, capacity: 500 mAh}}"
    done = review("BT1 cell/holder VBAT GND", page, STOPS.format("1 mA"))

    assert bool(done.findings) is found
    assert found or done.clear


LOCKED = (
    POUCH,
    CELL,
    "U3 supervisor VDD+ VBAT GND- GND OUT> ON = sleep_current 1 uA = supply 1 to 6 V",
    "U2 regulator VIN+ VBAT VOUT> VCC GND- GND EN< ON = output 3.0 V = dropout 0.1 V at 0.1 A"
    " = quiescent_current 2 uA",
    "U1 mcu VCC+ VCC GND- GND = supply 2.9 to 5.5 V = sleep_current 20 uA",
)


def test_a_lock_out_leaves_the_short_circuit() -> None:
    """A fuse for 1000 mAh: 1 C is 1 A, and fuses of 1 A are sold."""
    finding = only(*LOCKED)

    assert "short circuit" in finding.message
    assert "empty" not in finding.message
    assert "fuse of 1 A" in finding.fix


FUSED = tuple(line.replace("1: VBAT", "1: VCELL") for line in LOCKED)


def test_a_lock_out_and_a_fuse_are_enough() -> None:
    assert quiet(*FUSED, "F1 fuse/1A VCELL VBAT")


@pytest.mark.parametrize(
    ("beside", "named"),
    [
        pytest.param(("R1 100k VBAT M", "R2 100k M GND"), "R1", id="divider"),
        pytest.param(("R1 1M VBAT GND",), "R1", id="one resistor"),
        pytest.param(
            ("U4 sensor VDD+ VBAT GND- GND = supply 1.5 to 5.5 V = sleep_current 9 uA",),
            "U4",
            id="part",
        ),
        pytest.param(
            ("U5 regulator VIN+ VBAT VOUT> V2 GND- GND = output 2.0 V = quiescent_current 5 uA",),
            "U5",
            id="regulator",
        ),
    ],
)
def test_a_lock_out_beside_which_something_draws_is_none(
    beside: tuple[str, ...], named: str
) -> None:
    finding = only(*FUSED, "F1 fuse/1A VCELL VBAT", *beside)

    assert f"U3 stops the rest, but not {named}" in finding.message


def test_what_draws_behind_the_lock_out_does_not_count() -> None:
    assert quiet(*FUSED, "F1 fuse/1A VCELL VBAT", "R1 100k VCC M", "R2 100k M GND")


def test_a_supervisor_on_the_reset_pin_is_no_lock_out() -> None:
    """It stops the work, not the standing loads."""
    reset = [line.replace("OUT> ON", "OUT> NRST").replace(" EN< ON", "") for line in FUSED]
    done = review(*reset, "F1 fuse/1A VCELL VBAT")

    assert "Nothing on the board parts it" in done.findings[0].message


def test_a_supervisor_that_opens_a_channel_of_the_supply_is_a_lock_out() -> None:
    board = (
        "BT1 connector/LiPo 1: VCELL 2: GND",
        CELL,
        "F1 fuse/1A VCELL VBAT",
        "U3 supervisor VDD+ VBAT GND- GND OUT> GATE = sleep_current 1 uA = supply 1 to 6 V",
        "Q1 fet/p-channel S VBAT D VSYS G GATE",
        "U1 mcu VCC+ VSYS GND- GND = supply 3.1 to 5.5 V = sleep_current 20 uA",
    )

    assert quiet(*board)
    reset = only(*(line.replace("OUT> GATE", "OUT> NRST") for line in board))
    assert "Nothing on the board parts it" in reset.message


def test_a_fuse_that_only_a_part_of_the_load_passes_is_none() -> None:
    half = (
        POUCH,
        CELL,
        "F1 fuse/1A VBAT VF",
        STOPS.format("1 mA").replace("VBAT", "VF"),
    )
    other = "U2 sensor VDD+ VBAT GND- GND = supply 1.5 to 5.5 V = sleep_current 1 uA"

    assert "no fuse" not in only(*half).message
    assert "no fuse" in only(*half, other).message


def test_a_fuse_in_the_minus_lead_counts() -> None:
    """With lights alone on the board nothing names what the cell feeds."""
    board = (CELL, "R1 100 VBAT A", "D1 led/red A GND = forward_voltage 2 V at 20 mA")

    assert "no fuse" in only(POUCH, *board).message
    fused = ("BT1 connector/LiPo 1: VBAT 2: MINUS", "F1 fuse/1A MINUS GND")
    assert "no fuse" not in only(*fused, *board).message


def test_a_fuse_at_ground_is_not_in_the_lead_of_the_cell() -> None:
    board = (CELL, "R1 100 VBAT A", "D1 led/red A GND = forward_voltage 2 V at 20 mA")

    assert "no fuse" in only(POUCH, *board, "F1 fuse/1A SHIELD GND").message


def test_a_light_that_lets_go_before_is_not_said_to_run_on() -> None:
    """A blue light of 3.4 V passes next to nothing at 2.5 V, a red one of 1.8 V does."""
    light = "D1 led/x A GND = forward_voltage {} at 20 mA"
    blue = only(POUCH, CELL, "R1 100 VBAT A", light.format("3.4 V"))
    red = only(POUCH, CELL, "R1 100 VBAT A", light.format("1.8 V"))

    assert "runs on below" not in blue.message
    assert "runs on below" in red.message


def test_what_always_draws_a_stated_current_goes_on() -> None:
    """1 mA at rest and 3 mA always: 400 mAh / 4 mA = 100 h, 4 days."""
    finding = only(
        POUCH,
        CELL,
        STOPS.format("1 mA"),
        "U2 sensor VDD+ VBAT GND- GND = supply 1.5 to 5.5 V",
        "~ pattern: [{part: U2, current: 3 mA}]",
    )

    assert number(finding, "current after the stop") == pytest.approx(4e-3)
    assert "at least" not in finding.message


THE_FUSE = "F1 fuse/1A VCELL VBAT"


def test_a_supervisor_that_switches_a_light_is_no_lock_out() -> None:
    lamp = [line.replace("OUT> ON", "OUT> LAMP").replace("EN< ON", "EN< VBAT") for line in FUSED]
    fet = ("Q1 fet/n-channel D K S GND G LAMP", "R7 100 VBAT A",
           "D1 led/red A K = forward_voltage 2 V at 20 mA")  # fmt: skip

    finding = only(*lamp, THE_FUSE, *fet)
    assert "Nothing on the board parts it" in finding.message


def test_a_supervisor_that_holds_another_pin_is_no_lock_out() -> None:
    other = [line.replace("EN< ON", "EN< VBAT") for line in FUSED]

    assert "Nothing on the board parts it" in only(*other, THE_FUSE).message


def test_a_pull_up_that_the_lock_out_holds_low_goes_on_drawing() -> None:
    pulled = only(*FUSED, THE_FUSE, "R1 100k VBAT ON")

    assert "U3 stops the rest, but not R1" in pulled.message
    assert quiet(*FUSED, THE_FUSE, "R1 100k VBAT FLOATING")


def test_a_regulator_behind_an_opened_channel_is_off() -> None:
    board = (
        "BT1 connector/LiPo 1: VCELL 2: GND",
        CELL,
        "F1 fuse/1A VCELL VBAT",
        "U3 supervisor VDD+ VBAT GND- GND OUT> GATE = sleep_current 1 uA = supply 1 to 6 V",
        "Q1 fet/p-channel S VBAT D VSYS G GATE",
        "U2 regulator VIN+ VSYS VOUT> VCC GND- GND = output 3.0 V = quiescent_current 2 uA",
        "U1 mcu VCC+ VCC GND- GND = supply 2.9 to 5.5 V = sleep_current 20 uA",
    )

    assert quiet(*board)
    before = [line.replace("VIN+ VSYS", "VIN+ VBAT") for line in board]
    assert "but not U1, U2" in only(*before, "U4 sensor VDD+ VSYS GND- GND").message


def test_an_unknown_cell_is_asked_for() -> None:
    done = review("BT1 cell/holder VBAT GND", STOPS.format("1 mA"))

    assert [(one.of, one.key) for one in done.undetermined] == [("BT1", "cell")]
