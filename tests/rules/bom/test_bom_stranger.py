"""`bom-stranger`: references of the BOM that the netlist does not have."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.bom.bom_stranger import check as rule

LISTED = """
BT1 CR2032 VBAT GND
C1 1u VBAT GND
$ BT1 CR2032
$ C1 1u
"""


def findings(more: str) -> list[str]:
    review = judge(rule, LISTED + more)
    assert not review.undetermined
    assert not review.broken
    return [finding.subject.name for finding in review.findings]


def test_a_reference_without_a_part_is_a_query_that_names_its_line() -> None:
    (finding,) = judge(rule, LISTED + "$ C9 10u").findings

    assert finding.level is Level.QUERY
    assert finding.parts == ("C9",)
    assert "line 6" in finding.sum
    assert finding.at is not None
    assert finding.at.line == 6


def test_only_the_strange_one_of_a_line_is_named() -> None:
    assert findings("R1 10k VBAT GND\n$ R1,R2 10k") == ["R2"]


def test_a_part_in_the_netlist_cures_it() -> None:
    assert findings("C9 10u VBAT GND\n$ C9 10u") == []


def test_a_part_that_is_drawn_and_not_fitted_is_no_stranger() -> None:
    assert findings("C9? 10u VBAT GND\n$ C9 10u") == []


def test_a_line_that_is_not_fitted_buys_nothing() -> None:
    assert findings("$ C9 10u not-fitted") == []


@pytest.mark.parametrize("reference", ["PCB", "CASE", "H1", "FID2", "TP3", "LOGO1"])
def test_items_beside_the_board_are_left_alone(reference: str) -> None:
    assert findings(f"$ {reference} made-up") == []


def test_a_unit_and_small_letters_are_the_part() -> None:
    assert findings("U3 logic/74HC00 1: VBAT 2: GND\n$ u3A 74HC00") == []


def test_a_further_part_is_no_unit_of_one_that_is_listed_itself() -> None:
    assert findings("R5 1k VBAT GND\n$ R5,R5A 1k") == ["R5A"]


def test_a_bom_of_another_board_is_one_question() -> None:
    """Two of eight are drawn; with two of seven each is said."""
    eight = LISTED + "\n".join(f"$ R{n} 10k" for n in range(1, 7))
    seven = LISTED + "\n".join(f"$ R{n} 10k" for n in range(1, 6))

    assert {u.key for u in judge(rule, eight).undetermined} == {"exports"}
    assert not judge(rule, eight).findings
    assert len(judge(rule, seven).findings) == 5
