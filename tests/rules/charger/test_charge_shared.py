"""`charge-shared`: what the board takes beside a cell on charge, and what leaves it alone."""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.charger.charge_shared import check as rule

SOURCE = "~ sources: {J1: {net: VIN, voltage: 5 V}}"
CELL = (
    "~ cell: {part: BT1, type: LiPo, voltage: 4.2 V at 0 % and 3 V at 100 %, resistance: 0.01 ohm}"
)
GAIN = "program_gain 1000 V"
ENDS = "termination 10 %"
PATH = "D2 diode/BAT54 VIN SYS\nQ1 fet/p 1:G VIN 2:S SYS 3:D BAT = channel p\nR9 100k VIN GND"


def review(
    *lines: str, facts: str = f"{GAIN} = {ENDS}", cell: str = CELL, source: str = SOURCE
) -> Review:
    stated = f" = {facts}" if facts else ""
    board = "\n".join(
        (
            "BT1 cell/holder + BAT - GND",
            cell,
            "J1 connector/in 1: VIN 2: GND",
            source,
            f"U1 charger/made-up VDD+ VIN VSS- GND VBAT> BAT PROG SET{stated}"
            " = charge_voltage 4.2 V",
            "R8 10k SET GND",
            *lines,
        )
    )
    found = judge(rule, board)
    assert not found.broken, found.broken
    return found


def found(*lines: str, facts: str = f"{GAIN} = {ENDS}") -> bool:
    answer = review(*lines, facts=facts)
    assert not answer.undetermined, answer.undetermined
    return bool(answer.findings)


@pytest.mark.parametrize(("ohms", "over"), [("416", True), ("424", False)])
def test_it_turns_at_the_current_at_which_the_charger_ends(ohms: str, over: bool) -> None:
    """By hand: 10 % of 1000 V / 10 kΩ are 10 mA; 4.2 V / 420 Ω = 10 mA, 1 % either side."""
    assert found(f"R1 {ohms} BAT GND") is over


@pytest.mark.parametrize(("ohms", "over"), [("832", True), ("848", False)])
def test_an_end_that_is_stated_as_a_current_counts_as_it_is(ohms: str, over: bool) -> None:
    """By hand: 4.2 V / 840 Ω = 5 mA, 1 % either side."""
    assert found(f"R1 {ohms} BAT GND", facts=f"{GAIN} = termination 5 mA") is over


def test_it_is_a_query_that_says_what_takes_how_much() -> None:
    pattern = "~ pattern: [{name: work, part: U2, current: 30 mA}]"
    (finding,) = review(pattern, "U2 mcu VCC+ BAT GND- GND = sleep_current 1 uA").findings

    assert finding.level is Level.QUERY
    assert "U2 30 mA" in finding.sum
    assert "10 mA" in finding.sum
    assert finding.state == "J1 connected"


def test_a_load_beyond_the_set_current_empties_the_cell_on_charge() -> None:
    """By hand: 4.2 V / 35 Ω = 120 mA, more than the 100 mA that are set."""
    (finding,) = review("R1 35 BAT GND").findings

    assert "runs down" in finding.bench
    (lighter,) = review("R1 52 BAT GND").findings
    assert "never says" in lighter.bench


def test_a_power_path_is_quiet_and_its_twin_without_the_diode_is_found() -> None:
    assert not found(PATH, "R1 300 SYS GND")
    assert found(PATH.partition("\n")[2], "R1 300 SYS GND")


def test_the_second_output_of_a_charger_is_quiet_and_the_battery_pin_is_not() -> None:
    two = "U3 charger/x VDD+ VIN VSS- GND VBAT> CELL2 OUT> SYS PROG SET2"
    lines = (
        two + f" = {GAIN} = {ENDS} = charge_voltage 4.2 V",
        "R7 10k SET2 GND",
        "BT2 cell/holder + CELL2 - GND",
    )
    cell = CELL.replace("part: BT1", "part: [BT1, BT2]")

    assert not review(*lines, "R1 300 SYS GND", cell=cell).findings
    (finding,) = review(*lines, "R1 300 CELL2 GND", cell=cell).findings
    assert finding.subject.name == "U3"


def test_light_loads_are_clear() -> None:
    assert not found("R1 100k BAT GND", "U2 mcu VCC+ BAT GND- GND = sleep_current 5 uA")


def test_a_primary_cell_is_the_business_of_another_rule() -> None:
    assert not review("R1 42 BAT GND", cell="~ cell: {part: BT1, type: CR2032}").findings


@pytest.mark.parametrize(
    ("facts", "cell", "source", "line", "key"),
    [
        (GAIN, CELL, SOURCE, "R1 42 BAT GND", "termination"),
        (ENDS, CELL, SOURCE, "R1 42 BAT GND", "program_gain"),
        (f"{GAIN} = {ENDS}", "", SOURCE, "R1 42 BAT GND", "cell"),
        (f"{GAIN} = {ENDS}", CELL, "", "R1 42 BAT GND", "sources"),
        (f"{GAIN} = {ENDS}", CELL, SOURCE, "U2 mcu VCC+ BAT GND- GND", "sleep_current"),
    ],
    ids=["end of charging", "gain", "cell", "source", "current at rest"],
)
def test_what_is_missing_is_asked_for(
    facts: str, cell: str, source: str, line: str, key: str
) -> None:
    answer = review(line, facts=facts, cell=cell, source=source)

    assert not answer.findings
    assert [u.key for u in answer.undetermined] == [key]


def test_a_current_that_nobody_knows_does_not_hide_a_load_that_is_too_much_already() -> None:
    (finding,) = review("R1 300 BAT GND", "U2 mcu VCC+ BAT GND- GND").findings

    assert finding.level is Level.QUERY
