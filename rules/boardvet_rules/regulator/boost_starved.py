"""A regulator that steps up asks more of the cell than it can give.

On the bench
------------
The board hiccups: the boosted rail rises, the cell gives way, everything starts again, with a cell
that still measures well. It is worst in the cold and gets worse as the cell ages.

What is judged
--------------
Each regulator that steps up and that cells alone feed, in every step of the pattern, from fresh to
empty and at the coldest temperature stated. It takes constant power, P = Vout · I / η, so that its
current rises as its input falls. On a cell of V behind R there is no voltage at which that stands
where P > V² / (4 · R); below that it stands at (V + √(V² − 4 · R · P)) / 2, which has to be within
its input range. R is that of the cell for this length of pulse, and it grows as the cell empties.

Start: where the least voltage at which it starts is known, fresh, and over the whole life where a
pin or a hand switches it on again. Coil: its mean current against its rating, where that is known;
its peak is higher.

The share of charge that is left when it happens decides. Hold with half of it or more, with a
fresh cell, or where it keeps the board from its run time; query down to a tenth; note below. Where
the curves of the cell are only assumed it is a hold if half the resistance and a twentieth more
voltage would not cure it.

The dip at its input is judged here and not by `cell-sag`; what `reservoir-short`, `cell-load`,
`supply-window` or `run-time` say of it follows from here.

Quiet where the capacitors at its input carry the step, after their loss under bias: they last
longer than it, and the gap behind it is long enough to charge them again.

Left undetermined
-----------------
The output, the input range where the input falls below 2 V, or what a load draws is not known.

Cure
----
Capacitance at the input, a cell of less resistance, or less power at a time.

Wrong::

    BT1 CR2032 VBAT GND
    U1 MCP1640 VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V
    U2 module VCC+ VCC GND- GND = supply 3.0 to 3.6 V = sleep_current 1 uA
    ~ pattern: [{part: U2, current: 50 mA, for: 100 ms, every: 10 s}]

Right::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 2}
    U1 MCP1640 VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V
    U2 module VCC+ VCC GND- GND = supply 3.0 to 3.6 V = sleep_current 1 uA
    ~ pattern: [{part: U2, current: 50 mA, for: 100 ms, every: 10 s}]

Right (a capacitor carries the burst)::

    BT1 CR2032 VBAT GND
    C1 1000u/6.3V VBAT GND = dielectric polymer
    U1 MCP1640 VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V
    U2 module VCC+ VCC GND- GND = supply 3.0 to 3.6 V = sleep_current 1 uA
    ~ pattern: [{part: U2, current: 50 mA, for: 5 ms, every: 10 s}]

Sources
-------
V² / (4 · R) and the voltage at which constant power stands: the quadratic that Kirchhoff's law
gives, P = V · (V0 − V) / R. Shares of charge: the rule book of this project.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import cast

from boardvet.circuit.boosting import Boost, Boosting, Why
from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Regulator
from boardvet.circuit.discharge import costs_run_time
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import node_label
from boardvet.circuit.regulating import Regulating
from boardvet.quantity import preferred, show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

HALF, TENTH = 0.5, 0.1

SENSIBLE = 2.2e-3
"""A larger capacitor hardly fits beside a small booster: common practice. [F]"""

USUAL_INPUT = 2.0
"""Every booster of small boards runs from here on: common practice. [V]"""


@rule(level=Level.QUERY)
def check(
    regulator: Regulator, circuit: Circuit, boosting: Boosting, regulating: Regulating
) -> Found | Clear:
    """Judge one regulator that steps up by what the cell can give it."""
    boost = boosting.boost(regulator)
    if boost is None:
        return Clear()
    if boost.why is None:
        _ask(regulator, circuit, regulating, boost)
        return Clear(_numbers(circuit, boost))
    found = _found(circuit, boosting, boost, boost.why)
    short = regulating.shorted(regulator)
    if short is not None:
        return replace(found, follows=("rail-shorted", short))
    return found


def _ask(regulator: Regulator, circuit: Circuit, regulating: Regulating, boost: Boost) -> None:
    """Ask what could still stop it."""
    stands = boost.stands if boost.stands is not None else 0.0
    if boost.least is None and stands < USUAL_INPUT:
        raise circuit.facts.missing(regulator.reference, "supply")
    for reference in regulating.unknown_loads(regulator, boost.want.step.timeline):
        most = circuit.known(regulator.reference, "current_max")
        if most is None:
            raise regulating.load_unknown(reference)
        power = boost.numbers.voltage * cast("float", most.value) / boost.want.efficiency.value
        if power > boost.most:
            raise regulating.load_unknown(reference)


def _found(circuit: Circuit, boosting: Boosting, boost: Boost, why: Why) -> Found:
    left = 1.0 - boost.used
    early = costs_run_time(circuit, boost.used)
    level = Level.HOLD if left >= HALF or early else Level.QUERY if left >= TENTH else Level.NOTE
    late = " That is before the run time wanted." if early else ""
    return Found(
        bench=_bench(circuit, boost, why, left),
        sum=f"{_sum(circuit, boost, why)}.{late}",
        fix=_fix(boosting, boost, why),
        numbers=(
            Number("share of charge left", left, "", "computed: the board, solved over its life"),
            *_numbers(circuit, boost, sure=boosting.is_sure(boost, HALF)),
        ),
        level=level,
        parts=tuple(filter(None, (boost.cell, boost.coil))),
        state=boost.want.step.timeline.state.name,
    )


def _bench(circuit: Circuit, boost: Boost, why: Why, left: float) -> str:
    rail = node_label(circuit, boost.numbers.target)
    when = "even with a fresh" if left == 1.0 else f"while {left:.0%} of the charge is still in"
    if why is Why.START:
        return f"{rail} does not come up {when} {boost.cell}: {THIS} does not start."
    if why is Why.COIL:
        return f"{rail} sags under load {when} {boost.cell}, and {boost.coil} gets hot."
    return f"{rail} breaks down and comes back again and again {when} {boost.cell}."


def _sum(circuit: Circuit, boost: Boost, why: Why) -> str:
    want, volts = boost.want, show(boost.source, "V")
    node = node_label(circuit, boost.numbers.source)
    if why is Why.START and boost.least is not None:
        return f"{THIS} starts from {show(boost.least.value, 'V')} on, and {node} is at {volts}"
    takes = (
        f"{THIS} gives {show(want.given, 'W')} and takes {show(want.power, 'W')} at "
        f"{want.efficiency.value:.0%}"
    )
    if boost.stands is None:
        return (
            f"{takes}; {boost.cell} with {volts} behind {show(boost.resistance, 'ohm')} can give "
            f"{show(boost.most, 'W')} at most"
        )
    current = show(want.power / boost.stands, "A")
    if why is Why.COIL and boost.least is not None:
        return (
            f"{takes}, {current} on average from {show(boost.stands, 'V')}, and {boost.coil} is "
            f"made for {show(boost.least.value, 'A')}"
        )
    least = show(boost.least.value, "V") if boost.least is not None else ""
    return (
        f"{takes}; over {show(boost.resistance, 'ohm')} that pulls {node} from {volts} to "
        f"{show(boost.stands, 'V')}, and {THIS} needs {least}"
    )


def _fix(boosting: Boosting, boost: Boost, why: Why) -> str:
    if why is Why.COIL:
        most = show(1.5 * boost.want.power / (boost.stands or boost.source), "A")
        return f"fit a coil for {most} or more in place of {boost.coil}"
    if why is Why.START:
        return "fit a type that starts lower, or let the board stop by itself before that"
    farads = boosting.needed_capacitance(boost)
    ohms = boost.source * boost.source / (4.0 * boost.want.power)
    cell = f"a cell of {show(0.8 * ohms, 'ohm')} or less at its end"
    if not math.isfinite(farads) or farads > SENSIBLE:
        share = 0.8 * boost.most / boost.want.power
        return f"fit {cell}, or draw at most {share:.0%} of that power at a time"
    value = show(preferred(farads, "E6", "up"), "F")
    run = show(boost.want.step.meeting.run, "s")
    return (
        f"put {value} (after its loss under bias) at its input, which carries {run}, or fit {cell}"
    )


def _numbers(circuit: Circuit, boost: Boost, *, sure: bool = False) -> tuple[Number, ...]:
    """Return what it rests on; the curves of the cell only where they decide."""
    better = "computed: half the resistance and a twentieth more voltage would be no better"
    cell = next(c for c in circuit.view(Cells).all if c.reference == boost.cell)
    return (
        Number("power taken", boost.want.power, "W", "computed: output / efficiency"),
        Number("efficiency", boost.want.efficiency.value, "", boost.want.efficiency.source),
        Number(
            f"voltage of {boost.cell} then",
            boost.source,
            "V",
            better if sure else cell.curve_source,
        ),
        Number(
            f"resistance of {boost.cell} then",
            boost.resistance,
            "ohm",
            better if sure else cell.resistance_source,
        ),
        Number("power that it can give", boost.most, "W", "computed: V² / (4 · R)"),
        *(
            (Number("limit", boost.least.value, boost.least.unit, boost.least.source),)
            if boost.least is not None
            else ()
        ),
    )
