"""The pull-ups of an I²C bus: between what outputs can sink and what rises in time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.pull_up import (
    I2C_MODES,
    LOW_SHARE_UP_TO,
    I2cMode,
    low_level_of,
    pull_up_max,
    pull_up_min,
    rise_time,
)
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable
from boardvet.sizing._values import choose_between, resistor

__all__ = ["CALCULATION", "Pullup", "limits", "low_level_at", "size"]

_CURRENT_SOURCE_FROM = 200e-12
"""Above it UM10204 wants a current source or a switched pull-up in fast mode. [F]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pullup:
    """What the pull-ups of a bus depend on."""

    supply: Annotated[
        Span, Input("V", "what they pull up to, lowest to highest", "3.3 V", above_zero=True)
    ]
    speed: Annotated[float, Input("Hz", "clock of the bus", "400 kHz", above_zero=True)]
    capacitance: Annotated[
        float,
        Input("F", "of one line to ground: pins, some 10 pF each, and copper", "200 pF",
              above_zero=True),
    ]  # fmt: skip
    rise: Annotated[
        float | None,
        Input("s", "longest rise, where it is not that of the bus", "300 ns", above_zero=True),
    ] = None
    sink_current: Annotated[
        float | None,
        Input("A", "what the weakest output sinks, where it is not that of the bus", "3 mA",
              above_zero=True),
    ] = None  # fmt: skip
    low_level: Annotated[
        float | None, Input("V", "low level of the weakest output at that current", "0.4 V")
    ] = None


def mode_of(speed: float) -> I2cMode:
    """Return the slowest mode of the bus that has the clock.

    Raises
    ------
    Unsizable
        If none has.
    """
    for mode in I2C_MODES.values():
        if speed <= mode.clock * (1 + 1e-9):
            return mode
    raise Unsizable(
        f"{show(speed, 'Hz')} is faster than I²C with pull-ups",
        "fast-plus ends at 1 MHz; above it lines are driven both ways",
    )


def limits(inputs: Pullup) -> tuple[float, float]:
    """Return the least and the largest pull-up of a bus, in ohms."""
    mode = mode_of(inputs.speed)
    sink = inputs.sink_current or mode.sink_current
    if inputs.low_level is not None and inputs.low_level >= inputs.supply.low:
        raise Unsizable(
            f"low_level {show(inputs.low_level, 'V')} is not below the supply of "
            f"{show(inputs.supply.low, 'V')}",
            "give the low level of the output at that supply",
        )
    least = max(pull_up_min(volts, sink, inputs.low_level) for volts in _supplies(inputs))
    return least, pull_up_max(inputs.rise or mode.rise_time, inputs.capacitance)


def size(inputs: Pullup, fitted: float | None = None) -> Answer:
    """Return the pull-up in the geometric middle of both limits, and which limit is nearer.

    Parameters
    ----------
    inputs : Pullup
        What it depends on.
    fitted : float, optional
        A pull-up that stays where it lies between the limits. [Ω]
    """
    mode = mode_of(inputs.speed)
    least, most = limits(inputs)
    rise = inputs.rise or mode.rise_time
    if most < least:
        worst = rise / (math.log(7 / 3) * least)
        raise Unsizable(
            f"outputs ask for {show(least, 'ohm')} or more, the rise in {show(rise, 's')} with "
            f"{show(inputs.capacitance, 'F')} for {show(most, 'ohm')} or less: nothing is both",
            f"keep the line under {show(worst, 'F')}, or take a slower clock",
        )
    middle = math.sqrt(least * most)
    chosen = choose_between("pull-up", least, most, middle, "ohm")
    if fitted is not None and least <= fitted <= most:
        chosen = chosen._replace(value=fitted, series="as fitted")
    return Answer(
        chosen=(chosen,),
        sums=(
            f"least {_least_sum(inputs, least)}; most {show(rise, 's')} / "
            f"(0.8473 · {show(inputs.capacitance, 'F')}) = {show(most, 'ohm')}",
            f"geometric middle {show(middle, 'ohm')}; {_of(chosen)}: rises in "
            f"{_rise(inputs, chosen)}, {_nearer(chosen, least, most)}",
        ),
        ends=_ends(inputs, chosen),
        buy=resistor(chosen, inputs.supply.high**2 / chosen.value) + ", one for each line",
        notes=_notes(inputs, mode),
    )


def _supplies(inputs: Pullup) -> list[float]:
    """Return the supplies at which the least pull-up can be decided: the ends, and 2 V between."""
    low, high = inputs.supply
    return sorted({low, high, *([LOW_SHARE_UP_TO] if low <= LOW_SHARE_UP_TO <= high else [])})


def low_level_at(inputs: Pullup, volts: float) -> tuple[float, float]:
    """Return the low level of an output at a supply, and the current that it sinks. [V], [A]."""
    sink = inputs.sink_current or mode_of(inputs.speed).sink_current
    level, amps = low_level_of(volts, sink)
    return (level, amps) if inputs.low_level is None else (inputs.low_level, sink)


def _least_sum(inputs: Pullup, least: float) -> str:
    sink = inputs.sink_current or mode_of(inputs.speed).sink_current
    volts = next(
        each
        for each in _supplies(inputs)
        if math.isclose(pull_up_min(each, sink, inputs.low_level), least)
    )
    level, amps = low_level_at(inputs, volts)
    return f"({show(volts, 'V')} − {show(level, 'V')}) / {show(amps, 'A')} = {show(least, 'ohm')}"


def _of(chosen: Chosen) -> str:
    fitted = chosen.series == "as fitted"
    return f"{chosen.shown} {chosen.series if fitted else f'of {chosen.series}'}"


def _rise(inputs: Pullup, chosen: Chosen) -> str:
    return show(rise_time(chosen.value, inputs.capacitance), "s", 3)


def _nearer(chosen: Chosen, least: float, most: float) -> str:
    if chosen.value / least < most / chosen.value:
        return "nearer to what outputs can sink: a larger one is the safer change"
    return "nearer to the longest rise: a smaller one is the safer change"


def _ends(inputs: Pullup, chosen: Chosen) -> tuple[str, ...]:
    high, low = inputs.supply.high / chosen.value, inputs.supply.low / chosen.value
    drawn = f"each line draws {show(high, 'A')} while it is low"
    if low == high:
        return (drawn,)
    return (f"{drawn}, {show(low, 'A')} at {show(inputs.supply.low, 'V')}",)


def _notes(inputs: Pullup, mode: I2cMode) -> tuple[str, ...]:
    notes = [f"{mode.name} mode, NXP UM10204 s. 7.1: 30 % to 70 % of the supply"]
    if inputs.capacitance > mode.capacitance:
        notes.append(
            f"{show(inputs.capacitance, 'F')} is over the {show(mode.capacitance, 'F')} that "
            f"{mode.name} mode allows a line"
        )
    elif mode.name == "fast" and inputs.capacitance > _CURRENT_SOURCE_FROM:
        notes.append("above 200 pF UM10204 wants a current source or a switched pull-up")
    return tuple(notes)


CALCULATION = Calculation("pull-ups of an I²C bus", Pullup, size)
