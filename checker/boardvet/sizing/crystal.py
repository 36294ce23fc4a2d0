"""The two capacitors of a crystal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.crystal import load_capacitors, load_seen
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable
from boardvet.sizing._values import MARGIN, choose

__all__ = ["ACROSS", "CALCULATION", "Crystal", "size", "stray_of"]

ACROSS = Span(2e-12, 7e-12)
"""Strays across a crystal where nobody states them (STM32F103, DocID13587 s. 5.3.6). [F]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crystal:
    """What the capacitors of a crystal depend on."""

    load_capacitance: Annotated[
        float,
        Input("F", "capacitance that the crystal is made to see", "12.5 pF", above_zero=True),
    ]
    stray: Annotated[
        Span | None,
        Input("F", "of pins and board across the crystal, as ST counts it; half of stray_pin",
              "2 pF", source="2 to 7 pF: STM32F103, DocID13587 s. 5.3.6"),
    ] = None  # fmt: skip
    stray_pin: Annotated[
        Span | None,
        Input("F", "from each pin to ground instead, as Atmel counts it", "5 to 10 pF"),
    ] = None
    margin: Annotated[
        float,
        Input("", "how far E12 may miss before E24 is taken", "10 %", source="half a step of E12"),
    ] = MARGIN


def size(inputs: Crystal, fitted: Chosen | None = None) -> Answer:
    """Return each of two equal capacitors, for the middle of the strays.

    Parameters
    ----------
    inputs : Crystal
        What they depend on.
    fitted : Chosen, optional
        Taken in place of the nearest of the series.
    """
    stray = stray_of(inputs)
    if stray.high >= inputs.load_capacitance:
        raise Unsizable(
            f"strays of up to {show(stray.high, 'F')} across the crystal alone are more than its "
            f"load capacitance of {show(inputs.load_capacitance, 'F')}",
            "shorten its tracks and state the strays you reach, or take one for more load",
        )
    least, most = (
        load_capacitors(inputs.load_capacitance, each) for each in (stray.high, stray.low)
    )
    wanted = (least + most) / 2
    chosen = fitted or choose("each capacitor", wanted, "F", inputs.margin)
    seen = [load_seen(chosen.value, chosen.value, each) for each in stray]
    low, high = show(stray.low, "F"), show(stray.high, "F")
    strays = low if stray.low == stray.high else f"{low} to {high}"
    loads = " to ".join(dict.fromkeys(show(each, "F") for each in seen))
    between = "" if least == most else f" (from {show(least, 'F')} to {show(most, 'F')})"
    return Answer(
        chosen=(chosen,),
        sums=(
            f"2 · ({show(inputs.load_capacitance, 'F')} − {strays}) = "
            f"{show(wanted, 'F')}{between}",
            f"two of {chosen.shown} ({chosen.series}) and the strays: the crystal sees {loads}",
        ),
        buy=f"2 × {chosen.shown} C0G, 5 % or closer; the same one at both pins",
        notes=_notes(inputs),
    )


def stray_of(inputs: Crystal) -> Span:
    """Return the strays across the crystal, however they are stated. [F]."""
    if inputs.stray is not None and inputs.stray_pin is not None:
        raise Unsizable(
            "stray and stray_pin say the same in two ways",
            "leave one out: stray is across the crystal and half of stray_pin",
        )
    if inputs.stray_pin is not None:
        return Span(inputs.stray_pin.low / 2, inputs.stray_pin.high / 2)
    return ACROSS if inputs.stray is None else inputs.stray


def _notes(inputs: Crystal) -> tuple[str, ...]:
    if inputs.stray is None and inputs.stray_pin is None:
        return (
            "strays assumed: 2 to 7 pF across the crystal (STM32F103, DocID13587 s. 5.3.6); "
            "measure the frequency on the first board",
        )
    return ()


CALCULATION = Calculation("the two capacitors of a crystal", Crystal, size)
