"""The reservoirs beside the cells on a board."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, cast

from boardvet.circuit.capacitors import Capacitor, Capacitors
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import Rails
from boardvet.circuit.reservoirs import Reservoirs, own_resistance
from boardvet.circuit.running import Running
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.errors import MissingFact
from boardvet.quantity import preferred, show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Chosen, Unsizable
from boardvet.sizing.on_board._nodes import net_stated, node_named
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, end_of_life, tried
from boardvet.sizing.reservoir import Reservoir, size

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["GIVEN", "dips", "find"]

GIVEN = ("dip",)

_LARGEST = 4.7e-3
"""Where the search ends: beyond it nothing fits beside a cell. [F]"""


_NOTHING = 1e-3
"""What a rail behind a regulator dips by less than. [V]"""


class _Pulse(NamedTuple):
    """The deepest pulse of a node as if there were no reservoir.

    Parameters
    ----------
    timeline : Timeline
        In which mode.
    current : float
        By which it is more than at rest, at the end of the life. [A]
    duration : float
        How long it lasts. [s]
    ohms : Span
        By how many volts an ampere pulls the node down, fresh and at the end. [Ω]
    """

    timeline: Timeline
    current: float
    duration: float
    ohms: Span


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the reservoir of each rail for which an allowed dip is known."""
    names = [name for name in circuit.intent.nets if net_stated(circuit, name, "dip_max")]
    if "dip" in given:
        names += [rail.name for rail in circuit.view(Rails).all if rail.name not in names]
    for name in names:
        yield from tried(name, lambda n=name: _sized(circuit, given, n))  # type: ignore[misc]


def dips(circuit: Circuit, timeline: Timeline, node: str) -> tuple[float, float]:
    """Solve the pulses of a mode in time with what is fitted.

    Returns
    -------
    (float, float)
        How far a node dips below its highest voltage, fresh and at the end of the life. [V]
    """
    from boardvet.circuit.pulses import pulsed

    used, cold = _moments(circuit)
    still = circuit.view(Running).over(timeline, used, cold)
    moving = pulsed(circuit, timeline, still, _array(used), cold)
    tops = [max(voltages) for voltages in zip(*(o.voltage(node) for _, o in still), strict=True)]
    lows = [min(voltages) for voltages in zip(*(o.voltage(node) for _, o in moving), strict=True)]
    fresh, end = (top - low for top, low in zip(tops, lows, strict=True))
    return fresh, end


def _moments(circuit: Circuit) -> tuple[tuple[float, float], float]:
    """Return the shares of charge at which dips are solved, and the temperature of the cells."""
    from boardvet.circuit.workload import coldest

    return (0.0, end_of_life(circuit)[0]), coldest(circuit)


def _array(values: tuple[float, ...]) -> Floats:
    import numpy as np

    return np.array(values)


def _sized(circuit: Circuit, given: Mapping[str, object], name: str) -> Outcome | None:
    node = node_named(circuit, name)
    allowed = given.get("dip") or net_stated(circuit, name, "dip_max")
    pulses = list(_pulses(circuit, node)) if node is not None else []
    if node is None or not pulses:
        if name not in circuit.intent.nets:
            return None  # a rail that nothing pulls at
        raise MissingFact(
            name,
            "pattern",
            f"what pulls at {name} for how long is not known",
            "pattern: [{lights: [D1, D2], for: 5 ms, every: 500 ms}]",
        )
    pulse = max(pulses, key=lambda each: each.current * each.ohms.high)
    if name not in circuit.intent.nets and pulse.current * pulse.ohms.high < _NOTHING:
        return None  # behind a regulator
    largest = _largest(circuit, node)
    inputs = _inputs(circuit, pulse, largest, cast("float", allowed))
    depth = max(dips(circuit, pulse.timeline, node))
    if depth <= inputs.dip or largest is None:
        return _as_it_is(circuit, name, node, inputs, pulse, largest)
    chosen, after = _searched(circuit, node, inputs, pulse, largest)
    _, change = changed(circuit, largest.reference, chosen)
    solved = [_said(after, pulse, node)]
    if chosen.value > preferred(max(chosen.wanted, 1e-12), "E6", "up"):
        solved.append(
            "the sum is one pulse at the end of the cell; the whole pattern, fresh and at the "
            f"end, takes {chosen.shown}"
        )
    answer = replace(size(inputs, chosen), ends=())
    return Sized(name, answer, (change,), tuple(solved))


def _pulses(circuit: Circuit, node: str) -> Iterator[_Pulse]:
    """Yield the deepest pulse of each mode that runs on the cell."""
    used, cold = _moments(circuit)
    for timeline in circuit.view(Timelines).all:
        if not timeline.on_cell or node not in circuit.view(Feeding).at(timeline.state):
            continue
        solved = circuit.view(Running).over(timeline, used, cold)
        rest = max((operating for _, operating in solved), key=lambda o: o.voltage(node)[-1])
        short = [(m, o) for m, o in solved if math.isfinite(m.run) and m.run > 0]
        if not short:
            continue
        meeting, worst = min(short, key=lambda each: each[1].voltage(node)[-1])
        amps = [
            sum(worst.cell_current(ref)[at] - rest.cell_current(ref)[at] for ref in worst.cells)
            for at in (0, 1)
        ]
        volts = [rest.voltage(node)[at] - worst.voltage(node)[at] for at in (0, 1)]
        if min(amps) > 0 and volts[1] > 0:
            fresh, end = (v / a for v, a in zip(volts, amps, strict=True))
            yield _Pulse(timeline, amps[1], meeting.run, Span(min(fresh, end), end))


def _largest(circuit: Circuit, node: str) -> Capacitor | None:
    """Return the largest capacitor from a node to ground, None where there is none."""
    grounds, capacitors = circuit.view(Grounds), circuit.view(Capacitors).of_part
    fitted = [
        capacitors[element.reference]
        for element in circuit.view(Elements).at(node, ElementKind.CAPACITOR)
        if element.other(node) in grounds and element.reference in capacitors
    ]
    known = [each for each in fitted if each.value is not None]
    return max(known, key=lambda each: each.value.value if each.value else 0.0, default=None)


def _inputs(
    circuit: Circuit, pulse: _Pulse, largest: Capacitor | None, allowed: float
) -> Reservoir:
    series, kept = 0.0, {}
    if largest is not None and largest.value is not None:
        series = own_resistance(circuit, largest).value
        left = _left(circuit, pulse.timeline, largest)
        kept = {"kept": left / largest.value.value}
    period = min((c.period for c in pulse.timeline.courses), default=None)
    return Reservoir(
        current=pulse.current,
        duration=pulse.duration,
        dip=allowed,
        cell_resistance=pulse.ohms,
        every=period if period is not None and period > pulse.duration else None,
        series_resistance=series,
        **kept,
    )


def _left(circuit: Circuit, timeline: Timeline, capacitor: Capacitor) -> float:
    """Return what a capacitor keeps of its capacitance in a mode. [F]."""
    nodes = frozenset({capacitor.a, capacitor.b})
    found = circuit.view(Reservoirs).in_state(timeline.state, nodes)
    return next(e.capacitance.value for e in found if e.capacitor.reference == capacitor.reference)


def _as_it_is(
    circuit: Circuit,
    name: str,
    node: str,
    inputs: Reservoir,
    pulse: _Pulse,
    largest: Capacitor | None,
) -> Outcome:
    """Return that nothing has to change; without a capacitor, what to draw where one is needed."""
    answer = replace(size(inputs), ends=())
    solved = (_said(circuit, pulse, node),)
    if largest is None or largest.value is None:
        if not answer.chosen:
            return Sized(name, answer, (), solved)
        raise Unsizable(
            f"no capacitor stands from {name} to ground, and {answer.chosen[0].shown} are needed",
            "draw one there, then size it again",
        )
    if answer.chosen:
        fitted = answer.chosen[0]._replace(value=largest.value.value, series="as fitted")
        _, change = changed(circuit, largest.reference, fitted)
        return Sized(name, replace(size(inputs, fitted), ends=()), (change,), solved)
    return Sized(name, answer, (), solved)


def _searched(
    circuit: Circuit, node: str, inputs: Reservoir, pulse: _Pulse, largest: Capacitor
) -> tuple[Chosen, Circuit]:
    """Return the smallest value of E6 with which the board, solved in time, keeps the dip."""
    answer = size(inputs)
    wanted = answer.chosen[0].wanted if answer.chosen else 0.0
    fitted = largest.value.value if largest.value else 0.0
    value = preferred(max(wanted / 2, fitted * 1.001), "E6", "up")
    while value <= _LARGEST:
        chosen = Chosen("capacitor", value, "F", "E6", wanted)
        after, _ = changed(circuit, largest.reference, chosen)
        if max(dips(after, pulse.timeline, node)) <= inputs.dip:
            return chosen, after
        value = preferred(value * 1.01, "E6", "up")
    raise Unsizable(
        f"not even {show(_LARGEST, 'F')} keep the dip within {show(inputs.dip, 'V')}",
        "make pulses shorter or rarer, take less current, or a cell of less resistance",
    )


def _said(circuit: Circuit, pulse: _Pulse, node: str) -> str:
    fresh, end = dips(circuit, pulse.timeline, node)
    where = end_of_life(circuit)[1]
    mode = f" in mode {pulse.timeline.name}" if pulse.timeline.name else ""
    return f"dips by {show(fresh, 'V')} fresh, {show(end, 'V')} {where}{mode}"
