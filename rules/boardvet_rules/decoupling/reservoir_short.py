"""A reservoir capacitor is too small for the dip that is allowed.

On the bench
------------
The capacitor is there, and the rail still falls with each pulse: radio errors, wrong readings,
resets when the cell is old or cold.

What is judged
--------------
Each rail that a cell feeds without a regulator between them, on which a capacitor of 1 µF or more
stands. The pulses are followed in time until they repeat: the dip over the series resistance of
the capacitor, what flows out of it while the cell gives what it can, and how far the gaps of the
pattern let it recharge. The capacitance is what is left under bias. The dip allowed is `dip_max`
of the net where it is stated; else what is left between the rail at rest and the most that a part
on it needs, when nine tenths of the charge are used.

Query where the dip is deeper than allowed; the finding says how long the fitted capacitors really
carry the pulse, and what capacitance would do, or, where the pulse is too long for any that fits,
that. Quiet where the cell alone holds the rail.

Where the rail then falls below what a part needs, `cell-sag` says so and this follows from it; on
the input of a booster `boost-starved` does.

Left undetermined
-----------------
The cell, or a value that the pulse depends on, is not known.

Cure
----
The capacitance computed, or a shorter or smaller pulse.

Wrong::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 1 uA
    C1 10u/10V VBAT GND = dielectric tantalum = series_resistance 0.1 ohm
    ~ nets: {VBAT: {dip_max: 200 mV}}
    ~ pattern: [{part: U1, current: 15 mA, for: 2 ms, every: 1 s}]

Right::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 1 uA
    C1 220u/10V VBAT GND = dielectric tantalum = series_resistance 0.1 ohm
    ~ nets: {VBAT: {dip_max: 200 mV}}
    ~ pattern: [{part: U1, current: 15 mA, for: 2 ms, every: 1 s}]

Wrong (too long for any capacitor)::

    BT1 cell/holder + VBAT - GND
    ~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2.8 V at 100 %, resistance: 20 ohm}
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V = sleep_current 1 uA
    C1 220u/10V VBAT GND = dielectric tantalum = series_resistance 0.1 ohm
    ~ nets: {VBAT: {dip_max: 200 mV}}
    ~ pattern: [{part: U1, current: 15 mA, for: 2 s, every: 10 s}]

Sources
-------
Charge of a capacitor behind a resistance, exact; TI SWRA349 (its own formula asks for too little,
see the tests). Loss under bias: trade pages, marked as assumed. Series resistance where none is
stated: from memory.
"""

from __future__ import annotations

import math
from typing import NamedTuple, cast

from boardvet.circuit.converters import STEPPING_UP, Regulator
from boardvet.circuit.floors import Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.plant import Plants
from boardvet.circuit.rails import SuppliedPart, SupplyRail
from boardvet.circuit.reservoir_advice import advice
from boardvet.circuit.reservoirs import Reservoir, Reservoirs
from boardvet.circuit.sags import Sag, Sags
from boardvet.known import Known
from boardvet.physics.reservoir import alone_time
from boardvet.quantity import show, show_time
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Subject

LATE = 0.9
"""Share of the charge used at which the dip is judged where nothing is stated."""

A_RESERVOIR = 1e-6
"""Capacitors below this are bypass capacitors. [F]"""


class Allowed(NamedTuple):
    """The deepest dip allowed [V], at which share of the charge used, and who says so."""

    dip: float
    used: float
    because: str


@rule(level=Level.QUERY)
def check(rail: SupplyRail, circuit: Circuit, sags: Sags, reservoirs: Reservoirs) -> Found | Clear:
    """Judge the reservoirs of one rail."""
    worst: tuple[Sag, Allowed, tuple[Reservoir, ...]] | None = None
    for sag in sags.of_node(rail.node):
        fitted = _fitted(reservoirs, sag)
        allowed = _allowed(circuit, rail, sag)
        if not fitted or allowed is None or _held(circuit, sag):
            continue
        if worst is None or _excess(sag, allowed) > _excess(*worst[:2]):
            worst = sag, allowed, fitted
    if worst is None:
        return Clear()
    sag, allowed, fitted = worst
    if _excess(sag, allowed) <= 0.0:
        return Clear(_numbers(sag, allowed, fitted))
    return _found(rail, circuit, sag, allowed, fitted)


def _fitted(reservoirs: Reservoirs, sag: Sag) -> tuple[Reservoir, ...]:
    found = reservoirs.in_state(sag.timeline.state, frozenset({sag.node}))
    return tuple(
        each
        for each in found
        if each.capacitor.value is not None and each.capacitor.value.value >= A_RESERVOIR
    )


def _held(circuit: Circuit, sag: Sag) -> bool:
    """Tell whether a regulator stands between the cell and the rail."""
    plant = circuit.view(Plants).in_state(sag.timeline.state)
    path = plant.paths.get(sag.node, ())
    return any(each.reference in path for each in plant.converting)


def _allowed(circuit: Circuit, rail: SupplyRail, sag: Sag) -> Allowed | None:
    """Return the dip allowed: stated, else what the parts leave; None where neither is known."""
    stated = _stated(circuit, rail)
    if stated is not None:
        deepest = float(sag.used[(sag.resting - sag.lowest).argmax()])
        return Allowed(stated.value, deepest, stated.source)
    floors = [f for f in circuit.view(Floors).all if f.node == rail.node]
    if not floors:
        return None
    highest = max(floors, key=lambda floor: floor.volts.value)
    room = sag.at(sag.resting, LATE) - highest.volts.value
    return Allowed(room, LATE, highest.volts.source) if room > 0.0 else None


def _stated(circuit: Circuit, rail: SupplyRail) -> Known[float] | None:
    """Return `dip_max` of a net of the rail."""
    for key in circuit.view(Nodes).nets_of[rail.node]:
        name = circuit.board.nets[key].name
        for written in (name, name.lstrip("/"), f"/{name}"):
            known = circuit.intent.nets.get(written, {}).get("dip_max")
            if known is not None:
                return cast("Known[float]", known)
    return None


def _excess(sag: Sag, allowed: Allowed) -> float:
    return sag.at(sag.resting, allowed.used) - sag.at(sag.lowest, allowed.used) - allowed.dip


def _numbers(sag: Sag, allowed: Allowed, fitted: tuple[Reservoir, ...]) -> tuple[Number, ...]:
    dip = sag.at(sag.resting, allowed.used) - sag.at(sag.lowest, allowed.used)
    total = sum(each.capacitance.value for each in fitted)
    source = next(
        (r.capacitance.source for r in fitted if r.capacitance.assumed),
        fitted[0].capacitance.source,
    )
    return (
        Number("deepest dip", dip, "V", "computed: the pulses, solved in time"),
        Number("dip allowed", allowed.dip, "V", allowed.because),
        Number("capacitance that is left", total, "F", source),
    )


def _found(
    rail: SupplyRail,
    circuit: Circuit,
    sag: Sag,
    allowed: Allowed,
    fitted: tuple[Reservoir, ...],
) -> Found:
    dip = sag.at(sag.resting, allowed.used) - sag.at(sag.lowest, allowed.used)
    names = " and ".join(each.capacitor.reference for each in fitted)
    run = sag.meeting.run
    carried = _carried(sag, allowed, fitted)
    pulse = "the load never pauses" if math.isinf(run) else f"the pulse lasts {show_time(run)}"
    return Found(
        bench=f"{THIS} dips by {show(dip, 'V')} at the pulses, though {names} stand there.",
        sum=f"{show(allowed.dip, 'V')} are allowed; {names} alone carry the pulse for "
        f"{show_time(carried)}, and {pulse}.",
        fix=_fix(sag, allowed, names),
        numbers=_numbers(sag, allowed, fitted),
        parts=tuple(each.capacitor.reference for each in fitted),
        state=sag.timeline.state.name,
        follows=_cause(circuit, rail, sag),
    )


def _carried(sag: Sag, allowed: Allowed, fitted: tuple[Reservoir, ...]) -> float:
    """Return how long the fitted capacitors alone stay within the dip allowed, in seconds."""
    total = sum(each.capacitance.value for each in fitted)
    ohms = 1.0 / sum(1.0 / max(each.series_resistance.value, 1e-4) for each in fitted)
    current = sag.at(sag.current, allowed.used)
    return alone_time(current, total, allowed.dip, ohms) if current > 0.0 else math.inf


def _fix(sag: Sag, allowed: Allowed, names: str) -> str:
    limit = sag.at(sag.resting, allowed.used) - allowed.dip
    kept = advice(sag, limit, allowed.used)
    if kept.capacitance:
        return f"fit {kept.words} in place of {names} (boardvet size reservoir solves it)"
    return f"make the pulse shorter or draw less at once: {kept.words}"


def _cause(circuit: Circuit, rail: SupplyRail, sag: Sag) -> tuple[str, Subject] | None:
    """Return what then has too little: a part, or a booster that starves."""
    for regulator in Regulator.on(circuit):
        if regulator.conversion.how in STEPPING_UP and rail.node in regulator.inputs:
            return "boost-starved", regulator
    for floor in circuit.view(Floors).all:
        if floor.node == rail.node and math.isfinite(sag.crossed(sag.lowest, floor.volts.value)):
            for part in SuppliedPart.on(circuit):
                if (part.reference, part.node) == (floor.reference, floor.node):
                    return "cell-sag", part
    return None
