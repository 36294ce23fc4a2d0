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

_PARTS = 8
"""Into how many parts the stretch between two shares is cut."""

_STEEP = 1.5
"""Where a current changes by more than this factor from share to share, it fades: an LED below its
forward voltage, of which the logarithm is near a straight line."""


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
    :math:`t = Q \int \mathrm{d}u / I(u)`. Between two shares the current follows a smooth curve
    that turns back nowhere (cubic, slopes after Fritsch and Butland), or its logarithm does where
    the current fades; a straight line stays one. Between parts of it the integral is that of
    straight lines:

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
    charge = np.asarray(capacity, dtype=np.float64)[..., None] * np.diff(used)
    parts = _between(used, current)
    total = np.cumsum(charge * _per_ampere(parts).mean(axis=-1), axis=-1)
    return np.concatenate([np.zeros((*total.shape[:-1], 1)), total], axis=-1)


def _per_ampere(parts: Floats) -> Floats:
    """Return the mean of 1/I from each number to the next, in a straight line between. [1/A]."""
    before, after = parts[..., :-1], parts[..., 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        alike = np.abs(after - before) <= _ALIKE * np.maximum(after, before)
        mean = np.where(alike, (before + after) / 2.0, (after - before) / np.log(after / before))
        mean = np.where((before <= 0.0) | (after <= 0.0), 0.0, mean)
        return np.where(mean > 0.0, 1.0 / mean, np.inf)


def _between(used: Floats, current: Floats) -> Floats:
    """Return the current at the ends and at parts of each stretch, shape (..., U-1, P+1)."""
    left, right = current[..., :-1, None], current[..., 1:, None]
    at = np.linspace(0.0, 1.0, _PARTS + 1)
    drawn = (left > 0.0) & (right > 0.0)
    steep = drawn & (np.maximum(left, right) > _STEEP * np.minimum(left, right))
    plain = _smooth(used, current, at)
    if not steep.any():
        return plain
    logarithm = np.log(np.where(current > 0.0, current, 1.0))
    return np.where(steep, np.exp(_smooth(used, logarithm, at)), plain)


def _smooth(used: Floats, values: Floats, at: Floats) -> Floats:
    """Return a smooth curve through values at parts of each stretch, turning back nowhere."""
    width = np.diff(used)
    secants = np.diff(values) / width
    one, other = 2.0 * width[1:] + width[:-1], width[1:] + 2.0 * width[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        same = secants[..., :-1] * secants[..., 1:] > 0.0
        inner = (one + other) / (one / secants[..., :-1] + other / secants[..., 1:])
    slopes = np.where(same, inner, 0.0)
    slopes = np.concatenate([secants[..., :1], slopes, secants[..., -1:]], axis=-1)
    return _cubic(values, slopes, width, at)


def _cubic(values: Floats, slopes: Floats, width: Floats, at: Floats) -> Floats:
    """Return the cubic curves with these values and slopes at their ends, shape (..., U-1, P)."""
    low, high = values[..., :-1, None], values[..., 1:, None]
    rise, fall = (slopes[..., :-1] * width)[..., None], (slopes[..., 1:] * width)[..., None]
    back = 1.0 - at
    inside = at * back * (rise * back - fall * at)
    return np.asarray(low + (high - low) * at * at * (3.0 - 2.0 * at) + inside, dtype=np.float64)


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
    """Return the time at a share of charge used, on a smooth curve between the shares.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used, rising. [–]
    times : array, shape (..., U)
        When they are reached, as `elapsed` returns it. [s]
    stop : float or array, shape (...)
        The share, within those of `used`. [–]

    Notes
    -----
    The slope at a share is the geometric mean of those before and after, since a current that
    fades does so about exponentially.

    Examples
    --------
    >>> float(time_until(np.array([0.0, 1.0]), np.array([0.0, 100.0]), 0.25))
    25.0
    """
    share = np.broadcast_to(np.asarray(stop, dtype=np.float64), times.shape[:-1])
    index = np.clip(np.searchsorted(used, share), 1, len(used) - 1)
    span = used[index] - used[index - 1]
    part = np.clip((share - used[index - 1]) / span, 0.0, 1.0)

    ends = index[..., None] - np.array([1, 0])
    low, high = np.moveaxis(np.take_along_axis(times, ends, axis=-1), -1, 0)
    pace = np.moveaxis(np.take_along_axis(_pace(used, times), ends, axis=-1), -1, 0)
    back = 1.0 - part
    with np.errstate(invalid="ignore"):
        rise, fall = pace * span
        bend = part * back * (rise * back - fall * part)
        inside = low + (high - low) * part * part * (3.0 - 2.0 * part) + bend
        inside = np.where(np.isfinite(high), inside, np.inf)
    return np.asarray(np.where(part > 0.0, inside, low), dtype=np.float64)


def _pace(used: Floats, times: Floats) -> Floats:
    """Return the time that a share takes at each share. [s]."""
    width = np.diff(used)
    with np.errstate(divide="ignore", invalid="ignore"):
        secants = np.diff(times) / width
        inner = np.sqrt(secants[..., :-1] * secants[..., 1:])
        first, last = secants[..., :1], secants[..., -1:]
        if len(width) > 1:
            first = first * np.sqrt(first / secants[..., 1:2])
            last = last * np.sqrt(last / secants[..., -2:-1])
    slopes = np.concatenate([first, inner, last], axis=-1)
    beyond = np.full(secants[..., :1].shape, np.inf)
    before = np.concatenate([beyond, secants], axis=-1)
    after = np.concatenate([secants, beyond], axis=-1)
    return np.asarray(np.fmin(slopes, 3.0 * np.minimum(before, after)), dtype=np.float64)


def mean_until(used: Floats, current: Floats, values: Floats, stop: float) -> Floats:
    r"""Return the mean over time of what consumers draw, from fresh to a share used.

    Parameters
    ----------
    used : array, shape (U,)
        Shares of the charge used, rising from 0. [–]
    current : array, shape (U,)
        What all draw there, which tells how long each share takes. [A]
    values : array, shape (..., U)
        What each of some consumers draws there. [A]
    stop : float
        The last share. [–]

    Returns
    -------
    array, shape (...)
        0 where nothing is drawn for ever; what is drawn fresh where the end is at the beginning.
        [A]

    Notes
    -----
    :math:`\int (v / I) \, \mathrm{d}u \, / \int \mathrm{d}u / I`: the mean of everything
    together is the charge used over the time that it takes.

    Examples
    --------
    4 mA fading to 2 mA in a straight line: 2 mA / ln 2 in the mean over time.

    >>> fading = np.linspace(4e-3, 2e-3, 11)
    >>> float(1e3 * mean_until(np.linspace(0.0, 1.0, 11), fading, fading, 1.0))
    2.885
    """
    if stop <= used[0]:
        return np.asarray(values[..., 0], dtype=np.float64)
    total = time_until(used, elapsed(used, current, 1.0), stop)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(current > 0.0, values / current, 0.0)
    index = int(np.clip(np.searchsorted(used, stop), 1, len(used) - 1))
    part = (stop - used[index - 1]) / (used[index] - used[index - 1])
    before, after = share[..., index - 1], share[..., index]
    last = before + part * (after - before)
    whole = np.trapezoid(share[..., :index], used[:index], axis=-1)
    rest = (before + last) / 2.0 * (stop - used[index - 1])
    return np.asarray((whole + rest) / total, dtype=np.float64)


def _check(used: Floats, current: Floats, capacity: float | Floats) -> None:
    if used.ndim != 1 or len(used) < 2 or not (np.diff(used) > 0.0).all():
        raise PhysicsDomainError("used", float(np.min(used)), "", "at least two, rising")
    if not ((current >= 0.0) & np.isfinite(current)).all():
        raise PhysicsDomainError("current", float(np.min(current)), "A", "finite, at least 0")
    if not (np.asarray(capacity) > 0.0).all():
        raise PhysicsDomainError("capacity", float(np.min(capacity)), "C", "more than 0")
