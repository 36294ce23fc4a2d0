"""View: the supply voltage that each part needs and stands, and when a rail leaves it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple, Self, cast

from boardvet.circuit.cells import MOMENTS
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import pin_name
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.rails import SuppliedPart
from boardvet.known import Known
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = [
    "WORST_DROPOUT",
    "HeaderReach",
    "Least",
    "first_below",
    "has_own_range",
    "least_supply",
    "with_dropout",
    "without_dropout",
]

_INSIDE = re.compile(r"VBUS|.*REGI(N)?|VDDH|V?USB|USB_?V.*|VDDUSB|VIN|RAW|5V|V?EXT_?5V|VDD5?_?USB")

WORST_DROPOUT = 2.0
"""No linear regulator of small boards needs more: LM78xx, data sheet, from memory. [V]"""


class Least(NamedTuple):
    """The lowest supply of a part, and the clock at which it holds ("" where none is known)."""

    volts: Known[float]
    clock: Known[float] | None


def least_supply(circuit: Circuit, reference: str) -> Least:
    """Return the lowest voltage on which a part works, at its clock where that is known.

    Raises
    ------
    MissingFact
        Where its supply range is not known.
    """
    supply = cast("Known[Span]", circuit.need(reference, "supply"))
    lowest = Known(supply.value.low, "V", supply.source)
    clock = circuit.known(reference, "clock")
    by_clock = circuit.known(reference, "supply_min")
    if clock is None or by_clock is None:
        return Least(lowest, None)
    needed = _at(cast("Points", by_clock.value), cast("float", clock.value))
    if needed <= lowest.value:
        return Least(lowest, None)
    return Least(Known(needed, "V", by_clock.source), cast("Known[float]", clock))


def _at(points: Points, clock: float) -> float:
    """Return the voltage for a clock: linear between points, that of the ends outside."""
    stated = sorted((point.at or 0.0, point.value) for point in points)
    if clock <= stated[0][0]:
        return stated[0][1]
    for (slow, low), (fast, high) in pairwise(stated):
        if clock <= fast:
            return low + (high - low) * (clock - slow) / (fast - slow)
    return stated[-1][1]


def has_own_range(circuit: Circuit, part: SuppliedPart) -> bool:
    """Tell whether the pins on a rail are inputs of a regulator inside a part.

    Such pins (VBUS, REGIN, VDDH) stand more than the other supply pins, of which `supply` is said.
    """
    if part.part_kind in {Kind.REGULATOR, Kind.CHARGER}:
        return False
    named = all(_INSIDE.fullmatch(pin_name(pin.pin.function)) for pin in part.pins)
    others = circuit.view(PinRoles).pins(part.reference, Role.SUPPLY, Role.SUPPLY_OUTPUT)
    on_this = {pin.pin.number for pin in part.pins}
    return named and any(pin.pin.number not in on_this for pin in others)


def first_below(volts: Sequence[float], limit: float) -> float | None:
    """Return the share of charge used when a voltage first is below a limit, None if it never is.

    Parameters
    ----------
    volts : sequence of float
        One voltage for each of `MOMENTS`. [V]
    limit : float
        [V]

    Returns
    -------
    float or None
        From 0 to 1, linear between the moments.

    Examples
    --------
    Falling in a straight line from 3.0 V to 2.0 V, half of it is above 2.5 V:

    >>> first_below([3.0 - used for used in MOMENTS], 2.5)
    0.5
    """
    if volts[0] < limit:
        return 0.0
    for (used, high), (after, low) in pairwise(zip(MOMENTS, volts, strict=True)):
        if low < limit:
            return used + (after - used) * (high - limit) / (high - low)
    return None


def without_dropout(circuit: Circuit, fed: Fed) -> Regulator | None:
    """Return the last regulator on the way to a node whose drop-out voltage is not known."""
    for converter in circuit.view(Converters).all:
        conversion = converter.conversion
        if (
            converter.reference == next(iter(fed.path[-1:]), None)
            and not converter.charger
            and not conversion.dropout_known
            and not conversion.steps_up
        ):
            return converter
    return None


def with_dropout(fed: Fed, before: Fed, dropout: float) -> tuple[float, ...]:
    """Return the lowest voltage behind a regulator at each moment, in volts."""
    return tuple(
        min(behind, max(ahead - dropout, 0.0))
        for behind, ahead in zip(fed.low, before.low, strict=True)
    )


@dataclass(frozen=True)
class HeaderReach:
    """For each programming header the supply that it would harm first.

    Parameters
    ----------
    first_harmed : mapping of str to SuppliedPart
        By header: of the parts it reaches at `HEADER_VOLTAGE`, the one that stands least, if that
        is too little.
    """

    first_harmed: Mapping[str, SuppliedPart]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Compare what each header puts on the rails with what is known of the parts there."""
        found: dict[str, tuple[float, SuppliedPart]] = {}
        reach = circuit.view(Feeding).from_header
        for part in SuppliedPart.on(circuit) if reach else ():
            supply = circuit.known(part.reference, "supply")
            if supply is None:
                continue
            highest = cast("Span", supply.value).high
            for header, fed in reach.items():
                if part.node not in fed or fed[part.node].high[0] <= highest:
                    continue
                if header not in found or highest < found[header][0]:
                    found[header] = (highest, part)
        return cls({header: part for header, (_, part) in found.items()})
