"""A back-up cell keeps a clock going; its charge is none of the board's."""

from __future__ import annotations

import pytest

from boardvet.circuit.batch import Batches
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.giving import Giving
from boardvet.testing import circuit_of

MAIN = (
    "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND = supply 1.8 to 3.6 V = sleep_current 20 uA\n"
)
CLOCK = (
    "U2 clock VDD+ VRTC GND- GND = supply 1.0 to 5.5 V = sleep_current 0.25 uA\n"
    "D1 diode/BAT54 VBAT VRTC = forward_voltage 0.3 V at 1 mA\n"
)
BACKUP = "BT2 CR2032 VB GND\nD2 diode/BAS116 VB VRTC = forward_voltage 0.7 V at 1 mA\n"
DAY = 86400.0


def life(board: str) -> Discharge:
    return circuit_of(board).view(Discharge)


def test_a_back_up_cell_does_not_lengthen_the_run_time() -> None:
    """225 mAh at 20.25 µA and 1.5 % a year (0.385 µA): 225 mAh / 20.635 µA = 454 days."""
    alone, backed = life(MAIN + CLOCK), life(MAIN + CLOCK + BACKUP)

    assert alone.run_time / DAY == pytest.approx(454.0, rel=5e-3)
    assert backed.run_time == pytest.approx(alone.run_time, rel=1e-3)
    assert backed.capacity.value == pytest.approx(225.0 * 3.6)
    assert backed.stop.reason == "BT1 (CR2032) is empty"


def test_nor_does_it_on_boards_drawn_at_random() -> None:
    wanted = 454.0 * DAY
    alone, backed = (circuit_of(MAIN + CLOCK + more).view(Batches) for more in ("", BACKUP))

    assert backed.reaching(wanted, 200) == pytest.approx(alone.reaching(wanted, 200), abs=0.1)


def test_two_cells_that_feed_the_board_through_equal_diodes_both_count() -> None:
    board = (
        "BT1 CR2032 VA GND\nBT2 CR2032 VB GND\n"
        "D1 diode/BAT54 VA VCC = forward_voltage 0.3 V at 1 mA\n"
        "D2 diode/BAT54 VB VCC = forward_voltage 0.3 V at 1 mA\n"
        "U1 mcu VCC+ VCC GND- GND = supply 1.8 to 3.6 V = sleep_current 20 uA\n"
    )

    assert life(board).capacity.value == pytest.approx(450.0 * 3.6)


def test_a_cell_alone_counts_even_if_nothing_is_drawn() -> None:
    circuit = circuit_of("BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND = sleep_current 0 A")

    assert [cell.reference for cell in circuit.view(Giving).cells] == ["BT1"]


def test_two_cells_of_which_none_gives_anything_both_count() -> None:
    circuit = circuit_of("BT1 CR2032 VA GND\nBT2 CR2032 VB GND\nC1 100n VA GND\nC2 100n VB GND")

    assert [cell.reference for cell in circuit.view(Giving).cells] == ["BT1", "BT2"]


def test_what_a_back_up_cell_shows_does_not_end_the_run() -> None:
    """Its own curve ends at 1.5 V, below the 2 V at which such a cell counts as empty."""
    page = "~ cell: [{part: BT1, type: CR2032}, {part: BT2, type: CR2032, voltage: 1.5 V}]\n"

    assert life(MAIN + CLOCK + BACKUP + page).stop.reason == "BT1 (CR2032) is empty"
