"""A resistor gives an LED another current than its neighbours have, or than is wanted.

On the bench
------------
One light of a row is brighter or dimmer than the rest; or the lights are brighter than anybody
asked for and the cell pays for it.

What is judged
--------------
LEDs of one colour that one entry of the pattern lights, or that are on together anyway: where
their resistors or rails differ, their currents are solved and compared. And each LED with a
stated `wanted_current`: its solved current with fresh sources against it. Note: too far apart.
Quiet: colours that are meant to differ, equal values, and no wanted current stated. A current
above the rating belongs to led-overdriven.

Left undetermined
-----------------
A current is to be compared, and the forward voltage or colour of the LED, the value of its
resistor, or what feeds it is not known.

Cure
----
The value that the finding computes; the board has been solved with it.

Settings
--------
uneven : how far currents in a group may lie apart, as a share of the lowest. Default 20 %.
wanted : how many times the wanted current, or its inverse, is near enough. Default 1.5.

Wrong (one of a row)::

    BT1 CR2450 VCC GND
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1 PB2 P2
    R1 330 P0 N1
    D1 led/red N1 GND
    R2 330 P1 N2
    D2 led/red N2 GND
    R3 3k3 P2 N3
    D3 led/red N3 GND
    ~ pattern: [{name: chase, lights: [D1, D2, D3], for: 20 ms, every: 1 s, in_turn: yes}]

Wrong (more than is wanted)::

    BT1 CR2450 VCC GND
    R1 100 VCC N1
    D1 led/red N1 GND = wanted_current 2 mA

Right::

    BT1 CR2450 VCC GND
    R1 560 VCC N1
    D1 led/red N1 GND = wanted_current 2 mA

Right (two colours)::

    BT1 CR2450 VCC GND
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1
    R1 1k P0 N1
    D1 led/red N1 GND
    R2 47 P1 N2
    D2 led/green N2 GND
    ~ pattern: [{name: status, lights: [D1, D2], for: 20 ms, every: 1 s}]

Sources
-------
Kirchhoff's laws and the junction equation, solved. Currents 20 % apart as what is seen side by
side, and half as much again as near enough to what is wanted: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from boardvet.circuit.handle import Circuit
from boardvet.circuit.led_ratings import led_rating
from boardvet.circuit.light_corners import LightCorners, fitting_value, preferred_values
from boardvet.circuit.light_groups import (
    GroupCurrent,
    LightGroup,
    largest_limiter,
    wanted_current,
)
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import resistance
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

SOLVED = "computed: the network, solved"
LEAST = 1.0
"""Smaller resistors are wires to a light. [ohm]"""

STEP = 1.6
"""A little more than a step of E6."""

FAR = 100.0
"""Values from this many times below the fitted one to as many times above it are tried."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How far currents may lie apart, and from what is wanted."""

    uneven: Annotated[float, ""] = 0.2
    wanted: Annotated[float, ""] = 1.5


class Change(NamedTuple):
    """A resistor to change, its new value [ohm], and the current with it [A]."""

    resistor: str
    fitted: float
    ohms: float
    amperes: float


@rule(level=Level.NOTE)
def check(
    group: LightGroup,
    circuit: Circuit,
    lighting: Lighting,
    corners: LightCorners,
    settings: Settings,
) -> Found | Clear:
    """Judge one group: by its own lights first, then by what is wanted of them."""
    if not group.alike:
        uneven = _uneven(group, circuit, corners, group.currents(), settings)
        if uneven is not None:
            return uneven
    lights = group.lights[:1] if group.equal else group.lights
    for light in lights:
        wanted = wanted_current(circuit, light)
        if wanted is not None:
            found = _off(group, circuit, lighting, corners, light, wanted, settings)
            if found is not None:
                return found
    return Clear()


def _uneven(
    group: LightGroup,
    circuit: Circuit,
    corners: LightCorners,
    solved: Sequence[GroupCurrent],
    settings: Settings,
) -> Found | None:
    """Compare the currents of a group with that of most of its lights."""
    if len(solved) < 2 or min(each.amperes for each in solved) <= 0.0:
        return None
    usual = _usual(group, circuit, solved)
    far = 1.0 + settings.uneven
    if max(each.amperes for each in solved) <= far * min(each.amperes for each in solved):
        return None
    odd = [s for s in solved if not 1.0 / far <= s.amperes / usual.amperes <= far] or [
        max(solved, key=lambda each: each.amperes)
    ]
    worst = max(
        odd, key=lambda each: max(each.amperes / usual.amperes, usual.amperes / each.amperes)
    )
    how = "brighter" if worst.amperes > usual.amperes else "dimmer"
    change = _changed(circuit, corners, worst, usual.amperes)
    also = [s for s in odd if s is not worst]
    more = f"; {', '.join(s.light.label for s in also)} likewise" if also else ""
    resistor = circuit.board.parts[change.resistor].reference
    return Found(
        bench=f"{worst.light.label} is {how} than {_others(solved, worst)}.",
        sum=f"{show(worst.amperes, 'A')} flow in {worst.light.label} through {resistor} "
        f"({show(change.fitted, 'ohm')}), {show(usual.amperes, 'A')} in {usual.light.label}.",
        fix=_fix(change, usual.amperes / far) + more,
        numbers=(
            Number(f"current of {worst.light.label}", worst.amperes, "A", SOLVED),
            Number(f"current of {usual.light.label}", usual.amperes, "A", SOLVED),
        ),
        parts=(change.resistor,),
        state=worst.state.name,
    )


def _usual(group: LightGroup, circuit: Circuit, solved: Sequence[GroupCurrent]) -> GroupCurrent:
    """Return the light that the others are held against: of most alike, and in the middle."""
    counts = Counter(group.placed(each.light) for each in solved)
    most = max(counts.values())
    usual = [each for each in solved if counts[group.placed(each.light)] == most]
    return sorted(usual, key=lambda each: each.amperes)[(len(usual) - 1) // 2]


def _others(solved: Sequence[GroupCurrent], worst: GroupCurrent) -> str:
    names = [each.light.label for each in solved if each is not worst]
    return names[0] if len(names) == 1 else "the others of its group"


def _off(
    group: LightGroup,
    circuit: Circuit,
    lighting: Lighting,
    corners: LightCorners,
    light: LedString,
    wanted: Known[float],
    settings: Settings,
) -> Found | None:
    """Compare the current of a light with what is wanted of it."""
    current = lighting.worst(light)
    if current is None or current.current <= 0.0:
        return None
    times = current.current / wanted.value
    rated = led_rating(circuit, light.light.reference, current.lit).allowed.value
    if 1.0 / settings.wanted <= times <= settings.wanted or current.current > rated:
        return None
    change = _changed(
        circuit,
        corners,
        GroupCurrent(light, current.state, current.lit, current.current),
        wanted.value,
    )
    name = THIS if group.equal or len(group.lights) == 1 else light.label
    costs = " and costs charge" if current.on_cell and times > 1.0 else ""
    return Found(
        bench=f"{name} is {'brighter' if times > 1.0 else 'dimmer'} than wanted{costs}.",
        sum=f"{show(current.current, 'A')} flow through {change.resistor} "
        f"({show(change.fitted, 'ohm')}), {show(wanted.value, 'A')} are wanted.",
        fix=_fix(change, wanted.value / settings.wanted),
        numbers=(
            Number(f"current of {light.label}", current.current, "A", SOLVED),
            Number("wanted current", wanted.value, "A", wanted.source),
        ),
        parts=(change.resistor,),
        state=current.state.name,
    )


def _changed(
    circuit: Circuit, corners: LightCorners, solved: GroupCurrent, wanted: float
) -> Change:
    """Return the value of the light's resistor that gives it a current, put in and solved."""
    resistor = largest_limiter(circuit, solved.light)
    known = resistance(circuit, resistor)
    fitted = known.value if known is not None else 1.0
    low, high = max(fitted / FAR, LEAST), max(fitted, LEAST) * FAR

    def currents(values: Sequence[float]) -> tuple[float, ...]:
        return corners.swept(solved.light, solved.state, solved.lit, {resistor: values})

    coarse = preferred_values(low, high, "E6")
    nearest, _ = fitting_value(coarse, currents(coarse), wanted)
    fine = preferred_values(max(nearest / STEP, LEAST), nearest * STEP, "E24")
    return Change(resistor, fitted, *fitting_value(fine, currents(fine), wanted))


def _fix(change: Change, least: float) -> str:
    """Return the change; `least` is the current that it has to give. [A]."""
    if change.amperes < least:
        return (
            f"feed it from a higher voltage: even with {show(change.ohms, 'ohm')} in place of "
            f"{change.resistor} only {show(change.amperes, 'A')} flow"
        )
    return (
        f"make {change.resistor} {show(change.ohms, 'ohm')} in place of "
        f"{show(change.fitted, 'ohm')}: then {show(change.amperes, 'A')} flow"
    )
