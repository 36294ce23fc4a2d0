"""What a source reaches: headers apart from others, resistors, gates, converters."""

from __future__ import annotations

import pytest

from boardvet.circuit.converters import Converters
from boardvet.circuit.feeding import HEADER_VOLTAGE, Feeding
from boardvet.circuit.sources import SourceKind, Sources
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

CELL = "BT1 CR2032 VBAT GND\n"
MCU = "U1 mcu VCC+ VBAT GND- GND MISO A SCK B PB0 GATE\n"
HEADER = "J1 connector/ISP 1:{} VBAT 2:MISO A 3:SCK B 4:GND GND{}\n"


def test_a_programming_header_feeds_apart_from_the_states() -> None:
    feeding = circuit_of(CELL + MCU + HEADER.format("VCC", "")).view(Feeding)

    assert feeding.from_header["J1"]["VBAT"].high[0] == HEADER_VOLTAGE
    assert all("J1" not in fed["VBAT"].sources for fed in feeding.in_state.values())


@pytest.mark.parametrize(("pin", "fact"), [("VCC", " = powers_board no"), ("VTREF", "")])
def test_a_header_that_only_senses_is_no_source(pin: str, fact: str) -> None:
    sources = circuit_of(CELL + MCU + HEADER.format(pin, fact)).view(Sources)

    assert sources.of_kind(SourceKind.HEADER) == ()


def test_a_resistor_without_a_value_feeds_and_asks_for_it() -> None:
    feeding = circuit_of(CELL + "U1 mcu VCC+ VX GND- GND\nR1 R VBAT VX").view(Feeding)

    (fed,) = (fed["VX"] for fed in feeding.in_state.values())
    with pytest.raises(MissingFact) as raised:
        fed.need()
    assert (raised.value.of, raised.value.key) == ("R1", "value")


def test_a_resistor_too_large_for_a_supply_does_not_feed() -> None:
    feeding = circuit_of(CELL + "U1 mcu VCC+ VX GND- GND\nR1 47k VBAT VX").view(Feeding)

    assert not feeding.ever("VX")


def test_a_contradiction_in_a_diode_is_said_of_what_is_behind_it_only() -> None:
    text = "D1 diode A VBAT K VX = forward_voltage 0.6 V at 1 mA and 0.5 V at 10 mA\n"
    feeding = circuit_of(CELL + MCU + text + "U2 sensor VDD+ VX GND- GND").view(Feeding)

    (fed,) = feeding.in_state.values()
    assert fed["VBAT"].missing is None
    assert fed["VX"].missing is not None
    assert fed["VX"].missing.of == "D1"


def test_a_gate_that_a_pin_drives_through_a_resistor_can_be_on() -> None:
    switch = "Q1 fet D VX G GT S VBAT = channel p\nR1 1k GATE GT\nR2 100k GT VBAT\n"
    held = switch.replace("R1 1k GATE GT\n", "")
    taker = "U2 sensor VDD+ VX GND- GND"

    assert circuit_of(CELL + MCU + switch + taker).view(Feeding).ever("VX")
    assert not circuit_of(CELL + MCU + held + taker).view(Feeding).ever("VX")


@pytest.mark.parametrize(
    ("pins", "coil", "how"),
    [
        ("VIN+ VBAT VOUT> VX", "", "linear"),
        ("VIN+ VBAT SW LX VOUT> VX", "L1 4u7 VBAT LX", "step-up"),
        ("VIN+ VBAT SW LX", "L1 4u7 LX VX", "step-down"),
    ],
)
def test_a_regulator_is_told_by_where_its_coil_is(pins: str, coil: str, how: str) -> None:
    circuit = circuit_of(CELL + f"U1 regulator {pins} GND- GND = output 3.3 V\n{coil}")

    assert circuit.view(Converters).all[0].conversion.how == how
