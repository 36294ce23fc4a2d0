"""Which package a footprint is, as far as the order of pins depends on it."""

from __future__ import annotations

import re
from functools import cache

__all__ = ["package_named"]


@cache
def _pattern(package: str) -> re.Pattern[str]:
    groups = [re.escape(group) for group in re.findall(r"[A-Z]+|\d+", package.upper())]
    return re.compile(r"(?<![A-Z0-9])" + r"[-_ ]?".join(groups) + r"(?![-_ ]?\d)(?![A-Z0-9])")


def package_named(package: str, footprint: str) -> bool:
    """Return True if a footprint is of this package.

    ``SOT-23`` is not ``SOT-23-5`` nor ``SOT-233``; a body size such as ``_2.8x2.9mm`` may follow.

    Examples
    --------
    >>> package_named("SOT-23", "parts:SOT23_hand")
    True
    >>> package_named("SOT-23", "parts:SOT-23-5")
    False
    >>> package_named("SOT-23", "parts:SOT-23-3")
    True
    """
    text = footprint.rpartition(":")[2].upper()
    text = re.sub(r"[-_ ]\d+(?:\.\d+)?X\d+(?:\.\d+)?MM", "", text)
    if package.upper() in {"SOT-23", "TO-92"}:
        text = re.sub(r"(SOT[-_ ]?23|TO[-_ ]?92)[-_ ]3(?!\d)", r"\1", text)
    return _pattern(package).search(text) is not None
