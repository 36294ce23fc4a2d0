"""View: what on the board can hurt someone, as subjects to give a caution about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.handle import Circuit

__all__ = ["Hazard", "Hazards", "Topic"]


class Topic(StrEnum):
    """What a caution is about."""

    SWALLOWING = "swallowing"
    LITHIUM = "lithium"
    CHARGING = "charging"
    FLASHING = "flashing"
    HEAT = "heat"


@dataclass(frozen=True)
class Hazard:
    """Something that may hurt: a topic, with the cell or the parts it is about, as a subject."""

    topic: Topic
    cell: Cell | None
    lights: tuple[str, ...]
    """Lights that flash; for heat the lights, regulators and chargers."""

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return f"{self.topic} hazard"

    @property
    def label(self) -> str:
        """The cell, or the lights; the board for heat."""
        if self.cell is not None:
            return self.cell.label
        if self.topic is Topic.HEAT:
            return "the board"
        return ", ".join(self.lights) if len(self.lights) <= 4 else f"{len(self.lights)} lights"

    @property
    def parts(self) -> tuple[str, ...]:
        """The cell, or the lights; none for heat, which is one whatever is added to the board."""
        if self.topic is Topic.HEAT:
            return ()
        return self.cell.parts if self.cell is not None else self.lights

    @property
    def nets(self) -> tuple[str, ...]:
        """No net."""
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Hazard]:
        """Return what may hurt on this board."""
        return circuit.view(Hazards).all


@dataclass(frozen=True)
class Hazards:
    """The hazards of a board."""

    all: tuple[Hazard, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """List a topic a cell, the lights together, and the heat of the board."""
        return cls(tuple(_hazards(circuit)))


def _hazards(circuit: Circuit) -> Iterator[Hazard]:
    for cell in circuit.view(Cells).all:
        for topic in (Topic.SWALLOWING, Topic.LITHIUM, Topic.CHARGING):
            yield Hazard(topic, cell, ())
    lights = circuit.view(Elements).of_kind(ElementKind.LED)
    shining = tuple(dict.fromkeys(element.reference for element in lights))
    if shining:
        yield Hazard(Topic.FLASHING, None, shining)
    warm = (*shining, *(converter.reference for converter in circuit.view(Converters).all))
    if warm:
        yield Hazard(Topic.HEAT, None, warm)
