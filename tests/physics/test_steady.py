"""The search for a period that ends where it starts, on maps that are written down."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from boardvet.physics.elements import Floats
from boardvet.physics.steady import Search

Map = Callable[[Floats], tuple[Floats, Floats]]


def search(
    period: Map, start: float, tolerance: float = 1e-4, most: int = 100
) -> tuple[int, float]:
    """Return after how many periods of 1 s the search has settled, and where; 1 F."""
    found = Search(np.array([[start]]), np.ones((1, 1)), 1.0, 10.0, tolerance)
    for count in range(1, most + 1):
        trial = found.trial
        found.judge(*period(trial))
        if found.settled:
            return count, float(trial[0, 0])
    raise AssertionError(f"not settled: {found.farthest}")


def linear(pace: float, rest: float) -> Map:
    """Return a period after which `pace` of the distance from the rest is left."""
    return lambda x: (rest + pace * (x - rest), np.full((1, 1, 1), pace))


def bent(knee: float) -> Map:
    """Return a period that adds 1 µV below a knee, and takes off half of what is above it."""

    def period(x: Floats) -> tuple[Floats, Floats]:
        above = x > knee
        end = np.where(above, knee + 0.5 * (x - knee), x) + 1e-6
        return end, np.where(above, 0.5, 1.0 - 1e-12)[:, :, None]

    return period


@pytest.mark.parametrize("pace", [0.0, 0.5, 0.99, 0.999999])
def test_a_linear_period_is_settled_after_a_move_or_two(pace: float) -> None:
    count, where = search(linear(pace, 2.5), 0.5)
    assert count <= 3
    assert where == pytest.approx(2.5, abs=1e-5)


def test_what_lies_beyond_a_bend_is_found() -> None:
    """By hand: above the knee at 2 V half of 2 µV goes a period, so it rests at 2.000002 V."""
    count, where = search(bent(2.0), 0.0)
    assert where == pytest.approx(2.0, abs=1e-5)
    assert count <= 25


def test_what_nothing_but_a_leak_moves_is_at_rest() -> None:
    """1 F that takes 50 pC a period of 1 s carries 50 pA, under the 0.1 nA that count as none."""
    count, where = search(lambda x: (x + 5e-11, np.ones((1, 1, 1))), 1.3)
    assert count == 1
    assert where == 1.3


def test_rows_settle_each_at_its_own_place() -> None:
    rests, paces = np.array([[1.0], [-2.0], [3.0]]), np.array([[0.1], [0.9], [0.999]])
    found = Search(np.zeros((3, 1)), np.ones((1, 1)), 1.0, 10.0, 1e-4)
    for _ in range(2):
        trial = found.trial
        found.judge(rests + paces * (trial - rests), paces[:, :, None])
    assert found.settled
    assert trial == pytest.approx(rests, abs=1e-5)
