"""View: leaks, ways on which current creeps out of a cell, or into one, against a diode.

Three kinds: backwards through the diodes that keep a source off a primary cell; backwards through
a diode from a rail on the cell into one that has no source then; and through resistors on the
cell into a part without supply, whose input clamps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Self, cast

from boardvet.circuit.backpaths import BackPath, BackPaths
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.clamps import Clamped, Clamps
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import ROOM_TEMPERATURE, is_schottky
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.sources import Sources
from boardvet.circuit.states import State, States
from boardvet.known import Known
from boardvet.physics.leakage import leakage_at
from boardvet.quantity.statement import Points
from boardvet.vocabulary.kinds import Kind

__all__ = ["Leak", "LeakKind", "Leaks"]

_SCHOTTKY_LEAK = Known(
    10e-6,
    "A",
    "assumed: small Schottky diodes leak some 0.5 µA and 1 A types 5 to 50 µA at a few volts, "
    "from memory",
)
_SILICON_LEAK = Known(
    25e-9, "A", "assumed: small silicon diodes leak 25 nA at most at 20 V, from memory"
)
_NO_TAKER = frozenset({Kind.CAPACITOR, Kind.DIODE, Kind.TEST_POINT, Kind.CONNECTOR})


class LeakKind(StrEnum):
    """Where a leak leads."""

    CELL = "into a primary cell"
    RAIL = "into a rail without source"
    PART = "into a part without supply"


@dataclass(frozen=True, slots=True)
class Leak:
    """One way on which current creeps, as a subject.

    Parameters
    ----------
    where : LeakKind
        Where it leads.
    cell : Cell
        The cell that gives it, or into which it flows.
    through : tuple of str
        References of what it creeps through.
    feed : str
        The fed node whose voltage drives it.
    start, end : str
        Nodes from which and to which it flows.
    into : str
        The cell, rail or part that gets it, by reference or name.
    state : State
        In which it flows.
    """

    where: LeakKind
    cell: Cell
    through: tuple[str, ...]
    feed: str
    start: str
    end: str
    into: str
    state: State

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "leak"

    @property
    def label(self) -> str:
        """What it creeps through, and where to."""
        return f"{' with '.join(self.through)} towards {self.into}"

    @property
    def parts(self) -> tuple[str, ...]:
        """What it creeps through."""
        return self.through

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes at both ends."""
        return (self.start, self.end)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Leak]:
        """Return the leaks of the board."""
        return circuit.view(Leaks).all


@dataclass(frozen=True)
class Leaks:
    """The leaks of the board: into primary cells, into rails, into parts."""

    circuit: Circuit = field(repr=False)
    all: tuple[Leak, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Look for them; no current is computed yet."""
        return cls(circuit, (*_into_cells(circuit), *_into_rails(circuit), *_into_parts(circuit)))

    def current(self, leak: Leak) -> Known[float]:
        """Return what flows at the most, in amperes: sources fresh, the air at its hottest.

        Raises
        ------
        MissingFact
            Where a voltage or a resistance is not known, or no default may be used.
        """
        if leak.where is LeakKind.PART:
            return self.circuit.view(Clamps).current(leak.state, leak.start, leak.end, leak.into)
        volts = self._across(leak)
        if volts <= 0:
            return Known(0.0, "A", "computed: the cell stands higher than what could leak into it")
        # In a row the tightest one sets the current.
        known = [self.reverse_current(reference, volts) for reference in leak.through]
        return min(known, key=lambda one: one.value)

    def reverse_current(self, reference: str, volts: float) -> Known[float]:
        """Return what leaks backwards through a diode at the hottest that is stated.

        A stated point counts for all voltages up to its own.

        Parameters
        ----------
        reference : str
            The diode.
        volts : float
            Voltage across it. [V]

        Raises
        ------
        MissingFact
            Where nothing is stated and no default may be used.
        """
        stated = self.circuit.known(reference, "reverse_current")
        temperature = self.circuit.intent.temperature
        hot = temperature.value.high if temperature is not None else ROOM_TEMPERATURE
        if stated is None:
            cold = self._default(reference)
            return Known(leakage_at(cold.value, hot), "A", cold.source)
        points = cast("Points", stated.value)
        above = [p for p in points if p.at is None or p.at >= volts]
        value = min(p.value for p in above) if above else max(p.value for p in points)
        source = f"computed: doubled every 10 K from 25 to {hot:g} °C; {stated.source}"
        return Known(
            leakage_at(value, hot), "A", stated.source if hot == ROOM_TEMPERATURE else source
        )

    def _default(self, reference: str) -> Known[float]:
        if self.circuit.assume_nothing:
            raise self.circuit.facts.missing(reference, "reverse_current")
        cold = _SCHOTTKY_LEAK if is_schottky(self.circuit, reference) else _SILICON_LEAK
        self.circuit.assume(f"reverse_current of {reference}", cold.value, "A", cold.source)
        return cold

    def _across(self, leak: Leak) -> float:
        """Return the largest voltage across what leaks, over the life of the cell."""
        fed = self.circuit.view(Feeding).at(leak.state)[leak.feed].need()
        if leak.where is LeakKind.RAIL:
            return max(fed.high)
        below = leak.cell.voltages()
        return max(high - own for high, own in zip(fed.high, below, strict=True))


def _into_cells(circuit: Circuit) -> Iterator[Leak]:
    """Yield the diodes that keep a source off a primary cell, once for each row of them."""
    paths = circuit.view(BackPaths)
    seen: set[tuple[str, ...]] = set()
    for cell in circuit.view(Cells).all:
        if cell.chemistry is not None and cell.chemistry.rechargeable:
            continue
        for source in circuit.view(Sources).besides_cells:
            path = paths.easiest(source, cell)
            blocking = _diodes(path) if path is not None else ()
            through = tuple(element.reference for element in blocking)
            if path is None or not through or (cell.reference, *through) in seen:
                continue
            seen.add((cell.reference, *through))
            state = replace(path.state, sources=path.state.sources | {source.reference})
            yield Leak(
                LeakKind.CELL,
                cell,
                through,
                _feed(circuit, path, state, blocking[0]),
                blocking[0].b,
                blocking[-1].a,
                cell.reference,
                state,
            )


def _feed(circuit: Circuit, path: BackPath, state: State, first: Element) -> str:
    """Return the node nearest before what blocks first that the source feeds.

    A large resistor feeds nothing, and yet what creeps through it next to nothing drops on it.
    """
    fed = circuit.view(Feeding).at(state)
    before = [hop.element for hop in path.hops if hop.element is not None]
    node = first.b
    for element in reversed(before[: before.index(first)]):
        if node in fed and path.source.reference in fed[node].sources:
            return node
        node = element.other(node)
    return node if node in fed else path.source.node


def _diodes(path: BackPath) -> tuple[Element, ...]:
    """Return the diodes that block a way, from the source; nothing where a transistor does."""
    blocking = [hop.element for hop in path.hops if hop.blocks and hop.element is not None]
    if any(element.kind is not ElementKind.DIODE for element in blocking):
        return ()
    return tuple(blocking)


def _into_rails(circuit: Circuit) -> Iterator[Leak]:
    """Yield the diodes from a rail without source to one on the cell, each once."""
    grounds, feeding = circuit.view(Grounds), circuit.view(Feeding)
    cells = {cell.reference: cell for cell in circuit.view(Cells).all}
    for diode in circuit.view(Elements).of_kind(ElementKind.DIODE):
        if diode.a in grounds or not feeding.ever(diode.a) or not _takes(circuit, diode):
            continue
        for state in circuit.view(States).all:
            fed = feeding.at(state)
            on_cell = diode.b in fed and set(fed[diode.b].sources) <= cells.keys()
            if on_cell and diode.a not in fed:
                cell = cells[fed[diode.b].sources[0]]
                name = circuit.board.nets[diode.a].name.lstrip("/")
                through = (diode.reference,)
                yield Leak(LeakKind.RAIL, cell, through, diode.b, diode.b, diode.a, name, state)
                break


def _takes(circuit: Circuit, diode: Element) -> bool:
    """Tell whether something on the anode's side leads the current on."""
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    return any(
        kinds.kind(pin.reference) not in _NO_TAKER and pin.reference != diode.reference
        for net in nodes.nets_of[diode.a]
        for pin in roles.on_net[net]
    )


def _into_parts(circuit: Circuit) -> Iterator[Leak]:
    """Yield the resistors from the cell to inputs of a part without supply, each once."""
    cells = {cell.reference: cell for cell in circuit.view(Cells).all}
    seen: set[tuple[str, str]] = set()
    for state in circuit.view(States).all:
        for found in circuit.view(Clamps).in_state(state, cells.keys()):
            if (found.resistor, found.reference) not in seen:
                seen.add((found.resistor, found.reference))
                yield _clamped(circuit, cells, state, found)


def _clamped(circuit: Circuit, cells: dict[str, Cell], state: State, found: Clamped) -> Leak:
    fed = circuit.view(Feeding).at(state)[found.start]
    return Leak(
        LeakKind.PART,
        cells[fed.sources[0]],
        (found.resistor,),
        found.start,
        found.start,
        found.end,
        found.reference,
        state,
    )
