"""View: lights that are meant to look alike, one colour of one entry of the pattern."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self, cast

from boardvet.circuit.elements import ElementKind
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions
from boardvet.circuit.islands import Islands
from boardvet.circuit.junctions import pin_colour
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pattern import Lit, Pattern
from boardvet.circuit.states import State
from boardvet.circuit.strings import LedString, Strings
from boardvet.circuit.values import resistance
from boardvet.known import Known

__all__ = [
    "GroupCurrent",
    "LightGroup",
    "LightGroups",
    "colour_of",
    "is_on",
    "largest_limiter",
    "wanted_current",
]


class GroupCurrent(NamedTuple):
    """What a light of a group carries as a rule, with fresh sources. [A]."""

    light: LedString
    state: State
    lit: Lit
    amperes: float


@dataclass(frozen=True)
class LightGroup:
    """Lights of one colour that one entry lights, or that are on together anyway, as a subject.

    Parameters
    ----------
    lights : tuple of LedString
        In the order of the board; a light that shares nothing with others is a group of its own.
    circuit : Circuit
        The board.
    """

    lights: tuple[LedString, ...]
    circuit: Circuit = field(repr=False, compare=False)

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "light" if len(self.lights) == 1 else "lights"

    @property
    def label(self) -> str:
        """The lights."""
        names = [light.label for light in self.lights]
        return ", ".join(names) if len(names) <= 4 else f"{names[0]} to {names[-1]}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The lights."""
        return tuple(dict.fromkeys(light.light.reference for light in self.lights))

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes of a light that is alone, as those of a light; else nothing."""
        return self.lights[0].nets if len(self.lights) == 1 else ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[LightGroup]:
        """Return the groups of the board."""
        return circuit.view(LightGroups).all

    @property
    def alike(self) -> bool:
        """Tell whether all are fed from one rail through equal resistors."""
        return len({self.placed(light) for light in self.lights}) == 1

    @property
    def equal(self) -> bool:
        """Tell whether all are alike, and of one type as well."""
        parts = (self.circuit.board.parts[reference] for reference in self.parts)
        return self.alike and len({(part.value, part.name) for part in parts}) == 1

    def placed(self, light: LedString) -> Hashable:
        """Return how a light is fed: its rails, or the parts that drive it, and its resistors."""
        ends = [end.node if end.pin is None else end.pin.reference for end in light.ways()]
        known = [resistance(self.circuit, each) for each in light.limiters]
        ohms = sorted(each.value if each is not None else -1.0 for each in known)
        return (*ends, *ohms)

    def currents(self) -> tuple[GroupCurrent, ...]:
        """Return the current of each light in one state, as the entry they share lights it.

        Empty where no state lights all of them.

        Raises
        ------
        MissingFact
            Where a fact that a current rests on is missing.
        """
        lighting = self.circuit.view(Lighting)
        for state in lighting.states(self.lights[0]):
            for lit in self.circuit.view(Pattern).lit(self.lights[0].light.reference):
                if all(self._lit_by(lit, light, state) for light in self.lights):
                    return tuple(self._solved(lit, state))
        return ()

    def _lit_by(self, lit: Lit, light: LedString, state: State) -> bool:
        """Tell whether a light is lit in a state by the entry that lights the first one."""
        own = self._entry(lit, light)
        return own is not None and state in self.circuit.view(Lighting).states(light)

    def _entry(self, lit: Lit, light: LedString) -> Lit | None:
        """Return an entry as it lights another of its lights."""
        entries = self.circuit.view(Pattern).lit(light.light.reference)
        same = (e for e in entries if (e.name, e.listed) == (lit.name, lit.listed))
        return next(same, None)

    def _solved(self, lit: Lit, state: State) -> Iterator[GroupCurrent]:
        """Solve those that are on together at once, and the others one by one."""
        lighting, islands = self.circuit.view(Lighting), self.circuit.view(Islands)
        left = list(self.lights)
        while left:
            own = self._entry(lit, left[0]) or lit
            conditions, seeds = lighting.conditions(left[0], state, own)
            on = [s for s in left if s is left[0] or is_on(s, conditions)]
            nodes = [node for s in on for node in (s.light.a, s.light.b)]
            solution = islands.build(conditions, [*seeds, *nodes]).solved()
            for light in on:
                entry = self._entry(lit, light) or lit
                yield GroupCurrent(light, state, entry, solution.current(light.light)[0])
            left = [light for light in left if light not in on]


def is_on(light: LedString, conditions: Conditions) -> bool:
    """Tell whether a light is on under the conditions under which another one is."""
    contacts = [e for end in light.ways() for e in end.path if e.kind is ElementKind.CONTACT]
    return (
        set(light.drives()) <= set(conditions.drives)
        and light.switches() <= conditions.on
        and all(conditions.state.is_closed(contact) for contact in contacts)
    )


@dataclass(frozen=True)
class LightGroups:
    """The groups, in the order of the board."""

    all: tuple[LightGroup, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Gather the lights by colour and entry; without a stated pattern, by what switches them.

        Lights that nothing limits, or that a driver limits, are left out.
        """
        pattern = circuit.view(Pattern)
        groups: dict[Hashable, dict[str, LedString]] = {}
        for light in circuit.view(Strings).all:
            if light.bare or not light.limiters or light.top is None or light.bottom is None:
                continue
            for lit in pattern.lit(light.light.reference):
                colour = colour_of(circuit, light)
                key = colour, _switching(light, lit)
                group = groups.setdefault(key if colour is not None else light.label, {})
                group[light.label] = light
        distinct = dict.fromkeys(tuple(lights.values()) for lights in groups.values())
        return cls(tuple(LightGroup(lights, circuit) for lights in distinct))


def _switching(light: LedString, lit: Lit) -> Hashable:
    """Return the entry that lights a light; without one, all that has to be on for it."""
    if lit.stated:
        return lit.name, lit.listed
    ways = light.ways()
    ends = tuple(end.node for end in ways)
    contacts = frozenset(e for end in ways for e in end.path if e.kind == "contact")
    return ends, frozenset(light.drives()), light.switches(), contacts


def colour_of(circuit: Circuit, light: LedString) -> str | None:
    """Return the colour of a light, by the pins of its part or by what is known of it."""
    known = circuit.known(light.light.reference, "colour")
    stated = str(known.value) if known is not None else None
    return pin_colour(light.light) or stated


def wanted_current(circuit: Circuit, light: LedString) -> Known[float] | None:
    """Return the current that is wanted of a light, None where nothing says it, in amperes."""
    known = circuit.known(light.light.reference, "wanted_current")
    return None if known is None else cast("Known[float]", known)


def largest_limiter(circuit: Circuit, light: LedString) -> str:
    """Return the largest of the resistors on the way of a light."""

    def ohms(reference: str) -> float:
        known = resistance(circuit, reference)
        return known.value if known is not None else 0.0

    return max(light.limiters, key=ohms)
