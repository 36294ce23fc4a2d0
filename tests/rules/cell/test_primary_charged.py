"""`primary-charged`: what reaches a primary cell backwards, and what keeps it off."""

from __future__ import annotations

import pytest

from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.cell.primary_charged import check as rule

CELL = (
    "~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 3 V at 100 %, resistance: 15 ohm}"
)
SOURCE = "~ sources: {J1: {net: VIN, voltage: 5 V}}"
LOAD = "U1 mcu VCC+ VBAT GND- GND\nJ1 connector/in 1: VIN 2: GND"


def findings(*lines: str, cell: str = CELL, source: str = SOURCE) -> tuple[Finding, ...]:
    board = "\n".join(("BT1 cell/holder + VBAT - GND", *lines, LOAD, cell, source))
    review = judge(rule, board)
    assert not review.broken, review.broken
    assert not review.undetermined, review.undetermined
    return review.findings


def level(*lines: str) -> Level | None:
    found = findings(*lines)
    return found[0].level if found else None


def test_a_resistor_lets_the_computed_current_into_the_cell() -> None:
    """By hand: (5 V − 3 V) / (85 Ω + 15 Ω) = 20 mA, less the 0.05 Ω that a way itself has."""
    (finding,) = findings("R1 85 VIN VBAT")

    assert finding.level is Level.HOLD
    assert finding.numbers[0].value == pytest.approx(20e-3, rel=2e-3)
    assert "R1" in finding.parts


@pytest.mark.parametrize(
    "way",
    [
        "F1 500mA VIN VBAT",
        "FB1 600R VIN VBAT",
        "SW1 switch/slide VIN VBAT",
        "D1 diode/1N4148 VIN VBAT",
        "Q1 fet/p 1:G GND 2:S VBAT 3:D VIN = channel p",
        "U2 regulator/made-up VIN+ VBAT GND- GND VOUT> VIN = output 3.3 V",
    ],
    ids=["fuse", "ferrite", "switch", "diode forwards", "FET that is on", "regulator backwards"],
)
def test_what_conducts_backwards_is_a_hold(way: str) -> None:
    assert level(way) is Level.HOLD


def test_a_body_diode_towards_the_cell_conducts_even_when_the_channel_is_off() -> None:
    """A P-FET with its drain on the source's side: the body diode points to the cell."""
    assert level("Q1 fet/p 1:G VIN 2:S VBAT 3:D VIN = channel p") is Level.HOLD


def test_one_diode_alone_is_a_note_that_says_what_its_failure_lets_through() -> None:
    """By hand, diode shorted: (5 V − 3 V) / (85 Ω + 15 Ω) = 20 mA."""
    (finding,) = findings("D1 diode/BAT54 VBAT _1", "R1 85 _1 VIN")

    assert finding.level is Level.NOTE
    assert finding.numbers[0].value == pytest.approx(20e-3, rel=2e-3)
    assert "second Schottky diode in series with D1" in finding.fix


def test_two_diodes_in_series_are_clear() -> None:
    assert level("D1 diode/BAT54 VBAT _1", "D2 diode/BAT54 _1 VIN") is None


def test_no_way_at_all_is_clear() -> None:
    assert level("C1 1u VIN GND") is None


def test_a_source_below_the_cell_charges_nothing() -> None:
    assert not findings("R1 85 VIN VBAT", source="~ sources: {J1: {net: VIN, voltage: 2.9 V}}")


def test_a_rechargeable_cell_is_not_this_rule_s_business() -> None:
    assert not findings("R1 85 VIN VBAT", cell="~ cell: {part: BT1, type: lithium-ion}")


def test_the_maker_s_limit_for_abnormal_charging_is_told() -> None:
    """Renata guide p. 53: CR2032 25 mA (10 mA for the MFR type, the lower is taken)."""
    (finding,) = findings("R1 85 VIN VBAT")
    limits = [n.value for n in finding.numbers if n.name == "abnormal charge limit"]

    assert limits in ([25e-3], [10e-3])


def test_a_programmer_on_the_rail_is_a_query_with_both_sums() -> None:
    """By hand: (5 − 3)/(15 + 0.05) = 133 mA and (3.3 − 3)/(15 + 0.05) = 19.9 mA."""
    isp = "J2 connector/ISP 1:VCC VBAT 2:MISO A 3:SCK B 4:GND GND\nR8 10k A GND\nR9 10k B GND"
    (finding,) = findings(isp)

    assert finding.level is Level.QUERY
    assert [n.value for n in finding.numbers[:2]] == pytest.approx([0.1329, 0.01993], rel=1e-2)


def test_a_hand_switch_between_makes_the_programmer_a_note() -> None:
    board = f"""
BT1 cell/holder + CELL - GND
SW1 switch/slide CELL VBAT
U1 mcu VCC+ VBAT GND- GND PB1 A PB2 B
J2 connector/ISP 1:VCC VBAT 2:MISO A 3:SCK B 4:GND GND
{CELL}
"""
    assert [f.level for f in judge(rule, board).findings] == [Level.NOTE]


def test_a_header_stated_as_not_powering_the_board_is_quiet() -> None:
    isp = "J2 connector/ISP 1:VCC VBAT 2:MISO A 3:SCK B 4:GND GND = powers_board no"

    assert not findings(f"{isp}\nR8 10k A GND\nR9 10k B GND")


def test_equal_primaries_side_by_side_are_a_query_once() -> None:
    board = """
BT1 CR2032 + VBAT - GND
BT2 CR2032 + VBAT - GND
U1 mcu VCC+ VBAT GND- GND
"""
    review = judge(rule, board)

    (finding,) = review.findings
    assert finding.level is Level.QUERY
    assert set(finding.parts) == {"BT1", "BT2"}


def test_a_cell_behind_a_back_up_pin_has_no_way_to_it() -> None:
    board = f"""
BT1 cell/holder + COIN - GND
U1 clock/made-up VDD+ VIN GND- GND VBAT+ COIN
J1 connector/in 1: VIN 2: GND
{CELL}
{SOURCE}
"""
    assert not judge(rule, board).findings


def test_an_unknown_cell_is_undetermined_with_its_key() -> None:
    board = f"BT1 cell/holder + VBAT - GND\nR1 85 VIN VBAT\n{LOAD}\n{SOURCE}"

    assert [u.key for u in judge(rule, board).undetermined] == ["cell"]


def test_a_source_that_can_give_less_than_the_way_lets_through_sets_the_current() -> None:
    """By hand: the way would let (5 V − 3 V) / (85 Ω + 15 Ω) = 20 mA through, the panel has 8."""
    panel = "~ sources: {J1: {net: VIN, voltage: 5 V, current_max: 8 mA}}"
    (finding,) = findings("R1 85 VIN VBAT", source=panel)

    assert finding.numbers[0].value == pytest.approx(8e-3)
    assert finding.numbers[0].source.startswith("intent")


SPDT = "SW1 switch/slide 1:A _off 2:B VBAT 3:C CELL"


def test_the_other_position_of_a_switch_counts_while_the_source_is_there() -> None:
    """The cell lies on the second throw, where the source reaches it as well."""
    board = f"""
BT1 cell/holder + CELL - GND
R7 10k _off GND
{SPDT}
R1 85 VIN VBAT
{LOAD}
{CELL}
{SOURCE}
"""
    assert [f.level for f in judge(rule, board).findings] == [Level.HOLD]


CHARGER = "U2 charger/made-up VIN+ {feed} GND- GND BAT> VBAT = charge_voltage 4.2 V"


@pytest.mark.parametrize("feed", ["VIN", "PANEL"], ids=["stated source", "nothing known of it"])
def test_a_charger_on_a_primary_is_a_hold_whatever_feeds_it(feed: str) -> None:
    (finding,) = findings(CHARGER.format(feed=feed), "J9 connector/panel 1: PANEL 2: GND")

    assert finding.level is Level.HOLD
    assert "U2" in finding.parts


def test_a_charger_behind_a_diode_does_not_decide() -> None:
    board = f"""
BT1 cell/holder + VBAT - GND
U2 charger/made-up VIN+ PANEL GND- GND BAT> PACK = charge_voltage 4.2 V
D1 diode/BAT54 VBAT PACK
J9 connector/panel 1: PANEL 2: GND
U1 mcu VCC+ VBAT GND- GND
{CELL}
"""
    assert not judge(rule, board).findings


def two_cells(way: str) -> tuple[Finding, ...]:
    board = f"""
BT1 cell/holder + PACK - GND
BT2 cell/holder + COIN - GND
{way}
U1 mcu VCC+ PACK GND- GND
~ cell:
~   - {{part: BT1, type: LR03, voltage: 4.5 V at 0 % and 4.5 V at 100 %, resistance: 5 ohm}}
~   - {{part: BT2, type: CR1220, voltage: 3 V at 0 % and 3 V at 100 %, resistance: 10 ohm}}
"""
    review = judge(rule, board)
    assert not review.broken, review.broken
    return tuple(f for f in review.findings if "BT2" in f.subject.name)


def test_another_cell_charges_it_where_nothing_blocks() -> None:
    """By hand: (4.5 V − 3 V) / (35 Ω + 5 Ω + 10 Ω) = 30 mA."""
    (finding,) = two_cells("R1 35 PACK COIN")

    assert finding.level is Level.HOLD
    assert finding.numbers[0].value == pytest.approx(30e-3, rel=1e-2)


def test_a_diode_between_two_cells_keeps_them_apart() -> None:
    assert not two_cells("D1 diode/BAT54 COIN _1\nR1 35 _1 PACK")
