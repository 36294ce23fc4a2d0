"""Every deliberate error, one type a cause.

The parts of an error are attributes; its text is made when it is printed and says where, what
and what to do. Everything that a user can meet derives from `BoardvetError`.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "BoardvetError",
    "InputError",
    "InputErrors",
    "MissingFact",
    "PhysicsDomainError",
    "QuantityError",
    "UsageError",
]


class BoardvetError(Exception):
    """Base of everything that boardvet raises on purpose."""


class UsageError(BoardvetError):
    """The command line or the call asks for something that does not exist."""


class InputError(BoardvetError):
    """One mistake in one file.

    Parameters
    ----------
    file : str
        Path as the user gave it.
    what : str
        What is wrong, in plain words, without the place.
    do : str
        What to do about it.
    line, column : int, optional
        Place in the file, counted from 1; 0 where there is none.
    """

    def __init__(self, file: str, what: str, do: str, line: int = 0, column: int = 0) -> None:
        super().__init__(file, what, do, line, column)
        self.file = file
        self.what = what
        self.do = do
        self.line = line
        self.column = column

    def __str__(self) -> str:
        place = self.file
        if self.line:
            place += f":{self.line}"
            if self.column:
                place += f":{self.column}"
        return f"{place}: {self.what} ({self.do})"


class InputErrors(BoardvetError):
    """All the mistakes of the input at once.

    Parameters
    ----------
    errors : iterable of InputError
        At least one; kept in the order given.
    """

    def __init__(self, errors: Iterable[InputError]) -> None:
        self.errors = tuple(errors)
        super().__init__(self.errors)

    def __str__(self) -> str:
        return "\n".join(str(error) for error in self.errors)


class QuantityError(BoardvetError, ValueError):
    """A text that is not the quantity it has to be.

    Parameters
    ----------
    text : str
        What was read.
    what : str
        What is wrong with it.
    do : str
        A text of the right form.
    """

    def __init__(self, text: str, what: str, do: str) -> None:
        super().__init__(text, what, do)
        self.text = text
        self.what = what
        self.do = do

    def __str__(self) -> str:
        return f"{self.text!r} {self.what} ({self.do})"


class PhysicsDomainError(BoardvetError, ValueError):
    """An argument of a physics function outside its range.

    Parameters
    ----------
    name, unit : str
        The argument and its unit.
    value : float
        What was given.
    allowed : str
        The range, in words that follow "must be".
    """

    def __init__(self, name: str, value: float, unit: str, allowed: str) -> None:
        super().__init__(name, value, unit, allowed)
        self.name = name
        self.value = value
        self.unit = unit
        self.allowed = allowed

    def __str__(self) -> str:
        return f"{self.name} = {self.value!r} {self.unit}, but it must be {self.allowed}"


class MissingFact(BoardvetError):
    """A fact that a verdict needs and nobody has stated: its subject ends as undetermined.

    Parameters
    ----------
    of : str
        The part, net or board that the fact is about, as the intent page names it.
    key : str
        The key of the intent page that would state it.
    missing : str
        What is missing, in plain words.
    how : str
        What to write and where, ready to paste.
    """

    def __init__(self, of: str, key: str, missing: str, how: str) -> None:
        super().__init__(of, key, missing, how)
        self.of = of
        self.key = key
        self.missing = missing
        self.how = how

    def __str__(self) -> str:
        return f"{self.missing}; {self.how}"
