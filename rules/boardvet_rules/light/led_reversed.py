"""A light or diode stands the wrong way round.

On the bench
------------
The light never comes on, whatever the firmware does; or what lies behind the diode gets no
current; or the diode is hot and its rail is dead.

What is judged
--------------
Each LED and diode: whether anything can ever hold its anode above its cathode, followed through
resistors, switches, transistors and other diodes. Every connector and test point is taken as a
possible source, and so is every pin of a part that is not understood. A rail as the lower end
counts only against something that can stand higher. An LED that can never light, but would if it
were turned round, is a hold; one straight between ground and a pin a query, since it may be meant
to sense light. Any other diode that never conducts is a query; a diode that leads from a rail
straight to ground a hold, where the solved current is above what the source gives. Quiet:
antiparallel pairs, zeners and clamps, diodes to ground and across coils, an LED on an input. An
LED with an open end is left to the rules on nets and pins.

Left undetermined
-----------------
A diode leads from a rail to ground and nobody says how much current the source can give.

Cure
----
Exchange anode and cathode in the drawing, and check the pin numbers against the footprint.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    R1 330 LAMP _1
    D1 led/red GND _1

Wrong (driven low, and drawn the wrong way round)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    R1 330 VBAT _1
    D1 led/red LAMP _1

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    R1 330 LAMP _1
    D1 led/red _1 GND

Right (two lights on one pair of pins)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LEFT PB1 RIGHT
    R1 330 LEFT _1
    D1 led/red _1 RIGHT
    D2 led/red RIGHT _1

Sources
-------
A junction conducts from anode to cathode only. Which parts can hold a net high or low is common
practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.diodes import DiodeWay, Leak, Sense
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.rails import Rails, node_label
from boardvet.circuit.shorts import source_limit
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@rule(level=Level.HOLD)
def check(diode: DiodeWay, circuit: Circuit, islands: Islands) -> Found | Clear:
    """Judge one diode by which way current can flow through it."""
    if diode.leak is not None:
        return _leaking(diode, diode.leak, circuit, islands)
    if diode.sense is not Sense.REVERSED or diode.meant:
        return Clear()
    anode, cathode = (node_label(circuit, node) for node in diode.nets)
    ways = (
        f"Its anode is on {anode}, its cathode on {cathode}: nothing can hold the anode higher, "
        "only the cathode."
    )
    fix = f"exchange anode and cathode of {THIS}: anode to {cathode}, cathode to {anode}"
    if diode.shares_a_pin:
        fix = f"fit a type of {diode.parts[0]} with its common pin of the other pole, or take the "
        fix += f"common pin to the other supply and drive {THIS} the other way round"
    if not diode.is_light:
        return _blocking(diode, circuit, ways, fix)
    if diode.asks:
        return Found(
            bench=f"{THIS} never lights.",
            sum=ways,
            fix=f"{fix}; or waive this, if it is meant to sense light",
            level=Level.QUERY,
        )
    return Found(bench=f"{THIS} never lights.", sum=ways, fix=fix)


def _blocking(diode: DiodeWay, circuit: Circuit, ways: str, fix: str) -> Found:
    rail = circuit.view(Rails).rail_at(diode.unfed_rail) if diode.unfed_rail else None
    behind = f"{node_label(circuit, rail.node)} gets" if rail is not None else "what follows gets"
    return Found(
        bench=f"{THIS} never conducts: {behind} nothing through it.",
        sum=ways,
        fix=fix,
        level=Level.QUERY,
        follows=("rail-unfed", rail) if rail is not None else None,
    )


def _leaking(diode: DiodeWay, leak: Leak, circuit: Circuit, islands: Islands) -> Found | Clear:
    fed = circuit.view(Feeding).in_state[leak.state][leak.power.node].need()
    solved = islands.solve(leak.state, [leak.power.node], across=leak.way)
    current = solved.current(diode.element)[0]
    limit = source_limit(circuit, fed)
    numbers = (
        Number("current", current, "A", "computed: solved"),
        Number("what the source gives", limit.value, "A", limit.source),
    )
    if current <= limit.value:
        return Clear(numbers)
    anode, cathode = (node_label(circuit, node) for node in diode.nets)
    return Found(
        bench=f"{leak.power.name} is dead and {THIS} gets hot.",
        sum=f"It leads from {anode} straight to {cathode}: {show(current, 'A')} would flow, and "
        f"the source gives {show(limit.value, 'A')}.",
        fix=f"exchange anode and cathode of {THIS}: anode to {cathode}, cathode to {anode}",
        numbers=numbers,
        state=leak.state.name,
        follows=("rail-shorted", leak.power),
    )
