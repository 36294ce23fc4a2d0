"""Pins whose resistance is stated at two supply voltages."""

from __future__ import annotations

import pytest

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import States
from boardvet.testing import circuit_of

SHARES = (0.0, 0.5, 1.0)


def light(stated: str) -> list[float]:
    """Return the current of a light on a pin while its cell falls from 3 V to 2 V."""
    circuit = circuit_of(
        "BT1 cell/holder VBAT GND\n~ cell: {part: BT1, type: CR2032, "
        "voltage: 3.0 V at 0 % and 2.0 V at 100 %, resistance: 0 ohm}\n"
        f"U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance {stated} = sleep_current 0 A\n"
        "R1 10 P0 N1\nD1 led N1 GND = colour red = forward_voltage 1.8 V at 5 mA"
    )
    (led,) = circuit.view(Elements).of_kind(ElementKind.LED)
    meeting = Meeting(frozenset({"D1"}), (), 1.0, 1.0)
    return list(circuit.view(Running).at(circuit.view(States).main, meeting, SHARES).light(led))


def test_between_two_points_the_resistance_follows_the_supply() -> None:
    """By hand: 30 ohm at 3 V and 60 ohm at 2 V are 45 ohm at 2.5 V."""
    expected = [light(f"{ohms} ohm")[row] for row, ohms in enumerate((30, 45, 60))]

    assert light("30 ohm at 3 V and 60 ohm at 2 V") == pytest.approx(expected, rel=1e-6)
    assert light("60 ohm at 2 V and 30 ohm at 3 V") == pytest.approx(expected, rel=1e-6)


def test_outside_of_them_it_is_that_of_the_nearest() -> None:
    assert light("30 ohm at 5 V and 60 ohm at 3 V") == pytest.approx(light("60 ohm"), rel=1e-6)
