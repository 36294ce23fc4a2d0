"""`regulator-headroom`: its scale walked through, what is content, what is asked for."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, level

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of
from boardvet_rules.cell.supply_window import check as supply_window
from boardvet_rules.regulator.regulator_headroom import check as rule

CELL = "BT1 cell/holder + VBAT - GND"


def line_cell(resistance: str = "0 ohm", more: str = "") -> str:
    """A made-up cell whose voltage falls in a straight line from 4 V to 3 V."""
    return (
        "~ cell: {part: BT1, type: LiPo, capacity: 1000 mAh, voltage: 4 V at 0 % and 3 V at 100 %,"
        f" resistance: {resistance} at 0 % and {resistance} at 100 %{more}}}"
    )


REGULATOR = "U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = dropout 350 mV at 100 mA"


JUDGING = Judging(rule)
review = JUDGING.review


def board(
    least: str,
    *more: str,
    regulator: str = REGULATOR,
    draws: str = "current: 100 mA",
    cell: str | None = None,
) -> Review:
    return review(
        CELL,
        cell or line_cell(),
        regulator,
        f"U2 mcu VCC+ VCC GND- GND = supply {least} to 5.5 V = sleep_current 0 uA",
        f"~ pattern: [{{part: U2, {draws}}}]",
        *more,
    )


@pytest.mark.parametrize(
    ("least", "expected"),
    [
        ("3.155 V", Level.HOLD),  # 50.5 % left
        ("3.145 V", Level.QUERY),  # 49.5 % left
        ("2.755 V", Level.QUERY),  # 10.5 % left
        ("3.301 V", Level.HOLD),  # more than the output at any time
    ],
)
def test_the_level_follows_the_charge_that_is_left_when_a_load_fails(
    least: str, expected: Level
) -> None:
    """By hand: at 100 mA the output is 4 V − used · 1 V − 0.35 V, so left = volts − 2.65."""
    assert level(board(least)) is expected


LOWER = REGULATOR.replace("3.3 V", "3.1 V")
"""In regulation for 55 % of the charge: 4 V − used · 1 V = 3.1 V + 0.35 V."""


@pytest.mark.parametrize(
    ("least", "expected"), [("2.755 V", Level.QUERY), ("2.745 V", Level.NOTE)]
)
def test_a_load_that_fails_in_the_last_tenth_is_a_note(least: str, expected: Level) -> None:
    """By hand as above: 10.5 % and 9.5 % left, of a rail that is in regulation for 55 %."""
    assert level(board(least, regulator=LOWER)) is expected


def test_a_rail_that_follows_the_cell_is_asked_about_even_if_a_load_fails_at_the_very_end() -> (
    None
):
    """By hand: 3.3 V are lost at 35 % used, 65 % left; 2.745 V fails with 9.5 % left.

    A load that is content to the end gives a query there, so one that is not gives no less.
    """
    (finding,) = board("2.745 V").findings

    assert finding.level is Level.QUERY
    assert "sinks with BT1 for the last 65% of its charge" in finding.message
    assert "until 9% is left, where U2 stops" in finding.message


def test_what_is_left_is_printed() -> None:
    """By hand: 2.95 V is reached with 30 % left."""
    (finding,) = board("2.95 V").findings
    assert "while 30% of the charge is still in BT1" in finding.message


def test_the_cells_resistance_takes_its_part_in_the_step() -> None:
    """By hand: 3 Ω · 100 mA = 0.3 V more, so that 2.755 V is reached with 40.5 % left."""
    (finding,) = board("2.755 V", cell=line_cell("3 ohm")).findings
    assert finding.numbers[0].value == pytest.approx(0.405, abs=1e-3)


def test_a_curve_that_is_only_assumed_makes_a_hold_only_where_a_better_one_would_too() -> None:
    """The curve of a lithium cell is assumed: some 4.2 V fresh, 3.8 V half used.

    By hand: 3.6 V + 0.35 V are 3.95 V, of which 3.76 V are 95 %: a query. 3.9 V + 0.35 V are
    4.25 V, of which 4.05 V are 95 %: a hold.
    """
    cell = "~ cell: {part: BT1, type: LiPo, capacity: 1000 mAh}"
    regulator = REGULATOR.replace("3.3 V", "4.0 V")
    for least, expected in (("3.6 V", Level.QUERY), ("3.9 V", Level.HOLD)):
        assert level(board(least, regulator=regulator, cell=cell)) is expected


@pytest.mark.parametrize(
    ("dropout", "expected"), [("202 mV", Level.QUERY), ("198 mV", Level.NOTE)]
)
def test_regulation_lost_with_content_loads_is_a_query_from_half_of_the_charge(
    dropout: str, expected: Level
) -> None:
    """By hand: 4 V − used · 1 V = 3.3 V + dropout; half at 200 mV; ±1 %."""
    regulator = REGULATOR.replace("350 mV", dropout)
    assert level(board("1.8 V", regulator=regulator)) is expected


def test_a_regulator_that_never_regulates_is_asked_about() -> None:
    """By hand: 3.9 V needs 4.25 V at 100 mA, and the fresh cell shows 4 V."""
    done = board("1.8 V", regulator=REGULATOR.replace("3.3 V", "3.9 V"))
    (finding,) = done.findings
    assert finding.level is Level.QUERY
    assert "never reaches 3.9 V" in finding.message


def test_the_output_that_holds_to_the_end_is_named() -> None:
    """By hand: the empty cell shows 3 V, less 0.35 V is 2.65 V: the 2.5 V type."""
    (finding,) = board("1.8 V").findings
    assert finding.fix.startswith("fit its 2.5 V type")


def test_a_stop_before_the_run_time_wanted_is_a_hold() -> None:
    """By hand: 1000 mAh at 100 mA last 10 h; 2.7 V is reached with 5 % left, after 9.5 h; ±1 %.

    12 h no stop costs: the cell does not have them.
    """
    for wanted, expected in (("9.6 h", Level.HOLD), ("9.4 h", Level.NOTE), ("12 h", Level.NOTE)):
        assert level(board("2.7 V", f"~ run_time: {wanted}", regulator=LOWER)) is expected


def test_a_part_that_is_always_awake_sees_the_worst_step() -> None:
    """By hand: 2.9 V while 100 mA flow is reached with 2.9 − 2.65 = 25 % left."""
    done = board(
        "1.8 V",
        "U3 sensor VDD+ VCC GND- GND = supply 2.9 to 5.5 V = sleep_current 0 uA",
        draws="current: 100 mA, for: 10 ms, every: 1 s",
    )
    assert "U3 stops while 25%" in done.findings[0].message


def test_the_last_hundredth_of_the_charge_counts_as_empty() -> None:
    """By hand: at 10 mA 35 mV are dropped: 2.97 V are lost 0.5 % before the end, 3.0 V 3.5 %."""
    for output, expected in (("2.97 V", None), ("3.0 V", Level.NOTE)):
        regulator = REGULATOR.replace("3.3 V", output)
        assert level(board("1.8 V", regulator=regulator, draws="current: 10 mA")) is expected


# What is quiet, each with a twin that differs in one thing.


def test_quiet_while_it_regulates_to_the_end() -> None:
    """By hand: 2.6 V + 0.35 V is below the empty cell's 3 V, 2.7 V + 0.35 V is not."""
    assert level(board("1.8 V", regulator=REGULATOR.replace("3.3 V", "2.6 V"))) is None
    assert level(board("1.8 V", regulator=REGULATOR.replace("3.3 V", "2.7 V"))) is Level.NOTE


def test_quiet_at_small_currents_of_the_same_type() -> None:
    """By hand: 1 mA drops 3.5 mV of 3.0 V + 0: 2.99 V holds to the end, at 100 mA 3.34 V."""
    regulator = REGULATOR.replace("3.3 V", "2.99 V")
    assert level(board("1.8 V", regulator=regulator, draws="current: 1 mA")) is None
    assert level(board("1.8 V", regulator=regulator)) is Level.NOTE


def test_quiet_for_a_part_that_sleeps_while_another_pulls_the_rail_down() -> None:
    """By hand: with 100 mA the rail ends at 2.65 V; U3, awake for itself, sees 3 V − 3.5 mV."""
    twins = {
        "~   - {part: U3, current: 1 mA, for: 1 ms, every: 1 s, after: 500 ms}": None,
        "~   - {part: U3, current: 1 mA, for: 1 ms, every: 1 s}": Level.QUERY,
    }
    for entry, expected in twins.items():
        done = review(
            CELL,
            line_cell(),
            REGULATOR,
            "U2 mcu VCC+ VCC GND- GND = supply 1.8 to 5.5 V = sleep_current 0 uA",
            "U3 sensor VDD+ VCC GND- GND = supply 2.9 to 5.5 V = sleep_current 0 uA",
            "~ pattern:",
            "~   - {part: U2, current: 100 mA, for: 10 ms, every: 1 s}",
            entry,
        )
        found = [f.level for f in done.findings if "U3 stops" in f.message]
        assert found == ([expected] if expected else [])


def test_quiet_on_usb_and_for_boosters() -> None:
    usb = ("J1 usb-connector 1:VBUS VIN 2:GND GND", "~ sources: {J1: {net: VIN, voltage: 3.4 V}}")
    load = "U2 mcu VCC+ VCC GND- GND = supply 3.2 to 5.5 V = sleep_current 0 uA"
    pattern = "~ pattern: [{part: U2, current: 100 mA}]"
    on_usb = REGULATOR.replace("VBAT", "VIN")
    assert level(review(*usb, on_usb, load, pattern)) is None
    assert level(review(CELL, line_cell(), REGULATOR, load, pattern)) is Level.HOLD
    booster = f"{REGULATOR} = conversion step-up = efficiency 90 % at 1 mA"
    assert level(review(CELL, line_cell(), booster, load, pattern)) is None


# What follows, and what is missing.


def both(resistance: str, least: str) -> Review:
    lines = (
        CELL,
        line_cell(resistance),
        REGULATOR,
        f"U2 mcu VCC+ VCC GND- GND = supply {least} to 5.5 V = sleep_current 0 uA",
        "~ pattern: [{part: U2, current: 100 mA}]",
    )
    done = run(circuit_of("\n".join(lines)), [LoadedPack("two", "0", (rule, supply_window))])
    assert not done.broken
    return done


def test_what_the_voltages_without_load_show_follows_from_here() -> None:
    """By hand: without load 3 V − 35 mV at the end are below 2.98 V; with 100 mA long before."""
    done = both("0 ohm", "2.98 V")
    window = next(f for f in done.findings if f.rule == "supply-window")
    headroom = next(f for f in done.findings if f.rule == "regulator-headroom")
    assert window.follows == headroom.fingerprint
    assert (headroom.level, headroom.follows) == (Level.QUERY, None)


def test_what_only_the_load_shows_stands_for_itself() -> None:
    """By hand: 3 V − 0.35 V = 2.65 V without load; with 10 Ω · 100 mA 1 V less."""
    done = both("10 ohm", "2.6 V")
    (finding,) = done.findings
    assert (finding.rule, finding.follows) == ("regulator-headroom", None)


def test_the_drop_out_is_asked_for_where_it_decides() -> None:
    """By hand: from 4 V to 3 V nothing is left for 2 V of drop-out at 1.8 V, all for 0.9 V."""
    bare = REGULATOR.partition(" = dropout")[0]
    (undetermined,) = board("1.8 V", regulator=bare.replace("3.3 V", "1.8 V")).undetermined
    assert (undetermined.of, undetermined.key) == ("U1", "dropout")
    assert level(board("0.8 V", regulator=bare.replace("3.3 V", "0.9 V"))) is None


def test_an_output_that_is_just_what_a_load_needs_is_enough() -> None:
    """A ferrite on the way takes 50 mΩ · 10 mA = 0.5 mV, which is nothing."""
    done = review(
        CELL,
        line_cell(),
        REGULATOR.replace("3.3 V", "2.5 V"),
        "L1 ferrite VCC VDD",
        "U2 mcu VCC+ VDD GND- GND = supply 2.5 to 5.5 V = sleep_current 0 uA",
        "~ pattern: [{part: U2, current: 10 mA}]",
    )
    assert level(done) is None


def test_the_supply_of_a_load_is_asked_for_once_regulation_is_lost() -> None:
    load = "U2 mcu VCC+ VCC GND- GND = sleep_current 0 uA"
    pattern = "~ pattern: [{part: U2, current: 100 mA}]"
    (undetermined,) = review(CELL, line_cell(), REGULATOR, load, pattern).undetermined
    assert (undetermined.of, undetermined.key) == ("U2", "supply")
    low = REGULATOR.replace("3.3 V", "2.5 V")
    assert level(review(CELL, line_cell(), low, load, pattern)) is None


def test_what_a_load_draws_is_asked_for_where_it_decides() -> None:
    """By hand: at its 200 mA it needs 2.5 V + 0.7 V = 3.2 V; at its 100 mA 2.85 V."""
    load = "U2 mcu VCC+ VCC GND- GND = supply 1.8 to 5.5 V"
    low = REGULATOR.replace("3.3 V", "2.5 V")
    (undetermined,) = review(CELL, line_cell(), f"{low} = current_max 200 mA", load).undetermined
    assert (undetermined.of, undetermined.key) == ("U2", "pattern")
    assert level(review(CELL, line_cell(), f"{low} = current_max 100 mA", load)) is None


def test_the_output_is_asked_for() -> None:
    bare = "U1 regulator VIN+ VBAT VOUT> VCC GND- GND"
    load = "U2 mcu VCC+ VCC GND- GND = supply 1.8 to 5.5 V = sleep_current 0 uA"
    (undetermined,) = review(CELL, line_cell(), bare, load).undetermined
    assert (undetermined.of, undetermined.key) == ("U1", "output")


def test_what_a_back_up_cell_pushes_back_is_no_load() -> None:
    """3 V of a coin cell behind 100 kΩ on a rail whose regulator has no input any more: −30 µA."""
    done = review(
        CELL,
        "~ cell: [{part: BT1, type: LiPo, capacity: 400 mAh, voltage: 0.1 V, resistance: 1 ohm},"
        " {part: BT2, type: CR1220}]",
        REGULATOR,
        "U2 mcu VCC+ VCC GND- GND = supply 1.8 to 3.6 V = sleep_current 0 uA",
        "BT2 cell/CR1220 VBACK GND",
        "R1 100k VBACK VCC",
    )
    assert "U1 holds 3.3 V; in the worst step VBAT is at 100 mV" in done.findings[0].message
