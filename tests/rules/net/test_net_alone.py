"""`net-alone`: a named net with one pin, and where one pin is enough."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.net.net_alone import check as rule

BOARD = """
BT1 CR2032 VBAT GND
U1 mcu VCC+ VBAT GND- GND PB0 {net}
{more}
"""


def findings(net: str = "LAMP", more: str = "") -> list[str]:
    review = judge(rule, BOARD.format(net=net, more=more))
    assert not review.undetermined
    assert not review.broken
    return [finding.subject.name for finding in review.findings]


def test_a_named_net_with_one_pin_is_a_query_that_names_the_pin() -> None:
    review = judge(rule, BOARD.format(net="LAMP", more=""))

    (finding,) = review.findings
    assert finding.level is Level.QUERY
    assert finding.parts == ("U1",)
    assert finding.nets == ("LAMP",)
    assert "U1 pin 3 (PB0)" in finding.message


def test_a_second_pin_cures_it() -> None:
    assert findings(more="R1 10k LAMP GND") == []


def test_a_part_that_is_not_fitted_still_is_an_end() -> None:
    assert findings(more="R1? 10k LAMP GND") == []


def test_an_automatic_name_is_nobody_s_intention() -> None:
    assert findings(net="_1") == []


def test_a_pin_marked_as_open_is_left_alone() -> None:
    assert findings(net="x") == []


@pytest.mark.parametrize("kind", ["test-point", "antenna", "connector", "mounting-hole"])
def test_a_net_may_end_where_something_else_begins(kind: str) -> None:
    board = f"BT1 CR2032 VBAT GND\nC1 1u VBAT GND\nX1 {kind}/made-up 1: WAVE"

    assert not judge(rule, board).findings


def test_the_same_net_on_a_resistor_is_found() -> None:
    board = "BT1 CR2032 VBAT GND\nC1 1u VBAT GND\nR1 10k WAVE GND"

    assert [f.subject.name for f in judge(rule, board).findings] == ["WAVE"]


@pytest.mark.parametrize(
    ("pin", "net"), [("PB0", "/PB0"), ("PB0/MOSI", "MOSI"), ("3", "/P0.04"), ("IO5", "GPIO5")]
)
def test_a_net_called_as_its_own_pin_labels_a_spare(pin: str, net: str) -> None:
    board = f"BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND 9:{pin} {net}"

    assert not judge(rule, board).findings


def test_a_net_called_as_another_pin_is_found() -> None:
    board = "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND 9:PB0 MOSI"

    assert [f.subject.name for f in judge(rule, board).findings] == ["MOSI"]
