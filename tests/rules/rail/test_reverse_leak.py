"""`reverse-leak`: what creeps into primary cells, into dead rails and into dead parts.

The cell is flat at 3 V and holds 100 mAh. Sums by hand: a current over 1000 h is so many mAh.
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.rail.reverse_leak import check as rule

CELL = (
    "~ cell: {part: BT1, type: CR2032, capacity: 100 mAh, voltage: 3 V at 0 % and 3 V at 100 %,"
    " resistance: 15 ohm}"
)
LIPO = CELL.replace("CR2032", "LiPo")
SOURCE = "~ sources: {J1: {net: VIN, voltage: 5 V}}"
QUIET = "1 nA at 10 V"


def review(
    *lines: str,
    into: str = QUIET,
    out: str = QUIET,
    cell: str = CELL,
    source: str = SOURCE,
) -> Review:
    board = "\n".join(
        (
            "BT1 cell/x + CELL - GND",
            cell,
            "J1 connector/in 1: VIN 2: GND",
            source,
            f"D1 diode/x CELL VCC = reverse_current {into}",
            f"D2 diode/x VIN VCC = reverse_current {out}",
            "U1 mcu VCC+ VCC GND- GND",
            "R9 100k VIN GND",
            *lines,
        )
    )
    found = judge(rule, board)
    assert not found.broken, found.broken
    return found


def finding(*lines: str, into: str = QUIET, out: str = QUIET, cell: str = CELL) -> Finding | None:
    found = review(*lines, into=into, out=out, cell=cell)
    assert not found.undetermined, found.undetermined
    assert len(found.findings) < 2
    return found.findings[0] if found.findings else None


@pytest.mark.parametrize(("leak", "over"), [("1.01 uA", True), ("0.99 uA", False)])
def test_a_primary_cell_takes_no_more_than_a_microampere(leak: str, over: bool) -> None:
    """Energizer CR2032 sheet: 1 µA at most backwards; 1 % either side."""
    found = finding(into=f"{leak} at 10 V")

    assert (found is not None) is over
    if found is not None:
        assert found.level is Level.QUERY
        assert "D1" in found.parts
        assert "BT1" in found.parts


@pytest.mark.parametrize(("hours", "over"), [("3788 h", True), ("3712 h", False)])
def test_over_the_run_time_it_takes_no_more_than_three_hundredths(hours: str, over: bool) -> None:
    """By hand: 3 mAh / 0.8 µA = 3750 h, 1 % either side."""
    found = finding(f"~ run_time: {hours}", into="0.8 uA at 10 V")

    assert (found is not None) is over
    if found is not None:
        assert found.level is Level.QUERY


def test_a_mode_in_which_the_source_is_there_for_a_share_of_the_time_counts_so() -> None:
    """By hand: for 6 h of 24 it is a quarter: 7500 h of run time bring 1.5 mAh, not 6 mAh."""
    modes = (
        "~ run_time: 7500 h",
        "~ modes:",
        "~   plugged: {share: 6 h per day, sources: [J1]}",
        "~   alone: {share: 18 h per day}",
    )

    assert finding(*modes, into="0.8 uA at 10 V") is None
    assert finding("~ run_time: 7500 h", into="0.8 uA at 10 V") is not None


def test_warm_air_makes_a_leak_of_a_quiet_diode() -> None:
    """By hand: 0.3 µA at 25 °C is 1.2 µA at 45 °C."""
    assert finding(into="0.3 uA at 10 V") is None
    found = finding("~ temperature: 0 to 45 degC", into="0.3 uA at 10 V")
    assert found is not None
    assert "1.2 µA" in found.sum
    assert "45 °C" in found.sum


def test_a_rechargeable_cell_may_be_leaked_into() -> None:
    assert finding(into="20 uA at 10 V", cell=LIPO) is None


@pytest.mark.parametrize(("leak", "over"), [("5.05 uA", True), ("4.95 uA", False)])
def test_out_of_the_cell_it_is_a_note_from_a_twentieth_of_the_mean_current(
    leak: str, over: bool
) -> None:
    """By hand: 100 mAh / 1000 h = 100 µA, a twentieth of it 5 µA; 1 % either side."""
    found = finding("~ run_time: 1000 h", out=f"{leak} at 10 V")

    assert (found is not None) is over
    if found is not None:
        assert found.level is Level.NOTE
        assert "VIN" in found.sum


@pytest.mark.parametrize(("leak", "over"), [("11.53 uA", True), ("11.30 uA", False)])
def test_without_a_run_time_it_is_a_note_where_it_alone_empties_the_cell_in_a_year(
    leak: str, over: bool
) -> None:
    """By hand: 100 mAh / (365 · 24 h) = 11.42 µA; 1 % either side."""
    found = finding(out=f"{leak} at 10 V")

    assert (found is not None) is over
    if found is not None:
        assert found.level is Level.NOTE


def test_without_run_time_and_capacity_there_is_nothing_to_judge_by() -> None:
    assert finding(out="50 uA at 10 V", cell=LIPO.replace("capacity: 100 mAh, ", "")) is None
    assert finding(out="50 uA at 10 V", cell=LIPO) is not None


def test_an_input_without_supply_is_a_note_and_its_fail_safe_twin_is_quiet() -> None:
    """By hand: (3 V − 0.3 to 0.6 V) / 100 kΩ = 24 to 27 µA of the 100 µA for 1000 h."""
    lines = ("~ run_time: 1000 h", "SW1 switch/slide CELL VSW", "R1 100k CELL TAP")
    part = "U2 mcu VCC+ VSW GND- GND PB0 TAP"
    found = finding(*lines, part)
    assert found is not None

    assert found.level is Level.NOTE
    assert 24e-6 < found.numbers[0].value < 27e-6
    assert finding(*lines, f"{part} = fail_safe yes") is None


def test_the_same_tap_behind_a_large_resistor_is_quiet() -> None:
    """By hand: below 2.7 V / 1 MΩ = 2.7 µA, less than 5 µA."""
    lines = ("~ run_time: 1000 h", "SW1 switch/slide CELL VSW", "R1 1M CELL TAP")

    assert finding(*lines, "U2 mcu VCC+ VSW GND- GND PB0 TAP") is None


def test_a_transistor_in_place_of_the_diode_is_quiet() -> None:
    board = """
BT1 cell/x + CELL - GND
J1 connector/in 1: VIN 2: GND
{way}
U1 mcu VCC+ VCC GND- GND
R9 100k VIN GND
F1 fuse/1A VIN VCC
"""
    fet = board.format(way="Q1 fet/p 1:G VIN 2:S VCC 3:D CELL = channel p")
    diode = board.format(way="D1 diode/x CELL VCC = reverse_current 20 uA at 10 V")

    assert not judge(rule, f"{fet}{CELL}\n{SOURCE}").findings
    assert judge(rule, f"{diode}{CELL}\n{SOURCE}").findings


def test_an_assumed_reverse_current_is_listed_as_an_assumption() -> None:
    board = f"""
BT1 cell/x + CELL - GND
J1 connector/in 1: VIN 2: GND
D1 diode/schottky CELL VCC
F1 fuse/1A VIN VCC
U1 mcu VCC+ VCC GND- GND
{CELL}
{SOURCE}
"""
    found = judge(rule, board)

    assert [f.level for f in found.findings] == [Level.QUERY]
    assert "reverse_current of D1" in [a.what for a in found.assumptions]


@pytest.mark.parametrize(
    ("lines", "cell", "source", "keys"),
    [
        ((), "", SOURCE, {"cell"}),
        ((), CELL, "~ sources: {J1: {net: VIN}}", {"voltage"}),
        (("~ run_time: 1000 h",), LIPO.replace("capacity: 100 mAh, ", ""), SOURCE, {"capacity"}),
    ],
    ids=["cell", "voltage", "capacity"],
)
def test_what_is_missing_is_asked_for(
    lines: tuple[str, ...], cell: str, source: str, keys: set[str]
) -> None:
    found = review(*lines, cell=cell, source=source)

    assert not found.findings
    assert {u.key for u in found.undetermined} == keys


def test_a_resistor_of_unknown_value_before_a_dead_part_is_asked_for() -> None:
    lines = ("SW1 switch/slide CELL VSW", "R1 R CELL TAP", "U2 mcu VCC+ VSW GND- GND PB0 TAP")

    assert {u.key for u in review(*lines).undetermined} == {"value"}
