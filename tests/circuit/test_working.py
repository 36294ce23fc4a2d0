"""Regulators at work, in and out of regulation, one behind another. Sums by hand, Ohm's law."""

from __future__ import annotations

import math

import pytest
from tests.circuit.at_work import cell, element, running, solved
from tests.circuit.decks import RED

from boardvet.circuit.elements import ElementKind
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import States
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

SHARES = (0.0, 0.5, 1.0)


def regulated(output: float, more: str = "", volts: tuple[float, float] = (4.2, 3.0)) -> str:
    return (
        cell(volts, (1.0, 1.0))
        + f"U2 regulator VIN+ VBAT GND- GND VOUT> VREG = output {output} V {more}\n"
        + "U1 mcu VCC+ VREG GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 0 A\n"
    )


LINEAR = "= dropout 0.2 V at 50 mA = quiescent_current 100 uA"


def test_a_linear_regulator_takes_what_it_gives_and_its_own() -> None:
    point = running(regulated(3.3, LINEAR), draws={"U1": 50e-3}).regulators["U2"]

    assert point.regulating[0]
    assert point.output_voltage[0] == 3.3
    assert point.output_current[0] == pytest.approx(50e-3)
    assert point.input_current[0] == pytest.approx(50.1e-3)
    assert point.input_voltage[0] == pytest.approx(4.2 - 50.1e-3)


def test_in_drop_out_a_regulator_is_the_resistance_of_its_drop_out() -> None:
    """Half used the cell has 3.6 V, at the end 3.0 V. With 1 Ω and 50.1 mA the input is at
    3.5499 V: enough for 3.3 V + 0.2 V. At the end 2.9499 V less 50 mA · 4 Ω leave 2.7499 V."""
    _, found = solved(regulated(3.3, LINEAR), draws={"U1": 50e-3}, used=SHARES)

    assert found.voltage("VREG") == pytest.approx((3.3, 3.3, 2.7499), rel=1e-4)
    assert list(found.regulators["U2"].regulating) == [True, True, False]


@pytest.mark.parametrize(("end", "regulates"), [(3.5501 * 1.001, True), (3.5501 * 0.999, False)])
def test_it_regulates_as_long_as_its_drop_out_is_left(end: float, regulates: bool) -> None:
    """3.3 V + 0.2 V + 1 Ω · 50.1 mA = 3.5501 V."""
    board = regulated(3.3, LINEAR, (4.2, end))
    _, found = solved(board, draws={"U1": 50e-3}, used=(1.0,))

    assert found.regulators["U2"].regulating[0] == regulates


def test_half_of_the_current_needs_half_of_the_drop_out() -> None:
    """25 mA through 4 Ω: 0.1 V. 3.45 V less 25.1 mV is above 3.4 V; with 50 mA it was not."""
    board = regulated(3.3, LINEAR, (4.2, 3.45))
    half = solved(board, draws={"U1": 25e-3}, used=(1.0,))[1]
    full = solved(board, draws={"U1": 50e-3}, used=(1.0,))[1]

    assert (half.regulators["U2"].regulating[0], full.regulators["U2"].regulating[0]) == (
        True,
        False,
    )


def test_a_drop_out_that_nobody_knows_drops_nothing() -> None:
    """The output follows the input: 3.0 V less 1 Ω · 50 mA."""
    board = regulated(3.3, "= quiescent_current 0 A")
    _, found = solved(board, draws={"U1": 50e-3}, used=(1.0,))

    assert found.voltage("VREG")[0] == pytest.approx(2.95, rel=1e-3)


ROW = (
    "U2 regulator VIN+ VBAT GND- GND VOUT> V3 = output 3.0 V = dropout 0.2 V at 50 mA "
    "= quiescent_current 100 uA\n"
    "U3 regulator VIN+ V3 GND- GND VOUT> V18 = output 1.8 V = dropout 0.1 V at 50 mA "
    "= quiescent_current 50 uA\n"
    "U1 mcu VCC+ V18 GND- GND\nU4 sensor/XY VCC+ V3 GND- GND\n"
)


def test_two_regulators_in_a_row_hand_their_currents_up() -> None:
    """20 mA at 1.8 V, 10 mA at 3 V, and 150 µA of their own."""
    board = cell((4.2, 3.6), (1.0, 1.0)) + ROW
    found = running(board, draws={"U1": 20e-3, "U4": 10e-3})

    assert found.regulators["U3"].output_current[0] == pytest.approx(20e-3)
    assert found.regulators["U2"].output_current[0] == pytest.approx(30.05e-3)
    assert found.cell_current("BT1")[0] == pytest.approx(30.15e-3)


def test_the_first_of_two_regulators_can_drop_out_alone() -> None:
    """2.8 V less 1 Ω · 30.15 mA and 4 Ω · 30.05 mA: 2.6497 V, which is plenty for 1.8 V."""
    board = cell((4.2, 2.8), (1.0, 1.0)) + ROW
    _, found = solved(board, draws={"U1": 20e-3, "U4": 10e-3}, used=(1.0,))

    assert found.voltage("V3")[0] == pytest.approx(2.6497, rel=1e-4)
    assert found.voltage("V18")[0] == pytest.approx(1.8)
    assert [found.regulators[name].regulating[0] for name in ("U2", "U3")] == [False, True]


def test_both_of_two_regulators_can_drop_out() -> None:
    """1.9 V less 30.15 mV and 4 Ω · 30.05 mA: 1.7497 V; less 2 Ω · 20 mA: 1.7097 V."""
    board = cell((4.2, 1.9), (1.0, 1.0)) + ROW
    _, found = solved(board, draws={"U1": 20e-3, "U4": 10e-3}, used=(1.0,))

    assert found.voltage("V3")[0] == pytest.approx(1.7497, rel=1e-4)
    assert found.voltage("V18")[0] == pytest.approx(1.7097, rel=1e-4)


def test_the_second_of_two_regulators_can_drop_out_alone() -> None:
    """V3 in regulation at 1.8 V + 0.05 V: too little for 1.8 V and 0.1 V at 50 mA."""
    row = ROW.replace("output 3.0 V", "output 1.85 V")
    board = cell((4.2, 3.6), (1.0, 1.0)) + row
    found = running(board, draws={"U1": 50e-3})

    assert [found.regulators[name].regulating[0] for name in ("U2", "U3")] == [True, False]
    assert found.voltage("V18")[0] == pytest.approx(1.75, rel=1e-3)
    assert found.regulators["U3"].input_voltage[0] == pytest.approx(1.85)
    assert found.regulators["U3"].output_voltage[0] == pytest.approx(1.75, rel=1e-3)
    assert found.regulators["U3"].output_current[0] == pytest.approx(50e-3, rel=1e-3)
    assert found.regulators["U3"].input_current[0] == pytest.approx(50.05e-3, rel=1e-3)
    assert found.cell_current("BT1")[0] == pytest.approx(50.15e-3, rel=1e-3)


def test_a_light_in_drop_out_follows_the_cell() -> None:
    """The light's current falls as the rail does, and is what flows into the regulator."""
    lamp = "R1 100 VREG N0\nD1 led N0 GND" + RED
    circuit, found = solved(regulated(3.3, LINEAR) + lamp, used=(0.0, 1.0))
    light = found.light(element(circuit, "D1", ElementKind.LED))

    assert light[1] < 0.85 * light[0]
    assert found.regulators["U2"].output_current == pytest.approx(light, rel=1e-6)


# Step-up

STEP_UP = (
    "U2 regulator VIN+ VBAT GND- GND VOUT> VREG SW LX = output 3.3 V = conversion step-up "
    "= efficiency 90 % = quiescent_current 0 A\nL1 10u VBAT LX\n"
    "U1 mcu VCC+ VREG GND- GND = sleep_current 0 A\n"
)


def test_a_step_up_regulator_is_a_constant_power_on_the_cell() -> None:
    """P = 3.3 V · 20 mA / 0.9 = 73.33 mW; V = (V0 + sqrt(V0² − 4·R·P))/2."""
    power = 3.3 * 20e-3 / 0.9
    _, found = solved(
        cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP, draws={"U1": 20e-3}, used=(0.0, 1.0)
    )

    assert found.voltage("VBAT") == pytest.approx(
        [(v + math.sqrt(v * v - 4 * r * power)) / 2 for v, r in ((1.5, 0.5), (1.0, 1.0))], rel=1e-3
    )
    assert found.voltage("VREG") == pytest.approx((3.3, 3.3))


@pytest.mark.parametrize(("share", "holds"), [(0.95, True), (1.05, False)])
def test_a_step_up_regulator_starves_where_the_cell_cannot_give_its_power(
    share: float, holds: bool
) -> None:
    """1 V behind 2 Ω gives at most V²/4R = 125 mW: 34.09 mA at 3.3 V and 90 %."""
    amperes = share * 1.0**2 / (4 * 2.0) * 0.9 / 3.3
    found = running(cell((1.0, 1.0), (2.0, 2.0), "LR6") + STEP_UP, draws={"U1": amperes})

    assert found.regulators["U2"].regulating[0] == holds
    assert found.regulators["U2"].output_voltage[0] == (3.3 if holds else 0.0)


@pytest.mark.parametrize("ohms", [3.5, 5.0, 10.0, 100.0])
def test_the_rail_of_a_starved_regulator_has_no_voltage(ohms: float) -> None:
    """73.3 mW from 1 V: not behind more than 3.4 Ω."""
    found = running(cell((1.0, 1.0), (ohms, ohms), "LR6") + STEP_UP, draws={"U1": 20e-3})

    assert found.voltage("VREG")[0] == 0.0


def test_a_starved_regulator_takes_no_more_than_its_source_gives() -> None:
    """1 V behind 10 Ω gives 0.1 A at most."""
    found = running(cell((1.0, 1.0), (10.0, 10.0), "LR6") + STEP_UP, draws={"U1": 20e-3})

    assert found.regulators["U2"].input_current[0] <= 0.1
    assert found.regulators["U2"].input_current[0] == pytest.approx(found.cell_current("BT1")[0])


def test_a_regulator_starves_only_where_its_cell_is_used_up() -> None:
    """1.5 V to 0.5 V behind 1 Ω gives 73.3 mW down to 0.542 V."""
    _, found = solved(
        cell((1.5, 0.5), (1.0, 1.0), "LR6") + STEP_UP,
        draws={"U1": 20e-3},
        used=(0.0, 0.5, 0.95, 0.965, 1.0),
    )

    assert found.voltage("VREG") == pytest.approx((3.3, 3.3, 3.3, 0.0, 0.0))


def test_two_step_up_regulators_share_one_cell() -> None:
    """Together a power of 73.33 mW + 2 V · 10 mA / 0.8 = 98.33 mW on 1.5 V behind 0.5 Ω."""
    second = (
        "U3 regulator VIN+ VBAT GND- GND VOUT> V2 SW LY = output 2 V = conversion step-up "
        "= efficiency 80 % = quiescent_current 0 A\nL2 10u VBAT LY\n"
        "U4 sensor/XY VCC+ V2 GND- GND\n"
    )
    found = running(
        cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP + second, draws={"U1": 20e-3, "U4": 10e-3}
    )
    power = 3.3 * 20e-3 / 0.9 + 2.0 * 10e-3 / 0.8

    assert found.voltage("VBAT")[0] == pytest.approx(
        (1.5 + math.sqrt(1.5**2 - 4 * 0.5 * power)) / 2, rel=1e-3
    )


def test_a_step_down_regulator_takes_power_and_not_current() -> None:
    """1.8 V · 20 mA / 0.9 = 40 mW from 4.2 V behind 1 Ω: V = (4.2 + sqrt(4.2² − 0.16))/2."""
    board = cell((4.2, 3.0), (1.0, 1.0)) + (
        "U2 regulator VIN+ VBAT GND- GND SW LX = output 1.8 V = conversion step-down "
        "= efficiency 90 % = quiescent_current 0 A\n"
        "L1 10u LX V18\nU1 mcu VCC+ V18 GND- GND = sleep_current 0 A\n"
    )
    found = running(board, draws={"U1": 20e-3})

    assert found.voltage("VBAT")[0] == pytest.approx((4.2 + math.sqrt(4.2**2 - 0.16)) / 2)


STEP_DOWN = (
    "U3 regulator VIN+ VREG GND- GND SW LX2 = output 1.8 V = conversion step-down "
    "= efficiency 80 % = quiescent_current 0 A\nL2 10u LX2 V18\n"
    "U4 sensor/XY VCC+ V18 GND- GND\n"
)


def test_a_switching_regulator_behind_another_takes_its_power_from_that_rail() -> None:
    """1.8 V · 20 mA / 80 % = 45 mW at 3.3 V; / 90 % = 50 mW from 1.5 V behind 0.5 Ω."""
    board = cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP + STEP_DOWN
    found = running(board, draws={"U4": 20e-3})

    assert found.regulators["U3"].input_current[0] == pytest.approx(45e-3 / 3.3)
    assert found.regulators["U2"].output_current[0] == pytest.approx(45e-3 / 3.3)
    assert found.voltage("VBAT")[0] == pytest.approx(
        (1.5 + math.sqrt(1.5**2 - 4 * 0.5 * 50e-3)) / 2, rel=1e-3
    )


BEHIND_LINEAR = (
    "U2 regulator VIN+ VBAT GND- GND VOUT> V3 = output 3.0 V = dropout 0.2 V at 50 mA "
    "= quiescent_current 0 A\n"
    "U3 regulator VIN+ V3 GND- GND VOUT> V5 SW LX = output 5 V = conversion step-up "
    "= efficiency 90 % = quiescent_current 0 A\nL1 10u V3 LX\n"
    "U4 sensor/XY VCC+ V5 GND- GND\n"
)


def test_a_step_up_behind_a_linear_regulator_takes_its_power_from_that_rail() -> None:
    """5 V · 10 mA / 90 % = 55.6 mW at 3 V are 18.5 mA, which the linear one hands up."""
    found = running(cell((4.2, 2.8), (1.0, 1.0)) + BEHIND_LINEAR, draws={"U4": 10e-3})

    assert found.cell_current("BT1")[0] == pytest.approx(5 * 10e-3 / 0.9 / 3.0, rel=1e-3)
    assert found.regulators["U3"].regulating[0]


def test_a_step_up_behind_a_linear_regulator_in_drop_out_takes_it_through_that() -> None:
    """2.8 V behind 1 Ω and 4 Ω: V3 = (2.8 + sqrt(2.8² − 4 · 5 · 55.6 mW))/2."""
    _, found = solved(
        cell((4.2, 2.8), (1.0, 1.0)) + BEHIND_LINEAR, draws={"U4": 10e-3}, used=(1.0,)
    )
    rail = (2.8 + math.sqrt(2.8**2 - 4 * 5 * 5 * 10e-3 / 0.9)) / 2

    assert found.voltage("V3")[0] == pytest.approx(rail, rel=1e-3)
    assert found.voltage("V5")[0] == pytest.approx(5.0)


def test_a_linear_regulator_behind_a_step_up_hands_its_current_up() -> None:
    """20 mA at 1.8 V are 20 mA at 3.3 V: 73.3 mW from 1.5 V behind 0.5 Ω."""
    linear = (
        "U3 regulator VIN+ VREG GND- GND VOUT> V18 = output 1.8 V = dropout 0.2 V at 50 mA "
        "= quiescent_current 0 A\nU4 sensor/XY VCC+ V18 GND- GND\n"
    )
    found = running(cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP + linear, draws={"U4": 20e-3})

    assert found.voltage("VBAT")[0] == pytest.approx(
        (1.5 + math.sqrt(1.5**2 - 4 * 0.5 * 3.3 * 20e-3 / 0.9)) / 2, rel=1e-3
    )


@pytest.mark.parametrize(
    ("amperes", "share"), [(0.5e-3, 0.6), (1e-3, 0.6), (10.5e-3, 0.75), (20e-3, 0.9), (40e-3, 0.9)]
)
def test_the_efficiency_is_that_at_the_current_it_gives(amperes: float, share: float) -> None:
    """60 % at 1 mA and 90 % at 20 mA: 75 % half way between, the ends beyond."""
    text = (cell((1.5, 1.5), (0.1, 0.1), "LR6") + STEP_UP).replace(
        "efficiency 90 %", "efficiency 60 % at 1 mA and 90 % at 20 mA"
    )
    point = running(text, draws={"U1": amperes}).regulators["U2"]

    power = point.input_voltage[0] * point.input_current[0]
    assert power == pytest.approx(3.3 * amperes / share, rel=1e-3)


def test_an_efficiency_that_nobody_knows_is_assumed_and_said() -> None:
    """80 %: small switching regulators give 75 to 92 % at milliamperes, from memory."""
    text = (cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP).replace("= efficiency 90 % ", "")
    circuit = circuit_of(text)
    meeting = Meeting(frozenset(), (("U1", 20e-3),), 1.0, math.inf)
    with circuit.noting() as noted:
        found = circuit.view(Running).at(circuit.view(States).main, meeting)

    point = found.regulators["U2"]
    assert point.input_voltage[0] * point.input_current[0] == pytest.approx(
        3.3 * 20e-3 / 0.8, rel=1e-3
    )
    assert noted["efficiency of U2"].source.startswith("assumed")


def test_an_efficiency_is_asked_for_where_nothing_may_be_assumed() -> None:
    text = (cell((1.5, 1.0), (0.5, 1.0), "LR6") + STEP_UP).replace("= efficiency 90 % ", "")
    circuit = circuit_of(text, assume_nothing=True)
    meeting = Meeting(frozenset(), (("U1", 20e-3),), 1.0, math.inf)
    with pytest.raises(MissingFact) as raised:
        circuit.view(Running).at(circuit.view(States).main, meeting)

    assert (raised.value.of, raised.value.key) == ("U2", "efficiency")


def test_an_output_voltage_that_nobody_knows_is_asked_for() -> None:
    board = (
        cell() + "U2 regulator VIN+ VBAT GND- GND VOUT> VREG\nU1 mcu VCC+ VREG GND- GND PB0 P0\n"
    )
    with pytest.raises(MissingFact) as raised:
        running(board)

    assert (raised.value.of, raised.value.key) == ("U2", "output")


def test_a_regulator_takes_no_current_back_from_its_rail() -> None:
    """A pull-up from 4.2 V brings 0.24 mA to an idle rail of 1.8 V: none goes back to the cell."""
    found = running(regulated(1.8, "= dropout 0.2 V at 50 mA") + "R1 10k VBAT VREG\n")

    assert found.regulators["U2"].output_current[0] == 0.0
    assert found.regulators["U2"].input_current[0] >= 0.0
