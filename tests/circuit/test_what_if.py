"""A changed value counts everywhere on the new board, and nowhere on the old one."""

from __future__ import annotations

from pathlib import Path

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.strings import Strings
from boardvet.circuit.values import BomLines, resistance
from boardvet.circuit.what_if import with_value
from boardvet.facts import FactBook
from boardvet.intent import Intent
from boardvet.known import Known
from boardvet.testing import board_of, circuit_of

BOARD = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
R1 330 VIN N1
R2 330 VIN N2
D1 led N1 GND = forward_voltage 1.9 V at 10 mA = colour red
D2 led N2 GND = forward_voltage 1.9 V at 10 mA = colour red
$ R1,R2 330 ×4
$ D1,D2 red ×4
"""


def ohms(circuit: Circuit, reference: str) -> float:
    known = resistance(circuit, reference)
    assert known is not None
    return known.value


def amperes(circuit: Circuit, reference: str) -> float:
    (string,) = circuit.view(Strings).of_light(reference)
    light = circuit.view(Lighting).worst(string)
    assert light is not None
    return light.current


def test_only_the_named_part_of_the_new_board_has_the_new_value() -> None:
    before = circuit_of(BOARD)
    after = with_value(before, "R1", "1k")

    assert (ohms(after, "R1"), ohms(after, "R2")) == (1000.0, 330.0)
    assert (ohms(before, "R1"), ohms(before, "R2")) == (330.0, 330.0)


def test_the_board_is_solved_anew_with_it() -> None:
    """By hand: (5 V − 1.84 V) / 1 kΩ = 3.16 mA, for V = 1.9 V + 51.7 mV·ln 0.316 − 6 Ω·6.8 mA."""
    before = circuit_of(BOARD)
    assert amperes(before, "D1") == pytest.approx(amperes(before, "D2"))
    after = with_value(before, "R1", "1k")

    assert amperes(after, "D1") == pytest.approx(3.2e-3, rel=0.01)
    assert amperes(after, "D2") == pytest.approx(amperes(before, "D2"))


def test_the_list_of_parts_gets_a_line_of_its_own_for_it() -> None:
    lines = with_value(circuit_of(BOARD), "R1", "1k").view(BomLines).of_part

    assert (lines["R1"].value, lines["R1"].references, lines["R1"].quantity) == ("1k", ("R1",), 2)
    assert (lines["R2"].value, lines["R2"].references, lines["R2"].quantity) == ("330", ("R2",), 2)
    assert lines["D1"].references == ("D1", "D2")


def test_a_value_that_only_the_list_of_parts_told_is_replaced_too() -> None:
    before = circuit_of(BOARD.replace("R1 330 VIN", "R1 resistor VIN"))
    assert ohms(before, "R1") == 330.0

    assert ohms(with_value(before, "R1", "1k"), "R1") == 1000.0


def test_page_facts_and_the_ban_on_assumptions_stay(tmp_path: Path) -> None:
    file = tmp_path / "facts.yaml"
    file.write_text("- {match: [XRQ-90], kind: led, colour: blue, source: own sheet}\n", "utf-8")
    board = board_of("R1 330 A B\nD1 XRQ-90 A B")
    before = Circuit(
        board, Intent.empty(), FactBook(board, Intent.empty(), [file]), assume_nothing=True
    )
    after = with_value(before, "R1", "1k")

    known = after.known("D1", "colour")
    assert isinstance(known, Known)
    assert known.value == "blue"
    assert after.intent is before.intent
    assert after.assume_nothing


def test_a_part_that_is_not_there_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError):
        with_value(circuit_of(BOARD), "R9", "1k")
