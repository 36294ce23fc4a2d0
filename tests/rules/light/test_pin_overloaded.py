"""`pin-overloaded`: what pins carry together against the maxima of pin and chip.

By hand: a base at 0.7 V behind R and a pin of 25 Ω on 5 V takes 4.3 V / (R + 25 Ω): 20 mA at
R = 190 Ω. A red light of 2.0 V at 20 mA behind 47 Ω and the pin on 4.5 V takes some 2.5 / 72 =
35 mA less what it drops more (n = 2, 6 Ω): 2.0 + 0.052 · ln(x/20) + 0.006 · (x − 20) with x = 32:
2.10 V; 2.40 V / 72 Ω = 33 mA.
"""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge
from boardvet_rules.light.pin_overloaded import check as rule

SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {{J1: {{net: VIN, voltage: {volts}}}}}"
NPN = "Q{n} bipolar-transistor/2N3904 B B{n} C C{n} E GND = channel npn"
RED = "D{n} led/red N{n} GND = forward_voltage 2.0 V at 20 mA"


def mcu(*facts: str, pins: int = 4, most: str | None = "20 mA", on: str = "VIN") -> str:
    ports = " ".join(f"PB{i} P{i}" for i in range(1, pins + 1))
    stated = [*facts, "pin_resistance 25 ohm"]
    if most is not None:
        stated.append(f"pin_current_max {most}")
    return f"U1 mcu VCC+ {on} GND- GND {ports} " + " ".join(f"= {fact}" for fact in stated)


def base(ohms: str, n: int = 1) -> str:
    return f"R{n} {ohms} P{n} B{n}\n{NPN.format(n=n)}"


def light(ohms: str, n: int = 1) -> str:
    return f"R{n} {ohms} P{n} N{n}\n{RED.format(n=n)}"


def review(*lines: str, volts: str = "5 V", **how: bool) -> Review:
    found = judge(rule, "\n".join((SOURCE.format(volts=volts), *lines)), **how)
    assert not found.broken, found.broken
    return found


def finding(*lines: str, volts: str = "5 V") -> Finding | None:
    found = review(*lines, volts=volts)
    assert not found.undetermined, found.undetermined
    assert len(found.findings) <= 1
    return found.findings[0] if found.findings else None


def level(*lines: str, volts: str = "5 V") -> Level | None:
    found = finding(*lines, volts=volts)
    return found.level if found else None


def test_the_maximum_of_a_pin_is_the_limit_of_the_hold() -> None:
    """1 % around 20 mA: 212.9 − 25 = 187.9 Ω and 217.2 − 25 = 192.2 Ω."""
    assert level(mcu(), base("187R9")) is Level.HOLD
    assert level(mcu(), base("192R2")) is None


def test_the_finding_names_pin_current_and_maximum_and_raises_the_resistor() -> None:
    """4.3 V / (100 + 25) Ω = 34.4 mA; 1.1 · 172 + 25 · 0.72 = 207 Ω, next 220 Ω: 17.6 mA."""
    found = finding(mcu(), base("100R"))

    assert found is not None
    assert "PB1" in found.sum
    assert "34.4 mA" in found.sum
    assert "20 mA" in found.sum
    assert found.fix == "raise R1 to 220 Ω"
    assert level(mcu(), base("220R")) is None


def test_a_light_behind_too_small_a_resistor_is_found() -> None:
    found = finding(mcu(), light("47R"), volts="4.5 V")

    assert found is not None
    assert found.level is Level.HOLD
    assert found.numbers[0].value == pytest.approx(33e-3, rel=0.02)
    assert level(mcu(), light("180R"), volts="4.5 V") is None


def test_only_at_the_highest_voltage_is_a_query() -> None:
    """4.5 to 5.5 V: 4.3 / 225 = 19.1 mA in the middle, 4.8 / 225 = 21.3 mA at its end."""
    assert level(mcu(), base("200R"), volts="4.5 to 5.5 V") is Level.QUERY


def test_above_the_specified_current_is_a_query() -> None:
    """4.3 V / 8 mA = 537.5 Ω; 1 % to each side of 512.5 Ω and the pin."""
    rated = mcu("pin_current_rated 8 mA")

    assert level(rated, base("507R")) is Level.QUERY
    assert level(rated, base("518R")) is None
    found = finding(rated, base("470R"))
    assert found is not None
    assert "specified" in found.sum


def test_the_sum_of_the_pins_has_its_own_limit() -> None:
    """Three bases of 4.3 / 430 = 10 mA are 30 mA; 1 % around it."""
    three = [base("405R", n) for n in (1, 2, 3)]

    assert level(mcu("chip_current_max 29.7 mA"), *three) is Level.HOLD
    assert level(mcu("chip_current_max 30.3 mA"), *three) is None


def test_what_is_given_and_what_is_taken_are_two_sums() -> None:
    """Two of 10 mA to ground and two of (5 − 0) / (475 + 25) = 10 mA from the rail."""
    given = [base("405R", 1), base("405R", 2)]
    taken = ["R3 475R P3 VIN", "R4 475R P4 VIN"]

    assert level(mcu("chip_current_max 20.2 mA"), *given, *taken) is None
    assert level(mcu("chip_current_max 19.8 mA"), *given, *taken) is Level.HOLD


def test_loads_that_are_never_on_together_do_not_add() -> None:
    lights = [light("180R", n) for n in (1, 2, 3)]
    turn = "~ pattern: [{name: run, lights: [D1, D2, D3], for: 1 s, every: 3 s, in_turn: yes}]"
    all_of_them = "~ pattern: [{name: run, lights: [D1, D2, D3], for: 1 s, every: 3 s}]"
    chip = mcu("chip_current_max 30 mA")

    assert level(chip, *lights, turn) is None
    assert level(chip, *lights, all_of_them) is Level.HOLD
    assert level(chip, *lights) is Level.HOLD  # no pattern: all on


def test_pulses_within_a_stated_peak_are_quiet() -> None:
    """33 mA on a tenth of the time, against 50 mA at 10 %."""
    peak = mcu("current_peak 50 mA at 10 %")
    flash = "~ pattern: [{{name: flash, lights: [D1], for: {}, every: 100 ms}}]"

    assert level(peak, light("47R"), flash.format("10 ms"), volts="4.5 V") is None
    assert level(peak, light("47R"), flash.format("11 ms"), volts="4.5 V") is Level.HOLD
    assert level(mcu(), light("47R"), flash.format("10 ms"), volts="4.5 V") is Level.HOLD


def test_the_pin_of_a_bare_light_is_the_business_of_another_rule() -> None:
    """It counts in the sum all the same."""
    bare = RED.format(n=1).replace("N1", "P1")

    assert level(mcu(), bare) is None
    assert level(mcu("chip_current_max 40 mA"), bare, base("192R2", 2)) is Level.HOLD


def test_a_base_straight_on_a_pin_asks_for_a_transistor_or_resistor() -> None:
    """4.3 V / 25 Ω = 172 mA."""
    found = finding(mcu(), NPN.format(n=1).replace("B1", "P1", 1).replace(" B P1", " B P1"))

    assert found is not None
    assert found.numbers[0].value == pytest.approx(172e-3, rel=1e-3)


def test_a_pnp_base_is_pulled_low() -> None:
    """The emitter on 5 V, its base at 4.3 V: again 4.3 V / (100 + 25) Ω = 34.4 mA."""
    pnp = "Q1 bipolar-transistor/2N3906 B B1 C C1 E VIN = channel pnp"
    found = finding(mcu(), "R1 100R P1 B1", pnp)

    assert found is not None
    assert found.numbers[0].value == pytest.approx(34.4e-3, rel=1e-3)


def test_pull_resistors_are_no_load() -> None:
    assert not review(mcu(most=None), "R1 10k P1 VIN", "R2 100k P2 GND").undetermined


def test_a_coil_on_a_pin_is_asked_about() -> None:
    (undetermined,) = review(mcu(), "BZ1 buzzer/beeper P1 GND").undetermined

    assert undetermined.of == "BZ1"


def test_an_unknown_maximum_matters_above_two_milliamperes() -> None:
    """4.3 V / 2 mA = 2150 Ω: 1 % to each side of 2125 Ω and the pin."""
    (undetermined,) = review(mcu(most=None), base("2k1")).undetermined
    assert undetermined.key == "pin_current_max"
    assert level(mcu(most=None), base("2k15")) is None


def test_an_unknown_maximum_of_the_chip_matters_above_that_of_a_pin() -> None:
    two = [base("405R", 1), base("405R", 2)]  # 10 mA each

    (undetermined,) = review(mcu(most="19.8 mA"), *two).undetermined
    assert undetermined.key == "chip_current_max"
    assert level(mcu(most="20.2 mA"), *two) is None


def test_what_feeds_the_controller_is_asked_for() -> None:
    found = judge(rule, f"BT1 cell/holder VBAT GND\n{mcu(on='VBAT')}\n{base('100R')}")

    assert [u.key for u in found.undetermined] == ["cell"]
