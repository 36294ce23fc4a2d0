"""Preferred numbers: the tables of IEC 60063, from memory and as `eseries` has them."""

from __future__ import annotations

import math

import eseries
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError, QuantityError
from boardvet.quantity.preferred import SERIES, Direction, preferred

VALUE = st.floats(1e-12, 1e9)
NAME = st.sampled_from(sorted(SERIES))


def test_e6_and_e12_of_iec_60063() -> None:
    assert SERIES["E6"] == (100, 150, 220, 330, 470, 680)
    assert SERIES["E12"] == (100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820)


def test_e24_breaks_the_rounding_rule_in_eight_places() -> None:
    """The known trap: 27 30 33 36 39 43 47 82 are not round(10^(n/24))."""
    by_rule = [round(10 ** (step / 24) * 10) for step in range(24)]
    differing = [figures // 10 for figures, rule in zip(SERIES["E24"], by_rule, strict=True)
                 if figures != rule * 10]  # fmt: skip
    assert differing == [27, 30, 33, 36, 39, 43, 47, 82]


def test_e192_breaks_the_rounding_rule_in_one_place() -> None:
    by_rule = [round(100 * 10 ** (step / 192)) for step in range(192)]
    assert set(SERIES["E192"]) - set(by_rule) == {920}


def test_e96_is_the_table_behind_the_two_digit_marking() -> None:
    """Uni-Ohm's sheet prints 01 = 100, 02 = 102 … 96 = 976."""
    assert len(SERIES["E96"]) == 96
    assert (SERIES["E96"][0], SERIES["E96"][1], SERIES["E96"][95]) == (100, 102, 976)


@pytest.mark.parametrize("name", sorted(SERIES))
def test_tables_are_those_of_the_library(name: str) -> None:
    figures = eseries.series(eseries.ESeries[name])
    scale = 100 // 10 ** (len(str(figures[0])) - 1)
    assert SERIES[name] == tuple(figure * scale for figure in figures)


@pytest.mark.parametrize(
    ("value", "series", "direction", "bought"),
    [
        (2040.0, "E12", "nearest", 2200.0),
        (2040.0, "E24", "nearest", 2000.0),
        (1440.0, "E24", "nearest", 1500.0),
        (966.7, "E24", "up", 1000.0),
        (1770.3, "E24", "down", 1600.0),
        (9.5, "E24", "up", 10.0),
        (0.95e-9, "E6", "up", 1e-9),
        (86.7e-6, "E6", "up", 100e-6),
    ],
)
def test_worked_examples(value: float, series: str, direction: Direction, bought: float) -> None:
    """LED resistors of 2040 and 1440 Ω are bought as 2 k and 1.5 k (encyclopaedia, LED circuit);
    a pull-up between 966.7 Ω and 1.77 kΩ (TI SLVA689) and a reservoir of 86.7 µF."""
    assert preferred(value, series, direction) == bought


@given(VALUE, NAME)
@example(4700.000000000001, "E24")
@example(999.9999999, "E96")
@example(9.09, "E192")
def test_up_is_never_below_and_down_never_above(value: float, name: str) -> None:
    assert preferred(value, name, "up") >= value * (1 - 1e-9)
    assert preferred(value, name, "down") <= value * (1 + 1e-9)


@given(VALUE, NAME)
def test_nearest_is_one_of_the_two_neighbours(value: float, name: str) -> None:
    neighbours = {preferred(value, name, "up"), preferred(value, name, "down")}
    nearest = preferred(value, name)
    assert nearest in neighbours
    assert abs(nearest - value) == min(abs(each - value) for each in neighbours)


@given(st.integers(100, 999), NAME, st.integers(-14, 6), st.sampled_from(["up", "down"]))
def test_a_decade_more_is_a_decade_more(
    figures: int, name: str, decade: int, direction: Direction
) -> None:
    here = preferred(float(figures), name, direction)
    there = preferred(float(f"{figures}e{decade}"), name, direction)
    assert there == pytest.approx(here * 10.0**decade, rel=1e-12)


@given(NAME, st.integers(0, 191), st.integers(-13, 7), st.sampled_from(["up", "down", "nearest"]))
def test_a_preferred_value_is_its_own(
    name: str, index: int, decade: int, direction: Direction
) -> None:
    figures = SERIES[name][index % len(SERIES[name])]
    value = float(f"{figures}e{decade}")
    assert preferred(value, name, direction) == value


@given(VALUE, NAME)
def test_the_library_finds_the_same(value: float, name: str) -> None:
    """Values within the share that counts as the same are left out: the library has none."""
    assume(abs(preferred(value, name) - value) > 1e-8 * value)
    key = eseries.ESeries[name]
    assert preferred(value, name, "up") == pytest.approx(
        eseries.find_greater_than_or_equal(key, value), rel=1e-8
    )
    assert preferred(value, name, "down") == pytest.approx(
        eseries.find_less_than_or_equal(key, value), rel=1e-8
    )


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_an_impossible_value_is_refused(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match="more than 0"):
        preferred(bad)


def test_an_unknown_series_is_refused() -> None:
    with pytest.raises(QuantityError, match="no series"):
        preferred(1.0, "E25")
