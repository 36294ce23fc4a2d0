"""`led-shared-resistor`: how lights in parallel share, against ngspice, and when they do not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.physics.spice import NGSPICE, needs_ngspice
from tests.rules.boards import FIVE, FLAT_CELL
from tests.rules.judging import Judging, number
from tests.rules.light.spice import BLUE, RED, spice

from boardvet.review.verdict import Level
from boardvet_rules.light.led_shared_resistor import check as rule

MCU = "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 PB2 P2 = pin_resistance 30 ohm"
PAIR = ("D1 led N1 GND" + RED, "D2 led N1 GND" + RED)


JUDGING = Judging(rule)
review, only = JUDGING.review, JUDGING.only


def quiet(*lines: str) -> bool:
    """Tell whether nothing is found, also where there is nothing to judge."""
    found = review(*lines)
    assert not found.undetermined, found.undetermined
    return not found.findings


def carrying(cards: tuple[str, ...], folder: Path, count: int = 2) -> tuple[float, ...]:
    return spice(folder, cards, *(f"i(vd{n})" for n in range(1, count + 1)))


# Currents

FED = ("V1 1 0 5", "R1 1 2 100")
TWO_RED = (*FED, "Vd1 2 3 0", "D1 3 0 red", "Vd2 2 4 0", "D2 4 0 red")
ONE_LOW = (*FED, "Vd1 2 3 0", "D1 3 0 lowred", "Vd2 2 4 0", "D2 4 0 red")
RED_BLUE = (*FED, "Vd1 2 3 0", "D1 3 0 red", "Vd2 2 4 0", "D2 4 0 blue")


@needs_ngspice
def test_equal_lights_share_equally_as_a_rule_and_unevenly_with_one_off(tmp_path: Path) -> None:
    found = only(FIVE, "R1 100 VIN N1", *PAIR)
    one, other = carrying(TWO_RED, tmp_path)
    most, least = carrying(ONE_LOW, tmp_path)

    assert found.level is Level.QUERY
    assert number(found, "current of D1") == pytest.approx(one, rel=1e-2)
    assert number(found, "current of D2") == pytest.approx(other, rel=1e-2)
    assert number(found, "most of one light") == pytest.approx(most, rel=1e-2)
    assert number(found, "least beside it") == pytest.approx(least, rel=1e-2)


@needs_ngspice
def test_of_two_colours_the_higher_one_stays_dark(tmp_path: Path) -> None:
    found = only(FIVE, "R1 100 VIN N1", "D1 led N1 GND" + RED, "D2 led N1 GND" + BLUE)
    red, blue = carrying(RED_BLUE, tmp_path)

    assert found.bench == "D2 stays dark or dim."
    assert number(found, "current of D1") == pytest.approx(red, rel=1e-2)
    assert number(found, "current of D2") == pytest.approx(blue, abs=1e-6)
    assert blue < 1e-6


@needs_ngspice
def test_strings_of_two_share_as_well(tmp_path: Path) -> None:
    """Two branches of two in series: one light of one branch off, so half as far for its size."""
    lights = [f"D{n} led {a} {b}{RED}" for n, a, b in
              [(1, "N1", "N2"), (2, "N2", "GND"), (3, "N1", "N3"), (4, "N3", "GND")]]  # fmt: skip
    found = only(FIVE, "R1 22 VIN N1", *lights)
    cards = ("V1 1 0 5", "R1 1 2 22", "Vd1 2 3 0", "D1 3 4 lowred", "D2 4 0 red",
             "Vd2 2 5 0", "D3 5 6 red", "D4 6 0 red")  # fmt: skip
    most, least = carrying(cards, tmp_path)

    assert found.subject.name == "D1, D3 behind R1"
    assert number(found, "most of one light") == pytest.approx(most, rel=1e-2)
    assert number(found, "least beside it") == pytest.approx(least, rel=1e-2)


@needs_ngspice
def test_two_above_a_third_in_series_are_the_ones_that_share(tmp_path: Path) -> None:
    third = "D3 led N2 GND" + RED
    found = only(FIVE, "R1 100 VIN N1", third, "D1 led N1 N2" + RED, "D2 led N1 N2" + RED)
    cards = (*FED, "Vd1 2 3 0", "D1 3 5 lowred", "Vd2 2 4 0", "D2 4 5 red", "D3 5 0 red")
    most, _ = carrying(cards, tmp_path)

    assert found.subject.name == "D1, D2 behind R1"
    assert number(found, "most of one light") == pytest.approx(most, rel=1e-2)


@needs_ngspice
def test_pins_lit_together_share_through_their_own_resistance(tmp_path: Path) -> None:
    """Each pin has 30 Ω, which evens the two out a little."""
    both = "~ pattern: [{name: both, lights: [D1, D2]}]"
    found = only(FLAT_CELL, MCU, "R1 47 N1 GND", "D1 led P0 N1" + RED, "D2 led P1 N1" + RED, both)
    cards = ("V1 1 0 3", "Rc 1 2 15", "Rp 2 3 30", "Vd1 3 4 0", "D1 4 5 lowred",
             "Rq 2 6 30", "Vd2 6 7 0", "D2 7 5 red", "R1 5 0 47")  # fmt: skip
    most, least = carrying(cards, tmp_path)

    assert number(found, "most of one light") == pytest.approx(most, rel=1e-2)
    assert number(found, "least beside it") == pytest.approx(least, rel=1e-2)


def test_the_limit_turns_within_a_hundredth(tmp_path: Path) -> None:
    """The ratio of ngspice, 1 % under and 1 % over as the setting."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    most, least = carrying(ONE_LOW, tmp_path)
    board = (FIVE, "R1 100 VIN N1", *PAIR)

    def setting(ratio: float) -> str:
        return f"~ settings: {{led-shared-resistor: {{uneven: {ratio}}}}}"

    assert quiet(*board, setting(1.01 * most / least))
    assert not quiet(*board, setting(0.99 * most / least))


def test_a_smaller_spread_may_be_stated(tmp_path: Path) -> None:
    """1 mV over the slope of one at 15 mA, 6 Ω + 51.7 mV / 15 mA = 9.4 Ω, is 0.1 mA of 15."""
    sorted_lights = "~ settings: {led-shared-resistor: {forward_voltage: 1 mV}}"

    assert quiet(FIVE, "R1 100 VIN N1", *PAIR, sorted_lights)


def test_what_one_then_takes_is_held_against_its_rating() -> None:
    """19 of 29 mA flow through the one that drops less."""
    rated = [light + " = current_max 18 mA" for light in PAIR]
    more = [light + " = current_max 22 mA" for light in PAIR]

    assert only(FIVE, "R1 100 VIN N1", *rated).sum.endswith("It stands 18 mA.")
    assert "It stands" not in only(FIVE, "R1 100 VIN N1", *more).sum


# The cure


@needs_ngspice
def test_a_resistor_each_gives_each_its_share(tmp_path: Path) -> None:
    """By hand: 29 mA in all behind 100 Ω, so 14.6 mA each: (5 − 1.95) V / 14.6 mA = 209 Ω: 220."""
    found = only(FIVE, "R1 100 VIN N1", *PAIR)
    cards = ("V1 1 0 5", "R1 1 2 220", "Vd1 2 3 0", "D1 3 0 red")
    (expected,) = spice(tmp_path, cards, "i(vd1)")

    assert f"in place of R1: 220 Ω ({expected * 1e3:.2g} mA each)" in found.fix


@needs_ngspice
def test_two_colours_get_two_values(tmp_path: Path) -> None:
    """The values read from the text, put into ngspice, give the currents of the text."""
    found = only(FIVE, "R1 100 VIN N1", "D1 led N1 GND" + RED, "D2 led N1 GND" + BLUE)
    said = re.findall(r"(\d+) Ω for (D\d) \((\d+) mA\)", found.fix)
    assert [name for _, name, _ in said] == ["D1", "D2"]
    for (ohms, _, amperes), kind in zip(said, ("red", "blue"), strict=True):
        cards = ("V1 1 0 5", f"R1 1 2 {ohms}", "Vd1 2 3 0", f"D1 3 0 {kind}")
        (expected,) = spice(tmp_path, cards, "i(vd1)")
        assert float(amperes) == pytest.approx(expected * 1e3, abs=0.51)


def test_the_wanted_current_decides_the_value() -> None:
    """By hand: (5 − 1.84) V / 3 mA = 1,050 Ω: 1 kΩ is in E12."""
    wanted = [light + " = wanted_current 3 mA" for light in PAIR]

    assert ": 1 kΩ (3.2 mA each)" in only(FIVE, "R1 100 VIN N1", *wanted).fix


def test_the_cure_put_on_the_board_leaves_nothing_to_judge() -> None:
    assert quiet(FIVE, "R1 220 VIN N1", "R2 220 VIN N2", PAIR[0], "D2 led N2 GND" + RED)


# Quiet, each with a twin


COMMON = ("R1 47 N1 GND", "D1 led P0 N1" + RED, "D2 led P1 N1" + RED)


def test_lights_on_pins_of_their_own_are_lit_one_at_a_time() -> None:
    assert quiet(FLAT_CELL, MCU, *COMMON)


def test_lights_in_turn_are_lit_one_at_a_time() -> None:
    turn = "~ pattern: [{{name: turn, lights: [D1, D2]{}}}]"

    assert quiet(FLAT_CELL, MCU, *COMMON, turn.format(", in_turn: yes"))
    assert not quiet(FLAT_CELL, MCU, *COMMON, turn.format(""))


def test_two_lights_on_one_pin_are_lit_together() -> None:
    assert not quiet(FLAT_CELL, MCU, *(line.replace("P1", "P0") for line in COMMON))


def test_lights_behind_switches_of_their_own_are_lit_one_at_a_time() -> None:
    def fet(n: int, gate: str) -> str:
        return f"Q{n} fet/n 1:G {gate} 2:S GND 3:D M{n} = channel n = on_resistance 1 ohm at 3 V"

    lights = ("D1 led N1 M1" + RED, "D2 led N1 M2" + RED, "R1 100 VIN N1")
    both = "D2 led N1 M1" + RED

    assert quiet(FLAT_CELL, MCU, fet(1, "P0"), fet(2, "P1"), *lights)
    assert not quiet(FLAT_CELL, MCU, fet(1, "P0"), lights[0], both, lights[2])


def test_the_lights_of_an_array_are_lit_one_at_a_time() -> None:
    """Two of a row behind its resistor, each to a column of its own, though listed together."""
    array = ("R1 47 P0 N1", "D1 led N1 P1" + RED, "D2 led N1 P2" + RED)
    listed = "~ pattern: [{name: scan, lights: [D1, D2]}]"

    assert quiet(FLAT_CELL, MCU, *array, listed)
    assert not quiet(FLAT_CELL, MCU, *(line.replace("P2", "P1") for line in array), listed)


def test_an_antiparallel_pair_is_lit_one_at_a_time() -> None:
    assert quiet(FLAT_CELL, MCU, "R1 47 P0 N1", "D1 led N1 P1" + RED, "D2 led P1 N1" + RED)


def test_lights_in_series_have_one_current() -> None:
    assert quiet(FIVE, "R1 100 VIN N1", "D1 led N1 N2" + RED, "D2 led N2 GND" + RED)


def test_lights_with_resistors_of_their_own_besides_are_not_judged() -> None:
    own = ("R1 100 VIN N1", "R2 100 N1 A", "R3 100 N1 B", "D1 led A GND" + RED)

    assert quiet(FIVE, *own, "D2 led B GND" + RED)
    assert not quiet(FIVE, *own, "D2 led A GND" + RED)


def test_a_shunt_below_an_ohm_is_no_resistor_of_a_light() -> None:
    own = ("R1 0.5 VIN N1", "R2 100 N1 A", "R3 100 N1 B")

    assert quiet(FIVE, *own, "D1 led A GND" + RED, "D2 led B GND" + RED)


# What is missing


@pytest.mark.parametrize(
    ("lines", "missing"),
    [
        ((FIVE, "R1 100 VIN N1", "D1 led N1 GND", PAIR[1]), ("D1", "forward_voltage")),
        ((FIVE, "R1 R VIN N1", *PAIR), ("R1", "value")),
        (("BT1 cell/holder + VIN - GND", "R1 100 VIN N1", *PAIR), ("BT1", "cell")),
        (("J1 connector 1: VIN 2: GND", "R1 100 VIN N1", *PAIR), ("J1", "sources")),
    ],
)
def test_what_is_missing_is_named(lines: tuple[str, ...], missing: tuple[str, str]) -> None:
    found = review(*lines)

    assert [(u.of, u.key) for u in found.undetermined] == [missing]
    assert not found.findings
