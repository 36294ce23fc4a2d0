"""View: where the parts sit, and how far two of them are apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import hypot
from typing import NamedTuple, Self

from boardvet.board import PlacementEntry
from boardvet.circuit.bodies import Body, body_of
from boardvet.circuit.handle import Circuit
from boardvet.circuit.values import BomLines
from boardvet.errors import MissingFact

__all__ = ["Gap", "Places"]


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

    def gap(self, one: str, other: str) -> Gap:
        """Return how far two placed parts are apart, the nearest of their places.

        On a panel the pair that is worst off counts: each place of the one to the nearest place
        of the other.

        Raises
        ------
        MissingFact
            Where one of them has no place.
        """
        ends = self.need(other)
        half = (self.bodies[one].longer + self.bodies[other].longer) / 2.0
        told = self.bodies[one].told and self.bodies[other].told
        pairs = [
            min((hypot(a.x - b.x, a.y - b.y), a.side != b.side) for b in ends)
            for a in self.need(one)
        ]
        middles, other_side = max(pairs)
        return Gap(middles, max(middles - half, 0.0), told, other_side)


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
