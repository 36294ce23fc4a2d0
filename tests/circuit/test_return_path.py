"""A protection IC in the minus lead of a cell: its two FETs carry what the board takes."""

from __future__ import annotations

import pytest

from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.circuit.return_path import return_path
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import State, States
from boardvet.testing import circuit_of

PROTECTED = """
BT1 connector/LiPo 1: VBAT 2: CELLMINUS
~ cell: {part: BT1, type: LiPo, capacity: 400 mAh, voltage: 4.0 V, resistance: 200 mohm}
R1 100 VBAT VSENSE
U2 battery-protector/DW01A VCC+ VSENSE GND- CELLMINUS OD> GATE1 OC> GATE2 CS SENSE
Q1 fet/n 1:G GATE1 2:S CELLMINUS 3:D MID = channel n = on_resistance 100 mohm at 4 V
Q2 fet/n 1:G GATE2 2:S GND 3:D MID = channel n = on_resistance 100 mohm at 4 V
U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 0 A
"""


def only_state(circuit: Circuit) -> State:
    (state,) = circuit.view(States).all
    return state


def returning(board: str) -> frozenset[str]:
    circuit = circuit_of(board)
    return return_path(circuit, only_state(circuit), circuit.view(Cells).all)


def names(board: str) -> set[str]:
    circuit = circuit_of(board)
    return {circuit.board.nets[node].name for node in returning(board)}


def test_the_board_is_fed_through_the_fets_of_the_protection() -> None:
    """0.5 A through 0.2 + 0.1 + 0.1 ohm: 0.2 V of the 4.0 V are lost on the way there and back."""
    circuit = circuit_of(PROTECTED)
    drawn = Meeting(frozenset(), (("U1", 0.5),), 1.0, 1.0)
    solved = circuit.view(Running).at(only_state(circuit), drawn, (0.0,))

    assert solved.cell_current("BT1")[0] == pytest.approx(0.5, rel=1e-3)
    assert solved.voltage("VBAT")[0] == pytest.approx(3.8, abs=1e-3)


def test_what_lies_between_the_cell_and_ground_is_the_return_path() -> None:
    assert names(PROTECTED) == {"CELLMINUS", "MID"}


def test_a_cell_that_stands_on_ground_has_none() -> None:
    assert returning("BT1 CR2032 VBAT GND\nR1 10k VBAT GND") == frozenset()


def test_of_cells_in_a_row_only_the_lowest_returns_to_ground() -> None:
    board = "BT1 cell/LR6 VBAT MID\nBT2 cell/LR6 MID LOW\nF1 fuse LOW GND\nR1 10k VBAT GND"

    assert names(board) == {"LOW"}


def test_a_switch_in_the_load_is_no_return_path() -> None:
    """The low-side FET of a lamp has its cell on ground; its drain belongs to the lamp."""
    board = (
        "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND PB0 GATE\n"
        "Q1 fet/n 1:G GATE 2:S GND 3:D LAMP = channel n\nR1 100 VBAT LAMP"
    )

    assert returning(board) == frozenset()


@pytest.mark.parametrize(
    ("gate", "carries"),
    [("R3 1k GATE1 VBAT", True), ("R3 1k GATE1 GND", False)],
    ids=["on", "off"],
)
def test_a_fet_whose_gate_is_held_off_parts_the_cell(gate: str, carries: bool) -> None:
    board = (
        "BT1 CR2032 VBAT CELLMINUS\n~ cell: {part: BT1, type: CR2032, voltage: 3 V,"
        " resistance: 10 ohm}\n"
        "Q1 fet/n 1:G GATE1 2:S CELLMINUS 3:D GND = channel n = on_resistance 1 ohm at 3 V\n"
        f"{gate}\nU1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 0 A\n"
        "R1 100 VBAT GND\n"
    )
    circuit = circuit_of(board)
    still = Meeting(frozenset(), (), 1.0, 1.0)
    solved = circuit.view(Running).at(only_state(circuit), still, (0.0,))
    whole = 3.0 / (10.0 + 1.0 + 100.0)

    assert (solved.cell_current("BT1")[0] == pytest.approx(whole, rel=1e-3)) is carries


def test_a_shunt_in_the_minus_lead_counts_with_its_resistance() -> None:
    """0.5 A through 220 mohm more than the 0.4 ohm above: 4.0 V - 0.31 V."""
    board = PROTECTED.replace("2:S GND", "2:S SENSE2") + "R2 220m SENSE2 GND\n"
    circuit = circuit_of(board)
    drawn = Meeting(frozenset(), (("U1", 0.5),), 1.0, 1.0)
    solved = circuit.view(Running).at(only_state(circuit), drawn, (0.0,))

    assert solved.voltage("VBAT")[0] == pytest.approx(3.69, abs=1e-3)


def test_what_hangs_on_the_way_as_a_dead_end_is_no_return_path() -> None:
    """A lamp switched down to the cell's own minus, before the protection."""
    lamp = "Q5 fet/n 1:G P0 2:S CELLMINUS 3:D LAMP = channel n\nR5 100 VBAT LAMP\n"
    board = PROTECTED.replace("GND- GND =", "GND- GND PB0 P0 =") + lamp

    assert names(board) == {"CELLMINUS", "MID"}
