"""Digits to floats: decimal point or comma, thousands in groups, a bounded length."""

from __future__ import annotations

import re

__all__ = ["DECIMAL", "LONGEST_NUMBER", "decimal", "scaled"]

LONGEST_NUMBER = 32
"""Most characters that a number may have; a longer one is no quantity of a board."""

DECIMAL = (
    r"(?:[0-9]{1,3}(?:\x20[0-9]{3})+|[0-9]+)?(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]{1,2}(?![0-9]))?"
)
"""Pattern of an unsigned decimal number; matches the empty text too."""

_GROUPED_OR_NOT = re.compile(r"0*[1-9][0-9]{0,2},[0-9]{3}")


def decimal(digits: str) -> float | None:
    """Return the value of the digits, None where they are no number or could mean two.

    A comma is a decimal comma, "4,7" is 4.7; but "4,700" may be 4.7 or 4700 and is not read.
    Spaces part groups of three.

    Examples
    --------
    >>> decimal("4,7"), decimal("1 000"), decimal("0,100")
    (4.7, 1000.0, 0.1)
    >>> decimal("4,700") is None
    True
    """
    if len(digits) > LONGEST_NUMBER or _GROUPED_OR_NOT.fullmatch(digits):
        return None
    try:
        return float(digits.replace(" ", "").replace(",", "."))
    except ValueError:
        return None


def scaled(number: float, factor: float) -> float:
    """Return the product to 12 figures, so that equal quantities of any spelling are equal.

    Examples
    --------
    >>> scaled(100, 1e-9) == scaled(0.1, 1e-6) == 1e-7
    True
    """
    return float(f"{number * factor:.12g}")
