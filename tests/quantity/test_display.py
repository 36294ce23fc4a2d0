"""Quantities as they are printed: the examples of the report, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.quantity import parse_number, show, show_time


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700.0, "ohm", "4.7 kΩ"),
        (470.0, "ohm", "470 Ω"),
        (0.012, "A", "12 mA"),
        (12e-6, "A", "12 µA"),
        (1e-7, "F", "100 nF"),
        (3.05, "V", "3.05 V"),
        (-10.0, "degC", "−10 °C"),
        (810.0, "C", "225 mAh"),
        (10440.0, "C", "2.9 Ah"),
        (0.003, "kg", "3 g"),
        (0.0245, "m", "24.5 mm"),
        (0.125, "", "0.125"),
        (200.0, "K/W", "200 K/W"),
        (32768.0, "Hz", "32.8 kHz"),
        (0.0, "V", "0 V"),
        (-0.0, "V", "0 V"),
        (math.inf, "ohm", "∞ Ω"),
        (-math.inf, "V", "−∞ V"),
    ],
)
def test_quantity(value: float, unit: str, text: str) -> None:
    assert show(value, unit) == text


def test_rounding_up_reaches_the_next_prefix() -> None:
    """999.6 Ω to three figures is 1000 Ω, which is written 1 kΩ."""
    assert show(999.6, "ohm") == "1 kΩ"
    assert show(999.4, "ohm") == "999 Ω"


def test_figures_can_be_asked_for() -> None:
    assert show(32768.0, "Hz", 5) == "32.768 kHz"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (9.4 * 86400, "9.4 days"),
        (5.2 * 3600, "5.2 h"),
        (0.035, "35 ms"),
        (5e-6, "5 µs"),
        (45.0, "45 s"),
        (600.0, "10 min"),
        (36 * 3600, "36 h"),
        (0.0, "0 s"),
        (96_000 * 3600.0, "11 years"),
    ],
)
def test_time(seconds: float, text: str) -> None:
    assert show_time(seconds) == text


UNITS = ["V", "A", "ohm", "F", "H", "W", "Hz", "m", "C", "kg", "s", "degC", "K/W", ""]


@given(st.floats(1e-9, 1e8) | st.floats(-1e8, -1e-9), st.sampled_from(UNITS), st.integers(1, 9))
@example(999.6, "ohm", 3)
@example(9.99999e-10, "F", 3)
@example(59.99, "s", 2)
def test_what_is_shown_is_read_again_within_its_figures(
    value: float, unit: str, figures: int
) -> None:
    again = parse_number(show(value, unit, figures), unit)
    assert again == pytest.approx(value, rel=0.51 * 10 ** (1 - figures))


@given(st.floats(1e-9, 9e5), st.sampled_from(["V", "A", "ohm"]))
def test_the_number_stays_below_a_thousand(value: float, unit: str) -> None:
    assert float(show(value, unit).split(" ")[0]) < 1000
