"""The resistor in series with a light, for a wanted current or brightness over life."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.errors import ContradictingPoints, PhysicsDomainError
from boardvet.physics.heat import resistor_dissipation
from boardvet.physics.junction import (
    LED_FAMILIES,
    Junction,
    forward_voltage,
    junction_from_points,
)
from boardvet.physics.led_resistor import (
    led_current,
    led_resistance,
    mean_led_current,
    resistance_for_mean,
    supply_for_current,
)
from boardvet.quantity import show
from boardvet.quantity.statement import Points, Span
from boardvet.sizing._calculation import Answer, Calculation, Chosen, Input, Unsizable
from boardvet.sizing._values import MARGIN, choose, resistor

__all__ = ["CALCULATION", "DARK_SHARE", "Led", "size"]

DARK_SHARE = 0.05
"""A light with less than this share of the wanted current is called dark: common practice."""

_NITRIDE_FROM = 2.6
_FRESH, _LIFE, _END = "fresh", "life", "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Led:
    """What the resistor of a light depends on."""

    supply: Annotated[
        Span,
        Input(
            "V", "voltage across light and resistor, from the end of the cell to fresh",
            "2.0 to 3.2 V", above_zero=True,
        ),
    ]  # fmt: skip
    current: Annotated[
        float, Input("A", "current that the light is meant to have", "5 mA", above_zero=True)
    ]
    forward_voltage: Annotated[
        Points | None,
        Input(
            "V", "voltage of one light, at a current; two points make the better curve; "
            "may be left out where colour is given",
            "1.95 V at 10 mA", at_unit="A", shown=True, above_zero=True,
        ),
    ] = None  # fmt: skip
    colour: Annotated[
        str | None,
        Input("", "colour of its light, for what the points leave open", "red",
              choices=tuple(LED_FAMILIES)),
    ] = None  # fmt: skip
    over: Annotated[
        str,
        Input(
            "", "when it has that current: from a fresh cell, on average over the life of the "
            "cell (its voltage taken as falling in a straight line over its charge), at its end",
            "life", choices=(_FRESH, _LIFE, _END), source="common practice",
        ),
    ] = _FRESH  # fmt: skip
    in_series: Annotated[int, Input("", "equal lights in series", "1")] = 1
    other_resistance: Annotated[
        float, Input("ohm", "what else is in series: pin, switch, cell", "30 ohm")
    ] = 0.0
    margin: Annotated[
        float,
        Input("", "how far E12 may miss before E24 is taken", "10 %",
              source="half a step of E12; the eye sees less than that"),
    ] = MARGIN  # fmt: skip


def size(inputs: Led) -> Answer:
    """Return the resistor, what flows with it at both ends of the supply, and when it is dark."""
    light = _junction(inputs)
    wanted, first = _resistance(inputs, light)
    chosen = _buyable(wanted, inputs.margin)
    total = chosen.value + inputs.other_resistance
    low, high = (led_current(volts, light, total, inputs.in_series) for volts in inputs.supply)
    hot = resistor_dissipation(high, chosen.value)
    return Answer(
        chosen=(chosen,),
        sums=(first, _gives(inputs, light, chosen)),
        ends=tuple(_ends(inputs, light, total, low)),
        buy=resistor(chosen, hot),
        notes=_notes(inputs, light),
    )


def _junction(inputs: Led) -> Junction:
    """Return one light; a voltage without current counts at the wanted one."""
    points = _points(inputs)
    highest = max(volts for volts, _ in points)
    family = LED_FAMILIES[inputs.colour or ("white" if highest >= _NITRIDE_FROM else "red")]
    try:
        return junction_from_points(points, family)
    except ContradictingPoints as error:
        raise Unsizable(f"forward_voltage: {error}", "check the points") from error


def _points(inputs: Led) -> tuple[tuple[float, float], ...]:
    stated = inputs.forward_voltage or _default_points(inputs.colour)
    return tuple(
        (point.value, inputs.current if point.at is None else point.at) for point in stated
    )


def _default_points(colour: str | None) -> Points:
    from boardvet.facts.ratings import default_of  # brings the YAML library
    from boardvet.vocabulary.kinds import Kind

    found = default_of(Kind.LED, "forward_voltage", {"colour": colour}.get)
    if found is None:
        raise Unsizable(
            "neither forward_voltage nor a colour with a usual one is known",
            'give one, for instance forward_voltage="1.95 V at 10 mA" or colour=red',
        )
    points: Points = found.value  # type: ignore[assignment]
    return points


def _resistance(inputs: Led, light: Junction) -> tuple[float, str]:
    """Return the exact resistance and its sum."""
    current, count, other = inputs.current, inputs.in_series, inputs.other_resistance
    drop = forward_voltage(light, current) * count
    try:
        if inputs.over == _LIFE:
            mean = resistance_for_mean(*inputs.supply, light, current, count) - other
            if mean < 0:
                raise PhysicsDomainError("other_resistance", other, "Ω", "less")
            return mean, (
                f"{show(mean, 'ohm')} makes the mean over the life {show(current, 'A')}, the "
                f"supply falling in a straight line from {show(inputs.supply.high, 'V')} to "
                f"{show(inputs.supply.low, 'V')}"
            )
        supply = inputs.supply.low if inputs.over == _END else inputs.supply.high
        ohms = led_resistance(supply, drop, current, other)
    except PhysicsDomainError as error:
        needed = show(supply_for_current(current, light, other, count), "V")
        raise Unsizable(
            f"{show(current, 'A')} needs {needed} with no resistor at all, and there is "
            f"{show(inputs.supply.high, 'V')} at best",
            "take less current, fewer lights in series, another colour, or a step-up converter",
        ) from error
    lights = f"{count} × {show(drop / count, 'V')}" if count > 1 else show(drop, "V")
    less = f" − {show(other, 'ohm')}" if other else ""
    return ohms, (
        f"({show(supply, 'V')} − {lights}) / {show(current, 'A')}{less} = {show(ohms, 'ohm')}"
    )


def _buyable(wanted: float, margin: float) -> Chosen:
    if wanted < 1.0:
        raise Unsizable(
            f"the sum leaves {show(wanted, 'ohm')} for the resistor, so nothing limits the "
            "current but the light itself",
            "raise the supply or take less current",
        )
    return choose("resistor", wanted, "ohm", margin)


def _gives(inputs: Led, light: Junction, chosen: Chosen) -> str:
    total, count = chosen.value + inputs.other_resistance, inputs.in_series
    if inputs.over == _LIFE:
        mean = mean_led_current(*inputs.supply, light, total, count)
        return f"{chosen.shown} of {chosen.series}: mean {show(mean, 'A')}"
    supply = inputs.supply.low if inputs.over == _END else inputs.supply.high
    current = led_current(supply, light, total, count)
    return f"{chosen.shown} of {chosen.series}: {show(current, 'A')} at {show(supply, 'V')}"


def _ends(inputs: Led, light: Junction, total: float, low: float) -> list[str]:
    """Say what flows at both ends, and below which supply it is dark."""
    if inputs.supply.low == inputs.supply.high:
        return []
    fresh = led_current(inputs.supply.high, light, total, inputs.in_series)
    least = DARK_SHARE * inputs.current
    dark = supply_for_current(least, light, total, inputs.in_series)
    lines = [
        f"{show(fresh, 'A')} at {show(inputs.supply.high, 'V')}, {show(low, 'A')} at "
        f"{show(inputs.supply.low, 'V')} ({100 * low / fresh:.0f} % of it)"
    ]
    below = f"dark (under {100 * DARK_SHARE:.0f} % of the wanted current) below {show(dark, 'V')}"
    if dark > inputs.supply.low:
        lines.append(f"{below}, which the cell reaches before its end")
    else:
        lines.append(below)
    return lines


def _notes(inputs: Led, light: Junction) -> tuple[str, ...]:
    notes = []
    stated = inputs.forward_voltage
    if stated is None:
        volts, amps = _points(inputs)[0]
        notes.append(f"forward voltage assumed: {show(volts, 'V')} at {show(amps, 'A')}")
    if stated is None or len(stated) < 2:
        notes.append(
            f"curve of the light assumed beyond its point: n {light.emission:g}, "
            f"{show(light.series_resistance, 'ohm')} (a second point of forward_voltage decides)"
        )
    return tuple(notes)


CALCULATION = Calculation("resistor of a light, for a current or its mean over life", Led, size)
