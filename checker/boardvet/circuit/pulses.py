"""A timeline solved in time, where reservoirs carry a part of its pulses.

Each course by itself is followed until it repeats, so that the reservoir is charged as far as the
gaps let it. Where there are several, each is followed beside what the others take on average,
which is right to the first order, and what is heaviest in each is then laid together once: courses
that have nothing to do with each other meet sometimes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Island, Spread
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plants
from boardvet.circuit.reservoirs import Reservoir, Reservoirs, cell_ohms
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Course, Meeting, Step, Window, courses_of, heaviness
from boardvet.circuit.timeline import Timeline
from boardvet.circuit.working import Setting
from boardvet.errors import SolverError, UnsettledError
from boardvet.physics.elements import Sources
from boardvet.physics.transient import Capacitors, Stretch, advance, repeat, settle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from boardvet.physics.elements import Floats
    from boardvet.physics.network import Network

__all__ = ["pulsed", "reservoirs_matter"]

WORTH = 0.02
"""A reservoir whose time constant with the cell is a smaller share of the shortest pulse than this
changes nothing that can be seen."""

MOST_ROUNDS = 6
SETTLED_POWER = 5e-3
"""The current of a switching regulator is found when it changes by a smaller share than this."""

LEAST_VOLTAGE = 0.1
"""What a switching regulator is taken to have at its input at least, where a reservoir is empty:
its current would grow without end. [V]"""

SMALL_CHANGE = 0.01
"""Capacitors that are less than this share of what stands beside them, or of the largest reservoir
on the board, change nothing that can be seen."""

MOST_STEPS = 80
"""Courses of more steps than this are solved without reservoirs, which is on the safe side."""

A_COURSE = 4
"""Each further course counts for so many steps: all are followed twice then, alone and beside."""

_EQUALLY_HEAVY = 1e-9
"""Sums of the same currents in another order differ by less. [A]"""

Solved = tuple[tuple[Meeting, Operating], ...]


def reservoirs_matter(
    circuit: Circuit, timeline: Timeline, reservoirs: Sequence[Reservoir]
) -> bool:
    """Tell whether capacitors beside the cells carry a part of any pulse."""
    runs = [s.duration for c in timeline.courses for s in c.steps if not s.rests]
    if not runs or not timeline.on_cell:
        return False
    total = sum(each.capacitance.value for each in reservoirs)
    return cell_ohms(circuit, timeline.state) * total > WORTH * min(runs)


def pulsed(
    circuit: Circuit,
    timeline: Timeline,
    still: Solved,
    used: Floats,
    temperature: float | None,
    spread: Spread | None = None,
    reservoirs: Sequence[Reservoir] | None = None,
) -> Solved:
    """Return the meetings of a timeline with their reservoirs: mean currents, lowest voltages.

    Parameters
    ----------
    circuit : Circuit
        The board.
    timeline : Timeline
        Whose courses are followed.
    still : tuple of (Meeting, Operating)
        The same solved without reservoirs; returned as it is where they do not matter.
    used : array, shape (B,)
        Shares of the charge used.
    temperature : float or None
        Of cells and junctions. [°C]
    spread : Spread, optional
        How the parts of each row differ from typical.
    reservoirs : sequence of Reservoir, optional
        In place of those that are fitted.
    """
    nodes = frozenset(node for _, operating in still for node in operating.nodes)
    if reservoirs is None:
        reservoirs = circuit.view(Reservoirs).in_state(timeline.state, nodes)
    if not reservoirs_matter(circuit, timeline, reservoirs):
        return still
    steps = [step for course in timeline.courses for step in course.steps]
    effort = len(steps) + A_COURSE * (len(timeline.courses) - 1)
    if effort > MOST_STEPS or any(step.dimmed for step in steps):
        return still
    rows = _regulating(still, len(used))
    if not len(rows):
        return still
    work = _Pulses(circuit, timeline, reservoirs, used, rows, temperature, spread)
    try:
        return work.solved(still)
    except (SolverError, UnsettledError):
        return still


class _Moment(NamedTuple):
    """One step as a network: what is on, the still solution, the island, how long it lasts."""

    meeting: Meeting
    still: Operating
    island: Island
    rows: NDArray[np.intp]
    duration: float


class _Pulses:
    """The courses of one timeline in time."""

    def __init__(
        self,
        circuit: Circuit,
        timeline: Timeline,
        reservoirs: Sequence[Reservoir],
        used: Floats,
        rows: NDArray[np.intp],
        temperature: float | None,
        spread: Spread | None = None,
    ) -> None:
        self.circuit = circuit
        self.timeline = timeline
        self.reservoirs = reservoirs
        self.used = used
        self.rows = rows
        self.temperature = temperature
        self.spread = spread
        plant = circuit.view(Plants).in_state(timeline.state)
        self.switching = tuple(each for each in plant.converting if each.switching)
        self.numbers: dict[str, int] = {}
        self.made: dict[tuple[object, ...], _Moment] = {}

    def solved(self, still: Solved) -> Solved:
        """Follow each course, then what is heaviest together."""
        base = self._moment(Step(frozenset(), (), 1.0, 0.0), 1.0)
        courses = [[self._moment(s, c.period) for s in c.steps] for c in self.timeline.courses]
        heavy = list(self._heaviest()) if len(courses) > 1 else []
        capacitors = self._capacitors()
        cycles = [self._cycle(moments, capacitors) for moments in courses]
        if heavy:
            cycles, charged = self._beside_others(base, courses, cycles, capacitors)
        found = [
            (moment.meeting, _averaged(moment, stretch))
            for moments, cycle in zip(courses, cycles, strict=True)
            for moment, stretch in zip(moments, cycle, strict=True)
        ]
        if heavy:
            found += self._together(heavy, capacitors, charged)
        return (*found, (base.meeting._replace(weight=1.0 - len(courses)), base.still))

    def _cycle(
        self,
        moments: Sequence[_Moment],
        capacitors: Capacitors,
        others: Mapping[str, Floats] | None = None,
        near: Sequence[Stretch] | None = None,
    ) -> tuple[Stretch, ...]:
        """Follow a course until it repeats, near to another cycle of it.

        Switching regulators take a power: their current is found anew from the mean voltage that
        the reservoir leaves them in each step, until it no longer changes.
        """
        start = near[-1].charged if near is not None else None
        for _ in range(MOST_ROUNDS):
            steps = [self._network(moment, others) for moment in moments]
            stretches = repeat(steps, capacitors, start).require().stretches
            start = stretches[-1].charged
            found = [
                self._at_power(moment, stretch)
                for moment, stretch in zip(moments, stretches, strict=True)
            ]
            moments = [moment for moment, _ in found]
            if max(change for _, change in found) < SETTLED_POWER:
                break
        return stretches

    def _at_power(self, moment: _Moment, stretch: Stretch) -> tuple[_Moment, float]:
        """Return a moment with what its switching regulators take, and the change of that."""
        island, loads = moment.island, moment.island.network.loads.current
        drawn = {reference: loads[:, column] for reference, column in island.loads.items()}
        most = 0.0
        for each in self.switching:
            if each.reference not in drawn or each.source not in island.nodes:
                continue
            volts = stretch.voltages[:, :, island.nodes[each.source]]
            mean = np.trapezoid(volts, stretch.times, axis=0) / moment.duration
            given = moment.still.regulators[each.reference].output_current[self.rows]
            own = each.quiescent.value if each.quiescent is not None else 0.0
            current = each.power(given) / np.maximum(mean, LEAST_VOLTAGE) + own
            change = np.abs(current - drawn[each.reference]) / np.maximum(current, own + 1e-9)
            most = max(most, float(change.max()))
            drawn[each.reference] = current
        return moment._replace(island=island.drawing(drawn)) if most else moment, most

    def _beside_others(
        self,
        base: _Moment,
        courses: Sequence[Sequence[_Moment]],
        alone: Sequence[tuple[Stretch, ...]],
        capacitors: Capacitors,
    ) -> tuple[list[tuple[Stretch, ...]], Floats]:
        """Follow each course beside what the others take on average.

        Returned with it is the voltage of the plates before the heaviest steps of all: each
        course has taken off of it what it takes before its own.
        """
        given = [_given(moments, cycle) for moments, cycle in zip(courses, alone, strict=True)]
        rest = {key: base.still.cells[key][self.rows] for key in _cells_of(base)}
        rested = settle(self._network(base)[0], capacitors)
        cycles: list[tuple[Stretch, ...]] = []
        charged = rested
        for number, course in enumerate(self.timeline.courses):
            others = _of_others(given, number, rest)
            cycles.append(self._cycle(courses[number], capacitors, others, alone[number]))
            before = cycles[-1][_heavy_run(course).first - 1].charged
            charged = charged + (before - settle(self._network(base, others)[0], capacitors))
        return cycles, charged

    def _together(
        self, heavy: Sequence[_Moment], capacitors: Capacitors, charged: Floats
    ) -> Iterator[tuple[Meeting, Operating]]:
        """Yield what is heaviest together, from the level before."""
        for moment in heavy:
            network, duration = self._network(moment)
            stretch = advance(network, capacitors, charged, duration)
            charged = stretch.charged
            yield moment.meeting._replace(weight=0.0), _averaged(moment, stretch)

    def _moment(self, step: Step, period: float) -> _Moment:
        """Solve a step without reservoirs, beside what is always on."""
        draws = dict(self.timeline.draws)
        for part, current in step.draws:
            draws[part] = draws.get(part, 0.0) + current
        lights = self.timeline.lights | step.lights
        run = step.run if step.run > 0.0 else math.inf
        meeting = Meeting(lights, tuple(sorted(draws.items())), step.duration / period, run)
        key = (meeting.lights, meeting.draws, run)
        if key not in self.made:
            self.made[key] = self._solved(meeting)
        return self.made[key]._replace(meeting=meeting, duration=step.duration)

    def _solved(self, meeting: Meeting) -> _Moment:
        running, state = self.circuit.view(Running), self.timeline.state

        def setting(rows: NDArray[np.intp]) -> Setting:
            spread = None if self.spread is None else self.spread.of(rows)
            runs = np.full(rows.shape, meeting.run)
            draws = dict(meeting.draws)
            return Setting(meeting.lights, draws, self.used[rows], self.temperature, runs, spread)

        work = running.work(state, setting(self.rows), self.numbers)
        still = work.result
        if len(self.rows) < len(self.used):
            still = running.solve(state, setting(np.arange(len(self.used))))
        return _Moment(meeting, still, work.top[0][1], self.rows, 0.0)

    def _heaviest(self) -> Iterator[_Moment]:
        """Yield the steps of all courses laid so that their heaviest ones end together.

        Each pulls its rail lowest at the end of its heaviest step, so that is the worst meeting.
        """
        runs = [_heavy_run(course) for course in self.timeline.courses]
        lead = max(run.until for run in runs)
        windows = [
            window._replace(start=window.start + lead - run.until)
            for run in runs
            for window in run.windows
        ]
        whole = max(window.start + window.duration for window in windows)
        if all(any(s.rests for s in course.steps) for course in self.timeline.courses):
            whole *= 2.0  # with a rest behind, so that each step knows for how long it runs
        laid = courses_of([window._replace(period=whole) for window in windows])
        for step in laid[0].steps:
            if not step.rests:
                yield self._moment(step, whole)

    def _network(
        self, moment: _Moment, others: Mapping[str, Floats] | None = None
    ) -> tuple[Network, float]:
        """Return the network of a moment, its nodes counted as in all others.

        What others take from each cell meanwhile has lost its part of the voltage already, on the
        resistance of the cell.
        """
        network = moment.island.network
        sources = network.sources
        if others:
            volts = np.array(
                np.broadcast_to(sources.voltage, (len(self.rows), len(sources.positive)))
            )
            ohms = np.broadcast_to(sources.resistance, volts.shape)
            for key, taken in others.items():
                column = moment.island.sources[key]
                volts[:, column] -= ohms[:, column] * taken
            sources = Sources(sources.positive, sources.negative, volts, sources.resistance)
        nodes = max(self.numbers.values(), default=0) + 1
        return replace(network, nodes=nodes, sources=sources), moment.duration

    def _capacitors(self) -> Capacitors:
        inside = self.numbers.keys() | set(self.circuit.view(Grounds).nodes)
        fitted = [
            each
            for each in self.reservoirs
            if {each.capacitor.a, each.capacitor.b} <= inside
            and self._number(each.capacitor.a) != self._number(each.capacitor.b)
        ]
        merged = _merged(
            (
                self._number(each.capacitor.a),
                self._number(each.capacitor.b),
                each.capacitance.value,
                each.series_resistance.value,
            )
            for each in fitted
        )
        return Capacitors(*zip(*merged, strict=True)) if merged else Capacitors()

    def _number(self, node: str) -> int:
        return self.numbers.get(node, 0)


def _merged(
    each: Iterable[tuple[int, int, float, float]],
) -> list[tuple[int, int, float, float]]:
    """Join capacitors between the same nodes that are of one kind, and leave out small change.

    Parameters
    ----------
    each : iterable of (int, int, float, float)
        Nodes, capacitance [F], series resistance [Ω].
    """
    kinds: dict[tuple[int, int, float], list[float]] = {}
    total: dict[tuple[int, int], float] = {}
    for a, b, farads, ohms in each:
        kinds.setdefault((a, b, ohms), []).append(farads)
        total[a, b] = total.get((a, b), 0.0) + farads
    largest = max(total.values(), default=0.0)
    return [
        (a, b, farads, ohms / len(alike))
        for (a, b, ohms), alike in kinds.items()
        for farads in (sum(alike),)
        if farads > SMALL_CHANGE * total[a, b] and total[a, b] > SMALL_CHANGE * largest
    ]


class _HeavyRun(NamedTuple):
    """The unbroken activity around the heaviest step of a course.

    `first` is the index of its first step, `until` how long it lasts until the heaviest one has
    ended [s], `windows` its steps from 0 on.
    """

    first: int
    until: float
    windows: tuple[Window, ...]


def _heavy_run(course: Course) -> _HeavyRun:
    """Return the activity around the heaviest step; of equal ones the one with most before it."""
    steps = course.steps
    count = len(steps)
    most = max(heaviness(step) for step in steps) - _EQUALLY_HEAVY
    heavy = [index for index in range(count) if heaviness(steps[index]) >= most]
    lead, heaviest = max((_lead(steps, index), index) for index in heavy)
    first = heaviest - lead
    windows: list[Window] = []
    at = until = 0.0
    for index in range(first, first + count):
        step = steps[index % count]
        if step.rests:
            break
        windows.append(Window(at, step.duration, 1.0, step.lights, step.draws))
        at += step.duration
        until = at if index == heaviest else until
    return _HeavyRun(first % count, until, tuple(windows))


def _lead(steps: Sequence[Step], index: int) -> int:
    """Return how many steps there are between a step and the last rest before it."""
    lead = 0
    while lead < len(steps) - 1 and not steps[(index - lead - 1) % len(steps)].rests:
        lead += 1
    return lead


def _regulating(still: Solved, count: int) -> NDArray[np.intp]:
    """Return the rows in which every regulator regulates, whatever is on."""
    good = np.ones(count, dtype=np.bool_)
    for _, operating in still:
        for point in operating.regulators.values():
            good &= point.regulating
    return np.flatnonzero(good)


def _averaged(moment: _Moment, stretch: Stretch) -> Operating:
    """Return a step in time as one solution: mean currents, lowest voltages of the nodes.

    Rows in which a regulator is out of regulation keep what was solved without reservoirs.
    """
    island, still, rows = moment.island, moment.still, moment.rows

    def mean(old: Mapping[Any, Floats], columns: Mapping[Any, int], charge: Floats) -> Any:
        per_second = charge / moment.duration
        return {**old, **{key: put(old, key, per_second[:, at]) for key, at in columns.items()}}

    def put(old: Mapping[Any, Floats], key: object, values: Floats) -> Floats:
        whole = np.array(old.get(key, np.zeros(still.count)))
        whole[rows] = values
        return whole

    cells = {key: at for key, at in island.sources.items() if key in still.cells}
    lowest = {node: put(still.nodes, node, stretch.lowest[:, at]) for node, at in _seen(moment)}
    return replace(
        still,
        nodes={**still.nodes, **lowest},
        cells=mean(still.cells, cells, stretch.source_charge),
        junctions=mean(still.junctions, island.junctions, stretch.junction_charge),
        resistors=mean(still.resistors, island.resistors, stretch.resistor_charge),
        loads=mean(still.loads, island.loads, stretch.load_charge),
    )


def _cells_of(moment: _Moment) -> tuple[str, ...]:
    return tuple(key for key in moment.island.sources if key in moment.still.cells)


def _given(moments: Sequence[_Moment], cycle: Sequence[Stretch]) -> dict[str, Floats]:
    """Return what each cell gives in the mean of a course."""
    period = sum(moment.duration for moment in moments)
    total: dict[str, Floats] = {}
    for moment, stretch in zip(moments, cycle, strict=True):
        for key in _cells_of(moment):
            share = stretch.source_charge[:, moment.island.sources[key]] / period
            total[key] = total[key] + share if key in total else share
    return total


def _of_others(
    given: Sequence[Mapping[str, Floats]], number: int, rest: Mapping[str, Floats]
) -> dict[str, Floats]:
    """Return what all courses but one add to what each cell gives at rest, in the mean."""
    others = [course for index, course in enumerate(given) if index != number]
    return {
        key: np.asarray(sum(course[key] - rested for course in others))
        for key, rested in rest.items()
    }


def _seen(moment: _Moment) -> Iterator[tuple[str, int]]:
    """Yield the nodes of a moment with their numbers."""
    return ((node, at) for node, at in moment.island.nodes.items() if node in moment.still.nodes)
