"""What sizing on a board gives for one subject, and what all its modules share."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import Values
from boardvet.circuit.what_if import with_value
from boardvet.errors import MissingFact, PhysicsDomainError, SolverError
from boardvet.quantity import show
from boardvet.sizing._calculation import Answer, Chosen, Unsizable

__all__ = [
    "Change",
    "NotSized",
    "Outcome",
    "Sized",
    "changed",
    "drawn",
    "end_of_life",
    "fitted_or",
    "tried",
]


class Change(NamedTuple):
    """A part with the value that it has and the one suggested, as texts; both may be one value."""

    reference: str
    before: str
    after: str
    stays: bool = False


class Sized(NamedTuple):
    """A subject with its values.

    Parameters
    ----------
    subject : str
        The light, line, charger …
    answer : Answer
        The values with their sums.
    changes : tuple of Change
        What to change on the board.
    solved : tuple of str
        What the board does with them, solved.
    """

    subject: str
    answer: Answer
    changes: tuple[Change, ...]
    solved: tuple[str, ...]


class NotSized(NamedTuple):
    """A subject that cannot be sized: what is missing or wrong, and what to add."""

    subject: str
    missing: str
    how: str


Outcome = Sized | NotSized

_PASTED = re.compile(r"[a-z_]+[:=]")
"""How a text begins that can be pasted into a page or written on the command line."""


def tried(subject: str, work: Callable[[], Outcome | None]) -> Iterator[Outcome]:
    """Yield what the work gives; what stands against it becomes a `NotSized`."""
    try:
        found = work()
    except MissingFact as missing:
        add = "add " if _PASTED.match(missing.how) else ""
        found = NotSized(subject, missing.missing, f"{add}{missing.how}")
    except Unsizable as error:
        found = NotSized(subject, error.what, error.do)
    except PhysicsDomainError as error:
        found = NotSized(subject, str(error), "look for a value on the page that cannot be real")
    except SolverError as error:
        found = NotSized(subject, "the board with it has no solution that was found", str(error))
    if found is not None:
        yield found


def drawn(chosen: Chosen) -> str:
    """Return a value as it is written in a drawing: "430", "4.7k", "15p".

    Examples
    --------
    >>> drawn(Chosen("R", 4700.0, "ohm", "E12", 4600.0)), drawn(Chosen("C", 15e-12, "F", "", 1.0))
    ('4.7k', '15p')
    """
    if chosen.unit == "F" and chosen.value >= 1e-3:
        return f"{chosen.value * 1e6:g}u"  # nobody writes millifarads: "4m7" is read as metres
    text = show(chosen.value, chosen.unit).replace("µ", "u").replace("Ω", "").replace("F", "")
    return text.replace(" ", "")


def changed(circuit: Circuit, reference: str, chosen: Chosen) -> tuple[Circuit, Change]:
    """Return the board with a value put in, and the change."""
    before, fitted = circuit.part(reference).value, circuit.view(Values).of_part.get(reference)
    stays = fitted is not None and math.isclose(fitted.value, chosen.value, rel_tol=1e-6)
    change = Change(reference, before, chosen.shown, stays)
    return with_value(circuit, reference, drawn(chosen)), change


def fitted_or(circuit: Circuit, reference: str, chosen: Chosen, margin: float) -> Chosen:
    """Return what is fitted where it is as near to the wanted value, else what was chosen."""
    fitted = circuit.view(Values).of_part.get(reference)
    if fitted is None or fitted.unit != chosen.unit:
        return chosen
    off = abs(fitted.value / chosen.wanted - 1)
    if off <= min(margin, abs(chosen.value / chosen.wanted - 1)):
        return chosen._replace(value=fitted.value, series="as fitted")
    return chosen


def end_of_life(circuit: Circuit) -> tuple[float, str]:
    """Return the share of the cell's charge at which the board stops, with words for it."""
    from boardvet.circuit.discharge import Discharge

    try:
        stop = circuit.view(Discharge).stop
    except (MissingFact, SolverError):
        return 1.0, "from the empty cell"
    if stop.used <= 0:
        return 1.0, "from the empty cell"
    return stop.used, f"at the end ({100 * stop.used:.0f} % used)"
