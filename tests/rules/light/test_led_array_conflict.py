"""`led-array-conflict`: each place of an array as it is addressed, against ngspice."""

from __future__ import annotations

import time
from itertools import permutations
from pathlib import Path

import pytest
from tests.physics.spice import NGSPICE, needs_ngspice
from tests.rules.boards import FIVE
from tests.rules.judging import Judging, number
from tests.rules.light.spice import BLUE, RED, spice

from boardvet.circuit.arrays import Arrays, Pair
from boardvet.review.packs import LoadedPack
from boardvet.review.runner import run
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.light.led_array_conflict import check as rule
from boardvet_rules.light.led_overdriven import check as overdriven_rule
from boardvet_rules.light.led_shared_resistor import check as shared_rule
from boardvet_rules.light.led_unlimited import check as bare_rule

MCU = (
    "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 PB2 P2 PB3 P3 = pin_resistance 30 ohm "
    "= pin_current_max 1 A"
)
STRONG = " = current_max 1 A"
LINES = ("R0 100 P0 N0", "R1 100 P1 N1", "R2 100 P2 N2")


def light(number: int, high: str, low: str, colour: str = RED) -> str:
    return f"D{number} led {high} {low}{colour}{STRONG}"


def full(colour: str = RED) -> tuple[str, ...]:
    """Six lights on three lines with 100 Ω each."""
    lights = [light(n, f"N{a}", f"N{b}", colour)
              for n, (a, b) in enumerate(permutations(range(3), 2), start=1)]  # fmt: skip
    return (FIVE, MCU, *LINES, *lights)


AT_LIGHTS = (
    FIVE,
    MCU,
    "R1 220 P0 N1",
    light(1, "N1", "P1"),
    "R2 220 P1 N2",
    light(2, "N2", "P2"),
    "R3 220 P0 N3",
    light(3, "N3", "P2"),
)
"""A resistor at each light: D1 and D2 lie in series over the floating line beside D3."""


JUDGING = Judging(rule)
review, only, quiet = JUDGING.review, JUDGING.only, JUDGING.quiet


# The addressed states


@needs_ngspice
@pytest.mark.parametrize("kind", ["red", "blue"])
def test_each_place_of_an_array_is_that_of_ngspice(kind: str, tmp_path: Path) -> None:
    """Line 0 high through 130 Ω, line 1 low through 130 Ω, line 2 left alone."""
    circuit = circuit_of("\n".join(full(RED if kind == "red" else BLUE)))
    (array,) = circuit.view(Arrays).all
    places = {place.pair: place for place in array.addressed()}
    pairs = list(permutations("012", 2))
    cards = ["V1 p 0 5", "R0 p n0 130", "R1 n1 0 130"]
    for number_, (high, low) in enumerate(pairs, start=1):
        cards += [f"Vd{number_} n{high} x{number_} 0", f"D{number_} x{number_} n{low} {kind}"]
    found = spice(tmp_path, cards, *(f"i(vd{n})" for n in range(1, 7)), "v(n0)", "v(n1)")

    place = places[Pair("P0", "P1")]
    assert [s.label for s in place.lit] == ["D1"]
    for index in range(6):
        assert place.currents[f"D{index + 1}"] == pytest.approx(found[index], rel=1e-2, abs=1e-9)
    assert place.backwards["D3"] == pytest.approx(found[6] - found[7], rel=1e-3)


def test_every_place_is_addressed_once() -> None:
    (array,) = circuit_of("\n".join(full())).view(Arrays).all
    pairs = [place.pair for place in array.addressed()]

    assert len(pairs) == len(set(pairs)) == 6
    assert not array.empty


def test_arrays_on_lines_of_their_own_are_two() -> None:
    board = (
        FIVE,
        MCU,
        light(1, "P0", "P1"),
        light(2, "P1", "P0"),
        light(3, "P2", "P3"),
        light(4, "P3", "P2"),
    )
    arrays = circuit_of("\n".join(board)).view(Arrays).all

    assert [array.label for array in arrays] == ["array of D1, D2", "array of D3, D4"]


def test_a_light_to_ground_or_a_lone_light_between_pins_is_no_array() -> None:
    board = (FIVE, MCU, light(1, "P0", "GND"), light(2, "VIN", "P1"), light(3, "P2", "P3"))

    assert not circuit_of("\n".join(board)).view(Arrays).all


# Two lights at one place


def test_two_lights_the_same_way_round_cannot_be_told_apart() -> None:
    board = list(full())
    found = only(*board[:-1], light(6, "N0", "N1"))

    assert found.level is Level.QUERY
    assert found.bench == "D1 and D6 always light together."
    assert found.fix == "move D6 to a free place, from U1 PB2 to U1 PB1"
    assert quiet(*board)


def test_two_in_series_are_one_place() -> None:
    """On 5 V two red ones in series light, and neither is taken for a ghost of the other."""
    series = (light(2, "N1", "M"), light(3, "M", "N0"))

    assert quiet(FIVE, MCU, *LINES[:2], light(1, "N0", "N1"), *series)
    assert not quiet(FIVE, MCU, *LINES[:2], *series, light(1, "N1", "N0"), light(4, "N0", "N1"))


def test_what_is_drawn_is_found_without_a_single_number() -> None:
    board = [line.replace(RED, "") for line in (*full()[:-1], light(6, "N0", "N1"))]

    assert "always light together" in only(*board).bench


def test_their_shared_resistor_is_a_consequence() -> None:
    board = "\n".join((*full()[:-1], light(6, "N0", "N1")))
    found = judge(shared_rule, board)

    assert [f.subject.name for f in found.findings] == ["D1, D6 behind R0"]
    whole = run(circuit_of(board), [LoadedPack("two rules", "0", (rule, shared_rule))])
    conflict, shared = whole.findings
    assert (conflict.rule, shared.rule) == ("led-array-conflict", "led-shared-resistor")
    assert shared.follows == conflict.fingerprint


# Lines without a resistor


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> float:
    """Return the current of a red light between two pins of 30 Ω on 5 V, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5", "Rp 1 2 30", "Vd 2 3 0", "D1 3 4 red", "Rq 4 0 30")
    return spice(tmp_path_factory.mktemp("spice"), cards, "i(vd)")[0]


def pair(rated: float, pin: float = 1.0) -> tuple[str, ...]:
    lights = [f"D{n} led {a} {b}{RED} = current_max {rated} A"
              for n, a, b in [(1, "P0", "P1"), (2, "P1", "P0")]]  # fmt: skip
    return (FIVE, MCU.replace("pin_current_max 1 A", f"pin_current_max {pin} A"), *lights)


def test_lines_without_a_resistor_are_found_above_a_rating(bare: float) -> None:
    assert quiet(*pair(1.01 * bare))
    found = only(*pair(0.99 * bare))
    assert number(found, "LED current") == pytest.approx(bare, rel=1e-2)
    assert "U1 PB0 and U1 PB1 have no resistor" in found.sum
    assert quiet(*pair(1.0, 1.01 * bare))
    assert not quiet(*pair(1.0, 0.99 * bare))


def test_a_light_above_its_rating_behind_resistors_is_left_to_its_own_rule() -> None:
    """Some 12 mA flow through 260 Ω, and 5 mA are allowed."""
    rated = [line.replace(STRONG, " = current_max 5 mA") for line in full()]

    assert quiet(*rated)
    assert len(judge(overdriven_rule, "\n".join(rated)).findings) == 6


def test_the_bare_light_is_their_cause() -> None:
    whole = run(
        circuit_of("\n".join(pair(1e-3))), [LoadedPack("two rules", "0", (rule, bare_rule))]
    )
    (conflict,) = (f for f in whole.findings if f.rule == "led-array-conflict")

    assert conflict.follows in {f.fingerprint for f in whole.findings if f.rule == "led-unlimited"}


def test_one_line_without_a_resistor_makes_its_lights_brighter(tmp_path: Path) -> None:
    """D5 and D6 have 30 + 30 + 100 Ω, the others beside line 1 and 2 have 260 Ω or 160 Ω."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    one = [line.replace("N2", "P2") for line in full() if not line.startswith("R2")]
    found = only(*one)
    cards = ("V1 1 0 5", "R1 1 2 160", "Vd1 2 3 0", "D1 3 0 red",
             "R2 1 4 260", "Vd2 4 5 0", "D2 5 0 red")  # fmt: skip
    most, least = spice(tmp_path, cards, "i(vd1)", "i(vd2)")

    assert found.bench == "D2, D4, D5 and D6 are brighter than the others."
    assert "U1 PB2 has no resistor" in found.sum
    assert found.fix == "put 100 Ω into each line that has none"
    assert [n.value for n in found.numbers] == pytest.approx([most, least], rel=1e-2)

    def setting(ratio: float) -> str:
        return f"~ settings: {{led-array-conflict: {{uneven: {ratio}}}}}"

    assert quiet(*one, setting(1.01 * most / least))
    assert not quiet(*one, setting(0.99 * most / least))


def test_rows_with_resistors_and_columns_without_are_even() -> None:
    """A matrix: the rows limit every light."""
    board = (FIVE, MCU, "R0 100 P0 N0", "R1 100 P1 N1",
             light(1, "N0", "P2"), light(2, "N0", "P3"),
             light(3, "N1", "P2"), light(4, "N1", "P3"))  # fmt: skip

    assert quiet(*board)


# Ghosts


@needs_ngspice
def test_with_a_resistor_at_each_light_the_ghost_sees_the_rail(tmp_path: Path) -> None:
    found = only(*AT_LIGHTS)
    cards = ("V1 p 0 5", "Rp p p0 30", "Rq p2 0 30", "R3 p0 a 220", "Vd3 a b 0", "D3 b p2 red",
             "R1 p0 c 220", "Vd1 c d 0", "D1 d p1 red", "R2 p1 e 220", "D2 e p2 red")  # fmt: skip
    lit, ghost = spice(tmp_path, cards, "i(vd3)", "i(vd1)")

    assert number(found, "current of D3") == pytest.approx(lit, rel=1e-2)
    assert number(found, "current of D1") == pytest.approx(ghost, rel=1e-2)

    def setting(share: float) -> str:
        return f"~ settings: {{led-array-conflict: {{ghost: {share}}}}}"

    assert quiet(*AT_LIGHTS, setting(1.01 * ghost / lit))
    assert not quiet(*AT_LIGHTS, setting(0.99 * ghost / lit))


def test_the_cure_of_a_ghost_cures() -> None:
    fix = only(*AT_LIGHTS).fix
    cured = (FIVE, MCU, *LINES, light(1, "N0", "N1"), light(2, "N1", "N2"), light(3, "N0", "N2"))

    assert fix == "put a resistor into each line, in place of those at the lights"
    assert quiet(*cured)


def test_with_a_resistor_on_each_line_two_red_ones_beside_a_blue_one_are_dark() -> None:
    """3.3 V of the blue one over two red ones is 1.65 V each: by hand 10 mA·exp(−0.2/0.0517)."""
    mixed = [line.replace(RED, BLUE) if line.startswith("D2") else line for line in full()]

    assert quiet(*mixed)


def test_two_infrared_ones_beside_a_blue_one_glow() -> None:
    """1.5 V across each of two that drop 1.2 V at 10 mA: they take nearly all of the current."""
    infrared = " = colour infrared = forward_voltage 1.2 V at 10 mA"
    mixed = [line.replace(RED, BLUE) if line.startswith("D2") else line.replace(RED, infrared)
             for line in full()]  # fmt: skip
    found = only(*mixed)

    assert found.bench == "D1 glows while D2 is addressed."
    assert found.fix == "put lights that drop as much as D2 on lines of their own"


def test_an_empty_place_that_makes_others_glow_is_a_note() -> None:
    """Without D2 (line 0 to 2) the rail lies across D1 and D4 in series."""
    board = [line for line in full() if not line.startswith("D2")]
    found = only(*board)

    assert found.level is Level.NOTE
    assert found.bench.startswith("D1 and D4 glow if the empty place from U1 PB0 to U1 PB2")


def test_an_empty_place_on_a_supply_too_low_for_two_is_quiet() -> None:
    """2.2 V over two red ones in series is 1.1 V each."""
    low = FIVE.replace("5 V", "2.2 V")
    board = [line for line in (low, *full()[1:]) if not line.startswith("D2")]

    assert quiet(*board)


# Backwards

FORTY = FIVE.replace("5 V", "40 V")


def backwards(allowed: float) -> tuple[str, ...]:
    """Two lights in series one way, so that one alone the other way sees their voltage."""
    return (
        FIVE,
        MCU,
        "R0 100 P0 N0",
        light(1, "N0", "M"),
        light(2, "M", "P1"),
        f"D3 led P1 N0{RED}{STRONG} = reverse_voltage_max {allowed} V",
    )


def test_more_voltage_backwards_than_a_light_stands_is_found(tmp_path: Path) -> None:
    """5 V through 160 Ω and two red ones: what they drop lies across the one turned round."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    cards = ("V1 1 0 5", "R0 1 2 130", "D1 2 3 red", "D2 3 4 red", "R1 4 0 30",
             "D3 4 2 red")  # fmt: skip
    top, bottom = spice(tmp_path, cards, "v(2)", "v(4)")

    assert quiet(*backwards(1.01 * (top - bottom)))
    found = only(*backwards(0.99 * (top - bottom)))
    assert found.bench == "D3 fails after months."
    assert number(found, "voltage backwards") == pytest.approx(top - bottom, rel=1e-3)


def test_five_volts_are_assumed_where_nothing_states_what_it_stands() -> None:
    """On 40 V some 0.2 A flow, and 2 × (1.9 V + 0.15 V + 6 Ω · 0.2 A) are more than 6 V."""
    board = [line.replace(" = reverse_voltage_max 1 V", "") for line in backwards(1)]

    assert quiet(*board)
    assert "stands 5 V" in only(FORTY, *board[1:]).sum


def test_it_is_judged_at_the_highest_supply(tmp_path: Path) -> None:
    """Between what lies backwards across it at 5 V and at 6 V, where 4 to 6 V may come."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    across = []
    for volts in (5, 6):
        cards = (f"V1 1 0 {volts}", "R0 1 2 130", "D1 2 3 red", "D2 3 4 red", "R1 4 0 30",
                 "D3 4 2 red")  # fmt: skip
        top, bottom = spice(tmp_path, cards, "v(2)", "v(4)")
        across.append(top - bottom)
    between = sum(across) / 2
    span = FIVE.replace("voltage: 5 V", "voltage: 4 to 6 V")

    assert quiet(*backwards(between))
    assert not quiet(span, *backwards(between)[1:])


# Several at once, and what is missing


def test_further_conflicts_are_told_beside_the_first() -> None:
    found = only(*AT_LIGHTS, "R4 220 P0 N4", light(4, "N4", "P2"))

    assert found.bench == "D3 and D4 always light together."
    assert "Besides: D1 glows while D3 is addressed." in found.why


@pytest.mark.parametrize(
    ("lines", "missing"),
    [
        (full(" = emission 2"), ("D1", "forward_voltage")),
        (tuple(line.replace("R0 100", "R0 R") for line in full()), ("R0", "value")),
        (("BT1 cell/holder + VIN - GND", *full()[1:]), ("BT1", "cell")),
        (
            tuple(line.replace("U1 mcu", "U1 integrated-circuit/X1")
                  .replace(" = pin_resistance 30 ohm = pin_current_max 1 A", "")
                  for line in full()),
            ("U1", "pin_resistance"),
        ),
    ],
)  # fmt: skip
def test_what_is_missing_is_named(lines: tuple[str, ...], missing: tuple[str, str]) -> None:
    found = review(*lines)

    assert [(u.of, u.key) for u in found.undetermined] == [missing]
    assert not found.findings


def test_twelve_lines_with_every_place_taken_are_solved_at_once() -> None:
    """132 lights at 132 places; bound generously for a busy machine."""
    pins = " ".join(f"PB{n} P{n}" for n in range(12))
    lines = [f"R{n} 100 P{n} N{n}" for n in range(12)]
    lights = [light(n, f"N{a}", f"N{b}")
              for n, (a, b) in enumerate(permutations(range(12), 2), start=1)]  # fmt: skip
    mcu = f"U1 mcu VCC+ VIN GND- GND {pins} = pin_resistance 30 ohm = pin_current_max 1 A"
    circuit = circuit_of("\n".join((FIVE, mcu, *lines, *lights)))
    (array,) = circuit.view(Arrays).all
    start = time.perf_counter()
    places = list(array.addressed())

    assert len(places) == 132
    assert time.perf_counter() - start < 2.0
