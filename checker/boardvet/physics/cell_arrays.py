"""The curve of a cell at many shares of charge used at once, as arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boardvet.errors import PhysicsDomainError
from boardvet.physics.cell import REFERENCE_TEMPERATURE, CellCurve, CurvePoints

__all__ = ["curve_arrays"]

Floats = NDArray[np.float64]


def curve_arrays(
    curve: CellCurve,
    used: Sequence[float] | Floats,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
    duration: ArrayLike | None = None,
) -> tuple[Floats, Floats]:
    """Return voltage without load and resistance at each share of charge used.

    Parameters
    ----------
    curve : CellCurve
        The cell.
    used : array_like, shape (B,)
        Shares of the charge used, 0 to 1.
    temperature : array_like, shape () or (B,)
        Temperature of the cell. [°C]
    duration : array_like, shape () or (B,), optional
        How long the pulse lasts, more than 0; absent for a steady load. [s]

    Returns
    -------
    (array, array), shape (B,) each
        [V] and [Ω]; the same numbers as `cell.open_circuit_voltage` and `cell.resistance` give.

    Raises
    ------
    PhysicsDomainError
        If a share is not from 0 to 1, or a duration is not more than 0.

    Examples
    --------
    >>> cell = CellCurve(((0.0, 3.2), (1.0, 2.0)), ((0.0, 12.0), (1.0, 40.0)))
    >>> [each.tolist() for each in curve_arrays(cell, [0.0, 0.5])]
    [[3.2, 2.6], [12.0, 26.0]]
    """
    shares = np.asarray(used, dtype=np.float64)
    if not ((shares >= 0) & (shares <= 1)).all():
        raise PhysicsDomainError("used", float(shares.min()), "", "from 0 to 1")
    ohms = _between(curve.resistance_points, shares)
    ohms = ohms * _between(curve.temperature_points, np.asarray(temperature, dtype=np.float64))
    if duration is None:
        ohms = ohms * curve.pulse_points[-1][1]
    else:
        lengths = np.asarray(duration, dtype=np.float64)
        if not (lengths > 0).all():
            raise PhysicsDomainError("duration", float(lengths.min()), "s", "more than 0")
        at, factors = zip(*curve.pulse_points, strict=True)
        ohms = ohms * np.interp(np.log(lengths), np.log(at), factors)
    return _between(curve.voltage_points, shares), ohms


def _between(points: CurvePoints, at: Floats) -> Floats:
    abscissa, values = zip(*points, strict=True)
    return np.asarray(np.interp(at, abscissa, values), dtype=np.float64)
