"""Pulses of lights, from the entries of a pattern, and the rating that counts for each."""

from __future__ import annotations

import pytest

from boardvet.circuit.led_ratings import Pulse, led_rating, pulse_of
from boardvet.circuit.pattern import Pattern
from boardvet.testing import circuit_of

MCU = "U1 mcu VCC+ VIN GND- GND PB0 P0 PB1 P1 PB2 P2 PB3 P3"
ARRAY = "R1 100 P0 N0\nD1 led/red N0 P1\nD2 led/red P1 N0"
ROW = "R1 100 P0 N1\nD1 led/red N1 GND\nR2 100 P1 N2\nD2 led/red N2 GND"


def pulse(entry: str, board: str = ROW) -> Pulse:
    circuit = circuit_of(f"{MCU}\n{board}\n~ pattern: [{entry}]")
    return pulse_of(circuit, circuit.view(Pattern).lit("D1")[0])


@pytest.mark.parametrize(
    ("entry", "duration", "duty"),
    [
        ("{lights: [D1, D2], for: 5 ms, every: 100 ms}", 5e-3, 0.05),
        # In turn each of the two is lit for as long as it says, once a period.
        ("{lights: [D1, D2], for: 5 ms, every: 100 ms, in_turn: yes}", 5e-3, 0.05),
        # In turn and no length: each for half of a millisecond of scanning (assumed).
        ("{lights: [D1, D2], in_turn: yes}", 0.5e-3, 0.5),
        ("{lights: [D1, D2]}", None, 1.0),
        # Dimmed to a twentieth at 100 Hz or more: at most 0.5 ms at a time.
        ("{lights: [D1], pwm: 5 %}", 0.5e-3, 0.05),
        ("{lights: [D1], for: 0.2 ms, every: 2 ms, pwm: 50 %}", 0.2e-3, 0.05),
    ],
)
def test_the_pulse_of_a_light(entry: str, duration: float | None, duty: float) -> None:
    assert pulse(entry) == pytest.approx(Pulse(duration, duty))


@pytest.mark.parametrize(
    ("entry", "duration", "duty"),
    [
        ("{lights: [D1, D2]}", 0.5e-3, 0.5),
        # Both within the 5 ms: each has half of them.
        ("{lights: [D1, D2], for: 5 ms, every: 100 ms}", 2.5e-3, 0.025),
        ("{lights: [D1, D2], for: 5 ms, every: 100 ms, in_turn: yes}", 5e-3, 0.05),
        ("{lights: [D1]}", None, 1.0),
    ],
)
def test_lights_that_share_pins_share_the_time(
    entry: str, duration: float | None, duty: float
) -> None:
    assert pulse(entry, ARRAY) == pytest.approx(Pulse(duration, duty))


@pytest.mark.parametrize(
    ("length", "duty", "short"),
    [(9.9e-3, 0.1, True), (10.1e-3, 0.01, False), (1e-3, 0.101, False), (None, 1.0, False)],
)
def test_a_pulse_is_short_below_ten_milliseconds_and_up_to_a_tenth_of_the_time(
    length: float | None, duty: float, short: bool
) -> None:
    assert Pulse(length, duty).short is short


def rated(facts: str) -> tuple[float, bool]:
    """What the light stands in 1 ms each 20 ms, in milliamperes, and whether that is unsure."""
    entry = "~ pattern: [{lights: [D1], for: 1 ms, every: 20 ms}]"
    circuit = circuit_of(f"{MCU}\nR1 100 P0 N1\nD1 led/red N1 GND{facts}\n{entry}")
    rating = led_rating(circuit, "D1", circuit.view(Pattern).lit("D1")[0])
    return round(rating.allowed.value * 1e3, 9), rating.unsure


def test_of_several_peak_ratings_one_for_as_much_of_the_time_or_more_counts() -> None:
    """5 % of the time: the rating at 10 % covers it, that at 1 % does not."""
    peaks = " = current_max 20 mA = current_peak 160 mA at 1 % and 100 mA at 10 %"

    assert rated(peaks) == (100.0, False)
    assert rated(" = current_max 20 mA = current_peak 160 mA at 1 %") == (20.0, False)
    assert rated(" = current_max 20 mA") == (20.0, True)
