"""View: islands, the networks that the solver is given, and what it answers.

An island is everything that current can reach from some nodes in one state: resistors, junctions,
closed contacts, channels that are on, driven pins and cells. Only a rail that is held (by a
regulator in regulation, by USB, by a stated source) parts it. Nothing else computes a current.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Self

from boardvet.circuit.elements import Element
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, Drive, Island, IslandSolution
from boardvet.circuit.island_builder import Builder, Shape
from boardvet.circuit.states import State

__all__ = ["Drive", "Island", "IslandSolution", "Islands"]


@dataclass(frozen=True)
class Islands:
    """Builds and solves islands of one board."""

    circuit: Circuit = field(repr=False)
    _shapes: dict[object, Shape] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; islands are built as they are asked for."""
        return cls(circuit)

    def build(
        self,
        conditions: Conditions,
        seeds: Iterable[str],
        used: Sequence[float] = (0.0,),
        numbers: dict[str, int] | None = None,
    ) -> Island:
        """Turn what current can reach from some nodes into a network.

        Parameters
        ----------
        conditions : Conditions
            What is on, what is held, what is drawn.
        seeds : iterable of str
            Nodes to start from.
        used : sequence of float
            Shares of charge used, 0 fresh to 1 empty: one row each.
        numbers : dict of node to int, optional
            Numbers that nodes already have; those of further nodes are added to it, so that
            several islands count their nodes alike.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        """
        return Builder(self.circuit, conditions, used, numbers, self._shapes).build(seeds)

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
        """Solve the island around some nodes; see `Conditions` for the arguments.

        Parameters
        ----------
        fixed : mapping of node to float, optional
            Rails held at a voltage besides those that are held anyway. [V]

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If the network has no solution that could be found.
        """
        conditions = Conditions(
            state, tuple(drives), on, highest=highest, across=frozenset(across)
        )
        builder = Builder(self.circuit, conditions, used, shapes=self._shapes)
        builder.held.update(fixed or {})
        return builder.build(seeds).solved()
