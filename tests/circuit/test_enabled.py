"""Regulators that a pin switches off are off while no pattern needs them. By Ohm's law."""

from __future__ import annotations

import pytest

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.running import Running
from boardvet.circuit.states import States
from boardvet.circuit.timeline import Timelines
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/holder + VBAT - GND\n"
    "~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh, voltage: 4 V at 0 %,"
    " resistance: 0 ohm}\n"
)
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 ON = supply 1.8 to 5.5 V = sleep_current 0 A\n"
BOOST = (
    "U2 regulator VIN+ VBAT VOUT> V5 EN< {enable} GND- GND = output 5 V = conversion step-up"
    " = efficiency 80 % = quiescent_current 10 uA\n"
)
SENSOR = "U3 sensor VDD+ {rail} GND- GND = supply 2.7 to 5.5 V = sleep_current 1 mA\n"
BURST = "~ pattern: [{part: U3, current: 8 mA, for: 100 ms, every: 1 s}]\n"


def board(enable: str = "ON", rail: str = "V5", more: str = BURST, mcu: str = MCU) -> Circuit:
    return circuit_of(CELL + mcu + BOOST.format(enable=enable) + SENSOR.format(rail=rail) + more)


def resting(circuit: Circuit) -> float:
    """Return what the cell gives while nothing of the pattern is on."""
    (timeline,) = circuit.view(Timelines).all
    (still,) = (m for m in timeline.meetings if not m.draws and not m.lights)
    (state,) = circuit.view(States).all
    return float(circuit.view(Running).at(state, still).cell_current("BT1")[0])


def test_a_booster_that_a_pin_enables_takes_nothing_at_rest() -> None:
    assert resting(board()) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("enable", ["VBAT", "."])
def test_one_that_nothing_switches_takes_its_own_and_what_rests_behind_it(enable: str) -> None:
    """1 mA · 5 V / 0.8 / 4 V = 1.5625 mA, and 10 µA."""
    assert resting(board(enable)) == pytest.approx(1.5725e-3, rel=1e-4)


def test_the_mean_counts_it_while_it_is_on() -> None:
    """8 mA · 5 V / 0.8 / 4 V = 12.5 mA, and 10 µA, for a tenth of the time: 1.251 mA."""
    life = board().view(Discharge)

    assert float(life.drawn[0]) == pytest.approx(1.251e-3, rel=1e-4)
    own = next(values for draw, values in life.draws.items() if draw.part == "U2")
    assert float(own[0]) == pytest.approx(1e-6, rel=1e-3)


def test_one_that_no_pattern_needs_counts_as_on() -> None:
    """Nobody said when it is on: 1.5725 mA all the time, the pessimistic way."""
    life = board(more="").view(Discharge)

    assert float(life.drawn[0]) == pytest.approx(1.5725e-3, rel=1e-4)


def test_one_that_feeds_its_own_controller_stays_on() -> None:
    """A soft latch: U1 lives on the boosted rail."""
    latched = MCU.replace("VCC+ VBAT", "VCC+ V5")

    assert resting(board(mcu=latched)) == pytest.approx(1.5725e-3, rel=1e-4)


def test_what_is_behind_one_that_is_off_is_off_too() -> None:
    behind = (
        "U4 regulator VIN+ V5 VOUT> V3 GND- GND = output 3 V = quiescent_current 100 uA"
        " = dropout 100 mV at 10 mA\n"
    )
    circuit = board(rail="V3", more=behind + BURST)

    assert resting(circuit) == pytest.approx(0.0, abs=1e-9)
    assert float(circuit.view(Discharge).drawn[0]) == pytest.approx(
        0.1 * (8.1e-3 * 5.0 / 0.8 / 4.0 + 10e-6), rel=1e-4
    )


def test_a_light_that_is_lit_keeps_it_on() -> None:
    """3 V across 1 kΩ and the light at 2 V: 3 mA · 5 V / 0.8 / 4 V = 4.6875 mA."""
    light = (
        "R1 1k V5 N1\nD1 led/red N1 GND = forward_voltage 2 V at 3 mA\n"
        "~ pattern: [{lights: [D1]}]\n"
    )
    circuit = circuit_of(CELL + MCU + BOOST.format(enable="ON") + light)

    assert float(circuit.view(Discharge).drawn[0]) == pytest.approx(4.6975e-3, rel=1e-3)


def test_a_part_behind_one_that_is_off_does_not_stop_the_board() -> None:
    """U3 needs 2.7 V; the rail is at 0 V at rest, and that is no failure."""
    assert board().view(Discharge).stop.used == 1.0


def test_bursts_behind_one_that_is_off_between_them_are_followed_in_time() -> None:
    """2 Ω and 1000 µF are 2 ms, so that each burst of 100 ms pulls 12.6 mA · 2 Ω = 25 mV."""
    cell = CELL.replace("0 ohm", "2 ohm")
    reservoir = "C1 1000u VBAT GND = dielectric polymer = voltage_rating 10 V\n"
    circuit = circuit_of(
        cell + MCU + BOOST.format(enable="ON") + SENSOR.format(rail="V5") + reservoir + BURST
    )
    life = circuit.view(Discharge)
    low = next(each for each in life.lowest if getattr(each.subject, "reference", "") == "U3")

    assert float(low.volts.min()) == pytest.approx(5.0, abs=1e-3)
    assert float(life.drawn[0]) == pytest.approx(0.1 * 12.59e-3, rel=5e-3)
