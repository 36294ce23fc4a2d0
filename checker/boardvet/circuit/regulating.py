"""View: regulating, what regulators do in every step of the pattern, over the life of the cell."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.cells import MOMENTS, Cells
from boardvet.circuit.converters import Regulator
from boardvet.circuit.drain import is_awake
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import ROOM_TEMPERATURE
from boardvet.circuit.operating import Operating, RegulatorPoint
from boardvet.circuit.plant import Converting, Plant, Plants
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.shorts import PowerNode, Shorts
from boardvet.circuit.states import State, States
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.circuit.workload import coldest
from boardvet.errors import MissingFact
from boardvet.known import Known

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Fresh", "LoadLimit", "Regulating", "Step"]


class Step(NamedTuple):
    """One step of the pattern with a regulator in it, over the life of the cell.

    Parameters
    ----------
    timeline : Timeline
        The mode.
    meeting : Meeting
        What is on.
    point : RegulatorPoint
        What the regulator does at each of `MOMENTS`.
    operating : Operating
        What the whole board does.
    sources : tuple of str
        What feeds its input; other cells may feed something else.
    numbers : Converting
        The regulator.
    """

    timeline: Timeline
    meeting: Meeting
    point: RegulatorPoint
    operating: Operating
    sources: tuple[str, ...]
    numbers: Converting


class Fresh(NamedTuple):
    """One step of the pattern in a state, with fresh sources: how they feed a regulator."""

    state: State
    meeting: Meeting
    fed: Fed
    point: RegulatorPoint
    numbers: Converting


class LoadLimit(NamedTuple):
    """The lowest voltage that a part behind a regulator sees while it works, at each moment."""

    floor: Floor
    volts: Floats
    step: tuple[Step, ...]


@dataclass(frozen=True)
class Regulating:
    """Answers what the regulators of one board do while it works."""

    circuit: Circuit = field(repr=False)
    _solved: dict[str, tuple[tuple[Meeting, Operating], ...]] = field(
        default_factory=dict, repr=False
    )
    _fresh: dict[State, tuple[tuple[Meeting, Operating], ...]] = field(
        default_factory=dict, repr=False
    )

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; the board is solved when asked for."""
        return cls(circuit)

    @property
    def hottest(self) -> Known[float]:
        """Temperature of the air for heat: 25 °C unless the hot end is higher."""
        stated = self.circuit.intent.temperature
        if stated is not None and stated.value.high > ROOM_TEMPERATURE:
            return Known(stated.value.high, "degC", stated.source)
        source = "standard: reference temperature, as nothing hotter is stated"
        return Known(ROOM_TEMPERATURE, "degC", stated.source if stated else source)

    def over_life(self, regulator: Regulator) -> tuple[Step, ...]:
        """Return the steps in which cells alone feed a regulator, at the coldest temperature.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If a network has no solution that could be found.
        """
        return tuple(
            Step(
                timeline,
                meeting,
                operating.regulators[regulator.reference],
                operating,
                sources,
                self.in_numbers(regulator, timeline.state),
            )
            for timeline in self.circuit.view(Timelines).all
            if timeline.on_cell and (sources := self._by_cells(regulator, timeline.state))
            for meeting, operating in self._over(timeline)
            if regulator.reference in operating.regulators
        )

    def fresh(self, regulator: Regulator) -> Iterator[Fresh]:
        """Yield the steps in every state that feeds a regulator, with fresh sources.

        Raises as `over_life`.
        """
        timelines = self.circuit.view(Timelines)
        states = [*self.circuit.view(States).all, *(t.state for t in timelines.all)]
        for state in dict.fromkeys(states):
            fed = self.fed(regulator, state)
            timeline = timelines.of_state(state)
            if fed is None or timeline is None:
                continue
            fed.need()
            for meeting, operating in self._in_state(timeline, state):
                point = operating.regulators.get(regulator.reference)
                if point is not None:
                    yield Fresh(state, meeting, fed, point, self.in_numbers(regulator, state))

    def fed(self, regulator: Regulator, state: State) -> Fed | None:
        """Return how the input of a regulator is fed in a state, None if it is not."""
        reached = self.circuit.view(Feeding).at(state)
        return next((reached[node] for node in regulator.inputs if node in reached), None)

    def in_numbers(self, regulator: Regulator, state: State) -> Converting:
        """Return a fed regulator in numbers; `KeyError` where it is not fed in this state."""
        for each in self._plant(state).converting:
            if each.reference == regulator.reference:
                return each
        raise KeyError(regulator.reference)

    def unknown_loads(self, regulator: Regulator, timeline: Timeline) -> tuple[str, ...]:
        """Return the parts behind a regulator of which nobody knows what they draw."""
        return tuple(
            consumer.reference
            for consumer in self._plant(timeline.state).consumers
            if consumer.rest is None
            and consumer.reference not in timeline.active
            and regulator.reference in consumer.path
        )

    def load_unknown(self, reference: str) -> MissingFact:
        """Return the error that asks what a part draws while it works."""
        return MissingFact(
            reference,
            "pattern",
            f"what {reference} draws while it works is not known",
            f"pattern: [{{part: {reference}, current: 5 mA}}]   # for, every: where not always",
        )

    def limits(self, regulator: Regulator, steps: tuple[Step, ...]) -> Iterator[LoadLimit]:
        """Yield the parts behind a regulator that need a voltage, and the lowest that they see."""
        import numpy as np

        for floor in self.circuit.view(Floors).all:
            if floor.reference == regulator.reference:
                continue
            seen = [
                step
                for step in steps
                if floor.node in step.operating.nodes and self._is_behind(regulator, step, floor)
            ]
            if seen:
                volts = np.stack([step.operating.nodes[floor.node] for step in seen])
                worst = volts.argmin(axis=0)
                yield LoadLimit(floor, volts.min(axis=0), tuple(seen[index] for index in worst))

    def shorted(self, regulator: Regulator) -> PowerNode | None:
        """Return a node behind a regulator that something joins to ground, None if there is none.

        What a regulator does then is a consequence.
        """
        feeding, states = self.circuit.view(Feeding), self.circuit.view(States)
        paths = [feeding.at(state) for state in states.all]
        for power in self.circuit.view(Shorts).all:
            if power.joined is None and not power.through:
                continue
            behind = power.node in regulator.outputs or any(
                power.node in fed and regulator.reference in fed[power.node].path for fed in paths
            )
            if behind:
                return power
        return None

    def _is_behind(self, regulator: Regulator, step: Step, floor: Floor) -> bool:
        plant = self._plant(step.timeline.state)
        path = plant.paths.get(floor.node, ())
        awake = is_awake(self.circuit, plant, step.timeline, step.meeting, floor)
        return awake and regulator.reference in path

    def _by_cells(self, regulator: Regulator, state: State) -> tuple[str, ...]:
        """Return the cells that feed a regulator, none where another source does as well."""
        fed = self.fed(regulator, state)
        cells = {cell.reference for cell in self.circuit.view(Cells).all}
        return fed.sources if fed is not None and set(fed.sources) <= cells else ()

    def _over(self, timeline: Timeline) -> tuple[tuple[Meeting, Operating], ...]:
        if timeline.name not in self._solved:
            running = self.circuit.view(Running)
            self._solved[timeline.name] = running.over(timeline, MOMENTS, coldest(self.circuit))
        return self._solved[timeline.name]

    def _in_state(self, timeline: Timeline, state: State) -> tuple[tuple[Meeting, Operating], ...]:
        """Return what is on in a timeline, solved in a state with fresh cells."""
        if state not in self._fresh:
            running = self.circuit.view(Running)
            self._fresh[state] = running.over(replace(timeline, state=state), (0.0,))
        return self._fresh[state]

    def _plant(self, state: State) -> Plant:
        return self.circuit.view(Plants).in_state(state)
