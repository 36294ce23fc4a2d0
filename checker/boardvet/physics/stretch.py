r"""A network with capacitors through a stretch of time in which nothing is switched.

The method is the singly diagonally implicit Runge-Kutta method of two stages with
:math:`\gamma = 1 - 1/\sqrt 2`: second order, L-stable (what is much faster than the step is gone
after it, and nothing rings), and what it says of charge is exact in sum: charge in is charge out.
R. Alexander, "Diagonally implicit Runge-Kutta methods for stiff O.D.E.'s", SIAM J. Numer. Anal.
14 (1977) 1006-1021 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from boardvet.errors import SolverError, TimeStepError
from boardvet.physics.companion import Companion, Instant
from boardvet.physics.elements import Capacitors, Floats, Network

__all__ = ["Passage", "Planned", "Stretch", "Stretcher"]

_GAMMA = 1.0 - 1.0 / math.sqrt(2.0)

_ERROR_CONSTANT = 1.0 / 6.0 - 3.0 * _GAMMA**2 + 2.0 * _GAMMA**3
_OF_END = _ERROR_CONSTANT / (0.5 - _GAMMA)
_OF_STAGE = -_OF_END / _GAMMA
_OF_START = _OF_END * (1.0 / _GAMMA - 1.0)
"""Weights of the slopes at the start, at the stage and at the end, which make up the error of a
step: no weight in sum, none on the second derivative, and on the third what the method misses."""

_SAFETY = 0.9
_LEAST_CHANGE, _MOST_CHANGE = 0.1, 8.0
_REPLAYED = 2.0
"""A step that was good for about the same run before may miss by so many tolerances."""

_SMOOTH = 30.0
_CORRECTED = 3.0
"""Where the estimate is of so many tolerances at most before it is damped, the step is corrected
by it, which makes it of third order: on a decaying exponential what is left of the error is then
under 0.34 of the estimate for any length, and 0.1 of it for lengths under half the time constant.
Else the step went over something that settles at once, of which the slopes say nothing more."""

_CHARGE = 0.03
_LEAST_CURRENT = 1e-4
"""What the charge of a light or a load may be off by in a step that is to be corrected, as a share
of what the largest current there would have made, and of that much more. [A]"""

_MOST_STEPS = 5000
_SHORTEST = 1e-9
"""Share of the stretch below which a step without a solution is not tried shorter."""


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """What happened in a stretch of time.

    Parameters
    ----------
    times : array, shape (T,)
        From 0, just after what was switched at its start, to its end. [s]
    voltages : array, shape (T, B, nodes)
        Of each node over node 0 at these times. [V]
    source_currents : array, shape (T, B, sources)
        Delivered, at these times. [A]
    junction_currents : array, shape (T, B, junctions)
        From anode to cathode, at these times. [A]
    charged : array, shape (B, n)
        Voltages across the plates at the end. [V]
    source_charge, junction_charge, load_charge, resistor_charge : array, shape (B, …)
        Integrals of the currents as `Solution` counts them. [C]
    lowest : array, shape (B, nodes)
        Least voltage of each node. [V]
    solves : int
        Networks at rest that were solved for it.
    """

    times: Floats
    voltages: Floats
    source_currents: Floats
    junction_currents: Floats
    charged: Floats
    source_charge: Floats
    junction_charge: Floats
    load_charge: Floats
    resistor_charge: Floats
    lowest: Floats
    solves: int


class Planned(NamedTuple):
    """A step that was good before: its length [s], and the `drops` of its two stages."""

    length: float
    first: Floats
    second: Floats


class _Step(NamedTuple):
    """One time step: its length, the stages' drops, and what came of it."""

    length: float
    drops: tuple[Floats, Floats]
    end: Instant
    integral: Floats
    charged: Floats
    transfer: Floats
    error: float


class Passage(NamedTuple):
    """A stretch as it was passed.

    Parameters
    ----------
    charged : array, shape (B, n)
        Voltages across the plates at the end. [V]
    transfer : array, shape (B, n, n)
        Change of these with those at the start.
    start : Instant
        The network just after the start.
    steps : tuple of _Step
        All steps.
    solves : int
        Networks that were solved.
    """

    charged: Floats
    transfer: Floats
    start: Instant
    steps: tuple[_Step, ...]
    solves: int

    @property
    def plan(self) -> tuple[Planned, ...]:
        """The steps, for passing about the same stretch once more."""
        return tuple(Planned(step.length, *step.drops) for step in self.steps)


class Stretcher:
    """A network with its capacitors, ready to be passed from any charge for a given time.

    Parameters
    ----------
    network : Network
        Without the capacitors.
    capacitors : Capacitors
        Between its nodes.
    batch : int
        Length of the batch axis, B.
    duration : float
        More than 0. [s]
    tolerance : float
        What the plates' voltages may be off by, a step. [V]
    """

    def __init__(
        self,
        network: Network,
        capacitors: Capacitors,
        batch: int,
        duration: float,
        tolerance: float,
    ) -> None:
        self._sources = len(network.sources.positive)
        self._companion = Companion(network, capacitors, batch)
        self._unit = np.eye(len(capacitors.a))
        self._duration = duration
        self._tolerance = tolerance

    def fading(self, rest: Floats) -> Floats:
        """Return about what is left at the end of a distance from the rest at the start.

        As (1 − J·t/8)⁻⁸ with the slopes' derivative J at rest, for a guess: shape (B, n, n).
        """
        companion = self._companion
        start = companion.at(rest, companion.series_resistance, None)
        inverse = np.linalg.inv(self._unit - self._duration / 8.0 * self._jacobian(start))
        return np.asarray(np.linalg.matrix_power(inverse, 8), dtype=np.float64)

    def through(
        self, charged: Floats, plan: Sequence[Planned] = (), near: Floats | None = None
    ) -> Passage:
        """Pass the stretch.

        Parameters
        ----------
        charged : array, shape (B, n)
            Voltages across the plates at the start. [V]
        plan : sequence of Planned
            Steps that were good from about the same charge.
        near : array, optional
            `drops` just after the start, where they are about known.
        """
        companion = self._companion
        start = companion.at(charged, companion.series_resistance, near)
        if not len(self._unit):
            return Passage(charged, np.zeros((companion.batch, 0, 0)), start, (), 1)
        steps, tried = self._walk(charged, start, plan)
        transfer = reduce(lambda before, step: step.transfer @ before, steps, self._unit)
        return Passage(steps[-1].charged, transfer, start, tuple(steps), 1 + 2 * tried)

    def told(self, passage: Passage) -> Stretch:
        """Return what happened in a passage."""
        start, steps, companion = passage.start, passage.steps, self._companion
        if steps:
            times = np.cumsum([0.0, *(step.length for step in steps)])
            instants = [start.values, *(step.end.values for step in steps)]
            integral = np.sum([step.integral for step in steps], axis=0)
        else:
            # nothing moves
            times = np.array([0.0, self._duration])
            instants = [start.values, start.values]
            integral = start.values * self._duration
        charge = companion.solution(integral, self._duration)
        each = [companion.solution(instant) for instant in instants]
        voltages = np.array([solution.voltages for solution in each])
        count = self._sources
        return Stretch(
            times=times,
            voltages=voltages,
            source_currents=np.array([solution.source_currents[:, :count] for solution in each]),
            junction_currents=np.array([solution.junction_currents for solution in each]),
            charged=passage.charged,
            source_charge=charge.source_currents[:, :count],
            junction_charge=charge.junction_currents,
            load_charge=charge.load_currents,
            resistor_charge=charge.resistor_currents,
            lowest=voltages.min(axis=0),
            solves=passage.solves,
        )

    def _walk(
        self, charged: Floats, start: Instant, plan: Sequence[Planned]
    ) -> tuple[list[_Step], int]:
        """Return the steps from the start to the end, and how many were tried."""
        steps: list[_Step] = []
        last, left, ahead = start, self._duration, list(plan)
        length = ahead[0].length if ahead else self._first_length(start)
        for tried in range(1, _MOST_STEPS + 1):
            length = _fitted(length, left, planned=bool(ahead))
            near = ahead[0][1:] if ahead else (last.drops, last.drops)
            try:
                step = self._step(charged, last, length, near)
            except SolverError:
                if length < _SHORTEST * self._duration:
                    raise
                length, ahead = _LEAST_CHANGE * length, []
                continue
            if step.error <= (_REPLAYED if ahead else 1.0):
                steps.append(step)
                charged, last = step.charged, step.end
                if length == left:
                    return steps, tried
                left -= length
                ahead = ahead[1:]
            else:
                ahead = []
            length = ahead[0].length if ahead else length * _change(step.error)
        raise TimeStepError(self._duration - left, self._duration, _MOST_STEPS)

    def _step(
        self, charged: Floats, last: Instant, length: float, near: tuple[Floats, Floats]
    ) -> _Step:
        """Try a step."""
        companion, unit = self._companion, self._unit
        weight = _GAMMA * length / companion.capacitance
        resistance = weight + companion.series_resistance
        first = companion.at(charged, resistance, near[0])
        inner = charged + (1.0 - _GAMMA) * length * first.slope
        second = companion.at(inner, resistance, near[1])
        # how the plates' voltages at both stages follow those they start from
        one, two = (
            unit - weight[:, :, None] * stage.responses[:, companion.branches]
            for stage in (first, second)
        )
        missed = _OF_START * last.values + _OF_STAGE * first.values + _OF_END * second.values
        missed *= length
        raw = companion.slope(missed)
        damped = (one @ raw[:, :, None])[:, :, 0]
        correction = (two @ damped[:, :, None])[:, :, 0]
        judged, smooth = self._judged(raw, correction)
        error = float(judged)
        if smooth:
            error = max(error, self._judged_charge(missed / length, (last, first, second)))
        integral = length * ((1.0 - _GAMMA) * first.values + _GAMMA * second.values)
        after, end = inner + _GAMMA * length * second.slope, second
        if smooth:
            end = companion.moved(second, damped)
            after = after + correction
            for stage, shift in ((first, raw), (second, damped)):
                missed += _GAMMA * length * (stage.responses @ shift[:, :, None])[:, :, 0]
            integral += missed
        return _Step(
            length,
            (first.drops, second.drops),
            end,
            integral,
            after,
            two @ (unit + (1.0 - _GAMMA) / _GAMMA * (one - unit)),
            error,
        )

    def _judged(
        self, raw: Floats, correction: Floats, axes: tuple[int, ...] = (0, 1)
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """Return the error of a step as a share of what is allowed, and whether to correct it."""
        smooth = np.abs(raw).max(axis=axes) <= _SMOOTH * self._tolerance
        error = np.abs(correction).max(axis=axes) / self._tolerance
        return np.where(smooth, error / _CORRECTED, error), smooth

    def _jacobian(self, instant: Instant) -> Floats:
        """Return the derivative of the slopes by the plates' voltages, shape (B, n, n). [1/s]."""
        response = instant.responses[:, self._companion.branches]
        return -response / self._companion.capacitance[:, :, None]

    def _judged_charge(self, missed: Floats, instants: Sequence[Instant]) -> float:
        """Return the error of the charge through lights and loads as a share of what is allowed.

        A light that goes out while a load pulls the rail down evenly changes no voltage by that.
        """
        curved = self._companion.curved
        most = np.abs([instant.values[:, curved] for instant in instants]).max(axis=0)
        share = np.abs(missed[:, curved]) / (most + _LEAST_CURRENT)
        return float(share.max(initial=0.0)) / _CHARGE

    def _first_length(self, start: Instant) -> float:
        """Return the longest first step that is good if all stays as linear as it is.

        One that is much longer than what settles at once steps over it. So lengths are tried from
        the whole stretch down, some at a time.
        """
        jacobian = self._jacobian(start)
        slope = start.slope[:, :, None]
        lengths = self._duration * 0.5 ** np.arange(8.0)
        for _ in range(8):
            scale = lengths[:, None, None, None]
            stage = np.linalg.inv(self._unit - _GAMMA * scale * jacobian)
            first = stage @ slope
            second = stage @ (first + (1.0 - _GAMMA) / _GAMMA * (stage @ first - first))
            raw = scale * (_OF_START * slope + _OF_STAGE * first + _OF_END * second)
            error, _ = self._judged(raw, stage @ (stage @ raw), (1, 2, 3))
            good = np.flatnonzero(error <= 1.0)
            if good.size:
                return float(lengths[good[0]])
            lengths = lengths * 0.5 ** len(lengths)
        return float(lengths[0])


def _change(error: float) -> float:
    """Return by what to change the length after a step with this share of the error allowed."""
    wanted = _SAFETY / math.cbrt(max(error, 1e-9))
    return min(max(wanted, _LEAST_CHANGE), _MOST_CHANGE)


def _fitted(length: float, left: float, *, planned: bool) -> float:
    """Return the length of a step so that no sliver is left at the end."""
    if length >= left * (1.0 - 1e-9):
        return left
    return length if planned or 2.0 * length <= left else left / 2.0
