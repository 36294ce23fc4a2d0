"""View: what each cell gives in each mode of use, on average and in its strongest pulse."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.bias import least_kept
from boardvet.circuit.capacitors import Capacitors
from boardvet.circuit.cells import Cell
from boardvet.circuit.converters import Converters
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plants
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting, Step
from boardvet.circuit.states import State
from boardvet.circuit.target import Bank, Target
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.circuit.values import resistance
from boardvet.physics.cell import resistance as cell_resistance

__all__ = ["CellLoad", "CellLoads", "Pulse"]

_FRESH, _HALF = 0.0, 0.5


class Pulse(NamedTuple):
    """The strongest pulse that a cell gives.

    Parameters
    ----------
    meeting : Meeting
        What is on then.
    steady : float
        What the cell would give if the pulse lasted for ever, fresh. [A]
    given : float
        What it gives with the capacitors of its rail at the end of the pulse, where each part of
        it lasts as long as its own course says. [A]
    capacitance : float
        Of these capacitors, after their loss under bias. [F]
    """

    meeting: Meeting
    steady: float
    given: float
    capacitance: float


class CellLoad(NamedTuple):
    """What a cell gives in one mode of use.

    Parameters
    ----------
    timeline : Timeline
        The mode.
    mean : float
        Mean current at half of its charge. [A]
    pulse : Pulse or None
        The strongest, None where nothing comes and goes.
    """

    timeline: Timeline
    mean: float
    pulse: Pulse | None


@dataclass(frozen=True)
class CellLoads:
    """What cells give, by mode of use."""

    circuit: Circuit = field(repr=False)
    _solved: dict[str, tuple[tuple[Meeting, Operating], ...]] = field(
        default_factory=dict, repr=False
    )

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; modes are solved as they are asked for."""
        return cls(circuit)

    def of_cell(self, cell: Cell) -> tuple[CellLoad, ...]:
        """Return what a cell gives in each mode in which nothing else feeds the board.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If a network has no solution that could be found.
        """
        return tuple(
            self._load(cell, timeline, self._solutions(timeline))
            for timeline in self.circuit.view(Timelines).all
            if timeline.on_cell and timeline.share > 0.0
        )

    def mean(self, cell: Cell) -> float:
        """Return the mean current over all modes of use, in amperes; raises as `of_cell`."""
        return math.fsum(load.timeline.share * load.mean for load in self.of_cell(cell))

    def unknown(self, cell: Cell) -> tuple[str, ...]:
        """Return the parts on a cell whose current at rest nobody knows."""
        feeding, plants = self.circuit.view(Feeding), self.circuit.view(Plants)
        found: dict[str, None] = {}
        for timeline in self.circuit.view(Timelines).all:
            fed = feeding.at(timeline.state) if timeline.on_cell else {}
            for consumer in plants.in_state(timeline.state).consumers if fed else ():
                stated = consumer.rest is not None or consumer.reference in timeline.draws
                if not stated and cell.reference in fed[consumer.node].sources:
                    found[consumer.reference] = None
        return tuple(found)

    def _solutions(self, timeline: Timeline) -> tuple[tuple[Meeting, Operating], ...]:
        key = f"{timeline.name}/{timeline.state.name}"
        if key not in self._solved:
            self._solved[key] = self.circuit.view(Running).over(timeline, (_FRESH, _HALF))
        return self._solved[key]

    def _load(
        self, cell: Cell, timeline: Timeline, solved: Sequence[tuple[Meeting, Operating]]
    ) -> CellLoad:
        each = [(meeting, operating.cell_current(cell.reference)) for meeting, operating in solved]
        half = math.fsum(meeting.weight * current[1] for meeting, current in each)
        fresh = math.fsum(meeting.weight * current[0] for meeting, current in each)
        if not timeline.courses:
            return CellLoad(timeline, max(half, 0.0), None)
        meeting, steady = max(((m, current[0]) for m, current in each), key=lambda pair: pair[1])
        farads, ohms = self._reservoir(cell, timeline.state)
        given = _given(timeline, {m[:2]: current[0] for m, current in each}, farads * ohms)
        least = steady if given is None else min(given, steady)
        return CellLoad(
            timeline, max(half, 0.0), Pulse(meeting, steady, max(least, fresh), farads)
        )

    def _reservoir(self, cell: Cell, state: State) -> tuple[float, float]:
        """Return the capacitance on the rail of a cell and the resistance of its bank."""
        bank = next(b for b in self.circuit.view(Target).banks if cell in b.cells)
        ohms = sum(_row_resistance(row) for row in bank.rows)
        rail = set(self._rail(bank, state, ohms))
        grounds = self.circuit.view(Grounds)
        volts = sum(row[0].voltages()[0] for row in bank.rows)
        total = 0.0
        for capacitor in self.circuit.view(Capacitors).of_part.values():
            ends = {capacitor.a, capacitor.b}
            if capacitor.value is not None and ends & rail and any(e in grounds for e in ends):
                total += capacitor.value.value * least_kept(self.circuit, capacitor, volts)
        return total, ohms

    def _rail(self, bank: Bank, state: State, ohms: float) -> Iterator[str]:
        """Yield the nodes that a bank feeds with no regulator and no larger resistor between."""
        holders = {cell.reference for cell in bank.cells}
        for node, fed in self.circuit.view(Feeding).at(state).items():
            between = set(fed.path) - holders
            if holders & set(fed.sources) and not any(self._parts(r, ohms) for r in between):
                yield node

    def _parts(self, reference: str, ohms: float) -> bool:
        """Tell whether a part keeps a capacitor behind it from helping a cell of a resistance."""
        known = resistance(self.circuit, reference)
        converters = (each.reference for each in self.circuit.view(Converters).all)
        larger = known is not None and known.unit == "ohm" and known.value > ohms
        return larger or reference in converters


def _row_resistance(row: Sequence[Cell]) -> float:
    """Return the resistance of fresh cells side by side."""
    conductance = 0.0
    for cell in row:
        ohms = cell_resistance(cell.curve, _FRESH)
        if ohms == 0.0:
            return 0.0
        conductance += 1.0 / ohms
    return 1.0 / conductance


def _given(
    timeline: Timeline, alone: Mapping[tuple[object, ...], float], constant: float
) -> float | None:
    """Return what a cell gives when the heaviest pulses of all courses end together, in amperes.

    Each course is taken by itself, with the time that its own pulses last, and what they add is
    added up. None where one never rests, so that no other can be seen without it.
    """
    rest = alone.get(_on(timeline, None))
    if rest is None:
        return None
    total = rest
    for course in timeline.courses:
        busy = math.fsum(step.duration for step in course.steps if not step.rests) / course.period
        added = [0.0]
        for step in course.steps:
            steady = alone.get(_on(timeline, step))
            if steady is None:
                return None
            if not step.rests:
                added.append((steady - rest) * _share(step.run, busy, constant))
        total += max(added)
    return total


def _on(timeline: Timeline, step: Step | None) -> tuple[object, ...]:
    """Return what is on in a step, or at rest, as a meeting names it."""
    if step is None:
        return timeline.lights, tuple(sorted(timeline.draws.items()))
    draws = dict(timeline.draws)
    for part, current in step.draws:
        draws[part] = draws.get(part, 0.0) + current
    return timeline.lights | step.lights, tuple(sorted(draws.items()))


def _share(run: float, busy: float, constant: float) -> float:
    """Return what share of a pulse the cell itself gives at its end, once the train has settled.

    The formula is that of `boardvet.physics.reservoir_size.needed_capacitance`.
    """
    if constant <= 0.0:
        return 1.0
    return math.expm1(-run / constant) / math.expm1(-run / busy / constant)
