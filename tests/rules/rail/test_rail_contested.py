"""`rail-contested`: two sources with nothing between, and those that may stand together."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.rail.rail_contested import check as rule

LOAD = "U9 mcu VCC+ VCC GND- GND"
CELL = "BT1 LR6 VCC GND"
USB = "J1 usb-connector 1:VBUS VCC 2:GND GND"
STATED = "J2 connector 1: VCC 2: GND\n~ sources:\n~   J2: {net: VCC, voltage: 5 V}"
REGULATOR = "U1 regulator VIN+ VA VOUT> VCC GND- GND = output 3.3 V"
SECOND = "U2 regulator VIN+ VA VOUT> VCC GND- GND = output 3.3 V"


def found(*lines: str) -> dict[str, Level]:
    done = judge(rule, "\n".join((LOAD, *lines)))
    assert not done.broken, done.broken
    assert not done.undetermined, done.undetermined
    return {finding.subject.name: finding.level for finding in done.findings}


@pytest.mark.parametrize(
    "pair",
    [
        (REGULATOR, SECOND),
        (CELL, USB),
        (CELL, STATED),
        (CELL, REGULATOR),
        (USB, REGULATOR),
        (USB, STATED),
    ],
)
def test_two_sources_on_one_net_are_a_hold(pair: tuple[str, str]) -> None:
    assert found(*pair) == {"VCC": Level.HOLD}


@pytest.mark.parametrize("one", [CELL, USB, STATED, REGULATOR])
def test_one_source_alone_is_quiet(one: str) -> None:
    assert found(one) == {}


def test_both_sources_are_named_with_what_they_show() -> None:
    """By hand: an LR6 shows 1.59 V fresh (its curve), so 5 V − 1.59 V = 3.41 V apart."""
    review = judge(rule, "\n".join((LOAD, CELL, STATED)))

    (finding,) = review.findings
    assert finding.parts == ("BT1", "J2")
    assert "3.41 V apart" in finding.message


def test_outputs_of_one_voltage_differ_by_their_tolerance() -> None:
    """By hand: 2 % of 3.3 V is 66 mV."""
    (finding,) = judge(rule, "\n".join((LOAD, REGULATOR, SECOND))).findings

    assert "66 mV" in finding.message


@pytest.mark.parametrize("joint", ["FB1 ferrite VCC V2", "F1 fuse VCC V2", "R1 0R VCC V2"])
def test_a_ferrite_a_fuse_or_a_wire_parts_nothing(joint: str) -> None:
    assert set(found(REGULATOR, SECOND.replace("VCC", "V2"), joint)) == {"VCC"}


@pytest.mark.parametrize(
    "joint",
    ["D1 SS14 V2 VCC", "SW1 switch 1: V2 2: VCC", "Q1 fet D VCC G GND S V2 = channel p"],
)
def test_diodes_and_switches_part(joint: str) -> None:
    assert found(REGULATOR, SECOND.replace("VCC", "V2"), joint) == {}


def test_a_charger_may_stand_on_its_cell_and_another_source_may_not() -> None:
    charger = "U1 charger VIN+ VA BAT VCC GND- GND = charge_voltage 4.2 V"
    cell = "BT1 cell/holder + VCC - GND\n~ cell: {part: BT1, type: lithium-ion}"

    assert found(cell, charger) == {}
    assert found(cell, charger, USB) == {"VCC": Level.HOLD}


def test_two_outputs_of_one_part_may_stand_together() -> None:
    assert found("U1 regulator VIN+ VA VOUT> VCC VO> VCC GND- GND = output 3.3 V") == {}


def test_cells_among_themselves_are_left_to_their_own_rules() -> None:
    assert found(CELL, "BT2 LR6 VCC GND") == {}


def test_a_programming_header_is_no_source() -> None:
    assert found(CELL, "J3 connector/ISP 1:VCC VCC 2:MISO A 3:SCK B 4:GND GND") == {}


def test_a_module_is_no_source() -> None:
    assert found(REGULATOR, "U3 module 3V3+ VCC GND- GND") == {}


def test_a_receptacle_of_type_a_behind_a_regulator_is_an_output() -> None:
    boost = REGULATOR.replace("3.3 V", "5 V")

    assert found(boost, "J1 usb-connector/USB_A 1:VBUS VCC 2:GND GND") == {}
    assert found(boost, "J1 usb-connector/USB_C 1:VBUS VCC 2:GND GND") == {"VCC": Level.HOLD}
