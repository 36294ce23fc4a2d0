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

SQUARE = 5e-3
"""Side of the squares by which places are sorted. [m]"""


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
        if not self.given:
            raise MissingFact(
                "board",
                "placement file",
                "no placement file was given",
                "export the placement (centroid) file, and hand it in beside the netlist",
            )
        if reference not in self.of_part:
            raise MissingFact(
                reference,
                "place",
                f"{reference} is not in the placement file",
                f"export the placement (centroid) file again, with {reference} and both sides",
            )
        return self.of_part[reference]

    def field(self, references: Iterable[str]) -> Field:
        """Return the placed ones of some parts, to be asked for the nearest."""
        buckets: dict[tuple[int, int], list[PlacementEntry]] = {}
        for reference in references:
            for entry in self.of_part.get(reference, ()):
                buckets.setdefault(_bucket(entry), []).append(entry)
        return Field(self, buckets)


@dataclass(frozen=True)
class Field:
    """Parts sorted by squares of the board, so that the nearest is found among neighbours."""

    places: Places
    buckets: Mapping[tuple[int, int], Sequence[PlacementEntry]]

    def nearest(self, part: str) -> tuple[str, Gap]:
        """Return the part of the field that is nearest to another part, and the gap.

        On a panel each place of the part is compared with its nearest one, and the place that is
        worst off counts.

        Raises
        ------
        MissingFact
            Where the part has no place.
        ValueError
            Where the field is empty.
        """
        pairs = [(self._nearest(entry), entry) for entry in self.places.need(part)]
        (middles, found), entry = max(pairs, key=lambda pair: pair[0][0])
        ends = (self.places.bodies[part], self.places.bodies[found.reference])
        gap = max(middles - (ends[0].longer + ends[1].longer) / 2.0, 0.0)
        told = ends[0].told and ends[1].told
        return found.reference, Gap(middles, gap, told, entry.side != found.side)

    def _nearest(self, entry: PlacementEntry) -> tuple[float, PlacementEntry]:
        """Look through squares in growing rings, or through all where they are fewer."""
        x, y = _bucket(entry)
        best: tuple[float, PlacementEntry] | None = None
        ring = 0
        while best is None or best[0] > (ring - 1) * SQUARE:
            if 8 * ring > len(self.buckets):
                return min(self._apart(entry, self.buckets), key=lambda found: found[0])
            found = self._apart(entry, _ring(x, y, ring))
            best = min((*found, *((best,) if best else ())), key=lambda f: f[0], default=None)
            ring += 1
        return best

    def _apart(
        self, entry: PlacementEntry, squares: Iterable[tuple[int, int]]
    ) -> Iterator[tuple[float, PlacementEntry]]:
        for square in squares:
            for other in self.buckets.get(square, ()):
                yield hypot(entry.x - other.x, entry.y - other.y), other


def _ring(x: int, y: int, ring: int) -> Iterator[tuple[int, int]]:
    """Yield the squares that are so many steps away from one."""
    for dx in range(-ring, ring + 1):
        for dy in range(-ring, ring + 1) if abs(dx) == ring else {-ring, ring}:
            yield x + dx, y + dy


def _bucket(entry: PlacementEntry) -> tuple[int, int]:
    return floor(entry.x / SQUARE), floor(entry.y / SQUARE)


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
