"""The run time wanted, and what a current is worth against it; charges are divided by hand."""

from __future__ import annotations

import math

import pytest

from boardvet.circuit.target import Target
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

MICRO = 1e-6


def target(text: str) -> Target:
    return circuit_of(text).view(Target)


def two_cells(first: str, second: str, page: str = "") -> str:
    """Two holders between the nodes named, with 100 and 200 mAh stated."""
    return (
        f"BT1 CR2032 {first}\n"
        f"BT2 CR2032 {second}\n"
        "U1 mcu VCC+ VBAT GND- GND\n"
        "~ cell:\n~ - {part: BT1, type: CR2032, capacity: 100 mAh}\n"
        "~ - {part: BT2, type: CR2032, capacity: 200 mAh}\n" + page
    )


def test_mean_current_is_the_charge_over_the_run_time() -> None:
    """By hand: 240 mAh / (10 · 24 h) = 1 mA; 60 µA are 6 % of it and alone last 4000 h."""
    wanted = target(
        "BT1 CR2032 VBAT GND\n"
        "~ cell: {part: BT1, type: CR2032, capacity: 240 mAh}\n~ run_time: 10 days\n"
    )
    assert wanted.mean_current is not None
    assert wanted.mean_current.value == pytest.approx(1e-3)
    assert wanted.mean_current.source.startswith("computed: capacity (intent ")
    assert wanted.share(60 * MICRO) == pytest.approx(0.06)
    assert wanted.days_alone(60 * MICRO) == pytest.approx(4000 / 24)


def test_without_a_target_there_is_no_share_but_there_are_days() -> None:
    """225 mAh of the table / 100 µA = 2250 h."""
    wanted = target("BT1 CR2032 VBAT GND\n")
    assert wanted.mean_current is None
    assert wanted.share(1.0) is None
    assert wanted.days_alone(100 * MICRO) == pytest.approx(2250 / 24)


@pytest.mark.parametrize("current", [0.0, -1e-3])
def test_what_draws_nothing_lasts_for_ever(current: float) -> None:
    assert target("BT1 CR2032 VBAT GND\n").days_alone(current) == math.inf


@pytest.mark.parametrize(
    ("first", "second", "charge"),
    [
        pytest.param("VBAT GND", "VBAT GND", 300, id="side by side, the charges add"),
        pytest.param("VBAT MID", "MID GND", 100, id="in a row, the smallest counts"),
        pytest.param("MID GND", "VBAT MID", 100, id="in a row, drawn the other way round"),
        pytest.param("VBAT GND", "VB2 GND", 300, id="each on its own, the charges add"),
    ],
)
def test_cells_are_put_together_by_their_nodes(first: str, second: str, charge: float) -> None:
    assert target(two_cells(first, second)).need_capacity().value == pytest.approx(charge * 3.6)


def test_a_current_may_be_held_against_one_cell_of_two() -> None:
    """BT2 alone: 200 mAh / 200 h = 1 mA; both: 300 mAh / 200 h = 1.5 mA."""
    wanted = target(two_cells("VBAT GND", "VB2 GND", "~ run_time: 200 h\n"))
    assert wanted.share(1e-3, "BT2") == pytest.approx(1.0)
    assert wanted.share(1e-3) == pytest.approx(1 / 1.5)


def test_two_cells_that_short_each_other_are_still_counted_once() -> None:
    """Plus of each on minus of the other: a mistake that other rules find; no endless walk."""
    wanted = target(two_cells("VBAT GND", "GND VBAT"))
    assert sum(len(bank.cells) for bank in wanted.banks) == 2


@pytest.mark.parametrize(
    ("board", "key"),
    [
        (
            "J1 connector/LiPo 1: VBAT 2: GND\n~ cell: {part: J1, type: LiPo}\n~ run_time: 9 h\n",
            "capacity",
        ),
        ("BT1 cell VBAT GND\n~ run_time: 9 h\n", "cell"),
        ("J1 usb-connector 1: V 2: GND\n~ run_time: 9 h\n", "cell"),
    ],
)
def test_what_is_not_known_is_asked_for(board: str, key: str) -> None:
    with pytest.raises(MissingFact) as missing:
        target(board).share(1e-3)
    assert missing.value.key == key
