"""`capacitor-voltage`: the highest voltage across a capacitor against rating and practice.

Expected limits are products by hand: the voltage of the source and the margin of the rule book
(ceramic 0.9; tantalum 0.5, 0.67 behind 10 Ω; polymer 0.9 up to 10 V and 0.8 above).
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.decoupling.capacitor_voltage import check as rule

SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {{J1: {{net: VIN, voltage: {volts} V}}}}"
STEADY_CELL = (
    "BT1 cell/holder + VIN - GND\n~ cell: {{part: BT1, type: CR2032, "
    "voltage: {volts} V at 0 % and {volts} V at 100 %, resistance: {ohms} ohm}}"
)


def review(*lines: str, volts: float | str = 5, **how: bool) -> Review:
    found = judge(rule, "\n".join((*lines, SOURCE.format(volts=volts))), **how)
    assert not found.broken, found.broken
    return found


def findings(*lines: str, volts: float | str = 5) -> tuple[Finding, ...]:
    found = review(*lines, volts=volts)
    assert not found.undetermined, found.undetermined
    return found.findings


def level(*lines: str, volts: float | str = 5) -> Level | None:
    found = findings(*lines, volts=volts)
    return found[0].level if found else None


def test_above_the_rating_is_a_hold_with_both_numbers_and_the_next_rating() -> None:
    (finding,) = findings("C1 10u/4V/X5R VIN GND")

    assert finding.level is Level.HOLD
    assert "5 V" in finding.sum
    assert "4 V" in finding.sum
    assert "6.3 V" in finding.fix


def test_the_rating_is_the_limit_of_the_hold() -> None:
    """1 % around 10 V: 10.1 V is above it; 9.9 V is not, but above 0.9 of it."""
    assert level("C1 10u/10V/X5R VIN GND", volts=10.1) is Level.HOLD
    assert level("C1 10u/10V/X5R VIN GND", volts=9.9) is Level.QUERY


@pytest.mark.parametrize(
    ("made", "rating", "limit"),
    [
        ("X7R", 10, 9.0),
        ("film", 10, 9.0),
        ("aluminium electrolytic", 16, 14.4),
        ("tantalum", 10, 5.0),
        ("polymer", 10, 9.0),
        ("tantalum polymer", 16, 12.8),
        ("polymer", 6.3, 5.67),
    ],
)
def test_practice_is_the_limit_of_the_query(made: str, rating: float, limit: float) -> None:
    """Rating × margin by hand, walked 1 % around: 16 V × 0.8 = 12.8 V, 10 V × 0.5 = 5 V …"""
    part = f"C1 10u VIN GND = dielectric {made} = voltage_rating {rating} V"

    assert level(part, volts=0.99 * limit) is None
    assert level(part, volts=1.01 * limit) is Level.QUERY


def test_a_tantalum_behind_ten_ohms_stands_two_thirds() -> None:
    """By hand: 0.67 × 10 V = 6.7 V behind 10 Ω, 0.5 × 10 V = 5 V behind 9.9 Ω."""
    part = "C1 10u VC GND = dielectric tantalum = voltage_rating 10 V"
    taker = "U1 mcu VCC+ VC GND- GND"

    assert level("R1 10 VIN VC", part, taker, volts=6.63) is None
    assert level("R1 9.9 VIN VC", part, taker, volts=6.63) is Level.QUERY
    assert level("R1 10 VIN VC", part, taker, volts=6.77) is Level.QUERY


@pytest.mark.parametrize(("ohms", "expected"), [(10.1, None), (9.9, Level.QUERY)])
def test_the_resistance_of_a_coin_cell_counts(ohms: float, expected: Level | None) -> None:
    """3 V on 5 V: 0.6 is above 0.5 and below 0.67."""
    board = STEADY_CELL.format(volts=3, ohms=ohms)
    part = "C1 47u VIN GND = dielectric tantalum = voltage_rating 5 V"

    assert [f.level for f in judge(rule, f"{board}\n{part}").findings] == [expected] * bool(
        expected
    )


def test_the_resistance_of_the_cell_does_not_count_behind_a_regulator() -> None:
    board = STEADY_CELL.format(volts=6, ohms=20)
    regulator = "U1 regulator VIN+ VIN GND- GND VOUT> VREG = output 3 V = dropout 0.1 V"
    part = "C1 47u VREG GND = dielectric tantalum = voltage_rating 5 V"

    (finding,) = judge(rule, f"{board}\n{regulator}\n{part}").findings
    assert finding.level is Level.QUERY


def test_only_the_highest_a_source_may_show_is_a_query() -> None:
    """A fresh CR2032 shows 3.35 V at the highest (rule book), some 3.2 V typically."""
    board = "BT1 CR2032 VBAT GND\nC1 1u VBAT GND = dielectric X5R = voltage_rating {volts} V"

    (finding,) = judge(rule, board.format(volts=3.32)).findings
    assert finding.level is Level.QUERY
    assert "may see 3.35 V" in finding.sum
    assert [f.level for f in judge(rule, board.format(volts=3.0)).findings] == [Level.HOLD]


def test_a_capacitor_across_two_rails_sees_their_difference() -> None:
    """By hand: 12 V − 5 V = 7 V."""
    more = (
        "J2 connector/in 1: V12 2: GND\n"
        "~ sources: {{J1: {{net: VIN, voltage: 5 V}}, J2: {{net: V12, voltage: 12 V}}}}"
    )
    board = "J1 connector/in 1: VIN 2: GND\nC1 1u/{rating}V/X7R V12 VIN\n" + more

    assert not judge(rule, board.format(rating=10)).findings
    (finding,) = judge(rule, board.format(rating=6.3)).findings
    assert finding.numbers[0].value == pytest.approx(7.0)


def test_polymer_is_judged_at_its_own_margin() -> None:
    """Quiet on: 5.5 V on 6.3 V would be too much for tantalum with manganese dioxide."""
    twin = "C1 100u VIN GND = voltage_rating 6.3 V = dielectric "

    assert level(twin + "polymer", volts=5.5) is None
    assert level(twin + "tantalum", volts=5.5) is Level.QUERY


def test_an_unknown_rating_is_asked_for() -> None:
    found = review("C1 10u VIN GND")

    (missing,) = found.undetermined
    assert (missing.of, missing.key) == ("C1", "voltage_rating")


@pytest.mark.parametrize(("value", "settled"), [("100n", True), ("101n", False), ("22p", True)])
def test_small_ceramics_are_taken_for_the_lowest_rating_on_sale(value: str, settled: bool) -> None:
    """Multicomp sheet: X7R from 6.3 V; 0.9 × 6.3 V = 5.67 V, so that 5.5 V is fine."""
    found = review(f"C1 {value} @0603 VIN GND", volts=5.5)

    assert bool(found.clear) is settled
    assert bool(found.undetermined) is not settled
    assert any("rating" in assumed.what for assumed in found.assumptions) is settled


def test_the_assumed_rating_never_makes_a_finding() -> None:
    """5.73 V is 1 % above 0.9 × 6.3 V: the part may well be rated 50 V."""
    found = review("C1 100n @0603 VIN GND", volts=5.73)

    assert not found.findings
    assert [u.key for u in found.undetermined] == ["voltage_rating"]


def test_nothing_is_assumed_where_nothing_may_be() -> None:
    found = review("C1 100n @0603 VIN GND", assume_nothing=True)

    assert [u.key for u in found.undetermined] == ["voltage_rating"]


def test_the_voltage_of_the_rail_is_asked_for() -> None:
    board = "BT1 cell/holder + VBAT - GND\nC1 1u/10V VBAT GND"

    assert [u.key for u in judge(rule, board).undetermined] == ["cell"]


@pytest.mark.parametrize(
    ("volts", "asked"), [(4.9, False), (5.1, True), (8.9, True), (9.1, False)]
)
def test_what_an_electrolytic_is_made_of_is_asked_for_only_where_it_decides(
    volts: float, asked: bool
) -> None:
    """10 V: below half of it every kind stands it, above 0.9 of it none does for long."""
    found = review("C1 47u @CP_made_up VIN GND = voltage_rating 10 V", volts=volts)

    assert bool(found.undetermined) is asked
    assert bool(found.findings) is (volts > 9)


def test_between_signals_the_highest_rail_is_the_bound() -> None:
    signals = "U1 mcu VCC+ VIN GND- GND PB0 A PB1 B"

    assert level(signals, "C1 1u/10V A B") is None
    found = review(signals, "C1 1u/4V A B")
    assert [(u.of, u.key) for u in found.undetermined] == [("C1", "voltage")]


def test_a_capacitor_on_a_rail_that_is_not_fed_is_left_to_that_finding() -> None:
    assert (
        level("U1 mcu VCC+ LOST GND- GND", "U2 sensor VCC+ LOST GND- GND", "C1 1u LOST GND")
        is None
    )


def test_a_board_without_any_source_is_not_passed() -> None:
    found = judge(rule, "U1 mcu PB0 A PB1 B GND- GND\nC1 1u/10V A B")

    assert [u.key for u in found.undetermined] == ["cell"]
