"""Reservoirs: which capacitors count, what bias leaves of them, and their own resistance."""

from __future__ import annotations

import pytest

from boardvet.circuit.reservoirs import Reservoir, Reservoirs, cell_ohms
from boardvet.circuit.states import States
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

BOARD = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR2032, voltage: 3.0 V, resistance: 10 ohm at 0 % and 60 ohm at 100 %}
U1 sensor VDD+ VDD GND- GND = sleep_current 1 uA = supply 1.8 to 3.6 V
R1 22 VBAT VDD
R2 10k LONE GND
"""


def found(*parts: str, nodes: tuple[str, ...] = ("VBAT", "VDD")) -> dict[str, Reservoir]:
    circuit = circuit_of(BOARD + "\n".join(parts))
    reservoirs = circuit.view(Reservoirs).in_state(circuit.view(States).main, frozenset(nodes))
    return {each.capacitor.reference: each for each in reservoirs}


def test_capacitors_between_the_nodes_asked_for_and_ground_count() -> None:
    capacitors = found(
        "C1 10u/16V VBAT GND", "C2 10u/16V VDD GND", "C3 10u/16V LONE GND", "C4 10u/16V VBAT VDD"
    )

    assert set(capacitors) == {"C1", "C2", "C4"}


@pytest.mark.parametrize("part", ["C1 C VBAT GND", "C1? 10u/16V VBAT GND", "C1 10u/16V VBAT ."])
def test_one_without_a_value_not_fitted_or_open_does_not_count(part: str) -> None:
    assert not found(part)


def test_a_tantalum_capacitor_keeps_what_it_has() -> None:
    (only,) = found("C1 100u/6.3V VBAT GND = dielectric tantalum").values()

    assert only.capacitance.value == pytest.approx(100e-6)
    assert not only.capacitance.source.startswith("assumed")


def test_a_ceramic_one_loses_by_the_curve_over_its_voltage_and_rating() -> None:
    """Of the curve: 1/(1 + 1.5 · (3 V / 10 V)²) = 88 % where its case is not known."""
    (only,) = found("C1 10u/10V VBAT GND = dielectric X7R").values()

    assert only.capacitance.value == pytest.approx(10e-6 / (1 + 1.5 * 0.3**2), rel=1e-6)
    assert only.capacitance.source.startswith("assumed")


def test_bias_is_that_of_the_node_behind_a_resistor_too() -> None:
    capacitors = found("C1 10u/6.3V VBAT GND", "C2 10u/6.3V VDD GND")

    assert capacitors["C1"].capacitance.value == pytest.approx(
        capacitors["C2"].capacitance.value, rel=0.01
    )


def test_a_class_1_ceramic_keeps_what_it_has() -> None:
    (only,) = found("C1 100n/16V VBAT GND = dielectric C0G").values()

    assert only.capacitance.value == pytest.approx(100e-9)


def test_one_without_a_rating_counts_as_of_10_v() -> None:
    unrated, rated = found("C1 10u VBAT GND", "C2 10u/10V VBAT GND").values()

    assert unrated.capacitance.value == pytest.approx(rated.capacitance.value)


def test_a_stated_resistance_counts_before_the_usual_one() -> None:
    stated, usual = found(
        "C1 100u/6.3V VBAT GND = dielectric tantalum = series_resistance 0.3 ohm",
        "C2 100u/6.3V VBAT GND = dielectric tantalum",
    ).values()

    assert stated.series_resistance.value == pytest.approx(0.3)
    assert usual.series_resistance.source.startswith("assumed: usual for tantalum")


@pytest.mark.parametrize(
    ("made_of", "lower_than"), [("X5R", "tantalum"), ("polymer", "tantalum"), ("X5R", "aluminium")]
)
def test_ceramic_and_polymer_ones_have_less_resistance_than_others(
    made_of: str, lower_than: str
) -> None:
    one, other = found(
        f"C1 100u/10V VBAT GND = dielectric {made_of}",
        f"C2 100u/10V VBAT GND = dielectric {lower_than}",
    ).values()

    assert one.series_resistance.value < 0.2 * other.series_resistance.value


def test_where_nothing_may_be_assumed_the_loss_is_asked_for() -> None:
    circuit = circuit_of(f"{BOARD}C1 10u VBAT GND = dielectric X5R", assume_nothing=True)
    with pytest.raises(MissingFact) as missing:
        circuit.view(Reservoirs).in_state(circuit.view(States).main, frozenset({"VBAT"}))
    assert missing.value.of == "C1"


def test_the_largest_resistance_of_the_cell_is_that_of_the_empty_one_in_the_cold() -> None:
    """5 times at −40 °C (a maker measured 4 to 6, zufek.com): 300 ohm of the 60."""
    circuit = circuit_of(BOARD)

    assert cell_ohms(circuit, circuit.view(States).main) == pytest.approx(300.0)
