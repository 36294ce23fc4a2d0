"""The equations of a network and Newton's method on them: the inside of the solver.

Modified nodal analysis, M·x = r: the unknowns x are the voltages of the nodes from 1 on, then the
currents of the sources. Junctions, breakdowns and loads, in this order the *curved* elements, come
in as their tangents.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from boardvet.physics.elements import Floats, Indices, Junctions, Network
from boardvet.physics.junction import THERMAL_VOLTAGE
from boardvet.physics.laws import CurvedLaw, JunctionLaw, LoadLaw, floored

__all__ = [
    "LEAK_CONDUCTANCE",
    "ROUNDING",
    "Equations",
    "Found",
    "breakdown_columns",
    "solved",
    "through_junctions",
]

LEAK_CONDUCTANCE = 1e-12
"""From each node to the reference, so that nothing floats. [S]"""

ROUNDING = 1e-15
"""Share of a node's conductances that leaks as well: what is less drowns in their rounding."""

_NUMBERS_AT_ONCE = 1 << 16
"""How many matrix elements are held at once, so that a large batch stays in the cache."""

_MOST_STEPS = 300
_HALF_STEPS_FROM = 20
"""Boards are solved in some 3 to 12 steps; half steps end what still goes round in circles.
Of 24,000 networks of random parts at random places, loads of up to 1 A included, one was left."""

_RELATIVE = 1e-6
_OF_LARGEST = 1e-14
_ABSOLUTE = 1e-14
"""An element may miss its law by that share of its current, of the largest source current, by that
current. [A]"""

_BREAKDOWN_CURRENT = 1e-3
_NO_BREAKDOWN = 1e6

_NO_PROBES: Indices = np.zeros(0, dtype=np.intp)


class _Scatter(NamedTuple):
    """Where the values of two-terminal elements are added up."""

    columns: Indices
    signs: Floats
    starts: Indices
    targets: Indices

    @classmethod
    def of(cls, targets: list[Indices], signs: list[float]) -> _Scatter:
        """Prepare adding each element to each of its targets with a sign; below 0 is nowhere."""
        target = np.concatenate(targets)
        column = np.tile(np.arange(len(targets[0])), len(targets))
        sign = np.repeat(np.array(signs), len(targets[0]))
        order = np.argsort(target, kind="stable")
        order = order[target[order] >= 0]
        unique, starts = np.unique(target[order], return_index=True)
        return cls(column[order], sign[order], starts, unique)

    def add(self, total: Floats, values: Floats) -> None:
        """Add the values, shape (b, n), to the totals, shape (b, targets), in place."""
        if self.targets.size:
            parts = values[:, self.columns] * self.signs
            total[:, self.targets] += np.add.reduceat(parts, self.starts, axis=1)


class Equations(NamedTuple):
    """The equations of a whole batch.

    Parameters
    ----------
    nodes, size : int
        Nodes without the reference; unknowns.
    plus, minus : array of int, shape (n,)
        Ends of the curved elements, counted so that the reference is -1.
    matrix, right : _Scatter
        From the conductances of the curved elements to M, from their currents at 0 V to r.
    fixed_matrix : array, shape (B or 1, size · size)
        M without the curved elements.
    fixed_right : array, shape (B or 1, size)
        r without them.
    laws : CurvedLaw
        Of the curved elements, shape (B, n).
    probes : array of int, shape (p,)
        Rows of r for which the response of all unknowns to one more volt is wanted.
    """

    nodes: int
    size: int
    plus: Indices
    minus: Indices
    matrix: _Scatter
    right: _Scatter
    fixed_matrix: Floats
    fixed_right: Floats
    laws: CurvedLaw
    probes: Indices = _NO_PROBES

    @classmethod
    def of(cls, network: Network, probes: Indices = _NO_PROBES) -> Equations:
        """Set up the equations of a network."""
        nodes = network.nodes - 1
        size = nodes + len(network.sources.positive)
        junctions, anode, cathode = _junctions(network)
        plus = np.concatenate([anode, network.loads.positive]) - 1
        minus = np.concatenate([cathode, network.loads.negative]) - 1
        full = _rows(network.loads.current, network.batch)
        fixed_right = np.zeros((len(network.sources.voltage), size))
        fixed_right[:, nodes:] = network.sources.voltage
        return cls(
            nodes=nodes,
            size=size,
            plus=plus,
            minus=minus,
            matrix=_between(plus, minus, size),
            right=_Scatter.of([plus, minus], [-1.0, 1.0]),
            fixed_matrix=_fixed_matrix(network, size),
            fixed_right=fixed_right,
            laws=CurvedLaw(junctions, LoadLaw(full)),
            probes=probes,
        )

    def among(self, kept: Indices, matrix: Floats, right: Floats) -> Equations:
        """Return the equations of some unknowns, from their matrix and right-hand side.

        Parameters
        ----------
        kept : array of int, shape (k,)
            Which unknowns, rising; those of the curved elements and the probes are among them.
        matrix : array, shape (B or 1, k, k)
            M of these.
        right : array, shape (B or 1, k)
            r of these.
        """
        number = np.full(self.size + 1, -1)
        number[kept] = np.arange(len(kept))
        plus, minus, size = number[self.plus], number[self.minus], len(kept)
        return Equations(
            nodes=int((kept < self.nodes).sum()),
            size=size,
            plus=plus,
            minus=minus,
            matrix=_between(plus, minus, size),
            right=_Scatter.of([plus, minus], [-1.0, 1.0]),
            fixed_matrix=matrix.reshape(len(matrix), size * size),
            fixed_right=right,
            laws=self.laws,
            probes=number[self.probes],
        )

    def drop(self, unknowns: Floats) -> Floats:
        """Return the voltages across the curved elements, shape (b, n, …), from (b, size, …)."""
        padded = np.zeros((len(unknowns), self.nodes + 1, *unknowns.shape[2:]))
        padded[:, : self.nodes] = unknowns[:, : self.nodes]
        drop: Floats = padded[:, self.plus] - padded[:, self.minus]
        return drop


def _rows(values: Floats, batch: int) -> Floats:
    return np.broadcast_to(values, (batch, values.shape[1]))


def _between(plus: Indices, minus: Indices, size: int) -> _Scatter:
    """Return where the conductances between two nodes go in the flattened matrix."""
    both = (plus >= 0) & (minus >= 0)
    cross = np.where(both, plus * size + minus, -1)
    mirror = np.where(both, minus * size + plus, -1)
    targets = [plus * (size + 1), minus * (size + 1), cross, mirror]
    return _Scatter.of(targets, [1.0, 1.0, -1.0, -1.0])


def _fixed_matrix(network: Network, size: int) -> Floats:
    """Return leaks, resistors and sources as a flattened matrix, shape (B or 1, size · size)."""
    resistors, sources, nodes = network.resistors, network.sources, network.nodes - 1
    rows = max(len(resistors.resistance), len(sources.resistance))
    matrix = np.zeros((rows, size, size))
    flat = matrix.reshape(rows, size * size)
    held = np.arange(nodes)
    matrix[:, held, held] = LEAK_CONDUCTANCE
    branches = np.arange(nodes, size)
    matrix[:, branches, branches] = floored(sources.resistance)
    for ends, sign in ((sources.positive, 1.0), (sources.negative, -1.0)):
        real = ends > 0
        matrix[:, branches[real], ends[real] - 1] += sign
        matrix[:, ends[real] - 1, branches[real]] -= sign
    conductance = _rows(1.0 / floored(resistors.resistance), rows)
    _between(resistors.a - 1, resistors.b - 1, size).add(flat, conductance)
    return flat


def _junctions(network: Network) -> tuple[JunctionLaw, Indices, Indices]:
    """Return the law and ends of the junctions, then of those that break down, turned round."""
    given, batch = network.junctions, network.batch
    logarithm = np.log(given.saturation_current)
    emission, resistance = given.emission, given.series_resistance
    anode, cathode = given.anode, given.cathode
    breaking = breakdown_columns(given)
    if breaking.size:
        voltage = np.minimum(given.breakdown_voltage[:, breaking], _NO_BREAKDOWN)
        reverse = math.log(_BREAKDOWN_CURRENT) - voltage / THERMAL_VOLTAGE
        ones = np.ones((1, breaking.size))
        logarithm = _beside(logarithm, reverse)
        emission = _beside(emission, ones)
        resistance = _beside(resistance, resistance[:, breaking])
        anode, cathode = (
            np.concatenate([anode, cathode[breaking]]),
            np.concatenate([cathode, anode[breaking]]),
        )
    law = JunctionLaw.of(*(_rows(part, batch) for part in (logarithm, emission, resistance)))
    return law, anode, cathode


def breakdown_columns(junctions: Junctions) -> Indices:
    """Return which junctions break down in some row."""
    return np.flatnonzero(np.isfinite(junctions.breakdown_voltage).any(axis=0))


def through_junctions(junctions: Junctions, currents: Floats) -> Floats:
    """Return the currents of the junctions, breakdowns taken off, from those of `Found`.

    Any axes may lead. [A]
    """
    count, breaking = len(junctions.anode), breakdown_columns(junctions)
    total = currents[..., :count].copy()
    total[..., breaking] -= currents[..., count : count + breaking.size]
    return total


def _beside(left: Floats, right: Floats) -> Floats:
    rows = max(len(left), len(right))
    return np.concatenate([_rows(left, rows), _rows(right, rows)], axis=1)


class Found(NamedTuple):
    """The unknowns, the currents of the curved elements, and how good they are.

    Parameters
    ----------
    unknowns : array, shape (B, size)
        Node voltages [V], then source currents [A].
    currents, drops, conductances : array, shape (B, n)
        Of the curved elements. [A], [V], [S]
    responses : array, shape (B, size, p)
        Of the unknowns to one volt more in each probed row.
    error : array, shape (B,)
        Largest current by which an element misses its own law. [A]
    converged : array of bool, shape (B,)
        Which rows are solutions.
    """

    unknowns: Floats
    currents: Floats
    drops: Floats
    conductances: Floats
    responses: Floats
    error: Floats
    converged: NDArray[np.bool_]

    @classmethod
    def nothing(cls, equations: Equations, batch: int) -> Found:
        """Return where a batch that is still to be solved will be put."""
        curved = np.zeros((3, batch, len(equations.plus)))
        return cls(
            np.zeros((batch, equations.size)),
            curved[0],
            curved[1],
            curved[2],
            np.zeros((batch, equations.size, len(equations.probes))),
            np.full(batch, np.inf),
            np.zeros(batch, dtype=np.bool_),
        )


def solved(equations: Equations, batch: int, near: Floats | None = None) -> tuple[Found, int]:
    """Solve a batch, and return the steps that its slowest row took too.

    Parameters
    ----------
    equations : Equations
        The equations of the batch.
    batch : int
        Its length, B.
    near : array, shape (B, n), optional
        Voltages across the curved elements to begin with, where they are about known. [V]
    """
    found = Found.nothing(equations, batch)
    at_once = max(1, _NUMBERS_AT_ONCE // max(1, equations.size**2))
    parts = [slice(start, start + at_once) for start in range(0, batch, at_once)]
    return found, max((_newton(equations, part, found, near) for part in parts), default=0)


def _newton(equations: Equations, rows: slice, found: Found, near: Floats | None) -> int:
    """Solve some rows of the batch into `found` and return the steps that it took.

    A row leaves when every tangent meets its law; only the others go on.
    """
    pending = np.arange(len(found.error))[rows]
    matrix = _rows(equations.fixed_matrix, len(found.error))[rows]
    right = _rows(equations.fixed_right, len(found.error))[rows]
    laws = equations.laws.rows(rows)
    voltage = laws.start() if near is None else near[rows]
    for step in range(1, _MOST_STEPS + 1):
        current, conductance = laws.at(voltage)
        linear = _linear(equations, matrix, right, conductance, current - conductance * voltage)
        unknowns = linear[:, :, 0]
        wanted = equations.drop(unknowns)
        tangent = current + conductance * (wanted - voltage)
        miss = np.abs(laws.at(wanted)[0] - tangent)
        good = _within_tolerance(miss, tangent, unknowns[:, equations.nodes :])
        found.unknowns[pending] = unknowns
        found.responses[pending] = linear[:, :, 1:]
        found.currents[pending] = tangent
        found.drops[pending] = wanted
        found.conductances[pending] = conductance
        found.error[pending] = miss.max(axis=1, initial=0.0)
        found.converged[pending] = good
        if good.all():
            return step
        following = laws.limited(voltage, wanted, tangent)
        voltage = following if step < _HALF_STEPS_FROM else (voltage + following) / 2.0
        if good.any():
            left = np.flatnonzero(~good)
            pending, matrix, right = pending[left], matrix[left], right[left]
            voltage, laws = voltage[left], laws.rows(left)
    return _MOST_STEPS


def _within_tolerance(miss: Floats, currents: Floats, sources: Floats) -> NDArray[np.bool_]:
    """Return which rows are solutions."""
    largest = np.abs(sources).max(axis=1, initial=0.0, keepdims=True)
    allowed = _RELATIVE * np.abs(currents) + _OF_LARGEST * largest + _ABSOLUTE
    within: NDArray[np.bool_] = (miss <= allowed).all(axis=1)
    return within


def _linear(
    equations: Equations, fixed: Floats, right: Floats, conductance: Floats, current: Floats
) -> Floats:
    """Return the unknowns with each curved element as a conductance and a current at 0 V.

    In the first column, shape (b, size, 1 + p); the responses to the probes in the others.
    """
    matrix = fixed.copy()
    total = np.zeros((*right.shape, 1 + len(equations.probes)))
    total[:, :, 0] = right
    total[:, equations.probes, np.arange(1, total.shape[2])] = 1.0
    equations.matrix.add(matrix, conductance)
    equations.right.add(total[:, :, 0], current)
    matrix[:, : equations.nodes * equations.size : equations.size + 1] *= 1.0 + ROUNDING
    square = matrix.reshape(len(matrix), equations.size, equations.size)
    return np.asarray(np.linalg.solve(square, total), dtype=np.float64)
