"""The output voltage of a fixed regulator, as the end of its part number codes it."""

from __future__ import annotations

import re

__all__ = ["output_voltage"]

_DECIMAL = re.compile(r"(?i)(?<![\d.])(\d{1,2})[.V](\d{1,2})(?![\d.])")
_TENTHS = re.compile(r"(?i)^[A-Z]{0,4}[-_ ]?(\d\d)")
_DASHED = re.compile(r"-(\d)-(\d)(?!\d)")
_WHOLE = re.compile(r"(?i)^[A-Z]{0,4}[-_ ](\d)V?(?![\d.A-Z-])")
_LONE = re.compile(r"(?i)^[A-Z]{0,4}[-_ ]?(\d{1,2})V?(?![\d.])")
_LOWEST, _HIGHEST = 0.8, 24.0


def output_voltage(code: str, rest: str) -> float | None:
    """Return the voltage that the rest of a part number codes, None if it codes none.

    Parameters
    ----------
    code : str
        "tenths" (``33`` and ``3302E`` are 3.3 V), "volts" (``05`` is 5 V) or "" (no code).
    rest : str
        What follows the literal prefix.

    Examples
    --------
    >>> output_voltage("tenths", "T-3302E/TT")
    3.3
    >>> output_voltage("tenths", "K-3.3TRG1")
    3.3
    >>> output_voltage("volts", "L05")
    5.0
    >>> output_voltage("tenths", "-ADJ") is None
    True
    """
    if not code:
        return None
    found: float | None = None
    if decimal := _DECIMAL.search(rest):
        found = float(f"{decimal[1]}.{decimal[2]}")
    elif dashed := _DASHED.search(rest):
        found = float(f"{dashed[1]}.{dashed[2]}")
    elif code == "tenths" and (whole := _WHOLE.match(rest)):
        found = float(whole[1])
    elif code == "tenths" and (tenths := _TENTHS.match(rest)):
        found = int(tenths[1]) / 10
    elif code == "volts" and (volts := _LONE.match(rest)):
        found = float(volts[1])
    return found if found is not None and _LOWEST <= found <= _HIGHEST else None
