"""How long a cell lasts, from the current that is drawn at each share of its charge used.

Arrays have a leading axis of boards and a last axis over the share of charge used.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from boardvet.errors import PhysicsDomainError

__all__ = ["elapsed", "first_below", "mean_until", "time_until"]

Floats = NDArray[np.float64]

_ALIKE = 1e-6
"""Two currents that differ by less than this share are taken as equal."""


def elapsed(used: Floats, current: Floats, capacity: float | Floats) -> Floats:
    r"""Return the time until each share of the charge is used.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used, rising from the first. [–]
    current : array, shape (..., U)
        Mean current drawn there, at least 0. [A]
    capacity : float or array, shape (...)
        Charge of a fresh cell, more than 0. [C]

    Returns
    -------
    array, shape (..., U)
        0 at the first share; infinite behind a stretch in which nothing is drawn. [s]

    Raises
    ------
    PhysicsDomainError
        If shares do not rise, a current is negative or not a number, or a capacity is not more
        than 0.

    Notes
    -----
    :math:`t = Q \int \mathrm{d}u / I(u)`. Between two shares the current is a straight line, of
    which the integral is exact:

    .. math:: \Delta t = Q \, \Delta u \, \frac{\ln(I_2 / I_1)}{I_2 - I_1}

    Examples
    --------
    1000 C at 10 mA: 50 000 s for half of it. Falling in a straight line from 10 mA to 5 mA:
    1000 C · ln 2 / 5 mA = 138 629 s.

    >>> half = np.array([0.0, 0.5, 1.0])
    >>> elapsed(half, np.full(3, 10e-3), 1e3).tolist()
    [0.0, 50000.0, 100000.0]
    >>> elapsed(half, np.array([10e-3, 7.5e-3, 5e-3]), 1e3).round().tolist()
    [0.0, 57536.0, 138629.0]
    """
    _check(used, current, capacity)
    before, after = current[..., :-1], current[..., 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        alike = np.abs(after - before) <= _ALIKE * np.maximum(after, before)
        mean = np.where(alike, (before + after) / 2.0, (after - before) / np.log(after / before))
        mean = np.where((before <= 0.0) | (after <= 0.0), 0.0, mean)
        charge = np.asarray(capacity, dtype=np.float64)[..., None] * np.diff(used)
        steps = np.where(mean > 0.0, charge / mean, np.inf)
    steps = np.where(np.diff(used) > 0.0, steps, 0.0)
    total = np.cumsum(steps, axis=-1)
    return np.concatenate([np.zeros((*total.shape[:-1], 1)), total], axis=-1)


def first_below(used: Floats, volts: Floats, limit: float | Floats) -> Floats:
    """Return the share used when a voltage first falls below a limit, infinite if it never does.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used, rising. [–]
    volts : array, shape (..., U)
        The voltage there, a straight line between. [V]
    limit : float or array, shape (...)
        [V]

    Returns
    -------
    array, shape (...)
        The first share where it begins below the limit. [–]

    Examples
    --------
    From 3 V to 2 V in a straight line, below 2.4 V from six tenths on:

    >>> used = np.linspace(0.0, 1.0, 11)
    >>> [float(first_below(used, 3.0 - used, limit).round(9)) for limit in (2.4, 1.0)]
    [0.6, inf]
    """
    above = volts - np.asarray(limit, dtype=np.float64)[..., None]
    under = above < 0.0
    index = np.argmax(under, axis=-1)
    never = ~under.any(axis=-1)
    left = np.maximum(index - 1, 0)
    high = np.take_along_axis(above, left[..., None], axis=-1)[..., 0]
    low = np.take_along_axis(above, index[..., None], axis=-1)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(index > 0, high / (high - low), 0.0)
    crossed = used[left] + part * (used[index] - used[left])
    return np.asarray(np.where(never, np.inf, crossed), dtype=np.float64)


def time_until(used: Floats, times: Floats, stop: float | Floats) -> Floats:
    """Return the time at a share of charge used, between the shares in a straight line.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used, rising. [–]
    times : array, shape (..., U)
        When they are reached, as `elapsed` returns it. [s]
    stop : float or array, shape (...)
        The share, within those of `used`. [–]

    Examples
    --------
    >>> float(time_until(np.array([0.0, 1.0]), np.array([0.0, 100.0]), 0.25))
    25.0
    """
    share = np.broadcast_to(np.asarray(stop, dtype=np.float64), times.shape[:-1])
    index = np.clip(np.searchsorted(used, share), 1, len(used) - 1)
    low = np.take_along_axis(times, (index - 1)[..., None], axis=-1)[..., 0]
    high = np.take_along_axis(times, index[..., None], axis=-1)[..., 0]
    span = used[index] - used[index - 1]
    part = np.clip((share - used[index - 1]) / np.where(span > 0.0, span, 1.0), 0.0, 1.0)
    with np.errstate(invalid="ignore"):
        inside = low + part * (high - low)
    return np.asarray(np.where(part > 0.0, inside, low), dtype=np.float64)


def mean_until(used: Floats, times: Floats, values: Floats, stop: float) -> float:
    """Return the mean over time of a quantity, from fresh to a share of the charge used.

    Parameters
    ----------
    used, times, values : array, shape (U,)
        Shares, when they are reached [s], and the quantity there.
    stop : float
        The last share. [–]

    Examples
    --------
    >>> mean_until(np.array([0.0, 1.0]), np.array([0.0, 10.0]), np.array([4.0, 2.0]), 1.0)
    3.0
    """
    end = float(time_until(used, times, stop))
    inside = used < stop
    at = np.append(times[inside], end)
    held = np.append(values[inside], np.interp(stop, used, values))
    if not np.isfinite(end) or end <= 0.0:
        return float(held[-1] if np.isinf(end) else held[0])
    return float(np.trapezoid(held, at) / end)


def _check(used: Floats, current: Floats, capacity: float | Floats) -> None:
    if used.ndim != 1 or (np.diff(used) < 0.0).any():
        raise PhysicsDomainError("used", float(used.min()), "", "rising")
    if not (current >= 0.0).all():
        raise PhysicsDomainError("current", float(np.nanmin(current)), "A", "at least 0")
    if not (np.asarray(capacity) > 0.0).all():
        raise PhysicsDomainError("capacity", float(np.min(capacity)), "C", "more than 0")
