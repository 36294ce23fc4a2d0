"""Reverse current over temperature: the rule of thumb, its edges, and the formula behind it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.leakage import leakage_at

BOLTZMANN_OVER_CHARGE = 8.617333e-5
"""k/q, CODATA 2018. [V/K]"""


@pytest.mark.parametrize(("warm", "times"), [(25.0, 1), (35.0, 2), (65.0, 16), (5.0, 0.25)])
def test_it_doubles_every_ten_kelvin(warm: float, times: float) -> None:
    """Common practice, no source; 40 K are four doublings, by hand 16."""
    assert leakage_at(1e-6, warm) == pytest.approx(times * 1e-6)


@pytest.mark.parametrize("warm", [15.0, 35.0, 45.0, 60.0])
def test_it_follows_the_barrier_of_a_schottky_junction_within_a_factor_of_two(
    warm: float,
) -> None:
    """I ~ T²·exp(−Eb/kT) (Richardson) with a barrier of 0.6 eV, common for low-drop types."""
    cold, hot = 298.15, warm + 273.15
    barrier = 0.6 / BOLTZMANN_OVER_CHARGE
    exact = (hot / cold) ** 2 * math.exp(barrier * (1 / cold - 1 / hot))

    assert exact / 2 < leakage_at(1.0, warm) < exact * 2


@given(st.floats(1e-12, 1e-3), st.floats(-40, 125), st.floats(-40, 125))
def test_there_and_back_is_where_it_began(amps: float, one: float, other: float) -> None:
    assert leakage_at(leakage_at(amps, one, other), other, one) == pytest.approx(amps)


@pytest.mark.parametrize("bad", [-1e-9, math.nan, math.inf])
def test_an_impossible_current_is_refused(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match="reverse current"):
        leakage_at(bad, 25.0)


@pytest.mark.parametrize("bad", [-300.0, math.nan])
def test_an_impossible_temperature_is_refused(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match="temperature"):
        leakage_at(1e-6, bad)
    with pytest.raises(PhysicsDomainError, match="temperature"):
        leakage_at(1e-6, 25.0, bad)
