"""View: capacitors with what is known of them, and the voltage across them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State
from boardvet.circuit.subjects import OfOnePart
from boardvet.circuit.values import BomLines, capacitance, resistance
from boardvet.known import Known
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.quantity import case_size

__all__ = [
    "Across",
    "Capacitor",
    "Capacitors",
    "HighestRail",
    "Technology",
    "series_resistance",
]


class Technology(StrEnum):
    """What a capacitor is made of, as far as its margins differ."""

    CERAMIC = "ceramic"
    TANTALUM = "tantalum"
    POLYMER = "polymer"
    ALUMINIUM = "aluminium"
    FILM = "film"
    SUPERCAPACITOR = "supercapacitor"
    POLARISED = "polarised"
    UNKNOWN = "unknown"


CERAMIC_UP_TO = 10e-6
"""Up to here a capacitor without a word on its making is taken for a ceramic one: above it other
kinds are as common (common practice, no source). [F]"""

_POLARISED_CASES = frozenset({"1411", "2312", "2917"})
"""Cases of moulded tantalum and polymer chips, EIA-535BAAC B, C and D."""

# The first that matches wins: a polymer tantalum is judged as a polymer one.
_WORDS: tuple[tuple[re.Pattern[str], Technology], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), technology)
    for pattern, technology in (
        (r"super-?cap|edlc|ultra-?cap|gold-?cap|double[- ]layer", Technology.SUPERCAPACITOR),
        (r"polymer|poscap|os-?con|solid cap", Technology.POLYMER),
        (r"polyester|polyprop|\bfilm\b|\bmk[tps]\b", Technology.FILM),
        (
            r"tantal|(^|[ _-])tant?([ _.-]|$)|^(taj|tps|tcj)[a-z]\d|^t49\d|^293d|"
            r"eia[-_]?\d{4}[-_]\d\d",
            Technology.TANTALUM,
        ),
        (r"ceramic|mlcc|\bcer\b|\b(x[5-8][rst]|y5v|z5u|c0g|cog|np0|npo)\b", Technology.CERAMIC),
        (r"electrolytic|(^|[ _-])elec?([ _-]|$)|alumin|(^|[ _-])alu\b", Technology.ALUMINIUM),
        (r"^cp_(radial|axial)|radial_d\d|panasonic_[a-g]\d?$", Technology.ALUMINIUM),
        (r"(?<!un)(?<!non)(?<!non-)polari[sz]|^cp\d?([_-]|$)|^c?pol\b", Technology.POLARISED),
    )
)


class Across(NamedTuple):
    """The most volts across a capacitor: in which state, typically and at the highest."""

    state: State
    typical: float
    highest: float
    fed: Fed


@dataclass(frozen=True)
class Capacitor(OfOnePart):
    """One fitted capacitor between two nodes, as a subject.

    Parameters
    ----------
    reference : str
        Its designator.
    a, b : str
        Its nodes.
    value : Known[float] or None
        Capacitance. [F]
    technology : Technology
        What it is made of.
    """

    reference: str
    a: str
    b: str
    value: Known[float] | None
    technology: Technology

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "capacitor"

    @property
    def nets(self) -> tuple[str, ...]:
        """Its nodes."""
        return (self.a, self.b)

    @property
    def ceramic(self) -> bool:
        """True where it is a ceramic one."""
        return self.technology is Technology.CERAMIC

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Capacitor]:
        """Return the capacitors of the board."""
        return tuple(circuit.view(Capacitors).of_part.values())

    def worst(self, circuit: Circuit) -> Across | None:
        """Return the highest voltage across it in any state; None off the rails.

        Raises
        ------
        MissingFact
            Where the voltage of its rail rests on a fact that is missing.
        """
        return max(self._each(circuit), key=lambda across: across.highest, default=None)

    def _each(self, circuit: Circuit) -> Iterator[Across]:
        grounds = circuit.view(Grounds)
        for state, fed in circuit.view(Feeding).in_state.items():
            ends = [fed[node] for node in (self.a, self.b) if node in fed]
            if not ends or (len(ends) == 1 and not (self.a in grounds or self.b in grounds)):
                continue
            first, *rest = [end.need() for end in ends]
            if rest:
                # Across two rails the difference is taken at the same moment of the cell's life.
                apart = _apart(first, rest[0])
                yield Across(state, apart, apart, first)
            else:
                yield Across(state, max(first.high), max(first.highest, *first.high), first)


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
                    _technology(circuit, element.reference),
                )
                for element in circuit.view(Elements).of_kind(ElementKind.CAPACITOR)
            }
        )


@dataclass(frozen=True)
class HighestRail:
    """The highest voltage of any fed node in any state, None where nothing is fed. [V]."""

    volts: float | None

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Compare every fed node.

        Raises
        ------
        MissingFact
            Where the voltage of a fed node rests on a fact that is missing.
        """
        fed = [one for nodes in circuit.view(Feeding).in_state.values() for one in nodes.values()]
        return cls(max((max(one.need().highest, *one.high) for one in fed), default=None))


def series_resistance(circuit: Circuit, across: Across) -> float:
    """Return the resistance between a capacitor and what charges it, in ohms.

    A fresh cell's own and that of the resistors on the way; what stands before a regulator does
    not count.
    """
    total = 0.0
    converters = {converter.reference for converter in circuit.view(Converters).all}
    for reference in reversed(across.fed.path):
        if reference in converters:
            return total
        ohms = resistance(circuit, reference)
        total += ohms.value if ohms is not None and ohms.unit == "ohm" else 0.0
    cells = [c for c in circuit.view(Cells).all if c.reference in across.fed.sources]
    if len(cells) != len(across.fed.sources):
        return total
    return total + min((cell_resistance(cell.curve, 0.0) for cell in cells), default=0.0)


def _technology(circuit: Circuit, reference: str) -> Technology:
    """Tell what a capacitor is made of: by a stated word, by its texts, by case, by size."""
    part = circuit.board.parts[reference]
    stated = circuit.known(reference, "dielectric")
    line = circuit.view(BomLines).of_part.get(reference)
    texts = [str(stated.value) if stated is not None else "", part.value, part.name]
    footprints = [part.footprint.rpartition(":")[2]]
    if line is not None:
        texts += [line.value, line.description, line.part_number]
        footprints.append(line.footprint)
    said = [_said(text) for text in (*texts, *footprints) if text]
    # "Polarised" says less than any other word.
    told = [technology for technology in said if technology is not None]
    for technology in told:
        if technology is not Technology.POLARISED:
            return technology
    cases = {case_size(text) for text in footprints} - {None}
    if told or cases & _POLARISED_CASES:
        return Technology.POLARISED
    if cases:
        return Technology.CERAMIC
    known = capacitance(circuit, reference)
    if (known is not None and known.value > CERAMIC_UP_TO) or circuit.assume_nothing:
        return Technology.UNKNOWN
    circuit.assume(
        "capacitors without a word on their making",
        "ceramic up to 10 µF",
        "",
        "assumed: nothing says electrolytic, and small ones mostly are ceramic",
    )
    return Technology.CERAMIC


@lru_cache(maxsize=4096)
def _said(text: str) -> Technology | None:
    return next((found for pattern, found in _WORDS if pattern.search(text)), None)


def _apart(one: Fed, other: Fed) -> float:
    return max(
        max(abs(a - d), abs(b - c))
        for a, b, c, d in zip(one.high, one.low, other.high, other.low, strict=True)
    )
