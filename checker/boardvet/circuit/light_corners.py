"""View: what a light carries as its parts may come out, or with another resistor put in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.elements import JUNCTIONS, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pattern import Lit
from boardvet.circuit.states import State
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import missing_value, resistance
from boardvet.known import Known
from boardvet.quantity import preferred
from boardvet.vocabulary.kinds import Kind

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = [
    "FORWARD_SPREAD",
    "Corner",
    "LightCorners",
    "fitting_value",
    "preferred_values",
    "tolerance",
]

FORWARD_SPREAD = Known(
    0.1,
    "V",
    "assumed: forward voltage 0.1 V below typical, the least to typical of the Würth "
    "150060SS75003 data sheet",
)
"""That sheet states 1.8 V least and 1.9 V typical, measured to 0.1 V. [V]"""


_NEAR = 0.1
"""A value of E12 whose current is this near to the wanted one is preferred to one of E24."""

_WIDEST = 0.2
"""Widest tolerance of a resistor (E6, IEC 60063, from memory), as a share."""


class Corner(NamedTuple):
    """How far parts may be off: forward voltages below typical [V], resistors below nominal."""

    forward: float
    tolerance: float


def tolerance(circuit: Circuit, reference: str, otherwise: float) -> Known[float]:
    """Return the tolerance of a resistor, an assumed one where nothing states it, as a share."""
    stated = circuit.known(reference, "tolerance")
    if stated is not None:
        return Known(float(str(stated.value)), "", stated.source)
    source = "assumed: setting tolerance of led-overdriven, common practice for resistors"
    circuit.assume("tolerance of resistors that state none", f"{otherwise * 100:g} %", "", source)
    return Known(otherwise, "", source)


def preferred_values(low: float, high: float, series: str = "E12") -> tuple[float, ...]:
    """Return the values of a series from the first at or above `low` to the last below `high`."""
    values = []
    value = preferred(low, series, "up")
    while value < high:
        values.append(value)
        value = preferred(value * (1.0 + 1e-6), series, "up")
    return tuple(values)


def fitting_value(
    values: Sequence[float], currents: Sequence[float], wanted: float
) -> tuple[float, float]:
    """Return the value whose current is nearest to the wanted one, and its current.

    A value of E12 is taken before one of E24 where its current is near enough.

    Parameters
    ----------
    values : sequence of float
        Of E24. [ohm]
    currents : sequence of float
        With each of them. [A]
    wanted : float
        The current. [A]
    """
    off = [abs(current / wanted - 1.0) for current in currents]
    common = set(preferred_values(min(values), max(values) * (1.0 + 1e-6)))
    in_e12 = [index for index, value in enumerate(values) if value in common]
    best = min(in_e12 or range(len(values)), key=off.__getitem__)
    if off[best] > _NEAR:
        best = min(range(len(values)), key=off.__getitem__)
    return values[best], currents[best]


@dataclass(frozen=True)
class _Changed:
    """A `Spread`: what differs from the typical board in each row."""

    circuit: Circuit
    resistors: Mapping[str, Floats]
    corner: Corner

    @property
    def cells_alone(self) -> bool:
        """Lights and resistors differ."""
        return False

    def of(self, rows: Indices) -> _Changed:
        """Return the changes of some rows."""
        return replace(self, resistors={each: v[rows] for each, v in self.resistors.items()})

    def tiled(self, count: int) -> _Changed:
        """Return the changes of as many repetitions of the rows."""
        from numpy import tile

        return replace(
            self, resistors={each: tile(v, count) for each, v in self.resistors.items()}
        )

    def resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a part is multiplied."""
        changed: float | Floats = self.resistors.get(reference, 1.0)
        resistor = self.circuit.view(Kinds).kind(reference) in _RESISTORS
        if not self.corner.tolerance or not resistor:
            return changed
        off = tolerance(self.circuit, reference, self.corner.tolerance).value
        return changed * (1.0 - off)

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return 1: pins are typical."""
        return 1.0

    def forward_shift(self, reference: str) -> float | Floats:
        """Return what is added to the forward voltage of a part, in volts."""
        light = self.circuit.view(Kinds).kind(reference) is Kind.LED
        return -self.corner.forward if light else 0.0

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return 1: cells are typical."""
        return 1.0


def _beside(light: Element, other: Element, node: str) -> bool:
    """Tell whether a junction has the same pole at a node as a light."""
    if other.kind not in JUNCTIONS:
        return False
    return other.a == node if light.a == node else other.b == node


_RESISTORS = frozenset({Kind.RESISTOR, Kind.RESISTOR_NETWORK})


@dataclass(frozen=True)
class LightCorners:
    """Solves lights of one board off its typical values."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; each light is solved when asked for."""
        return cls(circuit)

    def ceiling(self, string: LedString, state: State) -> float | None:
        """Return a current that a light cannot exceed whatever its parts, in amperes.

        Where a resistor alone leads on from an end of the light, all of the current flows through
        it, and no more than the highest voltage there can be lies across it: that of its supply
        where nothing but the resistor and the light lies between supply and return, else the
        highest of the board. None where no end is like that.
        """
        fed = self.circuit.view(Feeding).at(state)
        path = [element for end in string.ways() for element in end.path]
        supply = self.circuit.view(Lighting).supply(string)
        feeds = list(fed.values())
        if supply is not None and supply in fed and len(path) == 1:
            feeds = [fed[supply]]
        if any(each.missing is not None for each in feeds):
            return None
        volts = max((each.highest for each in feeds), default=0.0)
        limits = []
        for end in string.ways():
            first = end.path[0] if end.path else None
            known = resistance(self.circuit, first.reference) if first is not None else None
            if first is None or known is None or not self._alone(string.light, first):
                continue
            limits.append(volts / (known.value * (1.0 - _WIDEST)))
        return min(limits, default=None)

    def _alone(self, light: Element, resistor: Element) -> bool:
        """Tell whether all of the current of a light flows through a resistor at one of its ends.

        Further lights at that end may only add to the current of the resistor.
        """
        if resistor.kind is not ElementKind.RESISTOR:
            return False
        shared = {light.a, light.b} & {resistor.a, resistor.b}
        elements = self.circuit.view(Elements)
        return any(
            all(
                e in {light, resistor}
                or e.kind is ElementKind.CAPACITOR
                or _beside(light, e, node)
                for e in elements.at(node)
            )
            for node in shared
        )

    def highest(self, string: LedString, state: State, lit: Lit, corner: Corner) -> float:
        """Return the current at the highest supply with every part in the corner, in amperes."""
        return self.swept(string, state, lit, {}, corner)[0]

    def swept(
        self,
        string: LedString,
        state: State,
        lit: Lit,
        resistors: Mapping[str, Sequence[float]],
        corner: Corner | None = None,
    ) -> tuple[float, ...]:
        """Return the current of a light with other resistors put into the board, in amperes.

        Parameters
        ----------
        resistors : mapping of str to sequence of float
            Values of some resistors, as many of each. [ohm]
        corner : Corner, optional
            Where parts are off and supplies at their highest; None: all typical.

        Raises
        ------
        MissingFact
            Where a value that the current depends on is not known.
        """
        import numpy as np

        factors = {}
        for reference, values in resistors.items():
            known = resistance(self.circuit, reference)
            if known is None:
                raise missing_value(reference)
            factors[reference] = np.array(values, dtype=float) / known.value
        rows = max((len(values) for values in resistors.values()), default=1)
        lighting = self.circuit.view(Lighting)
        conditions, seeds = lighting.conditions(string, state, lit, highest=corner is not None)
        changed = _Changed(self.circuit, factors, corner or Corner(0.0, 0.0))
        islands = self.circuit.view(Islands)
        island = islands.build(replace(conditions, spread=changed), seeds, [0.0] * rows)
        return island.solved().current(string.light)
