"""View: sags, how low pulses pull what parts need, with the reservoirs as they are and without."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.cells import MOMENTS
from boardvet.circuit.drain import is_awake
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plants
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.timeline import Timeline
from boardvet.circuit.workload import Solved, Workload, Workloads

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Sag", "Sags"]


class Sag(NamedTuple):
    """How one timeline pulls a node down while a part on it is awake.

    Parameters
    ----------
    node : str
        The node.
    timeline : Timeline
        In which mode of use.
    used : array, shape (U,)
        Shares of the charge used.
    resting : array, shape (U,)
        Voltage of the node without load. [V]
    lowest, still : array, shape (U,)
        In its worst step, with the reservoirs that are fitted and without. [V]
    meeting : Meeting
        What is on in the worst step, near the end of the charge.
    current : array, shape (U,)
        What the cells give then, without reservoirs. [A]
    """

    node: str
    timeline: Timeline
    used: Floats
    resting: Floats
    lowest: Floats
    still: Floats
    meeting: Meeting
    current: Floats

    def crossed(self, volts: Floats, limit: float) -> float:
        """Return the share used at which one of the voltages falls below a limit, or infinity."""
        from boardvet.physics.discharge import first_below

        return float(first_below(self.used, volts, limit))

    def at(self, values: Floats, share: float) -> float:
        """Return one of the arrays at a share of charge used."""
        import numpy as np

        return float(np.interp(share, self.used, values))

    def period(self) -> float:
        """Return the shortest period of a course that pulses, in seconds."""
        return min((course.period for course in self.timeline.courses), default=math.inf)


@dataclass(frozen=True)
class Sags:
    """Looks pulses up by the node that they pull at."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; a node is looked at when it is asked for."""
        return cls(circuit)

    def floor_of(self, reference: str, node: str) -> Floor | None:
        """Return what a part needs on a node, None where nobody knows or no cell feeds it."""
        floors = self.circuit.view(Floors).all
        return next((f for f in floors if (f.reference, f.node) == (reference, node)), None)

    def of_floor(self, floor: Floor) -> tuple[Sag, ...]:
        """Return how each mode of use pulls at a part that is awake in it.

        Raises
        ------
        MissingFact
            As the view `Workloads`.
        """
        return tuple(self._each(floor.node, floor))

    def of_node(self, node: str) -> tuple[Sag, ...]:
        """Return how each mode of use pulls at a node, whatever is awake."""
        return tuple(self._each(node, None))

    def _each(self, node: str, floor: Floor | None) -> Iterator[Sag]:
        work = self.circuit.view(Workloads)
        for each in work.on_cell():
            cold = list(self._awake(each, each.cold, node, floor))
            still = list(self._awake(each, each.still, node, floor))
            if cold and still:
                unloaded = _unloaded(self.circuit, each.timeline, node, work.used)
                yield _sag(node, each.timeline, work.used, unloaded, cold, still)

    def _awake(
        self, work: Workload, solved: Solved, node: str, floor: Floor | None
    ) -> Iterator[tuple[Meeting, Operating]]:
        plant = self.circuit.view(Plants).in_state(work.timeline.state)
        for meeting, operating in solved:
            awake = floor is None or is_awake(self.circuit, plant, work.timeline, meeting, floor)
            if awake and node in operating.nodes and node in plant.paths:
                yield meeting, operating


def _sag(
    node: str,
    timeline: Timeline,
    used: Floats,
    unloaded: Floats,
    cold: list[tuple[Meeting, Operating]],
    still: list[tuple[Meeting, Operating]],
) -> Sag:
    import numpy as np

    volts = np.stack([operating.nodes[node] for _, operating in cold])
    bare = np.stack([operating.nodes[node] for _, operating in still])
    given = np.stack([_given(operating) for _, operating in still])
    worst = bare.argmin(axis=0)
    meeting = cold[int(volts.argmin(axis=0)[len(used) // 2])][0]
    return Sag(
        node,
        timeline,
        used,
        np.maximum(unloaded, bare.max(axis=0)),
        volts.min(axis=0),
        bare.min(axis=0),
        meeting,
        given[worst, np.arange(len(used))],
    )


def _unloaded(circuit: Circuit, timeline: Timeline, node: str, used: Floats) -> Floats:
    """Return the voltage of a node that nothing draws from."""
    import numpy as np

    fed = circuit.view(Feeding).at(timeline.state)[node]
    return np.asarray(np.interp(used, MOMENTS, fed.low), dtype=np.float64)


def _given(operating: Operating) -> Floats:
    """Return what the cells give together."""
    import numpy as np

    return np.asarray(sum(operating.cells.values(), start=np.zeros(operating.count)))
