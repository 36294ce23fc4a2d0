"""From NAME=VALUE on the command line to the inputs of a calculation."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, TypeVar, cast

from boardvet.errors import QuantityError, UsageError
from boardvet.quantity.statement import Points, Span
from boardvet.sizing._calculation import Calculation, Field
from boardvet.vocabulary.forms import nearest, parse

__all__ = ["read", "values_of"]

I = TypeVar("I")  # noqa: E741


def read(name: str, calculation: Calculation[I], words: Sequence[str]) -> I:
    """Return the inputs that the words state.

    Parameters
    ----------
    name : str
        Of the calculation, for messages.
    calculation : Calculation
        Which one.
    words : sequence of str
        Each NAME=VALUE.

    Raises
    ------
    UsageError
        With every mistake, one a line.
    """
    values, mistakes = values_of(name, calculation, words)
    stated = {word.partition("=")[0].strip() for word in words}
    stated |= {_like(word, stated, calculation) for word in stated}
    mistakes += [
        f"{name}: {field.name} is missing: {field.asked.meaning}; for instance {field.stated}"
        for field in calculation.fields()
        if field.required and field.name not in stated
    ]
    if mistakes:
        raise UsageError("\n".join(mistakes))
    return calculation.inputs(**values)


def values_of(
    name: str, calculation: Calculation[Any], words: Sequence[str]
) -> tuple[dict[str, Any], list[str]]:
    """Return what the words state, by name, and the mistakes in them."""
    known = {field.name: field for field in calculation.fields()}
    values: dict[str, Any] = {}
    mistakes: list[str] = []
    for word in words:
        key, equals, text = (part.strip() for part in word.partition("="))
        if not equals:
            mistakes.append(_no_value(name, word, known))
        elif key not in known:
            mistakes.append(f"{name}: there is no input {key!r} ({_near(key, known)})")
        elif key in values:
            mistakes.append(f"{name}: {key} is given twice (leave one out)")
        else:
            try:
                values[key] = _value(known[key], text)
            except QuantityError as error:
                values[key] = None
                mistakes.append(f"{name}: {key}: {_wrong(known[key], error)}")
    return values, mistakes


def _value(field: Field, text: str) -> object:
    value = parse(field.reads, text)[0]
    if field.asked.above_zero and _least(value) <= 0:
        raise QuantityError(text, "is not above zero", f"for instance {field.stated}")
    return value


def _wrong(field: Field, error: QuantityError) -> str:
    """Say what is wrong; an example is written as the command line wants it."""
    do = f"write {field.stated}" if error.do.startswith("for instance") else error.do
    return f"{error.text!r} {error.what} ({do})"


def _like(word: str, stated: Collection[str], calculation: Calculation[Any]) -> str:
    """Return the input that a word was meant for, "" if none: it is not missing besides."""
    left = [field.name for field in calculation.fields() if field.name not in stated]
    return nearest(word, left)


def _least(value: object) -> float:
    if isinstance(value, Span):
        return value.low
    if isinstance(value, tuple):
        return min(point.value for point in cast("Points", value))
    return cast("float", value)


def _no_value(name: str, word: str, known: Mapping[str, Field]) -> str:
    if word in known:
        return f"{name}: {word} has no value (write {known[word].stated})"
    return f"{name}: {word!r} is no NAME=VALUE ({_near(word, known)})"


def _near(word: str, known: Mapping[str, Field]) -> str:
    like = nearest(word, list(known))
    return f"did you mean {like}?" if like else f"there are {', '.join(known)}"
