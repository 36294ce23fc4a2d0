"""Plants: who takes current from where in a state, and what a switched path needs."""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.at_work import MCU, cell

from boardvet.circuit.plant import Converting, Plant, Plants
from boardvet.circuit.states import States
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of


def plants(*lines: str) -> dict[str, Plant]:
    circuit = circuit_of(cell() + MCU + "\n".join(lines))
    return {state.name: circuit.view(Plants).in_state(state) for state in circuit.view(States).all}


def plant(*lines: str) -> Plant:
    return next(iter(plants(*lines).values()))


def nodes(found: Plant) -> dict[str, str]:
    return {consumer.reference: consumer.node for consumer in found.consumers}


SENSOR = "U3 sensor/XY VCC+ {} GND- GND = sleep_current 2 uA"
USB = "J1 usb-connector 1:VBUS V5 2:GND GND 3:D+ . 4:D- ."


LINEAR = "U2 regulator VIN+ VBAT GND- GND VOUT> V3 = output 3 V = dropout 0.2 V at 50 mA"
SECOND = "U5 regulator VIN+ V3 GND- GND VOUT> V18 = output 1.8 V"

# Consumers


def test_a_part_on_the_cell_takes_its_sleep_current_from_there() -> None:
    found = plant(SENSOR.format("VBAT")).consumer("U3")

    assert found is not None
    assert (found.node, found.path) == ("VBAT", ())
    assert found.rest is not None
    assert found.rest.value == pytest.approx(2e-6)


def test_a_part_of_unknown_sleep_current_is_a_consumer_all_the_same() -> None:
    found = plant("U3 sensor/XY VCC+ VBAT GND- GND").consumer("U3")

    assert found is not None
    assert found.rest is None


def test_a_part_that_nothing_feeds_is_none() -> None:
    assert nodes(plant(SENSOR.format("NOWHERE"))) == {"U1": "VBAT"}


def test_a_part_that_usb_feeds_takes_nothing_while_that_is_unplugged() -> None:
    found = plants(USB, SENSOR.format("V5"))

    assert nodes(found["running"]) == {"U1": "VBAT"}
    assert nodes(found["J1 (USB) connected"]) == {"U1": "VBAT", "U3": "V5"}


def test_a_part_with_two_supply_pins_takes_its_current_once() -> None:
    two = "U3 sensor/XY VCC+ VBAT VIO+ V3 GND- GND = sleep_current 2 uA"

    assert [c.reference for c in plant(LINEAR, two).consumers].count("U3") == 1


def test_a_back_up_pin_alone_takes_nothing() -> None:
    clock = "U3 clock 1:VCC . 2:VBAT VBAT 3:GND- GND = sleep_current 1 uA"

    assert nodes(plant(clock + " = pins {2: back-up supply}")) == {"U1": "VBAT"}


def test_the_core_that_a_part_feeds_itself_takes_nothing_more() -> None:
    core = "U3 mcu VCC+ VBAT GND- GND 3:VREG_OUT> CORE 4:DVDD+ CORE = sleep_current 1 uA"
    found = plant(core + " = pins {3: supply output}")

    assert nodes(found) == {"U1": "VBAT", "U3": "VBAT"}


def test_the_path_names_what_lies_between_source_and_part() -> None:
    way = "D9 diode/BAT54 VBAT N1\nF1 fuse N1 VDD"
    found = plant(way, SENSOR.format("VDD")).consumer("U3")

    assert found is not None
    assert found.path == ("D9", "F1")


def test_what_a_pin_feeds_is_taken_from_the_supply_of_that_part() -> None:
    assert nodes(plant(SENSOR.format("P1")))["U3"] == "VBAT"


def test_what_the_supply_output_of_a_module_feeds_is_taken_from_its_supply() -> None:
    module = "U4 module 1:VCC+ VBAT 2:GND- GND 3:V33 V33 = pins {3: supply output}"

    assert nodes(plant(module, SENSOR.format("V33")))["U3"] == "VBAT"


def test_what_a_regulator_feeds_is_taken_from_its_output() -> None:
    assert nodes(plant(LINEAR, SENSOR.format("V3"))) == {"U1": "VBAT", "U3": "V3"}


MOTOR = "M1 motor {} SINK\nQ1 fet/n 1:G P0 2:S GND 3:D SINK = channel n\n"
STATED = "~ pattern: [{part: M1, current: 30 mA, for: 1 s, every: 10 s}]"


def test_a_part_without_supply_pins_draws_where_the_page_says_that_it_draws() -> None:
    found = plant(MOTOR.format("VBAT"), STATED).consumer("M1")

    assert found is not None
    assert found.node == "VBAT"
    assert found.rest is not None
    assert found.rest.value == 0.0


def test_a_part_without_supply_pins_is_no_consumer_where_the_page_says_nothing() -> None:
    assert plant(MOTOR.format("VBAT")).consumer("M1") is None


def test_a_part_of_a_mode_counts_as_well() -> None:
    mode = "~ modes: {on: {share: 10 %, pattern: [{part: M1, current: 30 mA}]}}"

    assert plant(MOTOR.format("VBAT"), mode).consumer("M1") is not None


def test_a_part_without_supply_pins_on_a_pin_draws_from_the_supply_of_that_pin() -> None:
    found = plant(MOTOR.format("P1"), SENSOR.format("P1"), STATED)

    assert nodes(found) == {"U1": "VBAT", "U3": "VBAT", "M1": "VBAT"}


# Switched paths


def switch(gate: str, pull: str = "VBAT") -> str:
    return (
        f"Q1 fet/p 1:G {gate} 2:S VBAT 3:D VSENS = channel p\nR9 100k {gate} {pull}\n"
        + SENSOR.format("VSENS")
    )


def off(found: Plant, *active: str, feeding: tuple[str, ...] = ()) -> list[str]:
    return [e.reference for e in found.resting(frozenset(active), frozenset(feeding))]


def test_a_switch_on_a_pin_is_off_while_nothing_behind_it_is_at_work() -> None:
    assert off(plant(switch("P0"))) == ["Q1"]


def test_a_switch_is_on_while_something_behind_it_is_at_work() -> None:
    assert off(plant(switch("P0")), "U3") == []


def test_a_switch_stays_off_while_something_else_is_at_work() -> None:
    assert off(plant(switch("P0")), "U1") == ["Q1"]


def test_a_switch_is_on_while_it_feeds_something_for_another_reason() -> None:
    assert off(plant(switch("P0")), feeding=("Q1",)) == []


def test_a_switch_whose_gate_a_transistor_pulls_is_off_at_rest() -> None:
    driver = "Q2 fet/n 1:G P0 2:S GND 3:D GATE = channel n"

    assert off(plant(switch("GATE"), driver)) == ["Q1"]


def test_a_fet_against_reversal_is_no_switch() -> None:
    """Its gate on ground keeps it on."""
    assert off(plant(switch("GND"))) == []


def test_a_switch_that_feeds_a_controller_is_on_for_good() -> None:
    latch = (
        "Q1 fet/p 1:G GATE 2:S VBAT 3:D VDD = channel p\nR9 100k GATE VBAT\n"
        "SW1 button GATE GND\nU4 mcu VCC+ VDD GND- GND PB0 GATE"
    )
    found = plant(latch)

    assert "U4" in found.awake
    assert off(found) == []


# Regulators


def converting(*lines: str) -> dict[str, Converting]:
    return {each.reference: each for each in plant(*lines).converting}


def test_a_regulator_is_known_by_its_ends_and_its_output() -> None:
    each = converting(LINEAR)["U2"]

    assert (each.source, each.target, each.voltage) == ("VBAT", "V3", 3.0)
    assert (each.switching, each.stepping_up) == (False, False)


def test_regulators_farthest_from_the_source_come_first() -> None:
    assert list(converting(LINEAR, SECOND)) == ["U5", "U2"]
    assert list(converting(SECOND, LINEAR)) == ["U5", "U2"]


def test_a_drop_out_that_nobody_knows_is_none() -> None:
    found = converting(LINEAR, SECOND)

    assert (found["U5"].dropout_known, found["U5"].dropout) == (False, ())
    assert found["U2"].dropout_known


def test_a_regulator_without_input_is_not_there() -> None:
    assert not converting(LINEAR.replace("VBAT", "NOWHERE"))


def test_a_regulator_that_usb_feeds_is_there_only_with_it() -> None:
    found = plants(USB, LINEAR.replace("VBAT", "V5"))

    assert [len(each.converting) for each in found.values()] == [0, 1]


def test_a_charger_converts_nothing() -> None:
    charger = "U5 charger VIN+ V5 GND- GND VBAT> VBAT = charge_voltage 4.2 V"

    assert not plants(USB, charger)["J1 (USB) connected"].converting


def test_a_regulator_of_unknown_output_is_asked_for() -> None:
    with pytest.raises(MissingFact) as raised:
        plant("U2 regulator VIN+ VBAT GND- GND VOUT> VREG", SENSOR.format("VREG"))

    assert (raised.value.of, raised.value.key) == ("U2", "output")


def test_the_power_of_a_switching_one_is_that_of_its_efficiency() -> None:
    """3 V · 10 mA / 60 % = 50 mW; 3 V · 55 mA / 75 % = 220 mW, half way from 60 to 90 %."""
    step = LINEAR + " = conversion step-up = efficiency 60 % at 10 mA and 90 % at 100 mA"

    power = converting(step)["U2"].power(np.array([10e-3, 55e-3]))
    assert power.tolist() == pytest.approx([50e-3, 220e-3])


def test_cells_that_are_there_are_named() -> None:
    assert plant().cells == {"BT1"}
