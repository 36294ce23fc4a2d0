"""The two resistors of a FET's gate: in series with the pin, and the one that holds it off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.transistor import (
    gate_hold_for_leakage,
    gate_hold_for_time,
    gate_series_resistance,
)
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable
from boardvet.sizing._values import MARGIN, choose

__all__ = ["CALCULATION", "HOLD", "SERIES", "Gate", "size"]

SERIES, HOLD = "series resistor", "gate-source resistor"
"""Names of the two values."""

_LEAKAGE = 1e-6
_HELD = 0.5
"""Share of the threshold that leakage may lift the gate to: common practice."""

_LARGEST = 1e6
"""Above it dirt and moisture on a board decide: common practice. [Ω]"""

_STIFF = 100.0
"""The hold is at least so many times the series resistor, or it divides the drive."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """What the resistors of a gate depend on."""

    drive: Annotated[
        Span,
        Input("V", "level of the pin while on, from the end of the cell to fresh", "2.0 to 3.2 V",
              above_zero=True),
    ]  # fmt: skip
    peak_current: Annotated[
        float, Input("A", "most current of the pin that drives it", "20 mA", above_zero=True)
    ]
    threshold: Annotated[
        float,
        Input("V", "lowest gate threshold of the FET, without its sign", "0.5 V",
              above_zero=True),
    ]  # fmt: skip
    pin_resistance: Annotated[float, Input("ohm", "of that pin", "30 ohm")] = 0.0
    leakage: Annotated[
        float,
        Input("A", "of the gate and of the pin while nothing drives it", "1 uA", above_zero=True,
              source="common practice for a controller's pin in reset"),
    ] = _LEAKAGE  # fmt: skip
    capacitance: Annotated[
        float | None,
        Input("F", "input capacitance of the FET", "300 pF", above_zero=True, shown=True),
    ] = None
    off_within: Annotated[
        float | None,
        Input("s", "how fast the hold alone switches off; wants capacitance too", "1 ms",
              above_zero=True),
    ] = None  # fmt: skip
    margin: Annotated[
        float,
        Input("", "how far E12 may miss before E24 is taken", "10 %", source="half a step of E12"),
    ] = MARGIN


def size(inputs: Gate, fitted: tuple[Chosen, ...] = ()) -> Answer:
    """Return the series resistor, where one is needed, and the one from gate to source.

    Parameters
    ----------
    inputs : Gate
        What they depend on.
    fitted : tuple of Chosen, optional
        Taken in place of the nearest of the series, by their names.
    """
    if inputs.threshold >= inputs.drive.low:
        raise Unsizable(
            f"the pin reaches {show(inputs.drive.low, 'V')}, and the FET only begins to conduct "
            f"at {show(inputs.threshold, 'V')}",
            "take a FET whose on-resistance is specified at the level of the pin",
        )
    least = gate_series_resistance(inputs.drive.high, inputs.peak_current, inputs.pin_resistance)
    series = choose(SERIES, least, "ohm", inputs.margin, "up") if least >= 1 else None
    limits = dict(_limits(inputs))
    deciding = min(limits, key=lambda name: limits[name])
    hold = choose(HOLD, limits[deciding], "ohm", inputs.margin, "down")
    by_name = {each.name: each for each in fitted}
    series = by_name.get(SERIES, series)
    hold = by_name.get(HOLD, hold)
    chosen = (series, hold) if series else (hold,)
    return Answer(
        chosen=chosen,
        sums=(_series_sum(inputs, least, series), _hold_sum(limits, deciding)),
        ends=tuple(_ends(inputs, hold)),
        buy=" and ".join(f"{each.shown} 5 %" for each in chosen) + ", any size",
        notes=tuple(_notes(inputs, series, hold)),
    )


def _limits(inputs: Gate) -> Iterator[tuple[str, float]]:
    """Yield each limit of the hold with the words of its sum. [Ω]."""
    volts = _HELD * inputs.threshold
    yield (
        f"{show(volts, 'V')} (half of the threshold) / {show(inputs.leakage, 'A')}",
        gate_hold_for_leakage(volts, inputs.leakage),
    )
    yield "the most that stays clear of dirt and moisture", _LARGEST
    if inputs.off_within is None:
        return
    if inputs.capacitance is None:
        raise Unsizable("off_within needs the capacitance of the gate", "give capacitance too")
    yield (
        f"{show(inputs.off_within, 's')} / ({show(inputs.capacitance, 'F')} · "
        f"ln({show(inputs.drive.high, 'V')} / {show(inputs.threshold, 'V')}))",
        gate_hold_for_time(
            inputs.drive.high, inputs.threshold, inputs.capacitance, inputs.off_within
        ),
    )


def _series_sum(inputs: Gate, least: float, series: Chosen | None) -> str:
    peak = f"{show(inputs.drive.high, 'V')} / {show(inputs.peak_current, 'A')}"
    less = f" − {show(inputs.pin_resistance, 'ohm')}" if inputs.pin_resistance else ""
    if series is None:
        return f"{peak}{less} leaves nothing: the pin limits itself, no series resistor is needed"
    words = f"series {peak}{less} = {show(least, 'ohm')} at least"
    if inputs.capacitance is None:
        return words
    constant = (series.value + inputs.pin_resistance) * inputs.capacitance
    return (
        f"{words}; with {show(inputs.capacitance, 'F')} it switches in {show(3 * constant, 's')}"
    )


def _hold_sum(limits: dict[str, float], deciding: str) -> str:
    return f"gate to source {deciding} = {show(limits[deciding], 'ohm')} at most"


def _ends(inputs: Gate, hold: Chosen) -> Iterator[str]:
    words = [
        f"{show(volts / hold.value, 'A')} at {show(volts, 'V')}"
        for volts in sorted({*inputs.drive}, reverse=True)
    ]
    yield f"while on, {hold.shown} draws {', '.join(words)}"


def _notes(inputs: Gate, series: Chosen | None, hold: Chosen) -> Iterator[str]:
    if series is not None and hold.value < _STIFF * series.value:
        left = hold.value / (hold.value + series.value)
        yield (
            f"fit the gate-source resistor on the pin's side: behind {series.shown} it would "
            f"leave the gate {left * 100:.0f} % of the drive"
        )
    yield (
        "half of the threshold, 1 MΩ at most and the leakage of the pin are common practice; "
        "the threshold falls with heat"
    )


CALCULATION = Calculation("series and gate-source resistor of a FET as a switch", Gate, size)
