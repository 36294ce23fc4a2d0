"""Resistors of lights: answers printed elsewhere, redone by hand, and what must hold for all."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.heat import resistor_dissipation
from boardvet.physics.junction import LED_FAMILIES, Junction, junction_from_points
from boardvet.physics.led_resistor import (
    led_current,
    led_resistance,
    mean_led_current,
    resistance_for_mean,
    supply_for_current,
)

RED = junction_from_points([(1.75, 1e-3), (1.95, 10e-3)], LED_FAMILIES["red"])
NEARLY_IDEAL = Junction(1e-300, 0.1, 0.0)
"""Drops 0.1 · 25.865 mV · ln(I / 1e-300 A): 1.77 V at 10 mA, 6 mV less at 1 mA."""

SUPPLY = st.floats(0.0, 12.0)
OHMS = st.floats(1.0, 1e5)
AMPERES = st.floats(1e-6, 50e-3)


def test_course_answer_of_230_ohms() -> None:
    """Course answer, uonbi.ac.ke page: 6 V, 1.4 V, 20 mA: 230 Ω and 0.092 W.

    By hand: 4.6 V / 20 mA = 230 Ω; 4.6 V · 20 mA = 92 mW.
    """
    assert led_resistance(6.0, 1.4, 20e-3) == pytest.approx(230.0, rel=1e-12)
    assert resistor_dissipation(20e-3, 230.0) == pytest.approx(0.092, rel=1e-12)


@pytest.mark.parametrize(("supply", "ohms"), [(12.0, 2040.0), (9.0, 1440.0)])
def test_encyclopaedia_s_five_milliamperes(supply: float, ohms: float) -> None:
    """Encyclopaedia, "LED circuit": 1.8 V, 5 mA: 2040 Ω from 12 V and 1440 Ω from 9 V.

    By hand: 10.2 V / 5 mA; 7.2 V / 5 mA.
    """
    assert led_resistance(supply, 1.8, 5e-3) == pytest.approx(ohms, rel=1e-12)


def test_heat_of_the_exercise() -> None:
    """NPTEL, exercise LED-I: 12 V, 1.8 V, 15 mA: 0.153 W. By hand: 10.2 V · 15 mA = 153 mW."""
    ohms = led_resistance(12.0, 1.8, 15e-3)

    assert resistor_dissipation(15e-3, ohms) == pytest.approx(0.153, rel=1e-12)


def test_two_hundred_ohms_at_a_logic_supply() -> None:
    """napkincalc.com: 5 V, 2 V, 15 mA: 200 Ω, under 0.25 W. By hand: 3 V / 15 mA; 45 mW."""
    ohms = led_resistance(5.0, 2.0, 15e-3)

    assert ohms == pytest.approx(200.0, rel=1e-12)
    assert resistor_dissipation(15e-3, ohms) == pytest.approx(45e-3, rel=1e-12)


def test_what_else_is_in_series_is_taken_off() -> None:
    """By hand: (3.0 V − 2.0 V) / 10 mA = 100 Ω, of which a pin is 30 Ω."""
    assert led_resistance(3.0, 2.0, 10e-3, 30.0) == pytest.approx(70.0)


def test_current_between_two_stated_points() -> None:
    """1.75 V at 1 mA and 1.95 V at 10 mA with 105 Ω: 10 mA at 3.0 V, 1 mA at 1.855 V.

    By hand: 1.95 V + 10 mA · 105 Ω = 3.0 V; 1.75 V + 1 mA · 105 Ω = 1.855 V.
    """
    assert led_current(3.0, RED, 105.0) == pytest.approx(10e-3, rel=1e-9)
    assert led_current(1.855, RED, 105.0) == pytest.approx(1e-3, rel=1e-9)


def test_two_lights_in_series_drop_twice() -> None:
    """By hand: 2 · 1.95 V + 10 mA · 110 Ω = 5.0 V."""
    assert led_current(5.0, RED, 110.0, count=2) == pytest.approx(10e-3, rel=1e-9)
    assert supply_for_current(10e-3, RED, 110.0, count=2) == pytest.approx(5.0, rel=1e-9)


def test_mean_of_a_light_that_follows_its_supply_in_a_straight_line() -> None:
    """A light that drops all but exactly 1.77 V, behind 1 kΩ, from 3.77 V to 2.77 V.

    By hand: the current falls in a straight line from 2 mA to 1 mA, so its mean is 1.5 mA.
    """
    drop = 0.1 * 0.025865 * math.log(1.5e-3 / 1e-300)

    assert mean_led_current(drop + 1.0, drop + 2.0, NEARLY_IDEAL, 1000.0) == pytest.approx(
        1.5e-3, rel=2e-3
    )


@given(SUPPLY, OHMS)
@example(0.0, 1.0)
def test_current_and_supply_undo_each_other(supply: float, ohms: float) -> None:
    current = led_current(supply, RED, ohms)

    assert supply_for_current(current, RED, ohms) == pytest.approx(supply, abs=1e-9)


@given(st.floats(1.0, 12.0), OHMS, st.floats(1.01, 10.0))
def test_more_resistance_means_less_current(supply: float, ohms: float, more: float) -> None:
    assert led_current(supply, RED, ohms * more) < led_current(supply, RED, ohms)


@given(SUPPLY, st.floats(0.0, 3.0), OHMS)
def test_the_mean_lies_between_the_ends(low: float, fall: float, ohms: float) -> None:
    high = low + fall
    mean = mean_led_current(low, high, RED, ohms)
    slack = 1e-9 * led_current(high, RED, ohms) + 1e-15

    assert led_current(low, RED, ohms) - slack <= mean <= led_current(high, RED, ohms) + slack


@given(st.floats(2.2, 5.0), st.floats(0.0, 1.0), st.floats(0.1e-3, 5e-3))
def test_the_resistance_for_a_mean_gives_that_mean(low: float, fall: float, mean: float) -> None:
    ohms = resistance_for_mean(low, low + fall, RED, mean)

    assert mean_led_current(low, low + fall, RED, ohms) == pytest.approx(mean, rel=1e-6)


@given(st.floats(2.2, 12.0), st.floats(0.1, 2.0), AMPERES)
def test_the_resistor_takes_what_the_light_leaves(
    supply: float, drop: float, current: float
) -> None:
    """By energy and not by Ohm's law: what the supply gives less what the light takes."""
    heat = resistor_dissipation(current, led_resistance(supply, drop, current))

    assert heat == pytest.approx(supply * current - drop * current)


def test_no_supply_is_no_current() -> None:
    assert led_current(0.0, RED, 100.0) == pytest.approx(0.0, abs=1e-30)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: led_resistance(1.9, 2.0, 5e-3), "supply = 1.9 V, but it must be at least 2"),
        (lambda: led_resistance(3.0, 2.0, 10e-3, 101.0), "supply = 3.0 V.*at least 3.01"),
        (lambda: led_resistance(3.0, 2.0, 0.0), "current = 0.0 A"),
        (lambda: led_resistance(math.nan, 2.0, 1e-3), "supply = nan V"),
        (lambda: led_current(3.0, RED, -1.0), "resistance = -1.0 Ω"),
        (lambda: led_current(3.0, RED, 1.0, 0), "count"),
        (lambda: led_current(-1.0, RED, 1.0), "supply = -1.0 V"),
        (lambda: mean_led_current(3.0, 2.0, RED, 1.0), "highest"),
        (lambda: resistance_for_mean(1.0, 1.2, RED, 5e-3), "current = 0.005 A.*at most"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=name):
        call()
