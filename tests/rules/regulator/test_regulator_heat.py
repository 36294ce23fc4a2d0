"""`regulator-heat`: junctions walked through their limit, pulses, chargers, what is asked for."""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging, level

from boardvet.review.review import Review
from boardvet.review.verdict import Level
from boardvet_rules.regulator.regulator_heat import check as rule

INPUT = ("J1 connector 1: VIN 2: GND", "~ sources: {J1: {net: VIN, voltage: 5 V}}")
PACKAGE = ("thermal_resistance 100 K/W", "junction_max 125 degC")
LOAD = "U2 mcu VCC+ VCC GND- GND = sleep_current 0 uA"


JUDGING = Judging(rule)
review = JUDGING.review


def regulator(*facts: str, output: str = "3 V", supply: str = "VIN") -> str:
    part = f"U1 regulator VIN+ {supply} VOUT> VCC GND- GND"
    return " = ".join((part, f"output {output}", *facts))


def draws(entry: str) -> str:
    return f"~ pattern: [{{part: U2, {entry}}}]"


def loaded(current: str, *facts: str) -> Review:
    line = regulator(*(facts or PACKAGE))
    return review(*INPUT, line, LOAD, draws(f"current: {current}"))


@pytest.mark.parametrize(("current", "expected"), [("505 mA", Level.HOLD), ("495 mA", None)])
def test_the_junction_at_its_limit(current: str, expected: Level | None) -> None:
    """By hand: (125 − 25) K / 100 K/W = 1 W; / (5 − 3) V = 500 mA; ±1 %."""
    assert level(loaded(current)) is expected


def test_the_cure_names_what_would_do() -> None:
    """By hand: 1 W is what it stands of 1.6 W: 62.5 K/W, or 500 mA of 800 mA."""
    (finding,) = loaded("800 mA").findings
    assert "at most 62.5 K/W" in finding.fix
    assert "at most 500 mA" in finding.fix


@pytest.mark.parametrize(("own", "expected"), [("40.4 mA", Level.HOLD), ("39.6 mA", None)])
def test_its_own_current_heats_it_too(own: str, expected: Level | None) -> None:
    """By hand: 2 V · 400 mA = 0.8 W, so 0.2 W / 5 V = 40 mA of its own; ±1 %."""
    facts = (*PACKAGE, f"quiescent_current {own}")
    assert level(loaded("400 mA", *facts)) is expected


@pytest.mark.parametrize(("hot", "expected"), [("66 degC", Level.HOLD), ("64 degC", None)])
def test_the_hot_end_counts(hot: str, expected: Level | None) -> None:
    """By hand: 2 V · 300 mA · 100 K/W = 60 K below 125 °C is 65 °C."""
    line = regulator(*PACKAGE)
    air = f"~ temperature: -10 degC to {hot}"
    done = review(*INPUT, line, LOAD, draws("current: 300 mA"), air)
    assert level(done) is expected


def test_the_example_of_the_mcp1703_sheet() -> None:
    """Microchip DS22049E s. 6.3.1: 4.8 V to 1.8 V at 50 mA, 336 K/W, 40 °C: 91.3 °C, well below.

    By hand with 1.8 V in place of 1.746 V: 3.0 V · 50 mA · 336 K/W = 50.4 K, 90.4 °C. At 90.4 °C
    less 1 K it is found.
    """
    for limit, expected in (("91.3 degC", None), ("89.4 degC", Level.HOLD)):
        done = review(
            "J1 connector 1: VIN 2: GND",
            "~ sources: {J1: {net: VIN, voltage: 4.8 V}}",
            regulator("thermal_resistance 336 K/W", f"junction_max {limit}", output="1.8 V"),
            LOAD,
            draws("current: 50 mA"),
            "~ temperature: 0 to 40 degC",
        )
        assert level(done) is expected


def test_only_the_highest_that_a_fresh_cell_shows_is_a_query() -> None:
    """A lithium cell shows 4.2 V, at the most 4.25 V.

    By hand at 100 K/W and 1 W: (4.2 − 3) V · 820 mA = 0.984 W, (4.25 − 3) V · 820 mA = 1.025 W;
    at 790 mA 0.988 W is the most.
    """
    for current, expected in (("820 mA", Level.QUERY), ("790 mA", None)):
        done = review(
            "BT1 cell/holder + VIN - GND",
            "~ cell: {part: BT1, type: LiPo, capacity: 1000 mAh}",
            regulator(*PACKAGE),
            LOAD,
            draws(f"current: {current}"),
        )
        assert level(done) is expected


# Pulses.


@pytest.mark.parametrize(("current", "expected"), [("839 mA", Level.HOLD), ("822 mA", None)])
def test_pulses_count_as_far_as_they_warm_the_package(
    current: str, expected: Level | None
) -> None:
    """100 ms of each second, time constant 1 s: (1 − e^−0.1)/(1 − e^−1) = 0.15054.

    By hand: 100 K / 400 K/W = 0.25 W; / 0.15054 = 1.6607 W; / 2 V = 830.3 mA; ±1 %.
    """
    facts = ("thermal_resistance 400 K/W", "junction_max 125 degC")
    pattern = draws(f"current: {current}, for: 100 ms, every: 1 s")
    assert level(review(*INPUT, regulator(*facts), LOAD, pattern)) is expected


def test_quiet_for_short_pulses_and_not_for_long_ones() -> None:
    """By hand: 2 V · 600 mA = 1.2 W is 120 K for good, and 1.2 K in 1 ms of 100 ms."""
    line = regulator(*PACKAGE)
    short = draws("current: 600 mA, for: 1 ms, every: 100 ms")
    long = draws("current: 600 mA, for: 10 s, every: 1000 s")
    assert level(review(*INPUT, line, LOAD, short)) is None
    assert level(review(*INPUT, line, LOAD, long)) is Level.HOLD


def test_a_time_constant_of_ones_own_counts() -> None:
    line = regulator(*PACKAGE)
    pattern = draws("current: 600 mA, for: 100 ms, every: 10 s")
    setting = "~ settings: {regulator-heat: {time_constant: 10 ms}}"
    assert level(review(*INPUT, line, LOAD, pattern)) is None
    assert level(review(*INPUT, line, LOAD, pattern, setting)) is Level.HOLD


# Switching types and chargers.


@pytest.mark.parametrize(("current", "expected"), [("1347 mA", Level.QUERY), ("1320 mA", None)])
def test_a_switching_type_is_heated_by_what_it_loses(current: str, expected: Level | None) -> None:
    """By hand: 3 V · I · (1/0.8 − 1) = 0.75 V · I = 1 W at 1333 mA; ±1 %. The coil shares it."""
    facts = (*PACKAGE, "conversion step-down", "efficiency 80 % at 1 A")
    assert level(loaded(current, *facts)) is expected


def charger(resistor: str, *facts: str) -> Review:
    part = " = ".join(
        (
            "U1 charger VDD+ VIN VBAT> VBAT PROG SET GND- GND",
            "program_gain 1000 V",
            "charge_voltage 4.2 V",
            *(facts or PACKAGE),
        )
    )
    return review(
        *INPUT,
        part,
        f"R1 {resistor} SET GND",
        "BT1 cell/holder + VBAT - GND",
        "~ cell: {part: BT1, type: LiPo, voltage: 4.2 V at 0 % and 3 V at 100 %}",
    )


@pytest.mark.parametrize(("resistor", "expected"), [("1.98k", Level.NOTE), ("2.02k", None)])
def test_a_charger_folds_back_which_is_a_note(resistor: str, expected: Level | None) -> None:
    """By hand: 1000 V / 2 kΩ = 500 mA; (5 − 3) V · 500 mA = 1 W, 100 K; ±1 %."""
    assert level(charger(resistor)) is expected


def test_a_charger_says_what_is_left_of_its_current() -> None:
    """By hand: 1000 V / 1 kΩ = 1 A, 2 W; 1 W is what it stands, so 500 mA."""
    (finding,) = charger("1k").findings
    assert "takes its 1 A back to 500 mA" in finding.message


# What is missing.


@pytest.mark.parametrize(
    ("facts", "key"),
    [
        (("junction_max 125 degC",), "thermal_resistance"),
        (("thermal_resistance 100 K/W",), "junction_max"),
    ],
)
def test_the_package_is_asked_for_where_it_decides(facts: tuple[str, ...], key: str) -> None:
    """By hand: 2 V · 600 mA · 500 K/W is far above, and 2 V · 10 mA · 500 K/W only 10 K."""
    (undetermined,) = loaded("600 mA", *facts).undetermined
    assert (undetermined.of, undetermined.key) == ("U1", key)
    assert level(loaded("10 mA", *facts)) is None


def test_what_a_load_draws_is_asked_for_where_it_decides() -> None:
    """By hand: at the 400 mA that it is made for 0.8 W are 80 K; at 600 mA 120 K."""
    unknown = "U2 mcu VCC+ VCC GND- GND"
    for made_for in ("current_max 600 mA", ""):
        facts = tuple(filter(None, (*PACKAGE, made_for)))
        (undetermined,) = review(*INPUT, regulator(*facts), unknown).undetermined
        assert (undetermined.of, undetermined.key) == ("U2", "pattern")
    facts = (*PACKAGE, "current_max 400 mA")
    assert level(review(*INPUT, regulator(*facts), unknown)) is None


def test_a_light_that_is_not_known_does_not_matter_where_the_most_is_cool_enough() -> None:
    """By hand: at the 400 mA that it is made for 0.8 W are 80 K; at 600 mA 120 K."""
    board = (*INPUT, LOAD, "D1 led VCC N1", "R1 100 N1 GND")
    (undetermined,) = review(*board, regulator(*PACKAGE, "current_max 600 mA")).undetermined
    assert undetermined.of == "D1"
    assert level(review(*board, regulator(*PACKAGE, "current_max 400 mA"))) is None


def test_a_shorted_output_is_the_cause() -> None:
    """What a regulator does into a short follows from the short."""
    from boardvet.review.packs import LoadedPack
    from boardvet.review.runner import run
    from boardvet.testing import circuit_of
    from boardvet_rules.rail.rail_shorted import check as shorted

    board = (*INPUT, regulator(*PACKAGE), LOAD, "R1 0 VCC N1", "L1 ferrite N1 GND")
    done = run(circuit_of("\n".join(board)), [LoadedPack("two", "0", (rule, shorted))])
    assert not done.broken
    heat = next(f for f in done.findings if f.rule == "regulator-heat")
    short = next(f for f in done.findings if f.rule == "rail-shorted")
    assert heat.follows == short.fingerprint


def test_what_a_back_up_cell_pushes_back_is_no_load() -> None:
    """3 V of a coin cell behind 100 kΩ on a rail whose regulator has no input any more: −30 µA."""
    done = review(
        "BT1 cell/holder + VBAT - GND",
        "~ cell: [{part: BT1, type: LiPo, capacity: 400 mAh, voltage: 0.1 V, resistance: 1 ohm},"
        " {part: BT2, type: CR1220}]",
        regulator(*PACKAGE, supply="VBAT"),
        LOAD,
        "BT2 cell/CR1220 VBACK GND",
        "R1 100k VBACK VCC",
    )
    assert not done.findings
