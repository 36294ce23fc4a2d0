"""LEDs in parallel share one resistor.

On the bench
------------
One light is brighter than its neighbours, a different one on each board; or the light of the other
colour stays dark.

What is judged
--------------
Each resistor behind which several LEDs lie in parallel with no resistor of their own, where they
are on together: the currents are solved, as a rule and with each light in turn dropping a little
less than its type. Query: one takes much more than another. Quiet: lights of which one is lit at
a time (in turn, on pins or switches of their own, or between the pins of an array).

Left undetermined
-----------------
The forward voltage or colour of an LED, the value of the resistor, or what feeds it is not known.

Cure
----
A resistor for each LED; the finding computes the values and has solved the board with them.

Settings
--------
forward_voltage : how far below typical one forward voltage may be. Default 0.1 V.
uneven : how many times the current of another a light may carry. Default 1.25.

Wrong::

    BT1 CR2450 VCC GND
    R1 100 VCC N1
    D1 led/red N1 GND
    D2 led/red N1 GND

Wrong (two colours, and one stays dark)::

    J1 connector/in 1: VCC 2: GND
    ~ sources: {J1: {net: VCC, voltage: 5 V}}
    R1 220 VCC N1
    D1 led/red N1 GND
    D2 led/blue N1 GND

Right (one is lit at a time)::

    BT1 CR2450 VCC GND
    U1 mcu VCC+ VCC GND- GND PB0 P0 PB1 P1
    R1 100 N1 GND
    D1 led/red P0 N1
    D2 led/green P1 N1

Sources
-------
Kirchhoff's laws and the junction equation, solved. 0.1 V: the Würth 150060SS75003 data sheet
states 1.8 V least and 1.9 V typical, measured to 0.1 V. A quarter more current as what is seen
side by side: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from boardvet.circuit.arrays import Arrays
from boardvet.circuit.handle import Circuit
from boardvet.circuit.light_corners import FORWARD_SPREAD, fitting_value, preferred_values
from boardvet.circuit.light_groups import wanted_current
from boardvet.circuit.shared_resistors import SharedResistor, Sharing
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import resistance
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import Clear, Found, Level, Number

DARK = 0.1
"""A light with less than this share of the current of its neighbour counts as dark."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How far a light may be off its type, and how uneven lights may be."""

    forward_voltage: Annotated[float, "V"] = FORWARD_SPREAD.value
    uneven: Annotated[float, ""] = 1.25


class Shared(NamedTuple):
    """How lights share the current of their resistor, as a rule and where it is most uneven."""

    sharing: Sharing
    typical: tuple[float, ...]
    worst: tuple[float, ...]


@rule(level=Level.QUERY)
def check(group: SharedResistor, circuit: Circuit, settings: Settings) -> Found | Clear:
    """Judge the lights behind one resistor by how they share its current."""
    shares = [_shared(group, sharing, settings) for sharing in group.together()]
    if not shares:
        return Clear()
    most = max(shares, key=lambda shared: _ratio(shared.worst))
    numbers = _numbers(most, settings)
    if _ratio(most.worst) <= settings.uneven:
        return Clear(numbers)
    dark = _dark(most)
    array = circuit.view(Arrays).of_light(most.sharing.lights[0])
    return Found(
        bench=f"{dark.label} stays dark or dim." if dark else _uneven(most.sharing.lights),
        sum=_sum(group, most, dark, settings) + _above(circuit, most),
        fix=_fix(circuit, group, most),
        why="Lights in parallel stand at one voltage, and a small difference in what they drop is "
        "a large one in their currents.",
        numbers=numbers,
        state=most.sharing.state.name,
        follows=("led-array-conflict", array) if array is not None else None,
    )


def _shared(group: SharedResistor, sharing: Sharing, settings: Settings) -> Shared:
    typical, *off = group.currents(sharing, settings.forward_voltage)
    return Shared(sharing, typical, max((typical, *off), key=_ratio))


def _ratio(currents: tuple[float, ...]) -> float:
    least = max(min(currents), 1e-12)
    return max(currents) / least


def _dark(shared: Shared) -> LedString | None:
    """Return a light that is dark as a rule, None where all are lit."""
    least = min(shared.typical)
    if least >= DARK * max(shared.typical):
        return None
    return shared.sharing.lights[shared.typical.index(least)]


def _numbers(shared: Shared, settings: Settings) -> tuple[Number, ...]:
    solved = "computed: the network, solved"
    lights = zip(shared.sharing.lights, shared.typical, strict=True)
    return (
        *(Number(f"current of {light.label}", amperes, "A", solved) for light, amperes in lights),
        Number("most of one light", max(shared.worst), "A", solved),
        Number("least beside it", min(shared.worst), "A", solved),
        Number("forward voltage off by", settings.forward_voltage, "V", FORWARD_SPREAD.source),
    )


def _uneven(lights: tuple[LedString, ...]) -> str:
    return f"{_names(lights)} differ in brightness, each board in its own way."


def _names(lights: tuple[LedString, ...]) -> str:
    names = [light.label for light in lights]
    if len(names) > 4:
        return f"{names[0]} to {names[-1]}"
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _sum(group: SharedResistor, shared: Shared, dark: LedString | None, settings: Settings) -> str:
    lights = shared.sharing.lights
    if dark is not None:
        most = max(shared.typical)
        bright = lights[shared.typical.index(most)]
        return (
            f"{group.resistor} feeds them all: {bright.label} takes {show(most, 'A')} and holds "
            f"them at {show(group.voltage(shared.sharing), 'V')}, which leaves {dark.label} "
            f"{show(min(shared.typical), 'A', 2)}."
        )
    return (
        f"{group.resistor} feeds {_names(lights)} with {show(sum(shared.typical), 'A')} in all; "
        f"one that drops {show(settings.forward_voltage, 'V')} less takes "
        f"{show(max(shared.worst), 'A')} and leaves another {show(min(shared.worst), 'A')}."
    )


def _above(circuit: Circuit, shared: Shared) -> str:
    """Return a word where the light that takes most takes more than it stands for good."""
    most = max(shared.worst)
    light = shared.sharing.lights[shared.worst.index(most)]
    rated = circuit.known(light.light.reference, "current_max")
    if rated is None or most <= float(str(rated.value)):
        return ""
    return f" It stands {show(float(str(rated.value)), 'A')}."


def _fix(circuit: Circuit, group: SharedResistor, shared: Shared) -> str:
    """Return one resistor for each light, put into the board and solved again."""
    lights = shared.sharing.lights
    chosen = _values(circuit, group, shared)
    solved = group.parted(shared.sharing, [[ohms] for ohms in chosen])
    by_value: dict[tuple[float, str], list[LedString]] = {}
    for light, ohms, (current,) in zip(lights, chosen, solved, strict=True):
        by_value.setdefault((ohms, show(current, "A", 2)), []).append(light)
    if len(by_value) == 1:
        ((ohms, amperes),) = by_value
        each = f"{show(ohms, 'ohm')} ({amperes} each)"
    else:
        each = ", ".join(
            f"{show(ohms, 'ohm')} for {' and '.join(s.label for s in same)} ({amperes})"
            for (ohms, amperes), same in by_value.items()
        )
    return f"give each light a resistor of its own in place of {group.resistor}: {each}"


def _values(circuit: Circuit, group: SharedResistor, shared: Shared) -> list[float]:
    """Return the value for each light at which it has its wanted current, or its equal share."""
    known = resistance(circuit, group.resistor)
    shared_ohms = known.value if known is not None else 1.0
    lights = shared.sharing.lights
    tried = preferred_values(shared_ohms / 10, shared_ohms * 10 * len(lights), "E24")
    solved = group.parted(shared.sharing, [tried] * len(lights))
    chosen = []
    for light, currents in zip(lights, solved, strict=True):
        wanted = wanted_current(circuit, light)
        share = sum(shared.typical) / len(lights)
        chosen.append(fitting_value(tried, currents, wanted.value if wanted else share)[0])
    return chosen
