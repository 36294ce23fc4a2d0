"""Voltages and currents of networks of resistors, sources, junctions and loads at rest.

Numbers and node numbers only. Many cell voltages, corners or states of one topology are solved in
one call: every value has a leading batch axis.

Each element is a monotone two-terminal one (its current never falls as its voltage rises) and
every node leaks a little to the reference, so each network has exactly one solution.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from boardvet.errors import SolverError
from boardvet.physics.elements import (
    Floats,
    Junctions,
    Loads,
    Network,
    Resistors,
    Sources,
)
from boardvet.physics.folding import Folding
from boardvet.physics.laws import floored
from boardvet.physics.nodal import (
    LEAK_CONDUCTANCE,
    Equations,
    Found,
    breakdown_columns,
    solved,
    through_junctions,
)

__all__ = [
    "LEAK_CONDUCTANCE",
    "Junctions",
    "Loads",
    "Network",
    "Resistors",
    "Solution",
    "Sources",
    "solution_of",
    "solve",
]


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """Voltages and currents of each row of the batch.

    Parameters
    ----------
    voltages : array, shape (B, nodes)
        Of each node over node 0. [V]
    resistor_currents : array, shape (B, n)
        From `a` to `b`. [A]
    source_currents : array, shape (B, n)
        Delivered, out of `positive`; negative where the source is being charged. [A]
    junction_currents : array, shape (B, n)
        From anode to cathode. [A]
    load_currents : array, shape (B, n)
        From `positive` to `negative`. [A]
    converged : array of bool, shape (B,)
        Whether the row is a solution; one that is not holds the numbers of its last step.
    error : array, shape (B,)
        Largest current by which an element of the row misses its own law. [A]
    iterations : int
        Steps that the slowest row took.
    """

    voltages: Floats
    resistor_currents: Floats
    source_currents: Floats
    junction_currents: Floats
    load_currents: Floats
    converged: NDArray[np.bool_]
    error: Floats
    iterations: int

    def require(self) -> Solution:
        """Return the solution itself where all of its rows are solutions.

        Raises
        ------
        SolverError
            Else; it says how many rows are missing and how near they came.
        """
        missing = ~self.converged
        if missing.any():
            worst = float(self.error[missing].max())
            raise SolverError(int(missing.sum()), len(missing), self.iterations, worst)
        return self


def solve(network: Network) -> Solution:
    r"""Return the node voltages and element currents of every row of a batch.

    Parameters
    ----------
    network : Network
        Some 1 to 200 nodes: the matrices are dense.

    Returns
    -------
    Solution
        `Solution.converged` says which rows are solutions; `Solution.require` insists on all.

    Notes
    -----
    Modified nodal analysis: the unknowns are the node voltages and the currents of the sources, so
    that the current of a stiff source is no difference of large numbers. Newton's method from
    "every junction at 1 mA", each element limited by its own law, and half steps where that goes
    round in circles. A row is a solution when each element meets its law within 1 ppm of its
    current, plus 10 fA, plus 1e-14 of the largest source current.

    Each node has 1 pS to the reference. A node that nothing else holds is thereby at 0 V, and a
    cell that floats stands symmetrically about it; a node at 3 V loses 3 pA. Nodes with more than
    1 kS lose 1e-15 of it as well, since less would drown in rounding.

    Examples
    --------
    3.0 V, then 2.4 V, behind 100 Ω and 200 Ω:

    >>> divider = Network(
    ...     nodes=3,
    ...     sources=Sources([1], [0], [[3.0], [2.4]], [0.0]),
    ...     resistors=Resistors([1, 2], [2, 0], [100.0, 200.0]),
    ... )
    >>> solve(divider).voltages.tolist()
    [[0.0, 3.000, 2.000], [0.0, 2.400, 1.600]]
    >>> solve(divider).source_currents.tolist()
    [[0.01000], [0.00800]]
    """
    folding = Folding.of(network)
    left = folding.network
    found, iterations = solved(Equations.of(left), network.batch)
    solution = solution_of(left, found, iterations)
    if left is network:
        return solution
    voltages = folding.voltages(solution.voltages, solution.junction_currents)
    return replace(
        solution, voltages=voltages, resistor_currents=_through(network.resistors, voltages)
    )


def solution_of(network: Network, found: Found, iterations: int) -> Solution:
    """Return what was found, element kind by element kind."""
    voltages = np.zeros((len(found.unknowns), network.nodes))
    voltages[:, 1:] = found.unknowns[:, : network.nodes - 1]
    resistors, count = network.resistors, len(network.junctions.anode)
    breaking = breakdown_columns(network.junctions)
    return Solution(
        voltages=voltages,
        resistor_currents=_through(resistors, voltages),
        source_currents=found.unknowns[:, network.nodes - 1 :],
        junction_currents=through_junctions(network.junctions, found.currents),
        load_currents=found.currents[:, count + breaking.size :],
        converged=found.converged,
        error=found.error,
        iterations=iterations,
    )


def _through(resistors: Resistors, voltages: Floats) -> Floats:
    """Return the currents of resistors from `a` to `b`."""
    drop = voltages[:, resistors.a] - voltages[:, resistors.b]
    return np.asarray(drop / floored(resistors.resistance), dtype=np.float64)
