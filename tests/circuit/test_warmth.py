"""Heat of the whole board: what the cells give is what the parts turn into heat."""

from __future__ import annotations

import pytest

from boardvet.circuit.running import Running
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.warmth import Warmth
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3 V at 0 % and 3 V at 100 %, resistance: 20 ohm}"
)


def test_a_resistor_across_the_cell_by_hand() -> None:
    """3 V / (20 + 280) Ω = 10 mA: 10 mA² · 280 Ω = 28 mW outside of the cell."""
    board = f"{CELL}\nR1 280R VBAT GND\nU1 mcu VCC+ VBAT GND- GND = sleep_current 0 uA"
    ((_, watts), *_) = circuit_of(board).view(Warmth).totals

    assert watts == pytest.approx(28e-3, rel=1e-4)


def test_what_the_parts_lose_is_what_the_cell_gives_over_its_pattern() -> None:
    """A different way: terminal voltage times current of the cell, step by step."""
    circuit = circuit_of(
        f"{CELL}\nU1 mcu VCC+ VBAT GND- GND = sleep_current 100 uA\n"
        "U2 regulator IN+ VBAT GND- GND OUT> V2 = output 2 V = quiescent_current 50 uA "
        "= dropout 0.1 V at 10 mA = conversion linear\n"
        "U3 mcu VCC+ V2 GND- GND = sleep_current 10 uA\n"
        "R1 100R VBAT N1\nD1 led/red N1 GND\n"
        "~ pattern: [{lights: [D1], for: 100 ms, every: 1 s}, {part: U3, current: 5 mA, "
        "for: 200 ms, every: 1 s}]"
    )
    timeline = circuit.view(Timelines).all[0]
    given = 0.0
    for meeting, at_work in circuit.view(Running).over(timeline, (0.0,)):
        volts, amperes = at_work.voltage("VBAT")[0], at_work.cell_current("BT1")[0]
        given += meeting.weight * volts * amperes

    ((_, watts), *_) = circuit.view(Warmth).totals
    assert watts == pytest.approx(given, rel=1e-3)
    assert given > 1e-3


def test_a_regulator_on_a_held_source_out_of_regulation_still_feeds_its_load() -> None:
    """0.1 V at 10 mA, so 10 Ω at 210 mA: 5 − 2.1 = 2.9 V, under the 3 V; 5 V · 210 mA in all."""
    circuit = circuit_of(
        "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
        "U2 regulator IN+ VIN GND- GND OUT> V3 = output 3 V = quiescent_current 0 uA "
        "= dropout 0.1 V at 10 mA = conversion linear\n"
        "U1 mcu VCC+ V3 GND- GND = sleep_current 0 uA\n~ pattern: [{part: U1, current: 210 mA}]"
    )
    ((_, watts),) = circuit.view(Warmth).totals

    assert watts == pytest.approx(1.05, rel=1e-3)


def test_what_is_not_known_is_listed_and_the_rest_counted() -> None:
    circuit = circuit_of("BT1 cell/holder VBAT GND\nU1 mcu VCC+ VBAT GND- GND\nR1 1k VBAT GND")

    assert {fact.key for fact in circuit.view(Warmth).missing} == {"cell"}
