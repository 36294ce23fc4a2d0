"""What capacitors of a board keep under bias."""

from __future__ import annotations

import pytest

from boardvet.circuit.bias import dielectric_of, kept, least_kept
from boardvet.circuit.capacitors import Capacitors
from boardvet.circuit.handle import Circuit
from boardvet.errors import MissingFact
from boardvet.physics.bias import Dielectric, capacitance_kept
from boardvet.testing import circuit_of


def of(line: str, **how: bool) -> tuple[Circuit, float | Dielectric | None]:
    circuit = circuit_of(f"{line}\nBT1 CR2032 V GND", **how)
    return circuit, dielectric_of(circuit, circuit.view(Capacitors).of_part["C1"])


def share(line: str, volts: float, unrated: float | None = None) -> float:
    circuit, _ = of(line)
    return kept(circuit, circuit.view(Capacitors).of_part["C1"], volts, unrated=unrated).value


@pytest.mark.parametrize(
    ("text", "dielectric"),
    [
        ("C1 10u/10V/X5R V GND", Dielectric.FERROELECTRIC),
        ("C1 1u/16V @C0603 V GND", Dielectric.FERROELECTRIC),
        ("C1 1n/50V/C0G V GND", Dielectric.STABLE),
        ("C1 10u/10V/Y5V V GND", Dielectric.STRONG),
        ("C1 47u/10V V GND = dielectric tantalum", None),
    ],
)
def test_the_class_is_read(text: str, dielectric: Dielectric | None) -> None:
    assert of(text)[1] is dielectric


def test_value_rating_and_case_of_the_board_go_in() -> None:
    expected = capacitance_kept(3.3, 10.0, capacitance=10e-6, case="0805")

    assert share("C1 10u/10V/X5R @C0805 V GND", 3.3) == pytest.approx(expected)


def test_the_case_may_come_from_the_bom() -> None:
    expected = capacitance_kept(3.3, 10.0, capacitance=10e-6, case="0805")

    assert share("C1 10u/10V/X5R V GND\n$ C1 10u @0805", 3.3) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["C1 47u/10V V GND = dielectric tantalum", "C1 1n/C0G V GND"])
def test_what_has_no_bias_needs_no_rating(text: str) -> None:
    assert share(text, 5.0) == 1.0


def test_an_unknown_rating_ends_the_subject() -> None:
    with pytest.raises(MissingFact) as missing:
        share("C1 10u/X5R V GND", 3.3)

    assert missing.value.key == "voltage_rating"


def test_a_rating_may_stand_in_and_is_said() -> None:
    circuit, _ = of("C1 10u/X5R @C0805 V GND")
    capacitor = circuit.view(Capacitors).of_part["C1"]
    with circuit.noting() as noted:
        found = kept(circuit, capacitor, 3.3, unrated=6.3)

    assert found.assumed
    assert "voltage_rating of C1" in noted
    assert found.value == pytest.approx(capacitance_kept(3.3, 6.3, capacitance=10e-6, case="0805"))


def test_nothing_stands_in_where_nothing_may_be_assumed() -> None:
    circuit, _ = of("C1 10u/X5R V GND", assume_nothing=True)
    with pytest.raises(MissingFact, match="voltage rating"):
        kept(circuit, circuit.view(Capacitors).of_part["C1"], 3.3, unrated=6.3)


def test_the_curve_itself_is_an_assumption() -> None:
    circuit, _ = of("C1 10u/10V/X5R V GND", assume_nothing=True)
    with pytest.raises(MissingFact, match="only assumed"):
        kept(circuit, circuit.view(Capacitors).of_part["C1"], 3.3)


@pytest.mark.parametrize("rated", [4, 6.3, 10, 16, 25, 50])
@pytest.mark.parametrize("what", ["10u/{}V/X5R @C0805", "1u/{}V/X7R @C0402", "22u/{}V/Y5V"])
def test_the_least_needs_no_rating_and_no_rating_keeps_less(rated: float, what: str) -> None:
    circuit, _ = of(f"C1 {what.format(rated)} V GND")
    capacitor = circuit.view(Capacitors).of_part["C1"]

    assert least_kept(circuit, capacitor, 3.3) <= kept(circuit, capacitor, 3.3).value


def test_the_least_of_what_has_no_bias_is_all() -> None:
    circuit, _ = of("C1 47u V GND = dielectric tantalum")

    assert least_kept(circuit, circuit.view(Capacitors).of_part["C1"], 3.3) == 1.0
