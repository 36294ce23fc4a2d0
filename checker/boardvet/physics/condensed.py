"""Equations without the unknowns that only linear elements touch: the inside of `transient`.

Most nodes of a board carry no light and no capacitor (pins, series resistors, sources), and they
obey the same linear equations at each instant of a stretch. So they are eliminated once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from boardvet.physics.elements import Floats, Indices
from boardvet.physics.nodal import ROUNDING, Equations

__all__ = ["Condensed"]

_STIFF = 1e-3
"""A source of less resistance at a node that stays keeps its current as an unknown: else that were
a difference of nearly equal voltages over next to nothing. [Ω]"""


class Condensed(NamedTuple):
    """Equations of which some unknowns are gone, and how to get these back.

    Parameters
    ----------
    equations : Equations
        Of the unknowns that stay; it solves like the whole ones.
    kept, gone : array of int
        Which of the whole unknowns those are.
    gain : array, shape (B or 1, gone, kept)
        Change of those that are gone with those that stay.
    base : array, shape (B or 1, gone)
        Those that are gone, with nothing from those that stay.
    """

    equations: Equations
    kept: Indices
    gone: Indices
    gain: Floats
    base: Floats

    @classmethod
    def of(cls, whole: Equations) -> Condensed:
        """Eliminate what neither curved elements nor probed sources touch."""
        rows, size = len(whole.fixed_matrix), whole.size
        matrix = whole.fixed_matrix.reshape(rows, size, size).copy()
        held = np.arange(whole.nodes)
        matrix[:, held, held] *= 1.0 + ROUNDING
        stays = _staying(whole, matrix)
        kept, gone = np.flatnonzero(stays), np.flatnonzero(~stays)
        inner = matrix[:, gone[:, None], gone]
        gain = np.asarray(-np.linalg.solve(inner, matrix[:, gone[:, None], kept]), np.float64)
        given = whole.fixed_right[:, gone]
        if rows == 1:
            base = np.linalg.solve(inner[0], given.T).T
        else:
            base = np.linalg.solve(inner, np.broadcast_to(given, (rows, len(gone)))[:, :, None])
            base = base[:, :, 0]
        outward = matrix[:, kept[:, None], gone]
        small = matrix[:, kept[:, None], kept] + outward @ gain
        right = whole.fixed_right[:, kept] - (outward @ base[:, :, None])[:, :, 0]
        return cls(whole.among(kept, small, right), kept, gone, gain, base)

    def whole(self, values: Floats, share: float = 1.0) -> Floats:
        """Return all unknowns, shape (B, size), from those that stay.

        With a share of 1; an integral over a time has that time as its share.
        """
        unknowns = np.zeros((len(values), len(self.kept) + len(self.gone)))
        unknowns[:, self.kept] = values
        unknowns[:, self.gone] = share * self.base + (self.gain @ values[:, :, None])[:, :, 0]
        return unknowns


def _staying(whole: Equations, matrix: Floats) -> NDArray[np.bool_]:
    """Return which unknowns stay."""
    nodes = whole.nodes
    stays: NDArray[np.bool_] = np.zeros(whole.size, dtype=np.bool_)
    ends = np.concatenate([whole.plus, whole.minus])
    stays[ends[ends >= 0]] = True
    stays[:nodes] |= (matrix[:, whole.probes, :nodes] != 0.0).any(axis=(0, 1))
    stays[whole.probes] = True
    branches = np.arange(nodes, whole.size)
    touching = (matrix[:, branches, :nodes] != 0.0).any(axis=0) & stays[:nodes]
    stiff = (matrix[:, branches, branches] < _STIFF).any(axis=0)
    stays[branches] |= touching.any(axis=1) & stiff
    return stays
