"""`cell-sag`: dips by hand and by ngspice, levels, what is awake when, cures put on the board.

Most sums need no more than I·Ri, and behind a reservoir without series resistance
I·Ri·(1 − exp(−t/(Ri·C))). The cell below is made up: flat, so that nothing changes over its life.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from tests.physics.spice import needs_ngspice
from tests.rules.boards import HOLDER, cell, reservoir
from tests.rules.judging import Judging, number
from tests.rules.light.spice import model, spice

from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.cell.cell_sag import check as rule

OHMS = 20.0


def mcu(least: float, reference: str = "U1", node: str = "VBAT") -> str:
    return (
        f"{reference} mcu VCC+ {node} GND- GND = supply {least!r} V to 5.5 V = sleep_current 1 nA"
    )


SENSOR = "U2 sensor VDD+ VBAT GND- GND = supply 2.7 V to 3.6 V = sleep_current 1 nA"


def burst(
    milliamperes: float,
    part: str = "U1",
    *,
    lasts: str = "20 ms",
    every: str = "10 s",
    more: str = "",
) -> str:
    return f"{{part: {part}, current: {milliamperes!r} mA, for: {lasts}, every: {every}{more}}}"


def pattern(*entries: str) -> str:
    return f"~ pattern: [{', '.join(entries)}]"


JUDGING = Judging(rule)
review, finding = JUDGING.review, JUDGING.finding


def level(*lines: str) -> Level | None:
    """Return the level of the one finding, None where every part is clear."""
    done = review(*lines)
    assert not done.undetermined, done.undetermined
    assert done.findings or done.clear
    assert len(done.findings) <= 1
    return done.findings[0].level if done.findings else None


def found(*lines: str) -> list[str]:
    """Return the names of the parts that are pulled too low."""
    done = review(*lines)
    assert not done.undetermined, done.undetermined
    return [each.subject.name for each in done.findings]


# How deep.


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_a_burst_is_found_where_current_times_resistance_is_more_than_there_is(
    share: float, expected: Level | None
) -> None:
    """By hand: 3.0 V − 15 mA · 20 Ω = 2.7 V, 1 % of the current either way."""
    assert level(cell(), mcu(2.7), pattern(burst(15.0 * share))) is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_the_brown_out_level_counts_where_it_is_higher(
    share: float, expected: Level | None
) -> None:
    """By hand as above: 2.7 V is where it resets, though it works down to 1.8 V."""
    board = cell(), mcu(1.8) + " = brown_out 2.7 V", pattern(burst(15.0 * share))
    assert level(*board) is expected
    if expected:
        assert "U1 resets at the pulses even with a fresh cell." in finding(*board).bench


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_a_reservoir_carries_a_part(share: float, expected: Level | None) -> None:
    """By hand: Ri·C = 20 ms, so in 20 ms 30 mA dip by 600 mV · (1 − 1/e) = 379 mV."""
    dip = 0.6 * (1.0 - math.exp(-1.0))
    assert dip == pytest.approx(0.3793, abs=1e-4)

    assert level(cell(), mcu(3.0 - dip), reservoir(1e-3), pattern(burst(30.0 * share))) is expected


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_the_series_resistance_of_a_reservoir_counts(share: float, expected: Level | None) -> None:
    """Cell and capacitor share the current at once: 20 Ω beside 5 Ω make 4 Ω.

    By hand: 30 mA · 4 Ω = 120 mV at the beginning. Then the capacitor falls towards 600 mV with
    (20 + 5) Ω · 1 mF = 25 ms: 600 mV − (600 − 120) mV · exp(−20/25) = 384.3 mV.
    """
    dip = 0.6 - 0.48 * math.exp(-0.8)
    board = cell(), mcu(3.0 - dip), reservoir(1e-3, 5.0), pattern(burst(30.0 * share))
    assert level(*board) is expected


def settled_dip(period: float) -> float:
    """Return by hand how deep pulses of 30 mA and 10 ms dip when they have settled.

    600 mV · (1 − e1)/(1 − e1·e2), e1 = exp(−10 ms/20 ms), e2 = exp(−(T − 10 ms)/20 ms).
    """
    on, off = math.exp(-0.5), math.exp(-(period - 10e-3) / 20e-3)
    return 0.6 * (1.0 - on) / (1.0 - on * off)


def test_a_reservoir_recharges_as_far_as_the_gap_lets_it() -> None:
    """By hand: 236 mV where it is full again, 447 mV with a gap of 5 ms."""
    assert settled_dip(10.0) == pytest.approx(0.236, abs=1e-3)
    assert settled_dip(15e-3) == pytest.approx(0.4475, abs=1e-3)
    floor = mcu(3.0 - 0.3)

    seldom = pattern(burst(30.0, lasts="10 ms", every="10 s"))
    often = pattern(burst(30.0, lasts="10 ms", every="15 ms"))
    assert level(cell(), floor, reservoir(1e-3), seldom) is None
    assert level(cell(), floor, reservoir(1e-3), often) is Level.HOLD


@pytest.mark.parametrize(("share", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_pulses_that_never_let_it_recharge_settle_lower(
    share: float, expected: Level | None
) -> None:
    floor = mcu(3.0 - settled_dip(15e-3))
    pulses = pattern(burst(30.0 * share, lasts="10 ms", every="15 ms"))
    assert level(cell(), floor, reservoir(1e-3), pulses) is expected


def test_the_loss_of_a_ceramic_under_bias_counts() -> None:
    """47 µF of 6.3 V in 0805 at 3 V keep far less than nine tenths: any maker's curve.

    By hand: Ri·C = 0.94 ms, so 0.5 ms of 30 mA dip all of it by 600 mV · (1 − exp(−0.5/0.94)).
    """
    whole = 0.6 * -math.expm1(-0.5 / 0.94)
    floor = mcu(3.0 - whole - 0.02)
    short = pattern(burst(30.0, lasts="500 us"))
    stated = " = series_resistance 0 ohm"

    assert (
        level(cell(), floor, f"C1 47u/6.3V VBAT GND = dielectric polymer{stated}", short) is None
    )
    assert level(cell(), floor, f"C1 47u/6.3V @0805 VBAT GND = dielectric X5R{stated}", short)


@pytest.mark.parametrize(
    ("cold", "share", "expected"),
    [("25", 1.01, None), ("-20", 0.99, None), ("-20", 1.01, Level.HOLD)],
)
def test_the_cold_end_deepens_the_dip(cold: str, share: float, expected: Level | None) -> None:
    """By hand: 300 mV / (2.25 · 20 Ω) = 6.67 mA; 2.25 times is what is taken for −20 °C.

    A handbook of lithium coin cells: 2.0 to 2.5 times the resistance at −20 °C.
    """
    pulses = pattern(burst(300.0 / 45.0 * share))
    board = cell(), f"~ temperature: {cold} to 40 degC", mcu(2.7), pulses
    assert level(*board) is expected
    if expected:
        assert "at −20 °C" in finding(*board).sum


@pytest.mark.parametrize(("milliamperes", "expected"), [(0.2475, None), (0.2525, Level.HOLD)])
def test_a_dip_that_no_curve_is_exact_enough_for_is_none(
    milliamperes: float, expected: Level | None
) -> None:
    """By hand: 0.25 mA · 20 Ω = 5 mV."""
    assert level(cell(), mcu(2.999), pattern(burst(milliamperes))) is expected


@pytest.mark.parametrize(("milliamperes", "expected"), [(0.99, None), (1.01, Level.HOLD)])
def test_a_dip_that_ends_it_hardly_earlier_is_none(
    milliamperes: float, expected: Level | None
) -> None:
    """By hand: 1 mA · 20 Ω = 20 mV, which a fall of 1 V over the life passes in 2 % of it."""
    assert level(cell(end=2.0), mcu(2.7), pattern(burst(milliamperes))) is expected


@pytest.mark.parametrize(("least", "expected"), [(2.75, None), (2.69, Level.HOLD), (2.65, None)])
@pytest.mark.parametrize("always", [False, True])
def test_a_diode_on_the_way_counts_as_for_supply_window(
    least: float, expected: Level | None, *, always: bool
) -> None:
    """By hand: 0.3 V at 10 mA, so 2.7 V; 27.2 mV · ln 3 more at 30 mA, so 2.67 V in the burst.

    2.75 V are too much without any burst: `supply-window` says that, however long U1 is awake.
    """
    diode = "D9 diode CELL VBAT = forward_voltage 0.3 V at 10 mA = emission 1.05"
    feed = cell(ohms=0.0).replace("VBAT", "CELL"), diode + " = series_resistance 0 ohm"
    other = SENSOR.replace("2.7", "1.8")
    pulses = pattern(burst(30.0, "U2" if always else "U1"))
    assert level(*feed, mcu(least), other, pulses) is expected


# When: the level.


def falling(least: float) -> tuple[str, ...]:
    """Return a board on 3.0 V − 1 V · used, pulled down by 10 mA · 20 Ω = 200 mV."""
    return cell(end=2.0), mcu(least), pattern(burst(10.0))


@pytest.mark.parametrize(
    ("least", "expected"),
    [
        (2.828, Level.HOLD),  # 2.8 V fresh, 1 % under it
        (2.305, Level.HOLD),  # 50.5 % left
        (2.295, Level.QUERY),  # 49.5 % left
        (1.909, Level.QUERY),  # 10.9 % left
        (1.891, Level.NOTE),  # 9.1 % left
        (1.782, None),  # 1 % below the 1.8 V that it ends at
    ],
)
def test_the_level_follows_the_charge_that_is_left(least: float, expected: Level | None) -> None:
    """By hand: the rail is at 2.8 V − 1 V · used in the pulse."""
    assert level(*falling(least)) is expected


def test_the_sum_says_when_and_from_where_to_where() -> None:
    """By hand: 2.5 V is reached with 30 % used; without load it is at 2.7 V then."""
    one = finding(*falling(2.5))

    assert "U1 fails at the pulses when 70% of the charge is left." in one.bench
    assert "U1 with 10 mA pulls VBAT from 2.7 V to 2.5 V within 20 ms" in one.sum
    assert number(one, "share of charge left") == pytest.approx(0.7, abs=1e-3)
    assert number(one, "VBAT without load") == pytest.approx(2.7, abs=1e-3)
    assert number(one, "resistance of BT1 (CR2032)") == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("hours", "expected"),
    [(30e3, Level.QUERY), (42e3, Level.HOLD), (60e3, Level.QUERY)],
)
def test_what_costs_the_run_time_wanted_is_a_hold(hours: float, expected: Level) -> None:
    """By hand: 10 mA for 20 ms each 10 s are 20 µA, of 1000 mAh 50,000 h; 40,000 h until it stops.

    It stops at 2.0 V, with 20 % left. Self-discharge takes some 5 % of that. With 60,000 h wanted
    it is not the dip that makes it too short.
    """
    board = "\n".join(falling(2.0)).replace("type: CR2032", "type: CR2032, capacity: 1000 mAh")
    assert level(board, f"~ run_time: {hours} h") is expected


def test_a_cell_that_falls_early_is_not_taken_for_one_that_is_pulled_down() -> None:
    """3.0 V fresh, 2.5 V after 1 %: below 2.51 V after 0.98 %, with a pulse of 6 mV or without."""
    curve = "3.0 V at 0 % and 2.5 V at 1 % and 2.49 V at 100 %"
    early = f"{HOLDER}\n~ cell: {{part: BT1, type: CR2032, voltage: {curve}, resistance: 20 ohm}}"
    assert level(early, mcu(2.51), pattern(burst(0.3))) is None
    assert level(early, mcu(2.49), pattern(burst(10.0))) is Level.HOLD


# Assumed values.


ASSUMED = f"{HOLDER}\n~ cell: {{part: BT1, type: CR2032, voltage: 3 V at 0 % and 3 V at 100 %}}"
"""A flat cell of whose resistance nobody says anything: 20 Ω fresh are assumed."""


@pytest.mark.parametrize(
    ("milliamperes", "expected"), [(15.15, Level.QUERY), (29.7, Level.QUERY), (30.3, Level.HOLD)]
)
def test_an_assumed_resistance_holds_only_where_half_of_it_would(
    milliamperes: float, expected: Level
) -> None:
    """By hand: 30 mA · 20 Ω/2 = 300 mV, the dip to 2.7 V."""
    assert level(ASSUMED, mcu(2.7), pattern(burst(milliamperes))) is expected
    assert level(cell(), mcu(2.7), pattern(burst(milliamperes))) is Level.HOLD


def test_half_of_an_assumed_resistance_is_as_cold() -> None:
    """By hand: 2.25 times 20 Ω/2 at −20 °C, and 22.5 Ω · 500 µF = 11.25 ms.

    30 mA for 10 ms: 675 mV · (1 − exp(−10/11.25)) = 398 mV; warm it would be 259 mV.
    """
    board = ASSUMED, "~ temperature: -20 to 40 degC", reservoir(500e-6)
    pulses = pattern(burst(30.0, lasts="10 ms"))
    assert level(*board, mcu(3.0 - 0.39), pulses) is Level.HOLD
    assert level(*board, mcu(3.0 - 0.41), pulses) is Level.QUERY


def test_half_of_an_assumed_resistance_is_solved_with_the_reservoir() -> None:
    """Where a capacitor carries nearly all of a pulse, the cell hardly counts.

    By hand: 30 mA · 10 ms / 500 µF = 0.6 V without any cell; with 20 Ω (time constant 10 ms)
    600 mV · (1 − 1/e) = 379 mV, with 10 Ω (5 ms) 300 mV · (1 − e^-2) = 259 mV, not 190 mV.
    """
    pulses = pattern(burst(30.0, lasts="10 ms"))
    assert level(ASSUMED, mcu(3.0 - 0.25), reservoir(500e-6), pulses) is Level.HOLD
    assert level(ASSUMED, mcu(3.0 - 0.27), reservoir(500e-6), pulses) is Level.QUERY


def test_an_assumed_loss_of_a_reservoir_alone_does_not_hold() -> None:
    """By hand: 1 ms of 30 mA dip all of 100 µF by 600 mV · (1 − exp(−1/2)) = 236 mV."""
    ceramic = "C1 100u/6.3V @1206 VBAT GND = dielectric X5R = series_resistance 0 ohm"
    pulses = pattern(burst(30.0, lasts="1 ms"))
    whole = 0.6 * -math.expm1(-1.0 / 2.0)

    assert level(cell(), mcu(3.0 - whole - 0.02), ceramic, pulses) is Level.QUERY
    assert level(cell(), mcu(3.0 - whole + 0.02), ceramic, pulses) is Level.HOLD
    polymer = reservoir(85e-6)
    assert level(cell(), mcu(3.0 - whole - 0.02), polymer, pulses) is Level.HOLD


def test_an_assumed_series_resistance_alone_does_not_hold() -> None:
    """1 Ω is assumed for a tantalum one: 30 mA take 30 mV · 20/21 of it at once."""
    pulses = pattern(burst(30.0, lasts="1 ms"))
    dip = 0.6 * -math.expm1(-1.0 / (20.0 * 0.22))
    tantalum = "C1 220u/10V VBAT GND = dielectric tantalum"

    assert level(cell(), mcu(3.0 - dip - 0.01), tantalum, pulses) is Level.QUERY
    stated = tantalum + " = series_resistance 1 ohm"
    assert level(cell(), mcu(3.0 - dip - 0.01), stated, pulses) is Level.HOLD


# Lights let go.


RED = " = colour red = forward_voltage 1.95 V at 10 mA = emission 2 = series_resistance 6 ohm"
WEAK = cell(2.2, 100.0)
LIGHTS = "\n".join(f"R{n} 47 VBAT A{n}\nD{n} led A{n} GND{RED}" for n in (1, 2))
BY_FET = "\n".join(
    f"R{n} 47 VBAT A{n}\nD{n} led A{n} K{n}{RED}\n"
    f"Q{n} fet/n D K{n} S GND G P{n} = channel n = on_resistance 50 mohm"
    for n in (1, 2)
)
FLASH = "{lights: [D1, D2], for: 20 ms, every: 1 s}"


def driving(least: float) -> str:
    return (
        f"U1 mcu VCC+ VBAT GND- GND PB1 P1 PB2 P2 = supply {least} V to 5.5 V = sleep_current 1 nA"
    )


RAIL = 1.8800
"""Two red LEDs with 47 Ω on 2.2 V behind 100 Ω: what ngspice finds, below. [V]"""


@needs_ngspice
def test_the_rail_of_two_lights_is_that_of_ngspice(tmp_path: Path) -> None:
    (volts,) = spice(
        tmp_path,
        [
            model("own", 1.95, 10e-3, 2.0, 6.0),
            "Vc 1 0 2.2",
            "Rc 1 2 100",
            "R1 2 3 47",
            "D1 3 0 own",
            "R2 2 4 47",
            "D2 4 0 own",
        ],
        "v(2)",
    )
    assert volts == pytest.approx(RAIL, abs=1e-3)


@pytest.mark.parametrize(
    ("least", "expected"),
    [(1.8, None), (RAIL * 0.99, None), (RAIL * 1.01, Level.HOLD)],
)
def test_lights_let_go_before_the_limit(least: float, expected: Level | None) -> None:
    """The issue: the rail stands at 1.88 V, where a sum of fixed currents would say zero."""
    assert level(WEAK, mcu(least), LIGHTS, pattern(FLASH)) is expected
    assert level(WEAK, driving(least), BY_FET, pattern(FLASH)) is expected


def test_a_constant_current_of_the_same_size_is_found() -> None:
    """By hand: at 2.2 V each LED would let (2.2 − 1.87) V / 53 Ω or so through, 6 mA: 12 mA.

    Two times 5 mA alone make 2.2 V − 1 V = 1.2 V.
    """
    one = finding(WEAK, mcu(1.8), LIGHTS, pattern(burst(10.0)))

    assert one.level is Level.HOLD
    assert number(one, "lowest voltage of VBAT") == pytest.approx(1.2, abs=5e-3)


def test_a_rail_without_a_controller_is_quiet() -> None:
    alone = review(WEAK, LIGHTS, pattern(FLASH))
    assert not alone.findings
    assert not alone.undetermined

    assert found(WEAK, mcu(2.0), LIGHTS, pattern(FLASH)) == ["U1 on VBAT"]


def test_without_a_pattern_every_light_is_on_for_good() -> None:
    one = finding(WEAK, mcu(2.0), LIGHTS)

    assert "U1 fails under its load even with a fresh cell." in one.bench
    assert "D1 and D2 pull VBAT from 2.2 V to 1.88 V, and" in one.sum


# Quiet, each with a twin.


def test_a_cell_that_does_not_sag_is_quiet() -> None:
    assert level(cell(ohms=0.0), mcu(2.7), pattern(burst(30.0))) is None
    assert level(cell(ohms=0.2), mcu(2.7), pattern(burst(30.0))) is None
    assert level(cell(ohms=20.0), mcu(2.7), pattern(burst(30.0))) is Level.HOLD


@pytest.mark.parametrize(
    ("when", "expected"),
    [
        ("every: 1 s, after: 500 ms", []),  # the same period, another phase
        ("every: 2 s, after: 500 ms", []),  # a multiple keeps its phase too
        ("every: 1 s", ["U2 on VBAT"]),
        ("every: 1 s, after: 990 ms", ["U2 on VBAT"]),  # runs into the next burst
        ("every: 0.7 s, after: 350 ms", ["U2 on VBAT"]),  # unrelated periods meet
    ],
)
def test_a_part_is_judged_in_the_steps_in_which_it_is_awake(
    when: str, expected: list[str]
) -> None:
    """U2 needs 2.7 V while it works; the bursts of U1 pull to 3.0 V − 30 mA · 20 Ω = 2.4 V."""
    entries = burst(30.0, every="1 s"), f"{{part: U2, current: 1 mA, for: 20 ms, {when}}}"
    assert found(cell(), mcu(1.8), SENSOR, pattern(*entries)) == expected


def test_a_part_without_entries_is_always_awake() -> None:
    assert found(cell(), mcu(1.8), SENSOR, pattern(burst(30.0))) == ["U2 on VBAT"]


@pytest.mark.parametrize(
    ("every", "expected"),
    [("1 s, after: 500 ms", None), ("1 s", Level.HOLD), ("0.7 s", Level.HOLD)],
)
def test_bursts_add_up_only_where_they_meet(every: str, expected: Level | None) -> None:
    """By hand: 10 mA · 20 Ω = 200 mV each, 300 mV are left: two together are too much."""
    second = f"{{part: U2, current: 10 mA, for: 20 ms, every: {every}}}"
    board = (
        cell(),
        mcu(2.7),
        SENSOR.replace("2.7", "1.8"),
        pattern(burst(10.0, every="1 s"), second),
    )
    assert level(*board) is expected


def test_behind_a_regulator_it_is_clear() -> None:
    """`regulator-headroom` judges what is behind one, `boost-starved` what steps up."""
    regulator = "U3 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.9 V = dropout 50 mV at 30 mA"
    pulses = pattern(burst(30.0))

    assert level(cell(), regulator, mcu(2.7, node="VCC"), pulses) is None
    assert level(cell(), "R3 0 VBAT VCC", mcu(2.7, node="VCC"), pulses) is Level.HOLD


def test_an_unknown_part_behind_a_regulator_is_clear() -> None:
    regulator = "U3 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.9 V = dropout 50 mV at 30 mA"
    done = review(cell(), regulator, "U1 mcu VCC+ VCC GND- GND", pattern(burst(30.0)))
    assert not done.undetermined
    assert done.clear


def test_a_rail_too_low_without_any_pulse_is_left_to_supply_window() -> None:
    assert level(cell(2.5), mcu(2.7), pattern(burst(30.0))) is None
    assert level(cell(2.8), mcu(2.7), pattern(burst(30.0))) is Level.HOLD


def test_what_is_fed_by_something_else_too_is_judged_on_the_cell_alone() -> None:
    usb = "J1 usb-connector 1:VBUS VBUS 2:GND GND\nD9 diode/schottky VBUS VBAT"
    modes = [
        "~ modes:",
        "~   desk: {share: 50 %, sources: [J1], pattern: [" + burst(30.0) + "]}",
        "~   away: {share: 50 %, pattern: [" + burst(1.0) + "]}",
    ]
    assert level(cell(), mcu(2.7), usb, *modes) is None
    away = [*modes[:2], modes[2].replace("1.0 mA", "30.0 mA")]
    assert finding(cell(), mcu(2.7), usb, *away).state == "mode away"


@pytest.mark.parametrize("deeper", ["a", "b"])
def test_of_several_modes_the_one_that_fails_first_is_told(deeper: str) -> None:
    """By hand: 10 mA pull to 2.8 V − 1 V · used, 15 mA to 2.7 V: 2.5 V after 30 and 20 %."""
    amperes = {name: 15.0 if name == deeper else 10.0 for name in ("a", "b")}
    modes = [
        f"~   {name}: {{share: 50 %, pattern: [{burst(each)}]}}" for name, each in amperes.items()
    ]
    one = finding(cell(end=2.0), mcu(2.5), "~ modes:", *modes)

    assert one.state == f"mode {deeper}"
    assert number(one, "share of charge left") == pytest.approx(0.8, abs=1e-3)


# Missing facts.


def test_a_part_of_unknown_needs_is_asked_about_where_something_pulls_its_rail() -> None:
    part = "U1 mcu VCC+ VBAT GND- GND = sleep_current 1 nA"
    (one,) = review(cell(), part, pattern(burst(30.0))).undetermined
    assert (one.of, one.key) == ("U1", "supply")

    assert not review(cell(), part, pattern(burst(0.2))).undetermined


def test_a_light_of_unknown_current_is_asked_about() -> None:
    light = LIGHTS.replace(RED, "", 1)
    (one,) = review(WEAK, mcu(1.8), light, pattern(FLASH)).undetermined
    assert one.of == "D1"
    assert one.key in {"colour", "forward_voltage"}


def test_an_unknown_cell_is_asked_about() -> None:
    (one,) = review("BT1 cell/holder + VBAT - GND", mcu(2.7), pattern(burst(30.0))).undetermined
    assert (one.of, one.key) == ("BT1", "cell")


def test_no_default_is_used_where_none_is_allowed() -> None:
    done = judge(rule, "\n".join((ASSUMED, mcu(2.7), pattern(burst(30.0)))), assume_nothing=True)
    assert not done.findings
    assert done.undetermined


# Cures.


def suggested(fix: str) -> str:
    """Return the capacitor that a cure names, as it would be drawn."""
    named = re.search(r"put ([\d.]+) ([µm]F) \(left under voltage, 100 mΩ or less", fix)
    assert named, fix
    return f"C9 {named[1]}{named[2][0].replace('µ', 'u')}/10V"


def fitted(fix: str, node: str = "VBAT") -> str:
    return f"{suggested(fix)} {node} GND = dielectric polymer = series_resistance 100 mohm"


CURED = {
    "a burst": (cell(), mcu(2.7), pattern(burst(30.0, lasts="1 ms"))),
    "an old cell": (
        cell(end=2.9),
        mcu(2.7),
        pattern(burst(30.0, lasts="2 ms", every="200 ms")),
    ),
    "in the cold": (
        cell(),
        "~ temperature: -20 to 40 degC",
        mcu(2.7),
        pattern(burst(20.0, lasts="1 ms")),
    ),
    "hardly a gap": (cell(), mcu(2.7), pattern(burst(20.0, lasts="2 ms", every="3 ms"))),
    "lights": (
        WEAK,
        driving(2.1),
        BY_FET,
        pattern(FLASH.replace("20 ms", "2 ms").replace("1 s", "100 ms")),
    ),
    "beside one that is too small": (
        cell(),
        mcu(2.7),
        reservoir(10e-6),
        pattern(burst(30.0, lasts="1 ms")),
    ),
    "two bursts that meet": (
        cell(),
        mcu(2.7),
        SENSOR,
        pattern(
            burst(20.0, lasts="1 ms", every="1 s"),
            burst(20.0, "U2", lasts="1 ms", every="0.7 s"),
        ),
    ),
}


@pytest.mark.parametrize("board", CURED.values(), ids=CURED.keys())
def test_the_reservoir_suggested_cures_it(board: tuple[str, ...]) -> None:
    first = review(*board).findings[0]
    assert "charge usable" not in first.fix

    after = review(*board, fitted(first.fix))
    assert not [each.message for each in after.findings]


def test_the_reservoir_suggested_cures_every_mode() -> None:
    """A long pulse of little current in one mode, a short one of much current in the other.

    By hand: 400 mV are left. 50 mA · 1 ms beside 20 Ω take 40 µF and more, 25 mA · 8 ms 250 µF.
    """
    modes = "\n".join(
        (
            "~ modes:",
            f"~   a: {{share: 50 %, pattern: [{burst(50.0, lasts='1 ms')}]}}",
            f"~   b: {{share: 50 %, pattern: [{burst(25.0, lasts='8 ms')}]}}",
        )
    )
    board = cell(), mcu(2.6), modes
    first = review(*board).findings[0]
    assert not review(*board, fitted(first.fix)).findings


def test_dimmed_lights_get_an_estimate_and_it_is_called_that() -> None:
    dimmed = "{lights: [D1, D2], for: 2 ms, every: 100 ms, pwm: 50 %}"
    one = finding(WEAK, driving(2.1), BY_FET, pattern(dimmed))
    assert one.fix.startswith("put about ")


@pytest.mark.parametrize("board", CURED.values(), ids=CURED.keys())
def test_the_value_below_would_not(board: tuple[str, ...]) -> None:
    capacitor = fitted(review(*board).findings[0].fix)
    below = {"1": 0.68, "1.5": 1.0, "2.2": 1.5, "3.3": 2.2, "4.7": 3.3, "6.8": 4.7}
    words = re.search(r"C9 ([\d.]+)([um])/", capacitor)
    assert words
    digits = f"{float(words[1]):.2e}".partition("e")
    smaller = below[f"{float(digits[0]):g}"] * 10 ** int(digits[2])
    less = capacitor.replace(f"{words[1]}{words[2]}/", f"{smaller:g}{words[2]}/")

    assert less != capacitor
    assert review(*board, less).findings


def test_a_burst_is_cured_by_what_the_sum_asks_for() -> None:
    """By hand, in steps of a microsecond: the E6 value that keeps 2.7 V is the one suggested.

    20 Ω, and 0.1 Ω of the capacitor; 30 mA would dip by 600 mV in the end.
    """
    one = finding(cell(), mcu(2.7), pattern(burst(30.0, lasts="1 ms")))

    def lowest(farads: float) -> float:
        charged = 3.0
        for _ in range(1000):
            node = (3.0 / 20 + charged / 0.1 - 30e-3) / (1 / 20 + 1 / 0.1)
            charged += (node - charged) / 0.1 * 1e-6 / farads
        return (3.0 / 20 + charged / 0.1 - 30e-3) / (1 / 20 + 1 / 0.1)

    assert lowest(68e-6) < 2.7 < lowest(100e-6)
    assert suggested(one.fix) == "C9 100u/10V"


def test_half_a_cure_says_so_and_brings_what_it_says() -> None:
    """A cell that falls past 2.7 V on its own: no capacitor carries a pulse that far."""
    board = cell(3.1, end=2.6), mcu(2.7), pattern(burst(15.0, lasts="2 ms"))
    one = finding(*board)
    assert one.level is Level.HOLD
    assert one.fix.endswith("to keep half of the charge usable")

    after = finding(*board, fitted(one.fix))
    assert number(after, "share of charge left") <= 0.5


def test_a_pulse_too_long_for_any_capacitor_says_so() -> None:
    """By hand: (300 mV · 20.1 Ω/600 mV − 0.1 Ω)/20 Ω = 0.4975 of I·Ri in the capacitor itself.

    2 s / −ln(1 − 0.4975) / 20.1 Ω = 145 mF.
    """
    one = finding(cell(), mcu(2.7), pattern(burst(30.0, lasts="2 s", every="1000 s")))
    assert "the pulse of 2 s is too long for a capacitor, it would take 145 mF" in one.fix


def test_a_current_that_is_told_to_be_low_enough_is() -> None:
    """By hand: 300 mV / 20 Ω = 15 mA."""
    one = finding(cell(), mcu(2.7), pattern(burst(30.0, lasts="2 s")))
    assert one.fix.startswith("draw at most 15 mA at once, or")


def test_half_of_the_charge_is_named_where_the_whole_takes_far_less_current() -> None:
    """By hand: 3.1 V − 0.5 V · used is at 2.7 V with 80 % used, at 2.85 V with half of it.

    150 mV / 20 Ω = 7.5 mA; 1 % of the charge before 80 % it is 0.25 mA.
    """
    one = finding(cell(3.1, end=2.6), mcu(2.7), pattern(burst(30.0, lasts="2 s")))
    assert one.fix.startswith("draw at most 7.5 mA at once to keep half of the charge usable, or")


def test_a_brown_out_level_that_is_told_to_be_low_enough_is() -> None:
    """By hand: 3.0 V − 30 mA · 20 Ω = 2.4 V."""
    part = mcu(1.8) + " = brown_out {} V"
    pulses = pattern(burst(30.0, lasts="2 s"))
    one = finding(cell(), part.format(2.7), pulses)
    assert one.fix.startswith("set the brown-out level of U1 to 2.39 V or less")
    assert level(cell(), part.format(2.39), pulses) is None

    needy = mcu(2.6) + " = brown_out 2.7 V"
    assert "brown-out" not in finding(cell(), needy, pulses).fix


@pytest.mark.parametrize(
    ("least", "words"), [(2.2, "set the brown-out level of U1 to 2.2 V, draw"), (2.4, "draw")]
)
def test_a_brown_out_level_is_told_where_it_brings_half_of_the_charge(
    least: float, words: str
) -> None:
    """By hand: 2.8 V − 1 V · used in the burst: 60 % with 2.2 V, 40 % with 2.4 V."""
    part = mcu(least) + " = brown_out 2.7 V"
    assert finding(cell(end=2.0), part, pattern(burst(10.0, lasts="2 s"))).fix.startswith(words)


def test_a_load_that_never_pauses_gets_no_capacitor() -> None:
    one = finding(cell(), mcu(2.7), "~ pattern: [{part: U1, current: 30 mA}]")
    assert one.fix.endswith("the load never pauses, so no capacitor helps")


def test_a_mean_current_that_is_too_much_gets_no_capacitor() -> None:
    """By hand: 80 % of 30 mA through 20 Ω are 480 mV, 300 mV are left."""
    one = finding(cell(), mcu(2.7), pattern(burst(30.0, lasts="80 ms", every="100 ms")))
    assert one.fix.endswith("the mean current alone pulls it too low, so no capacitor helps")


def test_a_rail_that_a_light_pulls_down_for_good_gets_no_capacitor() -> None:
    """The page says that they flash, but nothing on the board can put them out."""
    one = finding(WEAK, mcu(2.0), LIGHTS, pattern(FLASH))
    assert "put " not in one.fix


@pytest.mark.parametrize(
    ("limit", "sent"), [("D1 led P0 GND", True), ("R1 1R P0 N1\nD1 led N1 GND", False)]
)
def test_a_light_that_nothing_limits_is_named_first_in_the_cure(limit: str, sent: bool) -> None:
    """A bare red LED on a pin of 30 ohm takes some 17 mA from 3 V behind 20 ohm: 350 mV.

    A resistor of 1 ohm changes next to nothing, and is what `led-unlimited` asks for.
    """
    board = (
        cell(),
        "U1 mcu VCC+ VBAT GND- GND PB0 P0 = supply 2.7 V to 5.5 V = sleep_current 1 nA"
        " = pin_resistance 30 ohm",
        f"{limit} = colour red = forward_voltage 1.9 V at 10 mA",
        "~ pattern: [{lights: [D1], for: 20 ms, every: 1 s}]",
    )

    assert finding(*board).fix.startswith("limit the current of D1 first") is sent
