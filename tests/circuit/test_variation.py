"""How far parts differ: corners, boards drawn at random, and what is assumed of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.circuit.handle import Circuit
from boardvet.circuit.variation import Corner, Quantity, RandomBoards, Tolerances, Variation
from boardvet.testing import circuit_of

SEEDS = st.integers(0, 2**31)
QUANTITIES = st.sampled_from(list(Quantity))

BOARD = """
BT1 CR2032 VBAT GND
SW1 switch VBAT VSW
U1 mcu VCC+ VSW GND- GND PB0 P0 = pin_resistance 30 ohm
R1 100 P0 N1 = tolerance 1 %
R2 100 P0 N2
D1 led N1 GND = colour red
D2 diode/1N4148 N2 GND
"""


def tolerances(circuit: Circuit | None = None) -> Tolerances:
    return (circuit or circuit_of(BOARD)).view(Tolerances)


def test_the_same_seed_draws_the_same_boards() -> None:
    one, other = RandomBoards(100, 7), RandomBoards(100, 7)

    assert (one.of(Quantity.CAPACITY, "BT1") == other.of(Quantity.CAPACITY, "BT1")).all()


def test_another_seed_draws_other_boards() -> None:
    one, other = RandomBoards(100, 7), RandomBoards(100, 8)

    assert not (one.of(Quantity.CAPACITY, "BT1") == other.of(Quantity.CAPACITY, "BT1"))[1:].any()


@given(SEEDS, QUANTITIES, st.lists(st.tuples(QUANTITIES, st.text(max_size=4)), max_size=5))
def test_law_what_is_drawn_of_a_part_is_the_same_whatever_else_is_asked_for(
    seed: int, quantity: Quantity, others: list[tuple[Quantity, str]]
) -> None:
    alone, later = RandomBoards(5, seed), RandomBoards(5, seed)
    for other in others:
        later.of(*other)

    assert (alone.of(quantity, "R1") == later.of(quantity, "R1")).all()


@given(SEEDS, QUANTITIES)
def test_law_fewer_boards_are_the_first_of_more(seed: int, quantity: Quantity) -> None:
    few, many = RandomBoards(3, seed), RandomBoards(30, seed)

    assert (few.of(quantity, "R1") == many.of(quantity, "R1")[:4]).all()


def test_a_typical_board_comes_first() -> None:
    assert RandomBoards(5, 7).of(Quantity.RESISTANCE, "R1")[0] == 0.0


def test_deviations_are_normal_with_three_standard_deviations_to_the_limit() -> None:
    """Common practice, no source. 20,000 of them: the deviation to within 2 %, the mean to 1 %.

    Of a normal distribution 0.27 % lie beyond three standard deviations.
    """
    drawn = RandomBoards(20_000, 7).of(Quantity.RESISTANCE, "R1")[1:]

    assert drawn.std() == pytest.approx(1 / 3, rel=0.02)
    assert drawn.mean() == pytest.approx(0.0, abs=0.01)
    assert (np.abs(drawn) > 1.0).mean() == pytest.approx(0.0027, abs=0.0012)


def test_parts_of_one_board_differ_independently() -> None:
    boards = RandomBoards(20_000, 7)
    pairs = [
        (boards.of(Quantity.RESISTANCE, "R1"), boards.of(Quantity.RESISTANCE, "R2")),
        (boards.of(Quantity.CAPACITY, "BT1"), boards.of(Quantity.CELL_RESISTANCE, "BT1")),
    ]

    for one, other in pairs:
        assert np.corrcoef(one, other)[0, 1] == pytest.approx(0.0, abs=0.03)


@pytest.mark.parametrize("quantity", list(Quantity))
def test_the_corners_are_the_limits_on_either_side(quantity: Quantity) -> None:
    """Worst first: less of all but of the resistance of a cell."""
    worst = 1.0 if quantity is Quantity.CELL_RESISTANCE else -1.0

    assert Corner().of(quantity, "R1").tolist() == [0.0, worst, -worst]


def test_a_stated_tolerance_counts_before_the_assumed_one() -> None:
    """5 % where nobody states it: common practice, no source."""
    found = tolerances()

    assert found.resistance("R1") == pytest.approx(0.01)
    assert found.resistance("R2") == pytest.approx(0.05)


def test_contacts_and_diodes_are_not_varied() -> None:
    found = tolerances()

    assert found.resistance("SW1") == 0.0
    assert found.forward_voltage("D2") == 0.0


def test_the_forward_voltage_of_an_led_is_within_0_1_v() -> None:
    """Würth Elektronik 150060SS75003: measurement tolerance ±0.1 V."""
    assert tolerances().forward_voltage("D1") == pytest.approx(0.1)


def test_what_nobody_states_is_noted_as_an_assumption() -> None:
    circuit = circuit_of(BOARD)
    found = tolerances(circuit)
    with circuit.noting() as noted:
        found.resistance("R1")
        assert not noted
        found.resistance("R2")
        found.capacity()

    assert set(noted) == {"tolerance of resistors", "spread of cell capacity"}
    assert all(each.source.startswith("assumed: ") for each in noted.values())


def test_each_row_has_the_factors_of_its_board() -> None:
    """By hand, at the corners: 0.99, 1.01; 0.7, 1.3; ∓0.1 V; twice and half; 0.9, 1.1."""
    rows = Variation(tolerances(), Corner(), np.array([0, 1, 2, 1]))

    assert rows.resistance("R1") == pytest.approx([1.0, 0.99, 1.01, 0.99])
    assert rows.pin_resistance("U1") == pytest.approx([1.0, 0.7, 1.3, 0.7])
    assert rows.forward_shift("D1") == pytest.approx([0.0, -0.1, 0.1, -0.1])
    assert rows.cell_resistance("BT1") == pytest.approx([1.0, 2.0, 0.5, 2.0])
    assert rows.capacity("BT1") == pytest.approx([1.0, 0.9, 1.1, 0.9])


def test_some_rows_and_repeated_rows_keep_their_boards() -> None:
    rows = Variation(tolerances(), Corner(), np.array([0, 1, 2]))

    assert rows.of(np.array([2, 1])).capacity("BT1") == pytest.approx([1.1, 0.9])
    assert rows.tiled(2).capacity("BT1") == pytest.approx([1.0, 0.9, 1.1] * 2)
