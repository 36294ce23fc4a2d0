"""View: the ways by which another source reaches a cell, and what current they let flow into it.

A closed switch, a fuse, a resistor, a FET whose gate is held so that it conducts, and a regulator
fed at its output all conduct backwards. What blocks is a diode against its direction, or a FET
that is off with its body diode against the current.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Self

from boardvet.circuit.cells import MOMENTS, Cell, Cells
from boardvet.circuit.conduction import Conduction, Hop
from boardvet.circuit.converters import Regulator
from boardvet.circuit.elements import Element, ElementKind
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import junction_of
from boardvet.circuit.sources import Source
from boardvet.circuit.states import State, States
from boardvet.circuit.values import missing_value, resistance
from boardvet.physics.cell import CellCurve, open_circuit_voltage
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.physics.junction import SILICON_DIODE, Junction, junction_from_points

__all__ = ["BackPath", "BackPaths"]

PASS_RESISTANCE = 0.05
"""What a contact, ferrite, fuse or channel on the way adds: next to nothing (assumption). [ohm]"""


@dataclass(frozen=True)
class BackPath:
    """A way from a source to the plus of a cell.

    Parameters
    ----------
    source : Source
        Where it begins.
    state : State
        In which it was found.
    hops : tuple of Hop
        The parts on the way, from the source.
    switched : bool
        True if a contact lies on the way.
    """

    source: Source
    state: State
    hops: tuple[Hop, ...]
    switched: bool

    @property
    def blocking(self) -> tuple[str, ...]:
        """References of the parts on the way that block."""
        return tuple(hop.reference for hop in self.hops if hop.blocks)

    @property
    def parts(self) -> tuple[str, ...]:
        """References of the parts on the way."""
        return tuple(dict.fromkeys(hop.reference for hop in self.hops))


@dataclass(frozen=True)
class BackPaths:
    """Finds and solves such ways on one board."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; ways are searched when asked for."""
        return cls(circuit)

    def easiest(self, source: Source, cell: Cell) -> BackPath | None:
        """Return the way that is blocked least, then shortest; None if there is none."""
        states = self.circuit.view(States)
        present = states.with_source(source) or states.all
        found = [path for state in present if (path := self._in_state(state, source, cell))]
        return min(found, key=lambda path: (len(path.blocking), len(path.hops)), default=None)

    def _in_state(self, state: State, source: Source, cell: Cell) -> BackPath | None:
        if cell.plus is None or source.node in self.circuit.view(Grounds):
            return None
        hops = self.circuit.view(Conduction).least_blocked(state, source.node, cell.plus)
        if hops is None:
            return None
        switched = any(
            hop.element is not None and hop.element.kind is ElementKind.CONTACT for hop in hops
        )
        return BackPath(source, state, hops, switched)

    def from_charger(self, charger: Regulator, cell: Cell) -> tuple[str, ...] | None:
        """Return the parts between a charger's output and a cell's plus, None if something blocks.

        Empty where the cell stands on the output itself.
        """
        if cell.plus is None:
            return None
        conduction = self.circuit.view(Conduction)
        for state in self.circuit.view(States).all:
            for node in charger.outputs:
                hops = conduction.least_blocked(state, node, cell.plus)
                if hops is not None and not any(hop.blocks for hop in hops):
                    return tuple(hop.reference for hop in hops)
        return None

    def current_into(
        self, path: BackPath, cell: Cell, volts: float, source_ohms: float = PASS_RESISTANCE
    ) -> float:
        """Return the largest current that a way lets flow into the cell over its life, in amperes.

        Solved for every moment of the cell's life with the source at `volts` and everything that
        blocks taken as shorted, so that it also answers what a single failure lets through.

        Raises
        ------
        MissingFact
            Where the cell, a resistor's value or the output of a regulator on the way is unknown.
        """
        from boardvet.physics.network import Junctions, Network, Resistors, Sources, solve

        resistors, junctions, start = self._chain(path, volts)
        nodes = 2 + len(resistors) + len(junctions)
        at = iter(range(2, nodes))
        ends = [1, *(next(at) for _ in range(len(resistors) + len(junctions)))]
        pairs = list(pairwise(ends))
        ohmic, bent = pairs[: len(resistors)], pairs[len(resistors) :]
        top = ends[-1]
        stack = self.stack(cell)
        for one in stack:
            one.rest_on_curve(self.circuit, resistance=True)
        network = Network(
            nodes=nodes,
            resistors=Resistors([a for a, _ in ohmic], [b for _, b in ohmic], resistors)
            if resistors
            else Resistors(),
            junctions=Junctions(
                [a for a, _ in bent],
                [b for _, b in bent],
                [j.saturation_current for j in junctions],
                [j.emission for j in junctions],
                [j.series_resistance for j in junctions],
            )
            if junctions
            else Junctions(),
            sources=Sources(
                [1, top],
                [0, 0],
                [[start, _sum(open_circuit_voltage, stack, used)] for used in MOMENTS],
                [
                    [max(source_ohms, PASS_RESISTANCE), _sum(cell_resistance, stack, used)]
                    for used in MOMENTS
                ],
            ),
        )
        into = -solve(network).require().source_currents[:, 1]
        return max(0.0, float(into.max()))

    def current_between(self, cell: Cell, fuller: float, emptier: float) -> float:
        """Return what flows between two such cells side by side at two shares used, in amperes."""
        from boardvet.physics.network import Network, Sources, solve

        used = (fuller, emptier)
        volts = [open_circuit_voltage(cell.curve, share) for share in used]
        ohms = [cell_resistance(cell.curve, share) for share in used]
        pair = Network(nodes=2, sources=Sources([1, 1], [0, 0], volts, ohms))
        return float(abs(solve(pair).require().source_currents[0, 1]))

    def of_cell(self, source: Cell) -> tuple[float, float]:
        """Return voltage and resistance of a fresh cell with those it stands on, in V and ohms."""
        stack = self.stack(source)
        for one in stack:
            one.rest_on_curve(self.circuit, resistance=True)
        return _sum(open_circuit_voltage, stack, 0.0), _sum(cell_resistance, stack, 0.0)

    def stack(self, cell: Cell) -> tuple[Cell, ...]:
        """Return the cell and those it stands on, down to ground."""
        grounds, cells = self.circuit.view(Grounds), self.circuit.view(Cells).all
        stack = [cell]
        while stack[-1].minus is not None and stack[-1].minus not in grounds:
            under = [c for c in cells if c.plus == stack[-1].minus and c not in stack]
            if not under:
                break
            stack.append(under[0])
        return tuple(stack)

    def _chain(self, path: BackPath, volts: float) -> tuple[list[float], list[Junction], float]:
        """Turn the hops into resistances, junctions and the voltage that drives them."""
        resistors: list[float] = []
        junctions: list[Junction] = []
        for hop in path.hops:
            if hop.converter is not None and not hop.backwards:
                output = hop.converter.conversion.output
                if output is None:
                    key = "charge_voltage" if hop.converter.charger else "output"
                    raise self.circuit.facts.missing(hop.reference, key)
                # The regulator starts afresh: what lies before it no longer counts.
                resistors, junctions = [], []
                stepping = hop.converter.conversion.steps_up
                volts = output.value.high if stepping else min(volts, output.value.high)
            elif hop.converter is not None:
                junctions.append(junction_from_points((), SILICON_DIODE))
            elif hop.element is not None and not hop.blocks:
                self._pass(hop.element, hop.backwards, resistors, junctions)
        return resistors, junctions, volts

    def _pass(
        self,
        element: Element,
        backwards: bool,
        resistors: list[float],
        junctions: list[Junction],
    ) -> None:
        if element.kind is ElementKind.RESISTOR:
            known = resistance(self.circuit, element.reference)
            if known is None:
                raise missing_value(element.reference)
            resistors.append(known.value)
        elif element.kind in {ElementKind.DIODE, ElementKind.BODY_DIODE} and not backwards:
            junctions.append(junction_of(self.circuit, element).junction)


def _sum(of: Callable[[CellCurve, float], float], stack: tuple[Cell, ...], used: float) -> float:
    return sum(of(cell.curve, used) for cell in stack)
