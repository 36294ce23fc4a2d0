"""The arithmetic behind the view `Discharge`."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from boardvet.circuit.cell import Cell
from boardvet.circuit.discharge import Consumption, ModeCurrent, Stop
from boardvet.circuit.drain import Drain, Draw, Lowest, drain_of, lowest_of
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.giving import Giving
from boardvet.circuit.handle import Circuit
from boardvet.circuit.running import Running
from boardvet.circuit.target import Target
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.workload import Workloads, coldest
from boardvet.physics.discharge import elapsed, first_below, mean_until
from boardvet.quantity import show

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["at_its_rate", "life_of", "own_loss", "stops_of"]


def life_of(circuit: Circuit) -> dict[str, Any]:
    """Return what `Discharge` holds."""
    circuit.view(Target).need_capacity()  # asks for each cell before anything is solved
    capacity = circuit.view(Giving).need_capacity()
    work = circuit.view(Workloads)
    used = work.used
    drains = [drain_of(circuit, w.timeline, w.typical, len(used)) for w in work.all]
    lowest = [low for w in work.all for low in lowest_of(circuit, w.timeline, w.cold)]
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
        "consumers": tuple(_consumers(circuit, used, drawn, current, draws, stops[0].used)),
        "draws": draws,
        "modes": tuple(_modes(drains, used, current, stops[0].used)),
        "lowest": tuple(lowest),
        "unknown": _unknown(circuit),
        "unjudged": circuit.view(Floors).unknown,
        "coldest": coldest(circuit),
    }


def own_loss(circuit: Circuit) -> float:
    """Return the current that self-discharge amounts to, in amperes."""
    total = 0.0
    for bank in circuit.view(Giving).banks:
        for cell in bank.rows[0]:
            lost = cell.self_discharge
            total += cell.need_capacity().value * lost.value if lost is not None else 0.0
    return total


def stops_of(circuit: Circuit, used: Floats, lowest: Sequence[Lowest]) -> tuple[Stop, ...]:
    """Return what would end the run, the first first; at the end the cell is empty."""
    cells = circuit.view(Giving).cells
    counted = [low for low in lowest if not isinstance(low.subject, Cell) or low.subject in cells]
    stops = [stop for each in counted if (stop := _stop(circuit, used, each)) is not None]
    names = " and ".join(cell.label for cell in cells)
    empty = min(cell.curve.voltage_points[-1][1] for cell in cells)
    source = cells[0].curve_source
    reason = f"{names} {'is' if len(cells) == 1 else 'are'} empty"
    stops.append(Stop(1.0, empty, reason, source, None, None, None, 1.0))
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
    as 1.25. Several cells share it by their charge; the first stands for all.
    """
    giving = circuit.view(Giving)
    points = giving.cells[0].rate.value
    if not points:
        return mean
    rate, left = zip(*points, strict=True)
    per_hour = np.maximum(mean * 3600.0 / giving.need_capacity().value, rate[0])
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
    drawn: Floats,
    current: Floats,
    draws: dict[Draw, Floats],
    stop: float,
) -> Iterator[Consumption]:
    """Yield who takes the charge, biggest first; what is below a thousandth is left out."""
    loss = own_loss(circuit)
    cell = circuit.view(Giving).cells[0].reference
    lost = {
        Draw(cell, "self-discharge"): np.full(used.shape, loss),
        Draw(cell, "lost at this rate"): np.maximum(current - drawn - loss, 0.0),
    }
    every = {**draws, **lost}
    each = mean_until(used, current, np.stack(list(every.values())), stop)
    means = dict(zip(every, map(float, each), strict=True))
    total = sum(means.values())
    for draw, mean in sorted(means.items(), key=lambda item: -item[1]):
        if total > 0.0 and mean >= 1e-3 * total:
            yield Consumption(draw.part, draw.what, mean, mean / total)


def _modes(
    drains: Sequence[Drain], used: Floats, current: Floats, stop: float
) -> Iterator[ModeCurrent]:
    for drain in drains:
        name = drain.timeline.name or "all the time"
        mean = float(mean_until(used, current, drain.total, stop))
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
