"""The forms of the intent page, as the design of the product lists them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.errors import QuantityError
from boardvet.quantity import (
    Point,
    Span,
    Step,
    parse_flag,
    parse_number,
    parse_points,
    parse_share,
    parse_span,
    parse_steps,
)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("3.3 V", "V", 3.3),
        ("3.3V", "V", 3.3),
        ("0.6 uA", "A", 0.6e-6),
        ("0.6 \N{MICRO SIGN}A", "A", 0.6e-6),
        ("0.6 \N{GREEK SMALL LETTER MU}A", "A", 0.6e-6),
        ("4.7 kohm", "ohm", 4700.0),
        ("4.7 k\N{OHM SIGN}", "ohm", 4700.0),
        ("4.7 Kohm", "ohm", 4700.0),
        ("4k7", "ohm", 4700.0),
        ("100n", "F", 1e-7),
        ("1,8 V", "V", 1.8),
        ("10 days", "s", 864_000.0),
        ("10 h", "s", 36_000.0),
        ("500 us", "s", 500e-6),
        ("225 mAh", "C", 810.0),
        ("1 000 mAh", "C", 3600.0),
        ("-10 degC", "degC", -10.0),
        ("\N{MINUS SIGN}10 \N{DEGREE SIGN}C", "degC", -10.0),
        ("5 mm", "m", 0.005),
        ("0.5 inch", "m", 0.0127),
        ("400 kHz", "Hz", 400e3),
        ("200 K/W", "K/W", 200.0),
        ("3 g", "kg", 0.003),
        ("7", "", 7.0),
        ("10 %", "", 0.1),
        ("-2 mV/K", "V/K", -0.002),
        ("1e3 ohm", "ohm", 1000.0),
    ],
)
def test_number_with_unit(text: str, unit: str, value: float) -> None:
    assert parse_number(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "what"),
    [
        ("5", "V", "has no unit"),
        ("5 A", "V", "has a unit that does not fit"),
        ("20 MA", "A", "has a unit that does not fit"),
        ("4 mhz", "Hz", "has a unit that does not fit"),
        ("1,000 ohm", "ohm", "has a number that is unclear"),
        ("1.8 to 5.5 V", "V", "is a range"),
        ("5 V \N{PLUS-MINUS SIGN}5 %", "V", "has a ± where"),
        ("12:30", "s", "is not a number with a unit"),
        ("010", "V", "has no unit"),
        ("NO", "", "is not a number"),
        ("nan V", "V", "is not a number with a unit"),
        ("inf V", "V", "is not a number with a unit"),
        ("9" * 60 + " V", "V", "has a number that is unclear"),
        ("1e999 V", "V", "is not a number with a unit"),
        ("", "V", "is not a number with a unit"),
        ("٣ V", "V", "is not a number with a unit"),
    ],
)
def test_a_number_that_is_none_is_refused_with_a_right_example(
    text: str, unit: str, what: str
) -> None:
    with pytest.raises(QuantityError, match=what) as caught:
        parse_number(text, unit)
    example_text = caught.value.do.split("'")
    if "as" in caught.value.do and unit:
        assert parse_number(example_text[1], unit if "4700" not in example_text[1] else "")


@pytest.mark.parametrize(
    ("text", "unit", "span"),
    [
        ("1.8 to 5.5 V", "V", Span(1.8, 5.5)),
        ("2.0 V to 6 V", "V", Span(2.0, 6.0)),
        ("1.8Vto5.5V", "V", Span(1.8, 5.5)),
        ("1.8to5.5V", "V", Span(1.8, 5.5)),
        ("4 to 20 mA", "A", Span(0.004, 0.02)),
        ("100 mA to 1 A", "A", Span(0.1, 1.0)),
        ("-10 to 40 degC", "degC", Span(-10.0, 40.0)),
        ("-40 to -10 degC", "degC", Span(-40.0, -10.0)),
        ("3 V", "V", Span(3.0, 3.0)),
        ("-5 V", "V", Span(-5.0, -5.0)),
        ("\N{PLUS-MINUS SIGN}10 mA", "A", Span(-0.01, 0.01)),
    ],
)
def test_span(text: str, unit: str, span: Span) -> None:
    assert parse_span(text, unit) == span


@pytest.mark.parametrize(
    "text", ["5 V \N{PLUS-MINUS SIGN}5 %", "5 V +/- 250 mV", "5 \N{PLUS-MINUS SIGN}0.25 V"]
)
def test_plus_minus_is_a_span(text: str) -> None:
    """USB at its connector: 5 V ±5 % is 4.75 to 5.25 V."""
    assert parse_span(text, "V") == pytest.approx((4.75, 5.25))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("6 to 2 V", "begins with its higher end"),
        ("1.8-5.5 V", "has a sign for its range"),
        ("1.8\N{EN DASH}5.5 V", "has a sign for its range"),
        ("1.8\N{HORIZONTAL ELLIPSIS}5.5 V", "has a sign for its range"),
        ("1 to 2 to 3 V", "has more than two ends"),
        ("1.8 to V", "is not a number with a unit"),
        ("1.8 to 5.5", "has no unit"),
        ("5 V \N{PLUS-MINUS SIGN} -1 V", "has a ± with a negative number"),
    ],
)
def test_a_span_that_is_none_is_refused(text: str, what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        parse_span(text, "V")


def test_points_come_by_rising_condition() -> None:
    text = "1.95 V at 10 mA and 1.75 V at 1 mA"
    assert parse_points(text, "V", "A") == (Point(1.75, 0.001), Point(1.95, 0.01))


def test_points_at_shares() -> None:
    text = "3.2 V at 0 % and 2.9 V at 60 % and 2.0 V at 100 %"
    assert parse_points(text, "V", "") == (Point(3.2, 0.0), Point(2.9, 0.6), Point(2.0, 1.0))


def test_a_single_point_may_stand_without_condition() -> None:
    assert parse_points("30 ohm", "ohm", "V") == (Point(30.0, None),)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("1.9 V and 2 V at 1 mA", "one of them without condition"),
        ("1.9 V at 1 mA and 2 V at 1 mA", "two values at one condition"),
        ("1.9 V at 1 mA at 2 mA", "one value with two conditions"),
        ("1.9 V at 1 V", "has a unit that does not fit"),
    ],
)
def test_points_that_contradict_are_refused(text: str, what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        parse_points(text, "V", "A")


def test_steps_stay_in_their_order() -> None:
    text = "8 mA for 2 ms then 15 mA for 1 ms then 8 mA for 2 ms"
    assert parse_steps(text, "A") == (Step(8e-3, 2e-3), Step(15e-3, 1e-3), Step(8e-3, 2e-3))


@pytest.mark.parametrize("text", ["8 mA", "8 mA for 0 ms", "8 mA for 2 ms then", "8 mA for 2 mA"])
def test_a_step_without_duration_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_steps(text, "A")


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("3 h per day", 0.125),
        ("3 h/day", 0.125),
        ("3 h a day", 0.125),
        ("36 s per hour", 0.01),
        ("1 h per 2 days", 1 / 48),
        ("10 %", 0.1),
        ("0.1", 0.1),
        ("100 %", 1.0),
    ],
)
def test_share(text: str, share: float) -> None:
    assert parse_share(text) == pytest.approx(share, rel=1e-12)


@pytest.mark.parametrize("text", ["30 h per day", "-5 %", "110 %", "always", "3 h per", "3 h", ""])
def test_a_share_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_share(text)


@pytest.mark.parametrize(
    ("text", "flag"), [("yes", True), ("No", False), ("true", True), ("off", False)]
)
def test_flag(text: str, flag: bool) -> None:
    assert parse_flag(text) is flag


def test_a_flag_is_never_guessed() -> None:
    with pytest.raises(QuantityError, match="neither yes nor no"):
        parse_flag("maybe")


def test_a_long_statement_is_refused_and_not_repeated_in_full() -> None:
    with pytest.raises(QuantityError) as caught:
        parse_span("1" * 100_000, "V")
    assert len(str(caught.value)) < 200


@given(st.text(max_size=60))
@example("1 to 2 to 3 to 4 V")
@example("± ± V")
@example(" at  at ")
@example("/")
def test_any_text_is_read_or_refused_with_what_to_do(text: str) -> None:
    refusals = [
        _refusal(lambda: parse_number(text, "V")),
        _refusal(lambda: parse_span(text, "A")),
        _refusal(lambda: parse_points(text, "V", "A")),
        _refusal(lambda: parse_steps(text, "A")),
        _refusal(lambda: parse_share(text)),
        _refusal(lambda: parse_flag(text)),
    ]
    assert all(error.what and error.do for error in refusals if error is not None)


def _refusal(read: Callable[[], object]) -> QuantityError | None:
    try:
        read()
    except QuantityError as error:
        return error
    return None


@given(st.integers(-10_000, 10_000), st.integers(0, 10_000), st.sampled_from(["mV", "V", "uV"]))
def test_a_unit_said_once_belongs_to_both_ends(low: int, width: int, unit: str) -> None:
    once = parse_span(f"{low} to {low + width} {unit}", "V")
    assert once == parse_span(f"{low} {unit} to {low + width} {unit}", "V")
    assert once.low <= once.high
