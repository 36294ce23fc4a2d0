"""What names say, without anything else of the board. Names from habit, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.circuit.names import (
    is_ground_name,
    is_supply_name,
    natural_key,
    pin_name,
    plain_net_name,
    rail_voltage,
    reference_letters,
)


@pytest.mark.parametrize(
    ("reference", "letters"),
    [("R12", "R"), ("led3", "LED"), ("BT1", "BT"), ("5.0V/3.3V1", ""), ("USB-UART1", "USB")],
)
def test_letters_of_a_designator_are_those_it_begins_with(reference: str, letters: str) -> None:
    assert reference_letters(reference) == letters


@pytest.mark.parametrize(
    "name", ["GND", "/GND", "AGND", "GNDA", "GND_1", "VSS", "0V", "DGND", "V-", "BAT_GND"]
)
def test_these_say_ground(name: str) -> None:
    assert is_ground_name(name)


@pytest.mark.parametrize(
    "name", ["VDD", "GROUNDED_SW", "NGND_EN_X9", "SGNDX12Y", "LED-", "V+", "GND_SW", "GNDSW"]
)
def test_these_do_not_say_ground(name: str) -> None:
    assert not is_ground_name(name)


@pytest.mark.parametrize(
    "name",
    [
        "VCC",
        "VDD",
        "AVDD",
        "VDDIO",
        "VBUS",
        "VBAT",
        "+3V3",
        "3V3",
        "+5V",
        "V+",
        "VIN",
        "+5",
        "+BATT",
        "V_BAT",
        "VUSB",
        "+3.3VA",
        "5V_USB",
        "VMOT",
        "VCC_3V3",
    ],
)
def test_these_say_supply(name: str) -> None:
    assert is_supply_name(name)


@pytest.mark.parametrize(
    "name",
    [
        "PB0",
        "RESET",
        "GND",
        "SDA",
        "LED",
        "EN",
        "OUT",
        "VREF",
        "V",
        "+",
        "-BATT",
        "VDD_EN",
        "VBAT_SENSE",
        "VCC_SENSE",
        "VBUS_DET",
    ],
)
def test_these_do_not_say_supply(name: str) -> None:
    assert not is_supply_name(name)


@pytest.mark.parametrize(
    ("name", "volts"),
    [
        ("+3V3", 3.3),
        ("3.3V", 3.3),
        ("+5V", 5.0),
        ("/power/VDD_1V8", 1.8),
        ("+12", 12.0),
        ("VCC3V3", 3.3),
        ("+3.3VA", 3.3),
        ("-5V", None),
        ("VBAT", None),
        ("LED12", None),
        ("1.02", None),
    ],
)
def test_a_rail_s_name_may_state_its_voltage(name: str, volts: float | None) -> None:
    assert rail_voltage(name) == volts


def test_overbars_and_subscripts_do_not_count_in_pin_names() -> None:
    assert [pin_name(n) for n in ("~{RESET}", "V_{BAT}", "/CS", "~EN")] == [
        "RESET",
        "VBAT",
        "CS",
        "EN",
    ]


def test_a_net_s_plain_name_is_the_last_of_its_path() -> None:
    assert plain_net_name("/sheet/inner/Vbat") == "VBAT"


def test_numbers_sort_as_numbers() -> None:
    assert sorted(["R10", "R2", "C1", "R1"], key=natural_key) == ["C1", "R1", "R2", "R10"]


@given(st.integers(0, 9999), st.integers(0, 9999))
def test_the_number_decides_between_like_letters(one: int, other: int) -> None:
    assert (natural_key(f"R{one}") < natural_key(f"R{other}")) == (one < other)
