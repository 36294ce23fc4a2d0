"""Regulators: worked examples of makers, the edges, and what must hold for all."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.regulator import (
    converter_input_current,
    dropout_curve,
    dropout_voltage,
    junction_temperature,
    largest_dissipation,
    linear_dissipation,
    linear_efficiency,
    output_deviation,
    pulse_share,
)

VOLTS = st.floats(0.1, 30.0)
AMPERES = st.floats(0.0, 2.0)
OHMS = st.floats(1e-2, 1e4)
WATTS = st.floats(1e-6, 10.0)
SECONDS = st.floats(1e-6, 1e4)


# Drop-out.


def test_a_tps76733_needs_3_65_volts_at_its_rated_current() -> None:
    """TI SLVA079 s. 1: 3.3 V out, 350 mV at 1 A. By hand: 3.3 V + 0.35 V = 3.65 V."""
    assert 3.3 + dropout_voltage(((1.0, 0.35),), 1.0) == pytest.approx(3.65, rel=1e-12)


def test_a_mos_pass_element_drops_in_proportion() -> None:
    """TI SLVA079 s. 1: Vdo = Io·Ron. By hand: 0.35 Ω · 20 mA = 7 mV."""
    assert dropout_voltage(((1.0, 0.35),), 20e-3) == pytest.approx(7e-3, rel=1e-12)


def test_two_points_of_an_ap2112_lie_nearly_on_a_line_through_nothing() -> None:
    """Diodes DS39724 Rev 2-2: 5 mV at 10 mA, 250 mV at 600 mA.

    By hand: 245 mV / 590 mA = 0.41525 Ω; at 300 mA 5 mV + 290 mA · 0.41525 Ω = 125.42 mV; at
    nothing 5 mV − 4.15 mV = 0.85 mV.
    """
    points = ((10e-3, 5e-3), (600e-3, 250e-3))
    assert dropout_voltage(points, 300e-3) == pytest.approx(125.42e-3, abs=1e-5)
    assert dropout_voltage(points, 0.0) == pytest.approx(0.85e-3, abs=1e-5)
    assert dropout_voltage(points, 600e-3) == pytest.approx(250e-3, rel=1e-12)


def test_a_bipolar_pass_element_keeps_its_voltage_at_small_currents() -> None:
    """1.1 V at 100 mA and 1.3 V at 800 mA (AMS1117, from memory): 0.2 V / 0.7 A, 1.0714 V at 0."""
    assert dropout_voltage(((0.1, 1.1), (0.8, 1.3)), 0.0) == pytest.approx(1.0714, abs=1e-4)


def test_beyond_the_last_point_the_line_goes_on() -> None:
    """By hand: 0.1 V at 0.1 A, 0.3 V at 0.2 A: 2 V/A, so 0.5 V at 0.3 A and never below 0."""
    points = ((0.1, 0.1), (0.2, 0.3))
    assert dropout_voltage(points, 0.3) == pytest.approx(0.5)
    assert dropout_voltage(points, 0.0) == 0.0


@given(st.floats(1e-3, 1.0), st.floats(0.0, 2.0), AMPERES, AMPERES)
def test_one_point_is_a_resistance(at: float, volts: float, one: float, other: float) -> None:
    """Ohm's law: drop-outs at two currents add up to that at their sum."""
    points = ((at, volts),)
    both = dropout_voltage(points, one) + dropout_voltage(points, other)
    assert dropout_voltage(points, one + other) == pytest.approx(both, abs=1e-9)


@given(
    st.lists(st.tuples(st.integers(1, 1000), st.integers(0, 50)), min_size=1, max_size=5),
    st.floats(0.0, 3.0),
)
def test_lines_between_the_points_of_its_curve_give_every_drop_out(
    steps: list[tuple[int, int]], current: float
) -> None:
    """A different way to the same number, for drop-outs that rise less and less."""
    points: list[tuple[float, float]] = []
    at, volts = 0.0, 0.3 if len(steps) > 1 else 0.0
    for milliamperes, millivolts in sorted(steps, key=lambda step: -step[1] / step[0]):
        at, volts = at + milliamperes / 1e3, volts + millivolts / 1e3
        points.append((at, volts))
    curve = dropout_curve(tuple(points), 3.0)
    along, values = zip(*curve, strict=True)
    expected = dropout_voltage(tuple(points), current)
    assert np.interp(current, along, values) == pytest.approx(expected, abs=1e-9)


def test_a_curve_ends_where_it_is_asked_to() -> None:
    assert dropout_curve((), 1.0) == ()
    assert dropout_curve(((1.0, 0.35),), 0.0) == ((0.0, 0.0),)
    assert [at for at, _ in dropout_curve(((1.0, 0.35),), 0.5)] == [0.0, 0.5]


# Efficiency and heat of linear regulators.


@pytest.mark.parametrize(("supply", "expected"), [(4.5, 0.733), (4.0, 0.825)])
def test_efficiency_of_the_note_on_low_dropout_regulators(supply: float, expected: float) -> None:
    """TI SLVA079 s. 4: 3.3 V, 100 mA, 17 µA: 73.3 % from 4.5 V, 82.5 % from 4.0 V.

    By hand: 0.33 W / (100.017 mA · 4.5 V) = 0.33 / 0.4500765 = 0.73321; / 0.400068 = 0.82486.
    """
    assert linear_efficiency(supply, 3.3, 0.1, 17e-6) == pytest.approx(expected, abs=5e-4)


def test_dissipation_and_junction_of_an_mcp1703() -> None:
    """Microchip DS22049E s. 6.3.1: 4.8 V, 1.8 V − 3 %, 50 mA, 40 °C, 336 K/W: 152.7 mW, 91.3 °C.

    By hand: 4.8 V − 0.97 · 1.8 V = 3.054 V; · 50 mA = 152.7 mW; · 336 K/W = 51.31 K.
    """
    power = linear_dissipation(4.8, 0.97 * 1.8, 50e-3)
    assert power == pytest.approx(152.7e-3, rel=1e-9)
    assert power * 336 == pytest.approx(51.3, abs=0.05)
    assert junction_temperature(40.0, power, 336.0) == pytest.approx(91.3, abs=0.05)


@pytest.mark.parametrize(
    ("thermal_resistance", "expected"), [(336.0, 0.2530), (153.3, 0.5545), (62.9, 1.3514)]
)
def test_largest_dissipation_of_an_mcp1703(thermal_resistance: float, expected: float) -> None:
    """Microchip DS22049E s. 6.3.1: (125 − 40) K / θ, printed as 253 mW, 0.554 W and 1.35 W.

    By hand: 85 / 336 = 0.25298; 85 / 153.3 = 0.55447; 85 / 62.9 = 1.35135. The example takes
    62.9 K/W for the SOT-223; the table of the same sheet prints 62.
    """
    assert largest_dissipation(125.0, 40.0, thermal_resistance) == pytest.approx(
        expected, abs=5e-5
    )


def test_a_five_pin_sot23_of_the_note() -> None:
    """TI SLVA079 s. 12: 285 K/W. By hand: (125 − 55) K / 285 K/W = 245.6 mW."""
    assert largest_dissipation(125.0, 55.0, 285.0) == pytest.approx(0.2456, abs=5e-5)


def test_air_above_the_limit_leaves_no_power() -> None:
    assert largest_dissipation(125.0, 130.0, 100.0) == 0.0


def test_its_own_current_heats_a_regulator_too() -> None:
    """By hand: (12 − 5) V · 10 mA + 12 V · 5 mA = 70 mW + 60 mW."""
    assert linear_dissipation(12.0, 5.0, 10e-3, 5e-3) == pytest.approx(0.13, rel=1e-12)


def test_without_load_nothing_is_efficient_and_nothing_is_lost_but_its_own() -> None:
    assert linear_efficiency(5.0, 3.3, 0.0, 1e-6) == 0.0
    assert linear_dissipation(5.0, 3.3, 0.0, 0.0) == 0.0


@given(VOLTS, st.floats(0.0, 1.0), st.floats(1e-6, 2.0), st.floats(0.0, 1e-2))
def test_heat_is_what_efficiency_leaves(vi: float, part: float, io: float, iq: float) -> None:
    """Conservation of energy: in = out + heat, with efficiency from the other formula."""
    vo = part * vi
    heat = linear_dissipation(vi, vo, io, iq)
    taken = vi * (io + iq)
    assert taken * (1.0 - linear_efficiency(vi, vo, io, iq)) == pytest.approx(heat, abs=1e-9)


@given(st.floats(-40.0, 120.0), st.floats(0.5, 500.0), st.floats(121.0, 200.0))
def test_the_largest_dissipation_brings_the_junction_to_its_limit(
    ambient: float, theta: float, limit: float
) -> None:
    power = largest_dissipation(limit, ambient, theta)
    assert junction_temperature(ambient, power, theta) == pytest.approx(limit)


# Repeated pulses of heat.


def test_a_pulse_of_one_time_constant_warms_by_63_per_cent() -> None:
    """By hand: 1 − 1/e = 0.63212, when it comes alone."""
    assert pulse_share(1.0, math.inf, 1.0) == pytest.approx(0.63212, abs=1e-5)


def test_pulses_much_faster_than_the_part_warm_it_by_their_mean() -> None:
    """By hand: 1 ms of 10 ms is a tenth; the time constant of 1 s evens it out."""
    assert pulse_share(1e-3, 10e-3, 1.0) == pytest.approx(0.1, rel=0.01)


def test_pulses_much_slower_than_the_part_warm_it_fully() -> None:
    assert pulse_share(60.0, 600.0, 1.0) == pytest.approx(1.0, rel=1e-12)


@given(SECONDS, SECONDS, SECONDS)
def test_a_share_lies_between_the_duty_and_all(one: float, gap: float, tau: float) -> None:
    share = pulse_share(one, one + gap, tau)
    assert one / (one + gap) * (1 - 1e-9) <= share <= 1.0 + 1e-12


# Accuracy.


def test_accuracy_of_the_note_on_low_dropout_regulators() -> None:
    """TI SLVA079 s. 11: 3.3 V is good to 2.25 %.

    By hand: 33² + 27² + 41.2² = 1089 + 729 + 1697.44 = 3515.44, root 59.29 mV; with 5 mV and
    10 mV 74.29 mV; / 3.3 V = 2.251 %.
    """
    deviation = output_deviation([5e-3, 10e-3], [33e-3, 27e-3, 41.2e-3])
    assert deviation / 3.3 == pytest.approx(0.0225, abs=5e-5)


@given(st.lists(st.floats(0.0, 1.0), max_size=6), st.lists(st.floats(0.0, 1.0), max_size=6))
def test_random_deviations_add_to_no_more_than_their_sum(
    certain: list[float], random: list[float]
) -> None:
    """Triangle inequality; and not to less than the largest."""
    deviation = output_deviation(certain, random)
    assert deviation <= math.fsum(certain) + math.fsum(random) + 1e-9
    assert deviation >= math.fsum(certain) + max(random, default=0.0) - 1e-9


# Switching types.


def test_a_booster_draws_more_as_the_cell_falls() -> None:
    """By hand: 3.3 V · 20 mA / 0.8 = 82.5 mW; 55 mA from 1.5 V, 82.5 mA from 1.0 V."""
    assert converter_input_current(0.066, 0.8, 1.5) == pytest.approx(55e-3)
    assert converter_input_current(0.066, 0.8, 1.0) == pytest.approx(82.5e-3)


# What is refused.


@pytest.mark.parametrize("bad", [-1e-6, math.nan, math.inf])
def test_an_impossible_current_is_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match=r"current = .* A, but it must be"):
        dropout_voltage(((1.0, 0.35),), bad)


@pytest.mark.parametrize(
    "points", [(), ((0.0, 0.1),), ((0.2, 0.1), (0.1, 0.2)), ((0.1, -0.1),), ((math.nan, 0.1),)]
)
def test_points_that_are_none_are_refused(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(PhysicsDomainError, match="point"):
        dropout_voltage(points, 0.1)


def test_a_linear_regulator_never_raises_a_voltage() -> None:
    with pytest.raises(PhysicsDomainError, match="output_voltage"):
        linear_dissipation(3.0, 3.3, 0.1)
    with pytest.raises(PhysicsDomainError, match="output_voltage"):
        linear_efficiency(3.0, 3.3, 0.1, 0.0)


def test_no_converter_gives_more_than_it_takes() -> None:
    for efficiency in (0.0, 1.01, math.nan):
        with pytest.raises(PhysicsDomainError, match="efficiency"):
            converter_input_current(0.1, efficiency, 3.0)


def test_a_pulse_longer_than_its_period_is_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="duration"):
        pulse_share(2.0, 1.0, 1.0)


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="ambient"):
        junction_temperature(-300.0, 0.1, 100.0)
