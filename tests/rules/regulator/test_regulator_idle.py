"""`regulator-idle`: shares walked through their limits, boosters, bipolar types, what is quiet."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, level

from boardvet.review.review import Review
from boardvet.review.verdict import Level
from boardvet_rules.regulator.regulator_idle import check as rule

HOUR_CELL = "~ cell: {part: BT1, type: LR6, series: 3, capacity: 1000 mAh}"
"""1000 mAh over the 1000 h below: 1 mA on average."""
FLAT = (
    "~ cell: {part: BT1, type: LR6, capacity: 1000 mAh, voltage: 1.5 V at 0 % and 1.5 V at 100 %}"
)
RUN_TIME = "~ run_time: 1000 h"


JUDGING = Judging(rule)
review = JUDGING.review


def regulator(*facts: str, pins: str = "", supply: str = "VBAT") -> str:
    part = f"U1 regulator VIN+ {supply} VOUT> VCC GND- GND {pins}"
    return " = ".join((part, "output 3.3 V", *facts))


def on_cell(own: str, *lines: str, pins: str = "", cell: str = HOUR_CELL) -> Review:
    line = regulator(f"quiescent_current {own}", pins=pins)
    return review("BT1 cell/holder + VBAT - GND", cell, RUN_TIME, line, *lines)


@pytest.mark.parametrize(
    ("own", "expected"),
    [
        ("252.5 uA", Level.QUERY),
        ("247.5 uA", Level.NOTE),
        ("50.5 uA", Level.NOTE),
        ("49.5 uA", None),
    ],
)
def test_the_level_follows_the_share_of_the_mean_current(own: str, expected: Level | None) -> None:
    """By hand: 1000 mAh / 1000 h = 1 mA; a quarter is 250 µA, a twentieth 50 µA; ±1 %."""
    assert level(on_cell(own)) is expected


def test_more_than_all_of_it_says_when_the_cell_is_empty() -> None:
    """By hand: 1000 mAh / 4 mA = 250 h = 10.4 days of 41.7."""
    (finding,) = on_cell("4 mA").findings
    assert "10.4 of 41.7 days" in finding.message


@pytest.mark.parametrize(("own", "found"), [("115.3 uA", True), ("113.0 uA", False)])
def test_without_a_run_time_it_is_a_note_where_it_empties_the_cell_within_a_year(
    own: str, found: bool
) -> None:
    """By hand: 1000 mAh / 8760 h = 114.2 µA; ±1 %."""
    line = regulator(f"quiescent_current {own}")
    done = review("BT1 cell/holder + VBAT - GND", HOUR_CELL, line)
    assert level(done) is (Level.NOTE if found else None)


# Boosters and bipolar types.


@pytest.mark.parametrize(
    ("own", "expected"),
    [("91.8 uA", Level.QUERY), ("90.0 uA", Level.NOTE), ("18.0 uA", None)],
)
def test_the_current_of_a_booster_counts_at_the_cell(own: str, expected: Level | None) -> None:
    """By hand: 3.3 V / (0.8 · 1.5 V) = 2.75; a quarter of 1 mA is 250 µA, so 90.9 µA; ±1 %.

    A twentieth is 50 µA, so 18.18 µA.
    """
    line = regulator(f"quiescent_current {own}", "conversion step-up", "efficiency 80 % at 1 mA")
    done = review("BT1 cell/holder + VBAT - GND", FLAT, RUN_TIME, line)
    assert level(done) is expected


def test_what_it_counts_at_the_cell_is_printed() -> None:
    """By hand: 100 µA · 3.3 V / (0.8 · 1.5 V) = 275 µA."""
    facts = ("quiescent_current 100 uA", "conversion step-up", "efficiency 80 % at 1 mA")
    done = review("BT1 cell/holder + VBAT - GND", FLAT, RUN_TIME, regulator(*facts))
    numbers = {number.name: number.value for number in done.findings[0].numbers}
    assert numbers["own current, at the cell"] == pytest.approx(275e-6)


@pytest.mark.parametrize(
    ("low", "expected"), [("495 uA", None), ("600 uA", Level.NOTE), ("4.95 mA", Level.QUERY)]
)
def test_what_a_bipolar_type_takes_out_of_regulation_counts_for_that_time(
    low: str, expected: Level | None
) -> None:
    """A made-up cell falls in a straight line from 3.6 to 3.0 V, so half of it is below 3.3 V.

    By hand: half of 495 µA is 248 µA of 5 mA (1000 mAh / 200 h), just under a twentieth; half of
    600 µA is 300 µA, 6 %; half of 4.95 mA is half of it.
    """
    cell = "voltage: 3.6 V at 0 % and 3.0 V at 100 %, capacity: 1000 mAh"
    done = review(
        "BT1 cell/holder + VBAT - GND",
        f"~ cell: {{part: BT1, type: LiPo, {cell}}}",
        "~ run_time: 200 h",
        regulator("quiescent_current 0 uA", f"dropout_current {low}"),
    )
    assert level(done) is expected


def test_behind_a_booster_the_current_of_a_linear_one_counts_at_the_cell() -> None:
    """By hand: 200 µA at 5 V / (0.8 · 1.5 V) = 833 µA of 1 mA: query. Straight on 5 V: 20 %."""
    first = (
        "U2 regulator VIN+ VBAT VOUT> V5 GND- GND = output 5 V = quiescent_current 0 uA"
        " = conversion step-up = efficiency 80 % at 1 mA"
    )
    line = regulator("quiescent_current 200 uA", "dropout 0.1 V at 100 mA", supply="V5")
    done = review("BT1 cell/holder + VBAT - GND", FLAT, RUN_TIME, first, line)
    (finding,) = done.findings
    assert finding.level is Level.QUERY
    assert finding.numbers[1].value == pytest.approx(833.3e-6, rel=1e-3)


# Modes.

MODES = (
    "~ modes:",
    "~   on:",
    "~     share: 2.4 h per day",
    "~     closed: {SW1: [1, 2]}",
)


def test_a_hand_switch_counts_while_a_mode_closes_it() -> None:
    """By hand: 1.2 mA for a tenth of the time is 120 µA, 12 % of 1 mA: note; 3 mA: query."""
    switch = "SW1 switch 1: VCELL 2: VBAT"
    for own, expected in (("1.2 mA", Level.NOTE), ("3 mA", Level.QUERY), ("0.3 mA", None)):
        line = regulator(f"quiescent_current {own}")
        done = review("BT1 cell/holder + VCELL - GND", HOUR_CELL, RUN_TIME, switch, line, *MODES)
        assert level(done) is expected


@pytest.mark.parametrize(("sources", "expected"), [("[J1]", Level.NOTE), ("[]", Level.QUERY)])
def test_the_time_on_usb_does_not_count(sources: str, expected: Level) -> None:
    """By hand: 400 µA of 1 mA; half of the day on USB leaves 200 µA, 20 %."""
    done = review(
        "BT1 cell/holder + VCELL - GND",
        HOUR_CELL,
        RUN_TIME,
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
        "~ sources: {J1: {net: VBUS, voltage: 5 V}}",
        "D1 diode VBUS VBAT",
        "D2 diode VCELL VBAT",
        regulator("quiescent_current 400 uA"),
        "~ modes:",
        f"~   day: {{share: 12 h per day, sources: {sources}}}",
    )
    assert level(done) is expected


# What is quiet, each with a twin that differs in one thing.


def test_quiet_where_a_controller_pulls_its_enable_pin() -> None:
    controller = "U2 mcu VCC+ VBAT GND- GND PA1 ON"
    assert level(on_cell("1 mA", controller, pins="EN< ON")) is None
    assert level(on_cell("1 mA", controller, pins="EN< VBAT")) is Level.QUERY


def test_quiet_where_a_controller_pulls_its_enable_pin_through_a_resistor() -> None:
    lines = ("U2 mcu VCC+ VBAT GND- GND PA1 ON", "R1 10k ON ENABLE")
    assert level(on_cell("1 mA", *lines, pins="EN< ENABLE")) is None
    assert level(on_cell("1 mA", "R1 10k VBAT ENABLE", pins="EN< ENABLE")) is Level.QUERY


def test_quiet_behind_a_hand_switch() -> None:
    line = regulator("quiescent_current 1 mA")
    for part, expected in (
        ("SW1 switch 1: VCELL 2: VBAT", None),
        ("F1 fuse 1: VCELL 2: VBAT", Level.QUERY),
    ):
        done = review("BT1 cell/holder + VCELL - GND", HOUR_CELL, RUN_TIME, part, line)
        assert level(done) is expected


@pytest.mark.parametrize(("gate", "expected"), [("ON", None), ("GND", Level.QUERY)])
def test_quiet_behind_a_transistor_that_is_switched(gate: str, expected: Level | None) -> None:
    line = regulator("quiescent_current 1 mA")
    done = review(
        "BT1 cell/holder + VCELL - GND",
        HOUR_CELL,
        RUN_TIME,
        f"Q1 fet 1:G {gate} 2:S VCELL 3:D VBAT = channel p",
        "U2 mcu VCC+ VCELL GND- GND PA1 ON",
        line,
    )
    assert level(done) is expected


def test_quiet_where_only_usb_feeds_it() -> None:
    usb = ("J1 usb-connector 1:VBUS VBUS 2:GND GND", "~ sources: {J1: {net: VBUS, voltage: 5 V}}")
    cell = ("BT1 cell/holder + VBAT - GND", HOUR_CELL, RUN_TIME)
    own = "quiescent_current 1 mA"
    assert level(review(*cell, *usb, regulator(own, supply="VBUS"))) is None
    assert level(review(*cell, *usb, regulator(own, supply="VBAT"))) is Level.QUERY


def test_chargers_are_judged_by_their_own_rules() -> None:
    done = review(
        "BT1 cell/holder + VBAT - GND",
        HOUR_CELL,
        RUN_TIME,
        "U1 charger VDD+ VBUS VBAT> VBAT GND- GND = quiescent_current 5 mA",
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
    )
    assert level(done) is None


# What is missing.


def test_its_own_current_is_asked_for() -> None:
    done = review("BT1 cell/holder + VBAT - GND", HOUR_CELL, RUN_TIME, regulator())
    (undetermined,) = done.undetermined
    assert (undetermined.of, undetermined.key) == ("U1", "quiescent_current")


def test_the_capacity_is_asked_for() -> None:
    cell = "~ cell: {part: BT1, type: alkaline}"
    line = regulator("quiescent_current 1 uA")
    for wanted in ((RUN_TIME,), ()):
        done = review("BT1 cell/holder + VBAT - GND", cell, *wanted, line)
        (undetermined,) = done.undetermined
        assert undetermined.key == "capacity"
