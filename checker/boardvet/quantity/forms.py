"""The forms in which a person states a value: "1.8 to 5.5 V", "1.9 V at 5 mA", "3 h per day".

Words and not commas join the parts of a statement, so that it can stand in a YAML flow mapping.
Every function refuses what could mean two things, and says what to write instead.
"""

from __future__ import annotations

import re

from boardvet.errors import QuantityError
from boardvet.quantity.code import CODE, code_value
from boardvet.quantity.number import DECIMAL, decimal, scaled
from boardvet.quantity.statement import Point, Points, Span, Step, Steps
from boardvet.quantity.unit import LOOKALIKES, Unit, unit_of

__all__ = [
    "LONGEST_STATEMENT",
    "parse_flag",
    "parse_number",
    "parse_points",
    "parse_share",
    "parse_span",
    "parse_steps",
]

LONGEST_STATEMENT = 2000
"""Most characters of one statement."""

_QUANTITY = re.compile(rf"([+-]?)\s*({DECIMAL})\s*([^0-9.,+-]*)")
_TO = re.compile(r"\s*\bto\b\s*|(?<=[0-9a-zA-Z%])\s*to\s*(?=[-+0-9.])")
_PLUS_MINUS = re.compile("\N{PLUS-MINUS SIGN}|\\+/-|\\+-")
_RANGE_SIGN = re.compile(
    "[0-9a-zA-Z%]\\s*(?:-|\N{EN DASH}|\\.\\.+|\N{HORIZONTAL ELLIPSIS})\\s*[0-9]"
)
_PER = re.compile(r"\s*(?:\bper\b|\ba\b|\bevery\b|/)\s*")
_FLAGS = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


def parse_number(text: str, unit: str) -> float:
    """Return a number with its unit, "3.3 V", in SI units.

    Parameters
    ----------
    text : str
        The number, then a unit that fits; codes of IEC 60062 for Ω, F and H.
    unit : str
        SI symbol in ASCII ("V", "ohm", "degC" …), "" for a plain number or per cent.

    Returns
    -------
    float
        The value in `unit`; a charge in ampere hours becomes coulombs, a temperature stays
        in °C.

    Raises
    ------
    QuantityError
        If the text is anything else, lacks its unit, or could mean two values.

    Examples
    --------
    >>> parse_number("225 mAh", "C"), parse_number("4k7", "ohm"), parse_number("−10 °C", "degC")
    (810.0, 4700.0, -10.0)
    """
    clean = _clean(text)
    if _TO.search(clean):
        raise QuantityError(text, "is a range where one number is wanted", _write(unit_of(unit)))
    if _PLUS_MINUS.search(clean):
        raise QuantityError(text, "has a ± where one number is wanted", _write(unit_of(unit)))
    return _quantity(text, clean, unit_of(unit))


def parse_span(text: str, unit: str) -> Span:
    """Return a range, "1.8 to 5.5 V" or "5 V ±5 %"; a plain number has both ends equal.

    Parameters
    ----------
    text : str
        "A to B" with the unit once or twice, "A ± B" with B in the unit or in per cent,
        "±B", or a number.
    unit : str
        SI symbol of both ends.

    Raises
    ------
    QuantityError
        If the text has another form, or its first end is above its second.

    Examples
    --------
    >>> parse_span("-10 to 40 degC", "degC")
    Span(low=-10.0, high=40.0)
    >>> parse_span("40 ohm to 1 kohm", "ohm")
    Span(low=40.0, high=1000.0)
    """
    clean, kind = _clean(text), unit_of(unit)
    if _PLUS_MINUS.search(clean):
        return _plus_minus(text, clean, kind)
    ends = _TO.split(clean)
    if len(ends) > 2:
        raise QuantityError(text, "has more than two ends", f"write two, as {_range(kind)!r}")
    if len(ends) == 1:
        if _RANGE_SIGN.search(clean) and not _QUANTITY.fullmatch(clean):
            do = f"write the word 'to', as {_range(kind)!r}"
            raise QuantityError(text, "has a sign for its range", do)
        value = _quantity(text, clean, kind)
        return Span(value, value)
    high = _quantity(text, ends[1], kind)
    low = _quantity(text, ends[0], kind, _spelling(ends[1]))
    if low > high:
        raise QuantityError(text, "begins with its higher end", "write the lower end first")
    return Span(low, high)


def parse_points(text: str, unit: str, at_unit: str) -> Points:
    """Return values at conditions, "1.75 V at 1 mA and 1.95 V at 10 mA", by rising condition.

    Parameters
    ----------
    text : str
        "A at B", several joined by "and"; a single value may stand without condition.
    unit, at_unit : str
        SI symbols of the values and of the conditions.

    Raises
    ------
    QuantityError
        If a part has another form, or two values have one condition.

    Examples
    --------
    >>> parse_points("1.95 V at 10 mA and 1.75 V at 1 mA", "V", "A")
    (Point(value=1.75, at=0.001), Point(value=1.95, at=0.01))
    """
    kind, at_kind = unit_of(unit), unit_of(at_unit)
    form = f"{kind.example} at {at_kind.example}"
    parts = re.split(r"\s+and\s+", _clean(text))
    points = [_point(text, part, kind, at_kind, form) for part in parts]
    if len(points) == 1 and points[0].at is None:
        return (points[0],)
    conditions = [point.at for point in points if point.at is not None]
    if len(conditions) < len(points):
        do = f"give each value its condition, as {form!r}"
        raise QuantityError(text, "has several values, one of them without condition", do)
    if len(set(conditions)) < len(conditions):
        raise QuantityError(text, "has two values at one condition", "keep one of them")
    return tuple(sorted(points, key=lambda point: point.at or 0.0))


def parse_steps(text: str, unit: str) -> Steps:
    """Return values in turn, "8 mA for 2 ms then 15 mA for 1 ms".

    Parameters
    ----------
    text : str
        "A for B", several joined by "then".
    unit : str
        SI symbol of the values; the durations are times, more than 0.

    Raises
    ------
    QuantityError
        If a part has another form or no duration.

    Examples
    --------
    >>> parse_steps("8 mA for 2 ms then 15 mA for 1 ms", "A")
    (Step(value=0.008, duration=0.002), Step(value=0.015, duration=0.001))
    """
    kind = unit_of(unit)
    steps = []
    for part in re.split(r"\s+then\s+", _clean(text)):
        pieces = re.split(r"\s+for\s+", part)
        if len(pieces) != 2:
            do = f"write it as '{kind.example} for 2 ms'"
            raise QuantityError(text, f"has a step, {part!r}, without its duration", do)
        duration = _quantity(text, pieces[1], unit_of("s"))
        if duration <= 0:
            raise QuantityError(text, "has a step that lasts no time", "give it a duration")
        steps.append(Step(_quantity(text, pieces[0], kind), duration))
    return tuple(steps)


def parse_share(text: str) -> float:
    """Return a share of time or of a whole, "3 h per day" or "10 %", from 0 to 1.

    Raises
    ------
    QuantityError
        If the text has another form, or the share is not from 0 to 1.

    Examples
    --------
    >>> parse_share("3 h per day"), parse_share("10 %")
    (0.125, 0.1)
    """
    pieces = _PER.split(_clean(text))
    try:
        share = _quantity(text, pieces[0], unit_of("s" if len(pieces) == 2 else ""))
        if len(pieces) == 2:
            whole = pieces[1] if pieces[1][:1].isdigit() else f"1 {pieces[1]}"
            share /= _quantity(text, whole, unit_of("s"))
    except (QuantityError, ZeroDivisionError) as error:
        do = "write it as '3 h per day' or '10 %'"
        raise QuantityError(text, "is not a share of time or of a whole", do) from error
    if not 0 <= share <= 1:
        raise QuantityError(text, "is not from 0 to 100 %", "write a share of the whole")
    return share


def parse_flag(text: str) -> bool:
    """Return yes or no.

    Raises
    ------
    QuantityError
        If the text is neither.

    Examples
    --------
    >>> parse_flag("yes"), parse_flag("No")
    (True, False)
    """
    flag = _FLAGS.get(text.strip().lower())
    if flag is None:
        raise QuantityError(text, "is neither yes nor no", "write 'yes' or 'no'")
    return flag


def _clean(text: str) -> str:
    if len(text) > LONGEST_STATEMENT:
        what = f"is longer than {LONGEST_STATEMENT} characters"
        raise QuantityError(f"{text[:40]}…", what, "shorten it")
    return text.translate(LOOKALIKES).strip()


def _quantity(text: str, piece: str, unit: Unit, spelling: str = "") -> float:
    """Return the value of one piece of the text; `spelling` stands in for a missing unit."""
    match = _QUANTITY.fullmatch(piece)
    if match is None or not match[2]:
        return _coded(text, piece, unit)
    sign, digits, written = match[1], match[2], match[3].strip()
    number = decimal(digits)
    if number is None:
        raise QuantityError(text, f"has a number that is unclear, {digits!r}", _plain_digits())
    factor = unit.factor(written or spelling)
    if factor is None:
        raise QuantityError(text, _wrong_unit(written, unit), _write(unit))
    value = scaled(number, factor)
    return -value if sign == "-" else value


def _coded(text: str, piece: str, unit: Unit) -> float:
    match = CODE.fullmatch(piece) if unit.code else None
    if match is not None and match[5] is None and match[4] in (None, unit.symbol):
        value = code_value(match[1], match[2], match[3], unit.symbol)
        if value is not None:
            return value
    what = "is not a number with a unit" if unit.symbol else "is not a number"
    raise QuantityError(text, what, _write(unit))


def _plus_minus(text: str, clean: str, unit: Unit) -> Span:
    pieces = _PLUS_MINUS.split(clean)
    if len(pieces) != 2:
        raise QuantityError(text, "has more than one ±", f"write a range, as {_range(unit)!r}")
    middle_text, half_text = (piece.strip() for piece in pieces)
    if not middle_text:
        half = _quantity(text, half_text, unit)
        return Span(-half, half)
    middle = _quantity(text, middle_text, unit, _spelling(half_text))
    if unit.symbol and half_text.endswith("%"):
        half = abs(middle) * _quantity(text, half_text, unit_of(""))
    else:
        half = _quantity(text, half_text, unit)
    if half < 0:
        raise QuantityError(text, "has a ± with a negative number", "leave the minus out")
    return Span(middle - half, middle + half)


def _point(text: str, part: str, unit: Unit, at_unit: Unit, form: str) -> Point:
    pieces = re.split(r"\s+at\s+", part)
    if len(pieces) > 2:
        do = f"join several values by 'and', as {form!r}"
        raise QuantityError(text, "has one value with two conditions", do)
    at = _quantity(text, pieces[1], at_unit) if len(pieces) == 2 else None
    return Point(_quantity(text, pieces[0], unit), at)


def _spelling(piece: str) -> str:
    match = _QUANTITY.fullmatch(piece)
    return match[3].strip() if match else ""


def _wrong_unit(written: str, unit: Unit) -> str:
    if not written:
        return "has no unit"
    return f"has a unit that does not fit, {written!r}" if unit.symbol else "is not a plain number"


def _write(unit: Unit) -> str:
    return f"write it as {unit.example!r}"


def _range(unit: Unit) -> str:
    number, _, spelling = unit.example.partition(" ")
    return f"0 to {number} {spelling}".strip()


def _plain_digits() -> str:
    return "write a decimal point and no commas, as '4700' or '4.7'"
