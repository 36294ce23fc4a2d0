"""The junction of each diode and LED, from what is known of the part."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Self, cast

from boardvet.circuit.elements import Element, ElementKind
from boardvet.circuit.handle import Assumed, Circuit
from boardvet.errors import ContradictingPoints, MissingFact, PhysicsDomainError
from boardvet.facts.ratings import default_of
from boardvet.known import Known
from boardvet.physics.junction import (
    LED_FAMILIES,
    SCHOTTKY_DIODE,
    SILICON_DIODE,
    Junction,
    JunctionFamily,
    forward_voltage,
    junction_from_points,
)
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.kinds import Kind

__all__ = [
    "ROOM_TEMPERATURE",
    "PartJunction",
    "PartJunctions",
    "diode_drop",
    "is_schottky",
    "junction_of",
    "pin_colour",
]

_SCHOTTKY = re.compile(
    r"schottky|1n58\d\d|^bat\d|^ss\d|^b5\d{3}|^sk\d|^mbr|^rb\d|^pmeg|^sd1\d", re.IGNORECASE
)
_COLOUR_WORDS = ("RED", "GREEN", "BLUE", "WHITE", "YELLOW", "AMBER", "ORANGE")
_COLOUR_LETTERS = {"R": "red", "G": "green", "B": "blue", "W": "white", "Y": "yellow"}
_POLE_LETTERS = re.compile(r"ANODE|CATHODE|[AK_+-]|\d")

ROOM_TEMPERATURE = 25.0
"""At which it is judged unless an end of the stated range is worse. [°C]"""

_NITRIDE_FROM = 2.6
"""An LED that drops this much is taken for an InGaN one where its colour is not known. [V]"""

_LIGHT_LOAD, _FULL_LOAD = 1e-6, 10e-3
"""Currents between which the drop of a diode in a supply path is taken. [A]"""


@dataclass(frozen=True, slots=True)
class PartJunction:
    """A junction, with where its numbers were read."""

    junction: Junction
    source: str


def junction_of(
    circuit: Circuit, element: Element, temperature: float = ROOM_TEMPERATURE
) -> PartJunction:
    """Return the junction of a diode, LED or body diode at a temperature in °C.

    Raises
    ------
    MissingFact
        Where no forward voltage is known, or the stated points contradict each other.
    """
    reference = element.reference
    if element.kind is ElementKind.BODY_DIODE:
        return PartJunction(
            junction_from_points((), SILICON_DIODE, temperature),
            "assumed: a small silicon body diode",
        )
    if element.kind is ElementKind.LED:
        stated = circuit.known(reference, "forward_voltage") or _by_pin_colour(circuit, element)
    else:
        found = circuit.known(reference, "forward_voltage")
        if found is None:
            family = _diode_family(circuit, reference)
            return PartJunction(
                junction_from_points((), family, temperature),
                "assumed: a small diode of its type",
            )
        stated = found
    points = tuple((p.value, p.at) for p in cast("Points", stated.value) if p.at is not None)
    if not points:
        raise circuit.facts.missing(reference, "forward_voltage")
    family = _family(circuit, element, points)
    emission = circuit.known(reference, "emission")
    resistance = circuit.known(reference, "series_resistance")
    try:
        junction = junction_from_points(
            points,
            family,
            temperature,
            emission=cast("float", emission.value) if emission else None,
            series_resistance=cast("float", resistance.value) if resistance else None,
        )
    except ContradictingPoints as error:
        why = f"the stated forward voltages of {reference} contradict each other: {error}"
        raise _no_junction(reference, why) from error
    except PhysicsDomainError as error:
        why = f"the stated forward voltage of {reference} is that of no diode: {error}"
        raise _no_junction(reference, why) from error
    return PartJunction(junction, stated.source)


@dataclass(frozen=True)
class PartJunctions:
    """The junctions of a board, each made once for each temperature."""

    circuit: Circuit = field(repr=False)
    _made: dict[tuple[Element, float], tuple[PartJunction, tuple[Assumed, ...]]] = field(
        default_factory=dict, repr=False
    )

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; junctions are made as they are asked for."""
        return cls(circuit)

    def of_element(self, element: Element, temperature: float = ROOM_TEMPERATURE) -> PartJunction:
        """Return the junction of an element; raises as `junction_of`."""
        key = (element, temperature)
        if key not in self._made:
            with self.circuit.noting() as noted:
                made = junction_of(self.circuit, element, temperature)
            self._made[key] = made, tuple(noted.values())
        found, assumed = self._made[key]
        for each in assumed:  # whoever asks rests on them too
            self.circuit.assume(*each)
        return found


def _no_junction(reference: str, why: str) -> MissingFact:
    how = f"parts: {{{reference}: {{forward_voltage: 1.9 V at 1 mA and 2.0 V at 10 mA}}}}"
    return MissingFact(reference, "forward_voltage", why, how)


def diode_drop(circuit: Circuit, element: Element) -> Span:
    """Return the drop of a diode in a supply path, from next to no load to 10 mA, in volts."""
    found = junction_of(circuit, element).junction
    return Span(forward_voltage(found, _LIGHT_LOAD), forward_voltage(found, _FULL_LOAD))


def _family(
    circuit: Circuit, element: Element, points: tuple[tuple[float, float], ...]
) -> JunctionFamily:
    if element.kind is not ElementKind.LED:
        return _diode_family(circuit, element.reference)
    colour = circuit.known(element.reference, "colour")
    for said in (colour.value if colour is not None else None, pin_colour(element)):
        if said in LED_FAMILIES:
            return LED_FAMILIES[cast("str", said)]
    highest = max((volts for volts, _ in points), default=0.0)
    return LED_FAMILIES["white" if highest >= _NITRIDE_FROM else "red"]


def pin_colour(element: Element) -> str | None:
    """Return the colour that the pins of one light in a part of several say, None without one.

    `Element.name` is the function of its own pin: "ra", "k_green", "b".
    """
    name = element.name.upper()
    for word in _COLOUR_WORDS:
        if word in name:
            return word.lower()
    letters = _POLE_LETTERS.sub("", name)
    return _COLOUR_LETTERS.get(letters)


def _by_pin_colour(circuit: Circuit, element: Element) -> Known[object]:
    """Return the default of the colour that the pins say, or end the subject."""
    colour = pin_colour(element)
    if colour is not None and not circuit.assume_nothing:
        found = default_of(Kind.LED, "forward_voltage", {"colour": colour}.get)
        if found is not None:
            circuit.assume_known("forward_voltage", element.label, found)
            return found
    return circuit.need(element.reference, "forward_voltage")


def is_schottky(circuit: Circuit, reference: str) -> bool:
    """Tell whether the texts of a diode name a Schottky type."""
    part = circuit.board.parts[reference]
    texts = (part.value, part.name, part.description)
    return any(_SCHOTTKY.search(text) for text in texts)


def _diode_family(circuit: Circuit, reference: str) -> JunctionFamily:
    return SCHOTTKY_DIODE if is_schottky(circuit, reference) else SILICON_DIODE
