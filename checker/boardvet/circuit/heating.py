"""View: heating, the power that resistors turn into heat."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self, cast

from boardvet.circuit.capacitors import HighestRail
from boardvet.circuit.elements import (
    METALLIC,
    Element,
    ElementKind,
    Elements,
    is_p_channel,
)
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Drive
from boardvet.circuit.islands import Islands
from boardvet.circuit.junctions import ROOM_TEMPERATURE, junction_of
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.loading import LitStep, Loading
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles, can_drive
from boardvet.circuit.states import State, States
from boardvet.circuit.strings import LedString, Strings
from boardvet.circuit.subjects import OfOneElement
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.facts.ratings import rating_of
from boardvet.known import Known
from boardvet.physics.heat import resistor_dissipation
from boardvet.physics.junction import forward_voltage
from boardvet.quantity.statement import Points
from boardvet.vocabulary.kinds import Kind

__all__ = [
    "CASES",
    "STANDARD_TYPE",
    "Heat",
    "HeatedResistor",
    "Heating",
    "case_rating",
    "driving",
    "is_base",
]

LASTING = 1.0
"""A pulse from this length on heats a chip resistor through: from memory, it takes seconds. [s]"""

BASE_VOLTAGE = 0.7
"""Of a transistor that is on: common practice. [V]"""

CASES = ("0402", "0603", "0805", "1206", "1210", "2010", "2512")
"""Cases of chip resistors, each with a larger rating than the one before."""

STANDARD_TYPE = {"0603": 1 / 16, "0805": 1 / 10, "1206": 1 / 8}
"""Ratings of the older standard type, where a maker has two: Uni-Ohm chip resistor sheet. [W]"""


class Heat(NamedTuple):
    """What a resistor turns into heat in a state.

    Parameters
    ----------
    state : State
        In which it was solved.
    typical, highest : float
        Mean power, or that of pulses that last, as sources are typically and at their highest. [W]
    peak : float
        Highest power of a pulse. [W]
    volts : float
        Highest voltage across it. [V]
    duration : float or None
        Longest pulse; None where it lasts. [s]
    sure : bool
        False where a pin or transistor is taken as on for good because no pattern says.
    """

    state: State
    typical: float
    highest: float
    peak: float
    volts: float
    duration: float | None
    sure: bool


@dataclass(frozen=True)
class HeatedResistor(OfOneElement):
    """A fitted resistor, as a subject."""

    element: Element

    @property
    def reference(self) -> str:
        """Its designator."""
        return self.element.reference

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "resistor"

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[HeatedResistor]:
        """Return the resistors through which direct current can flow."""
        return circuit.view(Heating).resistors


@dataclass(frozen=True)
class Heating:
    """Finds the power in each resistor that can carry direct current."""

    circuit: Circuit = field(repr=False)
    resistors: tuple[HeatedResistor, ...]
    strings_of: dict[str, tuple[LedString, ...]] = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Collect the resistors on the ways of lights, and those between what can hold a node."""
        kinds = circuit.view(Kinds)
        through: dict[str, list[LedString]] = {}
        for string in circuit.view(Strings).all:
            for reference in string.limiters:
                through.setdefault(reference, []).append(string)
        found = [
            HeatedResistor(element)
            for element in circuit.view(Elements).of_kind(ElementKind.RESISTOR)
            if element.reference in through
            or (kinds.kind(element.reference) is Kind.RESISTOR and _carries(circuit, element))
        ]
        return cls(circuit, tuple(found), {ref: tuple(s) for ref, s in through.items()})

    def cannot_exceed(self, resistor: HeatedResistor, watts: float) -> bool:
        """Tell cheaply whether it stays below a power: nothing is solved.

        The whole highest rail lies across it, less what a light behind it drops at least: if it
        got that power, so much current flowed, and one of its lights carried its share of that.

        Raises
        ------
        MissingFact
            Where its value, or the voltage of a rail, is not known.
        """
        highest, ohms = self.circuit.view(HighestRail).volts or 0.0, self.ohms(resistor)
        if not ohms:
            return True
        strings = self.strings_of.get(resistor.reference, ())
        share = math.sqrt(watts / ohms) / max(len(strings), 1)
        drop = min((self._drop(string, share) for string in strings), default=0.0)
        across = max(highest - drop, 0.0)
        if len(strings) == 1:
            across *= ohms / (ohms + self._beside(resistor, strings[0]))
        return across**2 / ohms <= watts

    def _beside(self, resistor: HeatedResistor, string: LedString) -> float:
        """Return what else certainly lies in series with a resistor of one light, in ohms."""
        others = [ref for ref in string.limiters if ref != resistor.reference]
        known = [resistance(self.circuit, reference) for reference in others]
        for drive in string.drives():
            points = self.circuit.known(drive.reference, "pin_resistance")
            if points is not None:
                first = cast("Points", points.value)[0].value
                known.append(Known(first, points.unit, points.source))
        return sum(ohms.value for ohms in known if ohms is not None)

    def _drop(self, string: LedString, current: float) -> float:
        """Return what a light drops at a current in V, where it is warm; 0 where not known."""
        stated = self.circuit.intent.temperature
        warmth = ROOM_TEMPERATURE if stated is None else max(stated.value.high, ROOM_TEMPERATURE)
        try:
            junction = junction_of(self.circuit, string.light, warmth).junction
        except MissingFact:
            return 0.0
        return forward_voltage(junction, current) if current else 0.0

    def ohms(self, resistor: HeatedResistor) -> float:
        """Return its resistance in ohms, or end the subject."""
        known = resistance(self.circuit, resistor.reference)
        if known is None:
            raise missing_value(resistor.reference)
        return known.value

    def worst(self, resistor: HeatedResistor) -> Heat | None:
        """Return the state in which it gets warmest, None where nothing ever flows.

        Raises
        ------
        MissingFact
            Where a value that its current depends on is not known.
        """
        strings = self.strings_of.get(resistor.reference, ())
        found = self._lit(resistor, strings) if strings else self._held(resistor)
        return max(found, key=lambda heat: heat.highest, default=None)

    def _lit(self, resistor: HeatedResistor, strings: Sequence[LedString]) -> Iterator[Heat]:
        loading, ohms = self.circuit.view(Loading), self.ohms(resistor)
        for state, steps in loading.steps(strings):
            power = {
                (step, highest): self._power(resistor, state, step, ohms, highest=highest)
                for step in steps
                for highest in (False, True)
            }
            typical, highest = (
                max(
                    sum(step.meeting.weight * power[step, end] for step in steps),
                    *(power[step, end] for step in steps if step.meeting.run >= LASTING),
                    0.0,
                )
                for end in (False, True)
            )
            peak = max(power[step, True] for step in steps)
            longest = max(step.meeting.run for step in steps)
            yield Heat(
                state,
                typical,
                highest,
                peak,
                (peak * ohms) ** 0.5,
                longest if longest < LASTING else None,
                True,
            )

    def _power(
        self, resistor: HeatedResistor, state: State, step: LitStep, ohms: float, *, highest: bool
    ) -> float:
        solution = self.circuit.view(Loading).solve(state, step.strings, highest=highest)
        return resistor_dissipation(solution.resistor(resistor.element)[0], ohms)

    def _held(self, resistor: HeatedResistor) -> Iterator[Heat]:
        """Solve it with nothing on, then with each pin and transistor at its ends on for good."""
        element, ohms = resistor.element, self.ohms(resistor)
        elements = self.circuit.view(Elements)
        moving = (ElementKind.CHANNEL, ElementKind.COLLECTOR)
        on = frozenset(e for node in (element.a, element.b) for e in elements.at(node, *moving))
        ways: list[tuple[tuple[Drive, ...], frozenset[Element], bool]] = [((), frozenset(), True)]
        if on:
            ways.append(((), on, False))
        for node in (element.a, element.b):
            for reference in driving(self.circuit, node):
                ways += [((Drive(reference, node, high),), on, False) for high in (True, False)]
        for state in self.circuit.view(States).all:
            for drives, switched, sure in ways:
                highest = self._through(element, state, drives, switched, highest=True)
                power = resistor_dissipation(highest, ohms)
                typical = highest
                if power > COOL:  # else no rating is near, and one solution is enough
                    typical = self._through(element, state, drives, switched, highest=False)
                yield Heat(
                    state,
                    resistor_dissipation(typical, ohms),
                    power,
                    power,
                    abs(highest) * ohms,
                    None,
                    sure,
                )

    def _through(
        self,
        element: Element,
        state: State,
        drives: tuple[Drive, ...],
        on: frozenset[Element],
        *,
        highest: bool,
    ) -> float:
        hold = {
            node: BASE_VOLTAGE
            for node in (element.a, element.b)
            if drives and is_base(self.circuit, node)
        }
        solution = self.circuit.view(Islands).solve(
            state,
            (element.a, element.b),
            drives,
            on,
            fixed=hold,
            highest=highest,
            across=(element,),
        )
        return solution.resistor(element)[0]


COOL = 5e-3
"""A tenth of the smallest rating of a chip resistor (0201, 1/20 W). [W]"""


def case_rating(case: str) -> Known[float] | None:
    """Return the rated power of a chip resistor of a case, in watts."""
    return cast("Known[float] | None", rating_of(Kind.RESISTOR, case, "power_rating"))


_DRIVING = frozenset({Kind.CONTROLLER, Kind.MODULE, Kind.LOGIC})

_CONDUCTING = METALLIC | {
    ElementKind.RESISTOR,
    ElementKind.DIODE,
    ElementKind.LED,
    ElementKind.CONTACT,
    ElementKind.COLLECTOR,
    ElementKind.CHANNEL,
}
"""Elements through which something may hold a node."""


def _carries(circuit: Circuit, element: Element) -> bool:
    """Tell whether something holds both ends of a resistor, not both of them by pins."""
    ends = (element.a, element.b)
    held = [_is_held(circuit, node, element) or is_base(circuit, node) for node in ends]
    return any(held) and all(
        strong or bool(driving(circuit, node)) for strong, node in zip(held, ends, strict=True)
    )


def _is_held(circuit: Circuit, start: str, barred: Element) -> bool:
    """Tell whether a node is fed or ground, or something but the barred element leads to such."""
    grounds, feeding, elements = (
        circuit.view(Grounds),
        circuit.view(Feeding),
        circuit.view(Elements),
    )
    queue, seen = [start], {start}
    while queue:
        node = queue.pop()
        if node in grounds or feeding.ever(node):
            return True
        for element in elements.at(node):
            other = element.other(node)
            if element != barred and element.kind in _CONDUCTING and other not in seen:
                seen.add(other)
                queue.append(other)
    return False


def driving(circuit: Circuit, node: str) -> tuple[str, ...]:
    """Return the controllers, modules and logic of which a pin on a node can drive."""
    kinds, roles = circuit.view(Kinds), circuit.view(PinRoles)
    return tuple(
        pin.reference
        for net in circuit.view(Nodes).nets_of[node]
        for pin in roles.on_net[net]
        if kinds.kind(pin.reference) in _DRIVING and can_drive(pin, kinds.kind(pin.reference))
    )


def is_base(circuit: Circuit, node: str) -> bool:
    """Tell whether a node is the base of an NPN transistor with its emitter at ground."""
    grounds = circuit.view(Grounds)
    return any(
        e.control == node and e.b in grounds and not is_p_channel(circuit, e.reference)
        for e in circuit.view(Elements).of_kind(ElementKind.COLLECTOR)
    )
