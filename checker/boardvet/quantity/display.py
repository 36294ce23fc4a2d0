"""Quantities as people write them: "4.7 kΩ", "−10 °C", "225 mAh", "9.4 days"."""

from __future__ import annotations

import math

from boardvet.quantity.unit import PREFIXES, YEAR, unit_of

__all__ = ["show", "show_time"]

_STEPS = "fpnum kMG"
_TIMES = ((YEAR, "years"), (86400.0, "days"), (3600.0, "h"), (60.0, "min"))


def show(value: float, unit: str, figures: int = 3) -> str:
    """Return a quantity with SI prefix, sign and unit.

    Parameters
    ----------
    value : float
        In the SI unit named by `unit`; a charge is shown in ampere hours, a mass in grams, a
        time as by `show_time`.
    unit : str
        SI symbol in ASCII, "" for none.
    figures : int
        Significant figures, at least 1; zeros at the end are left out.

    Examples
    --------
    >>> show(4700, "ohm"), show(-10, "degC"), show(0.012, "A"), show(810, "C")
    ('4.7 kΩ', '−10 °C', '12 mA', '225 mAh')
    """
    if unit == "s":
        return show_time(value, figures)
    kind = unit_of(unit)
    if unit == "C":
        return _scaled(value / 3600.0, "num", "Ah", figures)
    if unit == "kg":
        return _scaled(value * 1000.0, "um k", "g", figures)
    return _scaled(value, kind.prefixes.replace("c", ""), kind.sign, figures)


def show_time(seconds: float, figures: int = 2) -> str:
    """Return a time in the unit that suits it: years, days, h, min, s, ms and so on.

    Parameters
    ----------
    seconds : float
        The time. [s]
    figures : int
        Significant figures, at least 1.

    Examples
    --------
    >>> show_time(812_000), show_time(18_700), show_time(0.035)
    ('9.4 days', '5.2 h', '35 ms')
    """
    for size, name in _TIMES:
        if math.isfinite(seconds) and _rounded(abs(seconds) / size, figures) >= _least(name):
            return _scaled(seconds / size, "", name, figures)
    return _scaled(seconds, "pnum", "s", figures)


def _least(name: str) -> float:
    """Return the count from which a unit of time reads better than the next smaller one."""
    return 2.0 if name in ("years", "days", "min") else 1.0


def _scaled(value: float, prefixes: str, sign: str, figures: int) -> str:
    if math.isnan(value):
        return f"unknown {sign}".rstrip()
    if math.isinf(value):
        return f"{'−' if value < 0 else ''}∞ {sign}".rstrip()
    prefix = ""
    if prefixes and value:
        known = [step.strip() for step in _STEPS if step.strip() in prefixes or step == " "]
        for prefix in known:
            if _rounded(abs(value) / PREFIXES[prefix], figures) < 1000:
                break
    number = _plain(_rounded(abs(value) / PREFIXES[prefix], figures))
    minus = "−" if value < 0 else ""
    return f"{minus}{number} {prefix.replace('u', 'µ')}{sign}".rstrip()


def _rounded(value: float, figures: int) -> float:
    return float(f"{value:.{max(figures, 1)}g}")


def _plain(value: float) -> str:
    if value and not 1e-6 <= value < 1e15:
        return f"{value:g}"
    return f"{value:.12f}".rstrip("0").rstrip(".")
