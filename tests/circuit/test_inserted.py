"""A regulator put between cell and board: run time and charge left, by hand sums."""

from __future__ import annotations

import math

import pytest

from boardvet.circuit.cells import Cells
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.inserted import Regulated, regulated
from boardvet.testing import circuit_of

HOUR = 3600.0

SLOPE = (
    "type: CR2032, capacity: 100 mAh, voltage: 3.0 V at 0 % and 2.0 V at 100 %, resistance: 0 ohm"
)


def board(cell: str, draws: str, supply: str = "1.8 to 3.6 V") -> Circuit:
    """A controller straight on one holder."""
    return circuit_of(f"""
BT1 cell/holder VBAT GND
~ cell: {{part: BT1, {cell}}}
U1 controller/M1 VCC+ VBAT GND- GND = supply {supply} = sleep_current 0 uA
~ pattern: [{{name: work, part: U1, current: {draws}}}]
""")


def between(circuit: Circuit) -> Regulated:
    found = regulated(circuit)
    assert found is not None
    return found


def test_a_linear_regulator_pays_where_the_load_takes_more_at_more_voltage() -> None:
    """1 kΩ: 100 mAh · 1 kΩ · ln(3 / 2) / 1 V = 40.5 h straight; 100 mAh / 1.801 mA = 55.5 h."""
    text = f"""
BT1 cell/holder VBAT GND
~ cell: {{part: BT1, {SLOPE}}}
U1 controller/M1 VCC+ VBAT GND- GND = supply 1.7 to 3.6 V = sleep_current 0 uA
R1 1k VBAT GND
"""
    found = between(circuit_of(text))
    assert found.output == 1.8
    assert found.run_time == pytest.approx(40.55 * HOUR, rel=0.01)
    assert found.linear is not None
    assert found.linear.run_time == pytest.approx(55.52 * HOUR, rel=0.01)
    assert found.step_up is None  # the cell never falls below the output


def test_a_linear_regulator_strands_what_its_drop_out_takes() -> None:
    """1 mA to 2.7 V: u = 0.3 straight, 30 h. Through 0.1 V: stops at 2.8 V, u = 0.2, 20 h.

    A step-up of 2.8 V passes its input on to u = 0.2; from there on 2.8 mW / 0.85 = 3.294 mW, to
    2.0 V: 100 mAh / 1 V · (2.8² − 2.0²) / 2 V² / 3.294 mW = 58.3 h more; 5 µA cost 0.3 h.
    """
    found = between(board(SLOPE, "1 mA", "2.7 to 3.6 V"))
    assert found.output == 2.8
    assert found.run_time == pytest.approx(30 * HOUR, rel=0.01)
    assert found.left == pytest.approx(0.7, abs=1e-3)
    assert found.linear is not None
    assert found.linear.run_time == pytest.approx(20 * HOUR, rel=0.01)
    assert found.linear.left == pytest.approx(0.8, abs=2e-3)
    assert found.step_up is not None
    assert found.step_up.run_time == pytest.approx(78.0 * HOUR, rel=0.01)
    assert found.step_up.left == pytest.approx(0.0, abs=1e-3)


def test_what_the_cell_drops_counts_before_a_linear_regulator_too() -> None:
    """1 mA behind 100 Ω: 3 V − u − 0.1 V = 2.7 V straight, u = 0.2; with 0.1 V more, u = 0.1."""
    found = between(board(SLOPE.replace("0 ohm", "100 ohm"), "1 mA", "2.7 to 3.6 V"))
    assert found.run_time == pytest.approx(20 * HOUR, rel=0.01)
    assert found.linear is not None
    assert found.linear.run_time == pytest.approx(10 * HOUR, rel=0.01)
    assert found.linear.left == pytest.approx(0.9, abs=2e-3)


def test_a_step_up_stops_where_the_cell_cannot_give_its_power() -> None:
    """3.294 mW for 2.8 V at 1 mA behind 1 kΩ: V² must exceed 4 · 1 kΩ · 3.294 mW = 13.2 V².

    The cell has 9 V² at most, and the controller behind 1 kΩ has 2 V: neither starts, though the
    cell would not be empty before 1 V.
    """
    cell = SLOPE.replace("resistance: 0 ohm", "resistance: 1 kohm, stop: 1.0 V")
    found = between(board(cell, "1 mA", "2.7 to 3.6 V"))
    assert found.run_time == 0.0
    assert found.step_up is not None
    assert found.step_up.run_time == 0.0


def test_an_output_is_bright_enough_for_half_of_the_current_of_a_light() -> None:
    """Red behind 100 Ω, 10 mA wanted: 1.8 V + 5 mA · 100 Ω = 2.3 V for the half; 2.5 V is sold."""
    text = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: 2xLR6}
R1 100 VBAT N1
D1 led/red N1 GND = forward_voltage 1.70 V at 1 mA and 1.85 V at 10 mA = wanted_current 10 mA
"""
    assert between(circuit_of(text)).output == 2.5


def test_a_regulator_that_is_there_already_is_named() -> None:
    text = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR2032}
U2 regulator IN+ VBAT GND- GND OUT> V2 = output 2 V = conversion linear
U1 controller/M1 VCC+ V2 GND- GND = supply 1.8 to 3.6 V = sleep_current 2 uA
"""
    found = between(circuit_of(text))
    assert found.behind == ("U2",)
    assert found.linear is None


def test_several_holders_are_left_alone() -> None:
    text = """
BT1 cell/CR2032 TOP MID
BT2 cell/CR2032 MID GND
R1 10k TOP GND
"""
    assert regulated(circuit_of(text)) is None


LIGHT = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR123A}
R1 100 VBAT N1
R2 4.7k VBAT GND
D1 led/white N1 GND = forward_voltage 2.75 V at 1 mA and 3.05 V at 20 mA
~ pattern: [{name: glow, lights: [D1], for: 1 s, every: 10 s}]
"""

RESERVOIR = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR2032}
C1 100u/6.3V VBAT GND = series_resistance 0.1 ohm
U1 controller/M1 VCC+ VBAT GND- GND = supply 2.6 to 3.6 V = sleep_current 1 uA
~ pattern: [{name: work, part: U1, current: 12 mA, for: 1 ms, every: 1 s}]
"""


@pytest.mark.parametrize(
    "circuit",
    [
        circuit_of(LIGHT),
        circuit_of(RESERVOIR),
        board("type: CR2032", "1 uA"),
    ],
    ids=["light and resistor", "reservoir", "next to nothing"],
)
def test_a_regulator_that_takes_and_drops_nothing_changes_nothing(circuit: Circuit) -> None:
    """Two ways to the same run time: at the cell, and by way of the supply voltage; within 1 %."""
    from boardvet.circuit.inserted import _Supply

    discharge = circuit.view(Discharge)
    supply = _Supply(circuit, circuit.view(Cells).all[0], discharge)
    nothing = supply.behind_linear(math.inf, 0.0, 0.0)
    assert nothing.run_time == pytest.approx(discharge.run_time, rel=0.01)
    assert nothing.left == pytest.approx(1.0 - discharge.stop.used, abs=0.005)
