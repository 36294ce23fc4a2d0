"""Lights off their typical values: series of values, tolerances, and the rows of a sweep."""

from __future__ import annotations

import numpy as np
import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.light_corners import (
    Corner,
    LightCorners,
    _Changed,
    fitting_value,
    preferred_values,
    tolerance,
)
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pattern import Pattern
from boardvet.circuit.states import States
from boardvet.circuit.strings import LedString, Strings
from boardvet.circuit.what_if import with_value
from boardvet.testing import circuit_of

BOARD = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
R1 330 VIN N1
D1 led N1 GND = forward_voltage 1.9 V at 10 mA = colour red
"""


def one(circuit: Circuit) -> LedString:
    (string,) = circuit.view(Strings).all
    return string


def test_the_values_of_a_series_are_those_of_iec_60063() -> None:
    """E12 from memory of IEC 60063: 10 12 15 18 22 27 33 39 47 56 68 82."""
    assert preferred_values(100, 1000) == (
        100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820,
    )  # fmt: skip
    assert preferred_values(95, 121, "E24") == (100, 110, 120)


def test_a_value_of_e12_is_preferred_where_it_is_near_enough() -> None:
    """Of 5 V, 5 mA want 1,000 Ω. 4.5 mA want 1,111 Ω: 1.1 kΩ of E24 is 1 % off, 1.2 kΩ 7.4 %."""
    values = preferred_values(500, 2000, "E24")
    currents = [5.0 / ohms for ohms in values]

    assert fitting_value(values, currents, 5e-3) == (1000.0, 5e-3)
    assert fitting_value(values, currents, 4.5e-3)[0] == 1200.0


def test_only_where_no_value_of_e12_is_near_one_of_e24_is_taken() -> None:
    """The current of a light that lets go is steep: 10 % of resistance are 20 % of current."""
    values = preferred_values(680, 821, "E24")
    currents = [1.2e-3, 1.0e-3, 0.8e-3]

    assert list(values) == [680, 750, 820]
    assert fitting_value(values, currents, 1.0e-3) == (750.0, 1.0e-3)


def test_a_stated_tolerance_counts_and_an_assumed_one_is_noted() -> None:
    stated = circuit_of(BOARD.replace("R1 330 VIN N1", "R1 330 VIN N1 = tolerance 1 %"))
    plain = circuit_of(BOARD)
    with plain.noting() as noted:
        assumed = tolerance(plain, "R1", 0.05)

    assert tolerance(stated, "R1", 0.05).value == pytest.approx(0.01)
    assert assumed.value == pytest.approx(0.05)
    assert assumed.assumed
    assert "tolerance of resistors that state none" in noted


def test_a_swept_resistor_gives_what_a_board_with_each_value_gives() -> None:
    circuit = circuit_of(BOARD)
    state = circuit.view(States).main
    lit = circuit.view(Pattern).lit("D1")[0]
    swept = circuit.view(LightCorners).swept(one(circuit), state, lit, {"R1": (100, 330, 1000)})
    boards = [with_value(circuit, "R1", text) for text in ("100", "330", "1k")]
    solved = [board.view(Lighting).worst(one(board)) for board in boards]

    assert swept == pytest.approx([each.current for each in solved if each is not None])


def test_no_light_carries_more_than_its_ceiling() -> None:
    """5 V over 0.8 · 330 Ω."""
    circuit = circuit_of(BOARD)
    corners, state = circuit.view(LightCorners), circuit.view(States).main
    ceiling = corners.ceiling(one(circuit), state)
    most = corners.highest(
        one(circuit), state, circuit.view(Pattern).lit("D1")[0], Corner(0.5, 0.2)
    )

    assert ceiling == pytest.approx(5 / (0.8 * 330))
    assert most < 5 / (0.8 * 330)


def test_rows_of_changes_can_be_taken_and_repeated() -> None:
    changed = _Changed(circuit_of(BOARD), {"R1": np.array([1.0, 2.0, 3.0])}, Corner(0.0, 0.0))

    assert list(changed.of(np.array([2, 0])).resistors["R1"]) == [3.0, 1.0]
    assert list(changed.tiled(2).resistors["R1"]) == [1.0, 2.0, 3.0, 1.0, 2.0, 3.0]
