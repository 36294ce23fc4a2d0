"""Parts that a netlist draws but marks as not fitted, in a value, a field or a property.

Which words are such marks is said in `boardvet.read.fitting`, for the BOM as well.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Final

from boardvet.read.fitting import mark_among, value_says_not_fitted, yes_or_no

__all__ = ["fields_mark_unfitted", "split_value"]

_WORD = r"[A-Za-z][A-Za-z.]*(?:[ _-][A-Za-z]+){0,3}?"
_WRAPPED: Final = re.compile(rf"(?P<mark>{_WORD})\s*\((?P<rest>.+)\)\s*", re.DOTALL)
_BEFORE: Final = re.compile(rf"(?P<mark>{_WORD})[\s/,;:_-]+(?P<rest>.+)", re.DOTALL)
_AFTER: Final = re.compile(
    rf"(?P<rest>.+?)[\s/,;:_-]*[\s/,;:_(\[<-](?P<mark>{_WORD})[)\]>]?\s*", re.DOTALL
)
_SHORT: Final = frozenset({"nc", "na", "nf"})
# What is left after the mark may be a case size only, and that is no value.
_CASE_ONLY: Final = re.compile(r"[RCL]?\d{4,5}", re.IGNORECASE)
# Where the mark ends is found by trying; no real value is this long.
_LONGEST: Final = 200
_FITTED_NAME: Final = re.compile(
    r"\s*(?:fit(?:ted)?|populated?|mount(?:ed)?|assembled?|placed?)\s*", re.IGNORECASE
)


@lru_cache(maxsize=4096)
def split_value(value: str) -> tuple[str, bool]:
    """Take a mark off a value.

    Parameters
    ----------
    value : str
        Value as drawn.

    Returns
    -------
    str
        What is left of the value. Where nothing is left that could be a value (the mark alone,
        or only a case size), the text as drawn.
    bool
        False where a mark was found: the part is not fitted.

    Examples
    --------
    >>> split_value("NA(47uF/6.3V/20%/X5R/C0805)")
    ('47uF/6.3V/20%/X5R/C0805', False)
    >>> split_value("10k DNP"), split_value("NA/R0603"), split_value("NC7SZ04")
    (('10k', False), ('NA/R0603', False), ('NC7SZ04', True))
    """
    if not value_says_not_fitted(value):
        return value, True
    if len(value) > _LONGEST:
        return value, False
    for form in (_WRAPPED, _BEFORE, _AFTER):
        match = form.fullmatch(value)
        if match and _is_mark(match["mark"]):
            rest = match["rest"].strip()
            return (value if _CASE_ONLY.fullmatch(rest) else rest), False
    return value, False


def fields_mark_unfitted(fields: Mapping[str, str], flags: Iterable[str] = ()) -> bool:
    """Return whether a further field marks the part as not fitted.

    Parameters
    ----------
    fields : mapping of str to str
        Names and texts. A field named by a mark counts if its text says yes, a field such as
        "Fitted" if it says no, and any field (a note, say) whose whole text is a mark.
    flags : iterable of str
        Names of properties that stand without any text: there the name alone is the statement.

    Returns
    -------
    bool

    Examples
    --------
    >>> fields_mark_unfitted({"Note": "DNP"}), fields_mark_unfitted({"DNP": ""})
    (True, False)
    """
    return mark_among(flags) or any(text and _marks(name, text) for name, text in fields.items())


def _is_mark(text: str) -> bool:
    return text.casefold() in _SHORT or mark_among((text,))


@lru_cache(maxsize=4096)
def _marks(name: str, text: str) -> bool:
    if mark_among((text,)):
        return True
    said = yes_or_no(text)
    if said is None:
        return False
    return mark_among((name,)) if said else _FITTED_NAME.fullmatch(name) is not None
