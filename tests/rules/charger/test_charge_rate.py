"""`charge-rate`: the set current against what the cell stands and what the charger can hold.

Sums by hand throughout: current = gain / resistance; 1 C of 100 mAh is 100 mA.
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.charger.charge_rate import check as rule

CELL = "~ cell: {part: BT1, type: LiPo, capacity: 100 mAh}"
GAIN = "program_gain 1000 V"


def review(ohms: str, *lines: str, facts: str = GAIN, cell: str = CELL, bt: str = "") -> Review:
    stated = f" = {facts}" if facts else ""
    board = "\n".join(
        (
            f"BT1 cell/holder + BAT - GND{bt}",
            cell,
            f"U1 charger/made-up VDD+ VBUS VSS- GND VBAT> BAT PROG SET{stated}",
            f"R1 {ohms} SET GND",
            *lines,
        )
    )
    found = judge(rule, board)
    assert not found.broken, found.broken
    return found


def finding(
    ohms: str, *lines: str, facts: str = GAIN, cell: str = CELL, bt: str = ""
) -> Finding | None:
    found = review(ohms, *lines, facts=facts, cell=cell, bt=bt)
    assert not found.undetermined, found.undetermined
    return found.findings[0] if found.findings else None


def level(
    ohms: str, *lines: str, facts: str = GAIN, cell: str = CELL, bt: str = ""
) -> Level | None:
    found = finding(ohms, *lines, facts=facts, cell=cell, bt=bt)
    return found.level if found else None


@pytest.mark.parametrize(
    ("ohms", "expected"),
    [
        ("9k9", Level.HOLD),
        ("10k1", Level.QUERY),
        ("19k8", Level.QUERY),
        ("20k2", None),
    ],
)
def test_the_level_turns_at_one_and_at_half_the_capacity_in_an_hour(
    ohms: str, expected: Level | None
) -> None:
    """By hand: 1000 V / 10 kΩ = 100 mA = 1 C; 1000 V / 20 kΩ = 50 mA = 0.5 C; 1 % either side."""
    assert level(ohms) is expected


def test_exactly_at_a_limit_is_within_it() -> None:
    assert level("10k") is Level.QUERY
    assert level("20k") is None


def test_a_like_cell_of_more_capacity_takes_the_same_current() -> None:
    assert level("5k") is Level.HOLD
    assert level("5k", cell="~ cell: {part: BT1, type: LiPo, capacity: 1 Ah}") is None


@pytest.mark.parametrize(("ohms", "expected"), [("4k95", Level.HOLD), ("5k05", None)])
def test_what_is_stated_of_the_cell_counts_in_place_of_multiples(
    ohms: str, expected: Level | None
) -> None:
    """By hand: 200 mA stated for 100 mAh: 1000 V / 5 kΩ; 1 % either side."""
    stated = " = charge_current_max 200 mA = charge_current_standard 200 mA"

    assert level(ohms, bt=stated) is expected


def test_the_usual_current_stated_is_where_the_query_begins() -> None:
    """By hand: 1000 V / 12.5 kΩ = 80 mA, between 70 mA and 100 mA."""
    assert level("12k5", bt=" = charge_current_standard 70 mA") is Level.QUERY
    assert level("15k", bt=" = charge_current_standard 70 mA") is None


def test_a_stated_most_below_the_usual_multiple_counts_for_both() -> None:
    """By hand: 1000 V / 30 mA = 33.3 kΩ; the next value of E24 above it is 36 kΩ: 27.8 mA."""
    found = finding("20k", bt=" = charge_current_max 30 mA")
    assert found is not None

    assert found.level is Level.HOLD
    assert "make R1 36 kΩ" in found.fix
    assert level("36k", bt=" = charge_current_max 30 mA") is None


def test_the_fix_can_be_bought_and_sets_what_the_cell_is_charged_with() -> None:
    """By hand: 1000 V / 50 mA = 20 kΩ, which is in E24."""
    found = finding("2k")
    assert found is not None

    assert "make R1 20 kΩ" in found.fix
    assert "50 mA" in found.fix
    assert level("20k") is None


def test_a_charger_that_cannot_go_so_low_is_not_told_to() -> None:
    """By hand: 0.5 C of 10 mAh is 5 mA, below 15 mA."""
    small = "~ cell: {part: BT1, type: LiPo, capacity: 10 mAh}"
    found = finding("2k", facts=f"{GAIN} = charge_current_min 15 mA", cell=small)
    assert found is not None

    assert "R1" not in found.fix
    assert "fit a charger for 5 mA" in found.fix


def test_two_cells_side_by_side_share_the_current() -> None:
    """By hand: 1000 V / 12 kΩ = 83 mA; 0.5 C of 100 mAh is 50 mA, of two 100 mA."""
    two = "~ cell: {part: [BT1, BT2], type: LiPo, capacity: 100 mAh}"

    assert level("12k") is Level.QUERY
    assert level("12k", "BT2 cell/holder + BAT - GND", cell=two) is None


def test_a_switch_that_can_bring_the_current_too_high_is_found_with_its_name() -> None:
    """By hand: 25 kΩ alone 40 mA; with 5 kΩ beside it 240 mA."""
    found = finding("25k", "R2 5k SET A", "SW1 switch/slide A GND")
    assert found is not None

    assert found.level is Level.HOLD
    assert {"R1", "R2", "SW1"} <= set(found.parts)
    assert "SW1" in found.sum
    assert level("25k", "R2 50k SET A", "SW1 switch/slide A GND") is Level.QUERY


@pytest.mark.parametrize(("ohms", "expected"), [("67k3", Level.NOTE), ("66k", None)])
def test_below_the_least_of_the_charger_is_a_note(ohms: str, expected: Level | None) -> None:
    """By hand: 1000 V / 15 mA = 66.7 kΩ; 1 % either side."""
    assert level(ohms, facts=f"{GAIN} = charge_current_min 15 mA") is expected


@pytest.mark.parametrize(("ohms", "expected"), [("50k5", Level.NOTE), ("49k5", None)])
def test_at_or_below_a_fixed_end_of_charge_current_is_a_note(
    ohms: str, expected: Level | None
) -> None:
    """By hand: 1000 V / 20 mA = 50 kΩ; 1 % either side."""
    assert level(ohms, facts=f"{GAIN} = termination 20 mA") is expected


def test_an_end_of_charge_current_that_is_a_share_never_lies_above_the_set_one() -> None:
    assert level("100k", facts=f"{GAIN} = termination 10 %") is None


def test_a_low_current_is_only_slow() -> None:
    assert level("500k") is None


def test_a_primary_cell_is_the_business_of_another_rule() -> None:
    assert level("1k", cell="~ cell: {part: BT1, type: CR2032}") is None


def test_a_primary_beside_a_rechargeable_cell_is_left_to_the_other_rule_too() -> None:
    two = "~ cell: [{part: BT1, type: LiPo, capacity: 100 mAh}, {part: BT2, type: CR2032}]"

    assert level("1k", "BT2 cell/holder + BAT - GND", cell=two) is None


def test_a_known_charger_brings_its_own_gain() -> None:
    """By hand: TP4056, 1200 V / 1.2 kΩ = 1 A into 400 mAh; at 10 kΩ 120 mA."""
    board = (
        "BT1 cell/holder + BAT - GND\n~ cell: {{part: BT1, type: LiPo, capacity: 400 mAh}}\n"
        "U1 TP4056 VCC+ VBUS GND- GND BAT> BAT PROG SET\nR1 {} SET GND"
    )
    (found,) = judge(rule, board.format("1k2")).findings

    assert found.level is Level.HOLD
    assert found.numbers[0].value == pytest.approx(1.0)
    assert not judge(rule, board.format("10k")).findings


def test_a_hold_that_rests_on_a_stated_charge_current_names_it() -> None:
    found = finding("1k", facts="charge_current 150 mA")
    assert found is not None

    assert found.level is Level.HOLD
    assert "150 mA" in found.sum


@pytest.mark.parametrize(
    ("facts", "cell", "key"),
    [
        ("", CELL, "program_gain"),
        (GAIN, "~ cell: {part: BT1, type: LiPo}", "capacity"),
        (GAIN, "", "cell"),
        (GAIN, "~ cell: {part: BT1, type: ML2032}", "charge_current_max"),
    ],
    ids=["gain", "capacity", "cell", "a coin for which 1 C is too much"],
)
def test_what_is_missing_is_asked_for(facts: str, cell: str, key: str) -> None:
    found = review("2k", facts=facts, cell=cell)

    assert not found.findings
    assert [u.key for u in found.undetermined] == [key]
