"""View: the solved current of each light, in the state and step of the pattern that is worst."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, Drive, IslandSolution
from boardvet.circuit.islands import Islands
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pattern import Lit, Pattern
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.states import State, States
from boardvet.circuit.strings import EndKind, LedString, StringEnd, Strings
from boardvet.errors import MissingFact
from boardvet.vocabulary.roles import Role

__all__ = ["LightCurrent", "Lighting"]


@dataclass(frozen=True)
class LightCurrent:
    """What a light carries when it is lit.

    Parameters
    ----------
    state : State
        In which it was solved.
    lit : Lit
        The entry of the pattern.
    current, highest : float
        With fresh sources, as they are typically and at the highest they may show. [A]
    pins : tuple of (Drive, float)
        What each driven pin carries, typically. [A]
    on_cell : bool
        True where a cell feeds it, so that it fades as the cell empties.
    solution : IslandSolution
        The typical solution.
    """

    state: State
    lit: Lit
    current: float
    highest: float
    pins: tuple[tuple[Drive, float], ...]
    on_cell: bool
    solution: IslandSolution = field(repr=False)


@dataclass(frozen=True)
class Lighting:
    """Solves lights of one board."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; each light is solved when asked for."""
        return cls(circuit)

    def worst(self, string: LedString) -> LightCurrent | None:
        """Return the largest current of a light, None where its contacts never close.

        Raises
        ------
        MissingFact
            Where a fact that the current rests on is missing, or nothing ever feeds the light.
        """
        states = self.states(string)
        found = (self._solved(string, state, lit) for state in states for lit in self._lit(string))
        return max(found, key=lambda light: light.current, default=None)

    def states(self, string: LedString) -> tuple[State, ...]:
        """Return the states that feed a light; none where its contacts never close.

        Raises
        ------
        MissingFact
            Where the voltage of the feed is not known, or nothing ever feeds the light.
        """
        found = tuple(s for s in self.circuit.view(States).all if self.is_live(string, s))
        if not found and not self._ever_fed(string):
            self.circuit.view(Cells).need_any()
            raise MissingFact(
                string.light.reference,
                "sources",
                f"what feeds {string.label} is not known",
                "sources: {J1: {net: VBUS, voltage: 5 V}}   # the connector that feeds it",
            )
        return found

    def each(self, string: LedString) -> Iterator[LightCurrent]:
        """Yield the current of a light in each state that feeds it and step that lights it."""
        for state in self.circuit.view(States).all:
            if self.is_live(string, state):
                for lit in self._lit(string):
                    yield self._solved(string, state, lit)

    def _lit(self, string: LedString) -> tuple[Lit, ...]:
        return self.circuit.view(Pattern).lit(string.light.reference)

    def is_live(self, string: LedString, state: State) -> bool:
        """Tell whether the top of a light is fed; a feed of unknown voltage ends the subject."""
        fed = self.circuit.view(Feeding).in_state[state]
        node = self.supply(string)
        if node is None or node not in fed:
            return False
        fed[node].need()
        contacts = [e for end in string.ways() for e in end.path if e.kind == "contact"]
        return all(state.is_closed(contact) for contact in contacts)

    def _ever_fed(self, string: LedString) -> bool:
        node = self.supply(string)
        return node is not None and self.circuit.view(Feeding).ever(node)

    def supply(self, string: LedString) -> str | None:
        """Return the node from which a light takes its current, straight or through a pin.

        Raises
        ------
        MissingFact
            Where it is a connector, and what that puts on the net is not known.
        """
        top = string.bare_ends[0] if string.bare_ends else string.top
        return self._supply_of(top) if top is not None else None

    def _supply_of(self, end: StringEnd) -> str | None:
        if end.kind is EndKind.RAIL:
            return end.node
        if end.kind is EndKind.CONNECTOR:
            connector = end.pin.reference if end.pin else "J1"
            raise MissingFact(
                connector,
                "sources",
                f"what {connector} puts on the net {end.node} is not known",
                f"sources: {{{connector}: {{net: {end.node}, voltage: 5 V}}}}",
            )
        roles, nodes = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        if end.pin is None:
            return None
        return nodes.of_net(
            roles.net_of(end.pin.reference, Role.SUPPLY, Role.REGULATOR_INPUT, Role.BATTERY)
        )

    def conditions(
        self, string: LedString, state: State, lit: Lit, *, highest: bool = False
    ) -> tuple[Conditions, tuple[str, ...]]:
        """Return under which conditions a light is solved, and the nodes to start from."""
        own = [string, *self._beside(string, lit)]
        # A light straight on a held rail lies between two borders, where nothing else leads to it.
        across = [e for s in own for e in (s.light, *(e for end in s.ways() for e in end.path))]
        conditions = Conditions(
            state,
            tuple(dict.fromkeys(drive for s in own for drive in s.drives())),
            frozenset(element for s in own for element in s.switches()),
            highest=highest,
            across=frozenset(across),
        )
        return conditions, tuple(node for s in own for node in (s.light.a, s.light.b))

    def _beside(self, string: LedString, lit: Lit) -> Iterator[LedString]:
        """Yield the lights that are on with it; none for which a pin is high and low at once."""
        levels = {(drive.node, drive.high) for drive in string.drives()}
        for light in lit.together:
            for other in self.circuit.view(Strings).of_light(light):
                if other.light.reference == string.light.reference:
                    continue
                own = {(drive.node, drive.high) for drive in other.drives()}
                if not any((node, not high) in levels for node, high in own):
                    levels |= own
                    yield other

    def _solved(self, string: LedString, state: State, lit: Lit) -> LightCurrent:
        islands = self.circuit.view(Islands)
        typical = islands.build(*self.conditions(string, state, lit)).solved()
        highest = islands.build(*self.conditions(string, state, lit, highest=True)).solved()
        return LightCurrent(
            state,
            lit,
            typical.current(string.light)[0],
            highest.current(string.light)[0],
            tuple((drive, typical.through(drive)[0]) for drive in string.drives()),
            any(c.reference in typical.sources for c in self.circuit.view(Cells).all),
            typical,
        )
