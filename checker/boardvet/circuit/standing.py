"""View: standing paths, on which current flows from the cells to ground while nothing is on.

The board is solved at rest, with fresh cells, in each mode in which only the cells feed it: no
light that the pattern lights, no part at work, load switches open, regulators off that something
switches off. What then still carries current to ground is a path; dividers behind each other are
one. Electrolytic capacitors and supercapacitors leak as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import Unrecognised
from boardvet.circuit.timeline import Timelines
from boardvet.known import Known

__all__ = ["ModeDrain", "PathKind", "StandingPath", "StandingPaths"]


class PathKind(StrEnum):
    """What a standing path is."""

    RESISTORS = "resistors to ground"
    CONTACT = "a pull-up held low by a closed contact"
    LIGHT = "a light straight on its supply"
    BOOSTER = "coil and diode of a booster that is off"
    LEAKAGE = "leakage of a capacitor"


class ModeDrain(NamedTuple):
    """What a path takes in one mode: its name, its share of the time, the mean then at the cell.

    Currents in A; `volts` is what feeds the path, in V.
    """

    mode: str
    share: float
    current: float
    volts: float


@dataclass(frozen=True)
class StandingPath:
    """One path from the cells to ground that nothing switches off, as a subject.

    Parameters
    ----------
    what : PathKind
        What it is.
    references : tuple of str
        Its parts, in the order of the board.
    feeds : tuple of str
        Nodes that feed it.
    interior : tuple of str
        Nodes inside it.
    drains : tuple of ModeDrain
        By mode of use.
    booster : str
        The booster that does not cut it off, "" for none.
    because : str
        Where its current comes from.
    """

    what: PathKind
    references: tuple[str, ...]
    feeds: tuple[str, ...]
    interior: tuple[str, ...]
    drains: tuple[ModeDrain, ...] = field(compare=False)
    booster: str = ""
    because: str = "computed: the network at rest, solved"

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "drain path"

    @property
    def label(self) -> str:
        """Its parts."""
        names = self.references
        if len(names) > 5:
            return f"{names[0]} to {names[-1]}"
        return " and ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else names[0]

    @property
    def parts(self) -> tuple[str, ...]:
        """Its parts."""
        return self.references

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes that feed it."""
        return self.feeds

    @property
    def mean(self) -> float:
        """Mean current from the cells over all of the time, in amperes."""
        return sum(drain.share * drain.current for drain in self.drains)

    @property
    def share(self) -> float:
        """Share of the time in which it is there."""
        return sum({drain.mode: drain.share for drain in self.drains}.values())

    @property
    def worst(self) -> ModeDrain:
        """The mode in which it takes most."""
        return max(self.drains, key=lambda drain: drain.current)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[StandingPath | Unrecognised]:
        """Return the standing paths of the board, and the capacitors whose leakage is not told."""
        if not circuit.view(Cells).all:
            return ()
        paths = circuit.view(StandingPaths)
        return (*paths.all, *paths.untold)


@dataclass(frozen=True)
class StandingPaths:
    """The standing paths of the board, and what parts of it take for themselves meanwhile.

    Parameters
    ----------
    all : tuple of StandingPath
        Networks first, then capacitors.
    untold : tuple of Unrecognised
        Capacitors that leak, and nobody knows how much.
    own : tuple of (str, Known of float)
        Regulators and addressable LEDs that are on at rest, and their own current where it is
        known: other rules judge those. [A]
    """

    all: tuple[StandingPath, ...]
    untold: tuple[Unrecognised, ...]
    own: tuple[tuple[str, Known[float]], ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Solve the board at rest in every mode.

        Raises
        ------
        MissingFact
            Where a value that current depends on, or the shares of the modes, are not known.
        """
        from boardvet.circuit.standing_rest import Rest

        rests = [
            Rest(circuit, timeline)
            for timeline in circuit.view(Timelines).all
            if timeline.on_cell and timeline.share > 0.0
        ]
        order = {reference: place for place, reference in enumerate(circuit.board.parts)}
        networks = _joined(path for rest in rests for path in rest.paths())
        leaks = [leak for rest in rests for leak in rest.leaks()]
        told = _joined(leak for leak in leaks if isinstance(leak, StandingPath))
        untold = {leak.label: leak for leak in leaks if isinstance(leak, Unrecognised)}
        own = {reference: known for rest in rests for reference, known in rest.own()}
        return cls(
            tuple(
                replace(path, references=tuple(sorted(path.references, key=order.__getitem__)))
                for path in (*networks, *told)
            ),
            tuple(untold.values()),
            tuple(own.items()),
        )


def _joined(paths: Iterable[StandingPath]) -> list[StandingPath]:
    """Make one path of those of several modes that have parts in common."""
    found: list[StandingPath] = []
    for path in paths:
        alike = [each for each in found if set(each.references) & set(path.references)]
        for each in alike:
            found.remove(each)
            path = replace(
                max(each, path, key=lambda one: len(one.references)),
                references=tuple(dict.fromkeys((*each.references, *path.references))),
                feeds=tuple(dict.fromkeys((*each.feeds, *path.feeds))),
                interior=tuple(dict.fromkeys((*each.interior, *path.interior))),
                drains=(*each.drains, *path.drains),
            )
        found.append(path)
    return found
