"""How long the discharge of a board takes, against one consumer in plain Python in 2,000 steps.

Run it by hand: ``python -m tests.benchmark.discharge``. The board has 30 consumers: lights on pins
with resistors, sensors, dividers, a regulator. It prints the discharge, and 10,000 boards drawn at
random; the integration in plain Python runs in the same process, so the ratio holds whatever the
machine is doing.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator

from boardvet.circuit.batch import Batches
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.testing import circuit_of

REPEATS = 5
BOARDS = 10_000
LIGHTS = 12
SENSORS = 8
DIVIDERS = 5
BEHIND = 4


def lines() -> Iterator[str]:
    """Yield a board of 30: 12 lights, 8 sensors, 5 dividers, 4 behind a regulator, U1."""
    yield "BT1 CR2450 VBAT GND"
    pins = " ".join(f"P{number} LINE{number}" for number in range(LIGHTS))
    yield (
        f"U1 mcu VCC+ VBAT GND- GND {pins}"
        " = pin_resistance 30 ohm = sleep_current 1 uA = supply 1.8 to 5.5 V"
    )
    for number in range(LIGHTS):
        yield f"R{number} {220 + 30 * number} LINE{number} N{number}"
        yield f"D{number} led N{number} GND = colour red = forward_voltage 1.9 V at 5 mA"
    for number in range(SENSORS):
        yield (
            f"U{10 + number} sensor VDD+ VBAT GND- GND"
            f" = sleep_current {0.5 + 0.1 * number:.1f} uA = supply 1.7 to 3.6 V"
        )
    for number in range(DIVIDERS):
        yield f"R{100 + number} {1 + number}M VBAT TAP{number}"
        yield f"R{200 + number} 1M TAP{number} GND"
    yield (
        "U2 regulator VIN+ VBAT GND- GND 3:VOUT V18 = pins {1: regulator input, 3: supply output}"
        " = output 1.8 V = dropout 100 mV at 50 mA = quiescent_current 1 uA"
    )
    for number in range(BEHIND):
        yield (
            f"U{30 + number} sensor VDD+ V18 GND- GND"
            f" = sleep_current {2 + number} uA = supply 1.6 to 3.6 V"
        )
    yield "~ pattern:"
    yield "~ - {lights: [D0, D1, D2, D3], for: 5 ms, every: 500 ms}"
    yield "~ - {lights: [D4, D5, D6, D7], for: 5 ms, every: 1 s, after: 100 ms}"
    yield "~ - {lights: [D8, D9, D10, D11], for: 2 ms, every: 2 s, after: 200 ms, in_turn: yes}"
    yield "~ - {part: U1, draws: 4 mA for 2 ms then 1 mA for 5 ms, every: 1 s}"
    yield "~ - {part: U10, current: 1 mA, for: 10 ms, every: 10 s}"


def board() -> Circuit:
    """Return a new circuit of the board, of which nothing is known yet."""
    return circuit_of("\n".join(lines()))


def plain() -> float:
    """Integrate one light behind a resistor in 2,000 steps, and return the run time in s."""
    saturation = 5e-3 / math.expm1((1.9 - 5e-3 * 6.0) / (2.0 * 0.025865))
    total = 0.0
    for step in range(2000):
        used = (step + 0.5) / 2000
        volts, ohms = 3.2 - 1.2 * used, 10.0 + 50.0 * used + 256.0
        low, high = 0.0, 0.1
        for _ in range(50):
            amperes = (low + high) / 2.0
            drop = amperes * ohms + 2.0 * 0.025865 * math.log1p(amperes / saturation)
            low, high = (low, amperes) if drop > volts else (amperes, high)
        total += 2232.0 / 2000 / (low + 1e-6)
    return total


def best(of: Callable[[], object]) -> float:
    """Return the least of several wall times, in seconds."""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        of()
        times.append(time.perf_counter() - start)
    return min(times)


def discharge() -> tuple[float, int]:
    """Return the least wall time of a discharge in s, and how many consumers it counted."""
    times, consumers = [], 0
    for _ in range(REPEATS):
        circuit = board()
        start = time.perf_counter()
        found = circuit.view(Discharge)
        times.append(time.perf_counter() - start)
        consumers = len(found.draws)
    return min(times), consumers


def main() -> None:
    """Print one line for each measurement."""
    reference = best(plain)
    print(f"one consumer in plain Python, 2,000 steps: best {reference * 1e3:7.1f} ms")
    took, consumers = discharge()
    print(
        f"discharge of a board, {consumers} takers:      best {took * 1e3:7.1f} ms"
        f"   ratio {took / reference:.2f}"
    )
    batches = board().view(Batches)
    batches.corners()
    seeds = iter(range(REPEATS))  # what was drawn is kept
    took = best(lambda: batches.drawn(BOARDS, next(seeds)))
    print(
        f"{BOARDS:,} boards drawn at random:          best {took:7.2f} s "
        f"   ratio {took / reference:.1f}"
    )


if __name__ == "__main__":
    main()
