"""Units and prefixes: how a person spells them, and which of them make sense together.

A prefix that nobody means is refused instead of read: "20 MA" is a slip of the shift key, not
twenty million amperes. Which prefixes a unit takes is therefore part of the unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["LOOKALIKES", "PREFIXES", "YEAR", "Unit", "unit_of"]

PREFIXES: Mapping[str, float] = {
    "f": 1e-15,
    "p": 1e-12,
    "n": 1e-9,
    "u": 1e-6,
    "m": 1e-3,
    "c": 1e-2,
    "": 1.0,
    "k": 1e3,
    "M": 1e6,
    "G": 1e9,
}
"""Factor of each SI prefix in use on small boards (SI brochure, table 7)."""

YEAR = 365.25 * 86400.0
"""A year of 365.25 days [s]; 96 000 h are then 10.95 years."""

LOOKALIKES = {
    ord("\N{MICRO SIGN}"): "u",
    ord("\N{GREEK SMALL LETTER MU}"): "u",
    ord("\N{OHM SIGN}"): "ohm",
    ord("\N{GREEK CAPITAL LETTER OMEGA}"): "ohm",
    ord("\N{DEGREE SIGN}"): "deg",
    ord("\N{MINUS SIGN}"): "-",
    ord("\N{NO-BREAK SPACE}"): " ",
    ord("\N{THIN SPACE}"): " ",
    ord("\N{NARROW NO-BREAK SPACE}"): " ",
}
"""For `str.translate`: signs of several code points to one ASCII spelling."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the vocabulary and how people write it.

    Parameters
    ----------
    symbol : str
        SI symbol in ASCII, as in `Known.unit`.
    prefixes : str
        The prefixes that make sense with it, one letter each; no prefix always does.
    spellings : Mapping[str, float]
        Lower-case spellings that take prefixes, each with its size in the SI unit.
    fixed : Mapping[str, float]
        Lower-case spellings that take none ("days", "%").
    sign : str
        The symbol to print.
    example : str
        A right text, for error messages.
    code : bool
        True if IEC 60062 codes ("4k7", "100n") may stand for it.
    """

    symbol: str
    prefixes: str
    spellings: Mapping[str, float]
    fixed: Mapping[str, float]
    sign: str
    example: str
    code: bool = False

    def factor(self, spelling: str) -> float | None:
        """Return the size of a spelling, such as "mV", in the SI unit; None if it is none."""
        lower = spelling.lower()
        if lower in self.fixed:
            return self.fixed[lower]
        if lower in self.spellings:
            return self.spellings[lower]
        for length in (3, 1):
            prefix, base = spelling[:length], lower[length:]
            if prefix.lower() == "meg":
                prefix = "M"
            elif prefix == "K":
                prefix = "k"
            if prefix and prefix in self.prefixes and (base in self.spellings or self._bare(base)):
                return PREFIXES[prefix] * self.spellings.get(base, 1.0)
        return None

    def _bare(self, base: str) -> bool:
        return self.code and not base


_TIMES = {
    "min": 60.0,
    "minute": 60.0,
    "minutes": 60.0,
    "h": 3600.0,
    "hour": 3600.0,
    "hours": 3600.0,
    "d": 86400.0,
    "day": 86400.0,
    "days": 86400.0,
    "week": 604800.0,
    "weeks": 604800.0,
    "month": YEAR / 12,
    "months": YEAR / 12,
    "year": YEAR,
    "years": YEAR,
}
_CELSIUS = {"degc": 1.0, "deg c": 1.0, "c": 1.0, "celsius": 1.0}
_PER_WATT = {"k/w": 1.0, "degc/w": 1.0, "c/w": 1.0}
_LENGTHS = {"in": 0.0254, "inch": 0.0254, "mil": 25.4e-6, "mils": 25.4e-6}

_UNITS = {
    unit.symbol: unit
    for unit in (
        Unit("V", "numk", {"v": 1, "volt": 1, "volts": 1}, {}, "V", "3.3 V"),
        Unit("A", "fpnumk", {"a": 1, "amp": 1, "amps": 1}, {}, "A", "20 mA"),
        Unit("ohm", "umkMG", {"ohm": 1, "ohms": 1, "r": 1}, {}, "Ω", "4.7 kohm", code=True),
        Unit("F", "fpnum", {"f": 1, "farad": 1}, {}, "F", "100 nF", code=True),
        Unit("H", "pnum", {"h": 1, "henry": 1}, {}, "H", "10 uH", code=True),
        Unit("s", "pnum", {"s": 1, "sec": 1, "second": 1, "seconds": 1}, _TIMES, "s", "5 ms"),
        Unit("m", "numck", {"m": 1}, _LENGTHS, "m", "5 mm"),
        Unit("W", "pnumk", {"w": 1, "watt": 1, "watts": 1}, {}, "W", "100 mW"),
        Unit("Hz", "kMG", {"hz": 1, "hertz": 1}, {}, "Hz", "400 kHz"),
        Unit("degC", "", {}, _CELSIUS, "°C", "25 degC"),
        Unit("K/W", "", {}, _PER_WATT, "K/W", "200 K/W"),
        Unit("C", "pnumk", {"c": 1, "ah": 3600.0, "as": 1}, {}, "C", "225 mAh"),
        Unit("kg", "um", {"g": 1e-3}, {"kg": 1.0}, "kg", "3 g"),
        Unit("", "", {}, {"": 1.0, "%": 0.01, "percent": 0.01, "ppm": 1e-6}, "", "10 %"),
    )
}


def unit_of(symbol: str) -> Unit:
    """Return the unit of a symbol; a symbol that is not in the table takes every prefix.

    Examples
    --------
    >>> unit_of("V").factor("mV")
    0.001
    >>> unit_of("C").factor("mAh")
    3.6
    >>> unit_of("A").factor("MA") is None
    True
    """
    unit = _UNITS.get(symbol)
    if unit is None:
        unit = Unit(symbol, "pnumkMG", {symbol.lower(): 1.0}, {}, symbol, f"1 {symbol}")
        _UNITS[symbol] = unit
    return unit
