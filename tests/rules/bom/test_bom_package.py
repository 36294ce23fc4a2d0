"""`bom-package`: the case size that is ordered against the footprint."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boardvet.board import Bom
from boardvet.circuit.handle import Circuit
from boardvet.facts import FactBook
from boardvet.intent import Intent
from boardvet.review.verdict import Level
from boardvet.testing import board_of, judge
from boardvet_rules.bom.bom_package import check as rule


def levels(footprint: str, ordered: str, part: str = "C1 4u7") -> list[Level]:
    reference = part.split()[0]
    board = f"""
    BT1 CR2032 VBAT GND
    {part} @{footprint} VBAT GND
    $ BT1 CR2032
    $ {reference} 4u7 @{ordered}
    """
    review = judge(rule, board)
    assert not review.undetermined
    assert not review.broken
    return [finding.level for finding in review.findings]


def test_another_size_is_a_hold_with_both_codes() -> None:
    (finding,) = judge(rule, "C1 4u7 @C_0603 VBAT GND\n$ C1 4u7 @0402").findings

    assert finding.level is Level.HOLD
    assert finding.parts == ("C1",)
    assert "0603" in finding.sum
    assert "0402" in finding.sum


@pytest.mark.parametrize(
    ("footprint", "ordered"),
    [
        ("C_0603", "0603"),
        ("C_0603_1608Metric", "C0603"),
        ("C_0603_1608Metric", "1608"),
        ("C_0805", "2012"),
        ("C_0402_1005Metric", "1005"),
        ("C_0402", "402"),
        ("R_2512_6332Metric", "6432"),
        ("C_0603", "SMD"),
        ("MADE_UP_6.3x7.7", "0603"),
        ("CASE_3528", "1210"),
        ("CASE_3528", "1411"),
    ],
)
def test_the_same_size_by_another_code_is_clear(footprint: str, ordered: str) -> None:
    """EIA pairs: 1608 is 0603, 2012 is 0805, 1005 is 0402; tantalum B is 3528 (from memory)."""
    assert levels(footprint, ordered) == []


@pytest.mark.parametrize(
    ("footprint", "ordered"),
    [
        ("C_0603", "0402"),
        ("C_0805_2012Metric", "1206"),
        ("C_0805", "3216"),
        ("C_0603_1608Metric", "402"),
        ("CASE_3528", "6032"),
    ],
)
def test_its_twin_of_another_size_is_a_hold(footprint: str, ordered: str) -> None:
    assert levels(footprint, ordered) == [Level.HOLD]


@pytest.mark.parametrize(
    ("footprint", "ordered"), [("C_0603", "0201"), ("C_0201_0603Metric", "0603")]
)
def test_a_bare_code_that_can_be_metric_is_a_query(footprint: str, ordered: str) -> None:
    """Metric 0603 is imperial 0201 (EIA, from memory)."""
    assert levels(footprint, ordered) == [Level.QUERY]


def test_a_code_with_its_metric_twin_beside_it_leaves_no_doubt() -> None:
    assert levels("C_0603_1608Metric", "0201") == [Level.HOLD]


def test_parts_with_more_terminals_are_not_told_by_four_digits() -> None:
    assert levels("XTAL_3225", "5032", "Y1 12MHz") == []


def test_a_part_that_is_not_fitted_fits_any_pad() -> None:
    assert levels("C_0603", "0402", "C1? 4u7") == []


@pytest.mark.parametrize(("text", "found"), [("22uF/6.3V/C0603", 0), ("22uF/6.3V/C0402", 1)])
@pytest.mark.parametrize("column", ["value", "description"])
def test_without_a_package_column_the_code_beside_the_value_counts(
    column: str, text: str, found: int
) -> None:
    board = board_of("C1 22u @C_0603 VBAT GND\n$ C1 22u")
    assert board.bom is not None
    texts = {"value": "", "description": "", column: text}
    line = replace(board.bom.lines[0], value=texts["value"], description=texts["description"])
    board = replace(board, bom=Bom((line,), {}))
    intent = Intent.empty()
    circuit = Circuit(board, intent, FactBook(board, intent))

    assert len(judge(rule, circuit).findings) == found


def test_parallel_parts_with_other_sizes_are_said_apart() -> None:
    board = """
    C1 1u @C_0603 VBAT GND
    C2 1u @C_0805 VBAT GND
    $ C1 1u @0402
    $ C2 1u @1206
    """

    assert [f.subject.name for f in judge(rule, board).findings] == ["C1", "C2"]


def test_lists_that_hardly_meet_are_not_compared() -> None:
    """Each list has six parts that the other lacks, and one in common."""
    lines = ["C1 1u @C_0603 VBAT GND", "$ C1 1u @0402"]
    lines += [f"R{n} 1k VBAT GND" for n in range(1, 7)]
    lines += [f"$ R{n} 1k" for n in range(11, 17)]

    review = judge(rule, "\n".join(lines))
    assert not review.findings
    assert [u.key for u in review.undetermined] == ["exports"]
