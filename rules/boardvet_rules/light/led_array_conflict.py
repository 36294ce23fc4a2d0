"""A multiplexed array of LEDs has a conflict between its lights.

On the bench
------------
Two lights always come on together; or some are brighter than the rest; or lights glow faintly
while another is addressed; or single ones die over months.

What is judged
--------------
LEDs between lines that pins drive, the whole array at once. Each place is solved as it is
addressed: one line high, one low, all others floating. Query: two LEDs from the same line to the
same line; lights above their rating because their lines have no resistor; lights of one colour
much brighter than the rest because one line has none; a light that is not addressed and carries
more than a small share of the current of the one that is; a dark LED with more voltage backwards
than it stands, at the highest supply. Note: a place without a light that would make others glow
if it were driven.

Left undetermined
-----------------
The resistance of the pins, the forward voltage or colour of an LED, the value of a resistor, or
what feeds the array is not known.

Cure
----
A resistor in each line rather than at each LED, lights of one colour on lines of their own, and
each LED at a place of its own.

Settings
--------
ghost : share of the current of the addressed light that another one may carry. Default 1 %.
uneven : how many times the current of others of its colour a light may carry. Default 1.5.

Wrong (two lights at one place)::

    BT1 CR2450 VCC GND
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1 PB2 P2
    R1 100 P0 N0
    R2 100 P1 N1
    R3 100 P2 N2
    D1 led/red N0 N1
    D2 led/red N1 N0
    D3 led/red N1 N2
    D4 led/red N1 N2

Wrong (a resistor at each light: ghosts see the rail)::

    J1 connector/in 1: VCC 2: GND
    ~ sources: {J1: {net: VCC, voltage: 5 V}}
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1 PB2 P2
    R1 220 P0 N1
    D1 led/red N1 P1
    R2 220 P1 N2
    D2 led/red N2 P2
    R3 220 P0 N3
    D3 led/red N3 P2

Right::

    BT1 CR2450 VCC GND
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1 PB2 P2
    R1 100 P0 N0
    R2 100 P1 N1
    R3 100 P2 N2
    D1 led/red N0 N1
    D2 led/red N1 N0
    D3 led/red N1 N2
    D4 led/red N2 N1
    D5 led/red N0 N2
    D6 led/red N2 N0

Sources
-------
Kirchhoff's laws and the junction equation, solved. 5 V backwards is common to the data sheets of
Würth 150060SS75003 and 150080GS75000, Kingbright APHB1608SGEC and Bright LED BL-HUB37A. A
hundredth as what is not seen, and half as much again as what is: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.arrays import Addressed, LightArray, Pair
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import pin_colour
from boardvet.circuit.led_ratings import led_rating
from boardvet.circuit.pattern import Pattern
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import resistance
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import Clear, Found, Level, Number

SEEN = 1e-6
"""Less current in a light is not seen (common practice, no source). [A]"""

SOLVED = "computed: each place of the array, solved"


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What is seen of a ghost, and of a difference."""

    ghost: Annotated[float, ""] = 0.01
    uneven: Annotated[float, ""] = 1.5


class Lit(NamedTuple):
    """A light at its brightest: its place as it is addressed, and its current. [A]."""

    light: LedString
    place: Addressed
    current: float


@rule(level=Level.QUERY)
def check(array: LightArray, circuit: Circuit, settings: Settings) -> Found | Clear:
    """Judge one array; of several conflicts the first is told, with a word on the others."""
    found = list(_conflicts(array, circuit, settings))
    if not found:
        return Clear()
    first, *others = found
    besides = " ".join(each.bench for each in others if each.level is not Level.NOTE)
    if not besides:
        return first
    why = f"{first.why} Besides: {besides}".strip()
    return Found(
        first.bench, first.sum, first.fix, why, first.numbers, first.level, state=first.state
    )


def _conflicts(array: LightArray, circuit: Circuit, settings: Settings) -> Iterator[Found]:
    """Yield what is wrong with an array, the plainest first."""
    drawn = _at_one_place(array)
    if drawn is not None:
        yield drawn
    try:
        places = list(array.addressed())
    except MissingFact:
        if drawn is None:
            raise
        return
    lit = [Lit(s, place, place.currents[s.label]) for place in places for s in place.lit]
    most = {each.light.label: each for each in sorted(lit, key=_current)}
    brightest = [most[light.label] for light in array.lights if light.label in most]
    solved = (
        _unlimited(array, circuit, brightest),
        _uneven(array, circuit, brightest, settings),
        _ghost(array, places, settings),
        _backwards(array, circuit),
        _empty_place(array, lit, settings),
    )
    yield from (found for found in solved if found is not None)


def _current(lit: Lit) -> float:
    return lit.current


def _at_one_place(array: LightArray) -> Found | None:
    pair = next((pair for pair in array.at if len(array.branches(pair)) > 1), None)
    if pair is None:
        return None
    lights = array.branches(pair)
    free = next(iter(array.empty), None)
    to = f"a free place, {_place(array, free)}" if free else "a line of its own"
    return Found(
        bench=f"{_names(lights)} always light together.",
        sum=f"They lie {_place(array, pair)}, the same way round.",
        fix=f"move {lights[-1].label} to {to}",
    )


def _place(array: LightArray, pair: Pair) -> str:
    return f"from {array.name(pair.high)} to {array.name(pair.low)}"


def _unlimited(array: LightArray, circuit: Circuit, lit: Sequence[Lit]) -> Found | None:
    """Find a light above its rating, or that of its pin, between two lines without a resistor."""
    for each in lit:
        allowed = _allowed(array, circuit, each)
        if each.light.bare and each.current > allowed.value:
            lines = " and ".join(array.name(line) for line in each.place.pair)
            return Found(
                bench=f"{each.light.label} glares, and it or its pins fail early.",
                sum=f"{lines} have no resistor: {show(each.current, 'A')} flow, and "
                f"{show(allowed.value, 'A')} are allowed.",
                fix=f"put {_usual_resistor(array, circuit)} into each line that has none",
                numbers=(
                    Number("LED current", each.current, "A", SOLVED),
                    Number("allowed", allowed.value, "A", allowed.source),
                ),
                state=each.place.state.name,
                follows=("led-unlimited", each.light),
            )
    return None


def _allowed(array: LightArray, circuit: Circuit, lit: Lit) -> Known[float]:
    """Return the least that light and pins stand; what is not known of a pin is left out."""
    reference = lit.light.light.reference
    entries = circuit.view(Pattern).lit(reference)
    limits = [led_rating(circuit, reference, entry).allowed for entry in entries]
    for line in lit.place.pair:
        known = circuit.known(array.lines[line].reference, "pin_current_max")
        limits += [cast("Known[float]", known)] if known is not None else []
    return min(limits, key=lambda known: known.value)


def _usual_resistor(array: LightArray, circuit: Circuit) -> str:
    values = [
        known.value
        for light in array.lights
        for limiter in light.limiters
        if (known := resistance(circuit, limiter)) is not None
    ]
    return show(max(values), "ohm") if values else "a resistor"


def _uneven(
    array: LightArray, circuit: Circuit, lit: Sequence[Lit], settings: Settings
) -> Found | None:
    """Find lights of one colour that are brighter because a line of theirs has no resistor."""
    without = [line for line, limited in array.limited.items() if not limited]
    if not without or len(without) == len(array.limited):
        return None
    by_colour: dict[object, list[Lit]] = {}
    for each in lit:
        by_colour.setdefault(_colour(circuit, each.light), []).append(each)
    for same in by_colour.values():
        least = min(same, key=_current)
        few = len(set(least.place.pair) & set(without))
        bright = [
            s
            for s in same
            if s.current > settings.uneven * least.current
            and len(set(s.place.pair) & set(without)) > few
        ]
        if bright:
            most = max(bright, key=_current)
            lines = _listed([array.name(line) for line in without])
            return Found(
                bench=f"{_names([s.light for s in bright])} brighter than the others."
                if len(bright) == 1
                else f"{_names([s.light for s in bright])} are brighter than the others.",
                sum=f"{lines} no resistor, the other lines have: {show(most.current, 'A')} in "
                f"{most.light.label}, {show(least.current, 'A')} in {least.light.label}.",
                fix=f"put {_usual_resistor(array, circuit)} into each line that has none",
                numbers=(
                    Number(f"current of {most.light.label}", most.current, "A", SOLVED),
                    Number(f"current of {least.light.label}", least.current, "A", SOLVED),
                ),
                state=most.place.state.name,
            )
    return None


def _listed(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} has"
    return f"{', '.join(names[:-1])} and {names[-1]} have"


def _colour(circuit: Circuit, light: LedString) -> object:
    known = circuit.known(light.light.reference, "colour")
    return pin_colour(light.light) or (known.value if known is not None else None)


def _ghost(array: LightArray, places: Sequence[Addressed], settings: Settings) -> Found | None:
    """Find the ghost that is brightest beside the light that is addressed."""
    worst: tuple[float, Addressed, str] | None = None
    for place in places:
        lit = {light.label for light in place.lit}
        least = max(min(place.currents[label] for label in lit), 1e-12)
        dark = {label: amperes for label, amperes in place.currents.items() if label not in lit}
        label = max(dark, key=dark.__getitem__, default=None)
        if label is not None and (worst is None or dark[label] / least > worst[0]):
            worst = dark[label] / least, place, label
    if worst is None or worst[0] <= settings.ghost:
        return None
    share, place, label = worst
    if place.currents[label] < SEEN:
        return None
    lit_light = place.lit[0]
    current, ghost = place.currents[lit_light.label], place.currents[label]
    return Found(
        bench=f"{label} glows while {lit_light.label} is addressed.",
        sum=f"With {array.name(place.pair.high)} high and {array.name(place.pair.low)} low, "
        f"{show(current, 'A')} flow through {lit_light.label} and {show(ghost, 'A', 2)} through "
        f"{label}, {share * 100:.2g} % of it.",
        fix=_fix_of_ghost(array, lit_light),
        why="The way over a floating line leads through other lights; with a resistor in each "
        "line only the voltage of the addressed light lies across it.",
        numbers=(
            Number(f"current of {lit_light.label}", current, "A", SOLVED),
            Number(f"current of {label}", ghost, "A", SOLVED),
        ),
        state=place.state.name,
    )


def _fix_of_ghost(array: LightArray, lit: LedString) -> str:
    if all(array.limited.values()):
        return f"put lights that drop as much as {lit.label} on lines of their own"
    at_lights = any(light.limiters for light in array.lights)
    return (
        f"put a resistor into each line{', in place of those at the lights' if at_lights else ''}"
    )


def _backwards(array: LightArray, circuit: Circuit) -> Found | None:
    """Find the dark light with most voltage backwards beyond what it stands."""
    for place in array.addressed(highest=True):
        for light in array.lights:
            volts = place.backwards[light.label]
            allowed = cast(
                "Known[float]", circuit.need(light.light.reference, "reverse_voltage_max")
            )
            if volts > allowed.value:
                return Found(
                    bench=f"{light.label} fails after months.",
                    sum=f"With {array.name(place.pair.high)} high and "
                    f"{array.name(place.pair.low)} low it has {show(volts, 'V')} backwards "
                    f"across it at the highest supply, and stands {show(allowed.value, 'V')}.",
                    fix=f"feed the array with no more than {show(allowed.value, 'V')}, or put a "
                    "diode in series with each light",
                    numbers=(
                        Number("voltage backwards", volts, "V", SOLVED),
                        Number("allowed", allowed.value, "V", allowed.source),
                    ),
                    state=place.state.name,
                )
    return None


def _empty_place(array: LightArray, lit: Sequence[Lit], settings: Settings) -> Found | None:
    """Find an empty place that makes other lights glow if it is driven."""
    least = min(each.current for each in lit)
    for place in array.addressed(empty=True):
        glowing = {
            c: label
            for label, c in place.currents.items()
            if c > max(settings.ghost * least, SEEN)
        }
        if glowing:
            most = max(glowing)
            return Found(
                bench=f"{_several(list(glowing.values()))} if the empty place "
                f"{_place(array, place.pair)} is driven.",
                sum=f"No light lies there, so the whole supply drives {show(most, 'A', 2)} the "
                "long way round.",
                fix="nothing to change if the firmware never drives that pair",
                numbers=(Number("current the long way round", most, "A", SOLVED),),
                level=Level.NOTE,
                state=place.state.name,
            )
    return None


def _several(labels: Sequence[str]) -> str:
    if len(labels) == 1:
        return f"{labels[0]} glows"
    return f"{', '.join(labels[:-1])} and {labels[-1]} glow"


def _names(lights: Sequence[LedString]) -> str:
    names = [light.label for light in lights]
    if len(names) == 1:
        return f"{names[0]} is"
    return f"{', '.join(names[:-1])} and {names[-1]}"
