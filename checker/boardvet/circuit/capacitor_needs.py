"""View: where a converter asks for a least capacitance, and which capacitors stand there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Self, cast

from boardvet.circuit.capacitors import Capacitor, Capacitors
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.known import Known

__all__ = ["CapacitorNeed", "CapacitorNeeds"]


@dataclass(frozen=True)
class CapacitorNeed:
    """The least capacitance at one side of a regulator or charger, as a subject.

    Parameters
    ----------
    reference : str
        The converter.
    side : str
        "input" or "output".
    node : str
        Where it is needed.
    least : Known[float]
        What it needs. [F]
    capacitors : tuple of Capacitor
        The fitted ones from the node to ground.
    """

    reference: str
    side: str
    node: str
    least: Known[float]
    capacitors: tuple[Capacitor, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "converter side"

    @property
    def label(self) -> str:
        """Side and part."""
        return f"{self.side} of {self.reference}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The converter."""
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The node."""
        return (self.node,)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[CapacitorNeed]:
        """Return the sides for which a least capacitance is known."""
        return circuit.view(CapacitorNeeds).all


@dataclass(frozen=True)
class CapacitorNeeds:
    """The sides of converters for which a least capacitance is known."""

    all: tuple[CapacitorNeed, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Ask each converter."""
        found = (_sides(circuit, converter) for converter in circuit.view(Converters).all)
        return cls(tuple(need for needs in found for need in needs))


def _sides(circuit: Circuit, converter: Regulator) -> Iterator[CapacitorNeed]:
    for side, nodes in (("input", converter.inputs), ("output", converter.outputs)):
        least = circuit.known(converter.reference, f"{side}_capacitor_min")
        if least is None or not nodes:
            continue
        at_node = {node: _to_ground(circuit, node) for node in nodes}
        # Of several pins of one side the one where the capacitors stand is meant.
        node = max(nodes, key=lambda n: sum(c.value.value for c in at_node[n] if c.value))
        known = cast("Known[float]", least)
        yield CapacitorNeed(converter.reference, side, node, known, at_node[node])


def _to_ground(circuit: Circuit, node: str) -> tuple[Capacitor, ...]:
    grounds, capacitors = circuit.view(Grounds), circuit.view(Capacitors).of_part
    return tuple(
        capacitors[element.reference]
        for element in circuit.view(Elements).at(node, ElementKind.CAPACITOR)
        if element.other(node) in grounds and element.reference in capacitors
    )
