"""The resistor of a light: answers of others, the end of the cell, and what cannot be."""

from __future__ import annotations

import pytest

from boardvet.errors import UsageError
from boardvet.sizing import calculation
from boardvet.sizing._calculation import Answer, Unsizable
from boardvet.sizing._reading import read


def sized(*words: str) -> Answer:
    found = calculation("led")
    return found.solve(read("led", found, words))


def text(answer: Answer) -> str:
    return "\n".join((*answer.sums, *answer.ends, answer.buy, *answer.notes))


@pytest.mark.parametrize(
    ("supply", "volts", "current", "exact", "value", "series"),
    [
        ("6 V", "1.4 V at 20 mA", "20 mA", 230.0, 220.0, "E12"),
        ("12 V", "1.8 V at 5 mA", "5 mA", 2040.0, 2200.0, "E12"),
        ("9 V", "1.8 V", "5 mA", 1440.0, 1500.0, "E12"),
        ("5 V", "2 V at 15 mA", "15 mA", 200.0, 180.0, "E12"),
    ],
    ids=["course answer", "encyclopaedia 12 V", "encyclopaedia 9 V", "napkincalc"],
)
def test_answers_printed_elsewhere(
    supply: str, volts: str, current: str, exact: float, value: float, series: str
) -> None:
    """uonbi.ac.ke: 4.6 V / 20 mA = 230 Ω. "LED circuit": 10.2 V / 5 mA = 2040 Ω, 7.2 V / 5 mA =
    1440 Ω (it takes 2 k and 1.5 k). napkincalc.com: 3 V / 15 mA = 200 Ω.

    E12 by hand: 220 is 4 % off 230; 2200 is 8 % off 2040; 1500 4 % off 1440; 180 and 220 are both
    20 Ω off 200, and of two at one distance the lower counts, 10 % off.
    """
    (chosen,) = sized(f"supply={supply}", f"forward_voltage={volts}", f"current={current}").chosen

    assert chosen.wanted == pytest.approx(exact, rel=1e-9)
    assert (chosen.value, chosen.series) == (value, series)


def test_e24_where_e12_misses_by_more_than_the_margin() -> None:
    """By hand: 200 Ω is a value of E24, and 10 % off E12, more than 5 %."""
    words = ("supply=5 V", "forward_voltage=2 V at 15 mA", "current=15 mA")

    (chosen,) = sized(*words, "margin=5 %").chosen
    assert (chosen.value, chosen.series) == (200.0, "E24")


def test_power_asks_for_the_next_size() -> None:
    """12 V, 1.8 V, 15 mA (NPTEL): 153 mW with 680 Ω; half of 0.125 W is less, and of 0.25 W too.

    By hand: 10.2 V / 15 mA = 680 Ω. Half of 1206's 0.25 W is 125 mW; half of 2010's 0.5 W does.
    """
    answer = sized("supply=12 V", "forward_voltage=1.8 V at 15 mA", "current=15 mA")

    assert answer.chosen[0].value == 680.0
    assert answer.buy == "680 Ω 5 %, 2010 or larger (150 mW of heat; 2010 takes 500 mW)"


def test_current_at_the_end_of_the_cell_and_where_it_goes_dark() -> None:
    """Two points, 1.75 V at 1 mA and 1.95 V at 10 mA, and exactly 100 Ω for 10 mA at 2.95 V.

    By hand: 1 mA at 1.75 V + 0.1 V = 1.85 V. A twentieth of 10 mA, 0.5 mA, is ln 2 · 51.73 mV =
    35.9 mV and 0.5 mA · 8.99 Ω = 4.5 mV below 1.75 V: 1.710 V, and 50 mV over the resistor.
    """
    answer = sized(
        "supply=1.85 to 2.95 V",
        "forward_voltage=1.75 V at 1 mA and 1.95 V at 10 mA",
        "current=10 mA",
    )

    assert (answer.chosen[0].value, answer.notes) == (100.0, ())
    assert answer.ends == (
        "10 mA at 2.95 V, 1 mA at 1.85 V (10 % of it)",
        "dark (under 5 % of the wanted current) below 1.76 V",
    )


def test_it_says_that_the_cell_goes_below_that() -> None:
    answer = sized("supply=2.0 to 3.2 V", "colour=blue", "current=2 mA")

    assert "which the cell reaches before its end" in answer.ends[1]


def test_the_example_of_the_page() -> None:
    """Issue 3: supply 2.0 to 3.2 V, 1.95 V at 10 mA, 5 mA.

    By hand with n 2 and 6 Ω: at 5 mA the light drops 51.73 mV · ln 2 + 5 mA · 6 Ω = 65.9 mV less
    than 1.95 V: 1.884 V; 1.316 V / 5 mA = 263.2 Ω.
    """
    answer = sized("supply=2.0 to 3.2 V", "forward_voltage=1.95 V at 10 mA", "current=5 mA")

    assert answer.chosen[0].wanted == pytest.approx(263.2, abs=0.1)
    assert answer.chosen[0].shown == "270 Ω"
    assert answer.sums[0] == "(3.2 V − 1.88 V) / 5 mA = 263 Ω"


def test_at_the_end_it_is_sized_for_the_low_supply() -> None:
    """By hand: (2.95 V − 1.95 V) / 10 mA = 100 Ω."""
    answer = sized(
        "supply=2.95 to 3.5 V", "forward_voltage=1.95 V at 10 mA", "current=10 mA", "over=end"
    )

    assert answer.chosen[0].wanted == pytest.approx(100.0)


def test_over_life_the_mean_is_the_wanted_current() -> None:
    """From 5 V to 4 V with a light of 2 V at 5 mA.

    By hand, as if it dropped 2 V at any current: the mean of (V − 2 V) / R is 2.5 V / R; for 5 mA
    that is 500 Ω. Its slope, some 16 Ω at 5 mA, moves that by less than 2 %.
    """
    answer = sized("supply=4 to 5 V", "forward_voltage=2 V at 5 mA", "current=5 mA", "over=life")

    assert answer.chosen[0].wanted == pytest.approx(500.0, rel=0.02)
    assert "mean" in answer.sums[1]


def test_over_life_wants_less_than_fresh() -> None:
    words = ("supply=2.0 to 3.2 V", "forward_voltage=1.95 V at 10 mA", "current=5 mA")

    assert sized(*words, "over=life").chosen[0].wanted < sized(*words).chosen[0].wanted


def test_lights_in_series_and_what_else_is() -> None:
    """By hand: (5 V − 2 · 1.95 V) / 10 mA − 30 Ω = 80 Ω."""
    answer = sized(
        "supply=5 V", "forward_voltage=1.95 V at 10 mA", "current=10 mA", "in_series=2",
        "other_resistance=30 ohm",
    )  # fmt: skip

    assert answer.chosen[0].wanted == pytest.approx(80.0)
    assert answer.sums[0] == "(5 V − 2 × 1.95 V) / 10 mA − 30 Ω = 80 Ω"


def test_a_colour_stands_for_the_usual_forward_voltage_and_is_said_to_be_assumed() -> None:
    answer = sized("supply=5 V", "colour=red", "current=20 mA")

    assert answer.chosen[0].wanted == pytest.approx(150.0)  # (5 V − 2 V) / 20 mA
    assert answer.notes[0] == "forward voltage assumed: 2 V at 20 mA"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("supply=1.8 V", "colour=blue", "current=5 mA"), "needs .* and there is 1.8 V at best"),
        (("supply=3 V", "current=5 mA"), "neither forward_voltage nor a colour"),
        (("supply=2.951 V", "forward_voltage=2.95 V", "current=5 mA"), "leaves .* nothing limits"),
        (("supply=1.5 to 1.6 V", "colour=red", "current=5 mA", "over=life"), "needs"),
    ],
)
def test_what_no_resistor_gives_is_said(words: tuple[str, ...], message: str) -> None:
    with pytest.raises(Unsizable, match=message):
        sized(*words)


def test_a_supply_of_nothing_is_refused() -> None:
    with pytest.raises(UsageError, match="supply: '0 to 3 V' is not above zero"):
        sized("supply=0 to 3 V", "colour=red", "current=5 mA")
