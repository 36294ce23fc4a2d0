"""Pull-ups of an I²C line: TI's worked example, the edges of the specification, laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.pull_up import (
    I2C_MODES,
    RISE_FACTOR,
    pull_up_max,
    pull_up_min,
    rise_time,
)


def test_worked_example_of_the_application_note() -> None:
    """TI SLVA689 s. 4: fast mode, 3.3 V, 200 pF, 0.4 V at 3 mA, 300 ns: 966.667 Ω to 1.77 kΩ.

    By hand: 2.9 V / 3 mA = 966.667 Ω; 300 ns / (0.8473 · 200 pF) = 1770 Ω.
    """
    fast = I2C_MODES["fast"]

    assert pull_up_min(3.3, fast.sink_current) == pytest.approx(966.667, abs=5e-4)
    assert pull_up_max(fast.rise_time, 200e-12) == pytest.approx(1770.0, rel=5e-4)


def test_the_factor_is_that_of_the_specification() -> None:
    """NXP UM10204 Rev. 5 s. 7.1: t1 = 0.3566749 RC, t2 = 1.2039729 RC, T = t2 − t1 = 0.8473 RC."""
    assert pytest.approx(1.2039729 - 0.3566749, abs=2e-7) == RISE_FACTOR


@pytest.mark.parametrize(
    ("supply", "ohms"),
    [(1.8, 720.0), (2.0, 800.0), (2.0 + 1e-9, 1.6 / 3e-3)],
    ids=["below 2 V", "at 2 V", "just above 2 V"],
)
def test_at_two_volts_the_low_level_becomes_a_share(supply: float, ohms: float) -> None:
    """Microchip TWI table after UM10204: above 2 V 0.4 V at 3 mA; else 0.2·VDD at 2 mA.

    By hand: 0.8 · 1.8 V / 2 mA = 720 Ω; 0.8 · 2 V / 2 mA = 800 Ω; 1.6 V / 3 mA = 533 Ω.
    """
    assert pull_up_min(supply, 3e-3) == pytest.approx(ohms, rel=1e-6)


def test_a_stated_low_level_counts_at_any_supply() -> None:
    """By hand: (1.8 V − 0.3 V) / 1 mA = 1.5 kΩ."""
    assert pull_up_min(1.8, 1e-3, 0.3) == pytest.approx(1500.0)


def test_modes_are_those_of_the_specification() -> None:
    """UM10204 Rev. 5, as the Microchip TWI table gives it: rise 1000, 300, 120 ns; 400, 400,
    550 pF; 3, 3, 20 mA; 100 kHz, 400 kHz, 1 MHz."""
    assert [tuple(mode)[1:] for mode in I2C_MODES.values()] == [
        (100e3, 1000e-9, 400e-12, 3e-3),
        (400e3, 300e-9, 400e-12, 3e-3),
        (1e6, 120e-9, 550e-12, 20e-3),
    ]


@given(st.floats(1.0, 1e6), st.floats(1e-12, 1e-9))
def test_a_line_with_the_largest_pull_up_rises_just_in_time(rise: float, farads: float) -> None:
    seconds = rise * 1e-9

    assert rise_time(pull_up_max(seconds, farads), farads) == pytest.approx(seconds)


@given(st.floats(10.0, 1e6), st.floats(1e-12, 1e-9))
def test_the_rise_is_that_of_a_charging_capacitor(ohms: float, farads: float) -> None:
    """A different formula: after the rise 1 − 0.7·e^(−t/RC) is 0.7, from 0.3 at the start."""
    after = 1 - 0.7 * math.exp(-rise_time(ohms, farads) / (ohms * farads))

    assert after == pytest.approx(0.7)


@given(st.floats(2.001, 5.5), st.floats(1e-3, 20e-3))
def test_the_least_pull_up_leaves_the_low_level_and_no_more(volts: float, amps: float) -> None:
    assert volts - amps * pull_up_min(volts, amps) == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: pull_up_min(0.0, 3e-3), "supply"),
        (lambda: pull_up_min(3.3, 0.0), "sink_current"),
        (lambda: pull_up_min(3.3, 3e-3, 3.3), "low_level"),
        (lambda: pull_up_max(0.0, 1e-12), "rise"),
        (lambda: pull_up_max(1e-9, 0.0), "capacitance"),
        (lambda: rise_time(math.inf, 1e-12), "resistance"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=f"^{name} = "):
        call()
