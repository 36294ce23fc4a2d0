"""Two resistors that divide a voltage: the pair of a series that comes nearest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from boardvet.physics.divider import (
    divider_output,
    divider_spread,
    source_resistance,
    total_for_source,
)
from boardvet.quantity import preferred, show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable

__all__ = ["CALCULATION", "Divider", "Pair", "nearest_pair", "size"]

_MARGIN = 0.01
_CURRENT = 10e-6
_TOLERANCE = 0.01
_ROOM = 2.2
"""How far the sum of both may lie from its limit: one step of E3, so that pairs have a choice."""


class Pair(NamedTuple):
    """Two resistors of one series: from supply to tap, from tap to ground. [Ω]."""

    top: float
    bottom: float
    series: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """What the two resistors depend on."""

    input: Annotated[
        float,
        Input("V", "voltage across both, at which the output is wanted", "4.2 V", above_zero=True),
    ]
    output: Annotated[
        float,
        Input("V", "wanted at the tap then: full scale of a converter, a reference, a threshold",
              "1.1 V", above_zero=True),
    ]  # fmt: skip
    current: Annotated[
        float | None,
        Input("A", "most that both may draw at that input", "5 uA", above_zero=True, shown=True,
              source=f"{show(_CURRENT, 'A')} where source_max is not given either"),
    ] = None  # fmt: skip
    source_max: Annotated[
        float | None,
        Input("ohm", "most source resistance that what reads the tap takes", "10 kohm",
              above_zero=True),
    ] = None  # fmt: skip
    supply: Annotated[
        Span | None, Input("V", "how far the input goes over the life of the cell", "3.0 to 4.2 V")
    ] = None
    tolerance: Annotated[float, Input("", "of each resistor", "1 %", source="common practice")] = (
        _TOLERANCE
    )
    margin: Annotated[
        float, Input("", "how far a pair of E12 may miss before one of E24 is taken", "1 %")
    ] = _MARGIN


def nearest_pair(ratio: float, total: Span, series: str) -> Pair:
    """Return the pair whose ratio is nearest, of those whose sum lies in a range.

    Parameters
    ----------
    ratio : float
        Output over input, between 0 and 1.
    total : Span
        Least and most sum of both; at least a step of E3 wide. [Ω]
    series : str
        Of both.

    Examples
    --------
    >>> nearest_pair(0.5, Span(100e3, 220e3), "E12")
    Pair(top=56000.0, bottom=56000.0, series='E12')
    """

    def missed(pair: Pair) -> tuple[float, float]:
        off = abs(divider_output(1.0, pair.top, pair.bottom) / ratio - 1)
        return round(off, 9), pair.top + pair.bottom

    return min(_pairs(ratio, total, series), key=missed)


def _pairs(ratio: float, total: Span, series: str) -> Iterator[Pair]:
    bottom = preferred(ratio * total.low / 1.5, series, "up")
    while bottom <= ratio * total.high * 1.5:
        exact = bottom * (1 / ratio - 1)
        for top in (preferred(exact, series, "up"), preferred(exact, series, "down")):
            if total.low * (1 - 1e-9) <= top + bottom <= total.high * (1 + 1e-9):
                yield Pair(top, bottom, series)
        bottom = preferred(bottom * 1.001, series, "up")


def size(inputs: Divider) -> Answer:
    """Return the pair, its spread, what it draws, and how stiff it is."""
    if inputs.output >= inputs.input:
        raise Unsizable(
            f"output {show(inputs.output, 'V')} is not below input {show(inputs.input, 'V')}",
            "a divider only lowers a voltage",
        )
    ratio = inputs.output / inputs.input
    total = _total(inputs, ratio)
    pair = nearest_pair(ratio, total, "E12")
    reached = divider_output(inputs.input, pair.top, pair.bottom)
    if abs(reached / inputs.output - 1) > inputs.margin:
        pair = nearest_pair(ratio, total, "E24")
        reached = divider_output(inputs.input, pair.top, pair.bottom)
    exact = ratio * (pair.top + pair.bottom)
    chosen = (
        Chosen("top", pair.top, "ohm", pair.series, pair.top + pair.bottom - exact),
        Chosen("bottom", pair.bottom, "ohm", pair.series, exact),
    )
    return Answer(
        chosen=chosen,
        sums=tuple(_sums(inputs, pair, reached)),
        ends=tuple(_ends(inputs, pair)),
        buy=f"{chosen[0].shown} and {chosen[1].shown}, {inputs.tolerance * 100:g} %, any size",
        notes=tuple(_notes(inputs, pair)),
    )


def _total(inputs: Divider, ratio: float) -> Span:
    """Return the range of the sum: above what the current asks, or below what the source asks."""
    if inputs.current is None and inputs.source_max is not None:
        most = total_for_source(inputs.source_max, ratio)
        return Span(most / _ROOM, most)
    least = inputs.input / (_CURRENT if inputs.current is None else inputs.current)
    return Span(least, least * _ROOM)


def _sums(inputs: Divider, pair: Pair, reached: float) -> Iterator[str]:
    top, bottom = show(pair.top, "ohm"), show(pair.bottom, "ohm")
    yield (
        f"{show(inputs.input, 'V')} · {bottom} / ({top} + {bottom}) = {show(reached, 'V', 4)}, "
        f"{_percent(reached / inputs.output - 1)} off {show(inputs.output, 'V', 4)}"
    )
    low, high = divider_spread(pair.top, pair.bottom, inputs.tolerance)
    yield (
        f"with {inputs.tolerance * 100:g} % parts {show(low * inputs.input, 'V', 4)} to "
        f"{show(high * inputs.input, 'V', 4)}; {show(inputs.output, 'V', 4)} is reached between "
        f"{show(inputs.output / high, 'V', 4)} and {show(inputs.output / low, 'V', 4)}"
    )
    source = source_resistance(pair.top, pair.bottom)
    drawn = inputs.input / (pair.top + pair.bottom)
    yield f"draws {show(drawn, 'A')}; source resistance {top} ‖ {bottom} = {show(source, 'ohm')}"


def _percent(share: float) -> str:
    return f"{'−' if share < 0 else ''}{abs(share) * 100:.2g} %"


def _ends(inputs: Divider, pair: Pair) -> Iterator[str]:
    if inputs.supply is None:
        return
    for volts in sorted({*inputs.supply}, reverse=True):
        tap = divider_output(volts, pair.top, pair.bottom)
        drawn = volts / (pair.top + pair.bottom)
        yield f"{show(tap, 'V', 4)} at {show(volts, 'V')}, drawing {show(drawn, 'A')}"


def _notes(inputs: Divider, pair: Pair) -> Iterator[str]:
    if inputs.current is None and inputs.source_max is None:
        yield f"current assumed: at most {show(_CURRENT, 'A')} (common practice on a cell)"
    source = source_resistance(pair.top, pair.bottom)
    if inputs.source_max is not None and source > inputs.source_max * (1 + 1e-9):
        settled = source * 100e-9 * math.log(1000)
        yield (
            f"{show(source, 'ohm')} is over the {show(inputs.source_max, 'ohm')} that the reader "
            "takes: fit 100 nF from the tap to ground (common practice), which settles to 0.1 % "
            f"in {show(settled, 's')}, or allow more current"
        )


CALCULATION = Calculation("two resistors that divide a voltage", Divider, size)
