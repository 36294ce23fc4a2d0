"""Case sizes of two-terminal chips: from a footprint name or a text to the imperial code.

The codes 0402 and 0603 exist in both systems: imperial 0402 is 1.0 × 0.5 mm, metric 0402 is
imperial 01005. Alone they are read as imperial, the trade's habit; only the word "metric" or "M"
directly behind makes them metric. Codes that exist in one system only need no word. 2012 and
3216 are metric only, 1206 and 0805 imperial only. 1005 is metric: no imperial 1005 is sold.
Source of the pairs: chip resistor sheets of Uni-Ohm (0201 to 1206, 2512), the others from memory
(EIA-481, and EIA-535BAAC for the three tantalum cases 3528, 6032 and 7343).
"""

from __future__ import annotations

import re
from functools import lru_cache

__all__ = ["IMPERIAL", "METRIC", "case_of_token", "case_size"]

METRIC = {
    "0402": "01005",
    "0603": "0201",
    "1005": "0402",
    "1608": "0603",
    "2012": "0805",
    "3216": "1206",
    "3225": "1210",
    "4516": "1806",
    "4520": "1808",
    "4532": "1812",
    "4564": "1825",
    "5025": "2010",
    "5750": "2220",
    "5764": "2225",
    "6332": "2512",
    "6432": "2512",
    "3528": "1411",
    "6032": "2312",
    "7343": "2917",
}
"""Metric code to imperial code."""

IMPERIAL = frozenset(METRIC.values()) | {"0306", "0508", "0612", "1020", "1218", "2920"}
"""The imperial codes that are known here; those from 0306 to 1218 are wide-terminal chips."""

_CODE = "|".join(sorted(IMPERIAL | METRIC.keys(), key=len, reverse=True))
_FOUND = re.compile(
    rf"(?<![0-9.])({_CODE})(?:_?(m(?:etric)?)(?![a-z0-9]))?(?![0-9]|\.[0-9])", re.I
)
_TOKEN = re.compile(rf"(?:R|C|L|D|FB|LED|CP|CASE|SMD|SM)?[_-]?({_CODE})(m(?:etric)?)?", re.I)


@lru_cache(maxsize=4096)
def case_size(text: str) -> str | None:
    """Return the imperial case code that a footprint name or a value text holds.

    Parameters
    ----------
    text : str
        Such as "R_0603_1608Metric", "C0805", "LED-0603" or "2012/0.1uF".

    Returns
    -------
    str or None
        Imperial code; None if there is none, or if two codes in the text contradict.

    Examples
    --------
    >>> case_size("R_0201_0603Metric"), case_size("C1608"), case_size("SOT-23")
    ('0201', '0603', None)
    """
    found = [(code, bool(metric)) for code, metric in _FOUND.findall(text[:200])]
    sizes = {_imperial(code, metric) for code, metric in found}
    return sizes.pop() if len(sizes) == 1 else None


def case_of_token(token: str) -> str | None:
    """Return the imperial case code if the whole token is a case code ("C0603", "0402").

    Examples
    --------
    >>> case_of_token("R0603"), case_of_token("0603M"), case_of_token("KT-0603R")
    ('0603', '0201', None)
    """
    match = _TOKEN.fullmatch(token)
    return _imperial(match[1], bool(match[2])) if match else None


def _imperial(code: str, metric: bool) -> str:
    if metric or code not in IMPERIAL:
        return METRIC.get(code, code)
    return code
