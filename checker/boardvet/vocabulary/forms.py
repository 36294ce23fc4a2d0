"""The forms that a stated value can have, and how a text of each form is read.

Intent page and facts files share these forms, so a fact reads the same wherever it stands.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from boardvet.errors import QuantityError
from boardvet.quantity import (
    parse_flag,
    parse_number,
    parse_points,
    parse_share,
    parse_span,
    parse_steps,
)
from boardvet.quantity.statement import Points, Span, Steps
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["EVERY", "Form", "Property", "Stated", "nearest", "parse"]

_SHOWN = 12

EVERY = "*"
"""Stands in a list for "all of them", written ``yes``."""

Stated = str | Sequence[str] | Mapping[str, str]
"""What a person wrote: a text, a list of texts, or texts by pin."""


class Form(StrEnum):
    """The form of a value; each says what `parse` gives."""

    NUMBER = "number"
    """float"""
    COUNT = "count"
    """int, at least 1"""
    SPAN = "span"
    """`Span`"""
    POINTS = "points"
    """`Points`"""
    STEPS = "steps"
    """`Steps`"""
    SHARE = "share"
    """float from 0 to 1"""
    FLAG = "flag"
    """bool"""
    TEXT = "text"
    """str"""
    CHOICE = "choice"
    """str, one of the choices"""
    LIST = "list"
    """tuple of str"""
    DATE = "date"
    """`datetime.date`"""
    ROLES = "roles"
    """mapping of pin number to `Role`"""


@dataclass(frozen=True, slots=True)
class Property:
    """Something that can be stated of a part, a net or another entry of the intent page.

    Parameters
    ----------
    name : str
        The key.
    unit, at_unit : str
        SI unit of the value and of its condition, "" for none.
    form : Form
        How it is written.
    kinds : frozenset of Kind
        The kinds of part that have it; empty for all, and for what is no property of a part.
    meaning : str
        What it is, in plain words.
    example : str
        A text that is right.
    missing : str
        What is said where it is needed and not known; ``{of}`` stands for the part or net.
        "" where "<name> of {of} is not known" does.
    choices : tuple of str
        The words of a choice, or of the items of a list; empty for any.
    least : float or None, default 0
        Lowest value allowed, in `unit`; None for any.
    positive : bool
        True if the lowest value allowed is not allowed itself: a rating of 0 is none.
    share_too : bool
        True if a percentage is right as well; the value is then a plain number.
    yes_too : bool
        True if a list may also be ``yes`` (all, `EVERY`) or ``no`` (none).
    """

    name: str
    unit: str
    at_unit: str
    form: Form
    kinds: frozenset[Kind]
    meaning: str
    example: str
    missing: str = ""
    choices: tuple[str, ...] = ()
    least: float | None = 0.0
    positive: bool = False
    share_too: bool = False
    yes_too: bool = False

    @property
    def words(self) -> str:
        """The name as words of a sentence."""
        return self.name.replace("_", " ")

    def missing_of(self, of: str) -> str:
        """Return what is said where it is needed of `of` and not known."""
        return (self.missing or f"{self.words} of {{of}} is not known").replace("{of}", of)


def parse(of: Property, stated: Stated) -> tuple[object, str]:
    """Read what was stated of a property.

    Parameters
    ----------
    of : Property
        Which property.
    stated : str, sequence of str or mapping of str to str
        What was written.

    Returns
    -------
    value, unit
        The value as `Form` says, in SI units, and its unit.

    Raises
    ------
    QuantityError
        If the text has not the form or lies outside the range of the property.

    Examples
    --------
    >>> from boardvet.vocabulary.properties import PROPERTIES
    >>> parse(PROPERTIES["kind"], "LED")
    ('led', '')
    """
    if of.form is Form.LIST:
        return _list(of, stated), ""
    if of.form is Form.ROLES:
        return _roles(of, stated), ""
    if not isinstance(stated, str):
        raise _wrong(of, str(stated), "is not one value")
    if not stated.strip():
        raise _wrong(of, stated, "is empty")
    if of.share_too and stated.rstrip().endswith("%"):
        return parse_share(stated), ""
    try:
        return _ONE[of.form](of, stated.strip()), of.unit
    except QuantityError as error:
        if of.form in _WITH_UNIT:
            raise _wrong(of, error.text, error.what) from None
        raise


def nearest(word: str, words: Sequence[str], cutoff: float = 0.6) -> str:
    """Return the word that is most like `word`, "" if none is like it.

    >>> nearest("forward_voltge", ["output", "forward_voltage"])
    'forward_voltage'
    """
    from difflib import get_close_matches

    plain = {each.casefold(): each for each in words}
    found = get_close_matches(word.casefold(), list(plain), n=1, cutoff=cutoff)
    return plain[found[0]] if found else ""


def _wrong(of: Property, text: str, what: str, do: str = "") -> QuantityError:
    return QuantityError(text, what, do or f"for instance {of.name}: {of.example}")


def _checked(of: Property, text: str, value: float) -> float:
    if of.least is not None and value < of.least:
        raise _wrong(of, text, f"is below {of.least:g} {of.unit}".rstrip())
    if of.positive and value == of.least:
        raise _wrong(of, text, f"is not more than {of.least:g} {of.unit}".rstrip())
    return value


def _number(of: Property, text: str) -> float:
    return _checked(of, text, parse_number(text, of.unit))


def _count(of: Property, text: str) -> int:
    value = parse_number(text, "")
    if not 1 <= value <= 1e9 or value != int(value):
        raise _wrong(of, text, "is not a whole number from 1")
    return int(value)


def _span(of: Property, text: str) -> Span:
    span = parse_span(text, of.unit)
    _checked(of, text, span.high)
    _checked(of, text, span.low)
    return span


def _points(of: Property, text: str) -> Points:
    points = parse_points(text, of.unit, of.at_unit)
    for point in points:
        _checked(of, text, point.value)
        if point.at is not None and point.at < 0:
            raise _wrong(of, text, "has a condition below zero")
        if point.at is not None and point.at > 1 and not of.at_unit:
            raise _wrong(of, text, "has a share above 100 %")
    return points


def _steps(of: Property, text: str) -> Steps:
    steps = parse_steps(text, of.unit)
    for step in steps:
        _checked(of, text, step.value)
    return steps


def _share(of: Property, text: str) -> float:
    return parse_share(text)


def _flag(of: Property, text: str) -> bool:
    return parse_flag(text)


def _text(of: Property, text: str) -> str:
    return text


def _choice(of: Property, text: str) -> str:
    """Take small and capital letters as the same, and hyphens and low lines as spaces."""
    if text in of.choices:
        return text
    known = {_plain(word): word for word in of.choices}
    if _plain(text) in known:
        return known[_plain(text)]
    like = nearest(text, of.choices)
    some = ", ".join(of.choices[:_SHOWN]) + (" …" if len(of.choices) > _SHOWN else "")
    do = f"did you mean {like}?" if like else f"one of: {some}"
    raise _wrong(of, text, f"is no word for {of.words}", do)


def _plain(word: str) -> str:
    return " ".join(re.split(r"[\s_-]+", word.casefold().strip()))


def _date(of: Property, text: str) -> datetime.date:
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
            return datetime.date.fromisoformat(text)
    except ValueError:
        pass
    raise _wrong(of, text, "is no date", "year, month and day, such as 2027-06-01")


_ONE: Mapping[Form, Callable[[Property, str], object]] = {
    Form.NUMBER: _number,
    Form.COUNT: _count,
    Form.SPAN: _span,
    Form.POINTS: _points,
    Form.STEPS: _steps,
    Form.SHARE: _share,
    Form.FLAG: _flag,
    Form.TEXT: _text,
    Form.CHOICE: _choice,
    Form.DATE: _date,
}


_WITH_UNIT = frozenset({Form.NUMBER, Form.SPAN, Form.POINTS, Form.STEPS})
"""Forms where the example of the property says more than that of any number."""


def _list(of: Property, stated: Stated) -> tuple[str, ...]:
    if isinstance(stated, Mapping):
        raise _wrong(of, str(dict(stated)), "is not a list")
    if isinstance(stated, str):
        if of.yes_too and stated.casefold() in {"yes", "no"}:
            return (EVERY,) if stated.casefold() == "yes" else ()
        stated = [stated]
    items = tuple(item.strip() for item in stated)
    if "" in items:
        raise _wrong(of, "", "is an empty item")
    return tuple(str(_choice(of, item)) for item in items) if of.choices else items


def _roles(of: Property, stated: Stated) -> Mapping[str, Role]:
    if not isinstance(stated, Mapping):
        raise _wrong(of, str(stated), "does not say which pin")
    return {pin: Role(_choice(of, role)) for pin, role in stated.items()}
