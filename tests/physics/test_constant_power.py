"""Constant power on a cell: hand sums, the edges, small steps, and what must hold for all."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.constant_power import (
    constant_power_voltage,
    largest_power,
    settled_low,
    time_to_fall,
)

VOLTS = st.floats(0.1, 30.0)
OHMS = st.floats(1e-2, 1e4)
WATTS = st.floats(1e-6, 10.0)


def test_the_most_power_is_at_half_of_the_voltage() -> None:
    """By hand: 3 V behind 15 Ω: 1.5 V · 1.5 V / 15 Ω = 150 mW."""
    assert largest_power(3.0, 15.0) == pytest.approx(0.15)
    assert constant_power_voltage(3.0, 15.0, 0.15) == pytest.approx(1.5, abs=1e-6)
    assert constant_power_voltage(3.0, 15.0, 0.1501) is None


def test_a_source_without_resistance_gives_anything() -> None:
    assert largest_power(3.0, 0.0) == math.inf
    assert largest_power(0.0, 0.0) == 0.0
    assert constant_power_voltage(3.0, 0.0, 100.0) == 3.0


@given(VOLTS, OHMS, st.floats(0.0, 1.0))
@example(3.0, 15.0, 0.84)
def test_power_balances_where_it_stands(source: float, ohms: float, part: float) -> None:
    """Ohm's law and V·I: what the source gives at that voltage is the power asked for."""
    power = part * largest_power(source, ohms)
    volts = constant_power_voltage(source, ohms, power)
    assume(volts is not None)  # at all of it rounding decides
    assert volts is not None
    assert volts >= source / 2
    assert volts * (source - volts) / ohms == pytest.approx(power, rel=1e-6, abs=1e-12)


@given(VOLTS, OHMS, st.floats(1.001, 100.0))
def test_more_than_the_most_never_stands(source: float, ohms: float, factor: float) -> None:
    assert constant_power_voltage(source, ohms, factor * largest_power(source, ohms)) is None


# A capacitor beside the source.


def test_a_capacitor_alone_gives_its_energy() -> None:
    """By hand: ½ · 100 µF · (9 − 4) V² = 250 µJ; at 25 mW they last 10 ms."""
    assert time_to_fall(3.0, 1e9, 100e-6, 25e-3, 2.0) == pytest.approx(10e-3, rel=1e-4)


def test_without_a_capacitor_it_falls_at_once_or_never() -> None:
    """By hand: 126 mW on 3 V behind 15 Ω stands at 2.1 V."""
    assert time_to_fall(3.0, 15.0, 0.0, 0.126, 2.2) == 0.0
    assert time_to_fall(3.0, 15.0, 0.0, 0.126, 2.09) == math.inf
    assert time_to_fall(3.0, 15.0, 1e-3, 0.126, 3.0) == 0.0


@pytest.mark.parametrize("power", [0.12, 0.1499999, 0.15, 0.1500001, 0.3, 2.0])
def test_the_time_agrees_with_small_steps(power: float) -> None:
    """Runge and Kutta's fourth order in steps of RC/10,000, a different way to the same number.

    3 V behind 15 Ω with 1 mF, down to 2.2 V, below, at and above the most power of 150 mW.
    """
    source, ohms, farads, to = 3.0, 15.0, 1e-3, 2.2
    step = ohms * farads / 10_000

    def slope(volts: float) -> float:
        return ((source - volts) / ohms - power / volts) / farads

    volts, passed = source, 0.0
    while volts > to:
        before = volts
        one = slope(volts)
        two = slope(volts + step / 2 * one)
        three = slope(volts + step / 2 * two)
        four = slope(volts + step * three)
        volts += step / 6 * (one + 2 * two + 2 * three + four)
        passed += step
    passed -= step * (to - volts) / (before - volts)
    assert time_to_fall(source, ohms, farads, power, to) == pytest.approx(passed, rel=1e-5)


@given(VOLTS, OHMS, st.floats(1e-7, 1e-1), WATTS, st.floats(0.05, 0.99))
@example(0.1, 0.05000000000000001, 0.0625, 0.05000000000000001, 0.25)
def test_the_source_only_helps(v0: float, ohms: float, farads: float, p: float, s: float) -> None:
    """Energy: never sooner than from the capacitor alone."""
    alone = 0.5 * farads * v0 * v0 * (1.0 - s * s) / p
    product = ohms * p / (v0 * v0)
    assume(product < 1e5)  # beyond, the sum loses its digits and the source does not matter
    assert time_to_fall(v0, ohms, farads, p, s * v0) >= alone * (1 - 1e-6)


@given(VOLTS, OHMS, st.floats(1e-7, 1e-1), st.floats(0.01, 5.0), st.floats(0.05, 0.99))
def test_time_grows_with_the_capacitor(
    v0: float, ohms: float, farads: float, part: float, s: float
) -> None:
    power = part * largest_power(v0, ohms)
    once = time_to_fall(v0, ohms, farads, power, s * v0)
    assert time_to_fall(v0, ohms, 2 * farads, power, s * v0) == pytest.approx(2 * once)


def stepped_low(
    source: float, ohms: float, farads: float, power: float, duration: float, gap: float
) -> float:
    """The same by Runge and Kutta's fourth order, 60 pulses long."""

    def slope(volts: float, drawn: float) -> float:
        return ((source - volts) / ohms - drawn / volts) / farads

    def passed(volts: float, drawn: float, time: float) -> float:
        step = time / 200
        for _ in range(200):
            one = slope(volts, drawn)
            two = slope(volts + step / 2 * one, drawn)
            three = slope(volts + step / 2 * two, drawn)
            four = slope(volts + step * three, drawn)
            volts += step / 6 * (one + 2 * two + 2 * three + four)
        return volts

    volts, low = source, source
    for _ in range(60):
        low = passed(volts, power, duration)
        volts = passed(low, 0.0, gap)
    return low


@pytest.mark.parametrize(
    ("power", "duration", "gap"),
    [(0.25, 5e-3, 25e-3), (0.25, 5e-3, 0.2), (0.1, 5e-3, 5e-3), (0.14, 20e-3, 20e-3)],
)
def test_repeated_pulses_settle_where_small_steps_do(
    power: float, duration: float, gap: float
) -> None:
    """3 V behind 15 Ω with 1 mF, below and above the most power of 150 mW."""
    expected = stepped_low(3.0, 15.0, 1e-3, power, duration, gap)
    assert settled_low(3.0, 15.0, 1e-3, power, duration, gap) == pytest.approx(expected, rel=1e-5)


def test_pulses_that_take_more_than_comes_back_collapse() -> None:
    """By hand: 250 mW for 5 of 8 ms are 156 mW on average, and 150 mW is the most."""
    assert settled_low(3.0, 15.0, 1e-3, 0.25, 5e-3, 3e-3) is None
    assert settled_low(3.0, 15.0, 1e-3, 0.25, 1.0, math.inf) is None


@given(st.floats(0.01, 3.0), st.floats(1e-4, 0.1), st.floats(1e-4, 1.0))
def test_what_comes_seldom_is_what_comes_once(part: float, duration: float, gap: float) -> None:
    """Never lower than with shorter gaps, and for ever apart as low as `time_to_fall` says."""
    power = part * largest_power(3.0, 15.0)
    often = settled_low(3.0, 15.0, 1e-3, power, duration, gap)
    once = settled_low(3.0, 15.0, 1e-3, power, duration, math.inf)
    if once is None:
        assert often is None
        return
    assert often is None or often <= once + 1e-9
    if once < 2.999 and once > (constant_power_voltage(3.0, 15.0, power) or 0.0) + 1e-3:
        assert time_to_fall(3.0, 15.0, 1e-3, power, once) == pytest.approx(duration, rel=1e-3)


def test_a_voltage_above_the_source_is_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="to = "):
        time_to_fall(3.0, 10.0, 1e-6, 0.1, 3.1)


def test_a_source_without_voltage_and_a_gap_without_time_are_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="source_voltage = "):
        constant_power_voltage(0.0, 10.0, 0.1)
    with pytest.raises(PhysicsDomainError, match="gap = "):
        settled_low(3.0, 10.0, 1e-6, 0.1, 1e-3, 0.0)
