"""View: which sources stand on one node with nothing between them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.sources import SourceKind, Sources
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity.statement import Span

__all__ = ["Contests", "Giver", "GiverKind"]

_JOINING = (ElementKind.FERRITE, ElementKind.FUSE)
"""What stands between two sources and parts them in no way."""

_HOST_PORT = re.compile(r"usb[_ -]?a([_ -]|$)|type[_ -]?a", re.IGNORECASE)
_PLUG = re.compile(r"plug|male", re.IGNORECASE)


class GiverKind(StrEnum):
    """What gives the supply."""

    CELL = "cell"
    CHARGER = "charger"
    REGULATOR = "regulator"
    PORT = "port"


class Giver(NamedTuple):
    """A source, or the output of a regulator, on a node.

    `voltage` is what it shows, of a cell when fresh; None where nobody says. [V]
    """

    reference: str
    kind: GiverKind
    node: str
    voltage: Known[Span] | None


@dataclass(frozen=True)
class Contests:
    """The sources that stand together, by the first of their nodes.

    Parameters
    ----------
    at : mapping of str to tuple of Giver
        Nodes with one or more sources; those that may stand together count as one and only the
        first is kept: cells (other rules ask how these suit each other), a charger on its cell,
        several outputs of one part.
    """

    at: Mapping[str, tuple[Giver, ...]]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Group the sources by what joins their nodes: metal, ferrites and fuses."""
        givers = list(_givers(circuit))
        cluster = _clusters(circuit, {giver.node for giver in givers})
        groups: dict[str, list[Giver]] = {}
        for giver in givers:
            groups.setdefault(cluster[giver.node], []).append(giver)
        return cls(
            {group[0].node: tuple(_apart(circuit, group)) for group in groups.values() if group}
        )


def _givers(circuit: Circuit) -> Iterator[Giver]:
    grounds = circuit.view(Grounds)
    cells = {cell.reference: cell for cell in circuit.view(Cells).all}
    for source in circuit.view(Sources).all:
        if source.node in grounds or source.kind in {SourceKind.HEADER, SourceKind.SOLAR}:
            continue
        if source.kind is SourceKind.CELL:
            try:
                fresh = cells[source.reference].voltages()[0]
                voltage = Known(Span(fresh, fresh), "V", cells[source.reference].curve_source)
            except MissingFact:
                voltage = None
            yield Giver(source.reference, GiverKind.CELL, source.node, voltage)
        else:
            yield Giver(source.reference, GiverKind.PORT, source.node, source.voltage)
    for converter in circuit.view(Converters).all:
        kind = GiverKind.CHARGER if converter.charger else GiverKind.REGULATOR
        for node in converter.outputs:
            if node not in grounds and node not in converter.inputs:
                yield Giver(converter.reference, kind, node, converter.conversion.output)


def _clusters(circuit: Circuit, nodes: Iterable[str]) -> Mapping[str, str]:
    """Return for each node one that stands for all it is joined with."""
    elements, grounds = circuit.view(Elements), circuit.view(Grounds)
    stands: dict[str, str] = {}
    for start in nodes:
        if start in stands:
            continue
        stands[start] = start
        for node in (queue := [start]):
            for element in elements.at(node, *_JOINING):
                other = element.other(node)
                if other not in stands and other not in grounds:
                    stands[other] = start
                    queue.append(other)
    return stands


def _apart(circuit: Circuit, group: list[Giver]) -> Iterator[Giver]:
    """Keep of each set that may stand together the first one."""
    kinds = {giver.kind for giver in group}
    seen: set[str] = set()
    for giver in group:
        if giver.reference in seen:
            continue
        if giver.kind is GiverKind.CHARGER and GiverKind.CELL in kinds:
            continue
        behind = giver.kind is GiverKind.PORT and GiverKind.REGULATOR in kinds
        if behind and _is_host_port(circuit, giver.reference):
            continue
        one_of = GiverKind.CELL if giver.kind is GiverKind.CELL else giver.reference
        if one_of not in seen:
            seen.update((one_of, giver.reference))
            yield giver


def _is_host_port(circuit: Circuit, reference: str) -> bool:
    """Tell whether a USB connector gives and does not take: a receptacle of type A."""
    part = circuit.board.parts[reference]
    words = f"{part.name} {part.value} {part.footprint}"
    return bool(_HOST_PORT.search(words)) and not _PLUG.search(words)
