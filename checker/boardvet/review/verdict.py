"""What a rule may answer about one subject: found, clear, or (by a missing fact) undetermined."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, Protocol

from boardvet.board import Place

__all__ = [
    "LEVELS",
    "THIS",
    "Assumption",
    "Broken",
    "Clear",
    "ClearOf",
    "Finding",
    "Found",
    "Level",
    "Number",
    "Related",
    "Setting",
    "Subject",
    "SubjectName",
    "Undetermined",
    "Waived",
]

THIS = "\ue000"
"""Stands for the subject's name in the texts of `Found`; subjects that are alike then fold."""


class Level(StrEnum):
    """How bad a finding is."""

    HOLD = "hold"
    QUERY = "query"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for hold, 1 for query, 2 for note."""
        return LEVELS.index(self)


LEVELS = (Level.HOLD, Level.QUERY, Level.NOTE)


class Number(NamedTuple):
    """A number that a verdict rests on, in SI units, with its source (see `known`)."""

    name: str
    value: float
    unit: str
    source: str


class Related(NamedTuple):
    """Another place that helps to understand a finding."""

    place: Place
    what: str


class Subject(Protocol):
    """What a rule judges: one thing of the circuit, with a name and the parts and nets it is of.

    A subject type also has a classmethod ``on(circuit)`` that lists its subjects on a board.
    """

    @property
    def kind(self) -> str:
        """Trade word for the type of subject, such as "rail" or "supply pin"."""

    @property
    def label(self) -> str:
        """Name as a person would say it, such as "U1" or "VBAT"."""

    @property
    def parts(self) -> tuple[str, ...]:
        """References of the parts that make the subject."""

    @property
    def nets(self) -> tuple[str, ...]:
        """Keys of the nets that make the subject."""


@dataclass(frozen=True, slots=True)
class Found:
    """The rule found something wrong.

    Parameters
    ----------
    bench : str
        What will be seen on the bench, one sentence, beginning with the symptom.
    sum : str
        The sum, with numbers and units, one or two sentences; "" where nothing is computed.
    fix : str
        The exact change, with a value that can be bought.
    why : str
        Why it is so, one or two sentences; "" where bench and sum say it.
    numbers : tuple of Number
        What the verdict rests on. If one of them is assumed, a hold becomes a query.
    level : Level, optional
        Where it differs from the level of the rule.
    parts, nets : tuple of str
        Further parts and nets, besides those of the subject.
    related : tuple of Related
        Further places.
    state : str
        Name of the state in which it is worst, "" where it is so in all.
    follows : tuple of (str, Subject), optional
        Rule and subject of the finding that this one is a consequence of.
    """

    bench: str
    sum: str
    fix: str
    why: str = ""
    numbers: tuple[Number, ...] = ()
    level: Level | None = None
    parts: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    related: tuple[Related, ...] = ()
    state: str = ""
    follows: tuple[str, Subject] | None = None


@dataclass(frozen=True, slots=True)
class Clear:
    """The rule judged the subject and found nothing wrong."""

    numbers: tuple[Number, ...] = ()


class SubjectName(NamedTuple):
    """A subject as the reports show it."""

    kind: str
    name: str


class Waived(NamedTuple):
    """Why a finding does not count."""

    because: str
    until: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """A `Found` with everything that the runner stamped on it.

    `message` is bench and sum with the subject's name filled in; `bench`, `sum` keep them apart
    for the terminal. `folded` counts the subjects of equal identity that this finding covers.
    """

    rule: str
    area: str
    level: Level
    subject: SubjectName
    parts: tuple[str, ...]
    nets: tuple[str, ...]
    bench: str
    sum: str
    fix: str
    why: str
    numbers: tuple[Number, ...]
    at: Place | None
    related: tuple[Related, ...]
    state: str | None
    fingerprint: str
    folded: int = 1
    waived: Waived | None = None
    since: str | None = None
    follows: str | None = None

    @property
    def message(self) -> str:
        """Bench symptom and sum as one text."""
        return f"{self.bench} {self.sum}".strip()


class Undetermined(NamedTuple):
    """A subject that could not be judged, and the fact that would change that."""

    rule: str
    area: str
    level: Level
    subject: SubjectName
    parts: tuple[str, ...]
    nets: tuple[str, ...]
    of: str
    key: str
    missing: str
    how: str


class ClearOf(NamedTuple):
    """A subject that a rule judged clear."""

    rule: str
    subject: SubjectName
    parts: tuple[str, ...]
    nets: tuple[str, ...]
    numbers: tuple[Number, ...] = ()


class Broken(NamedTuple):
    """A rule that raised instead of answering."""

    rule: str
    subject: SubjectName
    error: str


@dataclass(frozen=True, slots=True)
class Assumption:
    """A default that was used because nothing states the value."""

    what: str
    value: float | str
    unit: str
    source: str
    used_by: tuple[str, ...]


class Setting(NamedTuple):
    """A setting of a rule that differs from its default."""

    rule: str
    name: str
    value: str
    default: str
