"""IEC 60062 codes: the letter that stands for the decimal point ("4k7", "R47", "4u7").

Why not a library: `rkm_codes` reads on past what it does not understand ("4K7J" is 4700 and
"CC0805KRX7R9BB104" is 0.08), changes the settings of `quantiphy` when it is imported, and with it
takes some 20 ms of a start-up that has 600 ms for all. `quantiphy` reads "4,7k" as 47 000,
"2.2meg" as 2.2 milli-"eg" and a part number as a quantity with a strange unit; it is made for
text that is known to be a quantity, and here the question is whether it is one. Both are the
oracles of the tests, on the texts for which they are made.
"""

from __future__ import annotations

import re

from boardvet.quantity.unit import PREFIXES

__all__ = ["CODE", "code_value"]

CODE = re.compile(
    r"(?=[0-9]{0,3}[A-Za-z][0-9]{1,3}(?![0-9])|0?[A-Za-z])"
    r"([0-9]{0,3})"
    r"([RrLKkMGTpPnNuUmFVv])"
    r"([0-9]{1,5})"
    r"(ohms?|Ohms?|OHMS?|F|H|V|A|R)?"
    r"([BCDFGJKMZ])?"
)
"""Digits, the letter at the decimal point, digits, and perhaps a unit and a tolerance letter.

At most three digits stand on either side, five behind a point with nothing before it ("R0005"):
"26M6782" is an order number.
"""

_LETTERS = {
    "ohm": {"R": 1.0, "r": 1.0, "L": 1e-3, "K": 1e3, "k": 1e3, "m": 1e-3, "M": 1e6, "G": 1e9}
    | {"T": 1e12},
    "F": {letter: PREFIXES[letter.lower()] for letter in "pPnNuU"} | {"m": 1e-3, "F": 1.0},
    "H": {letter: PREFIXES[letter.lower()] for letter in "pPnNuU"} | {"m": 1e-3},
    "Hz": {"k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9},
    "V": {"V": 1.0, "v": 1.0},
}


def code_value(whole: str, letter: str, part: str, unit: str) -> float | None:
    """Return what the parts of a code are worth in a unit, None if the letter is none of its.

    Examples
    --------
    >>> code_value("4", "k", "7", "ohm"), code_value("", "R", "47", "ohm")
    (4700.0, 0.47)
    >>> code_value("4", "k", "7", "F") is None
    True
    """
    factor = _LETTERS.get(unit, {}).get(letter)
    if factor is None:
        return None
    return float(f"{whole or '0'}.{part}e{_EXPONENTS[factor]}")


_EXPONENTS = {
    1e-12: -12,
    1e-9: -9,
    1e-6: -6,
    1e-3: -3,
    1.0: 0,
    1e3: 3,
    1e6: 6,
    1e9: 9,
    1e12: 12,
}
