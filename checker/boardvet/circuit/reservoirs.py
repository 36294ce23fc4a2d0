"""View: reservoirs, the capacitors beside the cells, and whether they matter for the pulses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, Self, cast

from boardvet.circuit.bias import kept
from boardvet.circuit.capacitors import Capacitor, Capacitors, Technology
from boardvet.circuit.cells import Cells
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.states import State
from boardvet.known import Known

__all__ = ["Reservoir", "Reservoirs", "own_resistance"]

SERIES_RESISTANCE: Mapping[Technology, float] = {
    Technology.CERAMIC: 0.01,
    Technology.TANTALUM: 1.0,
    Technology.POLYMER: 0.05,
    Technology.ALUMINIUM: 1.0,
    Technology.FILM: 0.02,
    Technology.SUPERCAPACITOR: 1.0,
    Technology.POLARISED: 1.0,
    Technology.UNKNOWN: 0.1,
}
"""Of capacitors whose own resistance nobody states (from memory of makers' sheets). [ohm]"""

UNRATED = 10.0
"""Rating taken for a ceramic capacitor of which none is known: common for 1 to 22 µF. [V]"""


class Reservoir(NamedTuple):
    """A capacitor at a voltage: what is left of it, and its own resistance.

    Parameters
    ----------
    capacitor : Capacitor
        The part.
    capacitance : Known of float
        After the loss under bias. [F]
    series_resistance : Known of float
        [ohm]
    """

    capacitor: Capacitor
    capacitance: Known[float]
    series_resistance: Known[float]


@dataclass(frozen=True)
class Reservoirs:
    """The capacitors between nodes that the cells feed, and ground."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; a state is looked at when it is asked for."""
        return cls(circuit)

    def in_state(self, state: State, nodes: frozenset[str]) -> tuple[Reservoir, ...]:
        """Return the capacitors with a known value between some nodes, or them and ground."""
        grounds = self.circuit.view(Grounds)
        inside = nodes | set(grounds.nodes)
        return tuple(
            self.charged(capacitor, self._volts(state, capacitor))
            for capacitor in self.circuit.view(Capacitors).of_part.values()
            if capacitor.value is not None and {capacitor.a, capacitor.b} <= inside
        )

    def charged(self, capacitor: Capacitor, volts: float) -> Reservoir:
        """Return what a capacitor is at a voltage.

        Raises
        ------
        MissingFact
            Where no assumption may be used, and one is needed.
        """
        value = cast("Known[float]", capacitor.value)
        share = kept(self.circuit, capacitor, volts, unrated=max(UNRATED, volts))
        source = share.source if share.source.startswith("assumed") else value.source
        return Reservoir(
            capacitor,
            Known(value.value * share.value, "F", source),
            own_resistance(self.circuit, capacitor),
        )

    def _volts(self, state: State, capacitor: Capacitor) -> float:
        """Return the voltage across a capacitor with fresh cells and no load."""
        fed = self.circuit.view(Feeding).at(state)
        ends = [fed[node].high[0] for node in (capacitor.a, capacitor.b) if node in fed]
        return max(ends, default=0.0)


def own_resistance(circuit: Circuit, capacitor: Capacitor) -> Known[float]:
    """Return the series resistance of a capacitor: stated, else usual for its kind, in ohms."""
    known = circuit.known(capacitor.reference, "series_resistance")
    if known is not None:
        return cast("Known[float]", known)
    ohms = SERIES_RESISTANCE[capacitor.technology]
    source = f"assumed: usual for {capacitor.technology} capacitors, from memory"
    circuit.assume(f"series resistance of {capacitor.technology} capacitors", ohms, "ohm", source)
    return Known(ohms, "ohm", source)


def cell_ohms(circuit: Circuit, state: State) -> float:
    """Return the largest resistance of any cell over its life, in ohms."""
    return max(_ohms(circuit, state), default=0.0)


def _ohms(circuit: Circuit, state: State) -> Iterator[float]:
    for cell in circuit.view(Cells).all:
        if cell.reference in state.sources:
            curve = cell.curve
            coldest = max(factor for _, factor in curve.temperature_points)
            yield max(ohms for _, ohms in curve.resistance_points) * coldest
