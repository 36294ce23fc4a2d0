"""View: running, the whole board solved while some things are on: cell, regulators, loads, lights.

A regulator that regulates parts the network: what hangs on its output is solved first, and what
it passes on is a load of its input. Where its input is too low it becomes a resistance, and both
sides are one network. Nothing else than the network solver computes a current.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self

from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Spread
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import State

if TYPE_CHECKING:
    from boardvet.circuit.timeline import Timeline
    from boardvet.circuit.working import Known, Setting, Work

__all__ = ["Running"]


@dataclass(frozen=True)
class Running:
    """Solves the board at work."""

    circuit: Circuit = field(repr=False)
    _known: Known = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; the board is solved as it is asked for."""
        return cls(circuit)

    def at(
        self,
        state: State,
        meeting: Meeting,
        used: Sequence[float] = (0.0,),
        temperature: float | None = None,
    ) -> Operating:
        """Solve the board while some things are on, at each share of charge used.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If a network has no solution that could be found.
        """
        import numpy as np

        from boardvet.circuit.working import Setting

        rows = np.asarray(used, dtype=np.float64)
        run = np.full(rows.shape, meeting.run)
        setting = Setting(meeting.lights, dict(meeting.draws), rows, temperature, run)
        return self.solve(state, setting)

    def over(
        self,
        timeline: Timeline,
        used: Sequence[float],
        temperature: float | None = None,
        spread: Spread | None = None,
    ) -> tuple[tuple[Meeting, Operating], ...]:
        """Solve everything that can be on together in a timeline, at each share of charge used.

        Meetings that only differ in what parts draw are solved in one go. With a spread each row
        of `used` is one board at one share. Raises as `at`.
        """
        import numpy as np

        shares = np.asarray(used, dtype=np.float64)
        found: dict[Meeting, Operating] = {}
        for group in _alike(self._plant(timeline.state), timeline.meetings):
            solved = self.solve(
                timeline.state, self._together(timeline, group, shares, temperature, spread)
            )
            for number, meeting in enumerate(group):
                rows = slice(number * len(shares), (number + 1) * len(shares))
                found[meeting] = solved.rows(rows)
        return tuple((meeting, found[meeting]) for meeting in timeline.meetings)

    def solve(self, state: State, setting: Setting) -> Operating:
        """Solve the board in every row of a setting; raises as `at`."""
        return self._work(state, setting).result

    def work(self, state: State, setting: Setting, numbers: dict[str, int]) -> Work:
        """Solve the board and return the networks as well, for steps in time; raises as `at`.

        Nodes are counted as in `numbers`, to which further ones are added.
        """
        return self._work(state, setting, numbers)

    def unknown(self, state: State) -> tuple[str, ...]:
        """Return the parts whose current at rest nobody knows."""
        return tuple(c.reference for c in self._plant(state).consumers if c.rest is None)

    def _work(self, state: State, setting: Setting, numbers: dict[str, int] | None = None) -> Work:
        import numpy as np

        from boardvet.circuit.working import Work

        work = Work(self.circuit, self._plant(state), setting, numbers, self._known)
        work.fill(np.arange(len(setting.used)), frozenset())
        return work

    def _together(
        self,
        timeline: Timeline,
        group: Sequence[Meeting],
        shares: object,
        temperature: float | None,
        spread: Spread | None,
    ) -> Setting:
        """Return one setting whose rows are those of several meetings, one after another."""
        import numpy as np

        from boardvet.circuit.working import Setting

        used = np.asarray(shares, dtype=np.float64)
        rest = self._resting_currents(timeline.state)
        parts = {part for meeting in group for part, _ in meeting.draws}
        return Setting(
            group[0].lights,
            {
                part: np.repeat(
                    [dict(m.draws).get(part, rest.get(part, 0.0)) for m in group], len(used)
                )
                for part in parts
            },
            np.tile(used, len(group)),
            temperature,
            np.repeat([meeting.run for meeting in group], len(used)),
            None if spread is None else spread.tiled(len(group)),
        )

    def _plant(self, state: State) -> Plant:
        return self.circuit.view(Plants).in_state(state)

    def _resting_currents(self, state: State) -> Mapping[str, float]:
        consumers = self._plant(state).consumers
        return {c.reference: c.rest.value for c in consumers if c.rest is not None}


def _alike(plant: Plant, meetings: Sequence[Meeting]) -> Iterator[list[Meeting]]:
    """Group meetings that have the same lights and the same switched paths."""
    groups: dict[tuple[object, ...], list[Meeting]] = {}
    for meeting in meetings:
        active = frozenset(part for part, _ in meeting.draws)
        switched = (plant.resting(active), plant.stopped(active))
        groups.setdefault((meeting.lights, *switched), []).append(meeting)
    yield from groups.values()
