"""Cuts entries of a pattern into steps: what is on together, for how long, how often.

Entries whose periods are equal or multiples of each other keep their phase and make one *course*.
Courses whose periods have nothing to do with each other are taken to meet: any step of one can
fall together with any step of another, as often as chance has it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import reduce
from itertools import pairwise, product
from typing import NamedTuple

__all__ = [
    "Course",
    "Meeting",
    "Step",
    "Window",
    "courses_of",
    "heaviness",
    "meetings_of",
]

MOST_MEETINGS = 64
"""Up to here every combination of steps is solved; beyond it each course by itself, and what is
heaviest of each together."""

MOST_WINDOWS = 400
"""Entries that would be repeated more often than this in one course are taken to meet instead."""

_SAME = 1e-9
_LIGHT = 5e-3
"""What a light is worth beside a stated current when the heaviest step is looked for. [A]"""


class Window(NamedTuple):
    """When something is on: from `start` for `duration`, again each `period`, in seconds.

    `dimmed` is the share of that time in which its lights are really on.
    """

    start: float
    duration: float
    period: float
    lights: frozenset[str] = frozenset()
    draws: tuple[tuple[str, float], ...] = ()
    dimmed: float = 1.0


class Step(NamedTuple):
    """A stretch of a course in which the same things are on.

    Parameters
    ----------
    lights : frozenset of str
        References of what is lit.
    draws : tuple of (str, float)
        What parts draw, by reference. [A]
    duration : float
        How long it lasts. [s]
    run : float
        How long something of the course is on without a break around it; 0 for rest. [s]
    dimmed : tuple of (frozenset of str, float)
        Lights that are dimmed, and for which share of the step they are really on.
    """

    lights: frozenset[str]
    draws: tuple[tuple[str, float], ...]
    duration: float
    run: float
    dimmed: tuple[tuple[frozenset[str], float], ...] = ()

    @property
    def rests(self) -> bool:
        """True where nothing of the course is on."""
        return not self.lights and not self.draws


class Course(NamedTuple):
    """Steps that follow each other for ever; their durations add up to the period in seconds."""

    period: float
    steps: tuple[Step, ...]


class Meeting(NamedTuple):
    """What is on together.

    Parameters
    ----------
    lights : frozenset of str
        References of what is lit.
    draws : tuple of (str, float)
        What parts draw, by reference. [A]
    weight : float
        With which it counts in a mean; the weights add up to 1. It is the share of the time,
        except where the courses are too many to combine: then steps count as differences.
    run : float
        Longest pulse in it, infinite where it is always on. [s]
    """

    lights: frozenset[str]
    draws: tuple[tuple[str, float], ...]
    weight: float
    run: float


def courses_of(windows: Sequence[Window]) -> tuple[Course, ...]:
    """Return the courses that windows make, those of the shortest period first."""
    groups: list[list[Window]] = []
    for window in sorted(windows, key=lambda w: w.period):
        related = [g for g in groups if any(_multiple(window.period, w.period) for w in g)]
        merged = [w for group in related for w in group] + [window]
        if _repeats(merged) > MOST_WINDOWS:
            groups.append([window])
            continue
        groups = [g for g in groups if g not in related] + [merged]
    return tuple(_course(group) for group in groups)


def meetings_of(
    courses: Sequence[Course],
    lights: frozenset[str] = frozenset(),
    draws: Mapping[str, float] | None = None,
) -> tuple[Meeting, ...]:
    """Return what can be on together, with what is always on.

    Parameters
    ----------
    courses : sequence of Course
        What comes and goes.
    lights : frozenset of str
        What is always lit.
    draws : mapping of str to float
        What parts always draw. [A]

    Examples
    --------
    A flash of 10 ms each second beside something that is always on:

    >>> flash = Window(0.0, 0.01, 1.0, frozenset({"D1"}))
    >>> for each in meetings_of(courses_of([flash]), draws={"U1": 1e-3}):
    ...     print(sorted(each.lights), each.draws, round(each.weight, 9), each.run)
    ['D1'] (('U1', 0.001),) 0.01 0.01
    [] (('U1', 0.001),) 0.99 inf
    """
    steady = Step(lights, tuple(sorted((draws or {}).items())), 1.0, math.inf)
    merged = [_merged(course) for course in courses]
    if math.prod(map(len, merged)) <= MOST_MEETINGS:
        found = [_together(steady, chosen) for chosen in product(*merged)]
    else:
        found = list(_one_by_one(steady, merged))
    return tuple(_equal_joined(found))


def _multiple(long: float, short: float) -> bool:
    ratio = long / short
    return abs(ratio - round(ratio)) <= 1e-6 * ratio


def _hyperperiod(windows: Sequence[Window]) -> float:
    """Return the least common multiple of the periods."""
    shortest = min(w.period for w in windows)
    ratios = {Fraction(w.period / shortest).limit_denominator(1000) for w in windows}
    above = math.lcm(*(r.numerator for r in ratios))
    below = reduce(math.gcd, (r.denominator for r in ratios))
    return shortest * above / below


def _repeats(windows: Sequence[Window]) -> float:
    whole = _hyperperiod(windows)
    return sum(whole / w.period for w in windows)


def _course(windows: Sequence[Window]) -> Course:
    whole = _hyperperiod(windows)
    spans = [span for window in windows for span in _spans(window, whole)]
    borders = sorted({0.0, whole, *(t for start, end, _ in spans for t in (start, end))})
    cuts = [borders[0]]
    for border in borders[1:]:
        if border - cuts[-1] > _SAME * whole:
            cuts.append(border)
    steps = [
        _step([w for start, end, w in spans if start <= (a + b) / 2 < end], b - a)
        for a, b in pairwise(cuts)
    ]
    return Course(whole, tuple(_with_runs(steps)))


def _spans(window: Window, whole: float) -> Iterator[tuple[float, float, Window]]:
    """Yield where a window is on within the whole, cut where it goes over its end."""
    if window.duration >= window.period * (1 - _SAME):
        yield 0.0, whole, window
        return
    for number in range(round(whole / window.period)):
        start = (window.start + number * window.period) % whole
        start = 0.0 if whole - start <= _SAME * whole else start
        end = start + window.duration
        yield start, min(end, whole), window
        if end > whole * (1 + _SAME):
            yield 0.0, end - whole, window


def _step(windows: Sequence[Window], duration: float) -> Step:
    draws: dict[str, float] = {}
    for window in windows:
        for part, current in window.draws:
            draws[part] = draws.get(part, 0.0) + current
    full = frozenset[str]().union(*(w.lights for w in windows if w.dimmed >= 1.0))
    return Step(
        frozenset().union(*(w.lights for w in windows)),
        tuple(sorted(draws.items())),
        duration,
        0.0,
        tuple((w.lights - full, w.dimmed) for w in windows if w.lights - full),
    )


def _with_runs(steps: Sequence[Step]) -> Iterator[Step]:
    """Give each step the length of the unbroken activity around it, over the end as well."""
    resting = [index for index, step in enumerate(steps) if step.rests]
    if not resting:
        yield from (step._replace(run=math.inf) for step in steps)
        return
    first = resting[0]
    runs: dict[int, float] = {}
    group: list[int] = []
    for index in [*range(first, len(steps)), *range(first + 1)]:
        if not steps[index].rests:
            group.append(index)
            continue
        length = sum(steps[each].duration for each in group)
        runs.update(dict.fromkeys(group, length))
        group = []
    yield from (step._replace(run=runs.get(index, 0.0)) for index, step in enumerate(steps))


def _merged(course: Course) -> list[Step]:
    """Return the different steps of a course, their durations as shares of the time."""
    found: dict[tuple[object, ...], Step] = {}
    for step in course.steps:
        for share, lights in _dimmed(step):
            key = (lights, step.draws)
            before = found.get(key)
            part = step.duration * share / course.period
            known = (before.duration, before.run) if before else (0.0, 0.0)
            found[key] = Step(lights, step.draws, known[0] + part, max(known[1], step.run))
    return list(found.values())


def _dimmed(step: Step) -> Iterator[tuple[float, frozenset[str]]]:
    """Yield the ways in which dimmed lights of a step are on and off, with their shares.

    Where there are too many ways, each light on by itself counts as a difference to all dark;
    all on together, which the dip is asked for, has no share of its own then.
    """
    full = step.lights.difference(*(lights for lights, _ in step.dimmed))
    if 2 ** len(step.dimmed) > MOST_MEETINGS:
        yield 1.0 - sum(part for _, part in step.dimmed), full
        yield from ((part, full | lights) for lights, part in step.dimmed)
        yield 0.0, step.lights
        return
    for chosen in product((True, False), repeat=len(step.dimmed)):
        share, on = 1.0, full
        for is_on, (lights, part) in zip(chosen, step.dimmed, strict=True):
            share *= part if is_on else 1.0 - part
            on |= lights if is_on else frozenset()
        if share > 0.0:
            yield share, on


def _together(steady: Step, chosen: Sequence[Step], weight: float | None = None) -> Meeting:
    draws: dict[str, float] = {}
    for step in (steady, *chosen):
        for part, current in step.draws:
            draws[part] = draws.get(part, 0.0) + current
    active = [step.run for step in chosen if not step.rests]
    return Meeting(
        frozenset().union(steady.lights, *(step.lights for step in chosen)),
        tuple(sorted(draws.items())),
        math.prod(step.duration for step in chosen) if weight is None else weight,
        max(active, default=math.inf),
    )


def _one_by_one(steady: Step, merged: Sequence[Sequence[Step]]) -> Iterator[Meeting]:
    """Yield each step of each course beside the longest ones of the others, and the heaviest.

    Each step counts as the difference that it makes: the longest ones together take what is left
    of the weight.
    """
    longest = [max(steps, key=lambda step: step.duration) for steps in merged]
    rest = 1.0
    for number, steps in enumerate(merged):
        for step in steps:
            if step is not longest[number]:
                rest -= step.duration
                chosen = [*longest[:number], step, *longest[number + 1 :]]
                yield _together(steady, chosen, step.duration)
    yield _together(steady, longest, rest)
    yield _together(steady, [max(steps, key=heaviness) for steps in merged], 0.0)


def heaviness(step: Step) -> float:
    """Return what a step weighs when the heaviest is looked for, in amperes or so."""
    return _LIGHT * len(step.lights) + sum(current for _, current in step.draws)


def _equal_joined(meetings: Sequence[Meeting]) -> Iterator[Meeting]:
    found: dict[tuple[object, ...], Meeting] = {}
    for meeting in meetings:
        before = found.get(meeting[:2])
        if before is not None:
            weight = before.weight + meeting.weight
            meeting = meeting._replace(weight=weight, run=max(before.run, meeting.run))
        found[meeting[:2]] = meeting
    yield from found.values()
