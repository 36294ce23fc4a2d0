"""How long a cell lasts at a given current: hand sums, laws, and limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.discharge import elapsed, first_below, mean_until, time_until
from boardvet.physics.elements import Floats

WHOLE = np.linspace(0.0, 1.0, 21)
"""Shares of the charge in steps of 5 %, as boards are solved at."""

CURRENTS = st.lists(st.floats(1e-7, 1.0), min_size=21, max_size=21).map(np.array)
CHARGE = st.floats(1.0, 1e5)
SHARE = st.floats(0.0, 1.0)


def fading(used: Floats, times: float = 1e3) -> Floats:
    """Return a current that falls from 10 mA to so small a part of it, equally in each share."""
    return np.asarray(10e-3 * np.exp(-math.log(times) * used))


# Hand sums


def test_a_steady_current_takes_the_charge_over_the_current() -> None:
    """By hand: 225 mAh / 3 mA = 75 h."""
    times = elapsed(WHOLE, np.full(21, 3e-3), 225e-3 * 3600)

    assert times[-1] / 3600 == pytest.approx(75.0)
    assert times[7] / 3600 == pytest.approx(0.35 * 75.0)


def test_48_mah_at_500_na_are_96_000_hours() -> None:
    """Maxim, "Design considerations for Dallas real-time clocks", Ex. 1; 48 mAh / 0.5 µA."""
    times = elapsed(WHOLE, np.full(21, 500e-9), 48e-3 * 3600)

    assert times[-1] / 3600 == pytest.approx(96_000)


@pytest.mark.parametrize("steps", [2, 5, 20, 400])
def test_a_current_that_falls_in_a_straight_line_is_exact_in_any_steps(steps: int) -> None:
    """By hand: from 10 to 7 mA, Q · ln(10 / 7) / 3 mA, the logarithmic mean."""
    used = np.linspace(0.0, 1.0, steps + 1)
    times = elapsed(used, 10e-3 - 3e-3 * used, 1000.0)

    assert times[-1] == pytest.approx(1000.0 * math.log(10 / 7) / 3e-3, rel=1e-9)


@pytest.mark.parametrize("times", [2.0, 1e3, 1e6, 1e12])
def test_a_current_that_fades_is_exact_in_20_steps(times: float) -> None:
    """By hand: the integral of exp(k·u) / I is (exp(k) − 1) / (k · I), k = ln(times)."""
    exact = 1000.0 * (times - 1.0) / (math.log(times) * 10e-3)

    assert elapsed(WHOLE, fading(WHOLE, times), 1000.0)[-1] == pytest.approx(exact, rel=5e-3)


@pytest.mark.parametrize("stop", [0.93, 0.975, 0.999])
def test_the_end_of_a_current_that_fades_may_lie_between_two_shares(stop: float) -> None:
    """To a millionth: it halves in each share, and the time that the charge takes doubles."""
    exact = 1000.0 * (1e6**stop - 1.0) / (math.log(1e6) * 10e-3)
    times = elapsed(WHOLE, fading(WHOLE, 1e6), 1000.0)

    assert float(time_until(WHOLE, times, stop)) == pytest.approx(exact, rel=5e-3)


def test_the_mean_current_is_the_charge_over_the_time_not_the_mean_over_the_charge() -> None:
    """By hand: 0.8 Q in Q · ∫du/I. The mean over the charge would be 5 times as much."""
    drawn = fading(WHOLE)
    took = 1000.0 * (1e3**0.8 - 1.0) / (math.log(1e3) * 10e-3)

    assert mean_until(WHOLE, drawn, drawn, 0.8) == pytest.approx(800.0 / took, rel=1e-3)
    assert drawn[:17].mean() > 4.5 * 800.0 / took


def test_two_consumers_share_the_mean_current() -> None:
    """A steady 1 mA beside what fades: 1 mA in the mean, and the rest is the other's."""
    steady, other = np.full(21, 1e-3), fading(WHOLE)
    both = steady + other
    means = mean_until(WHOLE, both, np.stack([steady, other, both]), 0.7)

    assert means[0] == pytest.approx(1e-3, rel=2e-3)
    assert means[0] + means[1] == pytest.approx(means[2])


def test_a_voltage_first_falls_below_a_limit_between_two_shares() -> None:
    """By hand: 2.70 V at 30 %, 2.50 V at 35 %: 2.65 V at 31.25 %; a recovery counts no more."""
    volts = np.interp(WHOLE, [0.0, 0.3, 0.35, 0.4, 1.0], [3.0, 2.7, 2.5, 2.9, 2.0])

    assert float(first_below(WHOLE, volts, 2.65)) == pytest.approx(0.3125)


# Laws


@given(CURRENTS, CHARGE, st.floats(1e-3, 1e3))
def test_law_a_current_k_times_as_large_takes_a_kth_of_the_time(
    current: Floats, charge: float, k: float
) -> None:
    """To a thousandth: just at the factor that tells what fades, rounding may tip it over."""
    times, faster = elapsed(WHOLE, current, charge), elapsed(WHOLE, k * current, charge)

    assert faster * k == pytest.approx(times, rel=2e-3)


@given(CURRENTS, CHARGE, st.floats(1.001, 100.0))
def test_law_time_rises_with_the_capacity(current: Floats, charge: float, more: float) -> None:
    times, longer = elapsed(WHOLE, current, charge), elapsed(WHOLE, current, more * charge)

    assert longer == pytest.approx(more * times)


@given(st.floats(1e-6, 0.1), st.floats(0.67, 1.5), SHARE, CHARGE)
def test_law_points_added_on_a_straight_line_change_nothing(
    first: float, ratio: float, at: float, charge: float
) -> None:
    def line(used: Floats) -> Floats:
        return np.asarray(first + (ratio - 1.0) * first * used)

    coarse, fine = np.array([0.0, 1.0]), np.unique(np.append(WHOLE, round(at, 9)))
    exact = elapsed(coarse, line(coarse), charge)[-1]

    assert elapsed(fine, line(fine), charge)[-1] == pytest.approx(exact, rel=1e-4)


@given(CURRENTS, CHARGE)
def test_law_a_stretch_takes_no_less_than_at_its_most_current(
    current: Floats, charge: float
) -> None:
    """And no more than at its least: what is put between two shares never leaves their range."""
    steps = np.diff(elapsed(WHOLE, current, charge))
    most, least = (which(current[:-1], current[1:]) for which in (np.maximum, np.minimum))

    assert (steps >= charge * 0.05 / most * (1 - 1e-9)).all()
    assert (steps <= charge * 0.05 / least * (1 + 1e-9)).all()


@given(CURRENTS, CHARGE, SHARE, SHARE)
def test_law_more_charge_takes_more_time(
    current: Floats, charge: float, one: float, other: float
) -> None:
    times = elapsed(WHOLE, current, charge)
    early, late = sorted((one, other))
    before, after = time_until(WHOLE, times, early), time_until(WHOLE, times, late)

    assert before <= after * (1 + 1e-9)


@given(CURRENTS, CHARGE)
def test_law_the_mean_of_all_is_the_charge_over_the_time(current: Floats, charge: float) -> None:
    took = elapsed(WHOLE, current, charge)[-1]

    assert mean_until(WHOLE, current, current, 1.0) == pytest.approx(charge / took)


@given(st.lists(CURRENTS, min_size=2, max_size=4), CHARGE)
def test_law_boards_of_a_batch_do_not_know_each_other(
    currents: list[Floats], charge: float
) -> None:
    together = elapsed(WHOLE, np.stack(currents), charge)
    stops = np.linspace(0.1, 0.9, len(currents))
    ends = time_until(WHOLE, together, stops)

    for row, current in enumerate(currents):
        alone = elapsed(WHOLE, current, charge)
        assert together[row] == pytest.approx(alone)
        assert ends[row] == pytest.approx(float(time_until(WHOLE, alone, stops[row])))


# Limits


def test_nothing_drawn_lasts_for_ever() -> None:
    times = elapsed(WHOLE, np.zeros(21), 1000.0)

    assert times[0] == 0.0
    assert np.isinf(times[1:]).all()
    assert math.isinf(time_until(WHOLE, times, 1.0))
    assert mean_until(WHOLE, np.zeros(21), np.zeros(21), 1.0) == 0.0


def test_what_goes_out_for_good_on_the_way_lasts_for_ever_from_there() -> None:
    drawn = np.where(WHOLE < 0.5, 10e-3, 0.0)
    times = elapsed(WHOLE, drawn, 1000.0)

    assert float(time_until(WHOLE, times, 0.45)) == pytest.approx(45_000)
    assert math.isinf(time_until(WHOLE, times, 0.6))


def test_a_stop_at_the_beginning_takes_no_time_and_keeps_the_current() -> None:
    drawn = fading(WHOLE)

    assert float(time_until(WHOLE, elapsed(WHOLE, drawn, 1000.0), 0.0)) == 0.0
    assert mean_until(WHOLE, drawn, drawn, 0.0) == 10e-3


def test_a_voltage_that_is_low_from_the_beginning_is_below_at_once() -> None:
    assert first_below(WHOLE, np.full(21, 1.0), 2.0) == 0.0


def test_a_voltage_that_never_falls_is_never_below() -> None:
    assert math.isinf(first_below(WHOLE, np.full(21, 2.0), 2.0))


@pytest.mark.parametrize(
    ("used", "current", "capacity", "named"),
    [
        pytest.param([0.0, 0.5, 0.4], [1.0] * 3, 1.0, "used", id="shares that fall"),
        pytest.param([0.0, 0.5, 0.5], [1.0] * 3, 1.0, "used", id="a share that stands twice"),
        pytest.param([0.0], [1.0], 1.0, "used", id="one share alone"),
        pytest.param([0.0, math.nan], [1.0] * 2, 1.0, "used", id="a share that is no number"),
        pytest.param([0.0, 1.0], [1.0, -1e-9], 1.0, "current", id="a negative current"),
        pytest.param([0.0, 1.0], [1.0, math.nan], 1.0, "current", id="no number as current"),
        pytest.param([0.0, 1.0], [1.0, math.inf], 1.0, "current", id="an infinite current"),
        pytest.param([0.0, 1.0], [1.0] * 2, 0.0, "capacity", id="no charge at all"),
        pytest.param([0.0, 1.0], [1.0] * 2, math.nan, "capacity", id="no number as charge"),
    ],
)
def test_what_cannot_be_is_refused_by_name(
    used: list[float], current: list[float], capacity: float, named: str
) -> None:
    with pytest.raises(PhysicsDomainError) as refused:
        elapsed(np.array(used), np.array(current), capacity)
    assert refused.value.name == named
