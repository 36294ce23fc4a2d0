"""Schedules: patterns cut into steps. Times and shares by hand; laws over patterns at random."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boardvet.circuit.schedule import (
    MOST_MEETINGS,
    Course,
    Meeting,
    Window,
    courses_of,
    meetings_of,
)


def light(
    start: float, duration: float, period: float, *names: str, dimmed: float = 1.0
) -> Window:
    return Window(start, duration, period, frozenset(names), (), dimmed)


def draw(start: float, duration: float, period: float, part: str, amperes: float) -> Window:
    return Window(start, duration, period, draws=((part, amperes),))


def steps(*windows: Window) -> list[tuple[list[str], float]]:
    """Return the steps of the one course that windows make: what is lit, and for how long."""
    (course,) = courses_of(windows)
    return [(sorted(step.lights), round(step.duration, 9)) for step in course.steps]


def shares(*windows: Window) -> dict[tuple[str, ...], float]:
    """Return for what is lit together its share of the time."""
    return {tuple(sorted(m.lights)): m.weight for m in meetings_of(courses_of(windows))}


# Courses


def test_a_flash_is_a_step_and_a_rest() -> None:
    assert steps(light(0.0, 0.01, 1.0, "D1")) == [(["D1"], 0.01), ([], 0.99)]


def test_equal_periods_keep_their_phase() -> None:
    """D2 begins 5 ms into the 10 ms of D1: 5 ms of D1, 5 ms of both, 5 ms of D2."""
    assert steps(light(0.0, 0.01, 0.1, "D1"), light(0.005, 0.01, 0.1, "D2")) == [
        (["D1"], 0.005),
        (["D1", "D2"], 0.005),
        (["D2"], 0.005),
        ([], 0.085),
    ]


def test_a_period_that_is_a_multiple_keeps_its_phase() -> None:
    """D1 each 0.1 s, D2 each 0.3 s half way between: they never meet in the 0.3 s."""
    both = shares(light(0.0, 0.01, 0.1, "D1"), light(0.05, 0.01, 0.3, "D2"))

    assert both == pytest.approx({("D1",): 0.1, ("D2",): 1 / 30, (): 1 - 0.1 - 1 / 30})


def test_two_multiples_of_a_third_period_make_one_course_with_it() -> None:
    """Periods of 1, 2 and 3 s repeat after 6 s: 2 s and 3 s are both tied to the 1 s."""
    (course,) = courses_of(
        [light(0, 0.1, 1, "D1"), light(0.3, 0.1, 2, "D2"), light(0.3, 0.1, 3, "D3")]
    )

    assert course.period == pytest.approx(6.0)
    assert sum(s.duration for s in course.steps if s.lights == {"D2", "D3"}) == pytest.approx(0.1)


def test_periods_that_have_nothing_in_common_are_taken_to_meet() -> None:
    """1 s and 0.7 s: each step of one with each of the other, as often as chance has it."""
    both = shares(light(0.0, 0.1, 1.0, "D1"), light(0.35, 0.07, 0.7, "D2"))

    assert both == pytest.approx({("D1", "D2"): 0.01, ("D1",): 0.09, ("D2",): 0.09, (): 0.81})


def test_a_phase_longer_than_the_period_wraps() -> None:
    assert steps(light(2.25, 0.1, 1.0, "D1")) == steps(light(0.25, 0.1, 1.0, "D1"))


def test_a_window_over_the_end_of_the_period_goes_on_at_its_beginning() -> None:
    """From 0.9 s for 0.3 s of 1 s: on until 0.2 s and from 0.9 s."""
    assert steps(light(0.9, 0.3, 1.0, "D1")) == [(["D1"], 0.2), ([], 0.7), (["D1"], 0.1)]


def test_what_goes_over_the_end_is_one_pulse() -> None:
    (course,) = courses_of([light(0.9, 0.3, 1.0, "D1")])

    assert [step.run for step in course.steps] == pytest.approx([0.3, 0.0, 0.3])


def test_things_that_follow_each_other_without_a_break_are_one_pulse() -> None:
    """8 mA for 2 ms, 15 mA for 1 ms: the cell sees 3 ms of load."""
    (course,) = courses_of([draw(0.0, 2e-3, 1.0, "U1", 8e-3), draw(2e-3, 1e-3, 1.0, "U1", 15e-3)])

    assert [step.run for step in course.steps] == pytest.approx([3e-3, 3e-3, 0.0])


@pytest.mark.parametrize("duration", [1.0, 1.5, 2.0])
def test_a_pulse_as_long_as_its_period_or_longer_is_always_on(duration: float) -> None:
    (course,) = courses_of([light(0.4, duration, 1.0, "D1")])

    assert [(step.lights, step.duration, step.run) for step in course.steps] == [
        (frozenset({"D1"}), 1.0, math.inf)
    ]


def test_what_one_part_draws_at_once_for_two_reasons_adds_up() -> None:
    (course,) = courses_of([draw(0.0, 0.2, 1.0, "U1", 1e-3), draw(0.1, 0.2, 1.0, "U1", 5e-3)])

    assert [dict(s.draws).get("U1", 0.0) for s in course.steps] == pytest.approx(
        [1e-3, 6e-3, 5e-3, 0.0]
    )


def test_an_entry_that_would_be_repeated_too_often_is_taken_to_meet_instead() -> None:
    """1 ms within a second would be a thousand steps."""
    courses = courses_of([light(0, 1e-4, 1e-3, "D1"), light(0, 0.1, 1.0, "D2")])

    assert [course.period for course in courses] == [1e-3, 1.0]


# Meetings


def test_what_is_always_on_is_in_every_meeting() -> None:
    """By hand: 10 ms of each second the flash is on beside D9 and the 1 mA of U1."""
    courses = courses_of([light(0.0, 0.01, 1.0, "D1")])

    lit, dark = meetings_of(courses, frozenset({"D9"}), {"U1": 1e-3})

    assert (lit.lights, dark.lights) == (frozenset({"D1", "D9"}), frozenset({"D9"}))
    assert (lit.weight, dark.weight) == pytest.approx((0.01, 0.99))
    assert (lit.run, dark.run) == pytest.approx((0.01, math.inf))
    assert lit.draws == dark.draws == (("U1", 1e-3),)


def test_with_nothing_that_comes_and_goes_there_is_one_meeting_for_good() -> None:
    (only,) = meetings_of((), frozenset({"D1"}))

    assert (only.weight, only.run) == (1.0, math.inf)


def test_the_draws_of_courses_that_meet_add_up() -> None:
    courses = courses_of([draw(0, 0.1, 1.0, "U1", 1e-3), draw(0, 0.07, 0.7, "U1", 5e-3)])
    drawn = {dict(m.draws).get("U1", 0.0): m.weight for m in meetings_of(courses)}

    assert drawn == pytest.approx({6e-3: 0.01, 1e-3: 0.09, 5e-3: 0.09, 0.0: 0.81})


def test_the_longest_of_the_pulses_that_meet_counts() -> None:
    courses = courses_of([light(0, 0.1, 1.0, "D1"), light(0, 0.02, 0.7, "D2")])
    (both,) = (m for m in meetings_of(courses) if len(m.lights) == 2)

    assert both.run == pytest.approx(0.1)


def test_a_dimmed_light_is_fully_on_for_its_share() -> None:
    """10 % of half a second each second is 5 % of the time, and the rest of it dark."""
    assert shares(light(0.0, 0.5, 1.0, "D1", dimmed=0.1)) == pytest.approx(
        {("D1",): 0.05, (): 0.95}
    )


def test_lights_that_are_dimmed_apart_are_on_together_as_chance_has_it() -> None:
    windows = (light(0, 1.0, 1.0, "D1", dimmed=0.1), light(0, 1.0, 1.0, "D2", dimmed=0.2))

    assert shares(*windows) == pytest.approx(
        {("D1", "D2"): 0.02, ("D1",): 0.08, ("D2",): 0.18, (): 0.72}
    )


def test_lights_that_one_entry_dims_are_on_together() -> None:
    assert shares(light(0, 1.0, 1.0, "D1", "D2", dimmed=0.1)) == pytest.approx(
        {("D1", "D2"): 0.1, (): 0.9}
    )


def test_a_light_that_flashes_while_it_is_dimmed_is_fully_on_in_the_flash() -> None:
    """Dimmed to 10 % all the time, and full for 20 ms of each 100 ms: 0.2 + 0.8 · 0.1 = 0.28."""
    on = shares(light(0, 0.1, 0.1, "D1", dimmed=0.1), light(0, 0.02, 0.1, "D1"))

    assert on[("D1",)] == pytest.approx(0.28)


def test_a_light_that_flashes_beside_one_that_stays_dimmed_is_fully_on_alone() -> None:
    """Both dimmed to 10 %, D1 flashes for 20 % of the time: then D2 still has its 10 % of it."""
    on = shares(light(0, 0.1, 0.1, "D1", "D2", dimmed=0.1), light(0, 0.02, 0.1, "D1"))

    assert on == pytest.approx({("D1", "D2"): 0.02 + 0.08, ("D1",): 0.18, (): 0.72})


def test_a_light_dimmed_twice_is_on_where_either_has_it_on() -> None:
    """1 − 0.9 · 0.8 = 0.28."""
    on = shares(light(0, 1, 1, "D1", dimmed=0.1), light(0, 1, 1, "D1", dimmed=0.2))

    assert on[("D1",)] == pytest.approx(0.28)


# Too many to combine

PERIODS = (1.0, 0.7, 1.1, 1.3, 1.7, 1.9, 2.3)
MANY = [
    draw(0.0, 0.1 * period, period, f"U{number}", (number + 1) * 1e-3)
    for number, period in enumerate(PERIODS)
]
"""Seven loads that meet: 128 ways, each on for 10 % of the time."""


def drawn_on_average(meetings: Sequence[Meeting]) -> float:
    return sum(m.weight * sum(amperes for _, amperes in m.draws) for m in meetings)


def test_many_courses_are_solved_one_by_one() -> None:
    """One step each beside the rest, the rest, and all at once: 9 in place of 128."""
    found = meetings_of(courses_of(MANY))

    assert len(found) == 9


def test_the_mean_of_many_courses_is_that_of_each_by_itself() -> None:
    """By hand: 10 % of 1 + 2 + … + 7 mA = 2.8 mA."""
    assert drawn_on_average(meetings_of(courses_of(MANY))) == pytest.approx(2.8e-3)


def test_all_that_can_be_heaviest_at_once_is_among_them() -> None:
    found = meetings_of(courses_of(MANY))
    heaviest = max(found, key=lambda m: sum(amperes for _, amperes in m.draws))

    assert [part for part, _ in heaviest.draws] == [f"U{n}" for n in range(7)]
    assert heaviest.run == pytest.approx(0.23)


def test_long_loads_beside_each_other_keep_the_mean() -> None:
    """On for 40 % each, 7 of them: steps count as differences, what is left is 1 − 2.8."""
    found = meetings_of(courses_of([w._replace(duration=4 * w.duration) for w in MANY]))

    assert drawn_on_average(found) == pytest.approx(4 * 2.8e-3)
    assert min(m.weight for m in found) == pytest.approx(-1.8)


# Laws

UNTIMED = settings(deadline=None, max_examples=60)
TIMES = st.sampled_from([1e-3, 5e-3, 0.02, 0.1, 0.25, 0.3, 0.7])
WINDOWS = st.lists(
    st.builds(
        Window,
        TIMES,
        TIMES,
        st.sampled_from([0.1, 0.2, 0.3, 0.7, 1.1, 1.3]),
        st.sampled_from([frozenset(), frozenset({"D1"}), frozenset({"D2"})]),
        st.sampled_from([(), (("U1", 1e-3),), (("U2", 5e-3),), (("U3", 2e-3),)]),
        st.sampled_from([1.0, 0.5, 0.1]),
    ),
    max_size=8,
)


def mean_of(windows: Sequence[Window]) -> float:
    """What the draws of windows take on average, each by itself."""
    return sum(
        min(w.duration / w.period, 1.0) * amperes for w in windows for _, amperes in w.draws
    )


@UNTIMED
@given(WINDOWS)
def test_the_steps_of_a_course_fill_its_period(windows: list[Window]) -> None:
    for course in courses_of(windows):
        assert sum(step.duration for step in course.steps) == pytest.approx(course.period)


@UNTIMED
@given(WINDOWS)
def test_weights_add_up_to_one(windows: list[Window]) -> None:
    assert sum(m.weight for m in meetings_of(courses_of(windows))) == pytest.approx(1.0)


@UNTIMED
@given(WINDOWS)
def test_the_mean_of_loads_that_do_not_couple_is_the_sum_of_their_own(
    windows: list[Window],
) -> None:
    meetings = meetings_of(courses_of(windows))

    assert drawn_on_average(meetings) == pytest.approx(mean_of(windows), abs=1e-12)


@UNTIMED
@given(st.lists(st.integers(1, 12), min_size=2, max_size=4), st.data())
def test_one_by_one_gives_the_mean_of_the_full_product(
    counts: list[int], data: st.DataObject
) -> None:
    """A course of n steps each; whether combined or counted as differences."""
    courses = [
        _course(f"U{number}", [data.draw(st.integers(0, 9)) for _ in range(count)])
        for number, count in enumerate(counts)
    ]
    full = sum(
        math.prod(step.duration for step in chosen)
        * sum(amperes for step in chosen for _, amperes in step.draws)
        for chosen in product(*(course.steps for course in courses))
    )

    assert drawn_on_average(meetings_of(courses)) == pytest.approx(full, abs=1e-12)


def _course(part: str, milliamperes: Sequence[int]) -> Course:
    """A second cut into equal steps with these currents."""
    length = 1.0 / len(milliamperes)
    windows = [
        draw(number * length, length, 1.0, part, each * 1e-3)
        for number, each in enumerate(milliamperes)
    ]
    (course,) = courses_of(windows)
    return course


@UNTIMED
@given(WINDOWS)
def test_the_heaviest_meeting_draws_all_that_the_courses_draw_at_most(
    windows: list[Window],
) -> None:
    """The most of each course, added up: what is asked for dips."""
    plain = [w._replace(lights=frozenset()) for w in windows]
    courses = courses_of(plain)
    most = sum(max(sum(a for _, a in step.draws) for step in course.steps) for course in courses)
    found = max(sum(a for _, a in m.draws) for m in meetings_of(courses))

    assert found == pytest.approx(most)


@UNTIMED
@given(WINDOWS)
def test_there_are_never_many_more_meetings_than_can_be_solved(windows: list[Window]) -> None:
    courses = courses_of(windows)
    steps_of_all = sum(len(course.steps) for course in courses)

    assert len(meetings_of(courses)) <= max(MOST_MEETINGS, steps_of_all + 2)


# Many dimmed lights

DIMMED = [light(0.0, 0.5, 1.0, f"D{n}", dimmed=0.1 + 0.02 * n) for n in range(20)]


def test_many_lights_dimmed_apart_are_few_meetings() -> None:
    """Twenty lights would be on and off in a million ways."""
    assert len(meetings_of(courses_of(DIMMED))) <= 24


def test_each_of_many_dimmed_lights_is_on_for_its_share() -> None:
    """Half of the time at 10 %, 12 %, … 48 %."""
    found = meetings_of(courses_of(DIMMED))
    on = {n: sum(m.weight for m in found if f"D{n}" in m.lights) for n in range(20)}

    assert on == pytest.approx({n: 0.5 * (0.1 + 0.02 * n) for n in range(20)})


def test_the_weights_of_many_dimmed_lights_add_up_to_one() -> None:
    assert sum(m.weight for m in meetings_of(courses_of(DIMMED))) == pytest.approx(1.0)


def test_all_of_many_dimmed_lights_at_once_are_among_the_meetings() -> None:
    found = meetings_of(courses_of(DIMMED))

    assert max(len(m.lights) for m in found) == 20
