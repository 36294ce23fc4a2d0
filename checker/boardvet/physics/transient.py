"""Voltages and charges of networks with capacitors in time: pulses, their dips, and their rest.

Numbers and node numbers only, with a leading batch axis, as in `network`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from boardvet.errors import PhysicsDomainError
from boardvet.physics.elements import Capacitors, Floats, Network
from boardvet.physics.network import solve
from boardvet.physics.stretch import Stretch, Stretcher

__all__ = ["Capacitors", "Stretch", "advance", "settle"]


def settle(network: Network, capacitors: Capacitors) -> Floats:
    """Return the voltages across the plates at rest, when the capacitors carry nothing.

    Parameters
    ----------
    network : Network
        Without the capacitors.
    capacitors : Capacitors
        Between its nodes.

    Returns
    -------
    array, shape (B, n)
        Of `a` over `b`. [V]

    Raises
    ------
    SolverError
        If a row has no solution.

    Examples
    --------
    3.0 V behind 100 Ω, 200 Ω to the reference, 10 µF beside it:

    >>> from boardvet.physics.network import Loads, Network, Resistors, Sources
    >>> divider = Network(
    ...     nodes=3,
    ...     sources=Sources([1], [0], [3.0], [0.0]),
    ...     resistors=Resistors([1, 2], [2, 0], [100.0, 200.0]),
    ... )
    >>> settle(divider, Capacitors([2], [0], [10e-6], [0.0])).tolist()
    [[2.000]]
    """
    batch = _batch([network], capacitors)
    voltages = solve(network).require().voltages
    across = voltages[:, capacitors.a] - voltages[:, capacitors.b]
    return np.broadcast_to(across, (batch, across.shape[1])).copy()


def advance(
    network: Network,
    capacitors: Capacitors,
    charged: Floats,
    duration: float,
    *,
    tolerance: float = 1e-4,
) -> Stretch:
    """Pass a stretch of time in which nothing is switched.

    Parameters
    ----------
    network : Network
        Without the capacitors. What was switched at the start of the stretch stands in it already.
    capacitors : Capacitors
        Between its nodes.
    charged : array, shape (B, n)
        Voltages across the plates at the start. [V]
    duration : float
        More than 0. [s]
    tolerance : float, default 1e-4
        What the plates' voltages may be off by, a time step. [V]

    Returns
    -------
    Stretch
        Voltages, currents and charges.

    Raises
    ------
    PhysicsDomainError
        If the duration or the tolerance is out of its range, or batch axes differ.
    SolverError
        If a row has no solution.

    Examples
    --------
    8 mA for 5 ms from 3.0 V behind 30 Ω, 100 µF beside it. By hand, the droop is
    8 mA · 30 Ω · (1 − exp(−5 ms / 3 ms)) = 240 mV · 0.8111 = 194.7 mV:

    >>> from boardvet.physics.network import Loads, Network, Sources
    >>> pulse = Network(2, sources=Sources([1], [0], [3.0], [30.0]), loads=Loads([1], [0], [8e-3]))
    >>> reservoir = Capacitors([1], [0], [100e-6], [0.0])
    >>> advance(pulse, reservoir, np.array([[3.0]]), 5e-3).lowest.tolist()
    [[0.0, 2.8053]]
    """
    _require_durations([duration], tolerance)
    batch = _batch([network], capacitors, charged)
    start = np.broadcast_to(charged, (batch, len(capacitors.a)))
    stretcher = Stretcher(network, capacitors, batch, duration, tolerance)
    return stretcher.told(stretcher.through(start))


def _require_durations(durations: Sequence[float], tolerance: float) -> None:
    for name, value, unit in (
        *(("duration", duration, "s") for duration in durations),
        ("tolerance", tolerance, "V"),
    ):
        if not 0.0 < value < math.inf:
            raise PhysicsDomainError(name, value, unit, "finite and more than 0")


def _batch(
    networks: Sequence[Network], capacitors: Capacitors, charged: Floats | None = None
) -> int:
    lengths = {network.batch for network in networks}
    lengths |= {len(capacitors.capacitance), len(capacitors.series_resistance)}
    lengths |= set() if charged is None else {len(charged)}
    if len(lengths - {1}) > 1:
        raise PhysicsDomainError("batch", max(lengths), "", "the same for all values, or 1")
    return max(lengths)
