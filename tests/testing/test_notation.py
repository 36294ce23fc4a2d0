"""Board notation: what a line of text becomes, and what is refused."""

from __future__ import annotations

import pytest

from boardvet.board import PinType
from boardvet.circuit.kinds import Kinds
from boardvet.testing import NotationError, board_of, circuit_of
from boardvet.vocabulary.kinds import Kind


def test_a_part_with_pins_has_their_names_types_and_nets() -> None:
    part = board_of("U1 mcu VDD+ 3V3 GND- 0V OUT> LAMP IN< KEY").parts["U1"]

    assert [(p.function, p.type, p.net) for p in part.pins] == [
        ("VDD", PinType.SUPPLY_IN, "3V3"),
        ("GND", PinType.SUPPLY_IN, "0V"),
        ("OUT", PinType.OUTPUT, "LAMP"),
        ("IN", PinType.INPUT, "KEY"),
    ]


def test_two_nets_make_a_two_terminal_part() -> None:
    part = board_of("R1 10k A B").parts["R1"]

    assert [(p.number, p.net) for p in part.pins] == [("1", "A"), ("2", "B")]


def test_diodes_and_leds_take_anode_then_cathode() -> None:
    part = board_of("D1 led/red TOP BOTTOM").parts["D1"]

    assert {p.function: p.net for p in part.pins} == {"A": "TOP", "K": "BOTTOM"}
    assert {p.function: p.number for p in part.pins} == {"A": "2", "K": "1"}


def test_cells_take_plus_then_minus() -> None:
    part = board_of("BT1 CR2450 VBAT GND").parts["BT1"]

    assert {p.function: p.net for p in part.pins} == {"+": "VBAT", "-": "GND"}


def test_a_kind_before_the_slash_is_stated() -> None:
    kinds = circuit_of("U1 regulator/made-up VIN+ A GND- B VOUT> C").view(Kinds)

    assert kinds.kind("U1") is Kind.REGULATOR


def test_a_question_mark_says_not_fitted() -> None:
    assert not board_of("R1? 10k A B").parts["R1"].fitted


def test_a_dot_leaves_a_pin_open_and_a_cross_marks_it() -> None:
    pins = board_of("U1 mcu A+ . B- x").parts["U1"].pins

    assert [(p.net, p.marked_open) for p in pins] == [(None, False), (None, True)]


def test_a_net_with_an_underscore_has_an_automatic_name() -> None:
    nets = board_of("R1 10k _1 GND").nets

    assert not nets["_1"].named
    assert nets["GND"].named


def test_facts_behind_a_part_are_known() -> None:
    circuit = circuit_of("U1 mcu VDD+ A GND- B = supply 1.8 to 5.5 V = clock 8 MHz")

    assert circuit.need("U1", "clock").value == 8e6


def test_lines_of_intent_are_read_together_with_facts() -> None:
    circuit = circuit_of("U1 mcu VDD+ A GND- B = clock 8 MHz\n~ run_time: 2 days\n~ boards: 10")

    assert circuit.intent.run_time is not None
    assert circuit.intent.run_time.value == 2 * 86400
    assert circuit.need("U1", "clock").value == 8e6


def test_bom_lines_and_places_are_read() -> None:
    board = board_of("R1 10k A B\n$ R1,R2 10k @0603 ×2\n! R1 10 -2.5 bottom")

    assert board.bom is not None
    assert board.placement is not None
    (line,) = board.bom.lines
    (place,) = board.placement.entries
    assert (line.references, line.value, line.footprint, line.quantity) == (
        ("R1", "R2"),
        "10k",
        "0603",
        2.0,
    )
    assert (place.x, place.y, place.side) == (0.010, -0.0025, "bottom")


@pytest.mark.parametrize(
    "text",
    ["R1", "R1 10k A B C", "R1 10k A B\nR1 10k C D", "R1 10k A B\n! R1 3"],
    ids=["no value", "odd ends", "same reference twice", "place without y"],
)
def test_a_line_that_cannot_be_read_is_refused_by_its_number(text: str) -> None:
    with pytest.raises(NotationError) as refused:
        board_of(text)

    assert refused.value.line == len(text.splitlines())
