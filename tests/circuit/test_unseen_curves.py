"""Cells whose voltage falls off a cliff, emptied in plain Python in 2,000 steps beside boards."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from tests.circuit.emptied import STEPS, YEAR, Light

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.workload import Workloads
from boardvet.testing import circuit_of

CHARGE = 360.0
LOSS = 0.015 * CHARGE / YEAR
WHITE = Light(3.0, 2.5, 15.0, 47.0)

Points = tuple[tuple[float, float], ...]
CLIFFS: dict[str, Points] = {
    "at the end": ((0.0, 3.6), (0.91, 3.4), (0.94, 2.9), (1.0, 1.0)),
    "at the beginning": ((0.0, 3.3), (0.03, 2.4), (1.0, 2.1)),
    "all the way to a quarter": ((0.0, 3.3), (0.25, 1.2), (1.0, 1.0)),
    "of two steps": ((0.0, 3.5), (0.4, 3.4), (0.43, 2.6), (0.8, 2.5), (0.82, 1.5), (1.0, 1.4)),
}


def at(points: Points, used: float) -> float:
    """Return a value on straight lines between points."""
    for (left, high), (right, low) in pairwise(points):
        if used <= right:
            return high + (low - high) * (used - left) / (right - left)
    return points[-1][1]


def emptied(points: Points, ohms: float, sleep: float) -> float:
    """Return after how long the charge is gone, in seconds."""
    total = 0.0
    for step in range(STEPS):
        volts = at(points, (step + 0.5) / STEPS)
        # the light takes the whole resistance of the cell; what sleeps beside it moves nothing
        drawn = WHITE.drawn(volts, ohms) + sleep
        total += CHARGE / STEPS / (drawn + LOSS)
    return total


@pytest.mark.parametrize("sleep", [1e-7, 2e-5])
@pytest.mark.parametrize("name", CLIFFS)
def test_a_light_that_goes_dark_over_a_cliff_is_followed_down(name: str, sleep: float) -> None:
    points = CLIFFS[name]
    voltage = " and ".join(f"{volts} V at {100 * used:g} %" for used, volts in points)
    circuit = circuit_of(
        f"BT1 cell/holder VBAT GND\n~ cell: {{part: BT1, type: CR2032, capacity: {CHARGE} C, "
        f"voltage: {voltage}, resistance: 20 ohm, stop: 0.1 V}}\n"
        f"U1 mcu VCC+ VBAT GND- GND = sleep_current {sleep} A = supply 0.2 to 5 V\n"
        f"R1 47 VBAT N1\nD1 led N1 GND{WHITE.facts}"
    )
    expected = emptied(points, 20.0, sleep)
    assert math.isfinite(expected)
    assert circuit.view(Discharge).run_time == pytest.approx(expected, rel=0.03)


def test_a_voltage_that_cannot_be_is_solved_at_a_few_hundred_shares_all_the_same() -> None:
    """A million volts, a slip of the pen, would be ten million steps of 0.1 V."""
    circuit = circuit_of(
        "BT1 cell/holder VBAT GND\n~ cell: {part: BT1, type: CR2032, "
        "voltage: 1000000 V at 0 % and 0 V at 100 %}\nR1 10k VBAT GND"
    )
    assert len(circuit.view(Workloads).used) < 500
