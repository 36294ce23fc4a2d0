"""Two sources stand on one net with nothing between them.

On the bench
------------
The higher one feeds into the other. A regulator runs hot while its neighbour idles, a cell is
charged by what was never made to charge it, a USB port is fed backwards and switches off.

What is judged
--------------
Each net on which a cell, the output of a regulator, a USB port or a stated input stands, nets
joined by ferrites and fuses taken together: whether a second one of another part stands there too.
Quiet: diodes, ideal diodes and switches between the two, a charger on its cell, several outputs of
one part, equal or different cells among themselves (`cell-mixed` and `primary-charged` ask how
these suit each other), back-up pins, programming headers, supply pins of modules, solar cells, a
USB receptacle of type A behind a regulator, which is an output.

Left undetermined
-----------------
Nothing: where a source stands is always there to be seen. What it shows may be missing in the sum.

Cure
----
Feed the net from one of them, or put a Schottky diode, an ideal diode or a power switch into each
branch.

Wrong::

    BT1 CR2032 VBAT GND
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.5 V
    U2 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.5 V
    U3 mcu VCC+ VCC GND- GND

Right::

    BT1 CR2032 VBAT GND
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 2.5 V
    U2 regulator VIN+ VBAT VOUT> VCCA GND- GND = output 2.5 V
    U3 mcu VCC+ VCC AVCC+ VCCA GND- GND

Wrong (a cell straight on the input)::

    BT1 LR6 VCC GND
    J1 connector 1: VCC 2: GND
    U1 mcu VCC+ VCC GND- GND
    ~ sources:
    ~   J1: {net: VCC, voltage: 5 V}

Right (a diode in each branch)::

    BT1 LR6 VCELL GND
    J1 connector 1: VIN 2: GND
    D1 SS14 VCELL VCC
    D2 SS14 VIN VCC
    U1 mcu VCC+ VCC GND- GND
    ~ sources:
    ~   J1: {net: VIN, voltage: 5 V}

Sources
-------
Kirchhoff's voltage law: two sources of different voltage on one net differ across their own
resistances alone. Outputs that are 2 % apart: a usual tolerance of fixed linear regulators (data
sheets, from memory).
"""

from __future__ import annotations

from boardvet.circuit.contests import Contests, Giver, GiverKind
from boardvet.circuit.shorts import PowerNode
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

TOLERANCE = 0.02
"""How far two regulators of one nominal voltage may be apart: ±1 % each."""


@rule(level=Level.HOLD)
def check(power: PowerNode, contests: Contests) -> Found | Clear:
    """Judge one net by the sources that stand on it."""
    givers = contests.at.get(power.node, ())
    if len(givers) < 2:
        return Clear()
    references = tuple(giver.reference for giver in givers)
    return Found(
        bench=_bench(givers),
        sum=_sum(givers),
        fix=f"feed {THIS} from one of them, or put a Schottky diode for the whole current "
        f"between {THIS} and each of {' and '.join(references)}",
        parts=references,
        nets=tuple(dict.fromkeys(giver.node for giver in givers)),
        numbers=tuple(_numbers(givers)),
    )


def _bench(givers: tuple[Giver, ...]) -> str:
    names = " and ".join(giver.reference for giver in givers)
    cell = next((giver for giver in givers if giver.kind is GiverKind.CELL), None)
    if cell is not None:
        others = " and ".join(g.reference for g in givers if g is not cell)
        return (
            f"{cell.reference} is charged by {others}, or drained into it, with nothing to stop "
            f"it: it gets hot, and may leak or burn."
        )
    if all(giver.kind is GiverKind.REGULATOR for giver in givers):
        return f"One of {names} gets hot while the other idles, and which one is luck."
    return f"The higher one of {names} feeds into the other, and one of them gets hot."


def _sum(givers: tuple[Giver, ...]) -> str:
    shown = [f"{g.reference} at {_volts(g)}" for g in givers if g.voltage is not None]
    stand = f"{' and '.join(g.reference for g in givers)} stand on {THIS} with nothing between"
    if len(shown) < 2:
        return f"{stand}."
    middles = [_middle(g) for g in givers if g.voltage is not None]
    apart = max(middles) - min(middles)
    if apart < TOLERANCE * max(middles):
        return (
            f"{', '.join(shown)}, with nothing between: {TOLERANCE:.0%} apart are "
            f"{show(TOLERANCE * max(middles), 'V')}, and the higher one carries all."
        )
    return f"{', '.join(shown)}, with nothing between: {show(apart, 'V')} apart."


def _volts(giver: Giver) -> str:
    assert giver.voltage is not None
    low, high = giver.voltage.value
    return show(low, "V") if low == high else f"{show(low, 'V')} to {show(high, 'V')}"


def _middle(giver: Giver) -> float:
    assert giver.voltage is not None
    low, high = giver.voltage.value
    return (low + high) / 2.0


def _numbers(givers: tuple[Giver, ...]) -> list[Number]:
    """Return the voltages that are not assumed: what decides is that nothing is between."""
    return [
        Number(f"voltage of {g.reference}", _middle(g), "V", g.voltage.source)
        for g in givers
        if g.voltage is not None and not g.voltage.assumed
    ]
