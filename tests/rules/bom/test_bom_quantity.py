"""`bom-quantity`: as many parts as references, boards and spares allowed for."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.bom.bom_quantity import check as rule

PARTS = "".join(f"C{n} 100n VBAT GND\n" for n in range(1, 10))


def findings(*lines: str) -> list[str]:
    review = judge(rule, PARTS + "\n".join(lines))
    assert not review.undetermined
    assert not review.broken
    return [finding.fix for finding in review.findings]


def test_three_for_four_references_is_a_query_with_both_numbers() -> None:
    (finding,) = judge(rule, PARTS + "$ C1,C2,C3,C4 100n ×3\n$ C5 1u ×1\n$ C6 2u2 ×1").findings

    assert finding.level is Level.QUERY
    assert finding.parts == ("C1", "C2", "C3", "C4")
    assert {(n.name, n.value) for n in finding.numbers} == {("quantity", 3.0), ("references", 4.0)}
    assert finding.bench == "Parts run out."


def test_one_too_many_is_left_over() -> None:
    (finding,) = judge(rule, PARTS + "$ C1,C2 100n ×3\n$ C5 1u ×1\n$ C6 2u2 ×1").findings

    assert finding.bench == "Parts are left over."


def test_equal_numbers_are_clear() -> None:
    assert findings("$ C1,C2 100n ×2", "$ C5 1u ×1") == []


def test_a_line_without_a_quantity_asks_for_what_it_names() -> None:
    assert findings("$ C1,C2 100n", "$ C5 1u ×1") == []


def test_a_line_that_is_not_fitted_may_say_anything() -> None:
    assert findings("$ C1,C2 100n ×0 not-fitted", "$ C5,C6 1u ×3 not-fitted", "$ C7 2u2 ×1") == []


def test_a_factor_on_every_line_is_a_number_of_boards() -> None:
    assert findings("$ C1,C2 100n ×20", "$ C5 1u ×10", "$ C6,C7,C8 2u2 ×30") == []


def test_a_line_that_leaves_the_factor_is_found_with_what_it_wants() -> None:
    """By hand: 3 references for 10 boards are 30, and 25 are bought."""
    fixes = findings("$ C1,C2 100n ×20", "$ C5 1u ×10", "$ C9 4u7 ×10", "$ C6,C7,C8 2u2 ×25")

    assert fixes == ["set the quantity to 30, or correct the references"]


def test_a_surplus_on_every_line_is_a_spare() -> None:
    assert findings("$ C1,C2 100n ×4", "$ C5 1u ×3", "$ C6,C7,C8 2u2 ×5") == []


def test_a_line_that_leaves_the_spare_is_found_with_what_it_wants() -> None:
    """By hand: 3 references and 2 to spare are 5, and 8 are bought."""
    fixes = findings("$ C1,C2 100n ×4", "$ C5 1u ×3", "$ C9 4u7 ×3", "$ C6,C7,C8 2u2 ×8")

    assert fixes == ["set the quantity to 5, or correct the references"]


def test_a_factor_on_fewer_than_half_of_the_lines_is_no_number_of_boards() -> None:
    """Two of five lines agree on 10; no surplus (18, 9, 6, 5, 7) occurs twice."""
    lines = (
        "$ C1,C2 100n ×20",
        "$ C3 1u ×10",
        "$ C4 2u2 ×7",
        "$ C5,C6,C7 4u7 ×8",
        "$ C8,C9 1n ×9",
    )

    assert len(findings(*lines)) == 5


def test_a_single_line_is_no_habit() -> None:
    assert findings("$ C1,C2 100n ×4") == ["set the quantity to 2, or correct the references"]


@pytest.mark.parametrize(("quantity", "found"), [(3, 0), (4, 1)])
def test_a_line_for_each_part_may_count_all_that_are_alike(quantity: int, found: int) -> None:
    lines = [f"$ C{n} 100n ×{quantity}" for n in (1, 2, 3)]

    assert len(findings(*lines, "$ C4 1u ×1", "$ C5 2u2 ×1", "$ C6 4u7 ×1", "$ C7 1n ×1")) == (
        3 * found
    )
