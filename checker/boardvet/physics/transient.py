"""Voltages and charges of networks with capacitors in time: pulses, their dips, and their rest.

Numbers and node numbers only, with a leading batch axis, as in `network`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from boardvet.errors import PhysicsDomainError, UnsettledError
from boardvet.physics.elements import Capacitors, Floats, Network
from boardvet.physics.network import solve
from boardvet.physics.steady import Search, unfaded
from boardvet.physics.stretch import Passage, Stretch, Stretcher

__all__ = ["Capacitors", "Cycle", "Stretch", "advance", "repeat", "settle"]


_ADAPTED = 2
_NEAR = 20.0
"""After so many periods, or when the next move is of so many tolerances at most, the time steps of
the last period are taken again: else their changes would shake what Newton's method looks for."""


@dataclass(frozen=True, slots=True, eq=False)
class Cycle:
    """A period of steps that follow each other for ever.

    Parameters
    ----------
    stretches : tuple of Stretch
        One a step.
    periods : int
        How many were run through.
    settled : bool
        Whether a period brings each voltage back to where it was.
    distance : float
        How far the plates' voltages are still from where they settle, as far as can be told. [V]
    """

    stretches: tuple[Stretch, ...]
    periods: int
    settled: bool
    distance: float

    def require(self) -> Cycle:
        """Return the cycle itself where it has settled.

        Raises
        ------
        UnsettledError
            Else; it says after how many periods, and how far from it.
        """
        if not self.settled:
            raise UnsettledError(self.periods, self.distance)
        return self


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


def repeat(
    steps: Sequence[tuple[Network, float]],
    capacitors: Capacitors,
    charged: Floats | None = None,
    *,
    tolerance: float = 1e-4,
    periods: int = 200,
) -> Cycle:
    r"""Return what happens in a period of steps that have followed each other for ever.

    Parameters
    ----------
    steps : sequence of (Network, float)
        At least one: the network without its capacitors, and for how long it stands [s].
        All number their nodes alike; the elements between these may differ.
    capacitors : Capacitors
        The same in all steps.
    charged : array, shape (B, n), optional
        Voltages across the plates that are about those at the start of a period. [V]
    tolerance : float, default 1e-4
        What the plates' voltages may be off by, a time step. [V]
    periods : int, default 200
        How many periods may be run through; at least 1.

    Returns
    -------
    Cycle
        The last period; `Cycle.settled` says whether it is the steady one, `Cycle.require`
        insists on it.

    Raises
    ------
    PhysicsDomainError
        If there is no step, a value is out of its range, or nodes or batch axes differ.
    SolverError
        If a row has no solution.

    Notes
    -----
    A period maps the plates' voltages x at its start to those at its end, Φ(x), and the time steps
    give the derivative M of that as well. Newton's method on Φ(x) = x,

    .. math:: x \leftarrow x + (1 - M)^{-1} (\Phi(x) - x),

    so that slow capacitors take few periods too; `steady` damps it. Steady means that the next
    move is less than a twentieth of the tolerance, or that what still flows into a capacitor is
    less than 0.1 nA in the mean of a period.

    Examples
    --------
    1 F behind 20 Ω from 3.0 V, where 100 mA flow for 50 ms of each 500 ms. By hand, a mean current
    of 10 mA drops 200 mV, and 50 ms · 90 mA / 1 F makes a ripple of 4.5 mV about that:

    >>> from boardvet.physics.network import Loads, Network, Sources
    >>> def supply(load):
    ...     return Network(
    ...         2, sources=Sources([1], [0], [3.0], [20.0]), loads=Loads([1], [0], [load])
    ...     )
    >>> farad = Capacitors([1], [0], [1.0], [0.0])
    >>> cycle = repeat([(supply(0.1), 0.05), (supply(0.0), 0.45)], farad)
    >>> cycle.settled, cycle.periods < 5
    (True, True)
    >>> [stretch.charged.tolist() for stretch in cycle.stretches]
    [[[2.798]], [[2.802]]]
    """
    networks = [network for network, _ in steps]
    durations = [duration for _, duration in steps]
    _require_steps(networks, durations, tolerance, periods)
    batch = _batch(networks, capacitors, charged)
    stretchers = [
        Stretcher(network, capacitors, batch, duration, tolerance) for network, duration in steps
    ]
    if charged is None:
        charged = _guess(networks, capacitors, stretchers)
    start = np.broadcast_to(charged, (batch, len(capacitors.a)))
    # no voltage is lost by more than all sources in series could charge to
    volts = [np.abs(network.sources.voltage).sum(axis=1).max() for network in networks]
    reach = float(max(1.0, *volts))
    search = Search(start, capacitors.capacitance, sum(durations), reach, tolerance)
    passages: list[Passage] = []
    for period in range(1, periods + 1):
        replay = period > _ADAPTED or search.farthest < _NEAR * tolerance
        passages = _period(stretchers, search.trial, passages, replay=replay)
        unit = np.eye(start.shape[1])
        transfer = reduce(lambda before, passage: passage.transfer @ before, passages, unit)
        search.judge(passages[-1].charged, transfer)
        if search.settled:
            break
    stretches = zip(stretchers, passages, strict=True)
    return Cycle(
        tuple(stretcher.told(passage) for stretcher, passage in stretches),
        period,
        search.settled,
        search.farthest,
    )


def _period(
    stretchers: Sequence[Stretcher], charged: Floats, before: Sequence[Passage], *, replay: bool
) -> list[Passage]:
    """Run through one period, with what is known from the one before."""
    passages: list[Passage] = []
    for index, stretcher in enumerate(stretchers):
        near = before[index].start.drops if before else None
        plan = before[index].plan if before and replay else ()
        passages.append(stretcher.through(charged, plan, near))
        charged = passages[-1].charged
    return passages


def _guess(
    networks: Sequence[Network], capacitors: Capacitors, stretchers: Sequence[Stretcher]
) -> Floats:
    """Return about the plates' voltages at the start of a steady period.

    As if each stretch faded towards its own rest at the pace that it has there.
    """
    rests = [settle(network, capacitors) for network in networks]
    mean: Floats = np.mean(np.broadcast_arrays(*rests), axis=0)
    end, transfer = mean, np.eye(mean.shape[1])
    for rest, stretcher in zip(rests, stretchers, strict=True):
        fading = stretcher.fading(rest)
        end = rest + (fading @ (end - rest)[:, :, None])[:, :, 0]
        transfer = fading @ transfer
    return mean + unfaded(transfer, end - mean)


def _require_durations(durations: Sequence[float], tolerance: float) -> None:
    for name, value, unit in (
        *(("duration", duration, "s") for duration in durations),
        ("tolerance", tolerance, "V"),
    ):
        if not 0.0 < value < math.inf:
            raise PhysicsDomainError(name, value, unit, "finite and more than 0")


def _require_steps(
    networks: Sequence[Network], durations: Sequence[float], tolerance: float, periods: int
) -> None:
    if not networks:
        raise PhysicsDomainError("steps", 0, "", "at least 1")
    if periods < 1:
        raise PhysicsDomainError("periods", periods, "", "at least 1")
    for network in networks:
        if network.nodes != networks[0].nodes:
            allowed = f"{networks[0].nodes}, as many as in the first step"
            raise PhysicsDomainError("nodes", network.nodes, "", allowed)
    _require_durations(durations, tolerance)


def _batch(
    networks: Sequence[Network], capacitors: Capacitors, charged: Floats | None = None
) -> int:
    lengths = {network.batch for network in networks}
    lengths |= {len(capacitors.capacitance), len(capacitors.series_resistance)}
    lengths |= set() if charged is None else {len(charged)}
    if len(lengths - {1}) > 1:
        raise PhysicsDomainError("batch", max(lengths), "", "the same for all values, or 1")
    return max(lengths)
