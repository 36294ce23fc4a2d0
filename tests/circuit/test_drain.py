"""Who takes the charge of the cells, and how low each step pulls what parts need."""

from __future__ import annotations

import pytest
from tests.circuit.lives import FLAT, REGULATOR, SLOPE, STEP_UP, TEN_OHM, discharge, taken

from boardvet.circuit.cells import Cell

MANY = (
    "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 20 uA"
    " = supply 1.8 to 5 V",
    "R1 300 P0 N1",
    "D1 led N1 GND = colour red = forward_voltage 1.9 V at 10 mA",
    "R2 100k VBAT TAP",
    "R3 100k TAP GND",
    REGULATOR,
    "U3 sensor VDD+ VOUT GND- GND = sleep_current 50 uA = supply 1.6 to 3.6 V",
    "~ pattern: [{lights: [D1], for: 100 ms, every: 1 s}]",
)


def test_consumers_add_up_to_the_mean_current_the_biggest_first() -> None:
    """D1 some 0.4 mA, U3 50 µA, U1 20 µA, the divider 13 µA of the two resistors' 200 kohm, U2
    10 µA, self-discharge 0.4 µA."""
    found = discharge(*MANY, cell=SLOPE)
    names = [each.part for each in found.consumers]

    assert names == ["D1", "U3", "U1", "R3", "U2", "BT1"]
    total = sum(each.current for each in found.consumers)
    assert total == pytest.approx(found.mean_current, rel=2e-3)
    assert sum(each.share for each in found.consumers) == pytest.approx(1.0, abs=2e-3)
    assert taken(found, "U3").current == pytest.approx(50e-6, rel=1e-3)


@pytest.mark.parametrize(
    ("load", "part", "what"),
    [
        pytest.param("U3 sensor VDD+ VOUT GND- GND = sleep_current 3.3 mA = supply 1.6 to 3.6 V",
                     "U3", "itself", id="a part"),
        pytest.param("R1 1k VOUT GND", "R1", "path to ground", id="a resistor"),
        pytest.param("R1 1k VOUT N1\nD1 led N1 GND = forward_voltage 0.0001 V at 10 mA"
                     " = emission 0.1 = series_resistance 0 ohm", "D1", "lit", id="a light"),
    ],
)  # fmt: skip
def test_what_lies_behind_a_step_up_is_referred_to_the_cell(
    load: str, part: str, what: str
) -> None:
    """By hand: 3.3 V · 3.3 mA / 80 % = 13.6 mW, of an ideal 3.0 V cell 4.54 mA."""
    found = discharge(STEP_UP, load, cell=FLAT)

    assert taken(found, part, what).current == pytest.approx(3.3 * 3.3e-3 / 0.8 / 3.0, rel=2e-3)
    assert taken(found, "U2").current == pytest.approx(20e-6, rel=1e-3)
    assert sum(each.share for each in found.consumers) == pytest.approx(1.0, abs=2e-3)


def test_lights_in_series_count_once() -> None:
    board = "R1 100 VBAT N1\nD1 led N1 N2\nD2 led N2 GND\n"
    facts = "~ parts:\n~   D1-D2: {forward_voltage: 1.2 V at 10 mA, colour: infrared}"
    found = discharge(board + facts, cell=FLAT)

    assert [each.part for each in found.consumers if each.what == "lit"] == ["D1"]


def test_a_divider_behind_a_step_up_is_referred_to_the_cell_from_its_lower_resistor() -> None:
    """By hand: 3.3 V / 2 kohm = 1.65 mA there, 3.3 V · 1.65 mA / 80 % / 3.0 V = 2.27 mA here."""
    found = discharge(STEP_UP, "R1 1k VOUT TAP", "R2 1k TAP GND", cell=FLAT)

    expected = 3.3 * 1.65e-3 / 0.8 / 3.0
    assert taken(found, "R2", "path to ground").current == pytest.approx(expected, rel=2e-3)


def test_what_a_switching_regulator_feeds_and_what_it_does_not_are_told_apart() -> None:
    """1 mA straight from the cell stays 1 mA."""
    straight = "U3 sensor VDD+ VBAT GND- GND = sleep_current 1 mA = supply 1.6 to 3.6 V"
    found = discharge(STEP_UP, "R1 1k VOUT GND", straight, cell=FLAT)

    assert taken(found, "U3").current == pytest.approx(1e-3, rel=1e-3)


# When a part is at work

NEEDS = "U1 mcu VCC+ VBAT GND- GND = sleep_current 0 A = supply 2.5 to 5 V"
OTHER = "U9 sensor VDD+ VBAT GND- GND = sleep_current 0 A = supply 1.0 to 5 V"
BURST = "{part: U9, current: 50 mA, for: 20 ms, every: 1 s}"
"""Pulls the rail down by 0.5 V at 10 ohm, to less than U1 needs at 2.0 V / 1.2 V of the charge."""


@pytest.mark.parametrize(
    ("entry", "used"),
    [
        pytest.param("", (3.2 - 0.5 - 2.5) / 1.2, id="always, for all that the page says"),
        pytest.param(
            ", {part: U1, current: 1 mA, for: 20 ms, every: 1 s, after: 500 ms}",
            (3.2 - 0.01 - 2.5) / 1.2,
            id="between the bursts of the other",
        ),
        pytest.param(
            ", {part: U1, current: 1 mA, for: 20 ms, every: 1 s}",
            (3.2 - 0.51 - 2.5) / 1.2,
            id="in the bursts of the other",
        ),
    ],
)
def test_a_part_needs_its_voltage_while_it_is_at_work(entry: str, used: float) -> None:
    found = discharge(NEEDS, OTHER, f"~ pattern: [{BURST}{entry}]", cell=TEN_OHM)

    assert found.stop.reason == "U1 needs 2.5 V on VBAT"
    assert found.stop.used == pytest.approx(used, abs=1e-3)


def test_a_controller_is_at_work_while_a_pin_of_it_lights_something() -> None:
    """Its light takes some 2 mA, 20 mV of dip; by itself it draws less, at another time."""
    needs = NEEDS.replace("GND- GND", "GND- GND PB0 P0") + " = pin_resistance 30 ohm"
    light = ("R1 300 P0 N1", "D1 led N1 GND = colour red = forward_voltage 1.9 V at 2 mA")
    lit = "{lights: [D1], for: 20 ms, every: 1 s, after: 500 ms}"
    awake = "{part: U1, current: 0.5 mA, for: 20 ms, every: 1 s, after: 700 ms}"
    found = discharge(needs, OTHER, *light, f"~ pattern: [{BURST}, {lit}, {awake}]", cell=TEN_OHM)

    assert found.stop.meeting is not None
    assert found.stop.meeting.lights == {"D1"}
    assert 0.56 < found.stop.used < (3.2 - 0.005 - 2.5) / 1.2


def test_each_step_of_a_burst_dips_by_its_own_current() -> None:
    burst = (
        "{part: U9, draws: 20 mA for 20 ms then 50 mA for 20 ms then 10 mA for 20 ms, every: 1 s}"
    )
    found = discharge(OTHER, f"~ pattern: [{burst}]", cell=TEN_OHM)
    (low,) = (each for each in found.lowest if isinstance(each.subject, Cell))

    assert low.volts[0] == pytest.approx(3.2 - 0.5, abs=1e-6)
    assert low.resting[0] == pytest.approx(3.2, abs=1e-6)
    assert low.meeting[0].draws == (("U9", 50e-3),)
    assert found.mean_current == pytest.approx(0.02 * 80e-3 + TEN_OHM.loss, rel=1e-4)
