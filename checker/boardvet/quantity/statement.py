"""The values that a person states: a number, a span, a value at a condition, values in turn.

These are the forms of the intent page and of the facts files, as frozen data in SI units.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Point", "Points", "Span", "Step", "Steps"]


class Span(NamedTuple):
    """From a lowest to a highest value ("1.8 to 5.5 V"); a plain number has both equal."""

    low: float
    high: float


class Point(NamedTuple):
    """A value at a condition ("1.95 V at 10 mA"); `at` is None where none is stated."""

    value: float
    at: float | None


class Step(NamedTuple):
    """A value that lasts for a time ("8 mA for 2 ms")."""

    value: float
    duration: float


Points = tuple[Point, ...]
"""Values at conditions, in rising order of the condition."""

Steps = tuple[Step, ...]
"""Values in turn, in the order stated."""
