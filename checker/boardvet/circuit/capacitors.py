"""View: capacitors with what is known of them, and the voltage across them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State
from boardvet.circuit.values import BomLines, capacitance
from boardvet.known import Known

__all__ = ["Capacitor", "Capacitors", "is_ceramic"]

_ELECTROLYTIC = re.compile(
    r"elec|alu|tant|polar|^cp[_-]|_cp_|cp_radial|cp_axial|eia-\d|kemet-|supercap|edlc|vishay|"
    r"polymer|^cp\d?$",
    re.IGNORECASE,
)
CERAMIC_UP_TO = 10e-6
"""Up to here a capacitor without a word on its dielectric is taken as ceramic. [F]"""


@dataclass(frozen=True)
class Capacitor:
    """One fitted capacitor between two nodes, as a subject.

    Parameters
    ----------
    reference : str
        Its designator.
    a, b : str
        Its nodes.
    value : Known[float] or None
        Capacitance. [F]
    ceramic : bool
        False if something says electrolytic, tantalum, polymer or supercapacitor.
    """

    reference: str
    a: str
    b: str
    value: Known[float] | None
    ceramic: bool

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "capacitor"

    @property
    def label(self) -> str:
        """Its designator."""
        return self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """Its nodes."""
        return (self.a, self.b)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Capacitor]:
        """Return the capacitors of the board."""
        return tuple(circuit.view(Capacitors).of_part.values())

    def worst(self, circuit: Circuit) -> tuple[State, float, Fed] | None:
        """Return the state with the highest voltage across it in volts; None off the rails.

        Raises
        ------
        MissingFact
            Where the voltage of its rail rests on a fact that is missing.
        """
        grounds = circuit.view(Grounds)
        found: tuple[State, float, Fed] | None = None
        for state, fed in circuit.view(Feeding).in_state.items():
            ends = [fed[node].need() for node in (self.a, self.b) if node in fed]
            if not ends or (len(ends) == 1 and not {self.a, self.b} & set(grounds.nodes)):
                continue
            # Across two rails the difference is taken at the same moment of the cell's life.
            across = ends[0].highest if len(ends) == 1 else _apart(ends[0], ends[1])
            if found is None or across > found[1]:
                found = (state, across, ends[0])
        return found


@dataclass(frozen=True)
class Capacitors:
    """The fitted capacitors with both ends connected, by reference."""

    of_part: dict[str, Capacitor]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Collect the capacitors."""
        return cls(
            {
                element.reference: Capacitor(
                    element.reference,
                    element.a,
                    element.b,
                    capacitance(circuit, element.reference),
                    is_ceramic(circuit, element.reference),
                )
                for element in circuit.view(Elements).of_kind(ElementKind.CAPACITOR)
            }
        )


def is_ceramic(circuit: Circuit, reference: str) -> bool:
    """Tell whether a capacitor is ceramic: nothing says otherwise, and it is not too large."""
    part = circuit.board.parts[reference]
    stated = circuit.known(reference, "dielectric")
    if stated is not None and not stated.assumed:
        return not _ELECTROLYTIC.search(str(stated.value))
    line = circuit.view(BomLines).of_part.get(reference)
    texts = [part.value, part.name, part.footprint.rpartition(":")[2]]
    if line is not None:
        texts += [line.value, line.description, line.footprint]
    if any(_ELECTROLYTIC.search(text) for text in texts):
        return False
    known = capacitance(circuit, reference)
    return (
        known is None
        or known.value <= CERAMIC_UP_TO
        or bool(re.search(r"[_-]?C?_?(0[1-9]\d\d|1\d\d\d)", part.footprint))
    )


def _apart(one: Fed, other: Fed) -> float:
    return max(
        max(abs(a - d), abs(b - c))
        for a, b, c, d in zip(one.high, one.low, other.high, other.low, strict=True)
    )
