"""Pin roles: by the stated role, the name, the electrical type."""

from __future__ import annotations

import pytest

from boardvet.circuit.kinds import Kinds
from boardvet.circuit.pins import PinRoles, can_drive
from boardvet.testing import circuit_of
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role


def role(part: str, pin: str) -> Role:
    reference = part.split()[0]
    roles = circuit_of(part).view(PinRoles)
    return next(p.role for p in roles.pins(reference) if p.pin.number == pin)


@pytest.mark.parametrize(
    ("pin", "expected"),
    [
        ("1:VDD+", Role.SUPPLY),
        ("1:VCC", Role.BIDIRECTIONAL),
        ("1:GND-", Role.GROUND),
        ("1:VSSA", Role.GROUND),
        ("1:EP", Role.THERMAL),
        ("1:VREF", Role.REFERENCE),
        ("1:VCAP1", Role.REFERENCE),
        ("1:VBACKUP+", Role.BACKUP_SUPPLY),
        ("1:3V3OUT", Role.SUPPLY_OUTPUT),
        ("1:~{RESET}", Role.RESET),
        ("1:NC", Role.NO_CONNECT),
        ("1:PB0", Role.BIDIRECTIONAL),
        ("1:TX>", Role.OUTPUT),
        ("1:RX<", Role.INPUT),
        ("1:INT*", Role.OPEN_DRAIN),
    ],
)
def test_a_pin_of_a_circuit_is_known_by_name_then_by_type(pin: str, expected: Role) -> None:
    assert role(f"U1 mcu {pin} A 2:X B 3:Y C", "1") is expected


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("U1 mcu 1:PA0< A", Role.BIDIRECTIONAL),
        ("U1 mcu 1:P0.04< A", Role.BIDIRECTIONAL),
        ("U1 mcu 1:PB5/SDA< A", Role.BIDIRECTIONAL),
        ("U1 mcu 1:PGOOD< A", Role.INPUT),
        ("U1 mcu 1:GPIO34< A", Role.INPUT),
        ("U1 charger 1:CHRG< A", Role.OPEN_DRAIN),
        ("U1 charger 1:STAT> A", Role.OUTPUT),
        ("U1 sensor 1:STAT< A", Role.INPUT),
    ],
)
def test_a_library_that_calls_a_port_or_status_pin_an_input_is_not_believed(
    part: str, expected: Role
) -> None:
    assert role(f"{part} 2:VCC+ B 3:GND- C", "1") is expected


def test_a_back_up_pin_is_one_beside_a_main_supply_only() -> None:
    assert role("U1 clock 1:VBAT+ A 2:VDD+ B 3:GND- C", "1") is Role.BACKUP_SUPPLY
    assert role("U1 clock 1:VBAT+ A 3:GND- C", "1") is Role.SUPPLY


@pytest.mark.parametrize(
    ("pin", "expected"),
    [
        ("VIN+", Role.REGULATOR_INPUT),
        ("VOUT>", Role.SUPPLY_OUTPUT),
        ("EN<", Role.ENABLE),
        ("FB<", Role.FEEDBACK),
        ("SW>", Role.SWITCH_NODE),
        ("BYP", Role.REFERENCE),
    ],
)
def test_pins_of_a_regulator_have_roles_of_their_own(pin: str, expected: Role) -> None:
    assert role(f"U1 regulator 1:{pin} A 2:GND- B 3:X C", "1") is expected


def test_what_the_page_states_goes_before_names() -> None:
    assert role("U1 mcu 1:PB0 A 2:VCC+ B 3:GND- C = pins {1: supply}", "1") is Role.SUPPLY


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("D1 led 1:K A 2:A B", (Role.CATHODE, Role.ANODE)),
        ("D1 led 1:CATHODE A 2:ANODE B", (Role.CATHODE, Role.ANODE)),
        ("D1 led 1:RK A 2:RA B", (Role.CATHODE, Role.ANODE)),
        ("D1 led 1:K_GREEN A 2:COMMON_ANODE B", (Role.CATHODE, Role.ANODE)),
        ("D1 diode 1: A 2: B", (Role.PASSIVE, Role.PASSIVE)),
        ("Q1 fet 1:G A 2:S B", (Role.GATE, Role.SOURCE)),
        ("Q1 bipolar-transistor 1:B A 2:C1 B", (Role.BASE, Role.COLLECTOR)),
        ("BT1 cell + A - B", (Role.POSITIVE, Role.NEGATIVE)),
    ],
)
def test_poles_are_known_by_name(part: str, expected: tuple[Role, Role]) -> None:
    assert (role(part, "1"), role(part, "2")) == expected


def test_pins_are_found_by_net_if_their_part_is_fitted() -> None:
    roles = circuit_of("R1 1k A B\nR2? 1k A B").view(PinRoles)

    assert [pin.reference for pin in roles.on_net["A"]] == ["R1"]


def test_the_net_of_a_role_is_that_of_the_first_connected_pin() -> None:
    roles = circuit_of("U1 mcu 1:VDD+ . 2:VDD+ V 3:GND- G").view(PinRoles)

    assert roles.net_of("U1", Role.SUPPLY) == "V"
    assert roles.net_of("U1", Role.RESET) is None


@pytest.mark.parametrize(
    ("part", "drives"),
    [
        ("U1 mcu 1:PB0 A 2:VCC+ B 3:GND- C", True),
        ("U1 mcu 1:RX< A 2:VCC+ B 3:GND- C", False),
        ("U1 mcu 1:VDD+ A 2:VCC+ B 3:GND- C", False),
        ("J1 connector 1: A 2: B", True),
        ("R1 1k A B", False),
    ],
)
def test_what_may_pull_a_net_high_or_low(part: str, drives: bool) -> None:
    circuit = circuit_of(part)
    pin = circuit.view(PinRoles).on_net["A"][0]

    assert can_drive(pin, circuit.view(Kinds).kind(pin.reference)) is drives


def test_a_pin_is_called_by_part_number_and_function() -> None:
    pin = circuit_of("U1 mcu 8:VCC+ A").view(PinRoles).on_net["A"][0]

    assert pin.label == "U1 pin 8 (VCC)"
    assert circuit_of("U1 mcu 8:VCC+ A").view(Kinds).kind("U1") is Kind.CONTROLLER


@pytest.mark.parametrize("name", ["BATT", "BAT", "VBAT"])
def test_a_regulator_takes_from_the_battery_what_a_charger_gives_to_it(name: str) -> None:
    pins = f"1:{name}+ CELL 2:GND- GND 3:OUT> OUT"
    regulator = circuit_of(f"U1 regulator/made-up {pins}").view(PinRoles)
    charger = circuit_of(f"U1 charger/made-up {pins}").view(PinRoles)

    assert regulator.pins("U1")[0].role is Role.REGULATOR_INPUT
    assert charger.pins("U1")[0].role is Role.BATTERY
