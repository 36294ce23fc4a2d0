"""`bypass-far`: distances from the placement file, less body sizes worked out by hand.

SOIC-8 is 6.2 mm over its leads (JEDEC MS-012: 5.8 to 6.2 mm), a 0603 chip 1.6 mm long. Half of
each is 3.1 mm + 0.8 mm = 3.9 mm, so that 5 mm from body to body is 8.9 mm from middle to middle.
"""

from __future__ import annotations

import pytest

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.decoupling.bypass_far import check as rule
from boardvet_rules.decoupling.bypass_missing import check as bypass_missing

BOARD = """
BT1 CR2032 VBAT GND
U1 mcu @SOIC-8 VCC+ VBAT GND- GND
C1 100n @0603 VBAT GND
"""
LIMIT = 8.9
"""5 mm from body to body, from middle to middle. [mm]"""


def review(*places: str, board: str = BOARD) -> Review:
    found = judge(rule, "\n".join((board, *places)))
    assert not found.broken, found.broken
    return found


def findings(*places: str, board: str = BOARD) -> tuple[Finding, ...]:
    found = review(*places, board=board)
    assert not found.undetermined, found.undetermined
    return found.findings


def far(*places: str, board: str = BOARD) -> bool:
    return bool(findings(*places, board=board))


def asked(*places: str, board: str = BOARD) -> list[tuple[str, str]]:
    return [(u.of, u.key) for u in review(*places, board=board).undetermined]


def test_the_verdict_turns_at_five_millimetres_between_the_bodies() -> None:
    """By hand: 4.95 mm + 3.9 mm = 8.85 mm is near, 5.05 mm + 3.9 mm = 8.95 mm is far."""
    assert not far("! U1 10 10", f"! C1 {10 + 8.85} 10")
    (finding,) = findings("! U1 10 10", f"! C1 {10 + 8.95} 10")

    assert finding.level is Level.QUERY
    assert finding.numbers[0].value == pytest.approx(5.05e-3)
    assert finding.numbers[1].value == pytest.approx(8.95e-3)
    assert set(finding.parts) == {"U1", "C1"}


def test_distance_runs_both_ways() -> None:
    """By hand: √(16² + 10²) mm = 18.87 mm, less 3.9 mm: 14.97 mm."""
    (finding,) = findings("! U1 50 -20", "! C1 66 -10")

    assert finding.numbers[0].value == pytest.approx(14.97e-3, rel=1e-3)


def test_the_limit_is_a_setting() -> None:
    stated = BOARD + "~ settings: {bypass-far: {distance: 2 mm}}\n"

    assert not far("! U1 0 0", "! C1 5.8 0", board=stated)
    assert far("! U1 0 0", "! C1 6.0 0", board=stated)


def test_the_other_side_of_the_board_counts_alike_and_is_told() -> None:
    assert not far("! U1 10 10 top", "! C1 12 10 bottom")
    (finding,) = findings("! U1 10 10 top", "! C1 30 10 bottom")
    assert "other side" in finding.sum


def test_a_bottom_side_written_as_seen_from_below_is_turned() -> None:
    assert not far("! U1 10 10 top", "! C1 -12 10 bottom")


def test_the_nearest_of_several_counts() -> None:
    more = BOARD + "C2 1u @0603 VBAT GND\n"

    assert not far("! U1 10 10", "! C1 60 10", "! C2 12 10", board=more)


@pytest.mark.parametrize(
    "other",
    ["C2 1n @0603 VBAT GND", "C2 10u @0603 VBAT GND = dielectric tantalum", "C2 1u @0603 X GND"],
    ids=["too small", "too slow", "on another net"],
)
def test_what_does_not_count_as_a_bypass_capacitor_is_not_near(other: str) -> None:
    assert far("! U1 10 10", "! C1 60 10", "! C2 12 10", board=f"{BOARD}{other}\n")


def test_on_a_panel_each_place_is_compared_with_its_nearest() -> None:
    panel = ("! U1 10 10", "! C1 12 10", "! U1 60 10", "! C1 62 10")

    assert not far(*panel)
    assert far(*panel, "! U1 160 10")


def test_several_pins_of_one_part_are_said_once() -> None:
    board = BOARD.replace("VCC+ VBAT", "VCC+ VBAT VDD+ VBAT") + "C2 100n @0603 VBAT GND\n"

    (finding,) = findings("! U1 10 10", "! C1 60 10", "! C2 60 20", board=board)
    assert finding.subject.name == "U1 pin 1 (VCC)"


@pytest.mark.parametrize(
    "part",
    [
        "U2 module @SOIC-8 VCC+ VBAT GND- GND",
        "U2 regulator @SOIC-8 VIN+ VBAT GND- GND VOUT> VREG",
        "U2 sensor @SOIC-8 VCC+ VBAT GND- GND = bypass_inside yes",
        "U2 sensor? @SOIC-8 VCC+ VBAT GND- GND",
    ],
)
def test_what_asks_for_no_capacitor_of_the_board_is_quiet(part: str) -> None:
    part = part.replace("U2 sensor?", "U2? sensor")

    assert not far("! U1 10 10", "! C1 12 10", "! U2 90 90", board=f"{BOARD}{part}\n")


def test_the_same_part_that_asks_for_one_is_found() -> None:
    board = f"{BOARD}U2 sensor @SOIC-8 VCC+ VBAT GND- GND\n"

    assert far("! U1 10 10", "! C1 12 10", "! U2 90 90", board=board)


def test_a_rail_with_no_capacitor_is_left_to_the_rule_that_counts() -> None:
    assert not far("! U1 10 10", board=BOARD.replace("C1 100n", "C1? 100n"))


def test_a_pin_far_from_too_few_follows_from_that() -> None:
    board = f"{BOARD}U2 driver @SOIC-8 VCC+ VBAT GND- GND\n! U1 10 10\n! C1 12 10\n! U2 90 90\n"
    both = run(circuit_of(board), [LoadedPack("", "0", (rule, bypass_missing))])
    prints = {finding.rule: finding for finding in both.findings}

    assert prints["bypass-far"].follows == prints["bypass-missing"].fingerprint


def test_without_a_placement_file_nothing_is_called_near() -> None:
    assert asked() == [("board", "placement file")]


def test_a_part_that_is_not_placed_is_asked_for() -> None:
    assert asked("! C1 10 10") == [("U1", "place")]
    assert asked("! U1 10 10") == [("C1", "place")]


def test_a_capacitor_that_is_not_placed_matters_only_where_no_other_is_near() -> None:
    more = BOARD + "C2 1u @0603 VBAT GND\n"

    assert not far("! U1 10 10", "! C1 12 10", board=more)
    assert asked("! U1 10 10", "! C1 60 10", board=more) == [("C2", "place")]


def test_a_body_of_unknown_size_is_asked_for_only_where_it_decides() -> None:
    """Taken as a dual-in-line part of 10.7 mm: 5.35 mm + 0.8 mm less than middle to middle."""
    unknown = BOARD.replace("@SOIC-8", "@ODD")

    assert not far("! U1 10 10", "! C1 14 10", board=unknown)
    assert asked("! U1 10 10", "! C1 20 10", board=unknown) == [("U1", "package")]
    assert far("! U1 10 10", "! C1 40 10", board=unknown)
