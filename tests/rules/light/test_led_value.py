"""`led-value`: lights of a group against each other, and each against what is wanted of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.physics.spice import NGSPICE, needs_ngspice
from tests.rules.boards import FIVE
from tests.rules.judging import Judging
from tests.rules.light.spice import BLUE, RED, spice

from boardvet.circuit.lighting import Lighting
from boardvet.circuit.strings import Strings
from boardvet.circuit.what_if import with_value
from boardvet.review.verdict import Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.light.led_overdriven import check as overdriven_rule
from boardvet_rules.light.led_value import check as rule

MCU = "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 PB2 P2 PB3 P3 = pin_resistance 30 ohm"
CHASE = "~ pattern: [{name: chase, lights: [D1, D2, D3], for: 20 ms, every: 1 s, in_turn: yes}]"


JUDGING = Judging(rule)
review, only, quiet = JUDGING.review, JUDGING.only, JUDGING.quiet


def row(*ohms: object, colours: tuple[str, ...] = (RED, RED, RED)) -> tuple[str, ...]:
    """Lights on pins of five volts, each behind a resistor of these values, lit in turn."""
    lights = [f"D{n} led N{n} GND{colours[n - 1]}" for n in range(1, len(ohms) + 1)]
    resistors = [f"R{n} {value} P{n - 1} N{n}" for n, value in enumerate(ohms, start=1)]
    return (FIVE, MCU, *lights, *resistors)


def current(folder: Path, ohms: float, kind: str = "red") -> float:
    cards = ("V1 1 0 5", f"R1 1 2 {ohms}", "Vd 2 3 0", f"D1 3 0 {kind}")
    return spice(folder, cards, "i(vd)")[0]


# A row of lights


@needs_ngspice
def test_one_of_a_row_that_differs_is_a_note(tmp_path: Path) -> None:
    found = only(*row(330, 330, "3k3"), CHASE)

    assert found.level is Level.NOTE
    assert found.bench == "D3 is dimmer than the others of its group."
    assert [n.value for n in found.numbers] == pytest.approx(
        [current(tmp_path, 3330), current(tmp_path, 360)], rel=1e-2
    )
    assert found.fix.startswith("make R3 330 Ω in place of 3.3 kΩ: then")


def test_the_limit_turns_within_a_hundredth(tmp_path: Path) -> None:
    """430 Ω beside 330 Ω, with 30 Ω of the pin each: some 27 % apart, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    apart = current(tmp_path, 360) / current(tmp_path, 460) - 1.0

    def setting(share: float) -> str:
        return f"~ settings: {{led-value: {{uneven: {share}}}}}"

    board = (*row(330, 330, 430), CHASE)
    assert quiet(*board, setting(1.01 * apart))
    assert not quiet(*board, setting(0.99 * apart))


def test_a_fifth_is_the_default(tmp_path: Path) -> None:
    """By hand: 3.1 V over 360 Ω and 420 Ω are 17 % apart, over 360 Ω and 460 Ω 28 %."""
    assert quiet(*row(330, 330, 390), CHASE)
    assert not quiet(*row(330, 330, 430), CHASE)


def test_equal_values_are_quiet_and_other_colours_are_another_group() -> None:
    assert quiet(*row(330, 330, 330), CHASE)
    assert quiet(*row(330, 330, "3k3", colours=(RED, RED, BLUE)), CHASE)
    assert not quiet(*row(330, 330, "3k3", colours=(RED, BLUE, RED)), CHASE)


def test_lights_of_other_entries_are_other_groups() -> None:
    two = (
        "~ pattern: [{name: chase, lights: [D1, D2], for: 20 ms, every: 1 s, in_turn: yes}, "
        "{name: alarm, lights: [D3], for: 20 ms, every: 1 s}]"
    )

    assert quiet(*row(330, 330, "3k3"), two)


def test_entries_are_told_apart_by_their_lights_though_they_have_one_name() -> None:
    """A light lit by two entries of one name, once alone and once beside the next one."""
    two = (
        "~ pattern: [{name: a, lights: [D1], for: 20 ms, every: 1 s}, "
        "{name: a, lights: [D1, D2], for: 20 ms, every: 1 s}]"
    )

    assert only(*row(330, "3k3"), two).subject.name == "D1, D2"


def test_without_a_pattern_lights_on_pins_of_their_own_are_not_compared() -> None:
    assert quiet(*row(330, 330, "3k3"))


def test_without_a_pattern_lights_that_are_always_on_together_are_compared() -> None:
    """All three always on from one rail; then one of them on a pin."""
    lights = [f"D{n} led N{n} GND{RED}" for n in (1, 2, 3)]
    resistors = ["R1 330 VIN N1", "R2 330 VIN N2", "R3 3k3 VIN N3"]
    found = only(FIVE, *lights, *resistors)

    assert found.subject.name == "D1, D2, D3"
    assert quiet(FIVE, MCU, *lights, *resistors[:2], "R3 3k3 P0 N3")


def test_of_two_the_brighter_one_is_told() -> None:
    both = "~ pattern: [{name: both, lights: [D1, D2], for: 20 ms, every: 1 s}]"
    found = only(*row(330, "3k3"), both)

    assert found.bench == "D1 is brighter than D2."
    assert found.fix.startswith("make R1 3.3 kΩ in place of 330 Ω")


def test_equal_values_on_unequal_rails_are_compared(tmp_path: Path) -> None:
    """3.3 V beside 5 V, both through 330 Ω: by hand (3.3 − 1.85)/330 Ω and (5 − 1.9)/330 Ω."""
    regulator = "U2 regulator VIN+ VIN GND- GND VOUT> V33 = output 3.3 V = conversion linear"
    lights = [f"D{n} led N{n} GND{RED}" for n in (1, 2)]
    both = "~ pattern: [{name: both, lights: [D1, D2]}]"
    found = only(FIVE, regulator, *lights, "R1 330 VIN N1", "R2 330 V33 N2", both)

    assert found.bench == "D1 is brighter than D2."
    most, least = (n.value for n in found.numbers)
    assert most == pytest.approx(3.1 / 330, rel=0.02)
    assert least == pytest.approx(1.45 / 330, rel=0.02)


@needs_ngspice
def test_lights_in_turn_have_the_cell_for_themselves(tmp_path: Path) -> None:
    """3 V behind 100 Ω: alone each, and a third one that is always on beside each."""
    cell = (
        "BT1 cell/holder + VIN - GND\n~ cell: {part: BT1, type: CR2032, "
        "voltage: 3.0 V at 0 % and 3.0 V at 100 %, resistance: 100 ohm}"
    )
    entries = (
        "{name: chase, lights: [D1, D2], for: 20 ms, every: 1 s, in_turn: yes}, "
        "{name: lamp, lights: [D3]}"
    )
    found = only(cell, *row(100, 470, 220)[1:], f"~ pattern: [{entries}]")
    said = []
    for ohms in (130, 500):
        cards = ("V1 1 0 3", "Rc 1 2 100", f"R1 2 3 {ohms}", "Vd 3 4 0", "D1 4 0 red",
                 "R3 2 5 250", "D3 5 0 red")  # fmt: skip
        said.append(spice(tmp_path, cards, "i(vd)")[0])

    assert [n.value for n in found.numbers] == pytest.approx(said, rel=1e-2)


# What is wanted


def wanted(amperes: float, ohms: int = 330) -> tuple[str, ...]:
    facts = f" = wanted_current {amperes} A = current_max 40 mA"
    return (FIVE, f"R1 {ohms} VIN N1", f"D1 led N1 GND{RED}{facts}")


def test_the_wanted_current_is_held_against_what_flows(tmp_path: Path) -> None:
    """Up to half as much again, down to two thirds; 1 % around both, by ngspice."""
    if NGSPICE is None:
        pytest.skip("ngspice is not installed")
    flows = current(tmp_path, 330)

    assert quiet(*wanted(1.01 * flows / 1.5))
    assert only(*wanted(0.99 * flows / 1.5)).bench == "D1 is brighter than wanted."
    assert quiet(*wanted(0.99 * flows * 1.5))
    assert only(*wanted(1.01 * flows * 1.5)).bench == "D1 is dimmer than wanted."


def test_on_a_cell_it_costs_charge() -> None:
    cell = (
        "BT1 cell/holder + VIN - GND\n~ cell: {part: BT1, type: CR2032, "
        "voltage: 3.0 V at 0 % and 3.0 V at 100 %, resistance: 15 ohm}"
    )

    assert only(cell, *wanted(0.5e-3)[1:]).bench == "D1 is brighter than wanted and costs charge."


def test_nothing_wanted_is_nothing_to_judge() -> None:
    assert quiet(FIVE, "R1 33 VIN N1", "D1 led N1 GND" + RED)


def test_a_current_above_the_rating_is_left_to_its_own_rule() -> None:
    """Some 29 mA behind 100 Ω; rated 20 mA, then 40 mA."""
    more = wanted(2e-3, 100)
    rated = [line.replace("40 mA", "20 mA") for line in more]

    assert quiet(*rated)
    assert judge(overdriven_rule, "\n".join(rated)).findings
    assert not quiet(*more)


@pytest.mark.parametrize(("amperes", "ohms"), [(2e-3, 330), (9e-3, 2200), (3.3e-3, 100)])
def test_the_value_of_the_cure_put_back_gives_the_wanted_current(
    amperes: float, ohms: int
) -> None:
    """E12 within 10 % of the wanted current, else E24, whose steps are some 10 %."""
    board = "\n".join(wanted(amperes, ohms))
    text, said = re.findall(r"make R1 ([\d.]+ k?)Ω .* then ([\d.]+ mA) flow", only(board).fix)[0]
    value = text.replace(" ", "")
    circuit = with_value(circuit_of(board), "R1", value)
    (string,) = circuit.view(Strings).all
    solved = circuit.view(Lighting).worst(string)

    assert solved is not None
    assert solved.current == pytest.approx(amperes, rel=0.1)
    assert f"{solved.current * 1e3:.3g} mA" == said
    assert quiet(*board.replace(f"R1 {ohms}", f"R1 {value}").splitlines())


def test_e24_is_taken_where_e12_is_too_coarse() -> None:
    """By hand: (5 − 1.86) V / 4.2 mA = 748 Ω; 680 Ω is 10 % more, 820 Ω 9 % less: 820. And for
    (5 − 1.87) V / 4.5 mA = 696 Ω: 680 Ω."""
    assert "make R1 820 Ω" in only(*wanted(4.2e-3, 100)).fix
    assert "make R1 680 Ω" in only(*wanted(4.5e-3, 100)).fix


def test_where_no_value_is_enough_it_says_so() -> None:
    """2.0 V through 1 Ω drive some 20 mA through the red light, and 200 mA are wanted."""
    low = FIVE.replace("voltage: 5 V", "voltage: 2 V")
    found = only(low, *wanted(0.2, 1)[1:])

    assert found.bench == "D1 is dimmer than wanted."
    assert "feed it from a higher voltage" in found.fix


# What is missing


@pytest.mark.parametrize(
    ("lines", "missing"),
    [
        (
            (FIVE, "R1 330 VIN N1", "D1 led N1 GND = wanted_current 2 mA"),
            ("D1", "forward_voltage"),
        ),
        ((*row(330, 330, "R"), CHASE), ("R3", "value")),
        (("BT1 cell/holder + VIN - GND", *wanted(2e-3)[1:]), ("BT1", "cell")),
        (("J1 connector 1: VIN 2: GND", *wanted(2e-3)[1:]), ("J1", "sources")),
    ],
)
def test_what_is_missing_is_named(lines: tuple[str, ...], missing: tuple[str, str]) -> None:
    found = review(*lines)

    assert [(u.of, u.key) for u in found.undetermined] == [missing]
    assert not found.findings
