"""The arithmetic behind the view `Discharge`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from boardvet.circuit.cell import Cell
from boardvet.circuit.discharge import STEPS, Consumption, ModeCurrent, Stop
from boardvet.circuit.drain import Drain, Draw, Lowest, drain_of, lowest_of
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Spread
from boardvet.circuit.junctions import ROOM_TEMPERATURE
from boardvet.circuit.pulses import pulsed
from boardvet.circuit.running import Running
from boardvet.circuit.target import Target
from boardvet.circuit.timeline import Timelines
from boardvet.physics.discharge import elapsed, first_below, mean_until
from boardvet.quantity import show

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["at_its_rate", "coldest", "grid_of", "life_of", "own_loss", "simulate", "stops_of"]


def life_of(circuit: Circuit) -> dict[str, Any]:
    """Return what `Discharge` holds."""
    target = circuit.view(Target)
    capacity = target.need_capacity()
    used = grid_of(circuit)
    drains, lowest = simulate(circuit, used)
    mean = sum(drain.timeline.share * drain.total for drain in drains)
    loss = own_loss(circuit)
    drawn = np.asarray(mean, dtype=np.float64)
    current = at_its_rate(circuit, drawn) + loss
    times = elapsed(used, current, capacity.value)
    stops = stops_of(circuit, used, lowest)
    draws = _draws(drains)
    return {
        "capacity": capacity,
        "used": used,
        "drawn": drawn,
        "current": current,
        "times": times,
        "stop": stops[0],
        "stops": stops,
        "consumers": tuple(_consumers(circuit, used, times, draws, loss, stops[0].used)),
        "draws": draws,
        "modes": tuple(_modes(drains, used, times, stops[0].used)),
        "lowest": tuple(lowest),
        "unknown": _unknown(circuit),
        "unjudged": circuit.view(Floors).unknown,
        "coldest": coldest(circuit),
    }


def grid_of(circuit: Circuit) -> Floats:
    """Return the shares of charge used at which it is solved: equal steps, and curves' points."""
    points = {step / STEPS for step in range(STEPS + 1)}
    for cell in circuit.view(Target).cells.need_any():
        curve = cell.curve
        points.update(at for at, _ in (*curve.voltage_points, *curve.resistance_points))
    return np.array(sorted(points))


def coldest(circuit: Circuit) -> float:
    """Return the temperature at which dips are taken: 25 °C unless the cold end is lower."""
    stated = circuit.intent.temperature
    return min(ROOM_TEMPERATURE, stated.value.low) if stated is not None else ROOM_TEMPERATURE


def simulate(
    circuit: Circuit, used: Floats, spread: Spread | None = None
) -> tuple[list[Drain], list[Lowest]]:
    """Solve every timeline at each share; with a spread each row is one board at one share."""
    cold = coldest(circuit)
    running = circuit.view(Running)
    shares = tuple(map(float, used))
    drains: list[Drain] = []
    lowest: list[Lowest] = []
    for timeline in circuit.view(Timelines).all:
        typical = running.over(timeline, shares, None, spread)
        if spread is None:
            typical = pulsed(circuit, timeline, typical, used, None)
        drains.append(drain_of(circuit, timeline, typical, apart=spread is None))
        if cold < ROOM_TEMPERATURE and timeline.on_cell:
            typical = running.over(timeline, shares, cold, spread)
            if spread is None:
                typical = pulsed(circuit, timeline, typical, used, cold)
        lowest += lowest_of(circuit, timeline, typical)
    return drains, lowest


def own_loss(circuit: Circuit) -> float:
    """Return the current that self-discharge amounts to, in amperes."""
    total = 0.0
    for bank in circuit.view(Target).banks:
        for cell in bank.rows[0]:
            lost = cell.self_discharge
            total += cell.need_capacity().value * lost.value if lost is not None else 0.0
    return total


def stops_of(circuit: Circuit, used: Floats, lowest: Sequence[Lowest]) -> tuple[Stop, ...]:
    """Return what would end the run, the first first; at the end the cell is empty."""
    stops = [stop for each in lowest if (stop := _stop(circuit, used, each)) is not None]
    cells = circuit.view(Target).cells.need_any()
    names = " and ".join(cell.label for cell in cells)
    empty = min(cell.curve.voltage_points[-1][1] for cell in cells)
    source = cells[0].curve_source
    stops.append(Stop(1.0, empty, f"{names} is empty", source, None, None, None, 1.0))
    return tuple(sorted(stops, key=lambda stop: stop.used))


def _stop(circuit: Circuit, used: Floats, each: Lowest) -> Stop | None:
    subject = each.subject
    if isinstance(subject, Cell):
        limit = subject.end_voltage
        reason = f"{subject.label} is at its end of {show(limit.value, 'V')}"
    else:
        limit, reason = subject.volts, subject.reason
    share = float(first_below(used, each.volts, limit.value))
    if not math.isfinite(share):
        return None
    row = min(int(np.searchsorted(used, share)), len(used) - 1)
    rest = min(float(first_below(used, each.resting, limit.value)), 1.0)
    floor = subject if isinstance(subject, Floor) else None
    return Stop(
        share, limit.value, reason, limit.source, floor, each.timeline, each.meeting[row], rest
    )


def at_its_rate(circuit: Circuit, mean: Floats) -> Floats:
    """Return the current that uses up the rated capacity as fast as this one does the real one.

    A cell gives less charge at a higher rate: at a share left of 0.8 each coulomb drawn counts
    as 1.25.
    """
    cells = circuit.view(Target).cells.need_any()
    points = cells[0].rate.value
    if len(cells) != 1 or not points:
        return mean
    rate, left = zip(*points, strict=True)
    per_hour = np.maximum(mean * 3600.0 / cells[0].need_capacity().value, rate[0])
    shares = np.interp(np.log(per_hour), np.log(rate), left)
    return np.asarray(mean / shares, dtype=np.float64)


def _draws(drains: Sequence[Drain]) -> dict[Draw, Floats]:
    """Return what each consumer takes, over all modes of use."""
    found: dict[Draw, Floats] = {}
    for drain in drains:
        for draw, current in drain.consumers.items():
            part = drain.timeline.share * current
            found[draw] = found[draw] + part if draw in found else part
    return found


def _consumers(
    circuit: Circuit,
    used: Floats,
    times: Floats,
    draws: dict[Draw, Floats],
    loss: float,
    stop: float,
) -> Iterator[Consumption]:
    """Yield who takes the charge, biggest first; what is below a thousandth is left out."""
    currents = {draw: mean_until(used, times, values, stop) for draw, values in draws.items()}
    if loss > 0.0:
        cells = circuit.view(Target).cells.need_any()
        currents[Draw(cells[0].reference, "self-discharge")] = loss
    total = sum(currents.values())
    for draw, current in sorted(currents.items(), key=lambda item: -item[1]):
        if total > 0.0 and current >= 1e-3 * total:
            yield Consumption(draw.part, draw.what, current, current / total)


def _modes(
    drains: Sequence[Drain], used: Floats, times: Floats, stop: float
) -> Iterator[ModeCurrent]:
    for drain in drains:
        name = drain.timeline.name or "all the time"
        mean = mean_until(used, times, drain.total, stop)
        yield ModeCurrent(name, drain.timeline.share, mean)


def _unknown(circuit: Circuit) -> tuple[str, ...]:
    """Return the parts that rest in some mode on the cell and whose current nobody knows."""
    running = circuit.view(Running)
    found: dict[str, None] = {}
    for timeline in circuit.view(Timelines).all:
        always = set(timeline.draws)
        for reference in running.unknown(timeline.state) if timeline.on_cell else ():
            if reference not in always:
                found[reference] = None
    return tuple(found)
