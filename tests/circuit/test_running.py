"""The whole board at work, against ngspice decks written by hand beside it, and by Ohm's law."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import pytest
from tests.circuit.at_work import MCU, cell, element, running, solved
from tests.circuit.decks import BLUE, RED, SCHOTTKY, spice
from tests.physics.spice import needs_ngspice

from boardvet.circuit.elements import ElementKind
from boardvet.circuit.island import Drive
from boardvet.circuit.running import Running
from boardvet.circuit.states import States
from boardvet.circuit.timeline import Timelines
from boardvet.testing import circuit_of

SHARES = (0.0, 0.5, 1.0)

# Against ngspice


class Drawn(NamedTuple):
    """A board, what is on, and the same for ngspice.

    Cards have {v} and {r} where the cell's voltage and resistance go; of the names asked of
    ngspice, those of nodes stand for dips below `above`, or the cell's own voltage.
    """

    board: str
    lights: str
    draws: Mapping[str, float]
    cards: tuple[str, ...]
    currents: Mapping[str, str]
    nodes: Mapping[str, str]
    volts: tuple[float, float] = (3.2, 2.6)
    ohms: tuple[float, float] = (12.0, 40.0)


OUTPUT = "= output 2.8 V = dropout 0.2 V at 50 mA = quiescent_current 2 uA"
BOARDS = {
    "two lights on pins that share the cell with their controller": Drawn(
        MCU + "D1 led P0 N0" + RED + "\nR1 100 N0 GND\nD2 led VBAT N1" + RED + "\nR2 47 N1 P1",
        "D1 D2",
        {"U1": 4e-3},
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iu 2 0 4m",
            "Rp 2 3 30",
            "V1 3 4 0",
            "D1 4 5 red",
            "R1 5 0 100",
            "V2 2 6 0",
            "D2 6 7 red",
            "R2 7 8 47",
            "Rq 8 0 30",
        ),
        {"D1": "i(v1)", "D2": "i(v2)", "BT1": "i(vc)"},
        {"VBAT": "v(2)"},
    ),
    "a light behind a regulator in drop-out": Drawn(
        "U2 regulator VIN+ VBAT GND- GND VOUT> VREG " + OUTPUT + "\n"
        "U1 mcu VCC+ VREG GND- GND PB0 P0 = pin_resistance 30 ohm\n"
        "R1 10 P0 N0\nD1 led N0 GND" + RED,
        "D1",
        {"U1": 20e-3},
        # 0.2 V at 50 mA, and in proportion below: 4 Ω
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iq 2 0 2u",
            "Rd 2 3 4",
            "Iu 3 0 20m",
            "Rp 3 4 30",
            "R1 4 5 10",
            "V1 5 6 0",
            "D1 6 0 red",
        ),
        {"D1": "i(v1)", "BT1": "i(vc)"},
        {"VBAT": "v(2)", "VREG": "v(3)"},
        (2.8, 2.4),
        (2.0, 4.0),
    ),
    "a light behind a regulator in regulation": Drawn(
        "U2 regulator VIN+ VBAT GND- GND VOUT> VREG " + OUTPUT + "\n"
        "U1 mcu VCC+ VREG GND- GND PB0 P0 = pin_resistance 30 ohm\n"
        "R1 10 P0 N0\nD1 led N0 GND" + RED,
        "D1",
        {"U1": 20e-3},
        # the output held at 2.8 V, and its current taken from the input with 2 µA of its own
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iq 2 0 2u",
            "Fr 2 0 Vr -1",
            "Vr 3 0 2.8",
            "Iu 3 0 20m",
            "Rp 3 4 30",
            "R1 4 5 10",
            "V1 5 6 0",
            "D1 6 0 red",
        ),
        {"D1": "i(v1)", "BT1": "i(vc)"},
        {"VBAT": "v(2)"},
        (4.2, 3.4),
        (2.0, 4.0),
    ),
    "a P-FET against reversal, and a Schottky behind it": Drawn(
        "Q1 fet/p 1:G GND 2:S SAFE 3:D VBAT = channel p = on_resistance 0.5 ohm at 3 V\n"
        "D9 diode/BAT54 SAFE VDD" + SCHOTTKY + "\nU1 mcu VCC+ VDD GND- GND",
        "",
        {"U1": 10e-3},
        ("Vc 1 0 {v}", "Rc 1 2 {r}", "Rq 2 3 0.5", "D9 3 4 schottky", "Iu 4 0 10m"),
        {"BT1": "i(vc)"},
        {"VBAT": "v(2)", "VDD": "v(4)"},
    ),
    "a lamp on the low side of an N-FET": Drawn(
        MCU + "Q1 fet/n 1:G P0 2:S GND 3:D N1 = channel n = on_resistance 2 ohm at 3 V\n"
        "R1 47 VBAT N0\nD1 led N0 N1" + RED,
        "D1",
        {"U1": 1e-3},
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iu 2 0 1m",
            "R1 2 3 47",
            "V1 3 4 0",
            "D1 4 5 red",
            "Rq 5 0 2",
        ),
        {"D1": "i(v1)", "BT1": "i(vc)"},
        {"VBAT": "v(2)"},
    ),
    "one light of an array, whose third line floats": Drawn(
        MCU + "R1 47 P0 L0\nR2 47 P1 L1\nR3 47 P2 L2\n"
        "D1 led L0 L1" + BLUE + "\nD2 led L1 L0" + BLUE + "\n"
        "D3 led L1 L2" + RED + "\nD4 led L2 L1" + RED + "\n"
        "D5 led L2 L0" + RED + "\nD6 led L0 L2" + RED,
        "D1",
        {"U1": 1e-3},
        # the third line has no pin: D6 and D4 in a row are a way beside D1
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iu 2 0 1m",
            "Rp 2 3 30",
            "R1 3 4 47",
            "V1 4 5 0",
            "D1 5 6 blue",
            "D2 6 4 blue",
            "D3 6 7 red",
            "D4 7 6 red",
            "D5 7 4 red",
            "V6 4 8 0",
            "D6 8 7 red",
            "R2 6 9 47",
            "Rq 9 0 30",
        ),
        {"D1": "i(v1)", "D6": "i(v6)", "BT1": "i(vc)"},
        {"VBAT": "v(2)", "L2": "v(7)"},
        (4.2, 3.4),
    ),
    "a light straight on the rail, which nobody named": Drawn(
        MCU + "R1 330 VBAT N0\nD1 led N0 GND" + RED,
        "",
        {"U1": 1e-3},
        ("Vc 1 0 {v}", "Rc 1 2 {r}", "Iu 2 0 1m", "R1 2 3 330", "V1 3 4 0", "D1 4 0 red"),
        {"D1": "i(v1)", "BT1": "i(vc)"},
        {"VBAT": "v(2)"},
    ),
    "a motor beside a light": Drawn(
        MCU + "R1 330 VBAT N0\nD1 led N0 GND" + RED + "\nM1 motor VBAT GND\n"
        "~ pattern: [{part: M1, current: 30 mA, for: 1 s, every: 10 s}]",
        "",
        {"M1": 30e-3, "U1": 1e-3},
        ("Vc 1 0 {v}", "Rc 1 2 {r}", "Iu 2 0 31m", "R1 2 3 330", "V1 3 4 0", "D1 4 0 red"),
        {"D1": "i(v1)", "BT1": "i(vc)"},
        {"VBAT": "v(2)"},
        (3.2, 2.6),
        (5.0, 10.0),
    ),
    "a step-up regulator": Drawn(
        "U2 regulator VIN+ VBAT GND- GND VOUT> VREG SW LX = output 3.3 V = conversion step-up "
        "= efficiency 90 % = quiescent_current 20 uA\nL1 10u VBAT LX\n"
        "U1 mcu VCC+ VREG GND- GND",
        "",
        {"U1": 20e-3},
        # 3.3 V · 20 mA / 90 % = 73.3 mW, and 20 µA of its own
        (
            "Vc 1 0 {v}",
            "Rc 1 2 {r}",
            "Iq 2 0 20u",
            "Bp 2 0 I=0.0733333333/max(v(2),0.1)",
            ".nodeset v(2)={v}",
        ),
        {"BT1": "i(vc)"},
        {"VBAT": "v(2)"},
        (1.5, 1.0),
        (0.5, 1.0),
    ),
}


@needs_ngspice
@pytest.mark.parametrize("used", SHARES)
@pytest.mark.parametrize("name", BOARDS)
def test_currents_and_dips_are_those_of_ngspice(name: str, used: float, tmp_path: Path) -> None:
    """Currents within 1 % or 1 µA, dips within 2 % or 1 mV."""
    drawn = BOARDS[name]
    volts = drawn.volts[0] + (drawn.volts[1] - drawn.volts[0]) * used
    ohms = drawn.ohms[0] + (drawn.ohms[1] - drawn.ohms[0]) * used
    wanted = (*drawn.currents.values(), *drawn.nodes.values())
    cards = [card.format(v=volts, r=ohms) for card in drawn.cards]
    expected = spice(tmp_path, *cards, wanted=wanted)
    board = cell(drawn.volts, drawn.ohms, "LR6" if volts < 2 else "CR2032") + drawn.board
    circuit, found = solved(board, drawn.lights, drawn.draws, (used,))

    for name_of, read in drawn.currents.items():
        current = (
            -found.cell_current(name_of)[0]
            if name_of == "BT1"
            else found.light(element(circuit, name_of, ElementKind.LED))[0]
        )
        assert current == pytest.approx(expected[read], rel=1e-2, abs=1e-6), name_of
    for node, read in drawn.nodes.items():
        dip = volts - found.voltage(node)[0]
        assert dip == pytest.approx(volts - expected[read], rel=2e-2, abs=1e-3), node


@needs_ngspice
@pytest.mark.parametrize(("first", "second"), [(3.0, 3.1), (3.0, 3.0), (2.5, 3.1)])
def test_two_cells_or_ed_by_diodes_share_as_in_ngspice(
    first: float, second: float, tmp_path: Path
) -> None:
    board = (
        "BT1 cell/holder + V1 - GND\nBT2 cell/holder + V2 - GND\n"
        "~ cell:\n"
        f"~   - {{part: BT1, type: CR2032, voltage: {first} V at 0 %, resistance: 10 ohm}}\n"
        f"~   - {{part: BT2, type: CR2032, voltage: {second} V at 0 %, resistance: 20 ohm}}\n"
        f"D1 diode/BAT54 V1 VDD{SCHOTTKY}\nD2 diode/BAT54 V2 VDD{SCHOTTKY}\n"
        "U1 mcu VCC+ VDD GND- GND\n"
    )
    expected = spice(
        tmp_path,
        f"V1 1 0 {first}",
        "R1 1 2 10",
        "D1 2 3 schottky",
        f"V2 4 0 {second}",
        "R2 4 5 20",
        "D2 5 3 schottky",
        "Iu 3 0 5m",
        wanted=("i(v1)", "i(v2)", "v(3)"),
    )
    found = running(board, draws={"U1": 5e-3})

    for name in ("1", "2"):
        current = found.cell_current(f"BT{name}")[0]
        assert current == pytest.approx(-expected[f"i(v{name})"], rel=1e-2, abs=1e-6)
    assert found.voltage("VDD")[0] == pytest.approx(expected["v(3)"], abs=1e-3)


# Cells, by Ohm's law


def test_a_load_pulls_the_cell_down_by_its_resistance() -> None:
    """10 mA through 12 Ω: 3.2 V − 0.12 V; half used 2.9 V − 0.26 V; at the end 2.6 V − 0.4 V."""
    _, found = solved(cell() + MCU, draws={"U1": 10e-3}, used=SHARES)

    assert found.voltage("VBAT") == pytest.approx((3.08, 2.64, 2.2))


def test_two_holders_in_series_add_their_voltages_and_resistances() -> None:
    """2 · 1.5 V less 10 mA through 0.5 Ω and 1.5 Ω; the same current in both."""
    board = (
        "BT1 cell/holder + MID - GND\nBT2 cell/holder + VBAT - MID\n"
        "~ cell:\n"
        "~   - {part: BT1, type: LR6, voltage: 1.5 V at 0 %, resistance: 0.5 ohm}\n"
        "~   - {part: BT2, type: LR6, voltage: 1.5 V at 0 %, resistance: 1.5 ohm}\n"
    )
    found = running(board + MCU, draws={"U1": 10e-3})

    assert found.voltage("VBAT")[0] == pytest.approx(2.98)
    assert found.voltage("MID")[0] == pytest.approx(1.495)
    assert found.cell_current("BT1")[0] == pytest.approx(10e-3)
    assert found.cell_current("BT2")[0] == pytest.approx(10e-3)


COIN = "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032}\n"


def dip(
    text: str, amperes: float, run: float = math.inf, temperature: float | None = None
) -> float:
    """Return by how much a load pulls the cell down from what it shows without one."""
    idle, busy = (
        solved(text, draws={"U1": current}, run=run, temperature=temperature)[1]
        for current in (0.0, amperes)
    )
    return idle.voltage("VBAT")[0] - busy.voltage("VBAT")[0]


def test_a_cold_cell_dips_deeper() -> None:
    """Lithium coins at 0 °C have 1.4 times their resistance: a maker's measurement on ML2032
    cells (zufek.com, "Coin cell low temperature"), taken for all."""
    cold, warm = (dip(COIN + MCU, 10e-3, temperature=degrees) for degrees in (0.0, None))

    assert cold == pytest.approx(1.4 * warm)


def test_a_short_pulse_dips_less() -> None:
    """10 % less in the first millisecond: J. Ganssle, "Internal resistance of coin cells"."""
    short, long, steady = (dip(COIN + MCU, 10e-3, run=run) for run in (1e-3, 1.0, math.inf))

    assert short == pytest.approx(0.9 * steady)
    assert long == pytest.approx(steady)


def test_a_load_that_the_cell_cannot_give_collapses_it() -> None:
    """1 A from 3.2 V behind 12 Ω: at most 267 mA come out of it, shorted."""
    found = running(cell() + MCU, draws={"U1": 1.0})

    assert 0.0 < found.voltage("VBAT")[0] < 0.2
    assert found.cell_current("BT1")[0] < 0.267


# Who draws from where


def test_a_part_at_rest_draws_its_sleep_current() -> None:
    assert running(cell() + MCU).cell_current("BT1")[0] == pytest.approx(1e-6, rel=1e-4)


def test_a_part_at_work_draws_what_is_stated_in_place_of_its_sleep_current() -> None:
    assert running(cell() + MCU, draws={"U1": 5e-3}).load("U1")[0] == pytest.approx(5e-3)


def test_a_part_of_unknown_sleep_current_is_listed_and_counts_nothing() -> None:
    board = cell() + MCU + "U3 sensor/XY VCC+ VBAT GND- GND"
    circuit, found = solved(board)

    assert circuit.view(Running).unknown(circuit.view(States).main) == ("U3",)
    assert found.cell_current("BT1")[0] == pytest.approx(1e-6, rel=1e-4)


def test_a_motor_draws_only_while_it_is_told_to() -> None:
    motor = "M1 motor VBAT GND\n~ pattern: [{part: M1, current: 30 mA, for: 1 s, every: 10 s}]"

    assert running(cell() + MCU + motor).cell_current("BT1")[0] == pytest.approx(1e-6, rel=1e-4)
    busy = running(cell() + MCU + motor, draws={"M1": 30e-3})
    assert busy.cell_current("BT1")[0] == pytest.approx(30.001e-3)


def test_a_motor_on_its_switch_draws_from_the_rail() -> None:
    """A motor between rail and an N-FET: what is stated of it comes from the rail."""
    motor = (
        "M1 motor VBAT SINK\nQ1 fet/n 1:G P0 2:S GND 3:D SINK = channel n\n"
        "~ pattern: [{part: M1, current: 30 mA, for: 1 s, every: 10 s}]"
    )
    found = running(cell() + MCU + motor, draws={"M1": 30e-3})

    assert found.voltage("VBAT")[0] == pytest.approx(3.2 - 12.0 * 30.001e-3)


FED_BY_PIN = (
    cell() + MCU + "U3 sensor/XY VCC+ P1 GND- GND = sleep_current 0 A = supply 1.8 to 3.6 V\n"
)


def test_what_a_part_on_a_pin_draws_comes_from_the_supply_of_that_pin() -> None:
    """2 mA of the sensor and 1 µA of the controller through the cell's 12 Ω."""
    found = running(FED_BY_PIN, draws={"U3": 2e-3})

    assert found.cell_current("BT1")[0] == pytest.approx(2e-3, rel=1e-3)
    assert found.voltage("VBAT")[0] == pytest.approx(3.2 - 12.0 * 2.001e-3, rel=1e-3)


# A load switch

SWITCHED = (
    cell()
    + MCU
    + "Q1 fet/p 1:G P0 2:S VBAT 3:D VSENS = channel p = on_resistance 1 ohm at 3 V\n"
    + "R9 100k P0 VBAT\n"
    + "U3 sensor/XY VCC+ VSENS GND- GND = sleep_current 2 uA = supply 1.8 to 3.6 V\n"
    + "R1 6.2k VSENS MID\nR2 10k MID GND\n"
)


def test_a_switched_rail_takes_nothing_while_the_part_behind_it_rests() -> None:
    """Neither the sensor's 2 µA nor 3.2 V / 16.2 kΩ of the divider: 1 µA of the controller."""
    assert running(SWITCHED).cell_current("BT1")[0] == pytest.approx(1e-6, rel=1e-2)


def test_a_switched_rail_is_off_while_the_part_behind_it_rests() -> None:
    assert running(SWITCHED).voltage("VSENS")[0] == pytest.approx(0.0, abs=1e-3)


def test_a_switched_rail_is_on_while_the_part_behind_it_is_at_work() -> None:
    """1 mA of the sensor; of the divider 3.2 V / 16.2 kΩ = 197.5 µA less what is dropped."""
    found = running(SWITCHED, draws={"U3": 1e-3})
    rail = 3.2 - 13.0 * 1.197e-3

    assert found.voltage("VSENS")[0] == pytest.approx(rail, rel=1e-3)
    assert found.voltage("MID")[0] == pytest.approx(rail * 10.0 / 16.2, rel=1e-3)
    assert found.cell_current("BT1")[0] == pytest.approx(1.001e-3 + rail / 16.2e3, rel=1e-3)


def test_a_part_at_work_elsewhere_leaves_the_switch_off() -> None:
    found = running(SWITCHED, draws={"U1": 1e-3})

    assert found.cell_current("BT1")[0] == pytest.approx(1e-3, rel=1e-2)


def test_a_load_switch_that_feeds_a_lit_light_is_on() -> None:
    board = (
        cell()
        + MCU
        + "Q1 fet/p 1:G P0 2:S VBAT 3:D VLED = channel p = on_resistance 1 ohm at 3 V\n"
        + "R9 100k P0 VBAT\nR1 100 VLED N1\nD1 led N1 P1"
        + RED
    )
    circuit, found = solved(board, "D1")

    assert found.light(element(circuit, "D1", ElementKind.LED))[0] > 1e-3


# What is said of it


def test_a_pin_tells_what_it_carries_whichever_way() -> None:
    """Low side: what the light carries goes into the pin."""
    board = cell() + MCU + "D1 led VBAT N0" + RED + "\nR1 100 N0 P0"
    circuit, found = solved(board, "D1")
    light = found.light(element(circuit, "D1", ElementKind.LED))[0]

    assert found.pin(Drive("U1", "P0", False))[0] == pytest.approx(light)


def test_a_resistor_tells_what_flows_through_it() -> None:
    """3.2 V over 20 Ω and 300 Ω: 10 mA."""
    circuit, found = solved(cell(ohms=(20.0, 40.0)) + "R1 300 VBAT GND")

    assert found.through(element(circuit, "R1", ElementKind.RESISTOR))[0] == pytest.approx(10e-3)


def test_where_no_current_comes_there_is_none_and_no_voltage() -> None:
    circuit, found = solved(cell() + MCU + "D1 led N0 N1" + RED + "\nR1 1k N1 GND", used=SHARES)

    assert found.light(element(circuit, "D1", ElementKind.LED)) == (0.0, 0.0, 0.0)
    assert found.voltage("N0") == (0.0, 0.0, 0.0)


def test_what_the_numbers_rest_on_is_told() -> None:
    found = running(cell() + MCU + "D1 led P0 N0" + RED + "\nR1 100 N0 GND", "D1")

    assert {"voltage of BT1", "resistance of BT1", "forward voltage of D1"} <= set(found.because)


# All meetings of a timeline


MIXED = (
    cell()
    + MCU
    + "D1 led P0 N0"
    + RED
    + "\nR1 100 N0 GND\nU3 sensor/XY VCC+ VBAT GND- GND = sleep_current 2 uA\n"
    + "~ pattern:\n"
    + "~   - {lights: [D1], for: 20 ms, every: 1 s}\n"
    + "~   - {part: U1, current: 3 mA, for: 50 ms, every: 1 s, after: 10 ms}\n"
    + "~   - {part: U3, current: 1 mA, for: 10 ms, every: 700 ms}\n"
)


def test_solved_together_each_meeting_is_what_it_is_alone() -> None:
    circuit = circuit_of(MIXED)
    (timeline,) = circuit.view(Timelines).all
    running_view = circuit.view(Running)
    led = element(circuit, "D1", ElementKind.LED)
    together = running_view.over(timeline, SHARES)

    assert len(together) == 8
    for meeting, found in together:
        alone = running_view.at(timeline.state, meeting, SHARES)
        assert found.light(led) == pytest.approx(alone.light(led))
        assert found.cell_current("BT1") == pytest.approx(alone.cell_current("BT1"))
        assert found.voltage("VBAT") == pytest.approx(alone.voltage("VBAT"))


def test_the_mean_of_a_pattern_is_that_of_the_worked_example() -> None:
    """Maxim, design note on real-time clocks, example 2: 150 µA for 5 % of the time and 1.5 µA
    for 95 % are 8.925 µA."""
    board = (
        cell()
        + "U1 clock VCC+ VBAT GND- GND = sleep_current 1.5 uA\n"
        + "~ pattern: [{part: U1, current: 150 uA, for: 50 ms, every: 1 s}]\n"
    )
    circuit = circuit_of(board)
    (timeline,) = circuit.view(Timelines).all
    solved_all = circuit.view(Running).over(timeline, (0.0,))

    mean = sum(meeting.weight * found.cell_current("BT1")[0] for meeting, found in solved_all)
    assert mean == pytest.approx(8.925e-6)
