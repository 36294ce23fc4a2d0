"""A part that joins a supply to a ground leaves both as they are, for every other question."""

from __future__ import annotations

from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.nodes import Nodes
from boardvet.testing import circuit_of

BOARD = "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND\n"


def test_a_supply_and_a_ground_are_never_one_node() -> None:
    circuit = circuit_of(BOARD + "R1 0R VBAT ADR\nR2 0R ADR GND")

    nodes = circuit.view(Nodes)
    assert nodes.node_of["VBAT"] != nodes.node_of["GND"]
    assert circuit.view(Grounds).nodes == (nodes.node_of["GND"],)
    assert circuit.view(Feeding).ever(nodes.node_of["VBAT"])


def test_the_whole_way_from_supply_to_ground_is_kept_in_order() -> None:
    (short,) = circuit_of(BOARD + "R2 0R ADR GND\nR1 0R VBAT ADR").view(Nodes).shorts

    assert (short.supply, short.ground) == ("VBAT", "GND")
    assert [join.reference for join in short.joins] == ["R1", "R2"]


def test_a_long_way_is_in_order_on_both_sides() -> None:
    text = "R1 0R VBAT N1\nR2 0R N1 N2\nR4 0R N3 GND\nR3 0R N2 N3"
    (short,) = circuit_of(BOARD + text).view(Nodes).shorts

    assert [join.reference for join in short.joins] == ["R1", "R2", "R3", "R4"]
    assert [join.b for join in short.joins] == ["N1", "N2", "N3", "GND"]


def test_grounds_and_supplies_among_themselves_are_joined_as_ever() -> None:
    nodes = circuit_of(BOARD + "R1 0R GND AGND\nR2 0R VBAT VCC").view(Nodes)

    assert nodes.node_of["AGND"] == nodes.node_of["GND"]
    assert nodes.node_of["VCC"] == nodes.node_of["VBAT"]
    assert nodes.shorts == ()
