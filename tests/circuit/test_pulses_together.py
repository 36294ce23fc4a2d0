"""Pulses of unrelated periods meet where it hurts most, and every one knows how long it runs."""

from __future__ import annotations

import math

import pytest

from boardvet.circuit.sags import Sag, Sags
from boardvet.testing import circuit_of

CELL = """
BT1 cell/holder VBAT GND
~ cell: {part: BT1, type: CR2032, voltage: 3.0 V at 0 % and 2.9 V at 100 %, resistance: 50 ohm}
C1 100u VBAT GND = dielectric polymer = series_resistance 1 mohm = voltage_rating 10 V
U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 0 A
U2 module VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 0 A
"""
CONSTANT = 50.0 * 100e-6
"""Time constant of cell and capacitor, 50 ohm · 100 µF = 5 ms. [s]"""


def sag(*entries: str) -> Sag:
    pattern = "\n".join(f"~ - {{{entry}}}" for entry in entries)
    (found,) = circuit_of(f"{CELL}\n~ pattern:\n{pattern}\n").view(Sags).of_node("VBAT")
    return found


def dip(current: float, time: float) -> float:
    """Return how far a constant current pulls cell and capacitor in a time, by hand."""
    return current * 50.0 * -math.expm1(-time / CONSTANT)


def test_a_short_pulse_is_laid_at_the_end_of_a_long_one() -> None:
    """4 mA for 15 ms pull 0.190 V, 10 mA for 3 ms 0.226 V: at worst both, 0.416 V.

    Begun together they would pull 0.316 V after 3 ms, and less later.
    """
    found = sag(
        "part: U1, current: 4 mA, for: 15 ms, every: 1 s",
        "part: U2, current: 10 mA, for: 3 ms, every: 0.7 s",
    )

    assert dip(4e-3, 15e-3) + dip(10e-3, 3e-3) == pytest.approx(0.416, abs=0.001)
    assert found.dip(0.0) == pytest.approx(0.416, abs=0.002)


def test_of_equally_heavy_steps_the_one_with_most_before_it_meets_the_others() -> None:
    """U1 and then U2 draw 4 mA for 6 ms each: together 12 ms, which pull 0.182 V.

    At the end of the first of them it would be 0.140 V. The 10 mA of U1 add 0.226 V.
    """
    found = sag(
        "part: U1, current: 4 mA, for: 6 ms, every: 1 s",
        "part: U2, current: 4 mA, for: 6 ms, every: 1 s, after: 6 ms",
        "part: U1, current: 10 mA, for: 3 ms, every: 0.7 s",
    )

    assert dip(4e-3, 12e-3) + dip(10e-3, 3e-3) == pytest.approx(0.407, abs=0.001)
    assert found.dip(0.0) == pytest.approx(0.407, abs=0.002)


def test_pulses_that_meet_pause_all_the_same() -> None:
    """15 ms is the longest of them: they do not run for ever because each is part of a meeting."""
    found = sag(
        "part: U1, current: 4 mA, for: 15 ms, every: 1 s",
        "part: U2, current: 10 mA, for: 3 ms, every: 0.7 s",
    )

    assert found.meeting(0.0).draws == (("U1", 4e-3), ("U2", 10e-3))
    assert found.meeting(0.0).run == pytest.approx(15e-3)


def test_a_pulse_that_meets_one_without_a_pause_has_none_either() -> None:
    found = sag(
        "part: U1, draws: 4 mA for 500 ms then 3 mA for 500 ms, every: 1 s",
        "part: U2, current: 10 mA, for: 3 ms, every: 0.7 s",
    )

    assert math.isinf(found.meeting(0.0).run)
