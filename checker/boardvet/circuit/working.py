"""Solves the islands of a board at work one after another, regulators in and out of regulation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from boardvet.circuit.cells import Cells
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.handle import Assumed, Circuit
from boardvet.circuit.island import Conditions, Island, IslandSolution, Load, Pass, Spread
from boardvet.circuit.islands import Islands
from boardvet.circuit.operating import Operating, RegulatorPoint
from boardvet.circuit.plant import Converting, Plant
from boardvet.circuit.sources import Sources
from boardvet.circuit.strings import EndKind, LedString, Strings

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from boardvet.physics.elements import Floats

__all__ = ["Known", "Setting", "Work"]

_MOST_TURNS = 12
_LEAST_GIVEN = 1e-6
"""A regulator that gives less counts as giving this, where its resistance is asked for. [A]"""

_SETTLED = 1e-4
"""The input voltage of a switching regulator is found when it changes by less than this share."""


Known = dict[object, tuple[IslandSolution, tuple[Assumed, ...]]]
"""What was solved behind regulators, with the assumptions that it rests on."""


class Setting(NamedTuple):
    """What is on in some rows.

    Parameters
    ----------
    lights : frozenset of str
        References of what is lit.
    draws : mapping of str to array, shape (B,), or float
        What parts draw that are at work; all others rest. [A]
    used : array, shape (B,)
        Shares of the charge used.
    temperature : float or None
        Of cells and junctions; None: 25 °C. [°C]
    duration : array, shape (B,), or None
        How long the load lasts; None: for good. [s]
    spread : Spread or None
        How the parts of each row differ from typical.
    """

    lights: frozenset[str]
    draws: Mapping[str, float | Floats]
    used: Floats
    temperature: float | None = None
    duration: Floats | None = None
    spread: Spread | None = None


class Work:
    """One setting being solved into an `Operating`.

    `known` is what was solved behind regulators before, and is added to.

    `top` holds the networks that the sources feed, each with the rows of the setting in it: one,
    unless regulators fall out of regulation in some rows. In them a regulator is a load, or a
    resistance.
    """

    def __init__(
        self,
        circuit: Circuit,
        plant: Plant,
        setting: Setting,
        numbers: dict[str, int] | None = None,
        known: Known | None = None,
    ) -> None:
        self.circuit = circuit
        self.known: Known = {} if known is None else known
        self.islands = circuit.view(Islands)
        self.elements = circuit.view(Elements)
        self.plant = plant
        self.setting = setting
        self.numbers = numbers
        self.result = Operating(len(setting.used))
        self.top: list[tuple[NDArray[np.intp], Island]] = []
        self.given: dict[str, Floats] = {}
        strings = circuit.view(Strings)
        own = [s for light in sorted(setting.lights) for s in strings.of_light(light)]
        self.lit = tuple(string for string in own if string.ways())
        self.drives = tuple(dict.fromkeys(drive for s in own for drive in s.drives()))
        self.on = frozenset(element for s in own for element in s.switches())
        active = frozenset(setting.draws) | {drive.reference for drive in self.drives}
        feeding = plant.feeding(own)
        self.off = plant.resting(active, feeding) - self.on
        stopped = plant.stopped(active, feeding)
        self.converting = tuple(c for c in plant.converting if c.reference not in stopped)
        self.ends = _ends(circuit, plant)

    def fill(self, rows: NDArray[np.intp], failing: frozenset[str]) -> None:
        """Solve some rows with some regulators out of regulation; go on where more of them are."""
        solved, points = self._solve(rows, failing)
        names = [c.reference for c in self.converting if c.reference not in failing]
        lost = {name: ~points[name].regulating for name in names}
        groups: dict[frozenset[str], list[int]] = {}
        for row in range(len(rows)):
            more = frozenset(name for name in names if lost[name][row] and self._passes(name))
            groups.setdefault(more, []).append(row)
        for more, members in groups.items():
            if more:
                self.fill(rows[members], failing | more)
            else:
                self._write(rows, members, solved, points)

    def _passes(self, reference: str) -> bool:
        """Tell whether a regulator that no longer regulates still conducts."""
        return any(c.reference == reference and not c.stepping_up for c in self.converting)

    def _solve(
        self, rows: NDArray[np.intp], failing: frozenset[str]
    ) -> tuple[list[IslandSolution], dict[str, RegulatorPoint]]:
        """Solve the islands behind regulators, then what the sources feed."""
        conditions = self._conditions(rows, failing)
        solved: list[IslandSolution] = []
        given: dict[str, Floats] = {}
        loads = list(conditions.loads)
        used = self.setting.used[rows]
        regulating = [c for c in self.converting if c.reference not in failing]
        held = conditions.hold or {}
        for each in regulating:
            behind = self._behind(each, conditions, loads, used)
            solved.append(behind)
            # A pull-up from a higher rail may feed it; a regulator takes no current back.
            passed = np.maximum(behind.delivered(each.target), 0.0)
            given[each.reference] = np.broadcast_to(passed, used.shape).copy()
            self.given.setdefault(each.reference, np.zeros(self.result.count))
            self.given[each.reference][rows] = given[each.reference]
            taken = _taken(each, given[each.reference], held.get(each.source))
            loads.append(Load(each.reference, each.source, taken))
        top = self._around(self.ends, conditions, loads, used, self.numbers)
        switching = [
            e for e in regulating if e.switching and e.source not in (conditions.hold or {})
        ]
        if switching:
            top = self._balanced(switching, given, loads, used, top)
        solved.append(top)
        points = {
            each.reference: _point(each, solved, given[each.reference]) for each in regulating
        }
        points |= {name: self._dropped(name, solved) for name in failing}
        return solved, points

    def _behind(
        self, each: Converting, conditions: Conditions, loads: list[Load], used: Floats
    ) -> IslandSolution:
        """Solve what hangs on a held output: once, where nothing there differs from row to row.

        What the cells do is not seen behind a regulator that regulates.
        """
        spread = conditions.spread
        if (spread is None or spread.cells_alone) and not conditions.passes:
            same = [_same(load) for load in loads if self._is_behind(each, load.node)]
            alone = [load for load in same if load is not None]
            if len(alone) == len(same):
                steady = replace(conditions, duration=None, spread=None)
                found = self._once(each, steady, alone)
                if not self.plant.cells & found.sources.keys():
                    return found
        return self._around([each.target], conditions, loads, used)

    def _once(self, each: Converting, conditions: Conditions, loads: list[Load]) -> IslandSolution:
        """Solve what hangs on a held output in one row, and only once for the same conditions."""
        if not any(each.reference in self._supply_path(string) for string in self.lit):
            conditions = replace(conditions, drives=())
        key = (
            self.plant.state,
            each.reference,
            conditions.temperature,
            conditions.drives,
            conditions.on,
            conditions.off,
            tuple((conditions.hold or {}).items()),
            tuple(loads),
        )
        if key not in self.known:
            with self.circuit.noting() as noted:
                found = self._around([each.target], conditions, loads, np.zeros(1))
            self.known[key] = found, tuple(noted.values())
        found, assumed = self.known[key]
        for one in assumed:  # whoever asks rests on them too
            self.circuit.assume(*one)
        return found

    def _supply_path(self, string: LedString) -> tuple[str, ...]:
        """Return the parts on the way of the supply to a light, straight or through a pin."""
        top = string.ways()[0]
        if top.kind is EndKind.PIN and top.pin is not None:
            consumer = self.plant.consumer(top.pin.reference)
            return consumer.path if consumer is not None else ()
        return self.plant.paths.get(top.node, ())

    def _is_behind(self, each: Converting, node: str) -> bool:
        return each.reference in self.plant.paths.get(node, ())

    def _conditions(self, rows: NDArray[np.intp], failing: frozenset[str]) -> Conditions:
        setting = self.setting
        loads = []
        for consumer in self.plant.consumers:
            current = setting.draws.get(consumer.reference)
            if current is None:
                current = consumer.rest.value if consumer.rest is not None else 0.0
            own = current if isinstance(current, float) else np.asarray(current)[rows]
            loads.append(Load(consumer.reference, consumer.node, own))
        lost = [c for c in self.converting if c.reference in failing]
        loads += [Load(c.reference, c.source, _quiescent(c)) for c in lost]
        return Conditions(
            self.plant.state,
            self.drives,
            self.on,
            self.off,
            tuple(loads),
            tuple(Pass(c.reference, c.source, c.target, self._resistance(c, rows)) for c in lost),
            {c.target: c.voltage for c in self.converting if c.reference not in failing},
            temperature=setting.temperature,
            duration=None if setting.duration is None else setting.duration[rows],
            spread=None if setting.spread is None else setting.spread.of(rows),
        )

    def _resistance(self, each: Converting, rows: NDArray[np.intp]) -> Floats:
        """Return what a regulator is out of regulation, at what it gave while it regulated."""
        given = np.maximum(self.given[each.reference][rows], _LEAST_GIVEN)
        return _dropout(each, given) / given

    def _around(
        self,
        ends: Iterable[str],
        conditions: Conditions,
        loads: list[Load],
        used: Floats,
        numbers: dict[str, int] | None = None,
    ) -> IslandSolution:
        """Solve what hangs on some held or fed nodes."""
        seeds: dict[str, None] = {}
        across: set[Element] = set()
        for node in ends:
            seeds[node] = None
            for element in self.elements.at(node):
                if element.kind is not ElementKind.CAPACITOR:
                    across.add(element)
                    seeds[element.other(node)] = None
            # A held node is a border that is not crossed; what a regulator passes on lies beyond.
            seeds.update(dict.fromkeys(p.target for p in conditions.passes if p.source == node))
        seeds.update(dict.fromkeys(drive.node for drive in self.drives))
        asked = replace(conditions, loads=tuple(loads), across=frozenset(across))
        return self.islands.build(asked, seeds, tuple(map(float, used)), numbers).solved()

    def _balanced(
        self,
        switching: list[Converting],
        given: Mapping[str, Floats],
        loads: list[Load],
        used: Floats,
        top: IslandSolution,
    ) -> IslandSolution:
        """Find what switching regulators take: their power over the voltage that is left.

        The source looks like a voltage behind a resistance, known from two solutions, on which a
        constant power has a closed solution, or none where the source cannot give it. Regulators
        on one node share it.
        """
        by_name = {load.reference: load for load in loads}
        by_node: dict[str, list[Converting]] = {}
        for each in switching:
            by_node.setdefault(each.source, []).append(each)
        before: dict[str, tuple[Floats, Floats]] = {}
        for _ in range(_MOST_TURNS):
            moved = 0.0
            for node, sharing in by_node.items():
                volts = np.array(top.voltage(node))
                none = np.zeros(used.shape)
                amperes = sum((np.array(top.drawn(c.reference)) for c in sharing), start=none)
                power = sum((c.power(given[c.reference]) for c in sharing), start=none)
                stands, can = _standing(volts, amperes, before.get(node), power)
                before[node] = (volts, amperes)
                for each in sharing:
                    current = each.power(given[each.reference]) / stands + _quiescent(each)
                    asked = by_name[each.reference].current
                    change = np.abs(current - asked) / (current + 1e-9)
                    moved = max(moved, float(np.max(change, where=can, initial=0.0)))
                    by_name[each.reference] = Load(each.reference, each.source, current)
            if moved < _SETTLED:
                break
            top = top.island.drawing({k: load.current for k, load in by_name.items()}).solved()
        return top

    def _dropped(self, name: str, solved: list[IslandSolution]) -> RegulatorPoint:
        """Return what a regulator does that has become a resistance."""
        each = next(c for c in self.converting if c.reference == name)
        own = next((one for one in reversed(solved) if name in one.island.passes), solved[-1])
        column = own.island.passes.get(name)
        volts, lower = np.array(own.voltage(each.source)), np.array(own.voltage(each.target))
        passed = (
            np.zeros(volts.shape) if column is None else own.solution.resistor_currents[:, column]
        )
        return RegulatorPoint(
            volts,
            lower,
            passed + _drawn(name, solved),
            passed,
            np.zeros(volts.shape, dtype=np.bool_),
        )

    def _write(
        self,
        rows: NDArray[np.intp],
        members: list[int],
        solved: list[IslandSolution],
        points: Mapping[str, RegulatorPoint],
    ) -> None:
        """Put the numbers of some rows where they belong in the result."""
        result, into, some = self.result, rows[members], np.array(members)
        for each in solved:
            found, island = each.solution, each.island
            self._put(result.nodes, island.nodes, found.voltages, into, some)
            self._put(result.junctions, island.junctions, found.junction_currents, into, some)
            self._put(result.resistors, island.resistors, found.resistor_currents, into, some)
            self._put(result.drives, island.drives, found.resistor_currents, into, some)
            self._put(result.loads, island.loads, found.load_currents, into, some)
            cells = {k: v for k, v in island.sources.items() if k in self.plant.cells}
            self._put(result.cells, cells, found.source_currents, into, some)
            result.because.update(each.because)
        self.top.append((into, solved[-1].island))
        for name, point in points.items():
            whole = result.regulators.get(name) or RegulatorPoint._make(
                np.zeros(result.count, dtype=values.dtype) for values in point
            )
            for target, values in zip(whole, point, strict=True):
                target[into] = values[some]
            result.regulators[name] = whole
        self._starve(into, some, points)

    def _starve(
        self, into: NDArray[np.intp], some: NDArray[np.intp], points: Mapping[str, RegulatorPoint]
    ) -> None:
        """Leave no voltage on the rail of a regulator that its source cannot feed."""
        for each in self.converting:
            if each.stepping_up and each.target in self.result.nodes:
                starved = ~points[each.reference].regulating[some]
                self.result.nodes[each.target][into[starved]] = 0.0

    def _put(
        self,
        target: dict[Any, Floats],
        columns: Mapping[Any, int],
        values: Floats,
        into: NDArray[np.intp],
        some: NDArray[np.intp],
    ) -> None:
        for key, column in columns.items():
            if key not in target:
                target[key] = np.zeros(self.result.count)
            own = values[:, column]
            target[key][into] = own[0] if len(own) == 1 else own[some]


def _same(load: Load) -> Load | None:
    """Return a load with one number for all rows, None where they differ."""
    if isinstance(load.current, float):
        return load
    first = float(load.current.flat[0])
    return load._replace(current=first) if (load.current == first).all() else None


def _ends(circuit: Circuit, plant: Plant) -> tuple[str, ...]:
    """Return the nodes that cells and other sources feed."""
    state = plant.state
    cells = [c for c in circuit.view(Cells).all if c.reference in state.sources]
    poles = [node for cell in cells for node in (cell.plus, cell.minus) if node is not None]
    others = circuit.view(Sources).besides_cells
    plugged = [source.node for source in others if source.reference in state.sources]
    return tuple(dict.fromkeys((*poles, *plugged)))


def _dropout(each: Converting, current: Floats) -> Floats:
    """Return the drop-out voltage at some output currents, 0 where it is not known."""
    if not each.dropout:
        return np.zeros(current.shape)
    at, volts = zip(*each.dropout, strict=True)
    dropped: Floats = np.interp(current, at, volts)
    return dropped


def _quiescent(each: Converting) -> float:
    return each.quiescent.value if each.quiescent is not None else 0.0


def _taken(each: Converting, given: Floats, supply: float | None) -> Floats:
    """Return what a regulator takes: what it gives, and its own.

    A switching one takes power. From a rail that another one holds that is a current; from any
    other only its own at first, until the voltage is found that is left there.
    """
    if not each.switching:
        return given + _quiescent(each)
    return (0.0 * given if supply is None else each.power(given) / supply) + _quiescent(each)


def _standing(
    volts: Floats, amperes: Floats, before: tuple[Floats, Floats] | None, power: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the voltage at which a source holds a power, and whether it can: else half of it."""
    if before is None:
        return np.maximum(volts, 1e-3), np.ones(volts.shape, dtype=np.bool_)
    change = amperes - before[1]
    far = np.abs(change) > 1e-12
    ohms = np.where(far, (before[0] - volts) / np.where(far, change, 1.0), 0.0)
    ohms = np.maximum(ohms, 0.0)
    own = volts + ohms * amperes
    left = own * own - 4.0 * ohms * power
    root = np.sqrt(np.maximum(left, 0.0))
    return np.maximum((own + root) / 2.0, 1e-3), left > 0.0


def _drawn(reference: str, solved: list[IslandSolution]) -> Floats:
    """Return what a part really draws, less than it asks for where its supply collapses."""
    own = next((one for one in reversed(solved) if reference in one.island.loads), solved[-1])
    return np.broadcast_to(np.array(own.drawn(reference)), (len(solved[-1].solution.converged),))


def _point(each: Converting, solved: list[IslandSolution], given: Floats) -> RegulatorPoint:
    """Return what a regulator does that still regulates, and whether it can."""
    taken = _drawn(each.reference, solved)
    volts = np.zeros(given.shape)
    for one in solved:
        if each.source in one.nodes:
            volts = np.broadcast_to(np.array(one.voltage(each.source)), given.shape)
    if each.stepping_up:
        power = each.power(given)
        regulating = volts * taken >= power * (1.0 - 1e-2)
    else:
        regulating = volts - each.voltage >= _dropout(each, given) - 1e-9
    held = np.where(regulating | (not each.stepping_up), each.voltage, 0.0)
    return RegulatorPoint(volts, held, taken, given, regulating)
