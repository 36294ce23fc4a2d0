"""`resistor-heat`: power against the rating of the case.

By hand: 5 V across 250 Ω are 25 / 250 = 100 mW, what an 0603 stands (Uni-Ohm sheet: 1/10 W), and
0.6 of it, 60 mW, is 25 / 0.06 = 416.7 Ω. At 112.5 °C half of that is left: (155 − 112.5) / 85.
"""

from __future__ import annotations

import pytest

from boardvet.circuit.heating import Heating
from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of, judge
from boardvet_rules.light.resistor_heat import check as rule

SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {{J1: {{net: VIN, voltage: {volts}}}}}"
RED = "= forward_voltage 1.8 V at 20 mA"
MCU = "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 = pin_resistance 25 ohm"


def review(*lines: str, volts: str = "5 V", **how: bool) -> Review:
    found = judge(rule, "\n".join((SOURCE.format(volts=volts), *lines)), **how)
    assert not found.broken, found.broken
    return found


def findings(*lines: str, volts: str = "5 V") -> dict[str, Finding]:
    found = review(*lines, volts=volts)
    assert not found.undetermined, found.undetermined
    return {finding.subject.name: finding for finding in found.findings}


def level(*lines: str, volts: str = "5 V") -> Level | None:
    found = findings(*lines, volts=volts)
    return found["R1"].level if "R1" in found else None


def bleeder(ohms: float | str, case: str = "0603", more: str = "") -> str:
    return f"R1 {ohms} @{case} VIN GND {more}"


def test_a_bleeder_above_its_rating_is_a_hold_with_the_case_that_does() -> None:
    """25 V² / 220 Ω = 113.6 mW of 100 mW; 0.6 · 1/4 W of a 1206 do, its standard type too."""
    finding = findings(bleeder(220))["R1"]

    assert finding.level is Level.HOLD
    assert finding.numbers[0].value == pytest.approx(25 / 220, rel=1e-4)
    assert "114 mW" in finding.sum
    assert "100 mW" in finding.sum
    assert "1206" in finding.fix


def test_the_rating_is_the_limit_of_the_hold() -> None:
    """1 % around 250 Ω."""
    assert level(bleeder("247R5")) is Level.HOLD
    assert level(bleeder("252R5")) is Level.QUERY


def test_six_tenths_are_the_limit_of_the_query() -> None:
    """1 % around 25 / 0.06 = 416.7 Ω."""
    assert level(bleeder("412R5")) is Level.QUERY
    assert level(bleeder("420R8")) is None


def test_the_standard_type_of_a_1206_is_a_limit_of_its_own() -> None:
    """0.6 · 1/4 W are 150 mW, but the standard type stands 125 mW: 25 / 0.125 = 200 Ω, 1 %."""
    assert level(bleeder("198R", "1206")) is Level.QUERY
    assert level(bleeder("202R", "1206")) is None
    assert "standard type" in findings(bleeder("198R", "1206"))["R1"].sum


def test_only_at_the_highest_voltage_is_a_query() -> None:
    """USB is 5 V and may show 5.5 V: 25 / 275 = 91 mW, 30.25 / 275 = 110 mW of 100 mW."""
    (finding,) = judge(rule, "J1 usb-connector 1:VBUS V 2:GND GND\nR1 275R @0603 V GND").findings

    assert finding.level is Level.QUERY
    assert finding.numbers[1].value == pytest.approx(30.25 / 275, rel=1e-3)
    assert "110 mW" in finding.sum
    assert "highest" in finding.sum


@pytest.mark.parametrize(
    ("hot", "found"), [("70", None), ("87", Level.QUERY), ("120", Level.HOLD)]
)
def test_the_rating_falls_above_70_degrees(hot: str, found: Level | None) -> None:
    """450 Ω: 55.6 mW. At 87 °C 0.8 · 0.6 · 100 = 48 mW; at 120 °C 100 · 35 / 85 = 41 mW."""
    temperature = f"~ temperature: 0 to {hot} degC"

    assert level(bleeder(450), temperature) is found


def test_a_stated_rating_counts_more_than_the_case() -> None:
    assert level(bleeder(220, "0603", "= power_rating 0.25 W")) is None
    assert level("R1 220/0.25W VIN GND") is None


def test_a_light_is_solved_and_its_pattern_counts() -> None:
    """150 Ω behind 1.8 V at 20 mA: some (5 − 1.8) / 150 = 21 mA, 68 mW of the 62.5 mW of an 0402.

    On a tenth of the time 7 mW.
    """
    board = ("R1 150 @0402 VIN N1", f"D1 led/red N1 GND {RED}")
    flash = "~ pattern: [{name: flash, lights: [D1], for: 10 ms, every: 100 ms}]"

    finding = findings(*board)["R1"]
    assert finding.level is Level.HOLD
    assert finding.numbers[0].value == pytest.approx(3.2**2 / 150, rel=0.02)
    assert level(*board, flash) is None


def test_a_pulse_that_lasts_counts_by_itself() -> None:
    """2 s in each hour: the mean is nothing, but a chip is heated through within seconds."""
    board = ("R1 150 @0402 VIN N1", f"D1 led/red N1 GND {RED}")

    def flash(duration: str) -> str:
        return f"~ pattern: [{{name: flash, lights: [D1], for: {duration}, every: 1 h}}]"

    assert level(*board, flash("2 s")) is Level.HOLD
    assert level(*board, flash("0.9 s")) is None


def test_short_pulses_within_the_overload_are_quiet() -> None:
    """24 V: (24 − 1.9)² / R in 10 ms each s. 6.25 · 62.5 mW = 390.6 mW: 1250 Ω; 1 % to each side.

    At 17.7 mA the light drops 1.8 V less 2 · 25.9 mV · ln(20/17.7): 1.79 V. (24 − 1.79)² / 0.3906
    = 1263 Ω.
    """
    flash = "~ pattern: [{name: flash, lights: [D1], for: 10 ms, every: 1 s}]"

    def board(ohms: str) -> tuple[str, ...]:
        return (f"R1 {ohms} @0402 VIN N1", f"D1 led/red N1 GND {RED}", flash)

    assert level(*board("1k25"), volts="24 V") is Level.QUERY
    assert level(*board("1k276"), volts="24 V") is None


def test_a_resistor_shared_by_lights_carries_all_of_them() -> None:
    """Two in parallel behind 150 Ω, red with n = 2 and 6 Ω: each about 10.9 mA.

    1.8 − 2 · 25.9 mV · ln(20/10.9) − 6 Ω · 9.1 mA = 1.714 V; (5 − 1.714)² / 150 = 72 mW.
    """
    found = findings("R1 150 @0402 VIN N1", f"D1 led/red N1 GND {RED}", f"D2 led/red N1 GND {RED}")

    assert found["R1"].numbers[0].value == pytest.approx(3.286**2 / 150, rel=0.005)


def test_a_base_resistor_is_solved_with_its_pin_high() -> None:
    """(5 − 0.7) V over 100 Ω + 25 Ω: 34.4 mA, 118 mW: nobody says for how long, so a query."""
    transistor = "Q1 bipolar-transistor/2N3904 B B1 C C1 E GND = channel npn"
    finding = findings(MCU, "R1 100 @0603 P0 B1", transistor, "R2 10k C1 VIN")["R1"]

    assert finding.level is Level.QUERY
    assert finding.numbers[0].value == pytest.approx((4.3 / 125) ** 2 * 100, rel=1e-3)
    assert level(MCU, "R1 1k @0603 P0 B1", transistor, "R2 10k C1 VIN") is None


def test_a_resistor_between_signals_carries_nothing() -> None:
    other = "U2 mcu VCC+ VIN GND- GND PA0 Q0"

    assert level(MCU, other, "R1 22 @0402 P0 Q0") is None


def test_a_divider_shares_the_voltage() -> None:
    """5 V over 100 Ω + 100 Ω: 2.5² / 100 = 62.5 mW each; alone on the rail it would be 250 mW."""
    found = findings("R1 100 @0603 VIN M", "R2 100 @0603 M GND")

    assert found["R1"].numbers[0].value == pytest.approx(62.5e-3, rel=1e-4)
    assert found["R1"].level is Level.QUERY


def test_an_unknown_rating_counts_only_where_it_could_matter() -> None:
    """0.6 of the 1/20 W of an 0201: 30 mW, 25 / 0.03 = 833 Ω."""
    (undetermined,) = review("R1 820 VIN GND").undetermined
    assert (undetermined.of, undetermined.key) == ("R1", "power_rating")
    assert level("R1 850 VIN GND") is None


def test_an_unknown_value_is_asked_for() -> None:
    assert [u.key for u in review("R1 R @0603 VIN GND").undetermined] == ["value"]


def test_an_unknown_source_counts_only_for_small_values() -> None:
    """24² / 20 kΩ = 29 mW are within 0.6 of 1/20 W, whatever feeds the board."""
    board = "BT1 cell/holder VBAT GND\nR1 {} @0603 VBAT GND"

    assert [u.key for u in judge(rule, board.format("100")).undetermined] == ["cell"]
    assert not judge(rule, board.format("20k")).undetermined


@pytest.mark.parametrize("ohms", ["100R", "120R", "150R", "180R", "220R"])
@pytest.mark.parametrize("lights", [1, 2])
def test_what_is_cleared_without_solving_is_clear_when_solved(ohms: str, lights: int) -> None:
    """The cheap bound never hides a power: it is compared with the solved one at every share."""
    board = [f"R1 {ohms} @0603 VIN N1"]
    board += [f"D{n} led/red N1 GND {RED}" for n in range(1, lights + 1)]
    circuit = circuit_of("\n".join((SOURCE.format(volts="5 V"), *board)))
    heating = circuit.view(Heating)
    (resistor,) = heating.resistors
    heat = heating.worst(resistor)

    assert heat is not None
    assert not heating.cannot_exceed(resistor, 0.99 * heat.highest)
    assert heating.cannot_exceed(resistor, 1.25 * heat.highest)


def test_the_cheap_bound_counts_the_pin_and_other_resistors() -> None:
    """100 Ω of 100 + 47 + 25 Ω: solved, it never exceeds what the bound allows."""
    circuit = circuit_of(
        "\n".join((SOURCE.format(volts="5 V"), MCU, "R1 100R P0 M", "R2 47R M N1",
                   f"D1 led/red N1 GND {RED}"))
    )  # fmt: skip
    heating = circuit.view(Heating)
    for resistor in heating.resistors:
        heat = heating.worst(resistor)
        assert heat is not None
        assert not heating.cannot_exceed(resistor, 0.99 * heat.highest)
        assert heating.cannot_exceed(resistor, 1.1 * heat.highest)
