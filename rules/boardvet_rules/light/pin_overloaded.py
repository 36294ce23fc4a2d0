"""A pin of a controller, or all of its pins together, carry more than the chip stands.

On the bench
------------
The lights are dimmer than computed or pull each other down, the controller resets or reads wrong
levels, and in time the pin or the chip fails.

What is judged
--------------
Each controller, module or logic part with lights, transistor bases, small resistors or coils on
its pins. What can be on together is solved, step by step of the pattern; without a pattern all
lights that can be are on together. Hold: a pin above its absolute maximum, or what the chip gives
(or takes) in all above that of the chip, at typical voltages. Query: only at the highest
voltages; or a pin above the current at which its levels are specified. Pulses within a stated
peak of the controller are allowed. The pin of a light that nothing else limits is judged by
led-unlimited; here it counts in the sum.

Left undetermined
-----------------
The maximum of the pin or of the chip is not known and more flows than every such part stands; what
a coil on a pin draws is not known; or what the currents depend on.

Cure
----
Raise the resistor, light fewer at once, or put a transistor between pin and load.

Settings
--------
harmless : current that a pin of any controller stands. Default 2 mA.

Wrong::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_current_max 20 mA = pin_resistance 25 ohm
    R1 47 P0 N1
    D1 led/red N1 GND = forward_voltage 2.0 V at 20 mA

Right::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_current_max 20 mA = pin_resistance 25 ohm
    R1 180 P0 N1
    D1 led/red N1 GND = forward_voltage 2.0 V at 20 mA

Sources
-------
Kirchhoff's laws and the junction equation, solved. Maxima: data sheet of the controller. That any
pin stands 2 mA: from memory, the weakest standard ports are specified at 1 mA to 2 mA.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.pin_loads import Carried, LoadedController, PinLoads, Together
from boardvet.circuit.values import resistance
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import preferred, show
from boardvet.quantity.statement import Points
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What every pin stands."""

    harmless: Annotated[float, "A"] = 2e-3


class Excess(NamedTuple):
    """A current above a limit: of a pin, or of the chip where `pin` is None."""

    pin: Carried | None
    together: Together
    carried: float
    allowed: Known[float]
    level: Level
    specified: bool


@rule(level=Level.HOLD)
def check(
    controller: LoadedController, circuit: Circuit, loads: PinLoads, settings: Settings
) -> Found | Clear:
    """Judge one controller by what its pins carry together."""
    _coils(controller, circuit)
    steps = list(loads.together(controller))
    bare = {d.node for s in controller.strings if s.bare for d in s.drives()}
    found = [
        excess
        for together in steps
        for excess in _excesses(controller, circuit, together, bare, settings)
    ]
    if not found:
        return Clear(_numbers(steps))
    worst = min(found, key=lambda e: (e.level.rank, e.specified, -e.carried / e.allowed.value))
    return _too_much(controller, circuit, worst, found)


def _coils(controller: LoadedController, circuit: Circuit) -> None:
    """End the subject at a coil on a pin of which nobody says what it draws."""
    for load in controller.steady:
        if load.coil:
            raise MissingFact(
                load.through,
                "kind",
                f"what {load.through} draws from a pin of {controller.reference} is not known",
                f"waivers: [{{rule: pin-overloaded, at: {controller.reference}, because: "
                f"{load.through} is a piezo disc and draws next to nothing}}]   # if so",
            )


def _excesses(
    controller: LoadedController,
    circuit: Circuit,
    together: Together,
    bare: set[str],
    settings: Settings,
) -> Iterator[Excess]:
    rated = cast("Known[float] | None", circuit.known(controller.reference, "pin_current_rated"))
    enough = max(settings.harmless, rated.value if rated else 0.0)
    for pin in together.pins:
        if pin.drive.node in bare:
            continue
        if pin.highest > enough:
            most = _most(circuit, controller.reference, together.share)
            if pin.highest > most.value:
                level = Level.HOLD if pin.typical > most.value else Level.QUERY
                carried = pin.typical if level is Level.HOLD else pin.highest
                yield Excess(pin, together, carried, most, level, False)
                continue
        if rated is not None and pin.typical > rated.value:
            yield Excess(pin, together, pin.typical, rated, Level.QUERY, True)
    yield from _of_chip(controller, circuit, together, enough)


def _most(circuit: Circuit, reference: str, share: float) -> Known[float]:
    """Return what a pin stands: its maximum, or its peak for pulses of this share of the time."""
    most = cast("Known[float]", circuit.need(reference, "pin_current_max"))
    peak = circuit.known(reference, "current_peak")
    if peak is None:
        return most
    points = cast("Points", peak.value)
    allowed = [p.value for p in points if p.at is None or p.at >= share]
    if not allowed or max(allowed) <= most.value:
        return most
    return Known(max(allowed), "A", peak.source)


def _of_chip(
    controller: LoadedController, circuit: Circuit, together: Together, enough: float
) -> Iterator[Excess]:
    """Compare the sum with the maximum of the chip, which stands at least what a pin does."""
    typical, highest = together.total(), together.total(highest=True)
    reference = controller.reference
    most = cast("Known[float] | None", circuit.known(reference, "chip_current_max"))
    if most is None:
        pin = cast("Known[float] | None", circuit.known(reference, "pin_current_max"))
        if len(together.pins) < 2 or highest <= max(enough, pin.value if pin else 0.0):
            return
        raise circuit.facts.missing(reference, "chip_current_max")
    if highest > most.value:
        level = Level.HOLD if typical > most.value else Level.QUERY
        carried = typical if level is Level.HOLD else highest
        yield Excess(None, together, carried, most, level, False)


def _numbers(steps: list[Together]) -> tuple[Number, ...]:
    pins = [pin.typical for together in steps for pin in together.pins]
    if not pins:
        return ()
    most = max(together.total() for together in steps)
    return (
        Number("largest pin current", max(pins), "A", "computed: the network, solved"),
        Number("largest sum of the pins", most, "A", "computed: same, solved"),
    )


def _too_much(
    controller: LoadedController, circuit: Circuit, worst: Excess, found: list[Excess]
) -> Found:
    pins = {e.pin.drive for e in found if e.pin and e.specified == worst.specified}
    more = f" (and {len(pins) - 1} more so)" if worst.pin and len(pins) > 1 else ""
    when = " at the highest supply" if not worst.specified and worst.level is Level.QUERY else ""
    carried, allowed = show(worst.carried, "A"), show(worst.allowed.value, "A")
    if worst.pin is None:
        count = len(worst.together.pins)
        text = f"{count} pins carry {carried} together{when}, and the chip stands {allowed}."
    elif worst.specified:
        text = f"{_pin(controller, worst.pin)}{more} carries {carried}; its levels are specified "
        text += f"up to {allowed}."
    else:
        text = f"{_pin(controller, worst.pin)}{more} carries {carried}{when} and stands {allowed}."
    return Found(
        bench=f"What {THIS} drives is weaker than computed, and what else hangs on the pin reads "
        "a wrong level."
        if worst.specified
        else f"What {THIS} drives goes dim or flickers, and in time a pin or the chip fails.",
        sum=text,
        fix=_fix(controller, circuit, worst),
        numbers=(
            Number("current", worst.carried, "A", "computed: the network, solved"),
            Number("allowed", worst.allowed.value, "A", worst.allowed.source),
        ),
        level=worst.level,
        nets=(worst.pin.drive.node,) if worst.pin else (),
        state=worst.together.state.name,
    )


def _pin(controller: LoadedController, carried: Carried) -> str:
    return controller.pins[carried.drive.node].label


def _fix(controller: LoadedController, circuit: Circuit, worst: Excess) -> str:
    if worst.pin is None:
        return (
            "let fewer pins carry current at once, or raise their resistors by "
            f"{worst.carried / worst.allowed.value:.2g} times"
        )
    at_pin = circuit.view(Elements).at(worst.pin.drive.node, ElementKind.RESISTOR)
    through = [e.reference for e in at_pin]
    through += [r for s in controller.strings if worst.pin.drive in s.drives() for r in s.limiters]
    known = [(r, resistance(circuit, r)) for r in dict.fromkeys(through)]
    series = [(reference, ohms.value) for reference, ohms in known if ohms is not None]
    if not series:
        return f"put a transistor between {_pin(controller, worst.pin)} and what it drives"
    reference, ohms = min(series, key=lambda each: each[1])
    # A light drops a little less at less current; a tenth more makes up for that.
    wanted = 1.1 * (ohms * worst.carried / worst.allowed.value)
    wanted += _pin_ohms(circuit, controller.reference) * (worst.carried / worst.allowed.value - 1)
    return f"raise {reference} to {show(preferred(wanted, 'E12', 'up'), 'ohm')}"


def _pin_ohms(circuit: Circuit, reference: str) -> float:
    known = circuit.known(reference, "pin_resistance")
    return cast("Points", known.value)[0].value if known is not None else 0.0
