"""`reservoir-short`: dips by hand, how long a capacitor keeps them, cures put on the board.

Behind a capacitor without series resistance a burst from rest dips by I·Ri·(1 − exp(−t/(Ri·C))).
The cell is made up: flat, so that nothing changes over its life, with 20 Ω.
"""

from __future__ import annotations

import math
import re

import pytest
from tests.rules.boards import HOLDER, cell, reservoir
from tests.rules.judging import Judging, number

from boardvet.review.packs import LoadedPack
from boardvet.review.runner import run
from boardvet.review.verdict import Finding, Level
from boardvet.testing.notation import circuit_of
from boardvet_rules.cell.cell_sag import check as sag_rule
from boardvet_rules.decoupling.reservoir_short import check as rule


def mcu(least: float = 1.8) -> str:
    return f"U1 mcu VCC+ VBAT GND- GND = supply {least!r} V to 5.5 V = sleep_current 1 nA"


def pulses(milliamperes: float = 30.0, lasts: str = "20 ms", every: str = "10 s") -> str:
    burst = f"{{part: U1, current: {milliamperes!r} mA, for: {lasts}, every: {every}}}"
    return f"~ pattern: [{burst}]"


def dip_max(millivolts: float, net: str = "VBAT") -> str:
    return f"~ nets: {{{net}: {{dip_max: {millivolts!r} mV}}}}"


JUDGING = Judging(rule)
review, finding, level = JUDGING.review, JUDGING.finding, JUDGING.level


# The dip, walked through its limit.

DIP = 0.6 * (1.0 - math.exp(-1.0))
"""30 mA · 20 Ω · (1 − 1/e): 20 ms on 1 mF, where Ri·C = 20 ms. [V]"""


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.QUERY)])
def test_the_dip_allowed_turns_the_verdict(share: float, expected: Level | None) -> None:
    """By hand: 379 mV, 1 % of the current either way."""
    assert pytest.approx(0.379, abs=1e-3) == DIP
    board = cell(), mcu(), reservoir(1e-3), dip_max(1e3 * DIP), pulses(30.0 * share)
    assert level(*board) is expected


def test_dip_and_limit_are_printed() -> None:
    one = finding(cell(), mcu(), reservoir(1e-3), dip_max(200.0), pulses())

    assert number(one, "deepest dip") == pytest.approx(DIP, rel=2e-3)
    assert number(one, "dip allowed") == pytest.approx(0.2)
    assert number(one, "capacitance that is left") == pytest.approx(1e-3)
    dips = "VBAT dips by 379 mV at the pulses with a fresh cell"
    assert one.bench == f"{dips}, though C1 stands there."


def test_how_far_the_cell_is_used_then_is_said() -> None:
    """Where nothing is stated a tenth of the charge is left: the dip is deeper than with more."""
    one = finding(cell(), mcu(2.7), reservoir(1e-4), pulses())

    assert " at the pulses with 10% of the charge left, though C1 stands there." in one.bench


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.QUERY)])
def test_without_a_limit_stated_what_parts_need_is_the_limit(
    share: float, expected: Level | None
) -> None:
    """By hand: a cell at 3.0 V − 0.5 V · used is at 2.55 V after nine tenths."""
    least = 2.55 - DIP
    assert level(cell(end=2.5), mcu(least), reservoir(1e-3), pulses(30.0 * share)) is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.QUERY)])
def test_the_part_that_needs_most_sets_the_limit(share: float, expected: Level | None) -> None:
    other = "U2 sensor VDD+ VBAT GND- GND = supply {} V to 3.6 V = sleep_current 1 nA"
    board = cell(), mcu(), other.format(3.0 - DIP), reservoir(1e-3), pulses(30.0 * share)
    assert level(*board) is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.QUERY)])
def test_the_series_resistance_counts(share: float, expected: Level | None) -> None:
    """By hand: 20 Ω beside 5 Ω take 120 mV at once; 600 mV − 480 mV · exp(−20/25) = 384 mV."""
    dip = 0.6 - 0.48 * math.exp(-0.8)
    board = cell(), mcu(), reservoir(1e-3, 5.0), dip_max(1e3 * dip), pulses(30.0 * share)
    assert level(*board) is expected


@pytest.mark.parametrize(
    ("every", "share", "expected"),
    [("10 s", 1.5, None), ("15 ms", 0.99, None), ("15 ms", 1.01, Level.QUERY)],
)
def test_it_recharges_as_far_as_the_gaps_let_it(
    every: str, share: float, expected: Level | None
) -> None:
    """By hand: pulses of 10 ms each 15 ms settle at (1 − e1)/(1 − e1·e2) of 600 mV.

    e1 = exp(−10/20) and e2 = exp(−5/20): 447 mV. From rest it would be (1 − e1): 236 mV.
    """
    on, off = math.exp(-0.5), math.exp(-0.25)
    settled = 0.6 * (1.0 - on) / (1.0 - on * off)
    assert settled == pytest.approx(0.4475, abs=1e-3)
    board = cell(), mcu(), reservoir(1e-3), dip_max(1e3 * settled)
    assert level(*board, pulses(30.0 * share, "10 ms", every)) is expected


def test_a_ceramic_counts_with_what_bias_leaves() -> None:
    """47 µF of 6.3 V in 0805 keep far less than nine tenths at 3 V: any maker's curve.

    By hand: 20 Ω · 47 µF = 0.94 ms, so 0.5 ms of 30 mA dip all of it by
    600 mV · (1 − exp(−0.5/0.94)).
    """
    whole = 0.6 * -math.expm1(-0.5 / 0.94)
    stated = " = series_resistance 0 ohm"
    board = cell(), mcu(), dip_max(1e3 * whole * 1.1), pulses(30.0, "500 us")

    assert level(*board, f"C1 47u/6.3V VBAT GND = dielectric polymer{stated}") is None
    one = finding(*board, f"C1 47u/6.3V @0805 VBAT GND = dielectric X5R{stated}")
    assert number(one, "capacitance that is left") < 0.9 * 47e-6


@pytest.mark.parametrize(("cold", "expected"), [("25", None), ("-20", Level.QUERY)])
def test_the_cold_end_deepens_the_dip(cold: str, expected: Level | None) -> None:
    board = cell(), mcu(), reservoir(1e-3), dip_max(400.0), pulses()
    assert level(*board, f"~ temperature: {cold} to 40 degC") is expected


def test_a_stated_limit_holds_until_nine_tenths_are_used() -> None:
    """By hand: 20 Ω, and 200 Ω from 95 % of the charge on, where 30 mA dip far more."""
    ohms = "20 ohm at 0 % and 20 ohm at 90 % and 200 ohm at 95 %"
    old = cell().replace("resistance: 20.0 ohm", f"resistance: {ohms}")
    assert old != cell()
    assert level(old, mcu(), reservoir(1e-3), dip_max(400.0), pulses()) is None

    earlier = old.replace("90 %", "80 %").replace("95 %", "85 %")
    assert level(earlier, mcu(), reservoir(1e-3), dip_max(400.0), pulses()) is Level.QUERY


def test_a_stated_limit_holds_no_longer_than_the_rail_does() -> None:
    """A cell below 2.5 V from half of its charge on runs nothing that needs 2.5 V there."""
    ohms = "20 ohm at 0 % and 20 ohm at 60 % and 200 ohm at 70 %"
    old = cell(end=2.0).replace("resistance: 20.0 ohm", f"resistance: {ohms}")
    board = old, reservoir(1e-3), dip_max(400.0), pulses()

    assert level(*board, mcu(2.5)) is None
    assert level(*board, mcu(2.0)) is Level.QUERY


# Quiet, each with a twin.


def test_a_cell_that_alone_holds_the_rail_is_quiet() -> None:
    board = mcu(), reservoir(10e-6), dip_max(200.0), pulses()
    assert level(cell(ohms=6.0), *board) is None
    assert level(cell(ohms=20.0), *board) is Level.QUERY


def test_a_rail_without_a_reservoir_is_left_to_cell_sag() -> None:
    board = cell(), mcu(), dip_max(200.0), pulses()
    assert level(*board) is None
    assert level(*board, "C1 100n/16V @0402 VBAT GND") is None
    assert level(*board, "C1 10u/16V @0805 VBAT GND") is Level.QUERY


def test_a_load_that_neither_comes_nor_goes_is_no_pulse() -> None:
    board = cell(), mcu(), reservoir(1e-3), dip_max(200.0)
    assert level(*board, "~ pattern: [{part: U1, current: 30 mA}]") is None
    assert level(*board, pulses()) is Level.QUERY


def test_behind_a_regulator_it_is_clear() -> None:
    board = (
        cell(),
        mcu().replace("VBAT", "VCC"),
        reservoir(100e-6).replace("VBAT", "VCC"),
        dip_max(200.0, "VCC"),
        pulses(),
    )
    regulator = "U3 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.0 V = dropout 50 mV at 30 mA"
    assert level(*board, regulator) is None
    assert level(*board, "R3 0 VBAT VCC") is Level.QUERY


def test_a_rail_too_low_without_pulses_is_left_to_supply_window() -> None:
    assert level(cell(2.5), mcu(2.7), reservoir(1e-3), pulses()) is None
    assert level(cell(2.8), mcu(2.7), reservoir(1e-3), pulses()) is Level.QUERY


def test_the_net_may_be_written_with_its_sheet() -> None:
    assert level(cell(), mcu(), reservoir(1e-3), dip_max(200.0, "/VBAT"), pulses()) is Level.QUERY


# Missing facts.


def test_what_a_part_needs_is_asked_where_no_limit_is_stated() -> None:
    part = "U1 mcu VCC+ VBAT GND- GND = sleep_current 1 nA"
    (one,) = review(cell(), part, reservoir(1e-3), pulses()).undetermined
    assert (one.of, one.key) == ("U1", "supply")

    assert level(cell(), part, reservoir(1e-3), dip_max(200.0), pulses()) is Level.QUERY
    assert level(cell(), part, pulses()) is None


def test_an_unknown_cell_is_asked_about() -> None:
    (one,) = review(HOLDER, mcu(), reservoir(1e-3), dip_max(200.0), pulses()).undetermined
    assert (one.of, one.key) == ("BT1", "cell")


# How long they keep it.


def keeps(sum_: str) -> float:
    """Return the time in the sum. [ms]."""
    found = re.search(r"keeps? that for ([\d.]+) (µs|ms|s)", sum_)
    assert found, sum_
    return float(found[1]) * {"µs": 1e-3, "ms": 1.0, "s": 1e3}[found[2]]


def test_it_says_how_long_the_fitted_capacitor_keeps_the_dip() -> None:
    """By hand: 20 ms · ln(600/(600 − 200)) = 8.1 ms with the cell beside it."""
    one = finding(cell(), mcu(), reservoir(1e-3), dip_max(200.0), pulses())
    assert keeps(one.sum) == pytest.approx(8.1, abs=0.05)
    assert one.sum.endswith("the pulse lasts 20 ms.")


def test_two_capacitors_count_together() -> None:
    """By hand: 1.47 mF · 20 Ω · ln(600/400) = 11.9 ms."""
    both = reservoir(1e-3), reservoir(470e-6, reference="C2")
    one = finding(cell(), mcu(), *both, dip_max(200.0), pulses())
    assert keeps(one.sum) == pytest.approx(11.9, abs=0.1)
    assert "C1 and C2 keep that for" in one.sum
    assert "though C1 and C2 stand there" in one.bench
    assert set(one.parts) >= {"C1", "C2"}


def test_too_much_series_resistance_is_called_that() -> None:
    """By hand: 30 mA · (20 Ω beside 10 Ω) = 200 mV at once, 190 mV are allowed."""
    board = cell(), mcu(), reservoir(1e-3, 10.0), dip_max(190.0), pulses(30.0, "10 ms")
    assert "passed at once: the series resistance of C1" in finding(*board).sum


def test_no_time_to_recharge_is_called_that() -> None:
    """By hand: from full 20 ms · ln(600/300) = 13.9 ms, more than the pulse; settled 447 mV."""
    board = cell(), mcu(), reservoir(1e-3), dip_max(300.0), pulses(30.0, "10 ms", "15 ms")
    one = finding(*board)
    assert one.sum.startswith("Allowed is 300 mV. Fully charged, C1 keeps that for 14 ms")
    assert "no time to charge again" in one.sum


# Cures.


def refitted(lines: tuple[str, ...], fix: str) -> tuple[str, ...]:
    """Return the board with the capacitor of a cure in place of the others."""
    named = re.match(
        r"fit ([\d.]+) ([µm]F) \(left under voltage, 100 mΩ or less in series\) in place of", fix
    )
    assert named, fix
    new = f"C9 {named[1]}{named[2][0].replace('µ', 'u')}/10V VBAT GND"
    kept = tuple(line for line in lines if not line.startswith("C"))
    return (*kept, f"{new} = dielectric polymer = series_resistance 100 mohm")


RED = " = colour red = forward_voltage 1.95 V at 10 mA = emission 2 = series_resistance 6 ohm"
LIGHTS = "\n".join(
    f"R{n} 47 VBAT A{n}\nD{n} led A{n} K{n}{RED}\n"
    f"Q{n} fet/n D K{n} S GND G P{n} = channel n = on_resistance 50 mohm"
    for n in (1, 2)
)
DRIVER = "U1 mcu VCC+ VBAT GND- GND PB1 P1 PB2 P2 = supply 1.8 V to 5.5 V = sleep_current 1 nA"

CURED = {
    "a burst": (cell(), mcu(), reservoir(10e-6), dip_max(300.0), pulses(30.0, "1 ms")),
    "a train": (cell(), mcu(), reservoir(10e-6), dip_max(380.0), pulses(30.0, "2 ms", "4 ms")),
    "lights": (
        cell(ohms=40.0),
        DRIVER,
        LIGHTS,
        reservoir(10e-6),
        dip_max(300.0),
        "~ pattern: [{lights: [D1, D2], for: 2 ms, every: 100 ms}]",
    ),
    "what parts need": (cell(end=2.8), mcu(2.6), reservoir(47e-6), pulses(30.0, "1 ms")),
}


@pytest.mark.parametrize("board", CURED.values(), ids=CURED.keys())
def test_the_capacitor_suggested_cures_it(board: tuple[str, ...]) -> None:
    assert level(*refitted(board, finding(*board).fix)) is None


@pytest.mark.parametrize("board", CURED.values(), ids=CURED.keys())
def test_half_of_it_would_not(board: tuple[str, ...]) -> None:
    """E6 goes in steps of 1.5 or so: half is below the next value down."""
    *rest, new = refitted(board, finding(*board).fix)
    farads = re.search(r"C9 ([\d.]+)([um])/", new)
    assert farads
    less = new.replace(farads[0], f"C9 {float(farads[1]) / 2:g}{farads[2]}/")
    assert level(*rest, less) is Level.QUERY


def test_a_pulse_too_long_for_any_capacitor_says_so() -> None:
    """By hand: (200 mV · 20.1 Ω/600 mV − 0.1 Ω)/20 Ω = 0.33 of I·Ri in the capacitor itself.

    2 s / −ln(1 − 0.33) / 20.1 Ω = 248 mF.
    """
    board = cell(), mcu(), reservoir(220e-6), dip_max(200.0), pulses(30.0, "2 s", "1000 s")
    fix = finding(*board).fix
    assert "the pulse of 2 s is too long for a capacitor, it would take 248 mF" in fix


def test_a_mean_current_that_is_too_much_gets_no_capacitor() -> None:
    """By hand: 80 % of 30 mA through 20 Ω are 480 mV, 300 mV are allowed."""
    board = cell(), mcu(), reservoir(1e-3), dip_max(300.0), pulses(30.0, "80 ms", "100 ms")
    assert finding(*board).fix.endswith(
        "the mean current alone pulls it too low, so no capacitor helps"
    )


# One cause, one finding.


def both(*lines: str) -> dict[str, Finding]:
    """Judge a board by this rule and `cell-sag`."""
    packs = [LoadedPack("decoupling", "", (rule,)), LoadedPack("cell", "", (sag_rule,))]
    done = run(circuit_of("\n".join(lines)), packs)
    return {each.rule: each for each in done.findings}


def test_it_follows_the_part_that_then_has_too_little() -> None:
    found = both(cell(), mcu(2.7), reservoir(1e-3), pulses())
    assert found["reservoir-short"].follows == found["cell-sag"].fingerprint

    stated = both(cell(), mcu(1.8), reservoir(1e-3), dip_max(200.0), pulses())
    assert list(stated) == ["reservoir-short"]
    assert stated["reservoir-short"].follows is None


def test_it_follows_the_one_of_several_parts_that_has_too_little() -> None:
    needy = "U2 sensor VDD+ VBAT GND- GND = supply 2.7 V to 3.6 V = sleep_current 1 nA"
    found = both(cell(), mcu(1.8), needy, reservoir(1e-3), pulses())
    assert found["cell-sag"].subject.name == "U2 on VBAT"
    assert found["reservoir-short"].follows == found["cell-sag"].fingerprint


def test_it_does_not_follow_a_part_that_sleeps_then() -> None:
    sleeper = "U2 sensor VDD+ VBAT GND- GND = supply 2.7 V to 3.6 V = sleep_current 1 nA"
    entries = (
        "~ pattern: [{part: U1, current: 30 mA, for: 20 ms, every: 10 s}, "
        "{part: U2, current: 1 mA, for: 20 ms, every: 10 s, after: 5 s}]"
    )
    found = both(cell(), mcu(), sleeper, reservoir(1e-3), dip_max(200.0), entries)
    assert list(found) == ["reservoir-short"]
