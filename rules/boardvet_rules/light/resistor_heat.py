"""A resistor gets more power than it is made for.

On the bench
------------
The resistor gets too hot to touch, darkens the board, drifts, and in the end opens or burns.

What is judged
--------------
Each resistor on the way of a light, and each other one through which direct current can flow: its
power, with the network solved, in the state of the board that is worst. For lights the mean over
the pattern counts, and of pulses of a second or more their own power; without a pattern every
light is on for good. The rating is the stated one, or that of a chip resistor of its case, up to
70 °C; above that, at the hot end of the stated temperature, it falls in a straight line to
nothing at 155 °C. Hold: above the rating at typical voltages. Query: above it only at the highest
voltages; above 0.6 of it; above the rating of the older standard type where a maker sells two of
a case; or a pin or transistor would have to be on for good. Short pulses may exceed the rating as
long as their mean is within it: query above 6.25 times the rating, hold above the overload
voltage of the case.

Left undetermined
-----------------
The value, or the rating and the case of a resistor whose power matters, is not known; or what its
current depends on.

Cure
----
Fit a larger case, or a larger value.

Settings
--------
share : part of the rating from which on it is asked about. Default 0.6.
overload : times the rating that a short pulse may have. Default 6.25.

Wrong::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    R1 150 @0402 VIN N1
    D1 led/red N1 GND = forward_voltage 1.8 V at 20 mA

Wrong (a bleeder across the supply)::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    R1 220 @0603 VIN GND

Right::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    R1 150 @1206 VIN N1
    D1 led/red N1 GND = forward_voltage 1.8 V at 20 mA

Sources
-------
Ratings by case at 70 °C, overload voltages, range to 155 °C: Uni-Ohm chip resistor data sheets.
Linear derating: common practice of such sheets, from memory. 0.6 of the rating: common practice
(as in EEE-INST-002, from memory). 6.25 times, which is 2.5 times the rated voltage for 5 s: the
short-time overload test of IEC 60115-1, from memory. That a chip is heated through within seconds:
from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.handle import Circuit
from boardvet.circuit.heating import (
    CASES,
    STANDARD_TYPE,
    Heat,
    HeatedResistor,
    Heating,
    case_rating,
)
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.physics.heat import derated_power
from boardvet.quantity import preferred, show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

SMALLEST = 1 / 20
"""Rating of the smallest chip in common use, 0201: Uni-Ohm chip resistor sheet. [W]"""

HIGHEST_RAIL = 24.0
"""No rail of a board that a cell or USB feeds is taken to be higher, where it is not known. [V]"""

ROOM = 25.0
"""Where no temperature is stated. [°C]"""

OVERLOAD = {"0201": 50.0, "0402": 100.0, "0603": 100.0, "0805": 300.0, "1206": 400.0}
"""Most voltage of a short pulse by case, the lower where sheets differ: Uni-Ohm sheets. [V]"""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """From which share of the rating on it is asked about, and what a pulse may have."""

    share: Annotated[float, ""] = 0.6
    overload: Annotated[float, ""] = 6.25


class Rating(NamedTuple):
    """What a resistor stands at the hot end, that of the standard type, and the stated power."""

    power: float
    standard: float
    stated: Known[float]
    case: str


@rule(level=Level.HOLD)
def check(
    resistor: HeatedResistor, circuit: Circuit, heating: Heating, settings: Settings
) -> Found | Clear:
    """Judge one resistor by the power that the solver finds."""
    rating = _rating(circuit, resistor)
    least = rating.power if rating else SMALLEST * _derating(circuit)
    if rating:
        least = min(least, rating.standard / settings.share)
    if _cannot_matter(circuit, heating, resistor, settings.share * least):
        return Clear()
    heat = heating.worst(resistor)
    if heat is None:
        return Clear()
    numbers: tuple[Number, ...] = (
        Number("power", heat.typical, "W", "computed: the network, solved"),
        Number("power at the highest", heat.highest, "W", "computed: same, solved"),
    )
    if rating is None:
        if heat.highest <= settings.share * least and heat.peak <= settings.overload * least:
            return Clear(numbers)
        raise _no_rating(circuit, resistor)
    numbers = (*numbers, Number("rating", rating.power, "W", rating.stated.source))
    return _judged(resistor, heating, heat, rating, settings, numbers)


def _judged(
    resistor: HeatedResistor,
    heating: Heating,
    heat: Heat,
    rating: Rating,
    settings: Settings,
    numbers: tuple[Number, ...],
) -> Found | Clear:
    asked = min(settings.share * rating.power, rating.standard)
    over = heat.typical > rating.power
    if not over and heat.highest <= rating.power and heat.typical <= asked:
        return _pulse(resistor, heat, rating, settings, numbers)
    highest = not over and heat.highest > rating.power
    power = heat.highest if highest else heat.typical
    when = "At the highest supply it" if highest else "It"
    if not heat.sure:
        when = f"While what switches it is on, {when[0].lower()}{when[1:]}"
    return Found(
        bench=f"{THIS} gets too hot, drifts and in the end opens."
        if power > rating.power
        else f"{THIS} gets hot, and its neighbours with it.",
        sum=f"{when} turns {show(power, 'W')} into heat, {power / rating.power:.2g} of the "
        f"{show(rating.power, 'W')} that it stands{_as_made(rating, power)}.",
        fix=_fix(heating, resistor, heat, rating, settings),
        numbers=numbers,
        level=Level.HOLD if over and heat.sure else Level.QUERY,
        state=heat.state.name,
    )


def _pulse(
    resistor: HeatedResistor,
    heat: Heat,
    rating: Rating,
    settings: Settings,
    numbers: tuple[Number, ...],
) -> Found | Clear:
    """Judge the pulses of a resistor whose mean power is within its rating."""
    allowed = settings.overload * rating.power
    volts = OVERLOAD.get(rating.case)
    breaks = volts is not None and heat.volts > volts
    if heat.duration is None or (heat.peak <= allowed and not breaks):
        return Clear(numbers)
    return Found(
        bench=f"{THIS} may open after some thousand pulses.",
        sum=f"A pulse of {show(heat.duration, 's')} has {show(heat.volts, 'V')} and "
        f"{show(heat.peak, 'W')}, {heat.peak / rating.power:.2g} times its rating.",
        fix="fit a pulse-proof type or a larger case",
        numbers=(*numbers, Number("power of a pulse", heat.peak, "W", "computed: solved")),
        level=Level.HOLD if breaks else Level.QUERY,
        state=heat.state.name,
    )


def _rating(circuit: Circuit, resistor: HeatedResistor) -> Rating | None:
    stated = cast("Known[float] | None", circuit.known(resistor.reference, "power_rating"))
    if stated is None:
        return None
    share = _derating(circuit)
    of_case = stated.source.startswith("facts passive.yaml")
    case = stated.source.rpartition("case ")[2] if of_case else ""
    standard = STANDARD_TYPE.get(case, stated.value)
    return Rating(stated.value * share, standard * share, stated, case)


def _derating(circuit: Circuit) -> float:
    """Return the share of the rating that is left at the hot end of the stated temperature."""
    stated = circuit.intent.temperature
    return derated_power(1.0, stated.value.high if stated is not None else ROOM)


def _cannot_matter(
    circuit: Circuit, heating: Heating, resistor: HeatedResistor, watts: float
) -> bool:
    """Tell whether it stays below a power with the whole highest rail across it."""
    try:
        return heating.cannot_exceed(resistor, watts)
    except MissingFact:
        if HIGHEST_RAIL**2 / max(heating.ohms(resistor), 1e-9) <= watts:
            return True
        raise


def _no_rating(circuit: Circuit, resistor: HeatedResistor) -> MissingFact:
    return MissingFact(
        resistor.reference,
        "power_rating",
        f"neither the power rating nor the case of {resistor.reference} is known",
        f"parts: {{{resistor.reference}: {{power_rating: 0.1 W}}}}",
    )


def _as_made(rating: Rating, power: float) -> str:
    if not rating.case:
        return ""
    if rating.standard < power <= rating.power:
        standard = show(rating.standard, "W")
        return f" in case {rating.case}; the standard type of a maker stands {standard}"
    return f" in case {rating.case}"


def _fix(
    heating: Heating, resistor: HeatedResistor, heat: Heat, rating: Rating, settings: Settings
) -> str:
    """Name the smallest case that stands it with the usual margin, else a larger value."""
    share = rating.power / rating.stated.value if rating.stated.value else 1.0
    for case in CASES:
        known = case_rating(case)
        if known is None:
            continue
        stands = min(settings.share * known.value, STANDARD_TYPE.get(case, known.value)) * share
        if stands >= heat.highest:
            return f"fit {case} or larger for {THIS}"
    ohms = heating.ohms(resistor) * heat.highest / (settings.share * rating.power)
    return f"raise {THIS} to {show(preferred(ohms, 'E12', 'up'), 'ohm')}, or split it"
