"""The base resistor of a bipolar transistor as a switch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.heat import resistor_dissipation
from boardvet.physics.transistor import FORCED_GAIN, base_resistance
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Input, Unsizable
from boardvet.sizing._values import MARGIN, choose, resistor

__all__ = ["BASE_EMITTER", "CALCULATION", "Base", "size"]

BASE_EMITTER = 0.85
"""VBE(sat) of an MMBT3904 at 10 mA and 1 mA, highest (Nexperia). [V]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """What the base resistor depends on."""

    drive: Annotated[
        Span,
        Input("V", "high level of the pin, from the end of the cell to fresh", "2.0 to 3.2 V",
              above_zero=True),
    ]  # fmt: skip
    collector_current: Annotated[
        float, Input("A", "current to be switched", "20 mA", above_zero=True)
    ]
    base_emitter: Annotated[
        float,
        Input("V", "base-emitter voltage while saturated", "0.85 V", above_zero=True,
              source="highest of an MMBT3904, Nexperia data sheet"),
    ] = BASE_EMITTER  # fmt: skip
    gain: Annotated[
        float,
        Input("", "forced gain: collector over base current", "10", above_zero=True,
              source="at which makers specify saturation"),
    ] = FORCED_GAIN  # fmt: skip
    pin_resistance: Annotated[float, Input("ohm", "of the pin that drives it", "30 ohm")] = 0.0
    pin_current_max: Annotated[
        float | None, Input("A", "most current of that pin", "10 mA", above_zero=True)
    ] = None
    margin: Annotated[
        float,
        Input("", "how far E12 may miss before E24 is taken", "10 %", source="half a step of E12"),
    ] = MARGIN


def size(inputs: Base) -> Answer:
    """Return the next resistor below, so that it still saturates at the end of the cell."""
    low, high = inputs.drive
    if low <= inputs.base_emitter:
        raise Unsizable(
            f"{show(low, 'V')} does not exceed the {show(inputs.base_emitter, 'V')} of the base",
            "drive it from more, or take a FET with a low threshold",
        )
    full = base_resistance(low, inputs.base_emitter, inputs.collector_current, inputs.gain)
    wanted = full - inputs.pin_resistance
    needed = inputs.collector_current / inputs.gain
    if wanted < 1.0:
        raise Unsizable(
            f"{show(needed, 'A')} of base current leave nothing for the resistor beside the pin's "
            f"{show(inputs.pin_resistance, 'ohm')}",
            "take a FET, or two transistors",
        )
    chosen = choose("base resistor", wanted, "ohm", inputs.margin, "down")
    total = chosen.value + inputs.pin_resistance
    ends = [(volts - inputs.base_emitter) / total for volts in inputs.drive]
    less = f" − {show(inputs.pin_resistance, 'ohm')}" if inputs.pin_resistance else ""
    return Answer(
        chosen=(chosen,),
        sums=(
            f"base current {show(inputs.collector_current, 'A')} / {inputs.gain:g} = "
            f"{show(needed, 'A')}; ({show(low, 'V')} − {show(inputs.base_emitter, 'V')}) / "
            f"{show(needed, 'A')}{less} = {show(wanted, 'ohm')}",
            f"{chosen.shown} of {chosen.series}, not above it: {show(ends[0], 'A')} into the base",
        ),
        ends=_ends(inputs, ends) if low != high else (),
        buy=resistor(chosen, resistor_dissipation(ends[1], chosen.value)),
        notes=tuple(_notes(inputs, ends[1])),
    )


def _ends(inputs: Base, ends: list[float]) -> tuple[str, ...]:
    low, high = inputs.drive
    return (
        f"{show(ends[1], 'A')} at {show(high, 'V')}, {show(ends[0], 'A')} at {show(low, 'V')}, "
        f"where it switches {show(ends[0] * inputs.gain, 'A')} saturated",
    )


def _notes(inputs: Base, highest: float) -> list[str]:
    if inputs.pin_current_max is not None and highest > inputs.pin_current_max:
        return [
            f"the pin gives {show(highest, 'A')}, over its {show(inputs.pin_current_max, 'A')}: "
            "take a FET, or a larger forced gain within the data sheet"
        ]
    return []


CALCULATION = Calculation("base resistor of a bipolar transistor as a switch", Base, size)
