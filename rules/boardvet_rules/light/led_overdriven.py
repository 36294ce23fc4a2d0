"""An LED behind a resistor carries more current than it is rated for.

On the bench
------------
The light is very bright, turns warm, and fades or fails early.

What is judged
--------------
Each LED that a resistor limits: its current with fresh sources, the whole network solved, in each
state and each step of the pattern, against its rating for that pulse (the direct-current rating
for pulses of 10 ms or more or a duty above 1/10, else its peak rating). Hold: above it as a rule.
Query: only where forward voltages are low, resistors at the low end of their tolerance and the
supply at its highest; or up to twice the direct-current rating in short pulses where no peak
rating is known. LEDs that nothing limits belong to led-unlimited, those at the output of a driver
to the resistor that sets it.

Left undetermined
-----------------
The forward voltage or colour of the LED, the value of its resistor, or what feeds it is not known.

Cure
----
A larger resistor; the finding computes the value and has solved the board with it.

Settings
--------
forward_voltage : how far below typical a forward voltage may be. Default 0.1 V.
tolerance : of resistors that state none. Default 5 %.

Wrong::

    BT1 cell/LR6 + VCC - GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    R1 47 VCC N1
    D1 led/red N1 GND = forward_voltage 2.0 V at 20 mA = current_max 20 mA

Wrong (only with a fresh supply and parts at the end of their tolerance)::

    J1 connector/in 1: VCC 2: GND
    ~ sources: {J1: {net: VCC, voltage: 4.75 to 5.25 V}}
    R1 150 VCC N1
    D1 led/red N1 GND = forward_voltage 2.0 V at 20 mA = current_max 22 mA

Right::

    BT1 cell/LR6 + VCC - GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    R1 330 VCC N1
    D1 led/red N1 GND = forward_voltage 2.0 V at 20 mA = current_max 20 mA

Sources
-------
Kirchhoff's laws and the junction equation, solved. Ratings: data sheet of the LED; without one,
20 mA is assumed. Forward voltage 0.1 V below typical: the Würth 150060SS75003 data sheet states
1.8 V least and 1.9 V typical, measured to 0.1 V. 5 %: common practice for resistors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from boardvet.circuit.handle import Circuit
from boardvet.circuit.led_ratings import LedRating, led_rating
from boardvet.circuit.light_corners import (
    FORWARD_SPREAD,
    Corner,
    LightCorners,
    preferred_values,
    tolerance,
)
from boardvet.circuit.light_groups import largest_limiter
from boardvet.circuit.lighting import LightCurrent, Lighting
from boardvet.circuit.pattern import Pattern
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import resistance
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

MOST = 1000.0
"""Values up to this many times the fitted one are tried."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How far parts may be off."""

    forward_voltage: Annotated[float, "V"] = FORWARD_SPREAD.value
    tolerance: Annotated[float, ""] = 0.05

    @property
    def corner(self) -> Corner:
        """The corner in which the current is highest."""
        return Corner(self.forward_voltage, self.tolerance)


class Moment(NamedTuple):
    """A light in one state and step, with what it stands there and carries at the most."""

    light: LightCurrent
    rating: LedRating
    most: float

    @property
    def allowed(self) -> float:
        """What the light stands. [A]."""
        return self.rating.allowed.value


@rule(level=Level.HOLD)
def check(
    light: LedString,
    circuit: Circuit,
    lighting: Lighting,
    pattern: Pattern,
    corners: LightCorners,
    settings: Settings,
) -> Found | Clear:
    """Judge one light by the current that its resistor lets through."""
    if light.bare or not light.limiters:
        return Clear()
    reference = light.light.reference
    entries = {lit: led_rating(circuit, reference, lit) for lit in pattern.lit(reference)}
    least = min(rating.allowed.value for rating in entries.values())
    states = lighting.states(light)
    ceilings = [corners.ceiling(light, state) for state in states]
    if all(ceiling is not None and ceiling <= least for ceiling in ceilings):
        return Clear()
    most = {
        (state, lit): corners.highest(light, state, lit, settings.corner)
        for state in states
        for lit in entries
    }
    if all(current <= entries[lit].allowed.value for (_, lit), current in most.items()):
        return Clear()
    moments = [
        Moment(each, entries[each.lit], max(most[each.state, each.lit], each.current))
        for each in lighting.each(light)
    ]
    typical = max(moments, key=lambda moment: moment.light.current / moment.allowed)
    if typical.light.current > typical.allowed:
        return _overdriven(circuit, corners, light, typical, settings)
    worst = max(moments, key=lambda moment: moment.most / moment.allowed)
    return _in_the_corner(circuit, corners, light, worst, settings)


def _numbers(moment: Moment) -> tuple[Number, ...]:
    allowed = moment.rating.allowed
    return (
        Number("LED current", moment.light.current, "A", "computed: the network, solved"),
        Number("allowed", allowed.value, "A", allowed.source),
    )


def _overdriven(
    circuit: Circuit,
    corners: LightCorners,
    light: LedString,
    moment: Moment,
    settings: Settings,
) -> Found:
    sure = not moment.rating.unsure or moment.rating.surely_exceeded(moment.light.current)
    when = "with a fresh cell" if moment.light.on_cell else "as a rule"
    resistor = largest_limiter(circuit, light)
    unsure = "" if sure else " all the time, its peak rating is not known"
    return Found(
        bench=f"{THIS} is very bright and fades or fails early.",
        sum=f"{resistor} lets {show(moment.light.current, 'A')} through {when}; "
        f"{THIS} stands {show(moment.allowed, 'A')}{unsure}.",
        fix=_fix(circuit, corners, light, moment, settings),
        numbers=_numbers(moment),
        level=Level.HOLD if sure else Level.QUERY,
        parts=(resistor,),
        state=moment.light.state.name,
    )


def _in_the_corner(
    circuit: Circuit,
    corners: LightCorners,
    light: LedString,
    moment: Moment,
    settings: Settings,
) -> Found:
    off = tolerance(circuit, largest_limiter(circuit, light), settings.tolerance)
    supply = "a fresh cell" if moment.light.on_cell else "the highest supply"
    return Found(
        bench=f"{THIS} fades or fails early on some of the boards.",
        sum=f"{show(moment.light.current, 'A')} flow as a rule, and up to "
        f"{show(moment.most, 'A')} with {supply}, resistors {off.value * 100:g} % low and the "
        f"light {show(settings.forward_voltage, 'V')} low; {THIS} stands "
        f"{show(moment.allowed, 'A')}.",
        fix=_fix(circuit, corners, light, moment, settings),
        numbers=(
            *_numbers(moment),
            Number("LED current at the most", moment.most, "A", "computed: the network, solved"),
            Number("tolerance of the resistor", off.value, "", off.source),
            Number("forward voltage off by", settings.forward_voltage, "V", FORWARD_SPREAD.source),
        ),
        level=Level.QUERY,
        parts=(largest_limiter(circuit, light),),
        state=moment.light.state.name,
    )


def _fix(
    circuit: Circuit,
    corners: LightCorners,
    light: LedString,
    moment: Moment,
    settings: Settings,
) -> str:
    """Return the change: the smallest value at which the rating holds in the corner too."""
    reference = largest_limiter(circuit, light)
    known = resistance(circuit, reference)
    fitted = known.value if known is not None else 1.0
    values = preferred_values(max(fitted, 1.0), max(fitted, 1.0) * MOST)
    at = light, moment.light.state, moment.light.lit
    most = corners.swept(*at, {reference: values}, settings.corner)
    fitting = (
        ohms for ohms, current in zip(values, most, strict=True) if current <= moment.allowed
    )
    ohms = next(fitting, None)
    if ohms is None:
        return f"feed {THIS} through a resistor of its own"
    (typical,) = corners.swept(*at, {reference: [ohms]})
    return (
        f"make {reference} {show(ohms, 'ohm')} in place of {show(fitted, 'ohm')}: "
        f"then {show(typical, 'A')} flow"
    )
