"""What flows through resistors on a cell into a part without supply.

The cell is flat at 4.2 V. A silicon junction drops 0.3 to 0.6 V at such currents (common
practice, no source), so each sum is given between those two.
"""

from __future__ import annotations

import pytest

from boardvet.circuit.clamps import Clamped, Clamps
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State, States
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/LiPo + CELL - GND\nSW1 switch/slide CELL VCC\n"
    "~ cell: {part: BT1, type: LiPo, voltage: 4.2 V at 0 % and 4.2 V at 100 %}\n"
)
PART = "U1 mcu VCC+ VCC GND- GND PB0 TAP"


def off(lines: str, part: str = PART) -> tuple[Circuit, State]:
    circuit = circuit_of(f"{CELL}{part}\n{lines}")
    states = circuit.view(States).all
    return circuit, next(state for state in states if state.name == "switches open")


def clamped(lines: str, part: str = PART) -> list[Clamped]:
    circuit, state = off(lines, part)
    return list(circuit.view(Clamps).in_state(state, {"BT1"}))


def current(lines: str, part: str = PART) -> float:
    circuit, state = off(lines, part)
    (found,) = circuit.view(Clamps).in_state(state, {"BT1"})
    clamps = circuit.view(Clamps)
    return clamps.current(state, found.start, found.end, found.reference).value


def test_a_resistor_on_the_cell_feeds_the_input_of_a_part_that_is_off() -> None:
    """By hand: (4.2 V − 0.6 V) / 100 kΩ = 36 µA to (4.2 V − 0.3 V) / 100 kΩ = 39 µA."""
    assert clamped("R1 100k CELL TAP") == [Clamped("R1", "CELL", "TAP", "U1")]
    assert 36e-6 < current("R1 100k CELL TAP") < 39e-6


def test_a_divider_gives_what_its_lower_resistor_leaves() -> None:
    """By hand, at 0.3 to 0.6 V: 39 to 36 µA from above, 3 to 6 µA go to ground: 30 to 36 µA."""
    assert 30e-6 < current("R1 100k CELL TAP\nR2 100k TAP GND") < 36e-6


def test_a_divider_that_stays_below_the_clamp_gives_nothing() -> None:
    """By hand: 4.2 V · 1 / 101 = 42 mV."""
    assert current("R1 1M CELL TAP\nR2 10k TAP GND") < 10e-9


def test_resistors_in_a_row_are_summed() -> None:
    """By hand: 36 to 39 µA again, through 40 kΩ and 60 kΩ."""
    assert 36e-6 < current("R1 40k CELL A\nR2 60k A TAP") < 39e-6


def test_a_part_that_has_supply_does_not_clamp() -> None:
    circuit, _ = off("R1 100k CELL TAP")
    main = circuit.view(States).main

    assert not list(circuit.view(Clamps).in_state(main, {"BT1"}))


@pytest.mark.parametrize(
    "part",
    [
        f"{PART} = fail_safe yes",
        "U1 mcu VCC+ VCC GND- GND PB0 OTHER",
        "U1 mcu VCC+ . GND- GND PB0 TAP",
    ],
    ids=["stands it", "another pin", "supply open"],
)
def test_nothing_clamps_where_inputs_stand_it_or_no_supply_is_ever_there(part: str) -> None:
    assert not clamped("R1 100k CELL TAP\nR3 1k OTHER GND\nC1 1u VCC GND", part)


def test_a_resistor_on_a_rail_that_is_off_as_well_gives_nothing() -> None:
    assert not clamped("R1 100k VCC TAP")


def test_a_part_whose_supply_no_state_feeds_is_another_rule_s_business() -> None:
    assert not clamped("R1 100k CELL TAP\nC1 1u VX GND", "U1 mcu VCC+ VX GND- GND PB0 TAP")


def test_what_stands_on_another_fed_rail_is_not_behind_a_resistor() -> None:
    two = f"{CELL}{PART.replace('TAP', 'TWO')}\nBT2 cell/LiPo + TWO - GND\nR1 100k CELL TWO"
    circuit = circuit_of(two)
    state = next(s for s in circuit.view(States).all if s.name == "switches open")

    assert not list(circuit.view(Clamps).in_state(state, {"BT1", "BT2"}))


def test_a_resistor_on_another_source_is_no_leak_of_the_cell() -> None:
    source = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
    circuit = circuit_of(f"{CELL}{source}{PART}\nR1 100k VIN TAP")
    clamps = circuit.view(Clamps)

    assert not [c for s in circuit.view(States).all for c in clamps.in_state(s, {"BT1"})]


def test_a_resistor_of_unknown_value_is_asked_for() -> None:
    with pytest.raises(MissingFact) as caught:
        current("R1 R CELL TAP")

    assert caught.value.key == "value"
