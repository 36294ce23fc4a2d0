"""`bom-fitting`: fitted here and not there."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.bom.bom_fitting import check as rule
from boardvet_rules.bom.bom_value import check as value

HEAD = "BT1 CR2032 VBAT GND\n$ BT1 CR2032\n"
FITTED = "R9 100k VBAT GND\n"
OPEN = "R9? 100k VBAT GND\n"
BUYS = "$ R9 100k\n"
LEAVES = "$ R9 100k not-fitted\n"


@pytest.mark.parametrize(
    ("board", "symptom"),
    [
        (FITTED + LEAVES, "stays empty though the drawing has the part fitted"),
        (OPEN + BUYS, "fitted though the drawing leaves its place empty"),
    ],
)
def test_one_that_fits_and_one_that_does_not_is_a_query(board: str, symptom: str) -> None:
    (finding,) = judge(rule, HEAD + board).findings

    assert finding.level is Level.QUERY
    assert finding.parts == ("R9",)
    assert symptom in finding.bench


@pytest.mark.parametrize("board", [FITTED + BUYS, OPEN + LEAVES, FITTED + LEAVES + BUYS])
def test_both_alike_is_clear(board: str) -> None:
    assert not judge(rule, HEAD + board).findings


def test_the_intent_page_can_take_a_part_out() -> None:
    page = "~ parts: {R9: {fitting: not fitted}}\n"

    (finding,) = judge(rule, HEAD + FITTED + BUYS + page).findings
    assert "intent page" in finding.sum
    assert not judge(rule, HEAD + FITTED + LEAVES + page).findings


def test_a_part_fitted_by_hand_may_be_left_out_of_the_bom() -> None:
    page = "~ parts: {R9: {fitting: by hand}}\n"

    assert not judge(rule, HEAD + FITTED + LEAVES + page).findings


def test_a_test_point_is_not_fitted_by_anybody() -> None:
    board = HEAD + "TP1 test-point/made-up 1: VBAT\n$ TP1 pad not-fitted\n"

    assert not judge(rule, board).findings


def test_the_value_of_a_part_that_one_side_leaves_out_is_not_said_as_well() -> None:
    for board in ("R9 100k VBAT GND\n$ R9 1k not-fitted\n", "R9? 100k VBAT GND\n$ R9 1k\n"):
        assert judge(rule, HEAD + board).findings
        assert not judge(value, HEAD + board).findings
