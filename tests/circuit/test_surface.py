"""Surfaces: how a board answers to what differs, against solving each board that was drawn."""

from __future__ import annotations

import numpy as np
import pytest

from boardvet.circuit.batch import SEED, Batches
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.lives import lives_of
from boardvet.circuit.surface import asked_of, surface_of
from boardvet.circuit.variation import Quantity, RandomBoards, Tolerances
from boardvet.testing import circuit_of

BOARD = """
BT1 CR2032 VBAT GND
U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 = pin_resistance 30 ohm = sleep_current 2 uA
R1 150 P0 N1
R2 220 P1 N2
D1 led N1 GND = colour red = forward_voltage 1.9 V at 5 mA
D2 led N2 GND = colour red = forward_voltage 1.9 V at 5 mA
R3 1M VBAT TAP
R4 1M TAP GND
~ pattern: [{lights: [D1], for: 5 ms, every: 500 ms}, {lights: [D2], for: 5 ms, every: 1 s}]
"""


def test_it_asks_for_every_part_that_a_current_rests_on() -> None:
    circuit = circuit_of(BOARD)

    keys = asked_of(circuit, circuit.view(Discharge), circuit.view(Tolerances))

    assert set(keys) == {
        *((Quantity.RESISTANCE, f"R{number}") for number in (1, 2, 3, 4)),
        *((Quantity.FORWARD_VOLTAGE, f"D{number}") for number in (1, 2)),
        (Quantity.PIN_RESISTANCE, "U1"),
        (Quantity.CELL_RESISTANCE, "BT1"),
    }


def test_boards_of_a_large_batch_run_as_long_as_each_solved_by_itself() -> None:
    circuit = circuit_of(BOARD)
    by_surface = circuit.view(Batches).drawn(1000).run_times[:200]

    boards = RandomBoards(1000, SEED)
    each = lives_of(
        circuit, circuit.view(Discharge), circuit.view(Tolerances), boards, range(1, 201)
    )[1:]

    assert np.abs(by_surface / each - 1.0).max() < 0.01
    assert by_surface.std() == pytest.approx(each.std(), rel=0.05)


def test_at_a_limit_it_is_what_was_solved_there() -> None:
    class AtLimit:
        def of(self, quantity: Quantity, reference: str) -> np.typing.NDArray[np.float64]:
            return np.array([0.0, float((quantity, reference) == (Quantity.RESISTANCE, "R1"))])

    circuit = circuit_of(BOARD)
    discharge, tolerances = circuit.view(Discharge), circuit.view(Tolerances)
    keys = asked_of(circuit, discharge, tolerances)
    surface = surface_of(circuit, discharge, tolerances, keys)

    found = surface.differences(AtLimit(), np.array([0, 1]))
    solved = lives_of(circuit, discharge, tolerances, AtLimit(), [1])[1]

    assert found.current[0] == pytest.approx(1.0)
    assert solved > discharge.run_time  # five per cent more ohms, so less current
    assert found.current[1, 0] < 1.0
