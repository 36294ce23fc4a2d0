"""An LED whose current nothing but the cell or a pin limits.

On the bench
------------
The light is far brighter with a fresh cell than later, the cell empties fast, and the LED or the
pin that drives it may fail.

What is judged
--------------
Each LED with a way from supply to return on which no resistor, driver or sense resistor lies. The
whole network is solved with the resistance of cell and pin, fresh, in the state and step of the
pattern that is worst. Hold: above the rating of the LED for this pulse (the direct-current rating
for pulses of 10 ms or more or a duty above 1/10, else its peak rating) or above the maximum of
the pin. Query: only above them with the highest cell voltage and, where a range is
stated, at its hot end; up to twice the direct-current
rating in short pulses where no peak rating is known; or the light is paid several times over.
Note: sound.

Left undetermined
-----------------
The forward voltage or colour of the LED, the cell or what else feeds it, or the pin's maximum is
not known.

Cure
----
Put a resistor in series, for instance 150 Ω; the finding computes the value for this cell.

Settings
--------
wanted : current that is enough for the light where `wanted_current` is not stated. Default 5 mA.
several : how many times the wanted current counts as paid several times over. Default 3.

Wrong::

    BT1 cell/LR6 + VCC - GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    D1 led/red A VCC K GND = forward_voltage 2.0 V at 20 mA = current_max 20 mA

Right::

    BT1 cell/LR6 + VCC - GND
    ~ cell: {part: BT1, type: LR6, series: 3}
    R1 150 VCC N1
    D1 led/red A N1 K GND = forward_voltage 2.0 V at 20 mA = current_max 20 mA

Sources
-------
Kirchhoff's laws and the junction equation, solved. Ratings: data sheet of the LED; without one,
20 mA is assumed. Pulses of 10 ms and a duty of 1/10 as borders: common practice in LED data
sheets, which state peak ratings for a duty of 1/10 and 0.1 ms to 10 ms.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.elements import JUNCTIONS
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import junction_of
from boardvet.circuit.led_ratings import led_rating
from boardvet.circuit.lighting import LightCurrent, Lighting
from boardvet.circuit.strings import LedString
from boardvet.known import Known
from boardvet.physics.junction import forward_voltage
from boardvet.quantity import preferred, show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What is enough light, and what is too much for it."""

    wanted: Annotated[float, "A"] = 5e-3
    several: Annotated[float, ""] = 3.0


class Limit(NamedTuple):
    """A current that must not be exceeded, and the level if it is."""

    what: str
    carried: float
    highest: float
    allowed: Known[float]
    level: Level


@rule(level=Level.HOLD)
def check(
    light: LedString, circuit: Circuit, lighting: Lighting, settings: Settings
) -> Found | Clear:
    """Judge one light by the current that the solver finds."""
    if not light.bare:
        return Clear()
    worst = lighting.worst(light)
    if worst is None:
        return Clear()
    numbers = _numbers(worst)
    over = [
        limit for limit in _limits(circuit, light, worst) if limit.highest > limit.allowed.value
    ]
    if over:
        return _too_much(circuit, light, worst, settings, max(over, key=_excess), numbers)
    wanted = _wanted(circuit, light, settings)
    if worst.current > settings.several * wanted.value:
        return _wasteful(circuit, light, worst, wanted, numbers)
    fades = "is bright with a fresh cell and fades as it empties"
    return Found(
        bench=f"{THIS} {fades if worst.on_cell else 'changes its brightness with the supply'}.",
        sum=f"Only cell and pin limit its current: {show(worst.current, 'A')} flow, within every "
        "rating.",
        fix="nothing to change if that is meant",
        numbers=numbers,
        level=Level.NOTE,
        state=worst.state.name,
    )


def _numbers(worst: LightCurrent) -> tuple[Number, ...]:
    return (
        Number("LED current", worst.current, "A", "computed: the network, solved"),
        Number(
            "LED current at its highest",
            worst.highest,
            "A",
            "computed: same, solved",
        ),
    )


def _excess(limit: Limit) -> tuple[bool, float]:
    return limit.carried > limit.allowed.value, limit.highest / limit.allowed.value


def _limits(circuit: Circuit, light: LedString, worst: LightCurrent) -> list[Limit]:
    """Return the limits of the LED and of the pins that drive it, those of the LED first."""
    limits = [_led_limit(circuit, light, worst)]
    if worst.highest > limits[0].allowed.value:
        return limits
    for drive, current in worst.pins:
        allowed = cast("Known[float]", circuit.need(drive.reference, "pin_current_max"))
        scaled = current * worst.highest / worst.current if worst.current else current
        limits.append(Limit(f"a pin of {drive.reference}", current, scaled, allowed, Level.HOLD))
    return limits


def _led_limit(circuit: Circuit, light: LedString, worst: LightCurrent) -> Limit:
    rating = led_rating(circuit, light.light.reference, worst.lit)
    # Only the direct-current rating is known: up to twice it in short pulses somebody must answer.
    sure = not rating.unsure or rating.surely_exceeded(worst.current)
    level = Level.HOLD if sure else Level.QUERY
    return Limit(light.label, worst.current, worst.highest, rating.allowed, level)


def _too_much(
    circuit: Circuit,
    light: LedString,
    worst: LightCurrent,
    settings: Settings,
    limit: Limit,
    numbers: tuple[Number, ...],
) -> Found:
    typical = limit.carried > limit.allowed.value
    ohms = _series_resistor(circuit, light, worst, _wanted(circuit, light, settings).value)
    shown = show(limit.carried if typical else limit.highest, "A")
    when = _when(worst, typical)
    return Found(
        bench=f"{THIS} glares and then fails, or what drives it does.",
        sum=f"Nothing limits its current: {shown} {when}, and {limit.what} stands "
        f"{show(limit.allowed.value, 'A')}.",
        fix=f"put {show(ohms, 'ohm')} in series with {THIS}",
        why="Only cell and pin resistance are left to limit the current, and they are small.",
        numbers=(*numbers, Number("allowed", limit.allowed.value, "A", limit.allowed.source)),
        level=limit.level if typical else Level.QUERY,
        state=worst.state.name,
    )


def _when(worst: LightCurrent, typical: bool) -> str:
    if worst.on_cell:
        return "with a fresh cell" if typical else "with the freshest cell"
    return "as a rule" if typical else "at the highest supply"


def _wasteful(
    circuit: Circuit,
    light: LedString,
    worst: LightCurrent,
    wanted: Known[float],
    numbers: tuple[Number, ...],
) -> Found:
    ohms = _series_resistor(circuit, light, worst, wanted.value)
    times = worst.current / wanted.value
    return Found(
        bench=f"{THIS} is brighter than it needs to be"
        f"{' and empties the cell early' if worst.on_cell else ''}.",
        sum=f"Nothing limits its current: {show(worst.current, 'A')} {_when(worst, True)}, "
        f"{times:.1f} times the {show(wanted.value, 'A')} that is enough.",
        fix=f"put {show(ohms, 'ohm')} in series with {THIS}",
        numbers=(*numbers, Number("wanted current", wanted.value, "A", wanted.source)),
        level=Level.QUERY,
        state=worst.state.name,
    )


def _wanted(circuit: Circuit, light: LedString, settings: Settings) -> Known[float]:
    stated = circuit.known(light.light.reference, "wanted_current")
    if stated is not None:
        return cast("Known[float]", stated)
    return Known(settings.wanted, "A", "assumed: setting wanted of led-unlimited")


def _series_resistor(
    circuit: Circuit, light: LedString, worst: LightCurrent, wanted: float
) -> float:
    """Return the E12 value that lets the wanted current flow, cell and pin resistance left out."""
    junctions = {light.light}
    junctions.update(e for end in light.ways() for e in end.path if e.kind in JUNCTIONS)
    drop = sum(forward_voltage(junction_of(circuit, e).junction, wanted) for e in junctions)
    supply = max(v for node in worst.solution.nodes for v in worst.solution.voltage(node))
    return preferred(max((supply - drop) / wanted, 1.0), "E12", "up")
