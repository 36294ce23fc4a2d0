"""View: sags, how low pulses pull what parts need, with the reservoirs as they are and without."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.alike import ScaledCells
from boardvet.circuit.cells import MOMENTS, Cells
from boardvet.circuit.drain import is_awake
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plants
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.circuit.workload import Solved, Workloads, coldest

if TYPE_CHECKING:
    from boardvet.circuit.reservoirs import Reservoir
    from boardvet.physics.elements import Floats

__all__ = ["NO_DIP", "Crossing", "Sag", "Sags"]

NO_DIP = 5e-3
"""No curve of a cell is so exact that a dip below this could be told from it: common practice, no
source. [V]"""

SAME = 0.02
"""A pulse that brings the end by a smaller share of the charge than this is not what ends it."""


class Sag(NamedTuple):
    """How one timeline pulls a node down while a part on it is awake.

    Parameters
    ----------
    node : str
        The node.
    floor : Floor or None
        Of the part; None where every step counts.
    timeline : Timeline
        In which mode of use.
    used : array, shape (U,)
        Shares of the charge used.
    resting : array, shape (U,)
        Voltage of the node without load. With a floor it is what `supply-window` takes, diodes on
        the way at a usual current, so that one of the two rules speaks. [V]
    lowest, still : array, shape (U,)
        In its worst step, with the reservoirs that are fitted and without. [V]
    meetings : tuple of Meeting
        What is on in the worst step, at each share.
    current : array, shape (U,)
        What the cells give in the worst step without reservoirs. [A]
    """

    node: str
    floor: Floor | None
    timeline: Timeline
    used: Floats
    resting: Floats
    lowest: Floats
    still: Floats
    meetings: tuple[Meeting, ...]
    current: Floats

    def crossed(self, volts: Floats, limit: float) -> float:
        """Return the share used at which one of the voltages falls below a limit, or infinity."""
        from boardvet.physics.discharge import first_below

        return float(first_below(self.used, volts, limit))

    def at(self, values: Floats, share: float) -> float:
        """Return one of the arrays at a share of charge used."""
        import numpy as np

        return float(np.interp(share, self.used, values))

    def meeting(self, share: float) -> Meeting:
        """Return what is on in the worst step from a share of charge used on."""
        import numpy as np

        row = int(np.searchsorted(self.used, share - 1e-9))
        return self.meetings[min(row, len(self.meetings) - 1)]

    def dip(self, share: float) -> float:
        """Return how far the node is pulled down with what is fitted, in volts."""
        return self.at(self.resting, share) - self.at(self.lowest, share)

    def period(self) -> float:
        """Return the shortest period of a course that pulses, in seconds."""
        return min((course.period for course in self.timeline.courses), default=math.inf)


class Crossing(NamedTuple):
    """The sag that pulls a part below its floor first, and the share of charge used then."""

    sag: Sag
    used: float


@dataclass(frozen=True)
class Sags:
    """Looks pulses up by the node that they pull at."""

    circuit: Circuit = field(repr=False)
    _scaled: dict[tuple[str, float, bool], Solved] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; a node is looked at when it is asked for."""
        return cls(circuit)

    def floor_of(self, reference: str, node: str) -> Floor | None:
        """Return what a part needs on a node, None where nobody knows or no cell feeds it."""
        floors = self.circuit.view(Floors).all
        return next((f for f in floors if (f.reference, f.node) == (reference, node)), None)

    def of_floor(self, floor: Floor) -> tuple[Sag, ...]:
        """Return how each mode of use pulls at a part that is awake in it, without a regulator.

        Raises
        ------
        MissingFact
            As the view `Workloads`.
        """
        return tuple(self._each(floor.node, floor))

    def of_node(self, node: str) -> tuple[Sag, ...]:
        """Return how each mode of use pulls at a node, whatever is awake; raises as `of_floor`."""
        return tuple(self._each(node, None))

    def first(self, sags: Sequence[Sag]) -> Crossing | None:
        """Return the sag that ends the work of a part first, None where pulses end it in none.

        A rail that falls as low without any load at about the same time is not pulled down.
        """
        found = [each for each in map(_crossing, sags) if each is not None]
        return min(found, key=lambda each: (each.used, -each.sag.dip(each.used)), default=None)

    def behind_regulator(self, node: str) -> bool:
        """Tell whether in every mode on cells a regulator stands before a node, or nothing."""
        timelines = self.circuit.view(Timelines).all
        return not any(each.on_cell and self._straight(each, node) for each in timelines)

    def with_cell(self, sag: Sag, factor: float, *, bare: bool = False) -> Sag:
        """Return a sag as it is with other cells, their resistance multiplied by a factor.

        At every third of its shares of charge; a mode is solved once for all parts. Reservoirs
        are left out if `bare`: it is no less deep then, and takes a fraction of the time.
        """
        import numpy as np

        from boardvet.circuit.pulses import pulsed

        used = np.unique([*sag.used[::3], *sag.used[-1:]])
        cold, cells = coldest(self.circuit), ScaledCells(np.full(len(used), factor))
        name = sag.timeline.name
        if (name, factor, True) not in self._scaled:
            running = self.circuit.view(Running)
            still = running.over(sag.timeline, tuple(map(float, used)), cold, cells)
            self._scaled[name, factor, True] = still
        still = self._scaled[name, factor, True]
        if bare:
            return self._read(sag, used, still, still)
        if (name, factor, False) not in self._scaled:
            moving = pulsed(self.circuit, sag.timeline, still, used, cold, cells)
            self._scaled[name, factor, False] = moving
        return self._read(sag, used, still, self._scaled[name, factor, False])

    def with_reservoirs(
        self, sag: Sag, fitted: Sequence[Reservoir], used: Floats | None = None
    ) -> Sag:
        """Return a sag as it is with other reservoirs, at its own shares of charge or others.

        Its `lowest` is its `still` where the pulses cannot be followed in time.
        """
        from boardvet.circuit.pulses import pulsed

        shares, cold = sag.used if used is None else used, coldest(self.circuit)
        running = self.circuit.view(Running)
        still = running.over(sag.timeline, tuple(map(float, shares)), cold)
        moving = pulsed(self.circuit, sag.timeline, still, shares, cold, reservoirs=fitted)
        return self._read(sag, shares, still, moving)

    def _read(self, sag: Sag, used: Floats, still: Solved, moving: Solved) -> Sag:
        """Return a sag as it is in other solutions of its mode."""
        unloaded = self._unloaded(sag.timeline, sag.node, used)
        rows = (
            list(self._awake(sag.timeline, each, sag.node, sag.floor)) for each in (moving, still)
        )
        return _sag(sag.node, sag.floor, sag.timeline, used, unloaded, *rows)

    def _each(self, node: str, floor: Floor | None) -> Iterator[Sag]:
        work = self.circuit.view(Workloads)
        for each in work.on_cell():
            timeline = each.timeline
            if not self._straight(timeline, node):
                continue
            cold = list(self._awake(timeline, each.cold, node, floor))
            still = list(self._awake(timeline, each.still, node, floor))
            if cold and still:
                unloaded = self._unloaded(timeline, node, work.used)
                yield _sag(node, floor, timeline, work.used, unloaded, cold, still)

    def _straight(self, timeline: Timeline, node: str) -> bool:
        """Tell whether cells feed a node without a regulator between them."""
        plant = self.circuit.view(Plants).in_state(timeline.state)
        path = plant.paths.get(node)
        return path is not None and not any(each.reference in path for each in plant.converting)

    def _awake(
        self, timeline: Timeline, solved: Solved, node: str, floor: Floor | None
    ) -> Iterator[tuple[Meeting, Operating]]:
        plant = self.circuit.view(Plants).in_state(timeline.state)
        for meeting, operating in solved:
            awake = floor is None or is_awake(self.circuit, plant, timeline, meeting, floor)
            if awake and node in operating.nodes:
                yield meeting, operating

    def _unloaded(self, timeline: Timeline, node: str, used: Floats) -> Floats:
        """Return the voltage of a node that nothing draws from.

        It is known at some shares only; between them it follows the voltage of the cells.
        """
        import numpy as np

        from boardvet.physics.cell_arrays import curve_arrays

        fed = self.circuit.view(Feeding).at(timeline.state)[node]
        cells = [c for c in self.circuit.view(Cells).all if c.reference in fed.sources]
        zero = np.zeros(1)
        known = sum((curve_arrays(cell.curve, MOMENTS)[0] for cell in cells), start=zero)
        asked = sum((curve_arrays(cell.curve, used)[0] for cell in cells), start=zero)
        return np.asarray(np.interp(asked, known[::-1], fed.low[::-1]), dtype=np.float64)


def _crossing(sag: Sag) -> Crossing | None:
    if sag.floor is None or (sag.resting - sag.lowest).max() < NO_DIP:
        return None
    limit = sag.floor.volts.value
    used = sag.crossed(sag.lowest, limit)
    rest = min(sag.crossed(sag.resting, limit), 1.0)
    return Crossing(sag, used) if math.isfinite(used) and rest - used >= SAME else None


def _sag(
    node: str,
    floor: Floor | None,
    timeline: Timeline,
    used: Floats,
    unloaded: Floats,
    moving: list[tuple[Meeting, Operating]],
    still: list[tuple[Meeting, Operating]],
) -> Sag:
    import numpy as np

    volts = np.stack([operating.nodes[node] for _, operating in moving])
    bare = np.stack([operating.nodes[node] for _, operating in still])
    given = np.stack([_given(operating) for _, operating in still])
    rows = np.arange(len(used))
    return Sag(
        node,
        floor,
        timeline,
        used,
        unloaded if floor is not None else np.maximum(unloaded, bare.max(axis=0)),
        volts.min(axis=0),
        bare.min(axis=0),
        tuple(moving[index][0] for index in volts.argmin(axis=0)),
        given[bare.argmin(axis=0), rows],
    )


def _given(operating: Operating) -> Floats:
    """Return what the cells give together."""
    import numpy as np

    return np.asarray(sum(operating.cells.values(), start=np.zeros(operating.count)))
