"""The capacitor beside a load that keeps the dip of a pulse within what is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from boardvet.physics.reservoir import dip
from boardvet.physics.reservoir_size import NeededCapacitance, Reach, needed_capacitance
from boardvet.quantity import preferred, show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable

__all__ = ["CALCULATION", "Reservoir", "size"]

_KEPT = 0.7
_CERAMIC, _SOLID = 100e-6, 1e-3
"""Up to which a capacitance is sold as ceramics side by side, and as solid electrolyte. [F]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reservoir:
    """What the capacitor depends on."""

    current: Annotated[float, Input("A", "drawn by the pulse", "15 mA", above_zero=True)]
    duration: Annotated[float, Input("s", "of the pulse", "2 ms", above_zero=True)]
    dip: Annotated[
        float,
        Input("V", "deepest that is allowed, below the cell without load", "200 mV",
              above_zero=True),
    ]  # fmt: skip
    cell_resistance: Annotated[
        Span,
        Input("ohm", "of the cell and what lies behind it, from fresh to its end", "15 to 60 ohm"),
    ]
    every: Annotated[
        float | None,
        Input("s", "from one pulse to the next; a single pulse from rest where it is not given",
              "500 ms", above_zero=True),
    ] = None  # fmt: skip
    series_resistance: Annotated[float, Input("ohm", "of the capacitor (ESR)", "50 mohm")] = 0.0
    kept: Annotated[
        float,
        Input("", "share of the printed capacitance that tolerance, ageing and DC bias leave",
              "70 %", above_zero=True,
              source="common practice for X7R of twice the voltage; the maker's curve says more"),
    ] = _KEPT  # fmt: skip


def size(inputs: Reservoir, fitted: Chosen | None = None) -> Answer:
    """Return the capacitor for the end of the cell, where its resistance is highest.

    Parameters
    ----------
    inputs : Reservoir
        What it depends on.
    fitted : Chosen, optional
        Taken in place of the next above of the series.
    """
    worst = inputs.cell_resistance.high
    found = _needed(inputs, worst)
    steady = inputs.current * worst
    if found.reach is Reach.UNNEEDED:
        return _unneeded(inputs, steady)
    if found.reach is not Reach.POSSIBLE:
        raise _hopeless(inputs, found, steady)
    wanted = found.capacitance / inputs.kept
    chosen = fitted or Chosen("capacitor", preferred(wanted, "E6", "up"), "F", "E6", wanted)
    return Answer(
        chosen=(chosen,),
        sums=(
            f"without it the cell dips by {show(inputs.current, 'A')} · {show(worst, 'ohm')} = "
            f"{show(steady, 'V')}; {show(inputs.duration, 's')} within {show(inputs.dip, 'V')} "
            f"needs {show(found.capacitance, 'F')} of what is left",
            f"{show(found.capacitance, 'F')} / {inputs.kept * 100:.3g} % = {show(wanted, 'F')}; "
            + _next(chosen),
        ),
        ends=tuple(_ends(inputs, chosen)),
        buy=_buy(chosen),
        notes=tuple(_notes(inputs, chosen)),
    )


def _next(chosen: Chosen) -> str:
    if chosen.series == "as fitted":
        return f"{chosen.shown} {chosen.series}"
    return f"{chosen.shown} of {chosen.series}, which is what capacitors of this size are sold in"


def _needed(inputs: Reservoir, ohms: float) -> NeededCapacitance:
    period = math.inf if inputs.every is None else inputs.every
    if period < inputs.duration:
        raise Unsizable(
            f"a pulse of {show(inputs.duration, 's')} every {show(period, 's')} never ends",
            "give a period that is longer than the pulse",
        )
    return needed_capacitance(
        inputs.current, inputs.duration, ohms, inputs.dip, inputs.series_resistance, period
    )


def _unneeded(inputs: Reservoir, steady: float) -> Answer:
    return Answer(
        chosen=(),
        sums=(
            f"no reservoir is needed: even for good {show(inputs.current, 'A')} dip the cell by "
            f"{show(steady, 'V')} only, and {show(inputs.dip, 'V')} are allowed",
        ),
        buy="nothing; keep the small capacitors at the supply pins",
    )


def _hopeless(inputs: Reservoir, found: NeededCapacitance, steady: float) -> Unsizable:
    allowed = show(inputs.dip, "V")
    if found.reach is Reach.MEAN:
        share = inputs.duration / (inputs.every or math.inf)
        return Unsizable(
            f"no capacitor is large enough: the mean current alone dips the cell by "
            f"{show(steady * share, 'V')}, and {allowed} are allowed",
            "make pulses shorter or rarer, take less current, or a cell of less resistance",
        )
    drop = inputs.current * inputs.series_resistance
    return Unsizable(
        f"no capacitance is enough: its own series resistance dips by {show(drop, 'V')} of the "
        f"{allowed} that are allowed",
        "take a capacitor of less series resistance, or several side by side",
    )


def _ends(inputs: Reservoir, chosen: Chosen) -> Iterator[str]:
    left = chosen.value * inputs.kept
    words = []
    for name, ohms in zip(("fresh", "at the end"), inputs.cell_resistance, strict=True):
        depth = dip(inputs.current, inputs.duration, ohms, left, inputs.series_resistance)
        words.append(f"{show(depth, 'V')} {name} ({show(ohms, 'ohm')})")
    unique = words if inputs.cell_resistance.low != inputs.cell_resistance.high else words[1:]
    yield f"dip of one pulse from rest with it: {', '.join(unique)}"
    settled = (inputs.cell_resistance.high + inputs.series_resistance) * left * math.log(100)
    yield f"charged again to 1 % of the dip in {show(settled, 's')}"


def _buy(chosen: Chosen) -> str:
    if chosen.value <= _CERAMIC:
        return f"{chosen.shown} X7R or X5R, rated at twice the voltage or more (common practice)"
    if chosen.value <= _SOLID:
        return (
            f"{chosen.shown} polymer or tantalum (mind its leakage: it drains the cell for good), "
            "or ceramics side by side"
        )
    return f"{chosen.shown}: nothing that fits a small board beside a cell; see the note"


def _notes(inputs: Reservoir, chosen: Chosen) -> Iterator[str]:
    if chosen.value > _SOLID:
        yield (
            f"{show(inputs.duration, 's')} at {show(inputs.current, 'A')} is too long for a "
            "capacitor of small size: shorten the pulse, part it, or take a cell of less "
            "resistance"
        )
    if inputs.every is not None:
        settled = (inputs.cell_resistance.high + inputs.series_resistance) * chosen.value
        if settled * math.log(100) > inputs.every - inputs.duration:
            yield "it is not full again before the next pulse; the sum counts that in"
    yield (
        "the load is taken as a constant current: lights with resistors draw less as the voltage "
        "falls, a switching regulator more"
    )


CALCULATION = Calculation("capacitor that carries a pulse within an allowed dip", Reservoir, size)
