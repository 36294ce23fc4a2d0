"""`led-unlimited`: the solved current against ngspice, the limits, and what does limit.

The circuits given to ngspice are written down by hand beside each board.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.physics.spice import NGSPICE, needs_ngspice
from tests.rules.judging import Judging
from tests.rules.light.spice import spice as solve

from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.light.led_unlimited import check as rule


def cell(volts: float = 3.0, ohms: float = 15.0, more: str = "type: CR2032") -> str:
    return (
        "BT1 cell/holder + VBAT - GND\n~ cell: "
        f"{{part: BT1, {more}, voltage: {volts} V at 0 % and {volts} V at 100 %, "
        f"resistance: {ohms} ohm}}"
    )


MCU = (
    "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 "
    "= pin_resistance 30 ohm = pin_current_max 40 mA"
)
RED = " = colour red = forward_voltage 1.9 V at 10 mA = current_max 30 mA = wanted_current 5 mA"
BLUE = " = colour blue = forward_voltage 3.0 V at 5 mA = current_max 30 mA = wanted_current 5 mA"
FIVE_VOLTS = "J1 connector/in 1: VBAT 2: GND\n~ sources: {J1: {net: VBAT, voltage: 5 V}}"


def spice(folder: Path, *cards: str) -> float:
    """Return the current through the source Vd of a circuit, in amperes."""
    return solve(folder, cards, "i(vd)")[0]


JUDGING = Judging(rule)
review = JUDGING.review


def findings(*lines: str) -> dict[str, Finding]:
    found = review(*lines)
    assert not found.undetermined, found.undetermined
    return {finding.subject.name: finding for finding in found.findings}


def current(*lines: str, light: str = "D1") -> float:
    return findings(*lines)[light].numbers[0].value


def level(*lines: str, light: str = "D1") -> Level | None:
    found = findings(*lines)
    return found[light].level if light in found else None


BOTH = "~ pattern: [{name: flash, lights: [D1, D2], for: 20 ms, every: 100 ms}]"
BOARDS = {
    "on a pin of a coin cell": (
        (cell(), MCU, "D1 led P0 GND" + RED),
        ("Vc 1 0 3", "Rc 1 2 15", "Rp 2 3 30", "Vd 3 4 0", "D1 4 0 red"),
    ),
    "blue, with little left over": (
        (cell(), MCU, "D1 led P0 GND" + BLUE),
        ("Vc 1 0 3", "Rc 1 2 15", "Rp 2 3 30", "Vd 3 4 0", "D1 4 0 blue"),
    ),
    "low-side on a pin": (
        (cell(), MCU, "D1 led VBAT P0" + RED),
        ("Vc 1 0 3", "Rc 1 2 15", "Vd 2 3 0", "D1 3 4 red", "Rp 4 0 30"),
    ),
    "straight on three cells": (
        (cell(1.5, 0.15, "type: LR6, series: 3"), "D1 led VBAT GND" + RED),
        ("Vc 1 0 4.5", "Rc 1 2 0.45", "Vd 2 3 0", "D1 3 0 red"),
    ),
    "two that share the cell": (
        (cell(), MCU, "D1 led P0 GND" + RED, "D2 led P1 GND" + RED, BOTH),
        (
            "Vc 1 0 3",
            "Rc 1 2 15",
            "Rp 2 3 30",
            "Vd 3 4 0",
            "D1 4 0 red",
            "Rq 2 5 30",
            "D2 5 0 red",
        ),
    ),
    "one of an antiparallel pair between two pins": (
        (cell(), MCU, "D1 led P0 P1" + RED, "D2 led P1 P0" + RED),
        (
            "Vc 1 0 3",
            "Rc 1 2 15",
            "Rp 2 3 30",
            "Vd 3 4 0",
            "D1 4 5 red",
            "Rq 5 0 30",
            "D2 5 3 red",
        ),
    ),
    "through an N-FET": (
        (
            cell(),
            MCU,
            "Q1 fet/n 1:G P0 2:S GND 3:D N1 = channel n = on_resistance 2 ohm at 3 V",
            "D1 led VBAT N1" + RED,
        ),
        ("Vc 1 0 3", "Rc 1 2 15", "Vd 2 3 0", "D1 3 4 red", "Rq 4 0 2"),
    ),
    "two in series on five volts": (
        (FIVE_VOLTS, "D1 led VBAT N1" + RED, "D2 led N1 GND" + RED),
        ("Vc 1 0 5", "Vd 1 2 0", "D1 2 3 red", "D2 3 0 red"),
    ),
    "straight on five volts": (
        (FIVE_VOLTS, "D1 led VBAT GND" + RED),
        ("Vc 1 0 5", "Vd 1 2 0", "D1 2 0 red"),
    ),
    "one colour of three": (
        (cell(), MCU, "D1 led 1:A VBAT 2:RK P0 3:GK P1 4:BK P2" + RED),
        ("Vc 1 0 3", "Rc 1 2 15", "Vd 2 3 0", "D1 3 4 red", "Rp 4 0 30"),
    ),
}


@needs_ngspice
@pytest.mark.parametrize("name", BOARDS)
def test_the_current_is_that_of_ngspice(name: str, tmp_path: Path) -> None:
    board, cards = BOARDS[name]
    light = "D1 (rk)" if "three" in name and "colour" in name else "D1"

    assert current(*board, light=light) == pytest.approx(
        spice(tmp_path, *cards), rel=1e-2, abs=1e-6
    )


@needs_ngspice
def test_the_highest_supply_is_solved_as_well(tmp_path: Path) -> None:
    """USB is 5 V and may show 5.5 V (USB Type-C, from memory): 5.5 V for damage."""
    usb = "J1 usb-connector 1:VBUS VBAT 2:GND GND 3:D+ . 4:D- ."
    found = findings(usb, MCU, "D1 led P0 GND" + BLUE)["D1"]
    expected = spice(tmp_path, "Vc 1 0 5.5", "Rp 1 3 30", "Vd 3 4 0", "D1 4 0 blue")

    assert found.numbers[1].value == pytest.approx(expected, rel=1e-2)


# Levels, walked through their limits. Currents by ngspice.


def on_five_volts(**facts: str) -> tuple[str, str, str]:
    """Return a red light on a pin of a board that is held at exactly 5 V, with these facts."""
    stated = {
        "colour": "red",
        "forward_voltage": "1.9 V at 10 mA",
        "current_max": "1 A",
        "wanted_current": "1 A",
        **facts,
    }
    pin = stated.pop("pin_current_max", "1 A")
    part = "".join(f" = {key} {value}" for key, value in stated.items())
    return (
        FIVE_VOLTS,
        f"U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = pin_current_max {pin}",
        f"D1 led P0 GND{part}",
    )


@pytest.fixture(scope="module")
def amperes(tmp_path_factory: pytest.TempPathFactory) -> float:
    """Return the current of that light: 5 V, 30 Ω and the red junction, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    folder = tmp_path_factory.mktemp("spice")
    return spice(folder, "Vc 1 0 5", "Rp 1 3 30", "Vd 3 4 0", "D1 4 0 red")


def test_within_every_rating_and_wish_it_is_a_note_with_the_figure() -> None:
    found = findings(*on_five_volts())["D1"]

    assert found.level is Level.NOTE
    assert "within every rating" in found.sum
    assert " mA flow" in found.sum
    assert "cell empt" not in found.bench


@pytest.mark.parametrize("limit", ["current_max", "pin_current_max"])
def test_above_a_rating_is_a_hold(limit: str, amperes: float) -> None:
    """The rating 1 % above and 1 % below the current."""
    assert level(*on_five_volts(**{limit: f"{1.01 * amperes} A"})) is Level.NOTE
    assert level(*on_five_volts(**{limit: f"{0.99 * amperes} A"})) is Level.HOLD


def test_what_is_broken_is_named(amperes: float) -> None:
    below = f"{0.9 * amperes} A"

    assert "a pin of U1 stands" in findings(*on_five_volts(pin_current_max=below))["D1"].sum
    assert "D1 stands" in findings(*on_five_volts(current_max=below))["D1"].sum


def test_paid_several_times_over_is_a_query_with_a_value(amperes: float) -> None:
    """Three times what is wanted, 1 % around; the cure is (5 V − V)/I for the wanted current.

    By hand: some 80 mA flow, so 27 mA are wanted; there the light drops 1.9 V + 6 Ω · 17 mA +
    2 · 25.865 mV · ln(2.7) = 2.05 V, and (5 − 2.05) V / 27 mA = 109 Ω: 120 Ω is next in E12.
    """
    assert level(*on_five_volts(wanted_current=f"{amperes / 2.97} A")) is Level.NOTE
    found = findings(*on_five_volts(wanted_current=f"{amperes / 3.03} A"))["D1"]
    assert found.level is Level.QUERY
    assert "120 Ω" in found.fix


def test_only_the_highest_supply_above_the_rating_is_a_query() -> None:
    """4.75 to 5.25 V: solved at the middle and at the highest; a rating between is in a corner."""
    span = "J1 connector/in 1: VBAT 2: GND\n~ sources: {J1: {net: VBAT, voltage: 4.5 to 5.5 V}}"
    _, *rest = on_five_volts()
    found = findings(span, *rest)["D1"]
    typical, highest = (number.value for number in found.numbers[:2])
    _, *rest = on_five_volts(current_max=f"{(typical + highest) / 2} A")

    assert highest > 1.1 * typical
    assert level(span, *rest) is Level.QUERY


PULSED = "~ pattern: [{{name: flash, lights: [D1], for: {on} ms, every: {every} ms}}]"


@pytest.mark.parametrize(
    ("on", "every", "short"),
    [(5, 500, True), (9.9, 99, True), (9.9, 98, False), (9.9, 1000, True), (10.1, 1000, False)],
)
def test_the_peak_rating_counts_for_short_and_rare_pulses_only(
    on: float, every: float, short: bool, amperes: float
) -> None:
    """Rule book: direct-current rating from 10 ms or a duty above 1/10 on. 9.9/98 = 0.101."""
    board = on_five_volts(
        current_max=f"{0.7 * amperes} A", current_peak=f"{1.5 * amperes} A at 10 %"
    )

    expected = Level.NOTE if short else Level.HOLD
    assert level(*board, PULSED.format(on=on, every=every)) is expected


@pytest.mark.parametrize(("share", "expected"), [(1.01, Level.NOTE), (0.99, Level.HOLD)])
def test_the_peak_rating_is_the_limit_of_short_pulses(
    share: float, expected: Level, amperes: float
) -> None:
    board = on_five_volts(
        current_max=f"{0.1 * amperes} A", current_peak=f"{share * amperes} A at 10 %"
    )

    assert level(*board, PULSED.format(on=1, every=100)) is expected


@pytest.mark.parametrize(
    ("share", "expected"),
    [(1.01, Level.NOTE), (0.99, Level.QUERY), (0.505, Level.QUERY), (0.495, Level.HOLD)],
)
def test_with_only_the_steady_rating_short_pulses_are_a_query_up_to_twice_of_it(
    share: float, expected: Level, amperes: float
) -> None:
    """Twice 0.505 of the current is 1 % above it, twice 0.495 is 1 % below."""
    board = on_five_volts(current_max=f"{share * amperes} A")

    assert level(*board, PULSED.format(on=1, every=100)) is expected


def test_an_assumed_rating_alone_makes_no_hold(amperes: float) -> None:
    """Without a stated rating 20 mA is assumed: here the current is several times that."""
    lines = [line.replace(" = current_max 1 A", "") for line in on_five_volts()]

    assert amperes > 0.04
    assert level(*lines) is Level.QUERY


# What limits the current


LIMITED = {
    "a resistor": ("D1 led N1 GND" + RED, "R1 100 P0 N1"),
    "a resistor below": ("D1 led P0 N1" + RED, "R1 100 N1 GND"),
    "a driver": ("D1 led VBAT N1" + RED, "U2 driver VCC+ VBAT GND- GND OUT> N1"),
    "a current output of a driver": (
        "D1 led N1 GND" + RED,
        "U2 driver VCC+ VBAT GND- GND 3:LED1 N1",
    ),
    "the resistor in the shared leg": (
        "D1 led 1:RA P0 2:GA P1 3:BA P2 4:K N1" + RED,
        "R1 100 N1 GND",
    ),
    "a sense resistor of a boost loop": (
        "D1 led VLED FB" + RED,
        "U2 driver VCC+ VBAT GND- GND 3:SW N1 4:FB FB",
        "L1 10u VBAT N1",
        "D9 diode/BAT54 N1 VLED",
        "R1 20 FB GND",
    ),
}


@pytest.mark.parametrize("name", LIMITED)
def test_what_limits_the_current_keeps_it_quiet(name: str) -> None:
    found = review(cell(), MCU, *LIMITED[name])

    assert not found.findings
    assert found.clear


def test_the_same_leg_without_its_resistor_is_found() -> None:
    part, _ = LIMITED["the resistor in the shared leg"]

    assert len(findings(cell(), MCU, part.replace("4:K N1", "4:K GND"))) == 3


def test_less_than_an_ohm_is_a_wire() -> None:
    assert level(cell(), MCU, "D1 led N1 GND" + RED, "R1 0.5 P0 N1") is not None


ARRAY = ("D1 led N0 N1" + RED, "D2 led N1 N2" + RED, "D3 led N2 N0" + RED)


def test_a_multiplexed_array_with_a_resistor_on_each_line_is_quiet() -> None:
    lines = [f"R{n} 100 P{n} N{n}" for n in range(3)]

    assert not findings(cell(), MCU, *lines, *ARRAY)


def test_resistors_on_two_of_three_lines_limit_every_light() -> None:
    """Each light joins two lines, so one of them has its resistor; the way round is a ghost."""
    array = [light.replace("N2", "P2") for light in ARRAY]

    assert not findings(cell(), MCU, "R1 100 P0 N0", "R2 100 P1 N1", *array)


def test_with_a_resistor_on_one_line_the_light_between_the_others_is_found() -> None:
    array = [light.replace("N2", "P2").replace("N1", "P1") for light in ARRAY]

    assert list(findings(cell(), MCU, "R1 100 P0 N0", *array)) == ["D2"]


def test_an_antiparallel_pair_behind_one_resistor_is_quiet() -> None:
    pair = ("R1 100 P0 N1", "D1 led N1 P1" + RED, "D2 led P1 N1" + RED)

    assert not findings(cell(), MCU, *pair)


def test_both_lights_of_a_two_colour_part_are_judged() -> None:
    part = "D1 led/two 1:RA P0 2:RK GND 3:GA P1 4:GK GND"

    assert set(findings(cell(), MCU, part + RED)) == {"D1 (ra)", "D1 (ga)"}


def test_the_lights_of_an_rgb_part_are_taken_for_their_colours() -> None:
    """Only red is left with something to spare from 3 V: blue and green drop some 3 V."""
    part = "D1 led/rgb 1:RA P0 2:GA P1 3:BA P2 4:K GND"
    found = findings(cell(), MCU, part)

    amperes = {name: finding.numbers[0].value for name, finding in found.items()}
    assert amperes["D1 (ra)"] > 3 * amperes["D1 (ga)"]
    assert amperes["D1 (ra)"] > 3 * amperes["D1 (ba)"]
    assert [u.key for u in review(cell(), MCU, part, assume_nothing=True).undetermined] == [
        "forward_voltage"
    ] * 3


# What is missing


def test_a_light_of_unknown_colour_is_asked_for() -> None:
    found = review(cell(), MCU, "D1 led P0 GND")

    assert [(u.of, u.key) for u in found.undetermined] == [("D1", "forward_voltage")]


def test_an_unknown_cell_is_asked_for() -> None:
    found = review("BT1 cell/holder + VBAT - GND", MCU, "D1 led P0 GND" + RED)

    assert [(u.of, u.key) for u in found.undetermined] == [("BT1", "cell")]


def test_the_maximum_of_a_pin_is_asked_for() -> None:
    board = [MCU.replace(" = pin_current_max 40 mA", ""), "D1 led P0 GND" + RED]
    found = review(cell(), *board)

    assert [(u.of, u.key) for u in found.undetermined] == [("U1", "pin_current_max")]


def test_what_a_connector_brings_is_asked_for() -> None:
    found = review("J1 connector 1: IN 2: GND", "D1 led IN GND" + RED)

    assert [(u.of, u.key) for u in found.undetermined] == [("J1", "sources")]


def test_a_light_that_nothing_feeds_is_left_to_other_rules() -> None:
    found = review(cell(), "D1 led N1 GND" + RED)

    assert not found.findings
    assert not found.undetermined


def test_a_bare_light_that_nothing_known_feeds_is_undetermined() -> None:
    """Without a cell on the board the missing fact is the cell, and never a silent pass."""
    board = "U1 mcu VCC+ VDD GND- GND PB0 LAMP\nD1 led/red LAMP GND"
    review = judge(rule, board)

    assert not review.clear
    assert [item.key for item in review.undetermined] == ["cell"]


def test_a_bare_light_on_a_rail_that_the_cell_does_not_reach_asks_what_feeds_it() -> None:
    board = "BT1 CR2032 OTHER GND\nR1 1M OTHER GND\nU1 mcu VCC+ VDD GND- GND PB0 LAMP\n"
    review = judge(rule, board + "D1 led/red LAMP GND")

    assert [item.key for item in review.undetermined] == ["sources"]
