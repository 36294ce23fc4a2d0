"""`supply-window`: both limits walked through, the early-stop scale, headers, what is quiet."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, level

from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.cell.cell_sag import check as cell_sag
from boardvet_rules.cell.supply_window import check as rule

LINE = "~ cell: {part: BT1, type: CR2032, voltage: 3.0 V at 0 % and 2.0 V at 100 %}"
"""A made-up cell that falls in a straight line, 1 V over its life, so that sums are easy."""


JUDGING = Judging(rule)
review = JUDGING.review


def on_line(*facts: str) -> Review:
    mcu = " = ".join(("U1 mcu VCC+ VBAT GND- GND", *facts))
    return review("BT1 cell/holder + VBAT - GND", mcu, LINE)


def on_source(volts: str, supply: str) -> Review:
    return review(
        "J1 connector 1: VIN 2: GND",
        f"U1 sensor VDD+ VIN GND- GND = supply {supply}",
        "~ sources:",
        f"~   J1: {{net: VIN, voltage: {volts}}}",
    )


@pytest.mark.parametrize(
    ("minimum", "expected"),
    [
        ("3.03 V", Level.HOLD),  # even the fresh cell is below
        ("2.505 V", Level.HOLD),  # 2.505 V is reached with 50.5 % left
        ("2.495 V", Level.QUERY),  # 49.5 % left
        ("2.101 V", Level.QUERY),  # 10.1 % left
        ("2.099 V", Level.NOTE),  # 9.9 % left
        ("2.02 V", Level.NOTE),  # 1 % above the end
        ("1.98 V", None),  # 1 % below the end: never reached
    ],
)
def test_the_level_follows_the_charge_that_is_left(minimum: str, expected: Level | None) -> None:
    """By hand: V = 3.0 V − used · 1 V, so the share left at a voltage is V/1 V − 2."""
    assert level(on_line(f"supply {minimum} to 5.5 V")) is expected


@pytest.mark.parametrize(
    ("brown_out", "expected"),
    [
        ("3.03 V", Level.HOLD),  # even the fresh cell is below
        ("2.505 V", Level.HOLD),  # 50.5 % left
        ("2.495 V", Level.QUERY),  # 49.5 % left
        ("2.02 V", Level.NOTE),
        ("1.98 V", None),
    ],
)
def test_a_brown_out_level_above_the_least_supply_decides(
    brown_out: str, expected: Level | None
) -> None:
    """By hand as above. Without it a board that never starts would have no finding at all."""
    done = on_line("supply 1.8 to 5.5 V", f"brown_out {brown_out}")
    assert level(done) is expected
    if expected is not None:
        assert "resets below" in done.findings[0].message
        assert "brown-out level lower" in done.findings[0].fix


def test_the_charge_left_is_printed() -> None:
    """By hand: 2.72 V = 3.0 V − 0.28 V, so 28 % is used and 72 % left."""
    (finding,) = on_line("supply 2.72 to 5.5 V").findings

    left = next(n.value for n in finding.numbers if n.name == "share of charge left")
    assert left == pytest.approx(0.72)
    assert "72%" in finding.message


def test_the_minimum_is_that_for_the_clock() -> None:
    """By hand: 7 MHz is half way from 4 to 10 MHz, so 1.8 V + 0.9 V / 2 = 2.25 V; 25 % left."""
    facts = "supply 1.8 to 5.5 V", "supply_min 1.8 V at 4 MHz and 2.7 V at 10 MHz"

    assert level(on_line(*facts)) is None
    assert level(on_line(*facts, "clock 4 MHz")) is None
    done = on_line(*facts, "clock 7 MHz")
    assert level(done) is Level.QUERY
    assert done.findings[0].numbers[0].value == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("volts", "expected"), [("3.564 V", None), ("3.6 V", None), ("3.636 V", Level.HOLD)]
)
def test_the_maximum_turns_the_verdict(volts: str, expected: Level | None) -> None:
    """1 % under, at, and 1 % over the 3.6 V that the part stands."""
    assert level(on_source(volts, "1.7 to 3.6 V")) is expected


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [("3.38 V", None), ("3.32 V", Level.QUERY), ("3.20 V", Level.QUERY), ("2.75 V", Level.HOLD)],
)
def test_a_fresh_coin_cell_shows_up_to_3_35_volts(maximum: str, expected: Level | None) -> None:
    """RULES "Which end of the range": lithium coin 3.35 V at the highest, 1 % either way.

    What it usually shows is an assumption, so that just above it there is a query, far above a
    hold.
    """
    done = review("BT1 CR2032 VBAT GND", f"U1 mcu VCC+ VBAT GND- GND = supply 1.8 to {maximum}")

    assert level(done) is expected


@pytest.mark.parametrize(
    ("maximum", "expected"),
    [("5.56 V", None), ("5.44 V", Level.QUERY), ("5.2 V", Level.HOLD)],
)
def test_usb_shows_up_to_5_5_volts(maximum: str, expected: Level | None) -> None:
    """RULES: USB 5.5 V at the highest, 1 % either way; USB 2.0 allows 5.25 V in use."""
    done = review(
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
        f"U1 sensor VDD+ VBUS GND- GND = supply 4 V to {maximum}",
    )

    assert level(done) is expected


@pytest.mark.parametrize(
    ("minimum", "expected"), [("4.70 V", None), ("4.80 V", Level.QUERY), ("5.3 V", Level.HOLD)]
)
def test_without_a_cell_the_lowest_corner_asks_and_the_highest_holds(
    minimum: str, expected: Level | None
) -> None:
    """USB 2.0: 4.75 to 5.25 V at the port; 1 % either way of both ends."""
    done = review(
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
        f"U1 sensor VDD+ VBUS GND- GND = supply {minimum} to 6 V",
    )

    assert level(done) is expected


BEHIND = (
    "J1 usb-connector 1:VBUS VBUS 2:GND GND",
    "U1 sensor VDD+ VCC GND- GND = supply 1.7 to 3.6 V",
)


def test_a_part_behind_a_regulator_that_holds_is_quiet() -> None:
    regulator = "U2 regulator VIN+ VBUS VOUT> VCC GND- GND = supply 2 to 6 V = output {}"

    assert level(review(*BEHIND, regulator.format("3.3 V"))) is None
    assert level(review(*BEHIND, regulator.format("5 V"))) is Level.HOLD


def test_the_rail_is_carried_through_a_diode() -> None:
    """A diode of 0.4 V at 10 mA leaves 3.6 V; with next to no load it leaves nearly 4.0 V."""
    lines = (
        "J1 connector 1: VIN 2: GND",
        "D1 diode A VIN K VCC = forward_voltage 0.4 V at 10 mA",
        "~ sources:",
        "~   J1: {net: VIN, voltage: 4.0 V}",
    )

    assert level(review(*lines, "U1 sensor VDD+ VCC GND- GND = supply 3.5 to 6 V")) is None
    assert level(review(*lines, "U1 sensor VDD+ VCC GND- GND = supply 3.7 to 6 V")) is Level.QUERY
    assert level(review(*lines, "U1 sensor VDD+ VCC GND- GND = supply 4.1 to 6 V")) is Level.HOLD


HEADER = "J1 connector/ISP 1:VCC VBAT 2:MISO A 3:SCK B 4:GND GND"


def test_what_only_a_programmer_does_is_a_query() -> None:
    cell = "BT1 CR2032 VBAT GND"
    mcu = "U1 mcu VCC+ VBAT GND- GND MISO A SCK B = supply 1.8 to {}"

    assert level(review(cell, HEADER, mcu.format("4.95 V"))) is Level.QUERY
    assert level(review(cell, HEADER, mcu.format("5.05 V"))) is None


def test_a_header_that_only_senses_is_no_source() -> None:
    cell, mcu = (
        "BT1 CR2032 VBAT GND",
        "U1 mcu VCC+ VBAT GND- GND MISO A SCK B = supply 1.8 to 3.6 V",
    )

    assert level(review(cell, f"{HEADER} = powers_board no", mcu)) is None
    assert level(review(cell, HEADER, mcu)) is Level.QUERY


def test_of_the_parts_that_a_programmer_harms_the_weakest_reports() -> None:
    done = review(
        "BT1 CR2032 VBAT GND",
        HEADER,
        "U1 mcu VCC+ VBAT GND- GND MISO A SCK B = supply 1.8 to 4.0 V",
        "U2 sensor VDD+ VBAT GND- GND = supply 1.7 to 3.6 V",
    )

    follows = {f.subject.name: f.follows is not None for f in done.findings}
    assert follows == {"U1 on VBAT": True, "U2 on VBAT": False}


@pytest.mark.parametrize(
    ("lines", "of", "key"),
    [
        (("BT1 CR2032 VBAT GND", "U1 mcu VCC+ VBAT GND- GND"), "U1", "supply"),
        (("U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V",), "board", "cell"),
        (
            ("BT1 cell/holder + VBAT - GND", "U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V"),
            "BT1",
            "cell",
        ),
        (
            (
                "BT1 CR2032 VBAT GND",
                "J1 connector 1: VIN 2: GND",
                "U1 mcu VCC+ VIN GND- GND = supply 1.8 to 5.5 V",
            ),
            "J1",
            "sources",
        ),
        (
            (
                "BT1 CR2032 VBAT GND",
                "U2 regulator VIN+ VBAT VOUT> VCC GND- GND = output 1.8 V = supply 1.5 to 6 V",
                "U1 mcu VCC+ VCC GND- GND = supply 1.7 to 5.5 V",
            ),
            "U2",
            "dropout",
        ),
        (
            (
                "J1 usb-connector 1:VBUS VBUS 2:GND GND",
                "U1 mcu VCC+ VCC VBUS+ VBUS GND- GND = supply 1.8 to 3.6 V",
                "U2 regulator VIN+ VBUS VOUT> VCC GND- GND = output 3.3 V = supply 2 to 6 V",
            ),
            "U1",
            "pins",
        ),
    ],
    ids=["supply", "no cell", "unknown cell", "connector", "drop-out", "inner regulator"],
)
def test_a_fact_that_is_missing_is_asked_for(lines: tuple[str, ...], of: str, key: str) -> None:
    done = review(*lines)

    assert [(u.of, u.key) for u in done.undetermined] == [(of, key)]
    assert not done.findings


def test_a_known_drop_out_answers() -> None:
    """By hand: 2.04 V at the end of a CR2032 less 0.1 V is above the 1.7 V that it needs."""
    done = review(
        "BT1 CR2032 VBAT GND",
        "U2 regulator VIN+ VBAT VOUT> VCC GND- GND = output 1.8 V = supply 1.5 to 6 V"
        " = dropout 0.1 V at 10 mA",
        "U1 mcu VCC+ VCC GND- GND = supply 1.7 to 5.5 V",
    )

    assert level(done) is None


def test_a_rail_that_nothing_feeds_is_left_to_its_own_rule() -> None:
    done = review(
        "BT1 CR2032 VBAT GND",
        "U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V",
        "U2 sensor VDD+ VDD_S GND- GND = supply 1.8 to 2.5 V",
        "C1 100n VDD_S GND",
    )

    assert level(done) is None


def test_a_back_up_supply_is_not_compared_with_the_main_range() -> None:
    done = review(
        "BT1 CR2032 VB GND",
        "J1 usb-connector 1:VBUS VBUS 2:GND GND",
        "U1 clock VCC+ VBUS VBAT+ VB GND- GND = supply 4.5 to 5.6 V",
    )

    assert level(done) is None


def test_the_curve_of_the_cell_is_assumed_and_softens_a_hold() -> None:
    """The CR2032 curve is an assumption, so even a fresh cell that is too low is a query.

    The highest that a fresh one shows, 3.35 V, is none.
    """
    mcu = "U1 mcu VCC+ VBAT GND- GND = supply {} to 5.5 V"

    assert level(review("BT1 CR2032 VBAT GND", mcu.format("3.3"))) is Level.QUERY
    assert level(on_line("supply 3.3 to 5.5 V")) is Level.HOLD
    assert level(review("BT1 CR2032 VBAT GND", mcu.format("3.4"))) is Level.HOLD


SLOPE = (
    "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, capacity: 200 mAh, "
    "voltage: 3 V at 0 % and 2 V at 100 %, resistance: 0 ohm}\n"
    "U1 mcu VCC+ VBAT GND- GND = supply 2.2 to 5.5 V = sleep_current 1 mA\n"
)


def test_an_early_stop_that_costs_the_run_time_wanted_is_a_hold() -> None:
    """2.2 V are passed at 80 %: 160 mAh at 1 mA, and 1.1 %/year of self-discharge, are some 160 h.

    200 mAh would be some 200 h: 170 h wanted are lost by the stop, 150 h are reached before it,
    and 210 h would not be reached in any case, which is the matter of `run-time`.
    """
    levels = {
        hours: [f.level for f in judge(rule, f"{SLOPE}~ run_time: {hours} h").findings]
        for hours in (150, 170, 210)
    }

    assert levels == {150: [Level.QUERY], 170: [Level.HOLD], 210: [Level.QUERY]}


def test_without_the_facts_for_the_discharge_the_charge_alone_decides() -> None:
    board = SLOPE.replace(" = sleep_current 1 mA", "").replace("capacity: 200 mAh, ", "")
    board = board.replace("type: CR2032", "type: CR2354")

    assert [f.level for f in judge(rule, f"{board}~ run_time: 170 h").findings] == [Level.QUERY]


def test_a_part_that_resets_at_pulses_before_it_stops_at_rest_is_one_finding() -> None:
    """20 mA on 20 ohm take 0.4 V: 2.4 V is passed at pulses with 80 % left, at rest with 40 %."""
    lines = (
        "BT1 cell/holder VBAT GND",
        "~ cell: {part: BT1, type: CR2032, voltage: 3.0 V at 0 % and 2.0 V at 100 %, "
        "resistance: 20 ohm}",
        "U1 mcu VCC+ VBAT GND- GND = supply 2.4 to 5.5 V = sleep_current 1 uA",
        "~ pattern: [{part: U1, current: 20 mA, for: 10 ms, every: 1 s}]",
    )
    circuit = circuit_of("\n".join(lines))
    done = run(circuit, [LoadedPack("two rules", "0", (cell_sag, rule))])
    found = {finding.rule: finding for finding in done.findings}

    assert found["supply-window"].follows == found["cell-sag"].fingerprint
    alone = run(
        circuit_of("\n".join(lines[:-1])), [LoadedPack("two rules", "0", (cell_sag, rule))]
    )
    (only,) = alone.findings
    assert (only.rule, only.follows) == ("supply-window", None)
