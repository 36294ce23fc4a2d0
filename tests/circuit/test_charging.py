"""What a charger is set to and what it charges. Sums by hand: current = gain / resistance."""

from __future__ import annotations

import pytest

from boardvet.circuit.charging import Charger, Charging, Setting
from boardvet.circuit.handle import Circuit
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

GAIN = "program_gain 1000 V"
CELL = "BT1 cell/LiPo + BAT - GND\n~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}\n"


def board(lines: str, facts: str = GAIN, charger: str = "PROG SET") -> Circuit:
    stated = f" = {facts}" if facts else ""
    pins = f"VDD+ VBUS VSS- GND VBAT> BAT {charger}"
    return circuit_of(f"{CELL}U1 charger/made-up {pins}{stated}\n{lines}")


def only(circuit: Circuit) -> Charger:
    (charger,) = Charger.on(circuit)
    return charger


def setting(lines: str, facts: str = GAIN, charger: str = "PROG SET") -> Setting:
    circuit = board(lines, facts, charger)
    return circuit.view(Charging).setting(only(circuit))


def missing(lines: str, facts: str = GAIN, charger: str = "PROG SET") -> str:
    with pytest.raises(MissingFact) as caught:
        setting(lines, facts, charger)
    return caught.value.key


def test_one_resistor_to_ground_sets_gain_over_its_value() -> None:
    """By hand: 1000 V / 5 kΩ = 200 mA."""
    found = setting("R1 5k SET GND")

    assert found.highest.value == pytest.approx(0.2)
    assert found.lowest.value == pytest.approx(0.2)
    assert (found.resistors, found.switched) == (("R1",), ())


def test_resistors_side_by_side_and_in_a_row_are_summed() -> None:
    """By hand: 6 kΩ beside 1 kΩ + 2 kΩ is 2 kΩ: 500 mA."""
    found = setting("R1 6k SET GND\nR2 1k SET A\nR3 2k A GND")

    assert found.highest.value == pytest.approx(0.5)
    assert set(found.resistors) == {"R1", "R2", "R3"}


@pytest.mark.parametrize(
    ("lines", "by"),
    [
        ("SW1 switch/slide A GND", "SW1"),
        ("Q1 fet/n 1:G HIGH 2:S GND 3:D A = channel n\nR9 10k HIGH GND", "Q1"),
        ("Q1 transistor/npn 1:B HIGH 2:E GND 3:C A = channel npn\nR9 10k HIGH GND", "Q1"),
        ("U2 mcu VCC+ VBUS GND- GND PB0 A", "U2"),
    ],
    ids=["switch", "FET", "transistor", "controller's pin"],
)
def test_what_switches_a_resistor_in_counts_for_the_highest_current_only(
    lines: str, by: str
) -> None:
    """By hand: 10 kΩ alone 100 mA; beside 2.5 kΩ it is 2 kΩ: 500 mA."""
    found = setting(f"R1 10k SET GND\nR2 2k5 SET A\n{lines}")

    assert found.highest.value == pytest.approx(0.5)
    assert found.lowest.value == pytest.approx(0.1)
    assert found.switched == (by,)


def test_a_resistor_that_leads_nowhere_sets_nothing() -> None:
    assert setting("R1 10k SET GND\nR2 1k SET A\nC1 100n A GND").highest.value == (
        pytest.approx(0.1)
    )


def test_a_switch_straight_across_the_set_pin_is_no_set_resistor() -> None:
    assert setting("R1 10k SET GND\nSW1 switch/slide SET GND").highest.value == pytest.approx(0.1)


def test_a_share_that_ends_charging_is_one_of_the_highest_current() -> None:
    """By hand: 10 kΩ beside 2.5 kΩ is 2 kΩ, 500 mA; 10 % of it are 50 mA."""
    lines = "R1 10k SET GND\nR2 2k5 SET A\nSW1 switch/slide A GND"
    circuit = board(lines, f"{GAIN} = termination 10 %")
    charging, charger = circuit.view(Charging), only(circuit)

    ends = charging.ends_at(charger, charging.setting(charger))
    assert ends.value == pytest.approx(0.05)


def test_a_set_pin_on_ground_gives_the_most_the_part_charges_with() -> None:
    found = setting("C1 1u VBUS GND", f"{GAIN} = current_max 500 mA", "PROG GND")

    assert found.highest.value == 0.5
    assert not found.resistors


def test_a_stated_charge_current_counts_before_resistors() -> None:
    assert setting("R1 1k SET GND", f"{GAIN} = charge_current 70 mA").highest.value == 0.07


@pytest.mark.parametrize(
    ("lines", "facts", "charger", "key"),
    [
        ("R1 5k SET GND", "", "PROG SET", "program_gain"),
        ("R1 R SET GND", GAIN, "PROG SET", "value"),
        ("C1 1n SET GND", GAIN, "PROG SET", "charge_current"),
        ("C1 1u VBUS GND", GAIN, "EN VBUS", "charge_current"),
        ("C1 1u VBUS GND", GAIN, "PROG GND", "current_max"),
        ("R1 1k SET A\nRV1 potentiometer/10k A GND", GAIN, "PROG SET", "charge_current"),
    ],
    ids=["gain", "value", "open set pin", "no set pin", "on ground", "trimmer"],
)
def test_what_is_not_known_is_asked_for(lines: str, facts: str, charger: str, key: str) -> None:
    assert missing(lines, facts, charger) == key


@pytest.mark.parametrize("name", ["ISET", "RPROG", "ICHG", "PROG1"])
def test_the_set_pin_is_known_by_the_names_that_makers_give_it(name: str) -> None:
    assert setting("R1 5k SET GND", GAIN, f"{name} SET").highest.value == pytest.approx(0.2)


def test_a_charger_with_twin_battery_pins_has_an_output() -> None:
    lines = f"{CELL}U1 charger/made-up VDD1+ VBUS VDD2+ VBUS VSS- GND VBAT1 BAT VBAT2 BAT"

    assert only(circuit_of(lines)).outputs == ("BAT",)
    assert only(circuit_of(lines)).inputs == ("VBUS",)


@pytest.mark.parametrize(
    "way",
    ["F1 fuse/1A OUT BAT", "SW1 switch/slide OUT BAT", "D1 diode/BAT54 OUT BAT", "R9 1R OUT BAT"],
)
def test_the_cell_is_found_through_what_conducts(way: str) -> None:
    circuit = circuit_of(f"{CELL}{way}\nU1 charger/made-up VDD+ VBUS VSS- GND VBAT> OUT")

    assert [c.reference for c in circuit.view(Charging).cells(only(circuit))] == ["BT1"]


def test_a_cell_behind_another_charger_is_not_its_own() -> None:
    circuit = circuit_of(
        f"{CELL}BT2 cell/LiPo + BAT2 - GND\nU1 charger/x VDD+ VBUS VSS- GND VBAT> BAT\n"
        "U2 charger/x VDD+ VBUS VSS- GND VBAT> BAT2"
    )
    charged = [
        [cell.reference for cell in circuit.view(Charging).cells(charger)]
        for charger in Charger.on(circuit)
    ]

    assert charged == [["BT1"], ["BT2"]]


def test_a_charger_whose_cell_is_not_known_asks_for_the_cell_at_its_connector() -> None:
    circuit = circuit_of(
        "U1 charger/made-up VDD+ VBUS VSS- GND VBAT> OUT\nJ7 connector/x 1:A OUT 2:B GND 3:C X\n"
        "R1 1k X GND\nR2 1k X OUT\nJ8 connector/x 1: VBUS 2: GND"
    )
    with pytest.raises(MissingFact) as caught:
        circuit.view(Charging).cells(only(circuit))

    assert caught.value.key == "cell"
    assert "part: J7" in caught.value.how


def test_a_charger_with_no_known_output_asks_for_its_pins() -> None:
    circuit = circuit_of(f"{CELL}U1 charger/made-up A VBUS B GND C BAT")
    with pytest.raises(MissingFact) as caught:
        circuit.view(Charging).cells(only(circuit))

    assert caught.value.key == "pins"


@pytest.mark.parametrize(("stated", "amps"), [("10 %", 0.02), ("5 mA", 0.005)])
def test_the_end_of_charging_is_a_current_or_a_share_of_the_set_one(
    stated: str, amps: float
) -> None:
    """By hand: 10 % of 1000 V / 5 kΩ is 20 mA."""
    circuit = board("R1 5k SET GND", f"{GAIN} = termination {stated}")
    charging = circuit.view(Charging)

    charger = only(circuit)
    assert charging.ends_at(charger, charging.setting(charger)).value == pytest.approx(amps)
