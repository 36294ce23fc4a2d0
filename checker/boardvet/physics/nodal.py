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

__all__ = ["LEAK_CONDUCTANCE", "Equations", "Found", "newton"]

LEAK_CONDUCTANCE = 1e-12
"""From each node to the reference, so that nothing floats. [S]"""

_ROUNDING = 1e-15
"""Share of a node's conductances that leaks as well: what is less drowns in their rounding."""

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

    @classmethod
    def of(cls, network: Network) -> Equations:
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
        )


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


def _beside(left: Floats, right: Floats) -> Floats:
    rows = max(len(left), len(right))
    return np.concatenate([_rows(left, rows), _rows(right, rows)], axis=1)


class Found(NamedTuple):
    """The unknowns, the currents of the curved elements, and how good they are.

    Shapes (B, size), (B, n), (B,), (B,).
    """

    unknowns: Floats
    currents: Floats
    error: Floats
    converged: NDArray[np.bool_]


def newton(equations: Equations, rows: slice, found: Found) -> int:
    """Solve some rows of the batch into `found` and return the steps that it took.

    A row leaves when every tangent meets its law; only the others go on.
    """
    pending = np.arange(len(found.error))[rows]
    matrix = _rows(equations.fixed_matrix, len(found.error))[rows]
    right = _rows(equations.fixed_right, len(found.error))[rows]
    laws = equations.laws.rows(rows)
    voltage = laws.start()
    for step in range(1, _MOST_STEPS + 1):
        current, conductance = laws.at(voltage)
        unknowns = _linear(equations, matrix, right, conductance, current - conductance * voltage)
        wanted = _drop(equations, unknowns)
        tangent = current + conductance * (wanted - voltage)
        miss = np.abs(laws.at(wanted)[0] - tangent)
        good = _within_tolerance(miss, tangent, unknowns[:, equations.nodes :])
        found.unknowns[pending] = unknowns
        found.currents[pending] = tangent
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
    """Return the unknowns with each curved element as a conductance and a current at 0 V."""
    matrix, total = fixed.copy(), right.copy()
    equations.matrix.add(matrix, conductance)
    equations.right.add(total, current)
    matrix[:, : equations.nodes * equations.size : equations.size + 1] *= 1.0 + _ROUNDING
    square = matrix.reshape(len(matrix), equations.size, equations.size)
    solved = np.linalg.solve(square, total[:, :, None])
    return np.asarray(solved[:, :, 0], dtype=np.float64)


def _drop(equations: Equations, unknowns: Floats) -> Floats:
    """Return the voltages across the curved elements."""
    padded = np.concatenate([unknowns, np.zeros((len(unknowns), 1))], axis=1)
    drop: Floats = padded[:, equations.plus] - padded[:, equations.minus]
    return drop
