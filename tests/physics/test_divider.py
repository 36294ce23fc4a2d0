"""Dividers: hand sums, the limiting cases, and what must hold for all."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.divider import (
    divider_output,
    divider_spread,
    source_resistance,
    total_for_source,
)

OHMS = st.floats(1.0, 1e7)


def test_an_adjustable_regulator_read_backwards() -> None:
    """Fairchild LM317 Rev. 1.0.6: Vo = 1.25 V · (1 + R2/R1).

    By hand: R1 240 Ω, R2 720 Ω give 5.0 V, of which the lower 240 Ω hold 1.25 V.
    """
    assert divider_output(1.25 * (1 + 720 / 240), 720.0, 240.0) == pytest.approx(1.25)


def test_spread_of_one_per_cent_parts() -> None:
    """By hand: 1.01 · 30 = 30.3 over 0.99 · 10 = 9.9 leave 9.9 / 40.2 = 0.24627; the other way
    round 10.1 / 39.8 = 0.25377."""
    assert divider_spread(30e3, 10e3, 0.01) == pytest.approx((9.9 / 40.2, 10.1 / 39.8))


def test_no_tolerance_is_no_spread() -> None:
    assert divider_spread(30e3, 10e3, 0.0) == (0.25, 0.25)


@given(OHMS, OHMS)
def test_open_and_short_meet_in_the_source_resistance(top: float, bottom: float) -> None:
    """Thévenin: the open voltage over the current of a shorted tap."""
    open_voltage, short_current = divider_output(1.0, top, bottom), 1.0 / top

    assert source_resistance(top, bottom) == pytest.approx(open_voltage / short_current)


@given(OHMS, OHMS)
def test_the_total_for_a_source_is_that_of_the_pair(top: float, bottom: float) -> None:
    ratio = divider_output(1.0, top, bottom)

    assert total_for_source(source_resistance(top, bottom), ratio) == pytest.approx(top + bottom)


@given(OHMS, OHMS, st.floats(0.0, 0.2))
def test_the_spread_holds_the_ratio(top: float, bottom: float, tolerance: float) -> None:
    low, high = divider_spread(top, bottom, tolerance)

    assert low <= divider_output(1.0, top, bottom) * (1 + 1e-12)
    assert high >= divider_output(1.0, top, bottom) * (1 - 1e-12)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: divider_output(-1.0, 1.0, 1.0), "supply"),
        (lambda: divider_output(1.0, 0.0, 1.0), "top"),
        (lambda: source_resistance(1.0, 0.0), "bottom"),
        (lambda: total_for_source(0.0, 0.5), "source"),
        (lambda: total_for_source(1.0, 1.0), "ratio"),
        (lambda: divider_spread(1.0, 1.0, 1.0), "tolerance"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=f"^{name} = "):
        call()
