"""Current creeps out of a cell, or into a primary one, where a diode or an input holds it back.

On the bench
------------
A cell that is empty long before its time although nothing seems to be on; or a primary cell that
ages fast, swells or leaks on a board that lies plugged in.

What is judged
--------------
Three ways on which current creeps. Into a primary cell, backwards through the diode that keeps
another source off it: query above the most that makers allow backwards, and where the charge
over the run time is more than they allow. Out of the cell, backwards through a diode into a rail
that has no source then, such as that of an unplugged USB connector; and out of the cell through
resistors into a part that has no supply, whose input clamps to it: note with the share of the
mean current that the run time allows, and without a run time where the leak alone empties the
cell soon. The reverse current is the one stated of the diode, up to its voltage, else an assumed
one of its type; it doubles every 10 K up to the hottest air that is stated. Diodes in a row let
through what the tightest does. Where a transistor blocks nothing is counted, nor where the inputs
of a part stand a voltage without supply (`fail_safe`).

Left undetermined
-----------------
The cell, its capacity where a run time is stated, the voltage of a source, or the value of a
resistor is not known.

Cure
----
Fit a diode that leaks less, such as a silicon one where its 0.7 V can be spared, and state its
`reverse_current`; make the resistors larger or switch them off.

Settings
--------
most : reverse current into a primary cell above which somebody has to answer. Default 1 µA.
charged : share of its capacity that may flow into a primary cell over the run time. Default 0.03.
share : share of the mean current that the run time allows from which a leak is a note.
 Default 0.05.
alone : without a run time, time within which a leak alone empties the cell to be a note.
 Default 365 days.

Wrong (a 1 A Schottky diode keeps USB off a coin cell)::

    BT1 CR2032 CELL GND
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 3.3 V}}
    ~ temperature: 0 to 45 degC
    D1 diode/SS14 CELL VCC = reverse_current 10 uA at 5 V
    D2 diode/SS14 VIN VCC
    U1 mcu VCC+ VCC GND- GND

Wrong (out of the cell into the rail of an unplugged connector)::

    BT1 CR2032 CELL GND
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    ~ run_time: 400 days
    D1 diode/1N4148 CELL VCC = reverse_current 25 nA at 20 V
    D2 diode/SS14 VIN VCC = reverse_current 10 uA at 5 V
    R1 100k VIN GND
    U1 mcu VCC+ VCC GND- GND

Right::

    BT1 CR2032 CELL GND
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    ~ run_time: 400 days
    D1 diode/1N4148 CELL VCC = reverse_current 25 nA at 20 V
    D2 diode/BAT54 VIN VCC = reverse_current 0.5 uA at 25 V
    R1 100k VIN GND
    U1 mcu VCC+ VCC GND- GND

Sources
-------
1 µA as the most backwards: Energizer CR2032 sheet, Form 2032NA0618. 3 % of the capacity over the
life: handbooks of makers of lithium manganese cells, from memory (some say 1 %). Doubling every
10 K, and the reverse currents of types: common practice and from memory of data sheets.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.circuit.handle import Circuit
from boardvet.circuit.leaks import Leak, LeakKind, Leaks
from boardvet.circuit.target import Target
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import Clear, Found, Level, Number

DAY = 86400.0
LIMIT = "facts Energizer CR2032 sheet, Form 2032NA0618, or the setting most"


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What may creep into a primary cell, and what out of any."""

    most: Annotated[float, "A"] = 1e-6
    charged: Annotated[float, ""] = 0.03
    share: Annotated[float, ""] = 0.05
    alone: Annotated[float, "s"] = 365 * DAY


@rule(level=Level.NOTE)
def check(
    leak: Leak, circuit: Circuit, leaks: Leaks, target: Target, settings: Settings
) -> Found | Clear:
    """Judge one way on which current creeps."""
    if leak.where is LeakKind.CELL:
        return _into_cell(leak, circuit, leaks, target, settings)
    current = leaks.current(leak)
    numbers = (Number("leak", current.value, "A", current.source),)
    if current.value <= 0:
        return Clear(numbers)
    share = target.share(current.value, leak.cell.reference)
    if share is None:
        return _without_target(leak, _warmth(circuit), target, settings, numbers)
    if share <= settings.share:
        return Clear(numbers)
    days = target.run_time.value / DAY if target.run_time is not None else 0.0
    return _out_of_cell(
        leak,
        _warmth(circuit),
        numbers,
        f"{share:.0%} of what {leak.cell.reference} can give for {days:.3g} days",
    )


def _without_target(
    leak: Leak, warmth: str, target: Target, settings: Settings, numbers: tuple[Number, ...]
) -> Found | Clear:
    """Judge by the time in which the leak alone empties the cell, where its capacity is known."""
    current = numbers[0].value
    if leak.cell.capacity is None:
        return Clear(numbers)
    days = target.days_alone(current, leak.cell.reference)
    if days * DAY >= settings.alone:
        return Clear(numbers)
    return _out_of_cell(
        leak, warmth, numbers, f"which alone empties {leak.cell.reference} in {days:.3g} days"
    )


def _out_of_cell(leak: Leak, warmth: str, numbers: tuple[Number, ...], measure: str) -> Found:
    names = " and ".join(leak.through)
    amount = show(numbers[0].value, "A")
    if leak.where is LeakKind.PART:
        return Found(
            bench=f"{leak.cell.reference} empties although {leak.into} is off.",
            sum=f"Through {names} {amount} flow into an input of {leak.into}, {measure}.",
            fix=f"make {names} larger, feed it from the supply of {leak.into}, or state "
            f"fail_safe: yes of {leak.into} if its sheet says so",
            why="Without supply an input clamps a diode's drop above ground.",
            numbers=numbers,
            parts=(leak.into, leak.cell.reference),
            state=leak.state.name,
        )
    return Found(
        bench=f"{leak.cell.reference} empties sooner than its load explains.",
        sum=f"Backwards through {names} {amount} creep into {leak.into}{warmth}, {measure}.",
        fix=f"fit a diode that leaks less for {names}, and state its reverse_current",
        why="While nothing feeds that rail, the diode has the cell's voltage backwards across it.",
        numbers=numbers,
        parts=(leak.cell.reference,),
        state=leak.state.name,
    )


def _into_cell(
    leak: Leak, circuit: Circuit, leaks: Leaks, target: Target, settings: Settings
) -> Found | Clear:
    """Judge what creeps into a primary cell, against the most and against its capacity."""
    leak.cell.need_chemistry()
    current = leaks.current(leak)
    numbers: tuple[Number, ...] = (
        Number("leak into the cell", current.value, "A", current.source),
    )
    if current.value > settings.most:
        limit = Number("most", settings.most, "A", LIMIT)
        return _charged(
            leak, circuit, current, (*numbers, limit), f"makers allow {show(settings.most, 'A')}"
        )
    if target.run_time is None or current.value <= 0:
        return Clear(numbers)
    seconds = target.run_time.value * _share_of_time(circuit, leak)
    capacity = target.need_capacity(leak.cell.reference)
    into = current.value * seconds
    numbers = (*numbers, Number("capacity", capacity.value, "C", capacity.source))
    if into <= settings.charged * capacity.value:
        return Clear(numbers)
    return _charged(
        leak,
        circuit,
        current,
        numbers,
        f"over the run time {show(into, 'C')}, {into / capacity.value:.0%} of its capacity; "
        f"makers allow {settings.charged:.0%}",
    )


def _warmth(circuit: Circuit) -> str:
    """Say at which temperature a leak was taken, "" where none is stated."""
    stated = circuit.intent.temperature
    return f" at {stated.value.high:g} °C" if stated is not None else ""


def _share_of_time(circuit: Circuit, leak: Leak) -> float:
    """Return for which share of the time the source is there: always, where nothing says it."""
    for mode in circuit.intent.modes:
        if mode.name == leak.state.mode and mode.share is not None:
            return mode.share.value
    return 1.0


def _charged(
    leak: Leak,
    circuit: Circuit,
    current: Known[float],
    numbers: tuple[Number, ...],
    measure: str,
) -> Found:
    names = " and ".join(leak.through)
    return Found(
        bench=f"{leak.into} is charged a little for as long as the other source is there: it ages "
        "fast, and may leak.",
        sum=f"Backwards through {names} {show(current.value, 'A')} creep into {leak.into}"
        f"{_warmth(circuit)}; {measure}.",
        fix=f"fit a diode that leaks less for {names}, such as a silicon one, and state its "
        "reverse_current",
        why="A primary cell must not be charged, and a diode that blocks still lets a little "
        "through, more when it is warm. Follow the sheet of the cell's maker.",
        numbers=numbers,
        level=Level.QUERY,
        parts=(leak.cell.reference,),
        state=leak.state.name,
    )
