"""Pulses of unrelated periods on one reservoir: what they take off together, and from each other.

A farad smooths everything, so that mean currents and Ohm's law tell what has to come out.
"""

from __future__ import annotations

import pytest

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.sags import Sags
from boardvet.circuit.workload import Workloads
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/holder VBAT GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3.0 V at 0 % and 2.9 V at 100 %, resistance: 50 ohm}\n"
)
FARAD = "C1 1F/5.5V VBAT GND = dielectric supercapacitor = series_resistance 0.01 ohm\n"
PARTS = "".join(
    f"U{number} module VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 0 A\n"
    for number in (1, 2, 3)
)
LIGHT = (
    "U4 mcu VCC+ VBAT GND- GND PB0 P0 = supply 1.8 to 5.5 V = sleep_current 0 A"
    " = pin_resistance 30 ohm\n"
    "R1 47 P0 N1\nD1 led N1 GND = colour red = forward_voltage 1.9 V at 10 mA\n"
)


def pattern(*entries: str) -> str:
    return "~ pattern:\n" + "".join(f"~ - {{{entry}}}\n" for entry in entries)


def lowest(*entries: str) -> float:
    (sag,) = circuit_of(CELL + FARAD + PARTS + pattern(*entries)).view(Sags).of_node("VBAT")
    return float(sag.lowest[0])


def light_current(*entries: str) -> float:
    """Return the mean current of D1 at a fresh cell, in amperes."""
    circuit = circuit_of(CELL + FARAD + PARTS + LIGHT + pattern(*entries))
    (light,) = circuit.view(Elements).of_kind(ElementKind.LED)
    (work,) = circuit.view(Workloads).all
    return sum(meeting.weight * o.light(light)[0] for meeting, o in work.typical)


def test_each_of_three_unrelated_pulses_takes_its_part_of_a_slow_reservoir() -> None:
    """By hand: 10 mA at 10 %, 10 mA at 20 % and 10 mA at 15 % are 1, 2 and 1.5 mA.

    4.5 mA on 50 ohm take 225 mV off 3 V for good, and 30 mA on 10 mohm 0.3 mV more. The largest
    alone would take 100 mV.
    """
    found = lowest(
        "part: U1, current: 10 mA, for: 11 ms, every: 110 ms",
        "part: U2, current: 10 mA, for: 26 ms, every: 130 ms",
        "part: U3, current: 10 mA, for: 25.5 ms, every: 170 ms",
    )
    assert 3.0 - found == pytest.approx(225e-3, rel=0.02)


def test_a_light_sees_what_a_pulse_of_another_period_takes_on_average() -> None:
    """10 mA for 30 % of the time and 3 mA for good are the same to a light beside a farad."""
    flash = "lights: [D1], for: 20 ms, every: 100 ms"
    alone = light_current(flash)
    beside_pulse = light_current(flash, "part: U1, current: 10 mA, for: 51 ms, every: 170 ms")
    beside_steady = light_current(flash, "part: U1, current: 3 mA")

    assert beside_steady < 0.9 * alone
    assert beside_pulse == pytest.approx(beside_steady, rel=5e-3)


def test_pulses_that_recover_before_the_next_add_nothing_to_each_other() -> None:
    """Two pulses a minute apart on 50 ohm and 100 uF, 5 ms: each finds the plates full.

    By hand: 10 mA and 20 mA for 10 time constants take 0.5 V and 1.0 V, together 1.5 V.
    """
    small = FARAD.replace("1F/5.5V", "100uF/6.3V").replace("supercapacitor", "tantalum")
    entries = (
        "part: U1, current: 10 mA, for: 50 ms, every: 61 s",
        "part: U2, current: 20 mA, for: 50 ms, every: 83 s",
    )
    circuit = circuit_of(CELL + small + PARTS + pattern(*entries))
    (sag,) = circuit.view(Sags).of_node("VBAT")
    assert 3.0 - float(sag.lowest[0]) == pytest.approx(1.5, rel=2e-3)


def test_many_lights_in_turn_are_one_that_is_on_as_long() -> None:
    """48 equal lights of 1 ms are one of 48 ms: a course of many steps keeps its reservoir."""
    count = 48
    mcu = "U4 mcu VCC+ VBAT GND- GND " + " ".join(f"PB{n} P{n}" for n in range(count))
    facts = " = supply 1.8 to 5.5 V = sleep_current 0 A = pin_resistance 30 ohm\n"
    lights = "".join(
        f"R{n} 47 P{n} N{n}\nD{n} led N{n} GND = colour red = forward_voltage 1.9 V at 10 mA\n"
        for n in range(count)
    )
    small = FARAD.replace("1F/5.5V", "470uF/6.3V").replace("supercapacitor", "polymer")

    def dip(entry: str) -> tuple[float, float]:
        circuit = circuit_of(CELL + small + mcu + facts + lights + pattern(entry))
        (sag,) = circuit.view(Sags).of_node("VBAT")
        (work,) = circuit.view(Workloads).all
        mean = sum(m.weight * o.cell_current("BT1")[0] for m, o in work.typical)
        return 3.0 - float(sag.lowest[0]), mean

    names = ", ".join(f"D{n}" for n in range(count))
    in_turn = dip(f"lights: [{names}], in_turn: yes, for: 1 ms, every: 120 ms")
    alone = dip("lights: [D0], for: 48 ms, every: 120 ms")

    assert in_turn == pytest.approx(alone, rel=2e-3)


def test_thirty_unrelated_pulses_are_solved_without_the_reservoir_on_the_safe_side() -> None:
    """Each would have to be followed beside the others: a review would take ten seconds."""
    entries = [
        f"part: U1, current: 1 mA, for: 5 ms, every: {100 + 7.13 * n} ms" for n in range(30)
    ]
    circuit = circuit_of(CELL + FARAD + PARTS + pattern(*entries))
    (work,) = circuit.view(Workloads).all
    assert work.typical is work.still
