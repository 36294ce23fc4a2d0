"""A network and its capacitors at one instant, set up once for many: the inside of `transient`.

Over a time step a capacitor is a source with a resistance: its plates' voltage at the start of the
step, and what the charge of the step adds to it per ampere. So each instant is a network at rest.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from boardvet.errors import SolverError
from boardvet.physics.condensed import Condensed
from boardvet.physics.elements import Capacitors, Floats, Network, Sources
from boardvet.physics.laws import floored
from boardvet.physics.network import Solution, solution_of
from boardvet.physics.nodal import Equations, Found, solved

__all__ = ["Companion", "Instant"]


class Instant(NamedTuple):
    """The network at one instant.

    Parameters
    ----------
    values : array, shape (B, m)
        Voltages and currents, of which `Companion.solution` makes all others.
    responses : array, shape (B, m, n)
        Change of these with the voltage of each capacitor as a source.
    drops : array, shape (B, …)
        Voltages across the curved elements. [V]
    slope : array, shape (B, n)
        Change of the plates' voltages with time. [V/s]
    """

    values: Floats
    responses: Floats
    drops: Floats
    slope: Floats


class Companion:
    """A network with its capacitors as sources, of which voltage and resistance change.

    Parameters
    ----------
    network : Network
        Without the capacitors.
    capacitors : Capacitors
        Between its nodes.
    batch : int
        Length of the batch axis, B.
    """

    def __init__(self, network: Network, capacitors: Capacitors, batch: int) -> None:
        sources = network.sources
        rows = max(len(capacitors.capacitance), len(capacitors.series_resistance))
        count = len(capacitors.a)
        first = network.nodes - 1 + len(sources.positive)
        self.network = replace(
            network,
            sources=Sources(
                np.concatenate([sources.positive, capacitors.a]),
                np.concatenate([sources.negative, capacitors.b]),
                _beside(sources.voltage, np.zeros((batch, count))),
                _beside(sources.resistance, np.zeros((rows, count))),
            ),
        )
        self.batch = batch
        self.capacitance = capacitors.capacitance
        self.series_resistance = capacitors.series_resistance
        self._condensed = Condensed.of(Equations.of(self.network, first + np.arange(count)))
        self.branches = self._condensed.equations.probes
        self.curved = slice(self._condensed.equations.size, None)

    def at(self, charged: Floats, resistance: Floats, near: Floats | None) -> Instant:
        """Solve one instant.

        Parameters
        ----------
        charged : array, shape (B, n)
            Voltages of the capacitors as sources. [V]
        resistance : array, shape (B or 1, n)
            Their resistances. [Ω]
        near : array, optional
            `drops` of an instant near this one.

        Raises
        ------
        SolverError
            If a row has no solution.
        """
        equations = self._condensed.equations
        equations.fixed_matrix[:, self.branches * (equations.size + 1)] = floored(resistance)
        equations.fixed_right[:, self.branches] = charged
        found, iterations = solved(equations, self.batch, near)
        missing = ~found.converged
        if missing.any():
            worst = float(found.error[missing].max())
            raise SolverError(int(missing.sum()), self.batch, iterations, worst)
        curved = found.conductances[:, :, None] * equations.drop(found.responses)
        return Instant(
            np.concatenate([found.unknowns, found.currents], axis=1),
            np.concatenate([found.responses, curved], axis=1),
            found.drops,
            self.slope(found.unknowns),
        )

    def slope(self, values: Floats) -> Floats:
        """Return how the plates' voltages change with time [V/s], shape (B, n)."""
        return -values[:, self.branches] / self.capacitance

    def moved(self, instant: Instant, shift: Floats) -> Instant:
        """Return the instant with the capacitors' voltages a little moved [V], shape (B, n)."""
        more = (instant.responses @ shift[:, :, None])[:, :, 0]
        values = instant.values + more
        drops = instant.drops + self._condensed.equations.drop(more)
        return Instant(values, instant.responses, drops, self.slope(values))

    def solution(self, values: Floats, share: float = 1.0) -> Solution:
        """Return all voltages and currents; the sources end with the capacitors.

        Parameters
        ----------
        values : array, shape (B, m)
            Those of an instant, or their integral over a time.
        share : float, default 1
            That time.
        """
        size = self._condensed.equations.size
        found = Found.nothing(self._condensed.equations, len(values))
        unknowns = self._condensed.whole(values[:, :size], share)
        found = found._replace(unknowns=unknowns, currents=values[:, size:])
        return solution_of(self.network, found, 0)


def _beside(left: Floats, right: Floats) -> Floats:
    rows = max(len(left), len(right))
    parts = [np.broadcast_to(part, (rows, part.shape[1])) for part in (left, right)]
    return np.concatenate(parts, axis=1)
