"""The pull-ups of a bus: TI's example, low supplies, and a bus that no resistor serves."""

from __future__ import annotations

import math

import pytest

from boardvet.sizing import calculation
from boardvet.sizing._calculation import Answer, Unsizable
from boardvet.sizing._reading import read


def sized(*words: str) -> Answer:
    found = calculation("pullup")
    return found.solve(read("pullup", found, words))


def test_worked_example_of_the_application_note() -> None:
    """TI SLVA689 s. 4: 966.667 Ω to 1.77 kΩ.

    By hand: the geometric middle is √(966.7 · 1770) = 1308 Ω; E12 has 1.2 kΩ (8 % off) beside
    1.5 kΩ (15 %).
    """
    answer = sized("supply=3.3 V", "speed=400 kHz", "capacitance=200 pF")

    (chosen,) = answer.chosen
    assert chosen.wanted == pytest.approx(math.sqrt(966.667 * 1770.3), rel=1e-4)
    assert (chosen.value, chosen.series) == (1200.0, "E12")
    assert answer.sums[0] == (
        "least (3.3 V − 400 mV) / 3 mA = 967 Ω; most 300 ns / (0.8473 · 200 pF) = 1.77 kΩ"
    )


def test_it_says_which_limit_is_nearer() -> None:
    """By hand: 1200 / 967 = 1.24 is less than 1770 / 1200 = 1.48. With 240 pF, most is 1475 Ω,
    the middle 1194 Ω: 1200 / 967 = 1.24 against 1475 / 1200 = 1.23."""
    sinks = sized("supply=3.3 V", "speed=400 kHz", "capacitance=200 pF").sums[1]
    rises = sized("supply=3.3 V", "speed=400 kHz", "capacitance=240 pF").sums[1]

    assert "nearer to what outputs can sink" in sinks
    assert "nearer to the longest rise" in rises


def test_a_supply_across_two_volts_is_judged_where_it_asks_for_most() -> None:
    """By hand: 0.8 · 2 V / 2 mA = 800 Ω at 2 V; 1.8 V asks for 720 Ω, 2.2 V for 600 Ω."""
    answer = sized("supply=1.8 to 2.2 V", "speed=100 kHz", "capacitance=100 pF")

    assert "least (2 V − 400 mV) / 2 mA = 800 Ω" in answer.sums[0]


def test_a_bus_that_no_resistor_serves_says_what_would_help() -> None:
    """By hand: 300 ns / (0.8473 · 400 pF) = 885 Ω, under 967 Ω.

    300 ns / (0.8473 · 967 Ω) = 366 pF.
    """
    with pytest.raises(Unsizable) as caught:
        sized("supply=3.3 V", "speed=400 kHz", "capacitance=400 pF")

    assert "967 Ω or more" in caught.value.what
    assert "885 Ω or less" in caught.value.what
    assert caught.value.do == "keep the line under 366 pF, or take a slower clock"


def test_a_narrow_range_takes_a_finer_series() -> None:
    """At 330 pF 967 … 1073 Ω; at 3.5 V and 300 pF 1033 … 1180 Ω, where E12 has none."""
    (chosen,) = sized("supply=3.3 V", "speed=400 kHz", "capacitance=330 pF").chosen
    assert (chosen.value, chosen.series) == (1000.0, "E12")
    (finer,) = sized("supply=3.5 V", "speed=400 kHz", "capacitance=300 pF").chosen
    assert (finer.value, finer.series) == (1100.0, "E24")


def test_no_bus_with_pull_ups_is_faster_than_a_megahertz() -> None:
    with pytest.raises(Unsizable, match=r"3\.4 MHz is faster"):
        sized("supply=3.3 V", "speed=3.4 MHz", "capacitance=50 pF")


def test_too_much_capacitance_for_the_mode_is_noted() -> None:
    answer = sized("supply=3.3 V", "speed=100 kHz", "capacitance=500 pF")

    assert any("over the 400 pF" in note for note in answer.notes)
