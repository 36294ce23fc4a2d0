"""Charge, mean current and time: published examples redone by hand, and the common practice."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.energy import (
    charge_through,
    equivalent_capacitance,
    fault_current,
    mean_current,
    run_time,
)
from boardvet.physics.reservoir import Load

HOUR = 3600.0
MAH = 3.6


def test_a_clock_on_a_coin_cell() -> None:
    """Maxim/Dallas note on real-time clocks, example 1: 48 mAh at 500 nA, "about 10.9 years".

    By hand: 48e-3 / 500e-9 = 96 000 h; over 8760 h a year 10.96 years, over 8766 h 10.95.
    """
    hours = run_time(48 * MAH, 500e-9) / HOUR

    assert hours == pytest.approx(96_000)
    assert hours / 8760 == pytest.approx(10.959, abs=5e-4)
    assert hours / 8766 == pytest.approx(10.951, abs=5e-4)


def test_a_clock_that_works_a_twentieth_of_the_time() -> None:
    """Same note, example 2: 0.05 · 150 µA + 0.95 · 1.5 µA = 7.5 + 1.425 = 8.925 µA."""
    assert mean_current((Load(150e-6, 5.0), Load(1.5e-6, 95.0))) == pytest.approx(8.925e-6)


@pytest.mark.parametrize(("peak", "milliamperes"), [(30e-3, 0.400), (15e-3, 0.327)])
def test_mean_of_the_radio_load(peak: float, milliamperes: float) -> None:
    """TI SWRA349, Table 1: 8 mA 2 ms, the peak 1 ms, 8 mA 2 ms, 0.1 mA 200 ms.

    By hand: 16 + 30 + 16 + 20 = 82 µC in 205 ms are 0.4000 mA; with 15 mA 67 µC, 0.3268 mA.
    """
    steps = (Load(8e-3, 2e-3), Load(peak, 1e-3), Load(8e-3, 2e-3), Load(0.1e-3, 0.2))

    assert mean_current(steps) == pytest.approx(milliamperes * 1e-3, abs=0.5e-6)


def test_capacity_from_a_discharge_test() -> None:
    """FREI LR44: 800 h on 6.8 kΩ to 0.9 V, rated 145 mAh.

    By hand, at a mean of some 1.3 V: 0.1912 mA · 800 h = 152.9 mAh; the rated 145 mAh belong to a
    mean of 1.23 V.
    """
    assert charge_through(1.3, 6800.0, 800 * HOUR) / MAH == pytest.approx(152.9, abs=0.1)
    assert charge_through(1.2325, 6800.0, 800 * HOUR) / MAH == pytest.approx(145, abs=0.1)


@pytest.mark.parametrize(("milliampere_hours", "farads"), [(235, 846), (250, 900)])
def test_the_capacitor_that_a_coin_cell_is(milliampere_hours: float, farads: float) -> None:
    """By hand: 235 mAh · 3.6 C/mAh / 1 V; 250 mAh are the 900 F of common practice."""
    assert equivalent_capacitance(milliampere_hours * MAH, 3.0, 2.0) == pytest.approx(farads)


@pytest.mark.parametrize(
    ("duty", "shortest", "longest"), [(1.0, 4, 5), (0.1, 40, 50), (0.01, 400, 500)]
)
def test_five_lights_on_an_ideal_coin_cell(duty: float, shortest: float, longest: float) -> None:
    """Common practice, division only: five LEDs of 10 mA on 200 to 250 mAh."""
    current = mean_current((Load(5 * 10e-3, duty),), period=1.0)

    assert run_time(200 * MAH, current) / HOUR == pytest.approx(shortest)
    assert run_time(250 * MAH, current) / HOUR == pytest.approx(longest)


def test_what_a_bipolar_timer_takes_from_two_coin_cells() -> None:
    """225 mAh at 3 mA idle: 75 h."""
    assert run_time(225 * MAH, 3e-3) / HOUR == pytest.approx(75)


def test_a_fault_of_the_blocking_diode() -> None:
    """TI E2E 733036: (4.2 - 0.6 - 3.0) V / (15 + 10) Ω = 24 mA, under the 25 mA of makers."""
    assert fault_current(4.2, 0.6, 3.0, 25.0) == pytest.approx(24e-3)
    assert fault_current(3.0, 0.6, 3.0, 25.0) == 0.0


def test_self_discharge_shortens_the_time() -> None:
    """By hand: 100 mAh at 10 µA and 1 mAh lost in 1000 h (1 µA): 100 mAh / 11 µA = 9090.9 h."""
    loss = 0.01 / (1000 * HOUR)

    assert run_time(100 * MAH, 10e-6, loss) / HOUR == pytest.approx(9090.9, abs=0.1)
    assert run_time(100 * MAH, 0.0, loss) / HOUR == pytest.approx(100_000)


def test_nothing_drawn_lasts_for_ever_and_nothing_stored_does_not() -> None:
    assert run_time(100.0, 0.0) == math.inf
    assert run_time(0.0, 1e-3) == 0.0


@given(
    st.lists(
        st.tuples(st.floats(0, 1, allow_subnormal=False), st.floats(1e-3, 100)),
        min_size=1,
        max_size=8,
    )
)
def test_a_mean_lies_between_the_least_and_the_most(steps: list[tuple[float, float]]) -> None:
    mean = mean_current([Load(*step) for step in steps])
    currents = [current for current, _ in steps]

    assert min(currents) * (1 - 1e-12) <= mean <= max(currents) * (1 + 1e-12)


def test_steps_longer_than_their_period_are_refused() -> None:
    with pytest.raises(PhysicsDomainError, match=r"^period = 1.0 s, but it must be at least 2.0"):
        mean_current((Load(1e-3, 2.0),), period=1.0)
    assert mean_current((Load(1e-3, 1.0),), period=1.0) == pytest.approx(1e-3)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_impossible_arguments_are_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match=r"^capacity = "):
        run_time(bad, 1.0)
    with pytest.raises(PhysicsDomainError, match=r"^current = "):
        run_time(1.0, bad)
    with pytest.raises(PhysicsDomainError, match=r"^self_discharge = "):
        run_time(1.0, 1.0, bad)
    with pytest.raises(PhysicsDomainError, match=r"^current = "):
        mean_current((Load(bad, 1.0),))
    with pytest.raises(PhysicsDomainError, match=r"^duration = "):
        mean_current((Load(1.0, bad),))
    with pytest.raises(PhysicsDomainError, match=r"^resistance = "):
        charge_through(1.0, bad, 1.0)
    with pytest.raises(PhysicsDomainError, match=r"^drop = "):
        fault_current(4.2, bad, 3.0, 25.0)


def test_no_time_no_step_and_no_fall_are_refused() -> None:
    with pytest.raises(PhysicsDomainError, match=r"^period = "):
        mean_current(())
    with pytest.raises(PhysicsDomainError, match=r"^high - low = "):
        equivalent_capacitance(1.0, 2.0, 2.0)
    with pytest.raises(PhysicsDomainError, match=r"^supply - drop - cell = "):
        fault_current(math.inf, 0.0, 3.0, 25.0)
