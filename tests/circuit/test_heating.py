"""Which resistors can carry direct current, and which of their strings are lit together."""

from __future__ import annotations

import pytest

from boardvet.circuit.heating import HeatedResistor
from boardvet.circuit.loading import Loading
from boardvet.circuit.strings import Strings
from boardvet.testing import circuit_of

BOARD = """
BT1 CR2032 VBAT GND
U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 RESET< RST
U2 mcu VCC+ VBAT GND- GND PA0 Q0
Q1 bipolar-transistor/2N3904 B B1 C C1 E GND = channel npn
SW1 button 1: RST 2: GND
R1 100 P0 N1
D1 led/red N1 GND
R2 22 P1 Q0
R3 1k P2 B1
R4 10k VBAT RST
R5 1M VBAT M
R6 1M M GND
R7 1k VBAT OPEN
C1 1u C1 GND
"""


def test_lights_dividers_bases_and_pulls_carry_current_and_signals_do_not() -> None:
    found = {resistor.reference for resistor in HeatedResistor.on(circuit_of(BOARD))}

    assert found == {"R1", "R3", "R4", "R5", "R6"}


@pytest.mark.parametrize(("together", "lit"), [("", {1, 2}), (", in_turn: yes", {1})])
def test_steps_light_what_the_pattern_lights(together: str, lit: set[int]) -> None:
    circuit = circuit_of(
        "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1\n"
        "R1 100 P0 N1\nD1 led/red N1 GND\nR2 100 P1 N2\nD2 led/red N2 GND\n"
        f"~ pattern: [{{lights: [D1, D2], for: 1 s, every: 3 s{together}}}]"
    )
    ((_, steps),) = circuit.view(Loading).steps(circuit.view(Strings).all)

    assert max(len(step.strings) for step in steps) == max(lit)
    assert sum(step.meeting.weight for step in steps) == pytest.approx(
        1 / 3 if max(lit) == 2 else 2 / 3
    )
