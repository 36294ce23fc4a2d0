"""What a calculation is: its inputs, described once, and the answer it gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import MISSING, dataclass, fields
from types import NoneType, UnionType
from typing import Annotated, Any, Generic, NamedTuple, TypeVar, Union, get_args, get_origin

from boardvet.errors import BoardvetError
from boardvet.quantity import show
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.forms import Form, Property

__all__ = ["Answer", "Calculation", "Chosen", "Field", "Input", "Unsizable"]

I = TypeVar("I")  # noqa: E741


class Unsizable(BoardvetError):
    """No value that can be bought gives what is wanted.

    Parameters
    ----------
    what : str
        Why, with the numbers.
    do : str
        What to change.
    """

    def __init__(self, what: str, do: str) -> None:
        super().__init__(what, do)
        self.what = what
        self.do = do

    def __str__(self) -> str:
        return f"{self.what} ({self.do})"


class Input(NamedTuple):
    """How an input of a calculation is asked for; the other half is its type and default.

    Parameters
    ----------
    unit : str
        SI unit of the value, "" for none.
    meaning : str
        What it is, in plain words.
    example : str
        A text that is right.
    at_unit : str
        SI unit of the condition of points.
    choices : tuple of str
        The words of a choice.
    source : str
        Where the default comes from.
    shown : bool
        True for an optional input that the example of the calculation gives.
    above_zero : bool
        True if 0 is not allowed.
    """

    unit: str
    meaning: str
    example: str
    at_unit: str = ""
    choices: tuple[str, ...] = ()
    source: str = ""
    shown: bool = False
    above_zero: bool = False


class Field(NamedTuple):
    """An input as help, reader and tests see it."""

    reads: Property
    asked: Input
    required: bool
    default: object

    @property
    def name(self) -> str:
        """What stands before the equals sign."""
        return self.reads.name

    @property
    def stated(self) -> str:
        """A right text with its name, quoted as a shell wants it."""
        text = self.asked.example
        return f'{self.name}="{text}"' if " " in text else f"{self.name}={text}"

    @property
    def default_text(self) -> str:
        """The default in words, "" without one."""
        if self.required or self.default is None:
            return ""
        return _shown(self.default, self.asked.unit)


class Chosen(NamedTuple):
    """A value that can be bought.

    Parameters
    ----------
    name : str
        What it is the value of.
    value : float
        In `unit`.
    unit : str
        SI unit.
    series : str
        The series of IEC 60063 that has it.
    wanted : float
        What the sum gives, before the series.
    """

    name: str
    value: float
    unit: str
    series: str
    wanted: float

    @property
    def shown(self) -> str:
        """The value with its unit."""
        return show(self.value, self.unit)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculation gives.

    Parameters
    ----------
    chosen : tuple of Chosen
        The values, the main one first; none where none is needed.
    sums : tuple of str
        How each comes about, with numbers and units.
    ends : tuple of str
        What changes at the end of the cell, or at the other end of a range.
    buy : str
        What to order.
    notes : tuple of str
        What it rests on and what to watch.
    """

    chosen: tuple[Chosen, ...]
    sums: tuple[str, ...]
    ends: tuple[str, ...] = ()
    buy: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculation(Generic[I]):
    """One calculation.

    Parameters
    ----------
    summary : str
        One line for the list.
    inputs : type
        A frozen dataclass of keyword fields.
    solve : callable
        From these inputs to an `Answer`; raises `Unsizable` where no value will do.
    """

    summary: str
    inputs: type[I]
    solve: Callable[[I], Answer]

    def fields(self) -> tuple[Field, ...]:
        """Return the inputs in their order."""
        return tuple(_fields(self.inputs))

    def example(self) -> tuple[str, ...]:
        """Return words for the command line that run."""
        return tuple(
            f"{field.name}={field.asked.example}"
            for field in self.fields()
            if field.required or field.asked.shown
        )


def _fields(inputs: type[Any]) -> Iterator[Field]:
    from typing import get_type_hints

    hints = get_type_hints(inputs, include_extras=True)
    for field in fields(inputs):
        hint = hints[field.name]
        if get_origin(hint) is not Annotated:
            raise TypeError(f"{inputs.__qualname__}.{field.name} has no Input")
        value, asked = get_args(hint)[:2]
        required = field.default is MISSING
        yield Field(
            Property(
                field.name,
                asked.unit,
                asked.at_unit,
                _form(value),
                frozenset(),
                asked.meaning,
                asked.example,
                choices=asked.choices,
            ),
            asked,
            required,
            None if required else field.default,
        )


def _form(hint: Any) -> Form:
    """Return the form of a value by its type, without the None of an optional one."""
    if get_origin(hint) in {Union, UnionType}:
        (hint,) = (part for part in get_args(hint) if part is not NoneType)
    if hint == Points:
        return Form.POINTS
    return {
        float: Form.NUMBER,
        int: Form.COUNT,
        Span: Form.SPAN,
        str: Form.CHOICE,
        bool: Form.FLAG,
    }[hint]


def _shown(value: object, unit: str) -> str:
    if isinstance(value, Span):
        return f"{show(value.low, unit)} to {show(value.high, unit)}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value)
    if not unit and 0 < value < 1:
        return f"{value * 100:g} %"
    return show(float(value), unit)
