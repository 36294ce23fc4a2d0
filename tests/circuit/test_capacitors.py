"""Capacitors: what they are made of and the voltage across them."""

from __future__ import annotations

import pytest

from boardvet.circuit.capacitors import (
    Capacitor,
    Capacitors,
    HighestRail,
    Technology,
    series_resistance,
)
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3 V at 0 % and 2 V at 100 %, resistance: 12 ohm}\n"
)


def technology(part: str, *more: str) -> Technology:
    circuit = circuit_of("\n".join((CELL, part, *more)))
    return circuit.view(Capacitors).of_part["C1"].technology


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("C1 100n VBAT GND", Technology.CERAMIC),
        ("C1 22u @C_0805 VBAT GND", Technology.CERAMIC),
        ("C1 22u VBAT GND", Technology.UNKNOWN),
        ("C1 22u VBAT GND = dielectric X5R", Technology.CERAMIC),
        ("C1 1u VBAT GND = dielectric tantalum", Technology.TANTALUM),
        ("C1 1u VBAT GND = dielectric tantalum polymer", Technology.POLYMER),
        ("C1 1u VBAT GND = dielectric supercapacitor", Technology.SUPERCAPACITOR),
        ("C1 47u @CP_B_3528 VBAT GND", Technology.POLARISED),
        ("C1 47u @C_B_3528 VBAT GND", Technology.POLARISED),
        ("C1 47u @Unpolarized_0603 VBAT GND", Technology.CERAMIC),
        ("C1 47u @CP_Elec_4x5.4 VBAT GND", Technology.ALUMINIUM),
        ("C1 47u @CP_Radial_D5.0mm VBAT GND", Technology.ALUMINIUM),
    ],
)
def test_what_it_is_made_of_is_told_by_word_case_and_size(part: str, expected: Technology) -> None:
    assert technology(part) is expected


def test_a_line_of_the_bom_tells_it_too() -> None:
    assert technology("C1 10u VBAT GND", "$ C1 TAJA106K010R") is Technology.TANTALUM


def across(part: str, more: str = "") -> tuple[float, float] | None:
    circuit = circuit_of(f"{CELL}{more}\n{part}")
    worst = circuit.view(Capacitors).of_part["C1"].worst(circuit)
    return (worst.typical, worst.highest) if worst else None


def test_the_voltage_is_the_highest_of_the_cell_s_life() -> None:
    assert across("C1 1u VBAT GND") == pytest.approx((3.0, 3.0), rel=0.13)
    assert across("C1 1u GND VBAT") == across("C1 1u VBAT GND")


def test_between_signals_no_voltage_is_known() -> None:
    assert across("C1 1u A B") is None
    assert across("C1 1u VBAT B") is None


def test_of_all_states_the_worst_counts() -> None:
    source = "J1 connector 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}"
    more = f"{source}\nSW1 switch VIN VBAT"

    found = across("C1 1u VIN GND", more)
    assert found is not None
    assert found[1] == pytest.approx(5.0)


def test_the_highest_rail_of_the_board_is_a_bound() -> None:
    more = "J1 connector 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"

    assert circuit_of(CELL + more).view(HighestRail).volts == pytest.approx(5.0)
    assert circuit_of("R1 1k A GND").view(HighestRail).volts is None


def test_resistance_towards_the_source_is_that_of_cell_and_resistors() -> None:
    """12 Ω of the cell and 22 Ω on the way."""
    circuit = circuit_of(CELL + "R1 22 VBAT VF\nC1 1u VF GND\nU1 mcu VCC+ VF GND- GND")
    worst = circuit.view(Capacitors).of_part["C1"].worst(circuit)

    assert worst is not None
    assert series_resistance(circuit, worst) == pytest.approx(34.0)


def test_every_fitted_capacitor_is_a_subject() -> None:
    circuit = circuit_of(CELL + "C1 1u VBAT GND\nC2? 1u VBAT GND\nC3 1u A B")

    assert [c.label for c in Capacitor.on(circuit)] == ["C1", "C3"]
