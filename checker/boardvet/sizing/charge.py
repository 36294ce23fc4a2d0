"""The resistor that sets a charger's current, never above the wanted one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.charge_resistor import charge_current, charge_resistance
from boardvet.quantity import show
from boardvet.sizing._calculation import Answer, Calculation, Input
from boardvet.sizing._values import MARGIN, choose

__all__ = ["CALCULATION", "Charge", "size"]

_GENTLE, _USUAL = 0.5, 1.0
"""Charge current over capacity an hour: what spares a lithium-ion cell, and what most allow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """What the resistor of a charger depends on."""

    current: Annotated[
        float, Input("A", "most current that the cell is charged with", "100 mA", above_zero=True)
    ]
    program_gain: Annotated[
        float,
        Input(
            "V", "current times resistance of the charger, from its data sheet: 1000 V of an "
            "MCP73831, 1200 V of a TP4056 (both from memory)", "1000 V", above_zero=True,
        ),
    ]  # fmt: skip
    capacity: Annotated[
        float | None,
        Input("C", "of the cell, to compare the current with", "250 mAh", shown=True,
              above_zero=True),
    ] = None  # fmt: skip
    margin: Annotated[
        float,
        Input("", "how far E12 may miss before E24 is taken", "10 %", source="half a step of E12"),
    ] = MARGIN


def size(inputs: Charge) -> Answer:
    """Return the next resistor above, so that the current is never more than wanted."""
    wanted = charge_resistance(inputs.program_gain, inputs.current)
    chosen = choose("set resistor", wanted, "ohm", inputs.margin, "up")
    reached = charge_current(inputs.program_gain, chosen.value)
    return Answer(
        chosen=(chosen,),
        sums=(
            f"{inputs.program_gain:g} V / {show(inputs.current, 'A')} = {show(wanted, 'ohm')}",
            f"{chosen.shown} of {chosen.series}, not below it: {show(reached, 'A')}",
        ),
        buy=f"{chosen.shown} 1 %, any size: it carries next to nothing",
        notes=tuple(_notes(inputs, reached)),
    )


def _notes(inputs: Charge, reached: float) -> list[str]:
    notes = [
        "what the cell's own data sheet says of charging counts before any rule of thumb",
        "a lithium cell that is charged wrongly can burn: charge it only with a charger made for "
        "its chemistry, with a protection circuit, and no primary cell at all; local rules decide",
    ]
    if inputs.capacity is None:
        return notes
    rate = reached * 3600 / inputs.capacity
    words = f"{show(reached, 'A')} into {show(inputs.capacity, 'C')} is {show(rate, '', 2)} C"
    if rate > _USUAL:
        words += ": more than most lithium-ion cells allow (common practice: 1 C)"
    elif rate > _GENTLE:
        words += ": allowed by most lithium-ion cells, not gentle (common practice: 0.5 C)"
    return [words, *notes]


CALCULATION = Calculation("resistor that sets the current of a charger", Charge, size)
