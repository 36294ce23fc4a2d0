"""Regulators out of regulation: what is left at their output, by hand."""

from __future__ import annotations

import pytest

from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import States
from boardvet.testing import circuit_of


def output(dropout: str, load: str, volts: str = "4 V") -> tuple[float, bool]:
    """Return the output voltage of a 3.3 V type on a cell without resistance, and if it holds."""
    circuit = circuit_of(
        "\n".join(
            (
                "BT1 cell/holder + VBAT - GND",
                f"~ cell: {{part: BT1, type: LiPo, voltage: {volts} at 0 % and {volts} at 100 %,"
                " resistance: 0 ohm at 0 % and 0 ohm at 100 %}",
                f"U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = dropout {dropout}",
                "U2 mcu VCC+ VCC GND- GND",
                f"~ pattern: [{{part: U2, current: {load}}}]",
            )
        )
    )
    amperes = float(load.split()[0]) * 1e-3
    meeting = Meeting(frozenset(), (("U2", amperes),), 1.0, float("inf"))
    done = circuit.view(Running).at(circuit.view(States).main, meeting)
    return done.voltage("VCC")[0], bool(done.regulators["U1"].regulating[0])


@pytest.mark.parametrize(
    ("dropout", "load", "expected"),
    [
        ("350 mV at 100 mA", "100 mA", 3.3),  # 0.7 V are there, 0.35 V are needed
        ("1.4 V at 100 mA", "60 mA", 3.16),  # 14 ohm · 60 mA = 0.84 V
        ("1.1 V at 100 mA and 1.3 V at 800 mA", "10 mA", 2.9257),  # 1.1 V − 90 mA · 0.2 V / 0.7 A
        ("1.1 V at 100 mA and 1.3 V at 800 mA", "450 mA", 2.8),  # half way: 1.2 V
    ],
)
def test_the_output_is_the_input_less_the_drop_out(
    dropout: str, load: str, expected: float
) -> None:
    """By hand beside each case; the cell shows 4 V and has no resistance."""
    volts, _ = output(dropout, load)
    assert volts == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("volts", "holds"), [("4.38 V", True), ("4.37 V", False)])
def test_a_bipolar_type_regulates_from_its_own_drop_out(volts: str, holds: bool) -> None:
    """By hand: 3.3 V + 1.0743 V at 10 mA = 4.3743 V."""
    assert output("1.1 V at 100 mA and 1.3 V at 800 mA", "10 mA", volts)[1] is holds
