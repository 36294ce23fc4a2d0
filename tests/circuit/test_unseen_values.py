"""Values that are none."""

from __future__ import annotations

import pytest

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.values import capacitance, resistance
from boardvet.testing import circuit_of


@pytest.mark.parametrize("text", ["0uF", "0", "0n/16V"])
def test_a_capacitor_of_nothing_has_no_known_value_and_carries_no_pulse(text: str) -> None:
    """It broke every rule that solves pulses in time."""
    circuit = circuit_of(
        "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND = supply 1.8 to 3.6 V"
        f" = sleep_current 1 uA\nC1 {text} VBAT GND\n"
        "~ pattern: [{part: U1, current: 5 mA, for: 5 ms, every: 1 s}]"
    )
    assert capacitance(circuit, "C1") is None
    assert circuit.view(Discharge).run_time > 0.0


def test_a_resistor_of_nothing_is_a_wire() -> None:
    found = resistance(circuit_of("R1 0R A B"), "R1")
    assert found is not None
    assert found.value == 0.0
