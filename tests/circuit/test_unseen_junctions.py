"""Forward voltages that no light has: asked for again, never a rule that breaks."""

from __future__ import annotations

import pytest

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.junctions import junction_of
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of


@pytest.mark.parametrize(
    "stated",
    [
        "0 V at 1 mA",
        "1.9 V at 0 mA",
        "1000 V at 1 nA",
        "2.1 V at 1 mA and 1.7 V at 10 mA",
    ],
)
def test_a_forward_voltage_that_cannot_be_is_asked_for_again(stated: str) -> None:
    circuit = circuit_of(f"D1 led A GND = colour red = forward_voltage {stated}")
    (light,) = circuit.view(Elements).of_kind(ElementKind.LED)
    with pytest.raises(MissingFact) as caught:
        junction_of(circuit, light)
    assert caught.value.of == "D1"
    assert "forward_voltage" in caught.value.how
