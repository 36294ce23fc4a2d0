"""The search for plates' voltages that a period brings back: the inside of `transient`."""

from __future__ import annotations

import math

import numpy as np

from boardvet.physics.elements import Floats

__all__ = ["Search", "unfaded"]

_STEADY = 0.05
"""Share of the tolerance that the next move of a steady period is at most."""

_LEAK = 1e-10
"""A mean current into a capacitor that counts as none, some 100 leaks of a node at 1 V. [A]"""

_SLOWEST = 1e-9
"""What fades by less than that in a period is held by the leaks of the nodes, if by anything."""

_NEARER = 0.1
"""Part of its own length by which a move is to bring the distance down."""

_LEAST_SHARE = 0.01
_LONGER = 4.0
"""A move cut below that share is given up for a plain period; the next one is so much longer."""

_LEAPS = 10
"""How often a move may end farther off where half of it is wanted from there, beyond a bend."""


class Search:
    r"""Newton's method on Φ(x) = x, each row of the batch by itself.

    Parameters
    ----------
    start : array, shape (B, n)
        Plates' voltages x to begin with. [V]
    capacitance : array, shape (B or 1, n)
        For their energy. [F]
    duration : float
        Of the period. [s]
    reach : float
        The largest move. [V]
    tolerance : float
        See `Search.settled`. [V]

    Notes
    -----
    The elements being monotone, two courses of one period never part in energy, and so the
    distance Φ(x) − x, weighed by the capacitances, never grows along a move. Where it points
    back, the move went too far, and is cut by the rule of false position; cut for long, it is
    replaced by a plain period, x ← Φ(x), which is always safe.
    """

    def __init__(
        self, start: Floats, capacitance: Floats, duration: float, reach: float, tolerance: float
    ) -> None:
        self.trial = start
        self.farthest = math.inf
        self._weight = np.broadcast_to(capacitance, start.shape)
        self._reach, self._steady = reach, _STEADY * tolerance
        self._least = np.minimum(_LEAK * duration / self._weight, self._steady)
        self._base, self._move, self._end = start, np.zeros_like(start), start
        self._energy = np.full(len(start), np.inf)
        self._pull = np.zeros(len(start))
        self._wanted = np.full(len(start), np.inf)
        self._leaps = np.zeros(len(start), dtype=np.intp)
        self._share = np.ones(len(start))

    @property
    def settled(self) -> bool:
        """Whether the next move is less than a twentieth of the tolerance.

        What moves by less than 0.1 nA in the mean of a period counts as at rest.
        """
        return self.farthest <= self._steady

    def judge(self, end: Floats, transfer: Floats) -> None:
        """Choose the next trial from what a period made of the last one.

        Parameters
        ----------
        end : array, shape (B, n)
            Plates' voltages at the end of a period that began with `trial`. [V]
        transfer : array, shape (B, n, n)
            Their derivative by those at its start.
        """
        distance = end - self.trial
        moving = np.where(np.abs(distance) > self._least, distance, 0.0)
        move = unfaded(transfer, moving)
        largest = np.abs(move).max(axis=1, initial=0.0, keepdims=True)
        self.farthest = float(largest.max())
        move = move * np.minimum(1.0, self._reach / np.maximum(largest, 1e-300))
        self._keep(end, moving, move, largest[:, 0])
        moved = self._base + self._share[:, None] * self._move
        self.trial = np.where(self._share[:, None] < _LEAST_SHARE, self._end, moved)

    def _keep(self, end: Floats, distance: Floats, move: Floats, wanted: Floats) -> None:
        """Go on from the trial in the rows where it is nearer, and cut the move in the others."""
        energy = (self._weight * distance**2).sum(axis=1)
        pull = (self._weight * distance * self._move).sum(axis=1)
        plain = self._share < _LEAST_SHARE
        nearer = energy <= self._energy * (1.0 - _NEARER * self._share)
        nearer |= (pull >= 0.0) & (energy <= self._energy)
        leap = ~nearer & (wanted <= self._wanted / 2.0) & (self._leaps < _LEAPS)
        self._leaps += leap
        good = plain | nearer | leap
        cut = self._pull / np.maximum(self._pull - pull, 1e-300)
        longer = np.minimum(1.0, np.where(plain, 1.0, _LONGER * self._share))
        self._share = np.where(good, longer, self._share * np.clip(cut, 0.1, 0.5))
        rows = good[:, None]
        self._energy = np.where(good, energy, self._energy)
        self._wanted = np.where(good, wanted, self._wanted)
        self._pull = np.where(good, (self._weight * distance * move).sum(axis=1), self._pull)
        self._base = np.where(rows, self.trial, self._base)
        self._move = np.where(rows, move, self._move)
        self._end = np.where(rows, end, self._end)


def unfaded(transfer: Floats, distance: Floats) -> Floats:
    """Return (1 − M)⁻¹·distance; what fades slower than in 1e9 periods about stays where it is."""
    left = (1.0 + _SLOWEST) * np.eye(distance.shape[1]) - transfer
    return np.asarray(np.linalg.solve(left, distance[:, :, None])[:, :, 0], dtype=np.float64)
