"""Conduction: which way is blocked least, in a state."""

from __future__ import annotations

import pytest

from boardvet.circuit.conduction import Conduction, Hop
from boardvet.circuit.states import States
from boardvet.testing import circuit_of

LOAD = "BT1 CR2032 CELL GND\nU1 mcu VCC+ TO GND- GND\nC1 1u FROM GND\n"


def way(*lines: str, state: str = "") -> tuple[Hop, ...] | None:
    circuit = circuit_of(LOAD + "\n".join(lines))
    states = circuit.view(States).all
    chosen = next((s for s in states if s.name == state), states[0])
    return circuit.view(Conduction).least_blocked(chosen, "FROM", "TO")


@pytest.mark.parametrize(
    "line",
    ["R1 10k FROM TO", "F1 500mA FROM TO", "FB1 600R FROM TO", "D1 diode/1N4148 FROM TO"],
)
def test_what_conducts_is_a_way_that_nothing_blocks(line: str) -> None:
    hops = way(line)

    assert hops is not None
    assert [hop.blocks for hop in hops] == [False]


def test_a_diode_against_its_direction_blocks() -> None:
    hops = way("D1 diode/1N4148 TO FROM")

    assert hops is not None
    assert [(hop.reference, hop.blocks) for hop in hops] == [("D1", True)]


def test_the_longer_way_is_taken_where_the_shorter_is_blocked() -> None:
    hops = way("D1 diode/1N4148 TO FROM", "R1 1k FROM _1", "R2 1k _1 _2", "R3 1k _2 TO")

    assert hops is not None
    assert [hop.reference for hop in hops] == ["R1", "R2", "R3"]


def test_of_two_parts_side_by_side_the_one_that_does_not_block_counts() -> None:
    hops = way("D1 diode/1N4148 TO FROM", "R1 1k FROM TO")

    assert hops is not None
    assert [hop.reference for hop in hops] == ["R1"]


def test_a_contact_conducts_while_it_is_closed() -> None:
    assert way("SW1 switch/slide FROM TO", state="switches closed") is not None
    assert way("SW1 switch/slide FROM TO", state="switches open") is None


def test_nothing_leads_through_ground() -> None:
    assert way("R1 1k FROM GND", "R2 1k GND TO") is None


def test_a_part_with_more_pins_does_not_conduct_by_being_one_part() -> None:
    assert way("U2 logic/made-up A FROM B TO VCC+ CELL GND- GND") is None


def test_a_capacitor_does_not_conduct() -> None:
    assert way("C2 1u FROM TO") is None


def test_a_node_is_its_own_way() -> None:
    circuit = circuit_of(LOAD)
    state = circuit.view(States).main

    assert circuit.view(Conduction).least_blocked(state, "TO", "TO") == ()
