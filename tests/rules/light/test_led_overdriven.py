"""`led-overdriven`: currents against ngspice, typical and in the corner, and the limits walked."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.physics.spice import NGSPICE, needs_ngspice
from tests.rules.boards import FIVE, FLAT_CELL
from tests.rules.judging import Judging, number
from tests.rules.light.spice import BLUE, RED, spice

from boardvet.circuit.lighting import Lighting
from boardvet.circuit.strings import Strings
from boardvet.circuit.what_if import with_value
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of
from boardvet_rules.light.led_overdriven import check as rule

SPAN = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 4.5 to 5.5 V}}"
MCU = "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 PB2 P2 = pin_resistance 30 ohm"
RARE = "~ pattern: [{name: flash, lights: [D1], for: 1 ms, every: 100 ms}]"


JUDGING = Judging(rule)
review = JUDGING.review


def findings(*lines: str) -> dict[str, Finding]:
    found = review(*lines)
    assert not found.undetermined, found.undetermined
    return {finding.subject.name: finding for finding in found.findings}


def level(*lines: str) -> Level | None:
    found = findings(*lines)
    return found["D1"].level if "D1" in found else None


def light(rated: float, colour: str = RED, more: str = "") -> str:
    """A light on the net N1 that stands so many amperes."""
    return f"D1 led N1 GND{colour} = current_max {rated} A{more}"


# Currents: the board and, by hand, the same in ngspice.

BOARDS = {
    "on five volts": (
        (FIVE, "R1 100 VIN N1", light(1e-3)),
        ("V1 1 0 5", "R1 1 2 100", "Vd 2 3 0", "D1 3 0 red"),
    ),
    "on a coin cell": (
        (FLAT_CELL, "R1 100 VIN N1", light(1e-3)),
        ("V1 1 0 3", "Rc 1 2 15", "R1 2 3 100", "Vd 3 4 0", "D1 4 0 red"),
    ),
    "on a pin": (
        (FLAT_CELL, MCU, "R1 33 P0 N1", light(1e-3)),
        ("V1 1 0 3", "Rc 1 2 15", "Rp 2 3 30", "R1 3 4 33", "Vd 4 5 0", "D1 5 0 red"),
    ),
    "blue": (
        (FIVE, "R1 100 VIN N1", light(1e-3, BLUE)),
        ("V1 1 0 5", "R1 1 2 100", "Vd 2 3 0", "D1 3 0 blue"),
    ),
    "with its resistor below": (
        (FIVE, "R1 100 N1 GND", f"D1 led VIN N1{RED} = current_max 1 mA"),
        ("V1 1 0 5", "Vd 1 2 0", "D1 2 3 red", "R1 3 0 100"),
    ),
    "two in series": (
        (FIVE, "R1 100 VIN N0", f"D2 led N0 N1{RED} = current_max 1 A", light(1e-3)),
        ("V1 1 0 5", "R1 1 2 100", "Vd 2 3 0", "D2 3 4 red", "D1 4 0 red"),
    ),
    "two that share a cell": (
        (
            FLAT_CELL,
            "R1 33 VIN N1",
            "R2 33 VIN N2",
            light(1e-3),
            f"D2 led N2 GND{RED} = current_max 1 A",
            "~ pattern: [{name: both, lights: [D1, D2]}]",
        ),
        (
            "V1 1 0 3",
            "Rc 1 2 15",
            "R1 2 3 33",
            "Vd 3 4 0",
            "D1 4 0 red",
            "R2 2 5 33",
            "D2 5 0 red",
        ),
    ),
    "a light of an array": (
        (
            FLAT_CELL,
            MCU,
            "R0 33 P0 N0",
            "R1 33 P1 N1",
            f"D1 led N0 N1{RED} = current_max 1 mA",
            f"D2 led N1 N0{RED} = current_max 1 A",
            "~ pattern: [{name: scan, lights: [D1, D2]}]",
        ),
        (
            "V1 1 0 3",
            "Rc 1 2 15",
            "Rp 2 3 30",
            "R0 3 4 33",
            "Vd 4 5 0",
            "D1 5 6 red",
            "D2 6 4 red",
            "R1 6 7 33",
            "Rq 7 0 30",
        ),
    ),
}


@needs_ngspice
@pytest.mark.parametrize("name", BOARDS)
def test_the_current_is_that_of_ngspice(name: str, tmp_path: Path) -> None:
    board, cards = BOARDS[name]
    (expected,) = spice(tmp_path, cards, "i(vd)")

    assert number(findings(*board)["D1"], "LED current") == pytest.approx(expected, rel=1e-2)


@pytest.fixture(scope="module")
def amperes(tmp_path_factory: pytest.TempPathFactory) -> float:
    """Return the current of the red light behind 100 Ω on 5 V, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5", "R1 1 2 100", "Vd 2 3 0", "D1 3 0 red")
    return spice(tmp_path_factory.mktemp("spice"), cards, "i(vd)")[0]


@pytest.fixture(scope="module")
def most(tmp_path_factory: pytest.TempPathFactory) -> float:
    """Return the same on 5.5 V, behind 95 Ω, with 0.1 V less across the light, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5.5", "R1 1 2 95", "Vd 2 3 0", "D1 3 0 lowred")
    return spice(tmp_path_factory.mktemp("spice"), cards, "i(vd)")[0]


# Limits, walked from 1 % under to 1 % over.


def test_above_the_rating_as_a_rule_is_a_hold(amperes: float) -> None:
    """On exactly 5 V; the corner alone, which is 10 % above, is a query."""
    assert level(FIVE, "R1 100 VIN N1", light(0.99 * amperes)) is Level.HOLD
    assert level(FIVE, "R1 100 VIN N1", light(1.01 * amperes)) is Level.QUERY


def test_above_the_rating_only_in_the_corner_is_a_query(most: float) -> None:
    assert level(SPAN, "R1 100 VIN N1", light(0.99 * most)) is Level.QUERY
    assert level(SPAN, "R1 100 VIN N1", light(1.01 * most)) is None


def test_the_corner_says_what_is_off(most: float) -> None:
    found = findings(SPAN, "R1 100 VIN N1", light(0.95 * most))["D1"]

    assert number(found, "LED current at the most") == pytest.approx(most, rel=1e-2)
    assert "resistors 5 % low and the light 100 mV low" in found.sum


def test_a_stated_tolerance_counts_before_the_assumed_one(tmp_path: Path) -> None:
    """1 %: 99 Ω in ngspice; 5 % below it would be 95 Ω, some 4 % more current."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5.5", "R1 1 2 99", "Vd 2 3 0", "D1 3 0 lowred")
    (precise,) = spice(tmp_path, cards, "i(vd)")

    board = (SPAN, "R1 100 VIN N1 = tolerance 1 %")
    assert level(*board, light(1.01 * precise)) is None
    assert level(*board, light(0.99 * precise)) is Level.QUERY
    assert level(SPAN, "R1 100 VIN N1", light(1.01 * precise)) is Level.QUERY


def test_the_settings_say_how_far_parts_may_be_off(tmp_path: Path) -> None:
    """Nothing off: only the highest supply is left, 5.5 V."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5.5", "R1 1 2 100", "Vd 2 3 0", "D1 3 0 red")
    (exact,) = spice(tmp_path, cards, "i(vd)")
    none = "~ settings: {led-overdriven: {forward_voltage: 0 V, tolerance: 0 %}}"
    board = (SPAN, "R1 100 VIN N1", none)

    assert level(*board, light(1.01 * exact)) is None
    assert level(*board, light(0.99 * exact)) is Level.QUERY


@pytest.mark.parametrize(("share", "expected"), [(1.2, None), (0.99, Level.HOLD)])
def test_short_and_rare_pulses_are_held_against_the_peak_rating(
    share: float, expected: Level | None, amperes: float
) -> None:
    """1 ms each 100 ms; the corner on exactly 5 V is about 9 % above the typical current."""
    peak = f" = current_peak {share * amperes} A at 10 %"

    assert level(FIVE, "R1 100 VIN N1", light(1e-3, more=peak), RARE) is expected


def test_with_only_the_steady_rating_a_short_pulse_is_a_query_up_to_twice_of_it(
    amperes: float,
) -> None:
    """Twice 0.505 of the current is 1 % above it, twice 0.495 is 1 % below."""
    board = (FIVE, "R1 100 VIN N1", RARE)

    assert level(*board, light(0.505 * amperes)) is Level.QUERY
    assert level(*board, light(0.495 * amperes)) is Level.HOLD


def test_an_assumed_rating_alone_makes_no_hold(amperes: float) -> None:
    """20 mA are assumed; some 29 mA flow."""
    assert amperes > 0.025
    assert level(FIVE, "R1 100 VIN N1", "D1 led N1 GND" + RED) is Level.QUERY


# Which pulse counts

SCAN = "~ pattern: [{{lights: [{lights}], for: {on} ms, every: {every} ms, in_turn: yes}}]"
PEAK = " = current_max 5 mA = current_peak 60 mA at 10 %"


def twelve(every: float) -> tuple[str, ...]:
    lights = [f"D{n} led N{n} GND{RED}{PEAK}" for n in range(1, 13)]
    resistors = [f"R{n} 100 VIN N{n}" for n in range(1, 13)]
    names = ", ".join(f"D{n}" for n in range(1, 13))
    return (FIVE, *lights, *resistors, SCAN.format(lights=names, on=every / 12, every=every))


def test_lights_in_turn_within_their_peak_rating_are_quiet() -> None:
    """Twelve in 12 ms: each 1 ms and 1/12 of the time, so the peak rating of 60 mA counts."""
    assert not findings(*twelve(12))


def test_the_same_lights_slower_are_found() -> None:
    """Twelve in 240 ms: each for 20 ms, so the rating of 5 mA counts."""
    assert len(findings(*twelve(240))) == 12


def test_lights_in_turn_of_no_stated_length_share_the_time() -> None:
    *parts, _ = twelve(12)
    names = ", ".join(f"D{n}" for n in range(1, 13))

    assert not findings(*parts, f"~ pattern: [{{lights: [{names}], in_turn: yes}}]")
    assert len(findings(*parts, f"~ pattern: [{{lights: [{names}]}}]")) == 12


def test_lights_of_an_array_are_in_turn_though_the_page_does_not_say_so() -> None:
    """Each of two opposite lights is on for half of the time at the most: its duty is 1/2.

    Three pulses of 2 ms each: with 1/20 of the time for both, each has 1/40.
    """
    board, _ = BOARDS["a light of an array"]
    *parts, _ = (line.replace(" = current_max 1 mA", PEAK) for line in board)
    rare = "~ pattern: [{name: scan, lights: [D1, D2], for: 2 ms, every: 40 ms}]"
    often = "~ pattern: [{name: scan, lights: [D1, D2]}]"

    assert level(*parts, rare) is None
    assert level(*parts, often) is Level.HOLD


def test_dimming_counts_by_its_pulses() -> None:
    """Dimmed to 5 % the light is on for less than 1 ms at a time; undimmed it is not."""
    dimmed = "~ pattern: [{name: glow, lights: [D1], pwm: 5 %}]"
    board = (FIVE, "R1 100 VIN N1", f"D1 led N1 GND{RED}{PEAK}")

    assert level(*board, dimmed) is None
    assert level(*board) is Level.HOLD


def test_the_worst_entry_of_the_pattern_counts() -> None:
    """A short flash within the peak rating, and a long one above the steady rating."""
    entries = (
        "{name: flash, lights: [D1], for: 1 ms, every: 1 s}, "
        "{name: beacon, lights: [D1], for: 50 ms, every: 7 s}"
    )
    board = (FIVE, "R1 100 VIN N1", f"D1 led N1 GND{RED}{PEAK}")

    assert level(*board, f"~ pattern: [{entries}]") is Level.HOLD


# The cure


@pytest.mark.parametrize("colour", [RED, BLUE])
def test_the_value_of_the_cure_put_back_cures(colour: str) -> None:
    """Parsed from the text, put on the board, and judged and solved again."""
    board = "\n".join([SPAN, "R1 33 VIN N1", light(20e-3, colour)])
    fix = findings(board)["D1"].fix
    value = fix.removeprefix("make R1 ").partition(" Ω")[0]
    said = float(fix.partition("then ")[2].partition(" mA")[0])
    circuit = with_value(circuit_of(board), "R1", value)
    (string,) = circuit.view(Strings).all
    solved = circuit.view(Lighting).worst(string)

    assert solved is not None
    assert solved.current * 1e3 == pytest.approx(said, rel=0.01)
    assert level(board.replace("R1 33", f"R1 {value}")) is None


def test_the_value_of_the_cure_is_the_smallest_of_its_series_that_cures() -> None:
    """By hand on 5.5 V, 0.1 V and 5 % low: (5.5 − 1.9) V / 20 mA = 180 Ω, so 190 Ω: 220 in E12."""
    board = (SPAN, "R1 33 VIN N1", light(20e-3))

    assert "make R1 220 Ω in place of 33 Ω" in findings(*board)["D1"].fix
    assert level(SPAN, "R1 180 VIN N1", light(20e-3)) is not None


# Quiet


def test_a_light_that_nothing_limits_is_left_to_its_own_rule() -> None:
    assert not findings(FIVE, f"D1 led VIN GND{RED} = current_max 20 mA")


def test_a_light_on_a_driver_is_left_to_the_resistor_that_sets_it() -> None:
    driver = "U2 driver VCC+ VIN GND- GND OUT> N1"

    assert not findings(FIVE, driver, f"D1 led VIN N1{RED} = current_max 1 mA")


def test_a_light_well_within_its_rating_is_clear() -> None:
    found = review(FIVE, "R1 1k VIN N1", light(20e-3))

    assert not found.findings
    assert [clear.subject.name for clear in found.clear] == ["D1"]


def test_what_a_resistor_cannot_exceed_is_never_below_what_flows() -> None:
    """Rated 1 % above what 5 V could push through 80 Ω: clear; and what flows is far less."""
    assert level(FIVE, "R1 100 VIN N1", light(1.01 * 5 / 80)) is None
    shared = "D2 led N1 GND" + RED + " = current_max 1 A"
    assert level(FIVE, "R1 100 VIN N1", light(1.01 * 5 / 80), shared) is None
    assert level(FIVE, "R1 100 VIN N1", light(5e-3), shared) is Level.HOLD


def test_a_resistor_does_not_bound_a_light_that_something_else_feeds_as_well() -> None:
    """Three of 100 Ω meet at the light: one alone would seem to bound it to 5 V / 80 Ω = 62 mA.

    By hand: 5 − 1.9 − 0.1 V over 33.3 + 6 Ω are more than 70 mA.
    """
    feeds = ("R1 100 VIN N1", "R2 100 VIN N1", "R3 100 VIN N1")

    assert level(FIVE, *feeds, light(65e-3)) is Level.HOLD
    assert level(FIVE, feeds[0], light(65e-3)) is None


def test_a_resistor_beside_a_bare_way_limits_nothing() -> None:
    """The pin feeds the light through two coils; the pull-up is beside them."""
    coils = ("L1 10u P0 M", "L2 10u M N1", "R1 10k VIN N1")

    assert not findings(FIVE, MCU, *coils, light(1e-3))
    assert level(FIVE, MCU, "R2 47 P0 M", coils[1], light(1e-3)) is Level.HOLD


# What is missing


@pytest.mark.parametrize(
    ("lines", "missing"),
    [
        ((FIVE, "R1 100 VIN N1", "D1 led N1 GND = current_max 1 mA"), ("D1", "forward_voltage")),
        ((FIVE, "R1 R VIN N1", light(1e-3)), ("R1", "value")),
        (("BT1 cell/holder + VIN - GND", "R1 100 VIN N1", light(1e-3)), ("BT1", "cell")),
        (("J1 connector 1: VIN 2: GND", "R1 100 VIN N1", light(1e-3)), ("J1", "sources")),
        ((FLAT_CELL, "R1 100 OTHER N1", "C1 1u OTHER GND", "U1 mcu VCC+ OTHER GND- GND",
          light(1e-3)),
         ("D1", "sources")),
    ],
)  # fmt: skip
def test_what_is_missing_is_named(lines: tuple[str, ...], missing: tuple[str, str]) -> None:
    found = review(*lines)

    assert [(u.of, u.key) for u in found.undetermined] == [missing]
    assert not found.findings


def test_a_light_of_unknown_colour_is_clear_where_its_resistor_alone_limits_enough() -> None:
    """5.0 V over 0.8 · 1 kΩ are 6.3 mA and below 20 mA; over 0.8 · 270 Ω they are 23 mA.

    Another rail of the board may well be higher: it is not across this resistor.
    """
    other = "J2 connector/in 1: HIGH 2: GND\nR9 10k HIGH GND"
    fed = "~ sources: {J1: {net: VIN, voltage: 5 V}, J2: {net: HIGH, voltage: 24 V}}"
    board = (FIVE.splitlines()[0], other, fed, "D1 led N1 GND = current_max 20 mA")

    assert level(*board, "R1 1k VIN N1") is None
    found = review(*board, "R1 270 VIN N1")
    assert [u.key for u in found.undetermined] == ["forward_voltage"]
