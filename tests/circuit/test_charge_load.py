"""What the board takes from a cell on charge. The cell is flat at 4.2 V with 0.01 Ω.

Sums by hand with Ohm's law; half a per cent is left for the ohms of cell and contacts.
"""

from __future__ import annotations

import pytest

from boardvet.circuit.charge_load import ChargeLoad, ChargeLoads
from boardvet.circuit.charging import Charger, Charging
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
CELL = (
    "BT1 cell/LiPo + BAT - GND\n"
    "~ cell: {part: BT1, type: LiPo, voltage: 4.2 V at 0 % and 3 V at 100 %,"
    " resistance: 0.01 ohm}\n"
)
CHARGER = "U1 charger/made-up VDD+ VIN VSS- GND VBAT> BAT PROG SET = charge_voltage 4.2 V\n"


def load(lines: str, source: str = SOURCE) -> ChargeLoad:
    circuit = circuit_of(f"{CELL}{source}{CHARGER}{lines}")
    (charger,) = Charger.on(circuit)
    cells = circuit.view(Charging).cells(charger)
    return circuit.view(ChargeLoads).worst(charger, cells)


def test_a_resistor_on_the_cell_is_its_load() -> None:
    """By hand: 4.2 V / 420 Ω = 10 mA."""
    assert load("R1 420 BAT GND").current == pytest.approx(10e-3, rel=5e-3)


def test_it_is_said_in_which_state_the_charger_is_fed() -> None:
    assert "J1" in load("R1 420 BAT GND").state.sources


def test_a_state_in_which_only_the_cell_reaches_its_charger_is_no_charging() -> None:
    """By hand: alone the cell feeds some 4 V / 42 Ω, 95 mA, there; on 5 V it gives nothing."""
    found = load("D2 diode/BAT54 BAT VIN\nR1 42 VIN GND")

    assert "J1" in found.state.sources
    assert found.current < 1e-6


def test_pulses_count_with_their_mean() -> None:
    """By hand: 20 mA for 100 ms of every second are 2 mA, and 1 mA between is 0.9 mA more."""
    pattern = "~ pattern: [{name: beat, part: U2, current: 20 mA, for: 100 ms, every: 1 s}]\n"
    found = load(f"{pattern}U2 mcu VCC+ BAT GND- GND = sleep_current 1 mA")

    assert found.current == pytest.approx(2.9e-3, rel=5e-3)
    assert found.stated
    assert found.takers[0][0] == "U2"


def test_what_the_source_feeds_through_a_diode_is_not_taken_from_the_cell() -> None:
    """The supply stands at 5 V less a diode, above the cell, which a transistor parts from it."""
    path = "D2 diode/BAT54 VIN SYS\nQ1 fet/p 1:G VIN 2:S SYS 3:D BAT = channel p\nR9 100k VIN GND"

    assert load(f"{path}\nR1 420 SYS GND").current < 1e-6


def test_without_the_diode_the_same_transistor_lets_the_cell_feed_it() -> None:
    """Through the body diode: (4.2 V − 0.7 V or so) / 420 Ω, some 8.3 mA."""
    path = "Q1 fet/p 1:G VIN 2:S SYS 3:D BAT = channel p\nR9 100k VIN GND"

    assert load(f"{path}\nR1 420 SYS GND").current == pytest.approx(8.3e-3, rel=0.05)


def test_a_second_output_of_the_charger_is_not_the_cell() -> None:
    two = CHARGER.replace("VBAT> BAT", "VBAT> BAT OUT> SYS")
    circuit = circuit_of(f"{CELL}{SOURCE}{two}R1 420 SYS GND")
    (charger,) = Charger.on(circuit)
    cells = circuit.view(Charging).cells(charger)

    assert circuit.view(ChargeLoads).worst(charger, cells).current < 1e-6


def test_a_mode_that_feeds_the_charger_brings_its_own_pattern() -> None:
    """By hand: 5 mA for all of the time on charge; the 50 mA of the other mode do not count."""
    modes = (
        "~ modes:\n"
        "~   work: {share: 1 h per day, pattern: [{part: U2, current: 50 mA}]}\n"
        "~   plugged: {share: 2 h per day, sources: [J1], pattern: [{part: U2, current: 5 mA}]}\n"
    )
    found = load(f"{modes}U2 mcu VCC+ BAT GND- GND = sleep_current 1 uA")

    assert found.current == pytest.approx(5e-3, rel=5e-3)


def test_a_button_is_not_pressed_all_the_time() -> None:
    assert load("SW1 button/x BAT A\nR1 420 A GND").current < 1e-6
    assert load("SW1 switch/slide BAT A\nR1 420 A GND").current > 9e-3


def test_a_part_of_unknown_current_counts_where_the_cell_would_feed_it_only() -> None:
    path = "D2 diode/BAT54 VIN SYS\nQ1 fet/p 1:G VIN 2:S SYS 3:D BAT = channel p\nR9 100k VIN GND"

    assert load("U2 mcu VCC+ BAT GND- GND").unknown == ("U2",)
    assert load(f"{path}\nU2 mcu VCC+ SYS GND- GND").unknown == ()
    assert load("U2 mcu VCC+ BAT GND- GND = sleep_current 1 uA").unknown == ()


def test_a_part_that_always_draws_a_stated_current_has_no_unknown_rest() -> None:
    always = "~ pattern: [{part: U2, current: 5 mA}]\n"
    pulses = "~ pattern: [{part: U2, current: 5 mA, for: 1 ms, every: 1 s}]\n"

    assert load(f"{always}U2 mcu VCC+ BAT GND- GND").unknown == ()
    assert load(f"{pulses}U2 mcu VCC+ BAT GND- GND").unknown == ("U2",)


def test_a_charger_that_nothing_known_feeds_is_asked_about() -> None:
    with pytest.raises(MissingFact) as caught:
        load("R1 420 BAT GND", source="J1 connector/in 1: VIN 2: GND\n")

    assert caught.value.key == "sources"
