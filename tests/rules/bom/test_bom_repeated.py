"""`bom-repeated`: a reference that is bought twice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boardvet.board import Board, Bom
from boardvet.circuit.handle import Circuit
from boardvet.facts import FactBook
from boardvet.intent import Intent
from boardvet.review.verdict import Level
from boardvet.testing import board_of, judge
from boardvet_rules.bom.bom_absent import check as absent
from boardvet_rules.bom.bom_package import check as package
from boardvet_rules.bom.bom_repeated import check as rule
from boardvet_rules.bom.bom_value import check as value

BOARD = """
BT1 CR2032 VBAT GND
R5 100k @R_0603 VBAT GND
$ BT1 CR2032
$ R5 100k @0603
"""


def test_a_reference_on_two_lines_is_a_hold_that_names_both() -> None:
    (finding,) = judge(rule, BOARD + "$ R5 100k @0603").findings

    assert finding.level is Level.HOLD
    assert finding.subject.name == "R5"
    assert "lines 5 and 6" in finding.sum
    assert [related.place.line for related in finding.related] == [6]


def test_two_values_are_said_here_and_nowhere_else() -> None:
    board = BOARD + "$ R5 47k @0402"

    (finding,) = judge(rule, board).findings
    assert "100k and as 47k" in finding.sum
    for other in (value, package, absent):
        assert not judge(other, board).findings


def test_one_line_is_clear() -> None:
    assert not judge(rule, BOARD).findings


def test_one_fitted_line_among_variants_is_clear() -> None:
    assert not judge(rule, BOARD + "$ R5 47k not-fitted").findings


def test_a_reference_twice_on_one_line_is_a_query() -> None:
    (finding,) = judge(rule, "R5 1k VBAT GND\nR6 1k VBAT GND\n$ R5,R5 1k\n$ R6 1k").findings

    assert finding.level is Level.QUERY
    assert finding.subject.name == "R5"


@pytest.mark.parametrize(
    ("remark", "found"),
    [
        ("alternative", 0),
        ("Alt. source", 0),
        ("second source", 0),
        ("substitute for the above", 0),
        ("altitude sensor", 1),
        ("100 V", 1),
    ],
)
def test_a_line_that_calls_itself_an_alternative_buys_nothing_more(
    remark: str, found: int
) -> None:
    board = board_of(BOARD + "$ R5 100k @0603")
    assert board.bom is not None
    *lines, last = board.bom.lines
    last = replace(last, cells={"remark": remark})
    board = replace(board, bom=Bom((*lines, last), board.bom.columns))
    circuit = judged(board)

    assert len(judge(rule, circuit).findings) == found


def judged(board: Board) -> Circuit:
    intent = Intent.empty()
    return Circuit(board, intent, FactBook(board, intent))
