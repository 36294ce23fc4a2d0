"""Marks that say that a part is drawn but not fitted, wherever an author may have put them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

__all__ = ["fields_mark_unfitted", "is_unfitted_mark", "split_value"]

# Short words that mean something else inside a longer text (NC: normally closed, NA: not
# available) count only where they are the whole text or clearly stand before the value.
_SURE = (
    r"dnp|dnf|dni|do[ _-]?not[ _-]?(?:populate|fit|place|mount|install|stuff|assemble)"
    r"|no[ _-]?(?:pop|populate|fit|stuff|mount)|not[ _-]?(?:fitted|populated|mounted|placed|installed)"
    r"|unfitted|unpopulated"
)
_WHOLE: Final = re.compile(rf"[\s<(\[]*(?:{_SURE}|dnm|dns|nc|nf|na|n\.c\.|n\.f\.)[\s>)\]]*", re.I)
_FIELD: Final = re.compile(rf"[\s<(\[]*(?:{_SURE})[\s>)\]]*", re.I)
_WRAPPED: Final = re.compile(rf"(?:{_SURE}|nc|nf|na)\s*\((?P<rest>.+)\)\s*", re.I)
_BEFORE: Final = re.compile(
    rf"(?:(?:{_SURE})[\s/,;:_-]+|(?:nc|nf|na)\s*[/,;:]\s*(?!no\b))(?P<rest>.+)", re.I
)
_AFTER: Final = re.compile(
    rf"(?P<rest>.+?)(?:[\s/,;:_-]+(?:{_SURE})|\s*[(\[<]\s*(?:{_SURE}|nc|nf|na)\s*[)\]>])\s*", re.I
)
_CASE_ONLY: Final = re.compile(r"[RCL]?\d{4,5}", re.I)

_YES: Final = frozenset({"1", "y", "yes", "true", "x", "on"})
_NO: Final = frozenset({"0", "n", "no", "false", "off"})
_FITTED_NAME: Final = re.compile(r"(?:fit(?:ted)?|populated?|mount(?:ed)?|assembled?|place)", re.I)


def is_unfitted_mark(text: str) -> bool:
    """Return whether the whole text is a mark for a part that is not fitted.

    >>> is_unfitted_mark("DNP"), is_unfitted_mark("do not populate"), is_unfitted_mark("10k")
    (True, True, False)
    """
    return _WHOLE.fullmatch(text) is not None


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
    if is_unfitted_mark(value):
        return value, False
    for form in (_WRAPPED, _BEFORE, _AFTER):
        match = form.fullmatch(value)
        if match:
            rest = match["rest"].strip()
            return (value if _CASE_ONLY.fullmatch(rest) else rest), False
    return value, True


def fields_mark_unfitted(fields: Mapping[str, str], flags: Iterable[str] = ()) -> bool:
    """Return whether a further field marks the part as not fitted.

    Parameters
    ----------
    fields : mapping of str to str
        Names and texts. A field named by a mark counts if its text says yes, a field such as
        "Fitted" if it says no, and any field (a note, say) whose whole text is a mark.
    flags : iterable of str
        Names of properties that stand without any text: there the name alone is the statement.

    Examples
    --------
    >>> fields_mark_unfitted({"Note": "DNP"}), fields_mark_unfitted({"DNP": ""})
    (True, False)
    """
    if any(_FIELD.fullmatch(flag) for flag in flags):
        return True
    for name, text in fields.items():
        if not text:
            continue
        said = text.strip().casefold()
        if said in _YES:
            if _FIELD.fullmatch(name):
                return True
        elif said in _NO:
            if _FITTED_NAME.fullmatch(name.strip()):
                return True
        elif _FIELD.fullmatch(text):
            return True
    return False
