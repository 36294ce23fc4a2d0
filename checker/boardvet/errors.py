"""Every deliberate error, one type a cause.

The parts of an error are attributes; its text is made when it is printed and says where, what
and what to do. Everything that a user can meet derives from `BoardvetError`.
"""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "BoardvetError",
    "ContradictingPoints",
    "InputError",
    "InputErrors",
    "MissingFact",
    "PhysicsDomainError",
    "QuantityError",
    "SolverError",
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


class SolverError(BoardvetError, ArithmeticError):
    """A network of which the solver did not reach the solution.

    Parameters
    ----------
    missing, rows : int
        Rows of the batch without a solution, and all of them.
    iterations : int
        Steps taken.
    error : float
        Largest current by which an element of the worst row still misses its law. [A]
    """

    def __init__(self, missing: int, rows: int, iterations: int, error: float) -> None:
        super().__init__(missing, rows, iterations, error)
        self.missing = missing
        self.rows = rows
        self.iterations = iterations
        self.error = error

    def __str__(self) -> str:
        return (
            f"{self.missing} of {self.rows} rows have no solution after {self.iterations} steps: "
            f"an element still misses its law by {self.error:.3g} A (look for element values "
            "that cannot be real)"
        )


class TimeStepError(SolverError):
    """A run in time that took more steps than any board needs.

    Parameters
    ----------
    time, duration : float
        How far it came, and how far it had to. [s]
    steps : int
        Steps taken and refused.
    """

    def __init__(self, time: float, duration: float, steps: int) -> None:
        super().__init__(0, 0, steps, 0.0)
        self.args = (time, duration, steps)
        self.time = time
        self.duration = duration

    def __str__(self) -> str:
        return (
            f"after {self.iterations} time steps the run stands at {self.time:.3g} s of "
            f"{self.duration:.3g} s (look for element values that cannot be real)"
        )


class UnsettledError(SolverError):
    """A period that does not end where it starts, however often it is run through.

    Parameters
    ----------
    periods : int
        How often it was.
    distance : float
        How far the worst capacitor is still from where it settles, as far as can be told. [V]
    """

    def __init__(self, periods: int, distance: float) -> None:
        super().__init__(0, 0, periods, 0.0)
        self.args = (periods, distance)
        self.distance = distance

    def __str__(self) -> str:
        return (
            f"after {self.iterations} periods a capacitor is still {self.distance:.3g} V from "
            "where it settles (look for element values that cannot be real)"
        )


class ContradictingPoints(BoardvetError, ValueError):
    """Stated points of a junction that contradict each other, or what else is stated of it.

    Parameters
    ----------
    points : tuple of (float, float)
        One or two points, voltage [V] and current [A].
    what : str
        How they contradict, in words that follow the points.
    """

    def __init__(self, points: tuple[tuple[float, float], ...], what: str) -> None:
        super().__init__(points, what)
        self.points = points
        self.what = what

    def __str__(self) -> str:
        stated = " and ".join(f"{voltage:.4g} V at {amps:.4g} A" for voltage, amps in self.points)
        return f"{stated} {self.what} (state two points from one data sheet)"
