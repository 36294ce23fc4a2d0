"""`boost-starved`: constant power walked through what a cell can give, capacitors, coil, start."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, level

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of
from boardvet_rules.cell.cell_load import check as cell_load
from boardvet_rules.cell.cell_sag import check as cell_sag
from boardvet_rules.cell.supply_window import check as supply_window
from boardvet_rules.decoupling.reservoir_short import check as reservoir_short
from boardvet_rules.regulator.boost_starved import check as rule

CELL = "BT1 cell/holder + VBAT - GND"
AGEING = (
    "~ cell: {part: BT1, type: LiPo, capacity: 1000 mAh, voltage: 3 V at 0 % and 3 V at 100 %,"
    " resistance: 10 ohm at 0 % and 30 ohm at 100 %}"
)
"""A made-up cell of 3 V behind 10 Ω + 20 Ω · used, so that it can give 9 V² / (4 · R)."""
FALLING = (
    "~ cell: {part: BT1, type: LiPo, capacity: 1000 mAh, voltage: 3 V at 0 % and 2.5 V at 100 %,"
    " resistance: 0 ohm at 0 % and 0 ohm at 100 %}"
)
FACTS = ("conversion step-up", "efficiency 100 % at 1 A", "supply 0.9 to 5.5 V")
LOAD = "U2 mcu VCC+ VCC GND- GND = sleep_current 0 uA"


JUDGING = Judging(rule)
review = JUDGING.review


def booster(*facts: str, pins: str = "") -> str:
    part = f"U1 regulator VIN+ VBAT VOUT> VCC GND- GND {pins}"
    return " = ".join((part, "output 5 V", *(facts or FACTS)))


def board(draws: str, *more: str, cell: str = AGEING, line: str = "") -> Review:
    pattern = f"~ pattern: [{{part: U2, {draws}}}]"
    return review(CELL, cell, line or booster(), LOAD, pattern, *more)


@pytest.mark.parametrize(
    ("current", "expected"),
    [
        ("45.5 mA", Level.HOLD),  # 227 mW, fresh 225 mW
        ("22.62 mA", Level.HOLD),  # 113.1 mW, at 19.9 Ω, 50.5 % left
        ("22.38 mA", Level.QUERY),  # 111.9 mW, at 20.1 Ω, 49.5 % left
        ("16.13 mA", Level.QUERY),  # 80.65 mW, at 27.9 Ω, 10.5 % left
        ("16.01 mA", Level.NOTE),  # 80.05 mW, at 28.1 Ω, 9.5 % left
        ("15.15 mA", Level.NOTE),  # 75.75 mW, at the end 75 mW
        ("14.85 mA", None),  # 74.25 mW
    ],
)
def test_the_level_follows_the_charge_that_is_left_when_no_voltage_stands(
    current: str, expected: Level | None
) -> None:
    """By hand: P = 5 V · I at 100 %, and 9 V² / (4 · (10 Ω + 20 Ω · used))."""
    assert level(board(f"current: {current}")) is expected


def test_the_sum_is_printed() -> None:
    """By hand: 5 V · 50 mA = 250 mW; 3 V · 3 V / 40 Ω = 225 mW."""
    (finding,) = board("current: 50 mA").findings
    assert "takes 250 mW" in finding.message
    assert "can give 225 mW at most" in finding.message
    assert "even with a fresh BT1" in finding.message


@pytest.mark.parametrize(
    ("current", "expected"), [("20.1 mA", Level.HOLD), ("19.9 mA", Level.QUERY)]
)
def test_the_dip_counts_against_the_input_range(current: str, expected: Level) -> None:
    """By hand: at 2 V stand 2 V · 1 V / R; at half of the charge R is 20 Ω, so 100 mW, 20 mA."""
    line = booster(*FACTS[:2], "supply 2.0 to 5.5 V")
    assert level(board(f"current: {current}", line=line)) is expected


def test_the_efficiency_counts() -> None:
    """By hand: 14 mA · 5 V / 0.8 = 87.5 mW is above the 75 mW of the end, 70 mW is not."""
    line = booster("conversion step-up", "efficiency 80 % at 1 A", FACTS[2])
    assert level(board("current: 14 mA", line=line)) is Level.QUERY
    assert level(board("current: 14 mA")) is None


def test_an_efficiency_that_is_only_assumed_is_never_a_hold() -> None:
    line = booster("conversion step-up", FACTS[2])
    assert level(board("current: 60 mA", line=line)) is Level.QUERY
    assert level(board("current: 60 mA")) is Level.HOLD


def test_curves_that_are_only_assumed_make_a_hold_only_where_a_better_cell_would_starve_too() -> (
    None
):
    """The curves of a bare CR2032 are assumed: at half of it 3 V behind some 20 Ω.

    By hand: these give 110 mW, and 3.15 V behind 10 Ω 250 mW: 150 mW is a query, 500 mW a hold.
    """
    for current, expected in (("30 mA", Level.QUERY), ("100 mA", Level.HOLD)):
        assert level(board(f"current: {current}", cell="~ cell: {part: BT1, type: CR2032}")) is (
            expected
        )


def test_the_cold_counts() -> None:
    """A lithium cell's resistance grows in the cold, by whatever its curve says.

    By hand: 40 mA · 5 V = 200 mW are too much from 9 V² / (4 · 200 mW) = 11.25 Ω on, which the
    fresh 10 Ω pass in the cold.
    """
    (finding,) = board("current: 40 mA", "~ temperature: -20 to 25 degC").findings
    numbers = {number.name: number.value for number in finding.numbers}
    assert numbers["share of charge left"] == 1.0
    assert numbers["resistance of BT1 then"] > 11.25
    (warm,) = board("current: 40 mA", "~ temperature: 25 to 40 degC").findings
    assert {n.name: n.value for n in warm.numbers}["share of charge left"] < 1.0


def test_a_stop_before_the_run_time_wanted_is_a_hold() -> None:
    """By hand: 15.5 mA · 5 V = 77.5 mW is too much from 29.03 Ω on, 95 % used: a note.

    It draws 28.6 mA fresh, 32.9 mA at 19.5 Ω, 50 mA at 29 Ω; by Simpson's rule
    0.95 / 6 · (1/28.6 + 4/32.9 + 1/50) · 1000 h = 28.0 h to the stop.
    """
    for wanted, expected in (("27 h", Level.NOTE), ("29 h", Level.HOLD)):
        assert level(board("current: 15.5 mA", f"~ run_time: {wanted}")) is expected


# What is quiet, each with a twin that differs in one thing.

BURST = "current: 50 mA, for: 5 ms, every: 10 s"
BIG = "C1 1000u/6.3V VBAT GND = dielectric polymer"


def test_quiet_where_a_capacitor_carries_the_burst() -> None:
    """By hand: ½ · 1 mF · (3² − 0.9²) V² = 4.1 mJ alone are 16 ms of 250 mW."""
    assert level(board(BURST, BIG)) is None
    assert level(board(BURST)) is Level.HOLD


def test_a_burst_that_is_too_long_for_the_capacitor_is_found() -> None:
    """By hand: at the end of the cell 75 mW help at most, 4.1 mJ / 175 mW = 23 ms."""
    assert level(board("current: 50 mA, for: 100 ms, every: 10 s", BIG)) is not None


@pytest.mark.parametrize(("least", "expected"), [("2.0 V", None), ("2.6 V", Level.HOLD)])
def test_the_capacitor_keeps_the_input_in_its_range(least: str, expected: Level | None) -> None:
    """By hand: 1.25 mJ out of 470 µF, of which the cell of 30 Ω gives some 0.3 mJ at once:
    √(9 − 2 · 0.95 / 0.47) = 2.2 V."""
    line = booster(*FACTS[:2], f"supply {least} to 5.5 V")
    done = board(BURST, BIG.replace("1000u", "470u"), line=line)
    assert level(done) is expected


@pytest.mark.parametrize(("every", "found"), [("30 ms", False), ("15 ms", True)])
def test_what_comes_back_between_the_bursts_counts(every: str, *, found: bool) -> None:
    """By hand: 250 mW for 5 ms of 15 ms are 83 mW, and 75 mW come at the most; of 30 ms 42 mW.

    For these the cell stands at (3 + √(9 − 4 · 30 · 0.042)) / 2 = 2.5 V, and 1.25 mJ more take it
    to √(2.5² − 2.5) = 1.9 V.
    """
    done = board(f"current: 50 mA, for: 5 ms, every: {every}", BIG)
    assert (level(done) is not None) is found


@pytest.mark.parametrize(
    ("least", "every", "most"), [("0.9 V", "10 s", 330), ("2.2 V", "30 ms", 2200)]
)
def test_the_capacitor_that_is_named_cures_it(least: str, every: str, most: float) -> None:
    """By hand: 250 mW for 5 ms are 1.25 mJ, of ½ · C · (3² − 0.9²) V² less than 305 µF.

    Every 30 ms the cell is down at 2.5 V on average at its end, so 2.2 V take more.
    """
    line = booster(*FACTS[:2], f"supply {least} to 5.5 V")
    burst = f"current: 50 mA, for: 5 ms, every: {every}"
    (finding,) = board(burst, line=line).findings
    value, unit = finding.fix.partition("put ")[2].split()[:2]
    farads = float(value) * {"µF": 1.0, "mF": 1e3}[unit]
    assert farads <= most
    named = f"C1 {farads:g}u/6.3V VBAT GND = dielectric polymer"
    assert level(board(burst, named, line=line)) is None


def test_quiet_on_usb_and_for_linear_types() -> None:
    usb = ("J1 connector 1: VBAT 2: GND", "~ sources: {J1: {net: VBAT, voltage: 3 V}}")
    pattern = "~ pattern: [{part: U2, current: 60 mA}]"
    assert level(review(*usb, booster(), LOAD, pattern)) is None
    linear = booster("conversion linear", "dropout 0.1 V at 100 mA")
    assert level(board("current: 60 mA", line=linear)) is None


def test_a_dip_at_the_input_of_a_booster_is_one_finding() -> None:
    """What the other rules say of the same pulses follows from this one."""
    small = "C1 10u/6.3V VBAT GND = dielectric polymer"
    line = booster(*FACTS[:2], "supply 2.0 to 5.5 V")
    rated = AGEING.replace("LiPo, capacity: 1000 mAh", "CR2032")  # 15 mA in pulses
    lines = (CELL, rated, line, LOAD, f"~ pattern: [{{part: U2, {BURST}}}]", small)
    packs = [LoadedPack("all", "0", (rule, cell_sag, cell_load, reservoir_short))]
    done = run(circuit_of("\n".join(lines)), packs)
    assert not done.broken, done.broken
    (first,) = [finding for finding in done.findings if finding.follows is None]
    assert first.rule == "boost-starved"
    others = {f.rule for f in done.findings if f.follows == first.fingerprint}
    assert others == {"reservoir-short", "cell-load"}


def test_a_cell_that_falls_below_the_input_of_a_booster_is_one_finding() -> None:
    """From 3 V to 2.5 V without resistance: 2.8 V is passed at 40 % of the charge used."""
    line = booster(*FACTS[:2], "supply 2.8 to 5.5 V")
    lines = (CELL, FALLING, line, LOAD, "~ pattern: [{part: U2, current: 1 mA}]")
    packs = [LoadedPack("two", "0", (rule, supply_window))]
    done = run(circuit_of("\n".join(lines)), packs)
    assert not done.broken, done.broken
    assert len([finding for finding in done.findings if finding.follows is None]) == 1


# Coil and start.


@pytest.mark.parametrize(("rating", "expected"), [("39.6 mA", Level.NOTE), ("40.4 mA", None)])
def test_the_coil_stands_the_mean_current(rating: str, expected: Level | None) -> None:
    """By hand: 5 V · 20 mA = 100 mW; / 2.5 V at the end = 40 mA; ±1 %."""
    coil = f"L1 inductor/4.7u 1: VBAT 2: LX = current_max {rating}"
    done = board("current: 20 mA", coil, cell=FALLING, line=booster(pins="SW LX"))
    assert level(done) is expected


def test_a_coil_without_a_rating_is_not_judged() -> None:
    coil = "L1 inductor/4.7u 1: VBAT 2: LX"
    assert level(board("current: 20 mA", coil, cell=FALLING, line=booster(pins="SW LX"))) is None


def test_it_has_to_start_fresh_and_whenever_it_is_switched_on() -> None:
    """By hand: 2.7 V is reached at 60 % used of 3 V to 2.5 V; 3.1 V never."""
    controller = "U3 mcu VCC+ VBAT GND- GND PA1 ON = sleep_current 0 uA"
    for least, pins, expected in (
        ("2.7 V", "EN< ON", Level.QUERY),
        ("2.7 V", "EN< VBAT", None),
        ("3.1 V", "EN< VBAT", Level.HOLD),
    ):
        line = booster(*FACTS, f"start_voltage {least}", pins=pins)
        assert level(board("current: 1 mA", controller, cell=FALLING, line=line)) is expected


# What is missing.


def test_the_input_range_is_asked_for_where_it_decides() -> None:
    """By hand: 14.5 mA · 5 V = 72.5 mW stand at 1.77 V on 30 Ω; 1 mA · 5 V at 2.95 V."""
    line = booster(*FACTS[:2])
    (undetermined,) = board("current: 14.5 mA", line=line).undetermined
    assert (undetermined.of, undetermined.key) == ("U1", "supply")
    assert level(board("current: 1 mA", line=line)) is None


def test_what_a_load_draws_is_asked_for_where_it_decides() -> None:
    """By hand: 20 mA · 5 V = 100 mW is more than 75 mW, 10 mA · 5 V is not."""
    load = "U2 mcu VCC+ VCC GND- GND"
    for most in ("current_max 20 mA", ""):
        line = booster(*FACTS, *filter(None, (most,)))
        (undetermined,) = review(CELL, AGEING, line, load).undetermined
        assert (undetermined.of, undetermined.key) == ("U2", "pattern")
    line = booster(*FACTS, "current_max 10 mA")
    assert level(review(CELL, AGEING, line, load)) is None


def test_the_output_is_asked_for() -> None:
    line = "U1 regulator VIN+ VBAT VOUT> VCC GND- GND = conversion step-up"
    (undetermined,) = board("current: 1 mA", line=line).undetermined
    assert (undetermined.of, undetermined.key) == ("U1", "output")


@pytest.mark.parametrize("main", ["BT1", "BT2"])
def test_what_it_can_give_is_that_of_the_cell_it_hangs_on_and_not_of_a_back_up(main: str) -> None:
    """22.62 mA at 5 V are 113.1 mW, which 3 V behind 19.9 Ω give at most: a hold as above."""
    backup = {"BT1": "BT2", "BT2": "BT1"}[main]
    page = AGEING.removeprefix("~ cell: ").replace("BT1", main)
    done = review(
        f"{backup} cell/CR1220 VBACK GND",
        "D1 diode/BAS116 VBACK VRTC = forward_voltage 0.7 V at 1 mA",
        "U3 clock VDD+ VRTC GND- GND = supply 1.0 to 5.5 V = sleep_current 0.25 uA",
        "D2 diode/BAT54 VBAT VRTC = forward_voltage 0.3 V at 1 mA",
        f"{main} cell/holder + VBAT - GND",
        f"~ cell: [{page}, {{part: {backup}, type: CR1220}}]",
        booster(),
        LOAD,
        "~ pattern: [{part: U2, current: 22.62 mA}]",
    )
    (found,) = done.findings
    volts = next(n for n in found.numbers if n.name.startswith("voltage of"))

    assert found.level is Level.HOLD
    assert volts.name == f"voltage of {main} then"
    assert volts.value == pytest.approx(3.0)
