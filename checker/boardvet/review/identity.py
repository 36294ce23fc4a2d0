"""What a part, a net and a subject *are*, whatever they are numbered: identities, fingerprints.

The identity of a part is its reference letters, its library name, and for each pin its number
and its net's identity. That of a net is its name if a person gave it, else the letters, library
names and pins of what hangs on it. No designator number, no value and no automatic net name
counts, so that renumbering and an edited value change nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.board import Board, Net, Part
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import reference_letters
from boardvet.review.verdict import Subject

__all__ = ["Identities", "fingerprint"]


@dataclass(frozen=True)
class Identities:
    """The identity of every part and net of a board, as short digests."""

    of_part: Mapping[str, str]
    of_net: Mapping[str, str]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Build the identities once; this is also a view."""
        return cls.of_board(circuit.board)

    @classmethod
    def of_board(cls, board: Board) -> Self:
        """Build the identities of a board."""
        nets = {key: _net(board, net) for key, net in board.nets.items()}
        parts = {ref: _part(part, nets) for ref, part in board.parts.items()}
        return cls(parts, nets)

    def part(self, reference: str) -> str:
        """Return the identity of a part; one that is not on the board is its own text."""
        return self.of_part.get(reference) or _digest(("absent", reference))

    def net(self, key: str) -> str:
        """Return the identity of a net; one that is not on the board is its own text."""
        return self.of_net.get(key) or _digest(("absent", key))


def fingerprint(rule: str, subject: Subject, identities: Identities) -> str:
    """Return what a finding is recognised by in waivers and earlier reviews.

    Sixteen hexadecimal digits over the rule, the kind of subject and the identities of the
    subject's parts and nets.
    """
    return _digest(
        (
            rule,
            subject.kind,
            *sorted(identities.part(reference) for reference in subject.parts),
            "|",
            *sorted(identities.net(key) for key in subject.nets),
            *_pin_numbers(subject),
        )
    )


def _pin_numbers(subject: Subject) -> tuple[str, ...]:
    """Subjects that are one pin of a part differ by its number."""
    pin = getattr(subject, "pin", None)
    number = getattr(getattr(pin, "pin", None), "number", None)
    return ("#", str(number)) if number is not None else ()


def _digest(pieces: Iterable[str]) -> str:
    return hashlib.sha256("\x1f".join(pieces).encode()).hexdigest()[:16]


def _net(board: Board, net: Net) -> str:
    if net.named:
        return _digest(("net", net.name))
    hanging = sorted(
        "\x1e".join(
            (
                reference_letters(reference),
                board.parts[reference].name if reference in board.parts else "",
                pin,
            )
        )
        for reference, pin in net.nodes
    )
    return _digest(("hanging", *hanging))


def _part(part: Part, nets: Mapping[str, str]) -> str:
    pins = sorted(
        f"{pin.number}\x1e{nets[pin.net] if pin.net is not None else ''}" for pin in part.pins
    )
    return _digest(("part", reference_letters(part.reference), part.name, *pins))
