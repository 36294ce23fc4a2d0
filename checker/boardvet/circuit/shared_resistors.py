"""View: resistors behind which several lights lie in parallel, and what each light then takes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.elements import Element
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Drive, Island
from boardvet.circuit.islands import Islands
from boardvet.circuit.light_groups import is_on
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pattern import Lit, Pattern
from boardvet.circuit.states import State
from boardvet.circuit.strings import LIMITING_RESISTANCE, EndKind, LedString, Strings
from boardvet.circuit.values import resistance

if TYPE_CHECKING:
    from boardvet.physics.network import Network

__all__ = ["SharedResistor", "SharedResistors", "Sharing"]

_JOIN = 1e-3
"""What stands in the place of a resistor that is taken out and bridged. [ohm]"""


class Sharing(NamedTuple):
    """Lights that are on together behind one resistor, in one state and step.

    Parameters
    ----------
    state : State
        The state.
    lit : Lit
        The entry of the pattern.
    lights : tuple of LedString
        At least two, the one that the entry is about first.
    """

    state: State
    lit: Lit
    lights: tuple[LedString, ...]


@dataclass(frozen=True)
class SharedResistor:
    """A resistor with the lights in parallel that nothing else limits, as a subject.

    Parameters
    ----------
    resistor : str
        Its reference; of several in series that all share, the largest.
    lights : tuple of LedString
        One of each branch, at least two.
    circuit : Circuit
        The board.
    """

    resistor: str
    lights: tuple[LedString, ...]
    circuit: Circuit = field(repr=False, compare=False)

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "lights"

    @property
    def label(self) -> str:
        """The lights, and their resistor."""
        names = [light.label for light in self.lights]
        shown = ", ".join(names) if len(names) <= 4 else f"{names[0]} to {names[-1]}"
        return f"{shown} behind {self.resistor}"

    @property
    def parts(self) -> tuple[str, ...]:
        """The resistor and the lights."""
        return (self.resistor, *dict.fromkeys(s.light.reference for s in self.lights))

    @property
    def nets(self) -> tuple[str, ...]:
        """Nothing: it is parts."""
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[SharedResistor]:
        """Return the shared resistors of the board."""
        return circuit.view(SharedResistors).all

    def together(self) -> Iterator[Sharing]:
        """Yield which of the lights are on together; nothing where one is lit at a time.

        Raises
        ------
        MissingFact
            Where what feeds a light is not known.
        """
        seen: set[tuple[State, frozenset[str]]] = set()
        lighting, pattern = self.circuit.view(Lighting), self.circuit.view(Pattern)
        for light in self.lights:
            for state in lighting.states(light):
                for lit in pattern.lit(light.light.reference):
                    conditions, _ = lighting.conditions(light, state, lit)
                    others = [s for s in self.lights if s != light and is_on(s, conditions)]
                    key = state, frozenset(s.label for s in (light, *others))
                    if others and key not in seen:
                        seen.add(key)
                        yield Sharing(state, lit, (light, *others))

    def currents(self, sharing: Sharing, lower: float) -> tuple[tuple[float, ...], ...]:
        """Return the current of each light in rows: as a rule, then with one light off its type.

        Parameters
        ----------
        sharing : Sharing
            Which of the lights are on.
        lower : float
            How much less voltage the light of each further row drops, one light a row. [V]
        """
        from boardvet.circuit.island import IslandSolution
        from boardvet.physics.network import solve

        island = self._island(sharing)
        own = [island.junctions[light.light] for light in sharing.lights]
        solution = IslandSolution(island, solve(_one_lower(island.network, own, lower)).require())
        rows = zip(*(solution.current(light.light) for light in sharing.lights), strict=True)
        return tuple(rows)

    def voltage(self, sharing: Sharing) -> float:
        """Return the voltage across the lights as a rule, in volts."""
        solution = self._island(sharing).solved()
        light = sharing.lights[0].light
        return solution.voltage(light.a)[0] - solution.voltage(light.b)[0]

    def parted(
        self, sharing: Sharing, resistors: Sequence[Sequence[float]]
    ) -> tuple[tuple[float, ...], ...]:
        """Return the current of each light with a resistor of its own in place of the shared one.

        Parameters
        ----------
        sharing : Sharing
            Which of the lights are on.
        resistors : sequence of sequence of float
            For each light its resistor in each row. [ohm]

        Returns
        -------
        tuple of tuple of float
            For each light its current in each row. [A]
        """
        from boardvet.circuit.island import IslandSolution
        from boardvet.physics.network import solve

        island = self._island(sharing)
        own = {s.light: ohms for s, ohms in zip(sharing.lights, resistors, strict=True)}
        bridged = [c for e, c in island.resistors.items() if e.reference == self.resistor]
        solution = IslandSolution(island, solve(_parted(island, own, bridged)).require())
        return tuple(solution.current(light.light) for light in sharing.lights)

    def _island(self, sharing: Sharing) -> Island:
        lighting, islands = self.circuit.view(Lighting), self.circuit.view(Islands)
        return islands.build(*lighting.conditions(sharing.lights[0], sharing.state, sharing.lit))


@dataclass(frozen=True)
class SharedResistors:
    """The shared resistors, in the order of the board."""

    all: tuple[SharedResistor, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Gather the lights that have the same resistors, all of them."""
        behind: dict[tuple[frozenset[str], frozenset[Drive]], list[LedString]] = {}
        for light in circuit.view(Strings).all:
            limiters = frozenset(each for each in light.limiters if _limits(circuit, each))
            if limiters and not light.bare:
                # In an array one place is lit at a time.
                place = frozenset(light.drives() if _in_an_array(light) else ())
                behind.setdefault((limiters, place), []).append(light)
        found = ((limiters, _branches(lights)) for (limiters, _), lights in behind.items())
        return cls(
            tuple(
                SharedResistor(max(sorted(limiters), key=_ohms(circuit)), branches, circuit)
                for limiters, branches in found
                if len(branches) > 1
            )
        )


def _ohms(circuit: Circuit) -> Callable[[str], float]:
    def ohms(resistor: str) -> float:
        known = resistance(circuit, resistor)
        return known.value if known is not None else 0.0

    return ohms


def _limits(circuit: Circuit, resistor: str) -> bool:
    known = resistance(circuit, resistor)
    return known is None or known.value >= LIMITING_RESISTANCE


def _branches(lights: Sequence[LedString]) -> tuple[LedString, ...]:
    """Return one light of each branch: of lights in series with each other only one."""
    if len(lights) == 1:
        return tuple(lights)
    on_ways = {light.label: {e for end in light.ways() for e in end.path} for light in lights}

    def in_series(one: LedString, other: LedString) -> bool:
        return one.light in on_ways[other.label] or other.light in on_ways[one.label]

    # Where one light is in series with several in parallel, the several are the branches.
    series = {light.label: sum(in_series(light, other) for other in lights) for light in lights}
    chosen: list[LedString] = []
    for light in sorted(lights, key=lambda each: series[each.label]):
        if not any(in_series(light, other) for other in chosen):
            chosen.append(light)
    return tuple(light for light in lights if light in chosen)


def _in_an_array(light: LedString) -> bool:
    """Tell whether a light lies between two pins, so that one is lit at a time."""
    ends = (light.top, light.bottom)
    return all(end is not None and end.kind is EndKind.PIN for end in ends)


def _one_lower(network: Network, columns: Sequence[int], lower: float) -> Network:
    """Return a network with a row of typical junctions and one for each that drops less."""
    import numpy as np

    from boardvet.physics.junction import THERMAL_VOLTAGE
    from boardvet.physics.network import Junctions

    junctions = network.junctions
    rows = len(columns) + 1
    saturation = np.repeat(junctions.saturation_current, rows, axis=0)
    for row, column in enumerate(columns, start=1):
        slope = junctions.emission[0, column] * THERMAL_VOLTAGE
        saturation[row, column] *= np.exp(lower / slope)
    return replace(
        network,
        junctions=Junctions(
            junctions.anode,
            junctions.cathode,
            saturation,
            junctions.emission,
            junctions.series_resistance,
            junctions.breakdown_voltage,
        ),
    )


def _parted(
    island: Island, own: Mapping[Element, Sequence[float]], bridged: Sequence[int]
) -> Network:
    """Return a network in which junctions have a resistor each, and some resistors are wires."""
    import numpy as np

    from boardvet.physics.network import Junctions, Resistors

    network, junctions = island.network, island.network.junctions
    rows = max(len(ohms) for ohms in own.values())
    anodes = junctions.anode.copy()
    columns = [island.junctions[light] for light in own]
    added = np.arange(network.nodes, network.nodes + len(own))
    before = np.repeat(network.resistors.resistance, rows, axis=0)
    before[:, list(bridged)] = _JOIN
    resistors = Resistors(
        np.concatenate([network.resistors.a, anodes[columns]]),
        np.concatenate([network.resistors.b, added]),
        np.concatenate([before, np.array(list(own.values())).T], axis=1),
    )
    anodes[columns] = added
    return replace(
        network,
        nodes=network.nodes + len(own),
        resistors=resistors,
        junctions=Junctions(
            anodes,
            junctions.cathode,
            junctions.saturation_current,
            junctions.emission,
            junctions.series_resistance,
            junctions.breakdown_voltage,
        ),
    )
