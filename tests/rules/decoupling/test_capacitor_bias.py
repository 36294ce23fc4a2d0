"""`capacitor-bias`: what is left of the capacitors of a converter against its minimum.

By hand, with the curve of `physics/bias.py`: 2.2 µF in an 0402 (1.0 · 0.5 · 0.5 = 0.25 mm³) of
6.3 V has k = 0.01 · 2.2 · 6.3² / 0.25 = 3.49; at 5 V 1 / (1 + 3.49 · (5/6.3)²) = 0.3125 of it are
kept, which is 0.6875 µF.
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.decoupling.capacitor_bias import check as rule

SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}"
SMALL = "C1 2.2u/6.3V/X5R @0402 VIN GND"


def review(*lines: str, least: str = "1 uF", side: str = "input", **how: bool) -> Review:
    part = (
        "U1 regulator 1:IN+ VIN 2:GND- GND 3:OUT> V3 = output 3.3 V = "
        f"{side}_capacitor_min {least}"
    )
    found = judge(rule, "\n".join((SOURCE, part, *lines)), **how)
    assert not found.broken, found.broken
    return found


def found(*lines: str, least: str = "1 uF", side: str = "input") -> tuple[Finding, ...]:
    done = review(*lines, least=least, side=side)
    assert not done.undetermined, done.undetermined
    return done.findings


def test_a_small_capacitor_is_a_note_with_what_is_left_and_a_larger_case() -> None:
    """0603: k = 0.01 · 2.2 · 39.7 / 1.024 = 0.853; 2.2 / (1 + 0.853 · 0.63) = 1.43 µF do."""
    (finding,) = found(SMALL)

    assert finding.level is Level.NOTE
    assert finding.subject.name == "input of U1"
    assert finding.numbers[1].value == pytest.approx(0.6875e-6, rel=1e-3)
    assert "0.69 µF" in finding.sum or "690 nF" in finding.sum
    assert "case 0603" in finding.fix


def test_the_minimum_is_the_limit() -> None:
    """1 % around the 0.6875 µF that are left by hand."""
    assert found(SMALL, least="0.6944 uF")
    assert not found(SMALL, least="0.6806 uF")


def test_all_capacitors_on_the_node_count() -> None:
    assert not found(SMALL, "C2 2.2u/6.3V/X5R @0402 VIN GND")
    assert found(SMALL, "C2 2.2u/6.3V/X5R @0402 VIN OTHER")
    assert found(SMALL, "C2? 2.2u/6.3V/X5R @0402 VIN GND")


def test_the_cure_of_what_no_case_cures_is_another_capacitor() -> None:
    """A rating of Y5V at 5 of 6.3 V: 1 / (1 + 8 · 0.63) = 0.166; 10 µF keep 1.66 µF of 2 µF."""
    (finding,) = found("C1 10u/6.3V/Y5V @0805 VIN GND", least="2 uF")

    assert "add 1 × 10 µF like C1" in finding.fix


def test_the_output_is_judged_at_its_own_voltage() -> None:
    """At 3.3 V: 2.2 / (1 + 3.49 · (3.3/6.3)²) = 1.124 µF."""
    assert not found("C1 2.2u/6.3V/X5R @0402 V3 GND", side="output")
    (finding,) = found("C1 2.2u/6.3V/X5R @0402 V3 GND", side="output", least="1.14 uF")
    assert finding.numbers[1].value == pytest.approx(1.124e-6, rel=1e-3)


@pytest.mark.parametrize(
    ("quiet", "twin"),
    [
        ("C1 2.2u/6.3V/C0G @0402 VIN GND", SMALL),
        ("C1 2.2u/6.3V VIN GND = dielectric tantalum", SMALL),
        ("C1 2.2u/16V/X5R @0805 VIN GND", SMALL),
        # Too small on the drawing already: not for its bias.
        ("C1 0.9u/6.3V/X5R @0402 VIN GND", "C1 1.1u/6.3V/X5R @0402 VIN GND"),
    ],
)
def test_quiet_beside_a_twin_that_is_not(quiet: str, twin: str) -> None:
    assert not found(quiet)
    assert found(twin)


def test_without_a_known_minimum_there_is_nothing_to_judge() -> None:
    done = judge(rule, f"{SOURCE}\n{SMALL}\nU1 regulator 1:IN+ VIN 2:GND- GND 3:OUT> V3")

    assert not done.findings
    assert not done.undetermined
    assert not done.clear


def test_an_unknown_rating_counts_only_where_it_decides() -> None:
    (undetermined,) = review("C1 2.2u/X5R @0402 VIN GND").undetermined
    assert (undetermined.of, undetermined.key) == ("C1", "voltage_rating")

    # 10 µF in a 1206 rated for just 5 V: 8.192 mm³, k = 0.305, 7.7 µF at the least.
    assert not found("C1 10u/X5R @1206 VIN GND")


def test_an_unknown_value_is_asked_for() -> None:
    (undetermined,) = review(SMALL, "C2 C VIN GND").undetermined

    assert (undetermined.of, undetermined.key) == ("C2", "value")


def test_an_unknown_voltage_is_asked_for() -> None:
    part = "U1 regulator 1:IN+ VIN 2:GND- GND 3:OUT> V3 = output_capacitor_min 1 uF"
    done = judge(rule, f"{SOURCE}\n{part}\nC1 2.2u/6.3V/X5R @0402 V3 GND")

    assert [u.key for u in done.undetermined] == ["output"]


def test_the_curve_is_listed_as_an_assumption() -> None:
    assert "capacitance of ceramic capacitors under bias" in {
        a.what for a in review(SMALL).assumptions
    }
    assert review(SMALL, assume_nothing=True).undetermined


def test_a_rail_that_nothing_feeds_is_the_business_of_another_rule() -> None:
    part = "U1 regulator 1:IN+ VX 2:GND- GND 3:OUT> V3 = output 3.3 V = input_capacitor_min 1 uF"
    done = judge(rule, f"{SOURCE}\n{part}\nC1 2.2u/6.3V/X5R @0402 VX GND")

    assert not done.findings
    assert not done.undetermined
