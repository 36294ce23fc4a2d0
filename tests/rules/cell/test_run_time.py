"""`run-time`: both limits walked through, what it says, what is quiet, what is missing."""

from __future__ import annotations

import pytest
from tests.circuit.lives import FLAT
from tests.rules.judging import Judging, number, only, quiet

from boardvet.review.packs import LoadedPack
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of, examples_of
from boardvet_rules.cell.cell_sag import check as cell_sag
from boardvet_rules.cell.run_time import check as rule
from boardvet_rules.cell.supply_window import check as supply_window
from boardvet_rules.rail.rail_shorted import check as rail_shorted
from boardvet_rules.regulator.boost_starved import check as boost_starved

HOUR = 3600.0
COIN = "BT1 CR2032 VBAT GND"
IDEAL = f"BT1 cell/holder VBAT GND\n~ cell: {FLAT.page('2 V')}"
"""3.0 V to the last, without resistance, 225 mAh."""

LOAD = "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 mA = supply 1.8 to 3.6 V"
LASTS = 225e-3 / (1e-3 + 0.015 * 225e-3 / 8766)
"""By hand: 225 mAh at 1 mA and 1.5 % of self-discharge a year, 224.9 h."""

ALL_MAY_BE_SHORT = "~ settings: {run-time: {short: 100 %}}"


JUDGING = Judging(rule)
review = JUDGING.review


def wanted(hours: float) -> str:
    return f"~ run_time: {hours:.6f} h"


@pytest.mark.parametrize("text", examples_of(rule)["Wrong"])
def test_the_page_s_wrong_board_is_a_query(text: str) -> None:
    assert only(review(text)).level is Level.QUERY


@pytest.mark.parametrize("text", examples_of(rule)["Right"])
def test_the_page_s_right_board_is_clear(text: str) -> None:
    assert quiet(review(text))


# The limits


@pytest.mark.parametrize(("times", "found"), [(0.99, False), (1.01, True)])
def test_the_typical_run_time_is_the_limit_of_the_query(times: float, found: bool) -> None:
    done = review(IDEAL, LOAD, wanted(times * LASTS), ALL_MAY_BE_SHORT)

    assert bool(done.findings) is found
    assert found or quiet(done)


@pytest.mark.parametrize(("times", "found"), [(0.99, False), (1.01, True)])
def test_one_board_in_twenty_may_fall_short(times: float, found: bool) -> None:
    """A steady load spreads by the charge alone, by a thirtieth: 5 % of a normal distribution lie
    below 1.645 deviations, so at 0.945 of the typical run time; 1 % of it makes 2.7 or 8.7 %."""
    limit = (1.0 - 1.645 / 30.0) * LASTS
    page = "~ settings: {run-time: {boards: 2000}}"
    done = review(IDEAL, LOAD, wanted(times * limit), page)

    assert [finding.level for finding in done.findings] == [Level.NOTE] * found
    assert found or quiet(done)


def test_how_many_may_fall_short_can_be_set() -> None:
    board = (IDEAL, LOAD, wanted(0.97 * LASTS))

    assert only(review(*board)).level is Level.NOTE
    assert quiet(review(*board, "~ settings: {run-time: {short: 30 %}}"))


# What it says


def test_it_says_how_long_it_runs_what_takes_the_charge_and_what_ends_it() -> None:
    finding = only(review(IDEAL, LOAD, wanted(300)))

    assert "stops after 9.4 days, where 12.5 days are wanted" in finding.message
    assert "225 mAh go at 1 mA on average: U1 100%" in finding.message
    assert "stops when BT1 (CR2032) is empty" in finding.message
    assert number(finding, "run time") == pytest.approx(LASTS * HOUR, rel=1e-3)
    assert number(finding, "wanted") == pytest.approx(300 * HOUR)
    assert number(finding, "mean current") == pytest.approx(1e-3, rel=1e-3)
    assert number(finding, "capacity") == pytest.approx(225e-3 * HOUR)


def test_it_names_the_part_that_ends_it_and_the_charge_that_is_left() -> None:
    """By the curve of a coin cell, 2.91 V at 37 % and 2.86 V at 53.5 %, 60 % are left at 2.9 V."""
    needs = "U1 sensor VDD+ VBAT GND- GND = sleep_current 100 uA = supply 2.9 to 3.6 V"
    finding = only(review(COIN, needs, "~ run_time: 100 days"))

    assert "U1" in finding.parts
    assert "stops when U1 needs 2.9 V on VBAT, with 60% of the charge left" in finding.message
    assert "fit a type of U1 that runs on less" in finding.fix


def test_it_says_that_a_board_does_not_start_and_why() -> None:
    burst = "~ pattern: [{part: U1, current: 50 mA, for: 10 ms, every: 10 s}]"
    needs = "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 uA = supply 2.7 to 3.6 V"
    finding = only(review(COIN, needs, burst, "~ run_time: 10 days"))

    assert "does not start on BT1 (CR2032). U1 needs 2.7 V on VBAT, with a fresh cell" in (
        finding.message
    )


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        pytest.param(
            LASTS * 1.005, "after 9.37 days, where 9.42 days are", id="by half a per cent"
        ),
        pytest.param(
            LASTS * 1.0002, "after just under 9.37 days, where 9.37 days", id="by a hair"
        ),
    ],
)
def test_a_run_just_too_short_does_not_read_as_long_enough(hours: float, said: str) -> None:
    assert said in only(review(IDEAL, LOAD, wanted(hours))).message


def test_a_year_is_not_rounded_to_370_days() -> None:
    assert "365 days are wanted" in only(review(IDEAL, LOAD, "~ run_time: 365 days")).message


def test_what_the_cell_loses_is_named_as_what_it_is() -> None:
    """3 mA leave 60 % of a real coin cell's charge (Nordic, "Improve battery life")."""
    heavy = "U1 sensor VDD+ VBAT GND- GND = sleep_current 3 mA = supply 1.0 to 3.6 V"
    finding = only(review(COIN, heavy, "~ run_time: 100 h"))

    assert "U1 60%, lost at this rate 40%" in finding.message


@pytest.mark.parametrize(
    ("ohms", "enough"), [("10k", True), ("1k", False)], ids=["enough", "not enough"]
)
def test_the_change_that_gains_most_is_the_fix(ohms: str, enough: bool) -> None:
    """Ten times the value makes ten times the run time: of 31 days enough for 90, of 3 not."""
    finding = only(review(COIN, f"R1 {ohms} VBAT GND", "~ run_time: 90 days"))

    assert "raise R1 to ten times its value: then it runs" in finding.fix
    assert ("another cell" in finding.fix) is not enough


def test_where_no_change_helps_it_is_another_cell() -> None:
    """Nothing draws; the cell empties itself in 67 years."""
    finding = only(review(COIN, "~ run_time: 100 years"))

    assert finding.fix.startswith("fit another cell")


def test_a_share_of_a_batch_that_falls_short_is_a_note_with_the_corners() -> None:
    finding = only(review(IDEAL, LOAD, wanted(0.99 * LASTS)))

    assert finding.level is Level.NOTE
    assert "Of a hundred boards some" in finding.message
    assert (
        "typical one runs 9.4 days on BT1 (CR2032); with parts at their limits it is 8.4 days"
        in (finding.message)
    )
    assert 0.5 < number(finding, "share of boards that reach it") < 0.75


# What is quiet


def test_without_a_target_nothing_is_judged() -> None:
    assert quiet(review(COIN, "R1 100 VBAT GND"))


def test_its_twin_with_a_target_is_found() -> None:
    assert only(review(COIN, "R1 100 VBAT GND", "~ run_time: 90 days")).level is Level.QUERY


def test_a_reservoir_that_carries_the_bursts_keeps_it_quiet() -> None:
    """The bursts of 40 mA dip a coin cell by 0.8 V and more, on 2200 µF by a third of it."""
    needs = "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 uA = supply 2.3 to 3.6 V"
    burst = "~ pattern: [{part: U1, current: 40 mA, for: 10 ms, every: 10 s}]"
    board = (COIN, needs, burst, "~ run_time: 120 days")
    fitted = "C1 2200u/6.3V VBAT GND = kind capacitor = dielectric tantalum"

    assert only(review(*board)).level is Level.QUERY
    assert quiet(review(*board, fitted))


def test_time_on_another_source_is_not_the_cell_s() -> None:
    """12 h a day on USB: 225 mAh last twice as long."""
    usb = "J1 usb-connector 1:VBUS VBUS 2:GND- GND\nD9 diode/BAT54 VBUS VBAT"
    source = "~ sources: {J1: {net: VBUS, voltage: 5 V}}"
    load = "U1 sensor VDD+ VBAT GND- GND = sleep_current 1 mA = supply 1.8 to 5.5 V"
    half = "~ modes:\n~   day: {share: 12 h per day}\n~   desk: {sources: [J1]}"
    board = (IDEAL, load, usb, source, wanted(1.8 * LASTS))

    assert only(review(*board)).level is Level.QUERY
    assert quiet(review(*board, half))


# What is missing


@pytest.mark.parametrize(
    ("lines", "of", "key"),
    [
        pytest.param(
            (COIN, "U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 3.6 V"),
            "U1",
            "sleep_current",
            id="what a part draws at rest",
        ),
        pytest.param(
            (COIN, "U1 mcu VCC+ VBAT GND- GND = sleep_current 1 uA"),
            "U1",
            "supply",
            id="what a part needs",
        ),
        pytest.param((COIN, "R1 R VBAT GND"), "R1", "value", id="a value"),
        pytest.param(
            ("J1 connector/LiPo 1: VBAT 2: GND\n~ cell: {part: J1, type: LiPo}", LOAD),
            "J1",
            "capacity",
            id="the charge of the cell",
        ),
        pytest.param(("BT1 cell VBAT GND", LOAD), "BT1", "cell", id="the cell"),
    ],
)
def test_what_is_missing_is_asked_for(lines: tuple[str, ...], of: str, key: str) -> None:
    done = review(*lines, "~ run_time: 10 h")

    assert not done.findings
    (missing,) = done.undetermined
    assert (missing.of, missing.key) == (of, key)
    assert missing.how


def test_what_is_too_short_without_a_part_nobody_knows_is_too_short_anyway() -> None:
    unknown = "U2 mcu VCC+ VBAT GND- GND"

    assert only(review(IDEAL, LOAD, unknown, wanted(2 * LASTS))).level is Level.QUERY


def test_a_curve_that_is_only_assumed_leaves_it_open_where_nothing_may_be() -> None:
    done = review(COIN, "R1 10k VBAT GND", "~ run_time: 10 h", assume_nothing=True)

    assert [each.of for each in done.undetermined] == ["BT1"]


def test_a_board_without_a_cell_has_no_subject() -> None:
    done = review("R1 10k VBAT GND", "~ run_time: 10 h")

    assert not done.findings
    assert not done.undetermined
    assert not done.clear


SHORTED = (COIN, LOAD, "R1 0 VBAT GND", wanted(1000.0))


def test_a_board_whose_rail_is_joined_to_ground_stops_because_of_that() -> None:
    circuit = circuit_of("\n".join(SHORTED))
    rules = (rail_shorted, rule)
    done = run(circuit, [LoadedPack("two rules", "0", rules)])
    found = {finding.rule: finding for finding in done.findings}

    assert found["run-time"].follows == found["rail-shorted"].fingerprint


def test_its_twin_without_the_join_stops_by_itself() -> None:
    finding = only(review(COIN, LOAD, "R1 1k VBAT GND", wanted(1000.0)))

    assert finding.follows is None


def test_a_join_on_a_rail_that_no_cell_feeds_is_not_the_cause() -> None:
    usb = ("J1 connector/in 1: VIN 2: GND", "~ sources: {J1: {net: VIN, voltage: 5 V}}")
    circuit = circuit_of("\n".join((COIN, LOAD, *usb, "R1 0 VIN GND", wanted(1000.0))))
    done = run(circuit, [LoadedPack("two rules", "0", (rail_shorted, rule))])
    found = {finding.rule: finding for finding in done.findings}

    assert found["rail-shorted"].level is Level.HOLD
    assert found["run-time"].follows is None


PULSE = "~ pattern: [{part: U2, current: 40 mA, for: 50 ms, every: 1 h}]"
WEAK = "~ cell: {part: BT1, type: CR2032, voltage: 3 V, resistance: 20 ohm}"
PART = "U2 mcu VCC+ VBAT GND- GND = sleep_current 1 uA = supply 1.8 to 3.6 V = brown_out "


@pytest.mark.parametrize(
    ("brown_out", "hours", "cause"),
    [
        # 40 mA on 20 ohm pull 3 V to 2.2 V; the charge alone is enough for months
        ("2.5 V", 1000.0, "cell-sag"),
        ("3.1 V", 1000.0, "supply-window"),
        # 225 mAh at 1.6 uA are 140,000 h: then the charge is not enough either way
        ("1.8 V", 1e6, None),
    ],
)
def test_a_part_that_stops_early_is_the_cause_where_the_charge_is_enough(
    brown_out: str, hours: float, cause: str | None
) -> None:
    circuit = circuit_of("\n".join((COIN, WEAK, PART + brown_out, PULSE, wanted(hours))))
    done = run(circuit, [LoadedPack("three rules", "0", (cell_sag, supply_window, rule))])
    found = {finding.rule: finding for finding in done.findings}

    assert not done.broken
    assert set(found) == {"run-time", *([cause] if cause else [])}
    assert found["run-time"].follows == (found[cause].fingerprint if cause else None)


def test_of_regulators_the_one_that_stops_is_the_cause() -> None:
    """A booster that needs 2.9 V on a cell that falls from 3.0 V to 2.0 V."""
    booster = (
        "U3 regulator VIN+ VBAT GND- GND 3:VOUT VOUT = output 5 V = conversion step-up"
        " = efficiency 80 % = supply 2.9 to 5 V = quiescent_current 1 uA"
        " = pins {1: regulator input, 3: supply output}"
    )
    line = "~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2 V at 100 %}"
    load = "R1 5k VOUT GND"
    circuit = circuit_of("\n".join((COIN, line, booster, load, wanted(60.0))))
    done = run(circuit, [LoadedPack("two rules", "0", (boost_starved, rule))])
    found = {finding.rule: finding for finding in done.findings}

    assert not done.broken
    assert found["run-time"].follows == found["boost-starved"].fingerprint
