"""A regulator or charger gets hotter inside than it stands.

On the bench
------------
The rail drops out and comes back every few seconds as the part shuts itself off and cools, or the
part browns the board and fails early. A charger takes hours longer than planned.

What is judged
--------------
Each regulator that is fed, in every state, at the highest input: (Vin − Vout) · I + Vin · Iq for a
linear one, Vout · I · (1/η − 1) + Vin · Iq for a switching one, of which the coil and the diode
carry a part. The junction is then at Ta + P · θ, with the hot end of the temperature stated.
Pulses count as far as they warm the part: with one time constant, assumed to be 1 s for small
packages, shorter ones count with their mean. Hold above the highest junction temperature at the
voltage that the sources usually show; query where only their highest exceeds it, and for switching
types.

A charger whose current, input and empty cell would heat it beyond its limit folds its current back
by itself: note, it charges slower.

What the loads draw comes from the pattern. Where that is not known of one, the most current that
the regulator is made for is tried first: if even that is cool enough, nothing is asked.

Left undetermined
-----------------
The thermal resistance or the highest junction temperature is not known and decides: up to 500 K/W
and from 125 °C on nothing is asked. The output, the input, or what a load draws is not known.

Cure
----
A package with less thermal resistance, a lower input, a resistor before it that takes a part of
the heat, or a switching type.

Settings
--------
time_constant : time in which a small package warms up. Default 1 s.
worst_package : thermal resistance below which every small package lies. Default 500 K/W.
least_limit : junction temperature that every part stands. Default 125 degC.

Wrong::

    J1 usb-connector 1:VBUS VBUS 2:GND GND
    U1 MCP1703T-3302E/CB VIN+ VBUS VOUT> VCC GND- GND
    U2 mcu VCC+ VCC GND- GND
    ~ sources: {J1: {net: VBUS, voltage: 4.75 to 5.25 V}}
    ~ pattern: [{part: U2, current: 200 mA}]

Right (in a larger package)::

    J1 usb-connector 1:VBUS VBUS 2:GND GND
    U1 MCP1703T-3302E/DB VIN+ VBUS VOUT> VCC GND- GND = thermal_resistance 62 K/W
    U2 mcu VCC+ VCC GND- GND
    ~ sources: {J1: {net: VBUS, voltage: 4.75 to 5.25 V}}
    ~ pattern: [{part: U2, current: 200 mA}]

Right (the pulses are short and seldom)::

    J1 usb-connector 1:VBUS VBUS 2:GND GND
    U1 MCP1703T-3302E/CB VIN+ VBUS VOUT> VCC GND- GND
    U2 mcu VCC+ VCC GND- GND = sleep_current 1 uA
    ~ sources: {J1: {net: VBUS, voltage: 4.75 to 5.25 V}}
    ~ pattern: [{part: U2, current: 200 mA, for: 10 ms, every: 1 s}]

Sources
-------
TI SLVA079, section 12, and Microchip DS22049E, section 6.3.1: power and junction temperature.
Time constant of small packages, worst package, 125 °C: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.charging import Charger
from boardvet.circuit.converters import Regulator
from boardvet.circuit.handle import Circuit
from boardvet.circuit.regulating import Regulating
from boardvet.circuit.regulator_heat import Heated, RegulatorHeat
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.physics.regulator import junction_temperature, largest_dissipation
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How fast a package warms up, and what bounds stand in where a fact is not known."""

    time_constant: Annotated[float, "s"] = 1.0
    worst_package: Annotated[float, "K/W"] = 500.0
    least_limit: Annotated[float, "degC"] = 125.0


class Package(NamedTuple):
    """What a part stands: thermal resistance [K/W], junction limit, air [°C]."""

    resistance: Known[float]
    limit: Known[float]
    air: Known[float]

    def junction(self, power: float) -> float:
        """Return the temperature inside at a power, in °C."""
        return junction_temperature(self.air.value, power, self.resistance.value)

    def is_over(self, power: float) -> bool:
        """Tell whether a power is too much."""
        return self.junction(power) > self.limit.value

    @property
    def most(self) -> float:
        """The power at which it reaches its limit, in watts."""
        return largest_dissipation(self.limit.value, self.air.value, self.resistance.value)


@rule(level=Level.HOLD)
def check(
    regulator: Regulator,
    circuit: Circuit,
    heat: RegulatorHeat,
    regulating: Regulating,
    settings: Settings,
) -> Found | Clear:
    """Judge one regulator by the temperature inside it."""
    if regulator.charger:
        return _charger(regulator, circuit, heat, regulating, settings)
    try:
        worst = heat.worst(regulator, settings.time_constant, highest=True)
    except MissingFact as missing:
        return _bounded(regulator, circuit, heat, regulating, settings, missing)
    if worst is None:
        return Clear()
    package = _package(circuit, regulator, regulating, settings, worst.lasting)
    if not package.is_over(worst.lasting):
        return _cool(regulator, circuit, heat, regulating, settings, worst)
    usual = heat.worst(regulator, settings.time_constant, highest=False)
    typical = usual is not None and package.is_over(usual.lasting)
    shown = usual if usual is not None and typical else worst
    found = _too_hot(shown, package, typical=typical)
    short = regulating.shorted(regulator)
    return found if short is None else replace(found, follows=("rail-shorted", short))


def _package(
    circuit: Circuit,
    regulator: Regulator,
    regulating: Regulating,
    settings: Settings,
    power: float,
) -> Package:
    """Return what is known of the package; bounds stand in where they do not decide."""
    air = regulating.hottest
    theta = circuit.known(regulator.reference, "thermal_resistance")
    limit = circuit.known(regulator.reference, "junction_max")
    bounded = Package(
        cast("Known[float]", theta)
        if theta is not None
        else Known(settings.worst_package, "K/W", "assumed: no small package is worse"),
        cast("Known[float]", limit)
        if limit is not None
        else Known(settings.least_limit, "degC", "assumed: every part stands this"),
        air,
    )
    if bounded.is_over(power):
        for key, known in (("thermal_resistance", theta), ("junction_max", limit)):
            if known is None:
                raise circuit.facts.missing(regulator.reference, key)
    return bounded


def _cool(
    regulator: Regulator,
    circuit: Circuit,
    heat: RegulatorHeat,
    regulating: Regulating,
    settings: Settings,
    worst: Heated,
) -> Clear:
    """Answer clear where every load is known, or where even the most current is cool enough."""
    missing = heat.unknown_load(regulator)
    if missing is not None:
        return _bounded(regulator, circuit, heat, regulating, settings, missing)
    package = _package(circuit, regulator, regulating, settings, worst.lasting)
    return Clear(_numbers(worst, package))


def _bounded(
    regulator: Regulator,
    circuit: Circuit,
    heat: RegulatorHeat,
    regulating: Regulating,
    settings: Settings,
    missing: MissingFact,
) -> Clear:
    """Answer clear where even the most that it is made for is cool enough, else ask."""
    most = circuit.known(regulator.reference, "current_max")
    if most is None:
        raise missing.with_traceback(None)
    try:
        at_most = heat.at_most(regulator, cast("float", most.value))
        if at_most is None:
            return Clear()
        package = _package(circuit, regulator, regulating, settings, at_most.power)
    except MissingFact:
        raise missing.with_traceback(None) from None
    if package.is_over(at_most.power):
        raise missing.with_traceback(None)
    return Clear(_numbers(at_most, package))


def _numbers(heated: Heated, package: Package) -> tuple[Number, ...]:
    numbers = [
        Number("input voltage", heated.input, "V", heated.source),
        Number("output voltage", heated.output, "V", "computed: what it holds"),
        Number("current", heated.current.value, "A", heated.current.source),
    ]
    if heated.efficiency is not None:
        known = heated.efficiency
        numbers.append(Number("efficiency", known.value, "", known.source))
    return (
        *numbers,
        Number("heat", heated.lasting, "W", "computed: pulses by how far they warm the package"),
        Number("thermal resistance", *_plain(package.resistance)),
        Number("highest junction temperature", *_plain(package.limit)),
        Number("air", *_plain(package.air)),
    )


def _plain(known: Known[float]) -> tuple[float, str, str]:
    return known.value, known.unit, known.source


def _too_hot(heated: Heated, package: Package, *, typical: bool) -> Found:
    air, limit = package.air.value, package.limit.value
    inside = package.junction(heated.lasting)
    theta = (limit - air) / heated.lasting
    when = "" if typical else " at the highest input"
    return Found(
        bench=f"{THIS} overheats{when}: it shuts off and comes back again and again, or fails "
        "early.",
        sum=f"{_heat(heated)}; with {show(package.resistance.value, 'K/W')} that is {inside:.0f} "
        f"°C inside in air of {air:.0f} °C, and it stands {limit:.0f} °C.",
        fix=_fix(heated, package, theta),
        numbers=_numbers(heated, package),
        level=Level.HOLD if typical and heated.efficiency is None else Level.QUERY,
        state=heated.state.name,
    )


def _heat(heated: Heated) -> str:
    """Say in a sum what is turned into heat."""
    current, power = show(heated.current.value, "A"), show(heated.power, "W")
    if heated.efficiency is not None:
        given = show(heated.output * heated.current.value, "W")
        text = f"It gives {given} at {heated.efficiency.value:.0%} and turns {power} into heat"
    else:
        drop = f"({show(heated.input, 'V')} − {show(heated.output, 'V')})"
        text = f"It turns {drop} · {current} = {power} into heat"
    if heated.lasting < 0.99 * heated.power:
        text += f" in pulses that warm it like {show(heated.lasting, 'W')}"
    return text


def _fix(heated: Heated, package: Package, theta: float) -> str:
    share = package.most / heated.lasting
    scale = f"draw at most {show(share * heated.current.value, 'A')}"
    if theta <= 0.0:
        return "keep it cooler: the air alone is as hot as it stands"
    return (
        f"fit it in a package of at most {show(theta, 'K/W')} with the copper that it asks for, "
        + (f"or {scale}" if heated.efficiency is not None else f"lower its input, or {scale}")
    )


def _charger(
    regulator: Regulator,
    circuit: Circuit,
    heat: RegulatorHeat,
    regulating: Regulating,
    settings: Settings,
) -> Found | Clear:
    """Judge a charger, which takes its current back by itself."""
    charger = Charger(regulator.reference, regulator.inputs, regulator.outputs)
    heated = heat.charging(charger)
    if heated is None:
        return Clear()
    package = _package(circuit, regulator, regulating, settings, heated.power)
    if not package.is_over(heated.power):
        return Clear(_numbers(heated, package))
    share = package.most / heated.power
    current = show(heated.current.value, "A")
    return Found(
        bench=f"{THIS} charges an empty cell slower than it is set to.",
        sum=f"{_heat(heated)}; with {show(package.resistance.value, 'K/W')} it reaches "
        f"{package.limit.value:.0f} °C and takes its {current} back to "
        f"{show(share * heated.current.value, 'A')} or less until the cell has come up.",
        fix=f"nothing to change if that is quick enough; else set it to "
        f"{show(share * heated.current.value, 'A')}, or give it more copper",
        numbers=_numbers(heated, package),
        level=Level.NOTE,
        state=heated.state.name,
    )
