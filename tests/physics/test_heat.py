"""Heat in resistors: worked examples from elsewhere, redone by hand, and the ends of the range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.heat import (
    derated_power,
    resistor_dissipation,
    smallest_rating,
    temperature_rise,
    working_voltage,
)

WATTS = st.floats(0, 10)
RATINGS = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)


def test_power_of_a_light_on_12_volts() -> None:
    """NPTEL, Light Emitting Diodes I, exercise: 12 V, 1.8 V, 15 mA -> 0.153 W.

    By hand: (12 − 1.8) V · 15 mA = 10.2 · 0.015 = 0.153 W; R = 10.2 / 0.015 = 680 Ω.
    """
    assert resistor_dissipation(0.015, 10.2 / 0.015) == pytest.approx(0.153, rel=1e-12)


def test_smallest_rating_of_a_course_answer() -> None:
    """University of Nairobi: 6 V, 1.4 V, 20 mA -> 230 Ω, 0.092 W, 1/8 W of five ratings.

    By hand: 4.6 V / 20 mA = 230 Ω; 4.6 · 0.02 = 0.092 W; 1/16 is less, 1/8 is more.
    """
    power = resistor_dissipation(0.02, 230.0)

    assert power == pytest.approx(0.092, rel=1e-12)
    assert smallest_rating(power, RATINGS) == 1 / 8


def test_the_power_of_a_printed_slip_is_not_taken_over() -> None:
    """NPTEL slide 10 prints 77.5 mW for 6 V, 1.5 V, 15 mA. By hand: 4.5 V · 15 mA = 67.5 mW."""
    assert resistor_dissipation(0.015, 300.0) == pytest.approx(67.5e-3)


@pytest.mark.parametrize(
    ("ambient", "share"), [(-40, 1), (25, 1), (70, 1), (87, 0.8), (112.5, 0.5), (155, 0), (200, 0)]
)
def test_the_rating_falls_from_70_to_155_degrees(ambient: float, share: float) -> None:
    """By hand: at 87 °C 68 K of 85 K are left, 0.8."""
    assert derated_power(0.1, ambient) == pytest.approx(0.1 * share)


def test_a_smaller_part_ends_at_125_degrees() -> None:
    """The 01005 of the Uni-Ohm sheet: by hand, at 97.5 °C half of 55 K are left."""
    assert derated_power(0.03, 97.5, none_from=125.0) == pytest.approx(0.015)


@given(WATTS, st.floats(-60, 200), st.floats(0, 50))
def test_warmer_air_never_allows_more(rated: float, ambient: float, warmer: float) -> None:
    assert derated_power(rated, ambient + warmer) <= derated_power(rated, ambient) <= rated


def test_working_voltage_is_limited_by_power_or_by_the_case() -> None:
    """By hand: √(0.1 W · 10 kΩ) = √1000 V = 31.6 V; at 1 MΩ the 75 V of an 0603 are less."""
    assert working_voltage(0.1, 10e3, 75.0) == pytest.approx(31.62, rel=1e-3)
    assert working_voltage(0.1, 1e6, 75.0) == 75.0


@given(WATTS, st.floats(0.001, 1e6))
def test_at_the_working_voltage_the_power_is_the_rating(rated: float, ohms: float) -> None:
    """A different way: V²/R."""
    assert working_voltage(rated, ohms, 1e9) ** 2 / ohms == pytest.approx(rated, abs=1e-12)


def test_rise_of_a_package() -> None:
    """Microchip DS22049E, section 6.3.1: 152.7 mW · 336 K/W = 51.3 K."""
    assert temperature_rise(152.7e-3, 336.0) == pytest.approx(51.3, abs=0.05)


def test_no_rating_is_enough() -> None:
    assert smallest_rating(1.01, RATINGS) is None
    assert smallest_rating(1.0, RATINGS) == 1.0


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_impossible_arguments_are_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match="resistance"):
        resistor_dissipation(1.0, bad)
    with pytest.raises(PhysicsDomainError, match="rated"):
        derated_power(bad, 25.0)
    with pytest.raises(PhysicsDomainError, match="power"):
        temperature_rise(bad, 100.0)
    with pytest.raises(PhysicsDomainError, match="thermal_resistance"):
        temperature_rise(1.0, bad)


def test_the_end_of_the_derating_lies_above_its_beginning() -> None:
    with pytest.raises(PhysicsDomainError):
        derated_power(0.1, 25.0, full_up_to=100.0, none_from=100.0)
