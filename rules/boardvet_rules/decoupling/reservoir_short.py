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
of the net where it is stated, and holds until nine tenths of the charge are used or the rail
without load is too low; else it is what is left between the rail without load and the most that a
part on it needs, when nine tenths of the charge are used.

Query where the dip is deeper than allowed; the finding says how long the fitted capacitors really
keep it, and what capacitance would do, or, where the pulse is too long for any that fits, that.
Quiet where the cell alone holds the rail, and where nothing comes and goes.

Where the rail then falls below what a part needs, `cell-sag` says so and this follows from it; on
the input of a booster `boost-starved` does.

Left undetermined
-----------------
The cell, a value that the pulse depends on, or, where no `dip_max` is stated, the supply range of
a part on the rail is not known.

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
from collections.abc import Sequence
from typing import NamedTuple, cast

from boardvet.circuit.capacitors import Capacitors
from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Regulator
from boardvet.circuit.floors import Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pulled import pulled_low
from boardvet.circuit.rails import SuppliedPart, SupplyRail
from boardvet.circuit.reservoir_advice import Wanted, advice
from boardvet.circuit.reservoirs import Reservoir, Reservoirs
from boardvet.circuit.sags import NO_DIP, Sag, Sags
from boardvet.known import Known
from boardvet.physics.reservoir import carried_time
from boardvet.quantity import show, show_time
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Subject

LATE = 0.9
"""Share of the charge used up to which dips are judged."""

A_RESERVOIR = 1e-6
"""Capacitors below this are bypass capacitors. [F]"""


class Allowed(NamedTuple):
    """The deepest dip allowed [V], at which share of the charge used, and who says so."""

    dip: float
    used: float
    because: str


class Judged(NamedTuple):
    """The pulses of one mode with the reservoirs on the rail, and the dip allowed."""

    sag: Sag
    allowed: Allowed
    fitted: tuple[Reservoir, ...]

    @property
    def dip(self) -> float:
        """How deep it is where it is judged, in volts."""
        return self.sag.dip(self.allowed.used)


@rule(level=Level.QUERY)
def check(rail: SupplyRail, circuit: Circuit, sags: Sags, reservoirs: Reservoirs) -> Found | Clear:
    """Judge the reservoirs of one rail."""
    if not circuit.view(Cells).all or not _has_reservoir(circuit, rail):
        return Clear()
    if sags.behind_regulator(rail.node):
        return Clear()
    judged: list[Judged] = []
    for sag in sags.of_node(rail.node):
        fitted = tuple(filter(_is_reservoir, _beside(reservoirs, sag)))
        allowed = _allowed(circuit, rail, sag) if fitted and _pulses(sag) else None
        if allowed is not None:
            judged.append(Judged(sag, allowed, fitted))
    if not judged:
        return Clear()
    worst = max(judged, key=lambda each: each.dip - each.allowed.dip)
    if worst.dip <= worst.allowed.dip:
        return Clear(_numbers(worst))
    return _found(rail, circuit, worst)


def _has_reservoir(circuit: Circuit, rail: SupplyRail) -> bool:
    """Tell whether a capacitor of that size stands on the rail, whatever else is known."""
    return any(
        rail.node in (each.a, each.b)
        and each.value is not None
        and each.value.value >= A_RESERVOIR
        for each in circuit.view(Capacitors).of_part.values()
    )


def _beside(reservoirs: Reservoirs, sag: Sag) -> tuple[Reservoir, ...]:
    return reservoirs.in_state(sag.timeline.state, frozenset({sag.node}))


def _is_reservoir(reservoir: Reservoir) -> bool:
    value = reservoir.capacitor.value
    return value is not None and value.value >= A_RESERVOIR


def _pulses(sag: Sag) -> bool:
    """Tell whether something that comes and goes pulls the rail down."""
    return any(math.isfinite(each.run) for each in sag.meetings) and (
        float((sag.resting - sag.still).max()) >= NO_DIP
    )


def _allowed(circuit: Circuit, rail: SupplyRail, sag: Sag) -> Allowed | None:
    """Return the dip allowed: stated, else what the parts leave; None where they leave none.

    Raises
    ------
    MissingFact
        Where nothing is stated, and nobody knows what a part needs.
    """
    stated = _stated(circuit, rail)
    floors = [floor for floor in circuit.view(Floors).all if floor.node == rail.node]
    if stated is not None:
        ends = [sag.crossed(sag.resting, floor.volts.value) for floor in floors]
        judged = sag.used[sag.used <= max(0.0, min([LATE, *ends]))]
        used = max(map(float, judged), key=sag.dip)
        return Allowed(stated.value, used, stated.source)
    for part in SuppliedPart.on(circuit):
        if part.node == rail.node and part.reference in circuit.view(Floors).unknown:
            raise circuit.facts.missing(part.reference, "supply")
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


def _numbers(judged: Judged) -> tuple[Number, ...]:
    total = sum(each.capacitance.value for each in judged.fitted)
    sources = [each.capacitance for each in judged.fitted]
    source = next((known for known in sources if known.assumed), sources[0]).source
    return (
        Number("deepest dip", judged.dip, "V", "computed: the pulses, solved in time"),
        Number("dip allowed", judged.allowed.dip, "V", judged.allowed.because),
        Number("capacitance that is left", total, "F", source),
    )


def _found(rail: SupplyRail, circuit: Circuit, judged: Judged) -> Found:
    names = [each.capacitor.reference for each in judged.fitted]
    stand = "stands" if len(names) == 1 else "stand"
    return Found(
        bench=f"{THIS} dips by {show(judged.dip, 'V')} at the pulses {_when(judged)}, though "
        f"{_and(names)} {stand} there.",
        sum=f"Allowed is {show(judged.allowed.dip, 'V')}. {_carried(judged)}",
        fix=_fix(circuit, judged),
        numbers=_numbers(judged),
        parts=tuple(names),
        state=judged.sag.timeline.state.name,
        follows=_cause(circuit, rail),
    )


def _when(judged: Judged) -> str:
    """Say how far the cell is used where the dip is judged: later it is deeper."""
    left = 1.0 - judged.allowed.used
    return f"with {left:.0%} of the charge left" if left < 1.0 else "with a fresh cell"


def _and(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def _carried(judged: Judged) -> str:
    """Say how long the reservoirs and the cell keep the dip allowed, from a full charge."""
    sag, allowed, fitted = judged
    run = sag.meeting(allowed.used).run
    names = [each.capacitor.reference for each in fitted]
    keep = "keeps" if len(names) == 1 else "keep"
    if math.isinf(run):
        return "The load never pauses, so that a capacitor does not help for long."
    ohms = 1.0 / sum(1.0 / max(each.series_resistance.value, 1e-6) for each in fitted)
    total = sum(each.capacitance.value for each in fitted)
    current = sag.at(sag.current, allowed.used)
    inner = (sag.at(sag.resting, allowed.used) - sag.at(sag.still, allowed.used)) / current
    seconds = carried_time(current, inner, total, allowed.dip, ohms)
    if seconds == 0.0:
        return f"It is passed at once: the series resistance of {_and(names)} drops too much."
    if seconds >= run:
        return (
            f"Fully charged, {_and(names)} {keep} that for {show_time(min(seconds, 1e9))}; the "
            f"pulse lasts {show_time(run)}, but there is no time to charge again before it."
        )
    return f"{_and(names)} {keep} that for {show_time(seconds)}; the pulse lasts {show_time(run)}."


def _fix(circuit: Circuit, judged: Judged) -> str:
    sag, allowed, fitted = judged
    limit = sag.at(sag.resting, allowed.used) - allowed.dip
    others = [r for r in _beside(circuit.view(Reservoirs), sag) if r not in fitted]
    kept = advice(circuit, [Wanted(sag, limit, allowed.used)], others)
    if kept.capacitance:
        return f"fit {kept.words} in place of {_and([r.capacitor.reference for r in fitted])}"
    return f"make the pulses shorter, rarer or smaller: {kept.words}"


def _cause(circuit: Circuit, rail: SupplyRail) -> tuple[str, Subject] | None:
    """Return what then has too little: a part by `cell-sag`, or a booster that starves."""
    pulled = pulled_low(circuit, rail.node)
    if pulled is None:
        return None
    return "boost-starved" if isinstance(pulled, Regulator) else "cell-sag", pulled
