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
brown-out level. A dip that ends the work of the part less than 2 % of the charge before the rail
without load does, or one of less than 5 mV, is none.

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
A reservoir where the pulse is short enough, the board solved with it; else less current at once;
a lower brown-out level; a cell of less resistance.

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
from collections.abc import Iterator, Sequence

from boardvet.circuit.cells import Cells
from boardvet.circuit.discharge import costs_run_time
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import natural_key
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.reservoir_advice import Advice, Wanted, advice
from boardvet.circuit.reservoirs import Reservoir, Reservoirs
from boardvet.circuit.sags import NO_DIP, SAME, Crossing, Sag, Sags
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.strings import Strings
from boardvet.circuit.variation import CELL_RESISTANCE
from boardvet.circuit.windows import least_supply
from boardvet.circuit.workload import coldest
from boardvet.known import Known
from boardvet.physics.cell import REFERENCE_TEMPERATURE
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.quantity import show, show_time
from boardvet.review.rule import rule
from boardvet.review.verdict import Clear, Found, Level, Number
from boardvet.vocabulary.kinds import Kind

HALF, TENTH = 0.5, 0.1


@rule(level=Level.HOLD)
def check(part: SuppliedPart, circuit: Circuit, sags: Sags) -> Found | Clear:
    """Judge one part on the rail that a cell feeds."""
    if part.part_kind is Kind.REGULATOR:
        return Clear()  # boost-starved and regulator-headroom judge what it asks of the cell
    floor = sags.floor_of(part.reference, part.node)
    if floor is None:
        return _without_floor(part, circuit, sags)
    each = sags.of_floor(floor)
    if not each:
        return Clear()
    first = sags.first(each)
    if first is None:
        deepest = max(each, key=lambda sag: float((sag.resting - sag.lowest).max()))
        return Clear(tuple(_numbers(Crossing(deepest, 0.0), floor)))
    return _found(part, circuit, first, floor, each)


def _without_floor(part: SuppliedPart, circuit: Circuit, sags: Sags) -> Clear:
    """Ask for the supply range of a part, but where nothing pulls its rail down."""
    if part.reference in circuit.view(Floors).unknown and any(
        float((sag.resting - sag.lowest).max()) >= NO_DIP for sag in sags.of_node(part.node)
    ):
        raise circuit.facts.missing(part.reference, "supply")
    return Clear()


def _found(
    part: SuppliedPart, circuit: Circuit, first: Crossing, floor: Floor, each: Sequence[Sag]
) -> Found:
    sag, used = first
    level = _level(circuit, used)
    late = " That is before the run time wanted." if costs_run_time(circuit, used) else ""
    rest, low = sag.at(sag.resting, used), sag.at(sag.lowest, used)
    what, verb = _what(sag.meeting(used))
    return Found(
        bench=_bench(part, sag.meeting(used), floor, used),
        sum=f"{what} {verb} {part.rail} from {show(rest, 'V')} to {show(low, 'V')}"
        f"{_long(sag.meeting(used))}{_cold(circuit)}, and {part.reference} {floor.why} "
        f"{show(floor.volts.value, 'V')}.{late}",
        fix=_limited_first(circuit, sag.meeting(used)) + _fix(circuit, first, floor, each),
        why="The resistance of the cell grows as it is used and in the cold; at rest it looks "
        "well.",
        numbers=(
            Number("share of charge left", 1.0 - used, "", "computed: solved over its life"),
            *_numbers(first, floor),
            *_resistances(circuit, first, level),
            *(_losses(circuit, sag) if level is Level.HOLD else ()),
        ),
        level=level,
        parts=tuple(sorted(sag.timeline.state.sources)),
        state=sag.timeline.state.name,
    )


def _level(circuit: Circuit, used: float) -> Level:
    """Return the level of a stop at a share of charge used."""
    left = 1.0 - used
    if left >= HALF or costs_run_time(circuit, used):
        return Level.HOLD
    return Level.QUERY if left >= TENTH else Level.NOTE


def _bench(part: SuppliedPart, meeting: Meeting, floor: Floor, used: float) -> str:
    resets = "resets" if floor.why == "resets below" else "fails"
    when = "under its load" if math.isinf(meeting.run) else "at the pulses"
    if used == 0.0:
        return f"{part.reference} {resets} {when} even with a fresh cell."
    return f"{part.reference} {resets} {when} when {1.0 - used:.0%} of the charge is left."


def _numbers(first: Crossing, floor: Floor) -> Iterator[Number]:
    sag, used = first
    solved = "computed: the board, solved"
    volts = floor.volts
    yield Number(f"lowest voltage of {floor.rail}", sag.at(sag.lowest, used), "V", solved)
    yield Number(f"{floor.rail} without load", sag.at(sag.resting, used), "V", solved)
    yield Number(f"lowest that {floor.reference} works on", volts.value, "V", volts.source)


def _resistances(circuit: Circuit, first: Crossing, level: Level) -> Iterator[Number]:
    """Yield the resistance of each cell; not one that is assumed where half of it would hold."""
    sag, used = first
    stated_only = level is Level.HOLD and _holds_with_less(circuit, sag)
    for cell in circuit.view(Cells).all:
        source = cell.resistance_source
        if cell.reference in sag.timeline.state.sources and not (
            stated_only and source.startswith("assumed")
        ):
            ohms = cell_resistance(cell.curve, used, coldest(circuit), sag.meeting(used).run)
            yield Number(f"resistance of {cell.label}", ohms, "ohm", source)


def _holds_with_less(circuit: Circuit, sag: Sag) -> bool:
    """Tell whether it would be a hold with cells of the least resistance that may be assumed.

    At half of the resistance a dip is half or more of what it was, since lights then draw more:
    where half of it is a hold, nothing needs to be solved.
    """
    half = sag.resting - (sag.resting - sag.lowest) / CELL_RESISTANCE
    if _holds(circuit, sag._replace(lowest=half)):
        return True
    sags, milder = circuit.view(Sags), 1.0 / CELL_RESISTANCE
    # Reservoirs only make it milder still, and following them in time takes long.
    return _holds(circuit, sags.with_cell(sag, milder, bare=True)) and _holds(
        circuit, sags.with_cell(sag, milder)
    )


def _losses(circuit: Circuit, sag: Sag) -> Iterator[Number]:
    """Yield what is only assumed to be left of the reservoirs, where all of it would not hold."""
    fitted = _fitted(circuit, sag)
    assumed = [each for each in fitted if _is_assumed(each)]
    if not assumed:
        return
    whole = [_as_drawn(each) for each in fitted]
    if _holds(circuit, circuit.view(Sags).with_reservoirs(sag, whole)):
        return
    for each in assumed:
        capacitor, left, own = each
        if left.assumed:
            yield Number(f"left of {capacitor.reference}", left.value, "F", left.source)
        if own.assumed:
            name = f"series resistance of {capacitor.reference}"
            yield Number(name, own.value, "ohm", own.source)


def _holds(circuit: Circuit, sag: Sag) -> bool:
    first = circuit.view(Sags).first([sag])
    return first is not None and _level(circuit, first.used) is Level.HOLD


def _fitted(circuit: Circuit, sag: Sag) -> tuple[Reservoir, ...]:
    return circuit.view(Reservoirs).in_state(sag.timeline.state, frozenset({sag.node}))


def _is_assumed(reservoir: Reservoir) -> bool:
    return reservoir.capacitance.assumed or reservoir.series_resistance.assumed


def _as_drawn(reservoir: Reservoir) -> Reservoir:
    """Return a reservoir with the best that may be assumed of it."""
    value = reservoir.capacitor.value
    if value is not None and reservoir.capacitance.assumed:
        reservoir = reservoir._replace(capacitance=value)
    if reservoir.series_resistance.assumed:
        reservoir = reservoir._replace(series_resistance=Known(0.0, "ohm", "computed: none"))
    return reservoir


def _what(meeting: Meeting) -> tuple[str, str]:
    """Say what is on: lights, then what parts draw; and the verb for it."""
    lights = sorted(meeting.lights, key=natural_key)
    draws = [f"{part} with {show(current, 'A')}" for part, current in meeting.draws]
    named = [*(lights if len(lights) <= 3 else [f"{len(lights)} lights"]), *draws]
    if not named:
        return "The loads", "pull"
    verb = "pulls" if len(lights) + len(draws) == 1 else "pull"
    return f"{', '.join(named[:-1])} and {named[-1]}".removeprefix(" and "), verb


def _long(meeting: Meeting) -> str:
    return "" if math.isinf(meeting.run) else f" within {show_time(meeting.run)}"


def _cold(circuit: Circuit) -> str:
    cold = coldest(circuit)
    return "" if cold >= REFERENCE_TEMPERATURE else f" at {show(cold, 'degC')}"


def _fix(circuit: Circuit, first: Crossing, floor: Floor, each: Sequence[Sag]) -> str:
    """Name a reservoir with which it works as long as the rail allows, or at least longer."""
    sag, used = first
    limit = floor.volts.value
    until = min(sag.crossed(sag.resting, limit), 1.0) - SAME / 2.0
    goals = [until, *(goal for goal in (1.0 - TENTH, HALF) if used < goal < until)]
    sags = [sag, *(other for other in each if other is not sag)]
    kept = Advice(None, "")
    for goal in goals:
        wanted = [Wanted(one, limit, goal) for one in sags]
        kept = advice(circuit, wanted, _fitted(circuit, sag))
        if kept.capacitance:
            put = f"put {kept.words} from {floor.rail} to ground beside {floor.reference}"
            return f"{put}{_until(goal, until)}"
    ways = [*_lower(circuit, sag, floor), *_less(sag, limit, goals)]
    return f"{', '.join(ways)}, or fit a cell of less resistance (boardvet cells); {kept.words}"


def _limited_first(circuit: Circuit, meeting: Meeting) -> str:
    """Send to the lights that nothing limits, where one is lit then: they are nearer the cause."""
    strings = circuit.view(Strings)
    bare = [s.label for light in meeting.lights for s in strings.of_light(light) if s.bare]
    if not bare:
        return ""
    names = ", ".join(sorted(bare, key=natural_key)) if len(bare) <= 3 else "the lights"
    return f"limit the current of {names} first (see led-unlimited); if that is too little, "


def _until(goal: float, until: float) -> str:
    """Say how far a cure goes that is not whole."""
    if goal == until:
        return ""
    return f" to keep {'half' if goal == HALF else 'nine tenths'} of the charge usable"


def _less(sag: Sag, limit: float, goals: Sequence[float]) -> Iterator[str]:
    """Yield how much may be drawn at once without a reservoir, to reach the whole or a goal."""
    amperes = [_most(sag, limit, goal) for goal in goals]
    at = 0 if amperes[0] > 0.8 * amperes[-1] else -1
    most = f"at most {show(amperes[at], 'A')}" if amperes[at] > 0.0 else "less"
    yield f"draw {most} at once{_until(goals[at], goals[0])}"


def _most(sag: Sag, limit: float, share: float) -> float:
    """Return which current keeps a voltage without a reservoir, in amperes."""
    dip = sag.at(sag.resting, share) - sag.at(sag.still, share)
    allowed = sag.at(sag.resting, share) - limit
    return sag.at(sag.current, share) * allowed / dip if dip > 0.0 else 0.0


def _lower(circuit: Circuit, sag: Sag, floor: Floor) -> Iterator[str]:
    """Yield a brown-out level that would do until a tenth is left, or half, if the part allows."""
    if floor.why != "resets below":
        return
    least = least_supply(circuit, floor.reference).volts.value
    level = max(least, math.floor(100.0 * sag.at(sag.lowest, 1.0 - TENTH)) / 100.0)
    if level < floor.volts.value and sag.crossed(sag.lowest, level) >= HALF:
        less = " or less" if level > least else ""
        yield f"set the brown-out level of {floor.reference} to {show(level, 'V')}{less}"
