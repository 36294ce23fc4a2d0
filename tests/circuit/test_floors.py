"""Floors: the voltages below which parts stop, as the page and data sheets state them."""

from __future__ import annotations

from boardvet.circuit.floors import Floors
from boardvet.testing import circuit_of

CELL = "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032}\n"


def floors(*lines: str) -> Floors:
    return circuit_of(CELL + "\n".join(lines)).view(Floors)


def found(*lines: str) -> list[tuple[str, str, float, str]]:
    return [
        (each.reference, each.node, round(each.volts.value, 9), each.why)
        for each in floors(*lines).all
    ]


MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 = supply 1.8 to 3.6 V"


def test_a_part_needs_its_least_supply() -> None:
    assert found(MCU) == [("U1", "VBAT", 1.8, "needs")]


def test_a_brown_out_above_the_least_supply_counts() -> None:
    assert found(MCU + " = brown_out 2.7 V") == [("U1", "VBAT", 2.7, "resets below")]


def test_a_brown_out_below_the_least_supply_does_not() -> None:
    assert found(MCU + " = brown_out 1.7 V") == [("U1", "VBAT", 1.8, "needs")]


def test_a_brown_out_at_the_least_supply_is_what_stops_it() -> None:
    assert found(MCU + " = brown_out 1.8 V") == [("U1", "VBAT", 1.8, "resets below")]


def test_what_ends_the_run_is_said_in_words() -> None:
    (floor,) = floors(MCU + " = brown_out 2.7 V").all

    assert floor.reason == "U1 resets below 2.7 V on VBAT"


def test_the_limit_knows_where_it_was_read() -> None:
    (floor,) = floors(MCU).all

    assert floor.volts.source.startswith("intent")


def test_a_faster_clock_needs_more() -> None:
    """2.7 V from 8 MHz on."""
    clocked = MCU + " = clock 8 MHz = supply_min 1.8 V at 1 MHz and 2.7 V at 8 MHz"

    assert found(clocked) == [("U1", "VBAT", 2.7, "needs")]


def test_every_part_on_the_cell_has_its_own() -> None:
    sensor = "U3 sensor/XY VCC+ VBAT GND- GND = supply 2.4 to 3.6 V"

    assert found(MCU, sensor) == [("U1", "VBAT", 1.8, "needs"), ("U3", "VBAT", 2.4, "needs")]


def test_a_part_of_unknown_supply_is_listed() -> None:
    board = floors(MCU, "U3 sensor/XY VCC+ VBAT GND- GND")

    assert board.unknown == ("U3",)
    assert [each.reference for each in board.all] == ["U1"]


def test_a_part_that_only_another_source_feeds_has_none() -> None:
    usb = "J1 usb-connector 1:VBUS V5 2:GND GND 3:D+ . 4:D- ."

    assert found(usb, "U3 sensor/XY VCC+ V5 GND- GND = supply 4.5 to 5.5 V") == []


def test_a_back_up_pin_has_none() -> None:
    clock = "U3 clock 1:VCC . 2:VBAT VBAT 3:GND- GND = supply 2.7 to 5 V"

    assert found(clock + " = pins {2: back-up supply}") == []


def test_the_rail_that_a_part_makes_itself_asks_nothing_of_it() -> None:
    """Its core takes what its own regulator gives: only VBAT is judged."""
    core = "U1 mcu VCC+ VBAT GND- GND 3:VREG_OUT> CORE 4:DVDD+ CORE = supply 1.8 to 3.6 V"

    assert found(core + " = pins {3: supply output}") == [("U1", "VBAT", 1.8, "needs")]


def test_a_pin_of_another_range_than_the_stated_one_is_unknown() -> None:
    """VBUS of a module is the input of a regulator inside; `supply` is said of its VDD."""
    module = "U3 mcu VBUS+ VBAT GND- GND VDD+ V3 = supply 1.8 to 3.6 V"

    assert floors(module).unknown == ("U3",)


# Regulators

LINEAR = "U2 regulator VIN+ VBAT GND- GND VOUT> VREG = output 2.5 V = dropout 0.1 V at 50 mA"
BEHIND = "U1 mcu VCC+ VREG GND- GND PB0 P0 = supply 1.8 to 3.6 V"
STEP_UP = (
    "U2 regulator VIN+ VBAT GND- GND VOUT> VREG SW LX = output 3.3 V = conversion step-up\n"
    "L1 10u VBAT LX"
)


def test_what_is_behind_a_regulator_says_what_its_rail_needs() -> None:
    assert found(LINEAR, BEHIND) == [("U1", "VREG", 1.8, "needs")]


def test_a_rail_of_which_nothing_says_what_it_needs_must_stay_in_regulation() -> None:
    """98 % of 2.5 V: drop-out is where the output has fallen by 2 % (Microchip DS22049E)."""
    assert found(LINEAR, "R1 1k VREG GND") == [("U2", "VREG", 2.45, "falls below")]


def test_a_rail_whose_part_is_unknown_must_stay_in_regulation() -> None:
    board = LINEAR, "U3 sensor/XY VCC+ VREG GND- GND"

    assert found(*board) == [("U2", "VREG", 2.45, "falls below")]
    assert floors(*board).unknown == ("U3",)


def test_a_rail_that_only_feeds_another_regulator_asks_nothing_of_its_own() -> None:
    """The second regulator works on in drop-out of the first: its own rail says what it needs."""
    second = "U3 regulator VIN+ VREG GND- GND VOUT> V18 = output 1.8 V = dropout 0.1 V at 50 mA"
    needs = "U1 mcu VCC+ V18 GND- GND = supply 1.7 to 2 V"

    assert found(LINEAR, second, needs) == [("U1", "V18", 1.7, "needs")]


def test_such_a_rail_must_stay_in_regulation_for_an_unknown_part_beside_it() -> None:
    second = "U3 regulator VIN+ VREG GND- GND VOUT> V18 = output 1.8 V = dropout 0.1 V at 50 mA"
    needs = "U1 mcu VCC+ V18 GND- GND = supply 1.7 to 2 V"
    unknown = "U4 sensor/XY VCC+ VREG GND- GND"

    assert ("U2", "VREG", 2.45, "falls below") in found(LINEAR, second, needs, unknown)


def test_a_step_up_regulator_stops_at_its_own_least_input() -> None:
    step_up = STEP_UP.replace("step-up\n", "step-up = supply 0.9 to 5 V\n")

    assert ("U2", "VBAT", 0.9, "needs") in found(step_up, BEHIND)


def test_a_step_up_regulator_of_unknown_least_input_has_only_its_rail() -> None:
    assert found(STEP_UP, BEHIND) == [("U1", "VREG", 1.8, "needs")]


def test_a_linear_regulator_follows_its_input_and_has_no_least_one() -> None:
    assert found(LINEAR + " = supply 2.3 to 6 V", BEHIND) == [("U1", "VREG", 1.8, "needs")]


def test_a_charger_that_a_cell_feeds_has_none() -> None:
    """One cell that charges another: neither its input nor its output stops the board."""
    second = "BT2 cell/LIR2032 + VLI - GND"
    charger = "U5 charger VIN+ VBAT GND- GND VBAT> VLI = charge_voltage 4.2 V = supply 2.5 to 6 V"

    assert found(second, charger, MCU) == [("U1", "VBAT", 1.8, "needs")]
