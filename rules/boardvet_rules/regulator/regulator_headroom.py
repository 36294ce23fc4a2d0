"""A regulator runs out of head-room, or its load fails, while the cell still has charge.

On the bench
------------
The board stops, or resets when it works hardest, with a cell that still measures well; or the rail
just follows the cell down, and the regulator might as well not be there.

What is judged
--------------
Each regulator that cells alone feed and that does not step up. The board is solved in every step
of the pattern, from fresh to empty and at the coldest temperature stated: cell with its
resistance, regulator with its drop-out at the current that flows, loads, lights.

Load failing: where a part behind the regulator falls below its least supply or its brown-out level
while it works, the share of charge that is left decides. Hold with half of it or more, with a
fresh cell, or where it keeps the board from its run time; query down to a tenth; note below. Where
the curve of the cell is only assumed it is a hold if a twentieth more voltage would not cure it.

Regulation lost, but every load content: query where that is so for half of the charge or more,
else note; the last hundredth counts as empty.

What `supply-window` finds of the same parts at small currents follows from this. Boosters are
judged by `boost-starved`, lights by `led-headroom`.

Left undetermined
-----------------
The output or, where it decides, the drop-out voltage of the regulator; the supply range of a part
behind it once regulation is lost; what a load draws, where the current decides.

Cure
----
The same regulator with a lower output, one with less drop-out, one more cell, or a step-up-down
type.

Wrong::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = dropout 700 mV at 100 mA
    U2 module VCC+ VCC GND- GND = supply 3.0 to 3.6 V = sleep_current 10 uA
    ~ pattern: [{part: U2, current: 100 mA, for: 100 ms, every: 10 s}]

Right::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.5 V = dropout 200 mV at 100 mA
    U2 module VCC+ VCC GND- GND = supply 1.8 to 3.6 V = sleep_current 10 uA
    ~ pattern: [{part: U2, current: 100 mA, for: 100 ms, every: 10 s}]

Wrong (it never regulates)::

    BT1 CR2032 VBAT GND
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = dropout 200 mV at 100 mA
    U2 mcu VCC+ VCC GND- GND = supply 1.8 to 5.5 V = sleep_current 1 uA
    ~ pattern: [{part: U2, current: 1 mA, for: 10 ms, every: 1 s}]

Sources
-------
TI SLVA079, section 1: drop-out is where regulation ceases, and grows with the current. Shares of
charge: the rule book of this project.
"""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Regulator, dropout_points
from boardvet.circuit.discharge import costs_run_time
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import node_label
from boardvet.circuit.regulating import Regulating
from boardvet.circuit.regulator_life import Failing, Life, RegulatorLife
from boardvet.circuit.windows import WORST_DROPOUT, first_below
from boardvet.physics.regulator import dropout_voltage
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

HALF, TENTH, TWENTIETH = 0.5, 0.1, 0.05

LAST = 0.99
"""From here on the cell is empty: its curve is not that exact."""

LITTLE = 0.1
"""Drop-out of a modern type at its usual current: common practice. [V]"""

OUTPUTS = (1.2, 1.5, 1.8, 2.0, 2.5, 2.8, 3.0, 3.3, 5.0)
"""Outputs of fixed regulators that many makers sell: common practice. [V]"""


@rule(level=Level.QUERY)
def check(
    regulator: Regulator, circuit: Circuit, lives: RegulatorLife, regulating: Regulating
) -> Found | Clear:
    """Judge one regulator over the life of the cell."""
    life = lives.life(regulator)
    if life is None:
        return Clear()
    short = regulating.shorted(regulator)
    cause = ("rail-shorted", short) if short is not None else None
    if life.failing:
        found = _failing(circuit, life, life.failing[0])
        if found.level is Level.NOTE and life.lost is not None and 1.0 - life.lost >= HALF:
            found = _content(circuit, life, life.lost)  # the loads outlive the regulation by far
        return found if cause is None else replace(found, follows=cause)
    if cause is None:
        _ask(regulator, circuit, regulating, life)
    if life.lost is None or life.lost > LAST:
        return Clear(_numbers(circuit, life))
    return replace(_content(circuit, life, life.lost), follows=cause)


def _ask(regulator: Regulator, circuit: Circuit, regulating: Regulating, life: Life) -> None:
    """Ask what could still make it worse than a note."""
    for reference in life.unjudged if life.lost is not None else ():
        raise circuit.facts.missing(reference, "supply")
    if not life.numbers.switching and not life.numbers.dropout_known:
        if _is_worse(life, WORST_DROPOUT):
            raise circuit.facts.missing(regulator.reference, "dropout")
    elif life.unknown:
        most = circuit.known(regulator.reference, "current_max")
        points = dropout_points(circuit, regulator.reference)
        at_most = WORST_DROPOUT
        if most is not None and points:
            at_most = dropout_voltage(points, cast("float", most.value))
        if _is_worse(life, at_most):
            raise regulating.load_unknown(life.unknown[0])


def _is_worse(life: Life, dropout: float) -> bool:
    """Tell whether a larger drop-out would cost half of the charge regulated, or stop a load."""
    if life.lost is None:
        return _is_early(life.lost_with(dropout))
    stops = first_below(life.inputs, life.highest_floor + dropout)
    lost = life.lost_with(dropout)
    return _is_early(stops) or (lost is not None and lost <= HALF < life.lost)


def _is_early(used: float | None) -> bool:
    return used is not None and used <= 1.0 - TENTH


def _failing(circuit: Circuit, life: Life, first: Failing) -> Found:
    """Report a part that stops for want of head-room, by the charge that is left."""
    left = 1.0 - first.used
    part = first.floor.reference
    fresh = first.used == 0.0
    early = costs_run_time(circuit, first.used)
    level = Level.HOLD if left >= HALF or early else Level.QUERY if left >= TENTH else Level.NOTE
    bench = (
        f"{part} does not start, or runs by luck, even with a fresh {life.cell}."
        if fresh
        else f"{part} stops while {left:.0%} of the charge is still in {life.cell}."
    )
    late = " That is before the run time wanted." if early else ""
    return Found(
        bench=bench,
        sum=f"{_needs(circuit, life)}, and {first.floor.reason}.{late}",
        fix=_fix(life, first.floor.volts.value),
        numbers=(
            Number("share of charge left", left, "", "computed: the board, solved over its life"),
            *_numbers(circuit, life, sure=_is_sure(life, first)),
            Number(
                f"lowest supply of {part}", first.floor.volts.value, "V", first.floor.volts.source
            ),
        ),
        level=level,
        parts=tuple(dict.fromkeys((life.cell, part))),
        state=first.step.timeline.state.name,
    )


def _is_sure(life: Life, first: Failing) -> bool:
    """Tell whether more than half is left even if the cell's voltage were a twentieth higher."""
    needed = (first.floor.volts.value + life.dropout) / (1.0 + TWENTIETH)
    used = first_below(life.inputs, needed)
    return used is not None and 1.0 - used >= HALF


def _content(circuit: Circuit, life: Life, used: float) -> Found:
    """Report a rail that follows the cell, with everything on it content."""
    left = 1.0 - used
    rail = node_label(circuit, life.numbers.target)
    volts = show(life.numbers.voltage, "V")
    never = f"{rail} never reaches {volts}: {THIS} just passes on what {life.cell} gives."
    sinks = (
        f"{rail} sinks with {life.cell} for the last {left:.0%} of its charge; what is on it goes "
        f"on working{_to_the_end(life)}."
    )
    return Found(
        bench=never if used == 0.0 else sinks,
        sum=f"{_needs(circuit, life)}.",
        fix=_fix(life, life.highest_floor)
        if left >= HALF
        else "nothing to change if nothing measures against that rail",
        numbers=(
            Number("share of charge unregulated", left, "", "computed: the board, solved"),
            *_numbers(circuit, life),
        ),
        level=Level.QUERY if left >= HALF else Level.NOTE,
        parts=(life.cell,),
        state=life.step.timeline.state.name,
    )


def _to_the_end(life: Life) -> str:
    """Say where one of the loads stops with the last of the charge."""
    if not life.failing:
        return ""
    first = life.failing[0]
    return f" until {1.0 - first.used:.0%} is left, where {first.floor.reference} stops"


def _needs(circuit: Circuit, life: Life) -> str:
    """Say what it drops and what it gets at its input."""
    volts, node = show(life.numbers.voltage, "V"), node_label(circuit, life.numbers.source)
    drop = f"drops {show(life.dropout, 'V')} at {show(life.current, 'A')} and " * bool(
        life.dropout
    )
    return (
        f"{THIS} {drop}holds {volts}; in the worst step {node} is at {show(life.inputs[0], 'V')} "
        f"with a fresh {life.cell} and at {show(life.inputs[-1], 'V')} with an empty one"
    )


def _fix(life: Life, floor: float) -> str:
    """Name an output that holds to the end and still is enough, else another type."""
    holds = life.inputs[-1] - life.dropout
    fitting = [volts for volts in OUTPUTS if floor <= volts <= holds]
    if fitting:
        return f"fit its {show(fitting[-1], 'V')} type, which holds until {life.cell} is empty"
    steps = f"fit one that steps up and down, or one more cell in series with {life.cell}"
    least = first_below(life.inputs, floor + LITTLE)
    if not floor or life.dropout <= LITTLE or least == 0.0:
        return steps
    drop = f"{show(LITTLE, 'V')} at {show(life.current, 'A')}"
    left = 0.0 if least is None else 1.0 - least
    gain = f"fit a type that drops at most {drop}: then {left:.0%} is left"
    return gain if least is None else f"{gain}; or {steps}"


def _numbers(circuit: Circuit, life: Life, *, sure: bool = False) -> tuple[Number, ...]:
    """Return what it rests on; the curve of the cell only where that decides."""
    dropout = circuit.known(life.numbers.reference, "dropout")
    drop = (
        (Number("drop-out voltage", life.dropout, "V", dropout.source),)
        if dropout is not None
        else ()
    )
    return (
        Number(
            f"input of {life.numbers.reference}, fresh",
            life.inputs[0],
            "V",
            "computed: a twentieth more would be no better" if sure else _source(circuit, life),
        ),
        Number("output current", life.current, "A", "computed: the board, solved"),
        *drop,
    )


def _source(circuit: Circuit, life: Life) -> str:
    """Return where the curve of the cell comes from, on which the input rests."""
    cells = circuit.view(Cells).all
    return next((c.curve_source for c in cells if c.reference == life.cell), "computed: solved")
