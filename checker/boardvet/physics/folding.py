"""Series resistors folded into their junctions: fewer nodes for the solver, the same answer.

A node at which one resistor and one junction meet, and nothing else, is not needed: the resistor
counts as more series resistance of the junction, and the voltage of the node follows from the
current. Boards with lights are full of such nodes, and the matrices shrink to a third.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from boardvet.physics.elements import (
    Floats,
    Indices,
    Junctions,
    Loads,
    Network,
    Resistors,
    Sources,
)
from boardvet.physics.laws import floored

__all__ = ["Folding"]


class _Fold(NamedTuple):
    """A node that was left out: the junction and the resistor that met there, and the far end.

    `sign` is 1 where the junction's current flows from the far end to the node.
    """

    node: int
    junction: int
    resistor: int
    far: int
    sign: float


@dataclass(frozen=True, slots=True, eq=False)
class Folding:
    """A network without the nodes that only join a resistor and a junction.

    Parameters
    ----------
    network : Network
        What is left to solve.
    kept : array of int, shape (nodes,)
        The number of each node of the whole network in it; -1 where it was left out.
    """

    network: Network
    kept: Indices
    _folds: tuple[_Fold, ...]
    _resistance: Floats

    @classmethod
    def of(cls, whole: Network) -> Folding:
        """Leave out every such node, again and again: chains of resistors go too."""
        work = _Folder(whole)
        folds = [fold for node in _candidates(whole) if (fold := work.fold(node)) is not None]
        if not folds:
            return cls(whole, np.arange(whole.nodes), (), whole.resistors.resistance)
        kept = np.ones(whole.nodes, dtype=np.bool_)
        kept[[fold.node for fold in folds]] = False
        numbers = np.where(kept, np.cumsum(kept) - 1, -1)
        left = _smaller(whole, numbers, work, folds)
        return cls(left, numbers, tuple(folds), floored(whole.resistors.resistance))

    def voltages(self, solved: Floats, currents: Floats) -> Floats:
        """Return the voltages of all nodes, from those of the nodes that are left.

        Parameters
        ----------
        solved : array, shape (B, nodes left)
            [V]
        currents : array, shape (B, junctions)
            From anode to cathode. [A]
        """
        if not self._folds:
            return solved
        whole = np.zeros((len(solved), len(self.kept)))
        there = self.kept >= 0
        whole[:, there] = solved[:, self.kept[there]]
        for fold in reversed(self._folds):
            drop = fold.sign * currents[:, fold.junction] * self._resistance[:, fold.resistor]
            whole[:, fold.node] = whole[:, fold.far] - drop
        return whole


def _candidates(whole: Network) -> list[int]:
    """Return the nodes, besides the reference, of which no source and no load is an end.

    Those beside a junction come first, then those that lie behind a folded resistor.
    """
    taken = np.zeros(whole.nodes, dtype=np.bool_)
    taken[0] = True
    for ends in (
        whole.sources.positive,
        whole.sources.negative,
        whole.loads.positive,
        whole.loads.negative,
    ):
        taken[ends] = True
    # What floats is held by the leak of each of its nodes, so none of them may go.
    taken |= ~_grounded(whole)
    joints = np.zeros(whole.nodes, dtype=np.intp)
    for ends in (whole.resistors.a, whole.resistors.b):
        joints += np.bincount(ends, minlength=whole.nodes)
    beside = np.zeros(whole.nodes, dtype=np.intp)
    for ends in (whole.junctions.anode, whole.junctions.cathode):
        beside += np.bincount(ends, minlength=whole.nodes)
    first = np.flatnonzero(~taken & (joints == 1) & (beside == 1))
    chains = np.flatnonzero(~taken & (joints == 2) & (beside == 0))
    # A chain is folded from the junction on; twice covers a pin, a contact and a resistor.
    return [*map(int, first), *map(int, chains), *map(int, chains)]


def _grounded(whole: Network) -> np.typing.NDArray[np.bool_]:
    """Return which nodes an element or several lead from to the reference."""
    pairs = (
        (whole.resistors.a, whole.resistors.b),
        (whole.sources.positive, whole.sources.negative),
        (whole.junctions.anode, whole.junctions.cathode),
        (whole.loads.positive, whole.loads.negative),
    )
    first = np.concatenate([one for one, _ in pairs])
    second = np.concatenate([other for _, other in pairs])
    grounded = np.zeros(whole.nodes, dtype=np.bool_)
    grounded[0] = True
    count = 0
    while count < (count := int(grounded.sum())):
        grounded[second[grounded[first]]] = True
        grounded[first[grounded[second]]] = True
    return grounded


class _Folder:
    """Leaves out node after node, and remembers where junctions end then.

    Plain lists, since a network has few elements at a node and they are asked for one by one.
    """

    def __init__(self, whole: Network) -> None:
        self.ends = list(zip(whole.resistors.a.tolist(), whole.resistors.b.tolist(), strict=True))
        self.anode, self.cathode = whole.junctions.anode.tolist(), whole.junctions.cathode.tolist()
        self.alive = [True] * len(self.ends)
        breaks = np.isfinite(whole.junctions.breakdown_voltage).any(axis=0)
        self.breaks: list[bool] = [bool(each) for each in np.atleast_1d(breaks)]
        self.resistors: dict[int, list[int]] = {}
        for index, pair in enumerate(self.ends):
            for node in pair:
                self.resistors.setdefault(node, []).append(index)
        self.junctions: dict[int, list[int]] = {}
        for index, pair in enumerate(zip(self.anode, self.cathode, strict=True)):
            for node in pair:
                self.junctions.setdefault(node, []).append(index)

    def fold(self, node: int) -> _Fold | None:
        """Leave a node out as things stand, and return how; None where it is needed."""
        meeting = [index for index in self.resistors.get(node, ()) if self.alive[index]]
        joined = self.junctions.get(node, ())
        if len(meeting) != 1 or len(joined) != 1 or self.breaks[joined[0]]:
            return None
        resistor, junction = meeting[0], joined[0]
        a, b = self.ends[resistor]
        far = b if a == node else a
        forward = self.anode[junction] == node
        other = self.cathode[junction] if forward else self.anode[junction]
        if far in (node, other):
            return None
        self.alive[resistor] = False
        (self.anode if forward else self.cathode)[junction] = far
        self.junctions.setdefault(far, []).append(junction)
        return _Fold(node, junction, resistor, far, 1.0 if forward else -1.0)


def _smaller(whole: Network, numbers: Indices, work: _Folder, folds: list[_Fold]) -> Network:
    resistors, junctions = whole.resistors, whole.junctions
    sources, loads = whole.sources, whole.loads
    alive = np.array(work.alive, dtype=np.bool_)
    ends = np.array(work.anode, dtype=np.intp), np.array(work.cathode, dtype=np.intp)
    ohms = floored(resistors.resistance)
    rows = max(len(ohms), len(junctions.series_resistance))
    series = np.array(np.broadcast_to(junctions.series_resistance, (rows, len(ends[0]))))
    for fold in folds:
        series[:, fold.junction] += ohms[:, fold.resistor]
    return Network(
        nodes=int(numbers.max()) + 1,
        resistors=Resistors(
            numbers[resistors.a[alive]],
            numbers[resistors.b[alive]],
            resistors.resistance[:, alive],
        ),
        sources=Sources(
            numbers[sources.positive],
            numbers[sources.negative],
            sources.voltage,
            sources.resistance,
        ),
        junctions=Junctions(
            numbers[ends[0]],
            numbers[ends[1]],
            junctions.saturation_current,
            junctions.emission,
            series,
            junctions.breakdown_voltage,
        ),
        loads=Loads(numbers[loads.positive], numbers[loads.negative], loads.current),
    )
