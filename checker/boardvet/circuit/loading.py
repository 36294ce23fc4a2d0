"""View: loading, which strings are lit together in each state, and the network that they make."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, IslandSolution
from boardvet.circuit.islands import Islands
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import State, States
from boardvet.circuit.strings import LedString
from boardvet.circuit.timeline import Timelines

__all__ = ["LitStep", "Loading"]


class LitStep(NamedTuple):
    """What of some strings is lit in a step.

    Parameters
    ----------
    meeting : Meeting
        The step, with its weight in the mean and the length of its pulse.
    strings : tuple of LedString
        The lit ones.
    """

    meeting: Meeting
    strings: tuple[LedString, ...]


@dataclass(frozen=True)
class Loading:
    """Solves steps of the pattern for some strings alone: all others are taken as dark.

    What is dark takes nothing from the cell, so that these get the most; and what is not known of
    it does not matter.
    """

    circuit: Circuit = field(repr=False)
    _solved: dict[tuple[object, ...], IslandSolution] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; steps are solved as they are asked for."""
        return cls(circuit)

    def steps(self, strings: Sequence[LedString]) -> Iterator[tuple[State, tuple[LitStep, ...]]]:
        """Yield the states in which some of the strings can be lit, with the steps that light any.

        Raises
        ------
        MissingFact
            Where the voltage of what feeds one, or the share of a mode, is not known.
        """
        lighting, timelines = self.circuit.view(Lighting), self.circuit.view(Timelines)
        for state in self.circuit.view(States).all:
            timeline = timelines.of_state(state)
            if timeline is None:
                continue
            live = [string for string in strings if lighting.is_live(string, state)]
            steps = [
                LitStep(m, tuple(s for s in live if s.is_among(m.lights)))
                for m in timeline.meetings
            ]
            lit = tuple(step for step in steps if step.strings)
            if lit:
                yield state, lit

    def solve(
        self, state: State, strings: tuple[LedString, ...], *, highest: bool = False
    ) -> IslandSolution:
        """Return the network of some strings that are lit, and nothing else on.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        """
        key = (state, tuple(string.light for string in strings), highest)
        if key not in self._solved:
            conditions = Conditions(
                state,
                tuple(dict.fromkeys(drive for s in strings for drive in s.drives())),
                frozenset(element for s in strings for element in s.switches()),
                highest=highest,
                # What lies between two borders, as on a held rail, is not reached otherwise.
                across=frozenset(
                    element
                    for s in strings
                    for element in (s.light, *(e for end in s.ways() for e in end.path))
                ),
            )
            seeds = [node for s in strings for node in (s.light.a, s.light.b)]
            self._solved[key] = self.circuit.view(Islands).build(conditions, seeds).solved()
        return self._solved[key]
