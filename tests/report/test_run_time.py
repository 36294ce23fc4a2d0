"""The run time in a report: what a tired reader sees at 80 columns, and what the JSON says."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from rich.cells import cell_len
from tests.report.factory import review

from boardvet.report.json import json_schema, to_json
from boardvet.report.terminal import render
from boardvet.review.budget import Budget, Consumer, ModeBudget

DAY = 86400.0
VALIDATOR = Draft202012Validator(json_schema())

TYPICAL = Budget(
    cells="BT1 (CR2032)",
    capacity=810.0,
    run_time=140.6 * DAY,
    worst=118 * DAY,
    best=182 * DAY,
    mean_current=66.4e-6,
    stop_voltage=2.0,
    stop_reason="BT1 (CR2032) is at its end of 2 V",
    stranded=40.5,
    consumers=(
        Consumer("D1", "lit", 40e-6, 0.602),
        Consumer("U1", "itself", 18e-6, 0.271),
        Consumer("R7", "path to ground", 6e-6, 0.09),
        Consumer("BT1", "self-discharge", 2e-6, 0.03),
        Consumer("U9", "itself", 0.4e-6, 0.006),
    ),
    modes=(ModeBudget("all the time", 1.0, 64e-6),),
    change="halve the current of D1 (R1 470 Ω)",
    changed_run_time=250 * DAY,
)


def page(budget: Budget, *, verbose: bool = False, width: int = 80) -> str:
    """Return the part of a report on the run time."""
    text = render(review(budget=budget), width=width, verbose=verbose)
    start = text.find("── run time")
    return "" if start < 0 else text[start:].partition("\n\n")[0]


def words(budget: Budget, *, verbose: bool = False) -> str:
    return " ".join(page(budget, verbose=verbose).split())


def read(budget: Budget) -> dict[str, Any]:
    whole = json.loads(to_json(review(budget=budget)))
    VALIDATOR.validate(whole)
    found: dict[str, Any] = whole["budget"]
    return found


# The page


def test_a_typical_run_time_reads_well_at_80_columns() -> None:
    assert page(TYPICAL) == (
        "── run time ───────────────────────────────────────────────── 120 to 180 days ──\n"
        "         It runs 140 days on BT1 (CR2032) with typical parts. It stops when BT1\n"
        "         (CR2032) is at its end of 2 V; 5% of the charge is left then.\n"
        "  spent  66.4 µA on average: D1 (lit) 60%, U1 27%, R7 (path to ground) 9%,\n"
        "         self-discharge 3%, U9 1%\n"
        " longer  Halve the current of D1 (R1 470 Ω): then it runs 250 days."
    )


@pytest.mark.parametrize(
    ("reaching", "said"),
    [
        (1.0, "All boards drawn at random reach the time wanted."),
        (0.0, "No boards drawn at random reach the time wanted."),
        (0.583, "58% of boards drawn at random reach the time wanted."),
        (0.9999, "99% of boards drawn at random reach the time wanted."),
        (0.0001, "1% of boards drawn at random reach the time wanted."),
    ],
)
def test_the_share_that_reaches_the_time_wanted_is_said(reaching: float, said: str) -> None:
    text = words(replace(TYPICAL, wanted=150 * DAY, reaching=reaching))

    assert "with typical parts; 150 days are wanted." in text
    assert said in text


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (118, "With every part at its worst it still reaches that."),
        (183, "Not even with every part at its best does it reach that."),
    ],
)
def test_where_the_limits_of_parts_decide_nobody_speaks_of_draws(days: float, said: str) -> None:
    reaching = 1.0 if days == 118 else 0.0
    text = words(replace(TYPICAL, wanted=days * DAY, reaching=reaching))

    assert said in text
    assert "at random" not in text


def test_no_word_is_said_of_charge_where_next_to_none_is_left() -> None:
    text = words(replace(TYPICAL, stranded=1.0))

    assert "It stops when BT1 (CR2032) is at its end of 2 V. spent" in text


def test_a_board_that_does_not_start_says_why_and_not_what_it_spends() -> None:
    text = words(replace(TYPICAL, run_time=0.0, worst=0.0, stop_reason="U1 needs 2.7 V on VBAT"))

    assert "── does not start ──" in text
    assert "It does not start on BT1 (CR2032): U1 needs 2.7 V on VBAT." in text
    assert "on average" not in text
    assert "longer" in text


def test_an_endless_run_says_that_nothing_draws() -> None:
    text = words(replace(TYPICAL, run_time=None, worst=None, best=None, change=""))

    assert "── endless ──" in text
    assert "Nothing draws from BT1 (CR2032)." in text


def test_what_is_missing_is_shown_as_a_line_to_paste() -> None:
    text = page(
        Budget(
            missing="the capacity of BT1 is not known",
            how="cell: {part: BT1, capacity: 200 mAh}   # what is printed on it",
        )
    )

    assert text == (
        "── run time ──────────────────────────────────────────────────── not computed ──\n"
        "         The capacity of BT1 is not known. To have it computed, state on the\n"
        "         intent page:\n"
        "         cell: {part: BT1, capacity: 200 mAh}  # what is printed on it"
    )


def test_a_line_to_paste_without_a_remark_has_no_empty_one() -> None:
    text = page(Budget(missing="no", how="parts: {U1: {supply: 1.8 to 5.5 V}}"))

    assert text.endswith("         parts: {U1: {supply: 1.8 to 5.5 V}}")


def test_what_no_page_can_state_is_said_in_words() -> None:
    text = words(Budget(missing="the value of R1 is not known", how="give R1 a value such as 4k7"))

    assert text.endswith(
        "The value of R1 is not known. To have it computed, give R1 a value such as 4k7."
    )


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        (("U1",), "without what U1 draws at rest: nobody knows it"),
        (("U1", "U2"), "without what U1, U2 draw at rest: nobody knows it"),
    ],
)
def test_what_is_not_counted_is_named(parts: tuple[str, ...], said: str) -> None:
    assert words(replace(TYPICAL, not_counted=parts)).endswith(said)


def test_a_board_without_a_cell_has_no_word_on_its_run_time() -> None:
    assert page(Budget()) == ""


@pytest.mark.parametrize(
    ("worst", "best", "said"),
    [
        (3 * DAY, 9 * DAY, "3 to 9 days"),
        (10 * 3600.0, 3 * DAY, "0.42 to 3 days"),
        (600.0, 3 * DAY, "10 min to 3 days"),
        (40.0, 600.0, "40 s to 10 min"),
        (300 * DAY, 3 * 365.25 * DAY, "300 to 1100 days"),
        (2 * 365.25 * DAY, 9 * 365.25 * DAY, "2 to 9 years"),
        (400 * DAY, 9 * 365.25 * DAY, "400 days to 9 years"),
    ],
)
def test_a_range_is_in_one_unit_where_it_can_be(worst: float, best: float, said: str) -> None:
    assert f"── {said} ──" in page(replace(TYPICAL, worst=worst, best=best))


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.2, "D1-D3 (lit) 60%"),
        (0.181, "D1-D3 (lit) 58%"),
        (0.179, "D1, D2 (lit) 40%, D3 (lit) 18%"),
    ],
)
def test_consumers_that_take_about_the_same_are_joined(share: float, said: str) -> None:
    """About is within a tenth: 0.18 of 0.2."""
    alike = tuple(Consumer(f"D{n}", "lit", 13e-6, 0.2) for n in (1, 2))
    text = words(replace(TYPICAL, consumers=(*alike, Consumer("D3", "lit", 12e-6, share))))

    assert f"on average: {said}" in text


def test_consumers_of_another_kind_are_not_joined() -> None:
    pair = (Consumer("D1", "lit", 13e-6, 0.2), Consumer("U1", "itself", 13e-6, 0.2))
    text = words(replace(TYPICAL, consumers=pair))

    assert "on average: U1 20%, D1 (lit) 20%" in text


def test_of_many_consumers_the_biggest_are_named_and_all_where_it_is_asked() -> None:
    many = tuple(Consumer(f"U{n}", "itself", 1e-6 * (9 - n), 0.2 - 0.02 * n) for n in range(1, 9))
    short, whole = (
        words(replace(TYPICAL, consumers=many), verbose=each) for each in (False, True)
    )

    assert "U5 10%, others 18%" in short
    assert "U8" not in short
    assert "U8 4%" in whole
    assert "others" not in whole


def test_modes_are_told_where_it_is_asked_and_there_are_several() -> None:
    modes = (ModeBudget("day", 0.25, 66.3e-6), ModeBudget("night", 0.75, 7.5e-6))
    several = replace(TYPICAL, modes=modes)

    assert "modes day 25% of the time, 66.3 µA; night 75% of the time, 7.5 µA" in words(
        several, verbose=True
    )
    assert "modes" not in words(several)
    assert "modes" not in words(TYPICAL, verbose=True)


def test_no_change_is_told_where_none_is_worth_a_word() -> None:
    assert "longer" not in words(replace(TYPICAL, change="", changed_run_time=None))


TIMES = st.none() | st.floats(0.0, 1e10)
TEXTS = st.text(max_size=40)


@given(
    st.builds(
        Budget,
        cells=TEXTS,
        capacity=st.none() | st.floats(1.0, 1e5),
        run_time=TIMES,
        worst=TIMES,
        best=TIMES,
        wanted=TIMES,
        reaching=st.none() | st.floats(0.0, 1.0),
        mean_current=st.none() | st.floats(0.0, 10.0),
        stop_voltage=st.none() | st.floats(0.0, 10.0),
        stop_reason=TEXTS,
        stranded=st.none() | st.floats(0.0, 1e5),
        consumers=st.lists(
            st.builds(Consumer, TEXTS, TEXTS, st.floats(0.0, 1.0), st.floats(0.0, 1.0)), max_size=4
        ).map(tuple),
        modes=st.lists(
            st.builds(ModeBudget, TEXTS, st.floats(0.0, 1.0), st.floats(0.0, 1.0)), max_size=3
        ).map(tuple),
        change=TEXTS,
        changed_run_time=TIMES,
        not_counted=st.lists(TEXTS, max_size=3).map(tuple),
        missing=TEXTS,
        how=TEXTS,
    ),
    st.sampled_from([40, 80, 120]),
    st.booleans(),
)
def test_law_any_budget_fits_its_columns_and_keeps_the_schema(
    budget: Budget, width: int, verbose: bool
) -> None:
    text = page(budget, verbose=verbose, width=width)

    assert all(cell_len(line) <= width for line in text.splitlines())
    read(budget)


# The JSON


def test_the_json_has_the_figures_in_the_units_that_their_names_say() -> None:
    assert read(TYPICAL) == {
        "run_time_hours": 3374.4,
        "mean_current_a": 6.64e-05,
        "stop_voltage": 2.0,
        "stop_reason": "BT1 (CR2032) is at its end of 2 V",
        "charge_stranded_c": 40.5,
        "consumers": [
            {"part": "D1", "current_a": 4e-05, "share": 0.602},
            {"part": "U1", "current_a": 1.8e-05, "share": 0.271},
            {"part": "R7", "current_a": 6e-06, "share": 0.09},
            {"part": "BT1", "current_a": 2e-06, "share": 0.03},
            {"part": "U9", "current_a": 4e-07, "share": 0.006},
        ],
        "modes": [{"name": "all the time", "share": 1.0, "mean_current_a": 6.4e-05}],
    }


def test_an_endless_run_is_null_in_the_json() -> None:
    found = read(replace(TYPICAL, run_time=None))

    assert found["run_time_hours"] is None
    assert found["mean_current_a"] is not None


def test_nothing_computed_is_null_in_the_json() -> None:
    found = read(Budget(missing="the capacity of BT1 is not known", how="cell: {}"))

    assert {key for key, value in found.items() if value} == set()


def test_a_board_that_does_not_start_runs_0_hours_in_the_json() -> None:
    assert read(replace(TYPICAL, run_time=0.0))["run_time_hours"] == 0.0


@given(st.floats(1e-3, 1e10))
def test_law_hours_are_finite_and_of_six_figures(seconds: float) -> None:
    hours = read(replace(TYPICAL, run_time=seconds))["run_time_hours"]

    assert math.isfinite(hours)
    assert hours == pytest.approx(seconds / 3600.0, rel=1e-5)
