"""View: arrays, lights between the pins of a controller of which one is addressed at a time.

In each addressed state one line is high, one is low, and all other lines float.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.elements import Element, ElementKind
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, Drive, Island, IslandSolution
from boardvet.circuit.islands import Islands
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pins import PinRef
from boardvet.circuit.states import State
from boardvet.circuit.strings import LedString, Strings

if TYPE_CHECKING:
    from boardvet.physics.network import Network

__all__ = ["Addressed", "Arrays", "LightArray", "Pair"]

FLOATING = 1e12
"""A pin that neither pulls up nor down. [ohm]"""


class Pair(NamedTuple):
    """The nodes of two lines, of which the first is high and the second low."""

    high: str
    low: str


@dataclass(frozen=True)
class Addressed:
    """What each light carries while one pair of lines is driven.

    Parameters
    ----------
    pair : Pair
        The lines.
    state : State
        The state of the board.
    lit : tuple of LedString
        The lights that lie from the one line to the other, empty at an empty place.
    currents, backwards : mapping of str to float
        Of each light by its label: its current [A], and the voltage backwards across it [V].
    """

    pair: Pair
    state: State
    lit: tuple[LedString, ...]
    currents: Mapping[str, float]
    backwards: Mapping[str, float]


@dataclass(frozen=True)
class LightArray:
    """Lights between lines that pins drive, as a subject.

    Parameters
    ----------
    lights : tuple of LedString
        In the order of the board; they lie at two places at least.
    circuit : Circuit
        The board.
    """

    lights: tuple[LedString, ...]
    circuit: Circuit = field(repr=False, compare=False)

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "array"

    @property
    def label(self) -> str:
        """The lights."""
        names = [light.label for light in self.lights]
        return f"array of {', '.join(names) if len(names) <= 4 else f'{names[0]} to {names[-1]}'}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The lights."""
        return tuple(dict.fromkeys(light.light.reference for light in self.lights))

    @property
    def nets(self) -> tuple[str, ...]:
        """Nothing: it is parts."""
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[LightArray]:
        """Return the arrays of the board."""
        return circuit.view(Arrays).all

    @cached_property
    def at(self) -> Mapping[Pair, tuple[LedString, ...]]:
        """The lights of each place."""
        found: dict[Pair, list[LedString]] = {}
        for light in self.lights:
            found.setdefault(pair_of(light), []).append(light)
        return {pair: tuple(lights) for pair, lights in found.items()}

    def branches(self, pair: Pair) -> tuple[LedString, ...]:
        """Return the lights of a place; of those in series with each other the first."""
        found: list[LedString] = []
        for light in self.at[pair]:
            if not any(light.light in _chain(other) for other in found):
                found.append(light)
        return tuple(found)

    @cached_property
    def lines(self) -> Mapping[str, PinRef]:
        """The pin of each line by its node."""
        ends = (end for light in self.lights for end in light.ways())
        return {end.node: end.pin for end in ends if end.pin is not None}

    @cached_property
    def empty(self) -> tuple[Pair, ...]:
        """Places without a light, of lines that are high, and low, for other lights."""
        highs = dict.fromkeys(pair.high for pair in self.at)
        lows = dict.fromkeys(pair.low for pair in self.at)
        pairs = (Pair(high, low) for high in highs for low in lows if high != low)
        return tuple(pair for pair in pairs if pair not in self.at)

    @cached_property
    def limited(self) -> Mapping[str, bool]:
        """Tell for each line whether a resistor lies between its pin and every light on it."""
        found = dict.fromkeys(self.lines, True)
        for light in self.lights:
            for end in light.ways():
                has = any(element.kind is ElementKind.RESISTOR for element in end.path)
                found[end.node] = found[end.node] and has
        return found

    def name(self, line: str) -> str:
        """Return the name of a line by its pin, as in "U1 PB0"."""
        pin = self.lines[line]
        return f"{pin.reference} {pin.pin.function or f'pin {pin.pin.number}'}"

    def addressed(self, *, empty: bool = False, highest: bool = False) -> Iterator[Addressed]:
        """Yield every place as it is addressed, in each state that feeds the array.

        Parameters
        ----------
        empty : bool
            True for the empty places instead.
        highest : bool
            True to solve at the highest that fresh sources may show.

        Raises
        ------
        MissingFact
            Where what feeds it, or a value that a current depends on, is not known.
        """
        pairs = self.empty if empty else tuple(self.at)
        if not pairs:
            return
        for state in self.circuit.view(Lighting).states(self.lights[0]):
            island = self._island(state, highest=highest)
            solution = _solved(island, pairs)
            carried = {light: solution.current(light.light) for light in self.lights}
            for row, pair in enumerate(pairs):
                yield Addressed(
                    pair,
                    state,
                    self.at.get(pair, ()),
                    {light.label: carried[light][row] for light in self.lights},
                    {s.label: _backwards(solution, s.light, row) for s in self.lights},
                )

    def _island(self, state: State, *, highest: bool) -> Island:
        drives = tuple(
            Drive(pin.reference, node, high)
            for node, pin in self.lines.items()
            for high in (True, False)
        )
        conditions = Conditions(
            state,
            drives,
            frozenset(element for light in self.lights for element in light.switches()),
            highest=highest,
            across=frozenset(light.light for light in self.lights),
        )
        return self.circuit.view(Islands).build(conditions, [s.light.a for s in self.lights])


@dataclass(frozen=True)
class Arrays:
    """The arrays of the board, in its order."""

    all: tuple[LightArray, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Gather the lights whose both ends lead to pins, those of common lines together."""
        between = [s for s in circuit.view(Strings).all if _is_between_pins(s)]
        groups: list[tuple[set[str], list[LedString]]] = []
        for light in between:
            own = set(pair_of(light))
            joined = [group for group in groups if group[0] & own]
            groups = [group for group in groups if group not in joined]
            lines = own.union(*(group[0] for group in joined))
            groups.append((lines, [s for group in joined for s in group[1]] + [light]))
        order = {light.label: place for place, light in enumerate(between)}
        arrays = (
            LightArray(tuple(sorted(lights, key=lambda s: order[s.label])), circuit)
            for _, lights in groups
        )
        return cls(tuple(array for array in arrays if len(array.at) > 1))

    def of_light(self, light: LedString) -> LightArray | None:
        """Return the array that a light belongs to, None if it is in none."""
        return next((array for array in self.all if light in array.lights), None)


def pair_of(light: LedString) -> Pair:
    """Return the lines of a light between two pins."""
    high, low = light.drives()
    return Pair(high.node, low.node)


def _is_between_pins(light: LedString) -> bool:
    drives = light.drives()
    return len(drives) == 2 and drives[0].node != drives[1].node


def _chain(light: LedString) -> set[Element]:
    return {light.light, *(element for end in light.ways() for element in end.path)}


def _solved(island: Island, pairs: Sequence[Pair]) -> IslandSolution:
    """Solve one network with a row for each pair: its two lines driven, all others floating."""
    from boardvet.physics.network import solve

    return IslandSolution(island, solve(_driven(island, pairs)).require())


def _driven(island: Island, pairs: Sequence[Pair]) -> Network:
    import numpy as np

    from boardvet.physics.network import Resistors

    before = island.network.resistors
    ohms = np.repeat(before.resistance, len(pairs), axis=0)
    for drive, column in island.drives.items():
        for row, pair in enumerate(pairs):
            if drive.node != (pair.high if drive.high else pair.low):
                ohms[row, column] = FLOATING
    return replace(island.network, resistors=Resistors(before.a, before.b, ohms))


def _backwards(solution: IslandSolution, light: Element, row: int) -> float:
    return solution.voltage(light.b)[row] - solution.voltage(light.a)[row]
