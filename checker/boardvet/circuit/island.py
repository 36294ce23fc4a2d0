"""One island: what was asked of the solver, and what it answered, in the words of the board."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, Protocol

from boardvet.circuit.elements import Element
from boardvet.circuit.states import State

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices
    from boardvet.physics.network import Network, Solution

__all__ = [
    "Conditions",
    "Drive",
    "Island",
    "IslandSolution",
    "Load",
    "Pass",
    "Spread",
]


class Drive(NamedTuple):
    """A controller pin that pulls its node to its supply (high) or to ground."""

    reference: str
    node: str
    high: bool


class Load(NamedTuple):
    """What a part draws from a node to ground, in amperes, for each row or for all."""

    reference: str
    node: str
    current: float | Floats


class Pass(NamedTuple):
    """A regulator out of regulation: a resistance between input and output, in each row or all."""

    reference: str
    source: str
    target: str
    resistance: float | Floats


class Spread(Protocol):
    """How the parts of each row differ from their typical values."""

    @property
    def cells_alone(self) -> bool:
        """True where nothing but cells differs, so that all rows are alike behind a regulator."""

    def of(self, rows: Indices) -> Spread:
        """Return the spread of some rows."""

    def tiled(self, count: int) -> Spread:
        """Return the spread of as many repetitions of the rows."""

    def resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a part is multiplied."""

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of the pins of a part is multiplied."""

    def forward_shift(self, reference: str) -> float | Floats:
        """Return what is added to the forward voltage of a part, in volts."""

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a cell is multiplied."""


@dataclass(frozen=True)
class Conditions:
    """Under which conditions an island is solved.

    Parameters
    ----------
    state : State
        Which contacts are closed and which sources are there.
    drives : tuple of Drive
        Pins that drive; all others float.
    on, off : frozenset of Element
        Channels and collectors that are on besides those of the supply path, and those of the
        supply path that are off.
    loads : tuple of Load
        Currents drawn.
    passes : tuple of Pass
        Regulators that no longer regulate.
    hold : mapping of node to float, optional
        Rails held at a voltage besides those of other sources; None: the outputs of all
        regulators as well, in the middle of what they show. [V]
    highest : bool
        True for the highest that fresh sources may show and, where a range of temperature is
        stated, for its hot end, where junctions drop less: for damage.
    across : frozenset of Element
        Elements between a held rail and ground to solve too; what hangs on held rails is left
        out otherwise.
    temperature : float or None
        Of cells and junctions; None: 25 °C, and for `highest` the hot end. [°C]
    duration : array or None
        How long the load of each row lasts, for the resistance of the cell; None: for good. [s]
    spread : Spread or None
        How the parts of each row differ from typical.
    """

    state: State
    drives: tuple[Drive, ...] = ()
    on: frozenset[Element] = frozenset()
    off: frozenset[Element] = frozenset()
    loads: tuple[Load, ...] = ()
    passes: tuple[Pass, ...] = ()
    hold: Mapping[str, float] | None = None
    highest: bool = False
    across: frozenset[Element] = frozenset()
    temperature: float | None = None
    duration: Floats | None = None
    spread: Spread | None = None


@dataclass(frozen=True)
class Island:
    """A network with the names of what is in it.

    Parameters
    ----------
    network : Network
        The numbers; one row for each share of charge used.
    nodes : mapping of node to int
        The number of each node in the network, ground is 0.
    reached : frozenset of str
        Nodes that current can reach, ground left out.
    resistors : mapping of Element to int
        The column of each resistive element.
    junctions : mapping of Element to int
        The column of each junction.
    sources : mapping of str to int
        The column of each cell or held rail, by reference or node.
    drives : mapping of Drive to int
        The column of each driven pin among the resistors.
    passes : mapping of str to int
        The column of each regulator out of regulation among the resistors, by reference.
    loads : mapping of str to int
        The column of each load, by reference.
    because : tuple of (str, str)
        Names and sources of the numbers that went in.
    """

    network: Network
    nodes: Mapping[str, int]
    reached: frozenset[str]
    resistors: Mapping[Element, int]
    junctions: Mapping[Element, int]
    sources: Mapping[str, int]
    drives: Mapping[Drive, int]
    passes: Mapping[str, int]
    loads: Mapping[str, int]
    because: tuple[tuple[str, str], ...]

    def drawing(self, currents: Mapping[str, float | Floats]) -> Island:
        """Return the same island with other currents drawn by its loads, by reference. [A]."""
        import numpy as np

        from boardvet.physics.network import Loads

        drawn = [currents[reference] for reference in self.loads]
        rows = max((np.size(current) for current in drawn), default=1)
        values = [np.broadcast_to(current, rows) for current in drawn]
        loads = self.network.loads
        if not drawn:
            return self
        network = replace(
            self.network, loads=Loads(loads.positive, loads.negative, np.stack(values, axis=1))
        )
        return replace(self, network=network)

    def solved(self) -> IslandSolution:
        """Return voltages and currents at rest.

        Raises
        ------
        SolverError
            If a row has no solution.
        """
        from boardvet.physics.network import solve

        return IslandSolution(self, solve(self.network).require())


@dataclass(frozen=True)
class IslandSolution:
    """What the solver found, for each row asked for."""

    island: Island
    solution: Solution

    @property
    def nodes(self) -> Mapping[str, int]:
        """The number of each node in the network."""
        return self.island.nodes

    @property
    def sources(self) -> Mapping[str, int]:
        """The column of each cell or held rail, by reference or node."""
        return self.island.sources

    @property
    def because(self) -> tuple[tuple[str, str], ...]:
        """Names and sources of the numbers that went in."""
        return self.island.because

    def current(self, element: Element) -> tuple[float, ...]:
        """Return the current through a junction, 0 if no current can reach it, in amperes."""
        return self._column(self.solution.junction_currents, self.island.junctions.get(element))

    def delivered(self, source: str) -> tuple[float, ...]:
        """Return what a cell (by reference) or held rail (by node) delivers, in amperes."""
        return self._column(self.solution.source_currents, self.island.sources.get(source))

    def drawn(self, reference: str) -> tuple[float, ...]:
        """Return what a load really draws, 0 if no current can reach it, in amperes."""
        return self._column(self.solution.load_currents, self.island.loads.get(reference))

    def through(self, drive: Drive) -> tuple[float, ...]:
        """Return the current that a driven pin carries, whichever way, in amperes."""
        column = self._column(self.solution.resistor_currents, self.island.drives[drive])
        return tuple(map(abs, column))

    def resistor(self, element: Element) -> tuple[float, ...]:
        """Return the current through a resistive element from `a` to `b`, in amperes."""
        return self._column(self.solution.resistor_currents, self.island.resistors.get(element))

    def voltage(self, node: str) -> tuple[float, ...]:
        """Return the voltage of a node over ground, in volts."""
        return self._column(self.solution.voltages, self.island.nodes.get(node, 0))

    def _column(self, values: Floats, column: int | None) -> tuple[float, ...]:
        if column is None:
            return (0.0,) * len(self.solution.converged)
        return tuple(map(float, values[:, column]))
