"""View: what the board takes from a cell while a charger charges it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cell
from boardvet.circuit.charging import Charger
from boardvet.circuit.elements import ElementKind
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.operating import Operating
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import State, States
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import Kind

__all__ = ["ChargeLoad", "ChargeLoads"]

_TRIAL = 1e-3
"""Drawn by each part of unknown current to see whether the cell would carry it. [A]"""


class ChargeLoad(NamedTuple):
    """What a cell gives to the board while it is charged.

    Parameters
    ----------
    state : State
        In which the charger is fed and the cell gives most.
    current : float
        Mean over the pattern, with a full cell. [A]
    stated : bool
        False where the pessimistic pattern was taken.
    takers : tuple of (str, float)
        Parts that take most, by reference, with their mean currents. [A]
    unknown : tuple of str
        Parts that the cell feeds and of which nobody knows what they draw at rest.
    """

    state: State
    current: float
    stated: bool
    takers: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class ChargeLoads:
    """Answers it for each charger."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; the board is solved when asked."""
        return cls(circuit)

    def worst(self, charger: Charger, cells: Sequence[Cell]) -> ChargeLoad:
        """Return the largest mean load on the cells in the states that feed the charger.

        Raises
        ------
        MissingFact
            Where nothing feeds the charger in any state, or a value that current depends on is
            not known.
        """
        loads = [self._in_state(state, cells) for state in self._fed_states(charger, cells)]
        if not loads:
            raise MissingFact(
                charger.reference,
                "sources",
                f"what feeds {charger.reference} is not known",
                "sources: {J1: {net: VBUS, voltage: 5 V}}   # the connector that feeds it",
            )
        return max(loads, key=lambda load: load.current)

    def _fed_states(self, charger: Charger, cells: Sequence[Cell]) -> Iterator[State]:
        """Yield the states in which something else than its own cells feeds the charger."""
        own = {cell.reference for cell in cells}
        feeding = self.circuit.view(Feeding)
        for state in self.circuit.view(States).all:
            fed = feeding.at(state)
            if any(set(fed[node].sources) - own for node in charger.inputs if node in fed):
                yield state

    def _in_state(self, state: State, cells: Sequence[Cell]) -> ChargeLoad:
        state = self._buttons_released(state)
        timeline = self.circuit.view(Timelines).of_state(state)
        still = Meeting(frozenset(), (), 1.0, 0.0)
        meetings = timeline.meetings if timeline is not None else (still,)
        running = self.circuit.view(Running)
        solved = [(meeting, running.at(state, meeting)) for meeting in meetings]
        current = max(0.0, sum(m.weight * _given(operating, cells) for m, operating in solved))
        return ChargeLoad(
            state,
            current,
            timeline is not None and timeline.stated,
            _takers(solved, current),
            self._unknown(state, meetings, cells, timeline),
        )

    def _buttons_released(self, state: State) -> State:
        kinds = self.circuit.view(Kinds)
        closed = frozenset(c for c in state.closed if kinds.kind(c[0]) is not Kind.BUTTON)
        return replace(state, closed=closed)

    def _unknown(
        self,
        state: State,
        meetings: Sequence[Meeting],
        cells: Sequence[Cell],
        timeline: Timeline | None,
    ) -> tuple[str, ...]:
        """Return the parts of unknown current that a trial shows to be fed by the cell."""
        running = self.circuit.view(Running)
        known = timeline.draws if timeline is not None else {}
        parts = [part for part in running.unknown(state) if part not in known]
        if not parts:
            return ()
        plain = meetings[0]._replace(draws=())
        trial = plain._replace(draws=tuple((part, _TRIAL) for part in parts))
        before, after = (_given(running.at(state, m), cells) for m in (plain, trial))
        return tuple(parts) if after - before > _TRIAL / 2 else ()


def _given(operating: Operating, cells: Sequence[Cell]) -> float:
    return sum(operating.cell_current(cell.reference)[0] for cell in cells)


def _takers(
    solved: Sequence[tuple[Meeting, Operating]], current: float
) -> tuple[tuple[str, float], ...]:
    """Return the parts that take most, where they and nothing else explain the current."""
    taken: dict[str, float] = {}
    for meeting, operating in solved:
        for reference in operating.loads:
            amount = meeting.weight * operating.load(reference)[0]
            taken[reference] = taken.get(reference, 0.0) + amount
        for element in operating.junctions:
            if element.kind is ElementKind.LED:
                amount = meeting.weight * operating.light(element)[0]
                taken[element.reference] = taken.get(element.reference, 0.0) + amount
    ordered = sorted(taken.items(), key=lambda item: -item[1])
    biggest = tuple(item for item in ordered[:3] if item[1] > 0.05 * current)
    return biggest if sum(taken.values()) < 1.2 * current else ()
