"""Cells as an outsider states them: what the page says is used as given, checked by Ohm's law."""

from __future__ import annotations

import pytest

from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import States
from boardvet.testing import circuit_of


@pytest.mark.parametrize(
    ("kind", "volts", "ohms", "current"),
    [("LR6", 1.5, 0.6, 100e-3), ("CR2032", 3.0, 20.0, 10e-3)],
)
@pytest.mark.parametrize("run", [1e-3, 1.0])
def test_a_stated_resistance_counts_in_full_in_pulses_of_any_length(
    kind: str, volts: float, ohms: float, current: float, run: float
) -> None:
    """0.6 ohm at 100 mA and 20 ohm at 10 mA are dips of 60 mV and 200 mV: a curve of the facts
    would halve the one and take a tenth off the other in the first millisecond."""
    circuit = circuit_of(
        "BT1 cell/holder VBAT GND\nU1 mcu VCC+ VBAT GND- GND\n"
        f"~ cell: {{part: BT1, type: {kind}, voltage: {volts} V at 0 % and 1 V at 100 %, "
        f"resistance: {ohms} ohm}}"
    )
    meeting = Meeting(frozenset(), (("U1", current),), 1.0, run)
    found = circuit.view(Running).at(circuit.view(States).main, meeting)
    assert volts - found.voltage("VBAT")[0] == pytest.approx(ohms * current, rel=1e-6)
