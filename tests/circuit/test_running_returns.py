"""FETs between the minus of a cell and ground carry what the board takes. By Ohm's law."""

from __future__ import annotations

import pytest
from tests.circuit.at_work import running

CELL = (
    "BT1 cell/holder + VBAT - MINUS\n"
    "~ cell: {part: BT1, type: lithium-ion, voltage: 3.7 V at 0 %, resistance: 1 ohm}\n"
)
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 0 A\n"
PROTECTED = CELL + (
    "U6 battery-protector VCC+ VP GND- MINUS 3:OD> OD 4:OC> OC 5:CS CS\nR9 100 VBAT VP\n"
    "R8 1k CS GND\n"
    "Q3 fet/n 1:G OD 2:S MINUS 3:D MID = channel n = on_resistance 2 ohm at 3 V\n"
    "Q4 fet/n 1:G OC 2:S GND 3:D MID = channel n = on_resistance 3 ohm at 3 V\n"
)
REVERSED = CELL + "Q1 fet/n 1:G VBAT 2:S MINUS 3:D GND = channel n = on_resistance 5 ohm at 3 V\n"


def test_all_of_the_current_flows_through_the_fets_of_a_protection_ic() -> None:
    """100 mA through 1 Ω of the cell and 2 Ω and 3 Ω of the FETs: 3.7 V − 0.6 V on the board."""
    found = running(PROTECTED + MCU, draws={"U1": 0.1})

    assert found.cell_current("BT1")[0] == pytest.approx(0.1, rel=1e-3)
    assert found.voltage("MINUS")[0] == pytest.approx(-0.5, rel=1e-3)
    assert found.voltage("VBAT")[0] == pytest.approx(3.1, rel=1e-3)


def test_they_carry_it_behind_a_shunt_as_well() -> None:
    """0.5 Ω more: 3.7 V − 0.65 V."""
    shunt = PROTECTED.replace("2:S GND", "2:S SENSE") + "R1 0.5 SENSE GND\n"
    found = running(shunt + MCU, draws={"U1": 0.1})

    assert found.voltage("VBAT")[0] == pytest.approx(3.05, rel=1e-3)


def test_a_fet_against_a_reversed_cell_drops_its_resistance() -> None:
    """100 mA through 1 Ω and 5 Ω."""
    found = running(REVERSED + MCU, draws={"U1": 0.1})

    assert found.voltage("VBAT")[0] == pytest.approx(3.1, rel=1e-2)


def test_a_lamp_that_a_fet_switches_at_the_cell_s_own_minus_is_dark_unless_it_is_named() -> None:
    lamp = "Q5 fet/n 1:G P0 2:S MINUS 3:D N1 = channel n\nR5 100 VBAT N1\n"
    found = running(REVERSED + lamp + MCU)

    assert found.cell_current("BT1")[0] == pytest.approx(0.0, abs=1e-6)


def test_a_lamp_on_the_low_side_of_a_protected_board_is_dark_unless_it_is_named() -> None:
    lamp = "Q5 fet/n 1:G P0 2:S GND 3:D N1 = channel n\nR5 100 VBAT N1\n"
    found = running(REVERSED + lamp + MCU)

    assert found.cell_current("BT1")[0] == pytest.approx(0.0, abs=1e-6)
