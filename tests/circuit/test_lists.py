"""The BOM held against the netlist: which line names which part, and how far the two meet."""

from __future__ import annotations

import pytest

from boardvet.circuit.lists import BomReference, ListedPart, PartLists
from boardvet.circuit.quantities import Quantities
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

LISTED = """
BT1 CR2032 VBAT GND
U1 logic/74HC00 1: VBAT 2: GND
R1? 1k VBAT GND
TP1 test-point 1: VBAT
"""


def test_units_and_small_letters_are_joined_to_the_part() -> None:
    lists = circuit_of(LISTED + "$ bt1 CR2032\n$ U1A,U1B 74HC00\n$ X9 x").view(PartLists)

    assert {ref: len(lines) for ref, lines in lists.lines_of.items()} == {
        "BT1": 1,
        "U1": 1,
        "X9": 1,
    }


def test_the_counts_leave_out_what_is_not_bought() -> None:
    """Two parts are to buy (R1 is not fitted, TP1 is copper); the BOM buys BT1 and X9."""
    lists = circuit_of(LISTED + "$ BT1 CR2032\n$ X9 x\n$ X8 x not-fitted").view(PartLists)

    assert (lists.listed, lists.to_buy) == (1, 2)
    assert (lists.drawn, lists.named) == (1, 2)


def test_without_a_bom_the_view_says_how_to_give_one() -> None:
    with pytest.raises(MissingFact, match="no BOM was given") as missing:
        circuit_of(LISTED).view(PartLists)

    assert missing.value.key == "exports"


def test_without_a_bom_there_is_no_subject() -> None:
    circuit = circuit_of(LISTED)

    assert not ListedPart.on(circuit)
    assert not BomReference.on(circuit)


def test_a_part_is_compared_by_the_one_line_that_buys_it() -> None:
    board = "R1 1k VBAT GND\nR2 1k VBAT GND\nR3 1k VBAT GND\n"
    lines = "$ R1 1k\n$ R1 2k not-fitted\n$ R2 1k\n$ R2 2k\n$ R3 1k not-fitted\n"
    parts = {part.label: part.compared for part in ListedPart.on(circuit_of(board + lines))}

    assert parts["R1"] is not None
    assert parts["R1"].value == "1k"
    assert parts["R2"] is None
    assert parts["R3"] is None


@pytest.mark.parametrize(
    ("quantities", "boards", "spare"),
    [
        ((2, 1, 3), 1, 0),
        ((20, 10, 30), 10, 0),
        ((4, 3, 5), 1, 2),
        ((20, 10, 7), 10, 0),
        ((20, 7, 8), 1, 0),
    ],
)
def test_factor_and_spare_are_those_of_most_lines(
    quantities: tuple[int, int, int], boards: int, spare: int
) -> None:
    """Lines of two, one and three references."""
    groups = ("C1,C2", "C3", "C4,C5,C6")
    lines = (
        f"$ {refs} {n}u ×{q}" for n, (refs, q) in enumerate(zip(groups, quantities, strict=True))
    )
    view = circuit_of("C1 1u VBAT GND\n" + "\n".join(lines)).view(Quantities)

    assert (view.boards, view.spare) == (boards, spare)
