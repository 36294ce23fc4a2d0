"""How large the body of a part is, from its package's name.

Only the longer side, over the leads where there are any. Sources: JEDEC and EIAJ outlines from
memory, case codes as in `boardvet.quantity.case`. Where a package comes in several sizes the
larger is taken, since sizes are only ever taken off a distance.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from boardvet.quantity import case_size
from boardvet.quantity.case import METRIC

__all__ = ["Body", "body_of"]

_LONGER: tuple[tuple[re.Pattern[str], float], ...] = tuple(
    (re.compile(rf"(?<![A-Z0-9]){name}(?![0-9])"), longer)
    for name, longer in (
        (r"SOT[-_]?223", 7.0),
        (r"SOT[-_]?89", 4.6),
        (r"SOT[-_]?(323|353|363)|SC[-_]?70|SC[-_]?88A?", 2.2),
        (r"SOT[-_]?(523|553|563)|SC[-_]?75|VMT\d", 1.7),
        (r"SOT[-_]?723", 1.2),
        (r"SOT[-_]?(23|143)|TSOT[-_]?23|SC[-_]?59", 3.0),
        (r"TO[-_]?252|DPAK", 10.4),
        (r"TO[-_]?263|D2PAK", 15.8),
        (r"TO[-_]?220", 15.8),
        (r"TO[-_]?92", 5.2),
    )
)
_COUNTED = re.compile(
    r"(?<![A-Z])(?P<name>SOIC|SOP|SOJ|SO|MSOP|VSSOP|TSSOP|SSOP|QSOP|DIP|PDIP|"
    r"[HTLV]?QFP|[TL]QFP|[UVWXTH]?QFN|VQFN|[UVWXT]?DFN|WSON|USON|SON|PLCC)[-_ ]?(?P<pins>\d{1,3})"
    r"(?!\d)"
)
_LEADLESS = re.compile(r"QFN|DFN|SON|LGA|BGA|CSP")
_DIMENSIONS = re.compile(r"(?<![\d.])(\d{1,2}(?:\.\d+)?)\s?X\s?(\d{1,2}(?:\.\d+)?)(?![\d.]*MIL)")


class Body(NamedTuple):
    """The longer side of a body in metres, and whether its package says so."""

    longer: float
    told: bool


def body_of(texts: Iterable[str], pins: int) -> Body:
    """Return the size of a body.

    Parameters
    ----------
    texts : iterable of str
        Names of its footprint or package, the best first.
    pins : int
        How many pins it has: where no name tells, it is taken as large as a dual-in-line part.

    Examples
    --------
    >>> body_of(["C_0603_1608"], 2), body_of(["QFN-32_5x5mm"], 33)
    (Body(longer=0.0016, told=True), Body(longer=0.005, told=True))
    >>> body_of(["MADE_UP"], 8)
    Body(longer=0.0107, told=False)
    """
    for text in texts:
        longer = _longer(text.rpartition(":")[2].upper())
        if longer is not None:
            return Body(longer * 1e-3, told=True)
    return Body(_dual_in_line(pins) * 1e-3, told=False)


@lru_cache(maxsize=1024)
def _longer(text: str) -> float | None:
    found = [*_by_case(text), *_by_dimensions(text)]
    if not found or not _LEADLESS.search(text):
        found += _by_pins(text)  # dimensions in the name of a leaded package leave out its leads
    found += [longer for pattern, longer in _LONGER if pattern.search(text)][:1]
    return max(found, default=None)


def _by_case(text: str) -> list[float]:
    case = case_size(text)
    metric = next((code for code, imperial in METRIC.items() if imperial == case), None)
    return [int(metric[:2]) / 10.0] if metric is not None else []


def _by_dimensions(text: str) -> list[float]:
    found = [max(float(one), float(other)) for one, other in _DIMENSIONS.findall(text)]
    return [longer for longer in found if 0.4 <= longer <= 60.0][:1]


def _by_pins(text: str) -> list[float]:
    match = _COUNTED.search(text)
    if match is None:
        return []
    name, pins = match["name"], int(match["pins"])
    if name in {"DIP", "PDIP"}:
        return [_dual_in_line(pins)]
    if name in {"SOIC", "SOP", "SOJ", "SO"}:
        return [max(6.2, pins / 2 * 1.27)]
    if name in {"MSOP", "VSSOP"}:
        return [5.0]
    if name == "TSSOP":
        return [max(6.5, pins / 2 * 0.65 + 0.3)]
    if name in {"SSOP", "QSOP"}:
        return [max(8.0, pins / 2 * 0.65 + 0.8)]
    if name.endswith("QFP"):
        return [pins / 4 * 0.8 + 2.6]
    if name.endswith("QFN"):
        return [pins / 4 * 0.65 + 1.4]
    if name == "PLCC":
        return [pins / 4 * 1.27 + 4.0]
    return [max(3.0, pins / 2 * 0.5 + 0.5)]


def _dual_in_line(pins: int) -> float:
    return max(10.7, pins / 2 * 2.54 + 0.5)
