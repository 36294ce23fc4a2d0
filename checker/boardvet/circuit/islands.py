"""View: islands, the networks that the solver is given, and what it answers.

An island is everything that current can reach from some nodes in one state: resistors, junctions,
closed contacts, channels that are on, driven pins and cells. Only a rail that is held (by a
regulator in regulation, by USB, by a stated source) parts it. Nothing else computes a current.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self, cast

from boardvet.circuit import sources as board_sources
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import ROOM_TEMPERATURE, junction_of
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.states import State
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.physics.cell import open_circuit_voltage
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.quantity.statement import Points
from boardvet.vocabulary.roles import Role

if TYPE_CHECKING:
    from boardvet.physics.network import Solution, Sources

__all__ = ["Drive", "IslandSolution", "Islands"]

CONTACT_RESISTANCE = 0.05
"""Closed contacts, ferrites and fuses: an assumption of no weight beside a cell's ohms. [ohm]"""

CHANNEL_RESISTANCE = 0.1
"""A FET that is on and whose on-resistance nobody stated (assumption). [ohm]"""

COLLECTOR_RESISTANCE = 10.0
"""A saturated small transistor, 200 mV at 20 mA (assumption after common data sheets). [ohm]"""


class Drive(NamedTuple):
    """A controller pin that pulls its node to its supply (high) or to ground."""

    reference: str
    node: str
    high: bool


@dataclass(frozen=True)
class IslandSolution:
    """What the solver found, for each share of charge asked for.

    Parameters
    ----------
    nodes : mapping of node to int
        The number of each node in the network, ground is 0.
    junctions : mapping of Element to int
        The column of each junction.
    sources : mapping of str to int
        The column of each cell or held rail, by reference or node.
    drives : mapping of Drive to int
        The column of each driven pin among the resistors.
    solution : Solution
        Voltages and currents.
    because : tuple of (str, str)
        Names and sources of the numbers that went in.
    """

    nodes: Mapping[str, int]
    junctions: Mapping[Element, int]
    sources: Mapping[str, int]
    drives: Mapping[Drive, int]
    solution: Solution
    because: tuple[tuple[str, str], ...]

    def current(self, element: Element) -> tuple[float, ...]:
        """Return the current through a junction, 0 if no current can reach it, in amperes."""
        column = self.junctions.get(element)
        if column is None:
            return (0.0,) * len(self.solution.converged)
        return tuple(float(v) for v in self.solution.junction_currents[:, column])

    def delivered(self, source: str) -> tuple[float, ...]:
        """Return what a cell (by reference) or held rail (by node) delivers, in amperes."""
        column = self.sources.get(source)
        if column is None:
            return (0.0,) * len(self.solution.converged)
        return tuple(float(v) for v in self.solution.source_currents[:, column])

    def through(self, drive: Drive) -> tuple[float, ...]:
        """Return the current that a driven pin carries, whichever way, in amperes."""
        column = self.drives[drive]
        return tuple(abs(float(v)) for v in self.solution.resistor_currents[:, column])

    def voltage(self, node: str) -> tuple[float, ...]:
        """Return the voltage of a node over ground, in volts."""
        number = self.nodes.get(node, 0)
        return tuple(float(v) for v in self.solution.voltages[:, number])


@dataclass(frozen=True)
class Islands:
    """Builds and solves islands of one board."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; islands are built as they are asked for."""
        return cls(circuit)

    def solve(
        self,
        state: State,
        seeds: Iterable[str],
        drives: Sequence[Drive] = (),
        on: frozenset[Element] = frozenset(),
        used: Sequence[float] = (0.0,),
        fixed: Mapping[str, float] | None = None,
        *,
        highest: bool = False,
        across: Iterable[Element] = (),
    ) -> IslandSolution:
        """Solve the island around some nodes.

        Parameters
        ----------
        state : State
            Which contacts are closed and which sources are there.
        seeds : iterable of str
            Nodes to start from.
        drives : sequence of Drive
            Pins that drive; all others float.
        on : frozenset of Element
            Channels and collectors that are on, besides those of the supply path.
        used : sequence of float
            Shares of charge used at which it is solved, 0 fresh to 1 empty.
        fixed : mapping of node to float, optional
            Rails held at a voltage besides those that are held anyway. [V]
        highest : bool
            True to solve at the highest that fresh sources may show and, where a range of
            temperature is stated, at its hot end, where junctions drop less: for damage.
        across : iterable of Element
            Elements between a held rail and ground to solve too; what hangs on held rails is left
            out otherwise.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        """
        builder = _Builder(self.circuit, state, drives, on, used, dict(fixed or {}), highest)
        builder.across = frozenset(across)
        return builder.solve(seeds)


class _Builder:
    """Collects one island and turns it into numbers."""

    def __init__(
        self,
        circuit: Circuit,
        state: State,
        drives: Sequence[Drive],
        on: frozenset[Element],
        used: Sequence[float],
        fixed: dict[str, float],
        highest: bool,
    ) -> None:
        self.circuit = circuit
        self.state = state
        self.on = on
        self.used = used
        self.highest = highest
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        feeding = circuit.view(Feeding)
        self.fed = feeding.in_state.get(state, {})
        self.channels_on = feeding.channels_on.get(state, frozenset())
        self.held = fixed
        self._hold_rails()
        self.drives = tuple(drives)
        self.cells = [
            cell
            for cell in circuit.view(Cells).all
            if cell.reference in state.sources and cell.plus and cell.minus
        ]
        self.across: frozenset[Element] = frozenset()
        self.numbers: dict[str, int] = {}
        self.because: dict[str, str] = {}

    def _hold_rails(self) -> None:
        """Take the middle of what a regulator or a plugged-in source shows as held."""
        held = {
            source.node
            for source in self.circuit.view(board_sources.Sources).besides_cells
            if source.reference in self.state.sources
        }
        for converter in self.circuit.view(Converters).all:
            if not converter.charger:
                held.update(converter.outputs)
        for node in held:
            if node in self.fed and self.fed[node].missing is None:
                fed = self.fed[node]
                middle = (fed.low[0] + fed.high[0]) / 2.0
                self.held.setdefault(node, fed.highest if self.highest else middle)

    def solve(self, seeds: Iterable[str]) -> IslandSolution:
        """Collect, number and solve."""
        from boardvet.physics.network import Junctions, Network, Resistors, solve

        reached = self._reach(seeds)
        collected = self._pruned(reached)
        for node in sorted(n for element in collected for n in (element.a, element.b)):
            self._number(node)
        resistive = self._resistors(collected)
        junction_elements = [e for e in collected if _is_junction(e)]
        warmth = self._temperature()
        parts = [junction_of(self.circuit, e, warmth) for e in junction_elements]
        for element, part in zip(junction_elements, parts, strict=True):
            self.because[f"forward voltage of {element.label}"] = part.source
        sources, source_columns = self._sources(reached)
        network = Network(
            nodes=len(self.numbers) + 1,
            resistors=Resistors(*zip(*resistive, strict=True)) if resistive else Resistors(),
            sources=sources,
            junctions=Junctions(
                [self._number(e.a) for e in junction_elements],
                [self._number(e.b) for e in junction_elements],
                [p.junction.saturation_current for p in parts],
                [p.junction.emission for p in parts],
                [p.junction.series_resistance for p in parts],
            )
            if parts
            else Junctions(),
        )
        solution = solve(network).require()
        return IslandSolution(
            self.numbers,
            {element: column for column, element in enumerate(junction_elements)},
            source_columns,
            {drive: len(resistive) - len(self.drives) + i for i, drive in enumerate(self.drives)},
            solution,
            tuple(self.because.items()),
        )

    def _number(self, node: str) -> int:
        if node in self.grounds:
            return 0
        return self.numbers.setdefault(node, len(self.numbers) + 1)

    def _reach(self, seeds: Iterable[str]) -> set[str]:
        """Return the nodes that current can reach, held rails and ground as borders."""
        reached: set[str] = set()
        queue = list(seeds)
        while queue:
            node = queue.pop()
            if node in reached or node in self.grounds:
                continue
            reached.add(node)
            if node in self.held:
                continue
            queue.extend(e.other(node) for e in self.elements.at(node) if self._carries(e))
            queue.extend(self._across_cells(node))
            queue.extend(
                supply
                for drive in self.drives
                if drive.node == node and drive.high
                for supply in (self._supply_node(drive),)
            )
        return reached

    def _across_cells(self, node: str) -> Iterator[str]:
        for cell in self.cells:
            if cell.plus == node and cell.minus is not None:
                yield cell.minus
            if cell.minus == node and cell.plus is not None:
                yield cell.plus

    def _carries(self, element: Element) -> bool:
        kind = element.kind
        if kind is ElementKind.CONTACT:
            return self.state.is_closed(element)
        if kind is ElementKind.CHANNEL:
            supply_path = f"{element.reference}{element.name}" in self.channels_on and (
                element.a in self.fed and element.b in self.fed
            )
            return element in self.on or supply_path
        if kind is ElementKind.COLLECTOR:
            return element in self.on
        return kind in METALLIC or kind is ElementKind.RESISTOR or _is_junction(element)

    def _pruned(self, reached: set[str]) -> list[Element]:
        """Drop, again and again, elements with an end on which nothing else hangs."""
        inside = {
            element
            for node in reached
            if node not in self.held
            for element in self.elements.at(node)
            if self._carries(element)
        }
        inside |= {element for element in self.across if self._carries(element)}
        anchored = set(self.held) | {drive.node for drive in self.drives}
        anchored.update(n for cell in self.cells for n in (cell.plus, cell.minus) if n)
        anchored.update(self._supply_node(d) for d in self.drives if d.high)
        while True:
            degree: dict[str, int] = {}
            for element in inside:
                for node in (element.a, element.b):
                    degree[node] = degree.get(node, 0) + 1
            loose = {
                element
                for element in inside
                if any(
                    degree[node] == 1 and node not in anchored and node not in self.grounds
                    for node in (element.a, element.b)
                )
            }
            if not loose:
                return sorted(inside, key=self.elements.order.__getitem__)
            inside -= loose

    def _resistors(self, collected: Sequence[Element]) -> list[tuple[int, int, float]]:
        rows = [
            (self._number(element.a), self._number(element.b), self._ohms(element))
            for element in collected
            if not _is_junction(element)
        ]
        for drive in self.drives:
            end = self._number(self._supply_node(drive)) if drive.high else 0
            rows.append((self._number(drive.node), end, self._pin_ohms(drive)))
        return rows

    def _ohms(self, element: Element) -> float:
        if element.kind is ElementKind.RESISTOR:
            known = resistance(self.circuit, element.reference)
            if known is None:
                raise missing_value(element.reference)
            self.because[f"resistance of {element.reference}"] = known.source
            return known.value
        if element.kind is ElementKind.CHANNEL:
            known_on = self.circuit.known(element.reference, "on_resistance")
            if known_on is not None:
                self.because[f"on-resistance of {element.reference}"] = known_on.source
                return max(cast("Points", known_on.value)[0].value, 1e-3)
            self._assume(f"on_resistance of {element.reference}", CHANNEL_RESISTANCE)
            return CHANNEL_RESISTANCE
        if element.kind is ElementKind.COLLECTOR:
            self._assume(f"collector resistance of {element.reference}", COLLECTOR_RESISTANCE)
            return COLLECTOR_RESISTANCE
        return CONTACT_RESISTANCE

    def _assume(self, what: str, ohms: float) -> None:
        self.circuit.assume(what, ohms, "ohm", "assumed: small beside the rest of the path")

    def _pin_ohms(self, drive: Drive) -> float:
        known = self.circuit.need(drive.reference, "pin_resistance")
        self.because[f"pin resistance of {drive.reference}"] = known.source
        return max(cast("Points", known.value)[0].value, 1e-3)

    def _supply_node(self, drive: Drive) -> str:
        nodes = self.circuit.view(Nodes)
        roles = self.circuit.view(PinRoles)
        for pin in roles.pins(drive.reference, Role.SUPPLY):
            node = nodes.of_net(pin.pin.net)
            if node is not None:
                return node
        raise MissingFact(
            drive.reference,
            "pins",
            f"the supply pin of {drive.reference} is not known",
            f"parts: {{{drive.reference}: {{pins: {{8: supply}}}}}}   # its true number",
        )

    def _sources(self, reached: set[str]) -> tuple[Sources, dict[str, int]]:
        from boardvet.physics.network import Sources

        positive: list[int] = []
        negative: list[int] = []
        volts: list[list[float]] = []
        ohms: list[list[float]] = []
        columns: dict[str, int] = {}
        for cell in self.cells:
            if not {cell.plus, cell.minus} & reached or cell.plus in self.held:
                continue
            columns[cell.reference] = len(positive)
            positive.append(self._number(cast("str", cell.plus)))
            negative.append(self._number(cast("str", cell.minus)))
            raised = cell.highest().value - cell.voltages()[0] if self.highest else 0.0
            volts.append([open_circuit_voltage(cell.curve, u) + raised for u in self.used])
            ohms.append([cell_resistance(cell.curve, share) for share in self.used])
            cell.rest_on_curve(self.circuit, resistance=True)
            self._note_cell(cell)
        for node, value in self.held.items():
            if node in reached:
                columns[node] = len(positive)
                positive.append(self._number(node))
                negative.append(0)
                volts.append([value] * len(self.used))
                ohms.append([0.0] * len(self.used))
        if not columns:
            return Sources(), columns
        by_moment = [list(row) for row in zip(*volts, strict=True)]
        return Sources(
            positive, negative, by_moment, [list(row) for row in zip(*ohms, strict=True)]
        ), columns

    def _temperature(self) -> float:
        """Return the temperature of the junctions: the hot end for damage, if it is stated."""
        stated = self.circuit.intent.temperature
        if not self.highest or stated is None:
            return ROOM_TEMPERATURE
        return max(ROOM_TEMPERATURE, stated.value.high)

    def _note_cell(self, cell: Cell) -> None:
        self.because[f"voltage of {cell.reference}"] = cell.curve_source
        self.because[f"resistance of {cell.reference}"] = cell.resistance_source


def _is_junction(element: Element) -> bool:
    return element.kind in {ElementKind.DIODE, ElementKind.LED, ElementKind.BODY_DIODE}
