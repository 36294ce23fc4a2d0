"""A ceramic capacitor loses so much capacitance under voltage that a converter lacks its minimum.

On the bench
------------
A regulator or charger rings or oscillates when its load steps, on some boards only, although the
value on the drawing is the one its data sheet asks for.

What is judged
--------------
Each input and output of a regulator or charger for which a least capacitance is known: the sum of
all capacitors from there to ground, each with the share it keeps at the highest voltage that it
usually sees. Ceramic of class 2 (X5R, X7R, Y5V and their like) loses capacitance under direct
voltage; all other kinds keep theirs. The share comes from an own curve over voltage, rated
voltage, capacitance and case size: the same capacitance in a smaller case loses more. The curve is
an assumption, and the curve of the maker's part counts more. Tolerance, temperature and ageing
come on top and are not counted. Where the values on the drawing are too small already, this rule
is silent.

Left undetermined
-----------------
The rated voltage is not known and decides; the capacitance, or the voltage there, is not known.

Cure
----
Fit the same value in a larger case or with a higher rated voltage, or add a capacitor.

Settings
--------
none

Wrong (2.2 µF of 6.3 V in an 0402 is under 1 µF at 5 V)::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    U1 regulator 1:IN+ VIN 2:GND- GND 3:OUT> V3 = output 3.3 V = input_capacitor_min 1 uF
    C1 2.2u/6.3V/X5R @0402 VIN GND

Right::

    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    U1 regulator 1:IN+ VIN 2:GND- GND 3:OUT> V3 = output 3.3 V = input_capacitor_min 1 uF
    C1 2.2u/16V/X5R @0805 VIN GND

Sources
-------
Rule of thumb for X7R and curves of 10 µF in 0805 and 1206: ufcapacitors.com/5455 and /5354, a
trade page. That the field in the layers decides: physics of ferroelectric ceramic. Y5V: from
memory. Minima: data sheet of the converter.
"""

from __future__ import annotations

import math
from typing import NamedTuple, cast

from boardvet.circuit.bias import case_of, dielectric_of, kept, least_kept
from boardvet.circuit.capacitor_needs import CapacitorNeed
from boardvet.circuit.capacitors import Capacitor
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import missing_value
from boardvet.physics.bias import Dielectric, capacitance_kept
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

LARGER = ("0402", "0603", "0805", "1206", "1210")
"""Cases from which a larger one is suggested."""


class Share(NamedTuple):
    """A capacitor with its nominal capacitance, the voltage across it, and what it keeps."""

    capacitor: Capacitor
    nominal: float
    volts: float
    kept: float
    source: str

    @property
    def left(self) -> float:
        """Capacitance that is left. [F]."""
        return self.nominal * self.kept


@rule(level=Level.NOTE)
def check(need: CapacitorNeed, circuit: Circuit) -> Found | Clear:
    """Judge one side of a converter by the capacitance that is left there."""
    least = need.least.value
    nominal = sum(c.value.value for c in need.capacitors if c.value is not None)
    if nominal < least and all(c.value is not None for c in need.capacitors):
        return Clear()  # too small on the drawing already: nothing that bias does to it
    volts = _volts(need, circuit)
    if volts is None:
        return Clear()
    at_least = sum(
        c.value.value * least_kept(circuit, c, volts) for c in need.capacitors if c.value
    )
    if at_least >= least:
        return Clear((*_numbers(need, nominal, at_least, "computed: at least, whatever rating"),))
    shares = [_share(circuit, capacitor, volts) for capacitor in need.capacitors]
    left = sum(share.left for share in shares)
    source = next((s.source for s in shares if s.kept < 1.0), "computed: sum of the capacitors")
    numbers = _numbers(need, nominal, left, source)
    if left >= least:
        return Clear(numbers)
    return Found(
        bench=f"What {need.reference} makes can ring or oscillate when its load steps.",
        sum=f"The {THIS} has {show(nominal, 'F')} on the drawing; at {show(volts, 'V')} about "
        f"{show(left, 'F', 2)} of it are left (tolerance not counted), and it needs "
        f"{show(least, 'F')}.",
        fix=_fix(need, circuit, shares, least),
        why="Ceramic of this class loses capacitance while direct voltage lies across it, the "
        "more the smaller the case.",
        numbers=numbers,
        parts=tuple(capacitor.reference for capacitor in need.capacitors),
    )


def _volts(need: CapacitorNeed, circuit: Circuit) -> float | None:
    """Return the voltage there, None where it is never fed."""
    across = need.capacitors[0].worst(circuit)
    return None if across is None else across.typical


def _share(circuit: Circuit, capacitor: Capacitor, volts: float) -> Share:
    if capacitor.value is None:
        raise missing_value(capacitor.reference)
    share = kept(circuit, capacitor, volts)
    return Share(capacitor, capacitor.value.value, volts, share.value, share.source)


def _numbers(need: CapacitorNeed, nominal: float, left: float, source: str) -> tuple[Number, ...]:
    return (
        Number("capacitance on the drawing", nominal, "F", "computed: sum of the capacitors"),
        Number("capacitance left", left, "F", source),
        Number(f"least {need.side} capacitor", need.least.value, "F", need.least.source),
    )


def _fix(need: CapacitorNeed, circuit: Circuit, shares: list[Share], least: float) -> str:
    """Return the smallest larger case that does, else how many more like the best to add."""
    best = max(shares, key=lambda share: share.left)
    others = sum(share.left for share in shares if share is not best)
    value, name = show(best.nominal, "F"), best.capacitor.reference
    case = case_of(circuit, best.capacitor.reference)
    for larger in LARGER[LARGER.index(case) + 1 :] if case in LARGER else ():
        if others + best.nominal * _in_case(circuit, best, larger) >= least:
            return f"fit {value} in case {larger} for {name}, or one of a higher rated voltage"
    more = math.ceil((least - others - best.left) / best.left)
    return f"add {more} × {value} like {name} beside it"


def _in_case(circuit: Circuit, share: Share, case: str) -> float:
    """Return the share that the same value and rating would keep in another case."""
    rated = circuit.known(share.capacitor.reference, "voltage_rating")
    dielectric = dielectric_of(circuit, share.capacitor)
    if rated is None or dielectric is not Dielectric.FERROELECTRIC:
        return share.kept
    volts = cast("float", rated.value)
    return capacitance_kept(share.volts, volts, capacitance=share.nominal, case=case)
