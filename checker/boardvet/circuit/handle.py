"""`Circuit`: the handle on what a board means, and the bookkeeping behind its views.

A *view* is a frozen answer to one group of questions (which kinds, which rails …). It is built
the first time somebody asks and then kept. While a view or a rule runs, the assumptions it makes
are noted, so that a report can say which rule rests on which default.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple, Protocol, Self, TypeVar, cast

from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import Point, Span, show
from boardvet.vocabulary.properties import PROPERTIES

if TYPE_CHECKING:
    from boardvet.board import Board, Part
    from boardvet.facts import FactBook
    from boardvet.intent import Intent
    from boardvet.quantity import Points
    from boardvet.vocabulary.kinds import Kind

__all__ = ["Assumed", "Circuit", "Progress", "View"]


class View(Protocol):
    """A frozen answer to one group of questions about a board."""

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Build the view; raise `MissingFact` where the board does not say enough."""


V = TypeVar("V", bound=View)


class Assumed(NamedTuple):
    """A default in use: what it stands for, its value, unit and source."""

    what: str
    value: float | str
    unit: str
    source: str


Progress = Callable[[str, int, int], None]
"""Told what is being done, how many are done, and of how many."""


class Circuit:
    """What one board means.

    `progress` is told of what takes long; None by default.

    Parameters
    ----------
    board : Board
        What was read.
    intent : Intent
        The page of intent, empty where none was given.
    facts : FactBook
        What is known of parts.
    assume_nothing : bool
        True if no default may be used: what rests on one is then undetermined.
    """

    def __init__(
        self, board: Board, intent: Intent, facts: FactBook, *, assume_nothing: bool = False
    ) -> None:
        self.board = board
        self.intent = intent
        self.facts = facts
        self.assume_nothing = assume_nothing
        self.progress: Progress | None = None
        self._views: dict[type, object] = {}
        self._rests_on: dict[type, dict[str, Assumed]] = {}
        self._frames: list[dict[str, Assumed]] = []

    def view(self, view_type: type[V]) -> V:
        """Return the view of this type, built on first use.

        A view that could not be built raises the same `MissingFact` each time.
        """
        if view_type not in self._views:
            with self.noting() as noted:
                try:
                    built: object = view_type.of(self)
                except MissingFact as missing:
                    built = missing
            self._views[view_type] = built
            self._rests_on[view_type] = noted
        if self._frames:
            self._frames[-1].update(self._rests_on[view_type])
        built = self._views[view_type]
        if isinstance(built, MissingFact):
            raise built.with_traceback(None)
        return cast("V", built)

    def keep(self, view: View) -> None:
        """Keep a view that was built elsewhere, together with those of boards like this one."""
        self._views[type(view)] = view
        self._rests_on[type(view)] = {}

    @contextmanager
    def noting(self) -> Iterator[dict[str, Assumed]]:
        """Collect the assumptions made inside the block, those of used views included."""
        frame: dict[str, Assumed] = {}
        self._frames.append(frame)
        try:
            yield frame
        finally:
            self._frames.pop()

    def assume(self, what: str, value: float | str, unit: str, source: str) -> None:
        """Note that a default stands in for something nobody stated."""
        if self._frames:
            self._frames[-1][what] = Assumed(what, value, unit, source)

    def assume_known(self, key: str, of: str, known: Known[object]) -> None:
        """Note that the default of a property stands in, its value as a page would state it."""
        value, unit = _stated(key, known)
        self.assume(f"{key} of {of}", value, unit, known.source)

    def part(self, reference: str) -> Part:
        """Return the part of this reference; `KeyError` if there is none."""
        return self.board.parts[reference]

    def known(self, reference: str, key: str) -> Known[object] | None:
        """Return what is known of a property of a part, None if nothing is.

        Intent counts before facts files, those before the text of the board, that before
        built-in facts, and those before the default of the kind, which is an assumption.
        """
        known = self.facts.known(reference, key, self._kind(reference))
        if known is not None and known.assumed:
            if self.assume_nothing:
                return None
            self.assume_known(key, reference, known)
        return known

    def need(self, reference: str, key: str) -> Known[object]:
        """Return what is known of a property of a part, or end the subject as undetermined.

        Raises
        ------
        MissingFact
            Where nothing is known.
        """
        known = self.known(reference, key)
        if known is None:
            raise self.facts.missing(reference, key)
        return known

    def _kind(self, reference: str) -> Kind:
        from boardvet.circuit.kinds import Kinds

        return self.view(Kinds).kind(reference)


def _stated(key: str, known: Known[object]) -> tuple[float | str, str]:
    """Return a value and its unit; a text with its units where it is more than one number."""
    value, unit = known.value, known.unit
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, float | str):
        return value, unit
    if isinstance(value, Span):
        return f"{show(value.low, unit)} to {show(value.high, unit)}", ""
    points = cast("Points", value)
    return " and ".join(_at(point, unit, PROPERTIES[key].at_unit) for point in points), ""


def _at(point: Point, unit: str, at_unit: str) -> str:
    shown = show(point.value, unit) if unit else f"{point.value * 100:g} %"
    return shown if point.at is None else f"{shown} at {show(point.at, at_unit)}"
