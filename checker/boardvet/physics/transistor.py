"""Resistors of transistors as switches: base, gate, and the one that holds a gate off."""

from __future__ import annotations

import math

from boardvet.errors import PhysicsDomainError
from boardvet.physics.domain import require_at_least_zero, require_positive

__all__ = [
    "FORCED_GAIN",
    "base_resistance",
    "gate_hold_for_leakage",
    "gate_hold_for_time",
    "gate_series_resistance",
]

FORCED_GAIN = 10.0
"""Collector over base current at which makers specify saturation (Nexperia MMBT3904)."""


def base_resistance(
    drive: float, base_emitter: float, collector_current: float, gain: float = FORCED_GAIN
) -> float:
    r"""Return the base resistor that saturates a bipolar transistor.

    Parameters
    ----------
    drive : float
        Lowest high level of the pin, more than `base_emitter`. [V]
    base_emitter : float
        VBE while saturated, more than 0. [V]
    collector_current : float
        To be switched, more than 0. [A]
    gain : float, default 10
        Forced: collector over base current, more than 0.

    Returns
    -------
    float
        :math:`(V_{OH} - V_{BE}) \, \beta / I_C`, the largest that still saturates it. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    MMBT3904 with 10 mA: VBE(sat) is at most 0.85 V at 1 mA of base current [1]_, so 3.0 V leave
    2.15 V for 1 mA:

    >>> base_resistance(3.0, 0.85, 10e-3)
    2150.0

    References
    ----------
    .. [1] Nexperia MMBT3904: VCE(sat) 200 mV and VBE(sat) 650 to 850 mV at 10 mA and 1 mA.
    """
    require_positive("base_emitter", base_emitter, "V")
    require_positive("collector_current", collector_current, "A")
    require_positive("gain", gain, "")
    if not (math.isfinite(drive) and drive > base_emitter):
        raise PhysicsDomainError("drive", drive, "V", f"finite and above {base_emitter:g}")
    return (drive - base_emitter) * gain / collector_current


def gate_series_resistance(drive: float, peak: float, pin_resistance: float = 0.0) -> float:
    r"""Return the least resistor between pin and gate that keeps the charging peak in bounds.

    Parameters
    ----------
    drive : float
        Highest voltage of the pin, at least 0. [V]
    peak : float
        Most current of the pin, more than 0. [A]
    pin_resistance : float, default 0
        Of the pin itself, at least 0. [Ω]

    Returns
    -------
    float
        :math:`V / I - R_\mathrm{pin}`, 0 where the pin limits itself: an empty gate is a short
        at the first instant. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    By hand: 3.3 V / 20 mA = 165 Ω, of which the pin is 30 Ω:

    >>> gate_series_resistance(3.3, 20e-3, 30.0)
    135.0
    """
    require_at_least_zero("drive", drive, "V")
    require_positive("peak", peak, "A")
    require_at_least_zero("pin_resistance", pin_resistance, "Ω")
    return max(drive / peak - pin_resistance, 0.0)


def gate_hold_for_leakage(voltage: float, leakage: float) -> float:
    """Return the largest gate-source resistor that a leakage lifts by no more than a voltage.

    Parameters
    ----------
    voltage : float
        Allowed at the gate while nothing drives it, more than 0. [V]
    leakage : float
        Of gate and open pin together, more than 0. [A]

    Returns
    -------
    float
        In ohms. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    By hand: 0.5 V / 1 µA = 500 kΩ:

    >>> gate_hold_for_leakage(0.5, 1e-6)
    500000.0
    """
    require_positive("voltage", voltage, "V")
    require_positive("leakage", leakage, "A")
    return voltage / leakage


def gate_hold_for_time(drive: float, threshold: float, capacitance: float, within: float) -> float:
    r"""Return the largest gate-source resistor that alone switches off within a time.

    Parameters
    ----------
    drive : float
        Gate voltage at the start, more than `threshold`. [V]
    threshold : float
        Gate voltage at which it is off, more than 0. [V]
    capacitance : float
        Of the gate, more than 0. [F]
    within : float
        More than 0. [s]

    Returns
    -------
    float
        :math:`t / (C \ln(V / V_{th}))`. [Ω]

    Raises
    ------
    PhysicsDomainError
        If an argument is out of its range.

    Examples
    --------
    By hand: ln(3 / 1) = 1.0986; 1 ms / (1 nF · 1.0986) = 910.2 kΩ:

    >>> gate_hold_for_time(3.0, 1.0, 1e-9, 1e-3) / 1e3
    910.2
    """
    require_positive("threshold", threshold, "V")
    require_positive("capacitance", capacitance, "F")
    require_positive("within", within, "s")
    if not (math.isfinite(drive) and drive > threshold):
        raise PhysicsDomainError("drive", drive, "V", f"finite and above {threshold:g}")
    return within / (capacitance * math.log(drive / threshold))
