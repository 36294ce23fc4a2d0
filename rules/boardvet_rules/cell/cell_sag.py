"""Pulses pull the rail below what a part needs that is awake.

On the bench
------------
The controller resets whenever the lights pulse or the radio sends: first now and then, with a
cell that measures well at rest, then at every pulse.

What is judged
--------------
Each part that a cell feeds without a regulator between them. Everything that can be on together
in a step of the pattern is one network: the cell with its resistance for this length of pulse, at
this state of charge and at the coldest temperature stated, lights as far as the voltage leaves
them their current, and the reservoirs that are fitted, after their loss under bias and as far as
the gaps of the pattern let them recharge. Steps of unrelated periods are taken to coincide. The
voltage at the part while it is awake is compared with the higher of its least supply and its
brown-out level.

The level follows the charge that is left when it happens first: hold with half of it or more, with
a fresh cell, or before the run time wanted; query down to a tenth; note below. Where the
resistance of the cell is only assumed, and half of it would be no hold, it is a query.

A rail that is too low without any pulse is the matter of `supply-window`; parts behind a regulator
are judged by `regulator-headroom`, boosters by `boost-starved`.

Left undetermined
-----------------
The supply range of the part, the cell, or a value that the current of a light depends on is not
known.

Cure
----
A reservoir where the pulse is short enough, computed; else less current at once; a lower
brown-out level; a cell of less resistance.

Wrong::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = brown_out 2.7 V = sleep_current 1 uA
    ~ pattern: [{part: U1, current: 30 mA, for: 20 ms, every: 1 s}]

Right::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = brown_out 1.8 V = sleep_current 1 uA
    ~ pattern: [{part: U1, current: 30 mA, for: 20 ms, every: 1 s}]

Wrong (a reservoir too small for the pulse)::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = brown_out 2.7 V = sleep_current 1 uA
    C1 100u/10V VBAT GND = dielectric tantalum = series_resistance 0.1 ohm
    ~ pattern: [{part: U1, current: 30 mA, for: 20 ms, every: 1 s}]

Right (carried by a larger one)::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.9 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = brown_out 2.7 V = sleep_current 1 uA
    C1 4700u/10V VBAT GND = dielectric polymer = series_resistance 0.05 ohm
    ~ pattern: [{part: U1, current: 30 mA, for: 20 ms, every: 1 s}]

Sources
-------
Ohm's law, the charge of capacitors and the junction equation, solved in time. Resistance of cells:
see the numbers and assumptions of the report; TI SWRA349 shows what pulses do to coin cells.
Shares of charge: the rule book of this project.
"""

from __future__ import annotations

import math

from boardvet.circuit.cells import Cells
from boardvet.circuit.discharge import costs_run_time
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.reservoir_advice import advice
from boardvet.circuit.sags import Sag, Sags
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.variation import CELL_RESISTANCE
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.quantity import show, show_time
from boardvet.review.rule import rule
from boardvet.review.verdict import Clear, Found, Level, Number
from boardvet.vocabulary.kinds import Kind

HALF, TENTH = 0.5, 0.1

SAME = 0.02
"""A pulse that brings the end by a smaller share of the charge than this is not what ends it."""


@rule(level=Level.HOLD)
def check(part: SuppliedPart, circuit: Circuit, sags: Sags) -> Found | Clear:
    """Judge one part on the rail that a cell feeds."""
    if part.part_kind is Kind.REGULATOR:
        return Clear()
    floor = sags.floor_of(part.reference, part.node)
    if floor is None:
        if part.reference in circuit.view(Floors).unknown:
            raise circuit.facts.missing(part.reference, "supply")
        return Clear()
    each = [
        sag
        for sag in sags.of_floor(floor)
        if not _behind_regulator(circuit.view(Plants).in_state(sag.timeline.state), part.node)
    ]
    if not each:
        return Clear()
    limit = floor.volts.value
    worst = min(each, key=lambda sag: (sag.crossed(sag.lowest, limit), -_depth(sag)))
    used = worst.crossed(worst.lowest, limit)
    rest = min(worst.crossed(worst.resting, limit), 1.0)
    if not math.isfinite(used) or rest - used < SAME:
        return Clear(_numbers(worst, floor, 0.0))
    return _found(part, circuit, worst, floor, used)


def _behind_regulator(plant: Plant, node: str) -> bool:
    path = plant.paths.get(node, ())
    return any(each.reference in path for each in plant.converting)


def _depth(sag: Sag) -> float:
    return float((sag.resting - sag.lowest).max())


def _found(part: SuppliedPart, circuit: Circuit, sag: Sag, floor: Floor, used: float) -> Found:
    left = 1.0 - used
    early = costs_run_time(circuit, used)
    level = Level.HOLD if left >= HALF or early else Level.QUERY if left >= TENTH else Level.NOTE
    resets = "resets" if floor.why == "resets below" else "fails"
    when = "under its load" if math.isinf(sag.meeting.run) else "at the pulses"
    bench = (
        f"{part.reference} {resets} {when} even with a fresh cell."
        if used == 0.0
        else f"{part.reference} {resets} {when} while {left:.0%} of the charge is left."
    )
    late = " That is before the run time wanted." if early else ""
    rest, low = sag.at(sag.resting, used), sag.at(sag.lowest, used)
    return Found(
        bench=bench,
        sum=f"{_what(sag.meeting)} pull {part.rail} from {show(rest, 'V')} to {show(low, 'V')}"
        f"{_long(sag.meeting)}, and {part.reference} {floor.why} "
        f"{show(floor.volts.value, 'V')}.{late}",
        fix=_fix(sag, floor),
        why="The resistance of the cell grows as it is used and in the cold; at rest it looks "
        "well.",
        numbers=(
            Number("share of charge left", left, "", "computed: the board, solved over its life"),
            *_numbers(sag, floor, used),
            *_deciding(circuit, sag, floor),
        ),
        level=level,
        parts=tuple(sorted(sag.timeline.state.sources)),
        state=sag.timeline.state.name,
    )


def _numbers(sag: Sag, floor: Floor, used: float) -> tuple[Number, ...]:
    solved = "computed: the board, solved"
    return (
        Number(f"lowest voltage of {floor.rail}", sag.at(sag.lowest, used), "V", solved),
        Number(f"{floor.rail} at rest", sag.at(sag.resting, used), "V", solved),
        Number(
            f"lowest that {floor.reference} works on", floor.volts.value, "V", floor.volts.source
        ),
    )


def _deciding(circuit: Circuit, sag: Sag, floor: Floor) -> tuple[Number, ...]:
    """Return the resistance of a cell that is only assumed, where half of it would be no hold."""
    milder = sag.resting - (sag.resting - sag.lowest) / CELL_RESISTANCE
    if 1.0 - sag.crossed(milder, floor.volts.value) >= HALF:
        return ()
    return tuple(
        Number(f"resistance of {cell.label}, fresh", ohms, "ohm", cell.resistance_source)
        for cell in circuit.view(Cells).all
        if cell.reference in sag.timeline.state.sources
        for ohms in (cell_resistance(cell.curve, 0.0),)
    )


def _what(meeting: Meeting) -> str:
    """Say what is on: lights, then what parts draw."""
    lights = sorted(meeting.lights)
    named = [", ".join(lights) if len(lights) <= 3 else f"{len(lights)} lights"] if lights else []
    named += [f"{part} with {show(current, 'A')}" for part, current in meeting.draws]
    return " and ".join(named) or "The loads"


def _long(meeting: Meeting) -> str:
    return "" if math.isinf(meeting.run) else f" within {show_time(meeting.run)}"


def _fix(sag: Sag, floor: Floor) -> str:
    """Name a reservoir where one keeps it to the last tenth, else what else helps."""
    limit = floor.volts.value
    last = min(1.0 - TENTH, sag.crossed(sag.resting, limit) - SAME)
    kept = advice(sag, limit, max(last, 0.0))
    lower = (
        f"set the brown-out level of {floor.reference} lower, "
        if floor.why == "resets below"
        else ""
    )
    if kept.capacitance:
        return (
            f"put {kept.words} from {floor.rail} to ground beside {floor.reference} "
            "(boardvet size reservoir solves it)"
        )
    return (
        f"{lower}draw less at once (lights one after another, larger resistors), or fit a cell of "
        f"less resistance (boardvet cells); {kept.words}"
    )
