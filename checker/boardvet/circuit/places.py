"""View: where the parts sit, and how far two of them are apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor, hypot
from typing import NamedTuple, Self

from boardvet.board import PlacementEntry
from boardvet.circuit.bodies import Body, body_of
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import BomLines
from boardvet.errors import MissingFact

__all__ = ["Field", "Gap", "Places"]


class Gap(NamedTuple):
    """How far two parts are apart.

    Parameters
    ----------
    middles : float
        From middle to middle, as seen from above, whichever sides they are on. [m]
    bodies : float
        Less half of the longer side of each body, never below 0. [m]
    told : bool
        True if both packages say how large they are.
    other_side : bool
        True if they are on different sides of the board.
    """

    middles: float
    bodies: float
    told: bool
    other_side: bool


@dataclass(frozen=True)
class Places:
    """Where each part sits: several places where a panel repeats the reference.

    Parameters
    ----------
    of_part : mapping of str to tuple of PlacementEntry
        By reference.
    bodies : mapping of str to Body
        How large each part is.
    given : bool
        False if there is no placement file.
    """

    of_part: Mapping[str, tuple[PlacementEntry, ...]]
    bodies: Mapping[str, Body]
    given: bool

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Index the placement file."""
        placement = circuit.board.placement
        if placement is None:
            return cls({}, {}, given=False)
        found: dict[str, tuple[PlacementEntry, ...]] = {}
        for entry in _seen_from_above(placement.entries):
            found[entry.reference] = (*found.get(entry.reference, ()), entry)
        lines = circuit.view(BomLines).of_part
        bodies = {}
        for reference, part in circuit.board.parts.items():
            texts = [part.footprint, *(entry.package for entry in found.get(reference, ())[:1])]
            if reference in lines:
                texts.append(lines[reference].footprint)
            pins = len({pin.number for pin in part.pins})
            bodies[reference] = body_of((text for text in texts if text), pins)
        return cls(found, bodies, given=True)

    def need(self, reference: str) -> tuple[PlacementEntry, ...]:
        """Return the places of a part.

        Raises
        ------
        MissingFact
            Where there is no placement file, or the part is not in it.
        """
        if reference not in self.of_part:
            raise self.absent(reference)
        return self.of_part[reference]

    def absent(self, reference: str) -> MissingFact:
        """Return the error that ends a subject for want of the place of a part."""
        if not self.given:
            return MissingFact(
                "board",
                "placement file",
                "no placement file was given",
                "export the placement (centroid) file, and hand it in beside the netlist",
            )
        return MissingFact(
            reference,
            "place",
            f"{reference} is not in the placement file",
            f"export the placement (centroid) file again, with {reference} and both sides",
        )

    def field(self, references: Iterable[str]) -> Field:
        """Return the placed ones of some parts, to be asked for the nearest.

        Raises
        ------
        ValueError
            Where none of them is placed.
        """
        entries = [e for reference in references for e in self.of_part.get(reference, ())]
        if not entries:
            raise ValueError("none of these parts is placed")
        width = max(e.x for e in entries) - min(e.x for e in entries)
        height = max(e.y for e in entries) - min(e.y for e in entries)
        # About one part a square, and never more squares in a row than there are parts.
        side = max((width * height / len(entries)) ** 0.5, max(width, height) / len(entries), 1e-3)
        squares: dict[tuple[int, int], list[PlacementEntry]] = {}
        for entry in entries:
            squares.setdefault((floor(entry.x / side), floor(entry.y / side)), []).append(entry)
        columns, rows = [x for x, _ in squares], [y for _, y in squares]
        return Field(self, side, squares, (min(columns), max(columns)), (min(rows), max(rows)))


@dataclass(frozen=True)
class Field:
    """Parts sorted by squares of the board, so that the nearest is found among neighbours.

    Parameters
    ----------
    places : Places
        Where all parts are.
    side : float
        Side of a square. [m]
    squares : mapping of (column, row) to sequence of PlacementEntry
        The parts in each square.
    columns, rows : (int, int)
        The first and the last square each way.
    """

    places: Places
    side: float
    squares: Mapping[tuple[int, int], Sequence[PlacementEntry]]
    columns: tuple[int, int]
    rows: tuple[int, int]

    def nearest(self, part: str) -> tuple[str, Gap]:
        """Return the part of the field that is nearest to another part, and the gap.

        On a panel each place of the part is compared with its nearest one, and the place that is
        worst off counts.

        Raises
        ------
        MissingFact
            Where the part has no place.
        """
        pairs = [(self._nearest(entry), entry) for entry in self.places.need(part)]
        (middles, found), entry = max(pairs, key=lambda pair: pair[0][0])
        ends = (self.places.bodies[part], self.places.bodies[found.reference])
        gap = max(middles - (ends[0].longer + ends[1].longer) / 2.0, 0.0)
        told = ends[0].told and ends[1].told
        return found.reference, Gap(middles, gap, told, entry.side != found.side)

    def _nearest(self, entry: PlacementEntry) -> tuple[float, PlacementEntry]:
        """Look through squares in growing rings until none can hold a nearer one."""
        x, y = floor(entry.x / self.side), floor(entry.y / self.side)
        ring = max(self.columns[0] - x, x - self.columns[1], self.rows[0] - y, y - self.rows[1], 0)
        best: tuple[float, PlacementEntry] | None = None
        while best is None or best[0] > (ring - 1) * self.side:
            for square in self._ring(x, y, ring):
                for other in self.squares.get(square, ()):
                    apart = hypot(entry.x - other.x, entry.y - other.y)
                    if best is None or apart < best[0]:
                        best = (apart, other)
            ring += 1
        return best

    def _ring(self, x: int, y: int, ring: int) -> Iterator[tuple[int, int]]:
        """Yield the squares that are so many steps away from one, those inside the field only."""
        for column in range(max(x - ring, self.columns[0]), min(x + ring, self.columns[1]) + 1):
            if abs(column - x) == ring:
                inside = range(max(y - ring, self.rows[0]), min(y + ring, self.rows[1]) + 1)
                yield from ((column, row) for row in inside)
            else:
                for row in {y - ring, y + ring}:
                    if self.rows[0] <= row <= self.rows[1]:
                        yield column, row


def _seen_from_above(entries: tuple[PlacementEntry, ...]) -> tuple[PlacementEntry, ...]:
    """Return the entries with the bottom side as seen from above.

    Some programs write the bottom as seen from below: its x is then negative throughout while
    that of the top is positive, or the other way round.
    """
    top = [entry.x for entry in entries if entry.side == "top"]
    bottom = [entry.x for entry in entries if entry.side == "bottom"]
    if not top or not bottom:
        return entries
    apart = (min(top) > 0 > max(bottom)) or (max(top) < 0 < min(bottom))
    if not apart:
        return entries
    return tuple(replace(e, x=-e.x) if e.side == "bottom" else e for e in entries)
