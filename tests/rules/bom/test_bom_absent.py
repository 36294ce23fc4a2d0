"""`bom-absent`: parts that nobody buys, and what comes with the bare board."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.bom.bom_absent import check as rule

LISTED = """
BT1 CR2032 VBAT GND
C1 1u VBAT GND
$ BT1 CR2032
$ C1 1u
"""


def findings(more: str, page: str = "") -> list[str]:
    review = judge(rule, LISTED + more + "\n" + page)
    assert not review.undetermined
    assert not review.broken
    return [finding.subject.name for finding in review.findings]


def test_a_part_on_no_line_is_a_hold_that_says_what_to_list() -> None:
    (finding,) = judge(rule, LISTED + "R5 10k @R_0603 VBAT GND").findings

    assert finding.level is Level.HOLD
    assert finding.parts == ("R5",)
    assert "R5 (10k, R_0603)" in finding.fix


def test_a_line_of_its_own_cures_it() -> None:
    assert findings("R5 10k VBAT GND\n$ R5 10k") == []


def test_a_line_that_is_not_fitted_still_lists_it() -> None:
    assert findings("R5 10k VBAT GND\n$ R5 10k not-fitted") == []


def test_a_part_that_is_not_fitted_needs_no_line() -> None:
    assert findings("R5? 10k VBAT GND") == []
    assert findings("R5 10k VBAT GND", "~ parts: {R5: {fitting: not fitted}}") == []


@pytest.mark.parametrize("written", ["r5", "R5"])
def test_small_letters_name_the_same_part(written: str) -> None:
    assert findings(f"R5 10k VBAT GND\n$ {written} 10k") == []


def test_the_units_of_a_part_are_the_part() -> None:
    assert findings("U3 logic/74HC00 1: VBAT 2: GND\n$ U3A,U3B 74HC00") == []


def test_a_further_part_is_no_unit_where_the_bom_names_both() -> None:
    board = "R5 10k VBAT GND\nR5A 10k VBAT GND\n$ R5 10k"

    assert findings(board) == ["R5A"]


@pytest.mark.parametrize(
    "part",
    [
        "H1 mounting-hole/made-up 1: GND",
        "FID1 fiducial/made-up 1: GND",
        "TP1 test-point/made-up 1: VBAT",
        "NT1 joined-nets/made-up 1: GND 2: VBAT",
        "AE1 antenna/RF @ANT_TRACE 1: RF",
        "JP1 jumper/open @BRIDGE_OPEN 1: VBAT 2: GND",
        "J9 connector/pads @SOLDER_PAD_1X2 1: VBAT 2: GND",
        "J9 connector/edge @CARD_EDGE_8 1: VBAT 2: GND",
        "SW9 button/TOUCH_PAD 1: VBAT 2: GND",
    ],
)
def test_what_comes_with_the_bare_board_needs_no_line(part: str) -> None:
    assert findings(part) == []


@pytest.mark.parametrize(
    "part",
    [
        "AE1 antenna/RF @ANT_CHIP_3216 1: RF",
        "JP1 jumper/open @HEADER_1X2 1: VBAT 2: GND",
        "J9 connector/pads @SOCKET_1X2 1: VBAT 2: GND",
        "J9 connector/edge @CARD_EDGE_SOCKET_8 1: VBAT 2: GND",
        "SW9 button/TACT 1: VBAT 2: GND",
        "U9 driver/TOUCH_PAD 1: VBAT 2: GND",
    ],
)
def test_its_twin_that_is_bought_is_found(part: str) -> None:
    assert findings(part) == [part.split()[0]]


def test_parts_that_are_alike_are_said_together_and_others_apart() -> None:
    names = findings("R5 10k VBAT GND\nR6 10k VBAT GND\nR7 22k VBAT GND")

    assert sorted(names) == ["R5, R6", "R7"]


def test_without_a_bom_there_is_nothing_to_judge() -> None:
    assert judge(rule, "R5 10k VBAT GND").no_subject == ("bom-absent",)


@pytest.mark.parametrize(("unlisted", "holds", "undetermined"), [(5, 5, 0), (6, 0, 6)])
def test_a_bom_of_another_board_is_one_question(
    unlisted: int, holds: int, undetermined: int
) -> None:
    """Two of seven listed: five are said. Two of eight: is it the BOM of this board?"""
    board = LISTED + "\n".join(f"R{n} 10k VBAT GND" for n in range(1, unlisted + 1))
    review = judge(rule, board)

    assert sum(finding.folded for finding in review.findings) == holds
    assert len(review.undetermined) == undetermined
    assert {u.key for u in review.undetermined} <= {"exports"}


@pytest.mark.parametrize(("listed", "holds"), [(5, 0), (6, 6)])
def test_half_of_the_parts_is_enough_for_the_bom_of_this_board(listed: int, holds: int) -> None:
    """Of 6 more parts than are listed: 5 of 11 is less than half, 6 of 12 is half."""
    board = [f"C{n} 1u VBAT GND" for n in range(1, listed + 1)]
    board += [f"$ C{n} 1u" for n in range(1, listed + 1)]
    board += [f"R{n} 10k VBAT GND" for n in range(1, 7)]

    assert sum(f.folded for f in judge(rule, "\n".join(board)).findings) == holds
