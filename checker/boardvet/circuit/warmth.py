"""View: warmth, how much power the whole board turns into heat, and how warm parts get."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple, Self, cast

from boardvet.circuit.charging import Charger
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plants
from boardvet.circuit.regulator_heat import RegulatorHeat
from boardvet.circuit.running import Running
from boardvet.circuit.states import State, States
from boardvet.circuit.timeline import Timelines
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.physics.heat import temperature_rise

__all__ = ["Surface", "Warmth"]

MINUTE = 60.0
"""Pulses shorter than this warm a board with their mean. [s]"""


class Surface(NamedTuple):
    """How warm a regulator or charger gets.

    Parameters
    ----------
    reference : str
        The part.
    state : State
        In which it is worst.
    power : float
        Mean power that it turns into heat. [W]
    resistance : Known[float] or None
        From its inside to the air, where that is known. [K/W]
    """

    reference: str
    state: State
    power: float
    resistance: Known[float] | None

    @property
    def rise(self) -> float:
        """How much warmer than the air it gets inside, which its surface stays below. [K]."""
        known = self.resistance
        return 0.0 if known is None else temperature_rise(self.power, known.value)


@dataclass(frozen=True)
class Warmth:
    """How much heat the board makes with fresh cells, as far as it is known.

    What pins lose is left out, and what light carries off is counted as heat.

    Parameters
    ----------
    totals : tuple of (State, float)
        Mean power of each state. [W]
    surfaces : tuple of Surface
        The regulators and chargers, each at its worst.
    missing : tuple of MissingFact
        For want of which something is not counted.
    """

    totals: tuple[tuple[State, float], ...]
    surfaces: tuple[Surface, ...]
    missing: tuple[MissingFact, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Solve every state once."""
        missing: list[MissingFact] = []
        surfaces: list[Surface] = []
        chargers: list[Surface] = []
        for converter in circuit.view(Converters).all:
            try:
                found = _surface(circuit, converter)
            except MissingFact as fact:
                missing.append(fact)
                continue
            if found is not None:
                surfaces.append(found)
                chargers.extend((found,) if converter.charger else ())
        totals: list[tuple[State, float]] = []
        for state in circuit.view(States).all:
            power = sum(charger.power for charger in chargers if charger.state == state)
            try:
                power += sum(_steps(circuit, state))
            except MissingFact as fact:
                missing.append(fact)
            totals.append((state, power))
        return cls(tuple(totals), tuple(surfaces), tuple(missing))


def _surface(circuit: Circuit, converter: Regulator) -> Surface | None:
    heat = circuit.view(RegulatorHeat)
    if converter.charger:
        charger = Charger(converter.reference, converter.inputs, converter.outputs)
        heated = heat.charging(charger)
    else:
        heated = heat.worst(converter, MINUTE, highest=False)
    if heated is None:
        return None
    known = cast("Known[float] | None", circuit.known(converter.reference, "thermal_resistance"))
    return Surface(converter.reference, heated.state, heated.lasting, known)


def _steps(circuit: Circuit, state: State) -> Iterator[float]:
    """Yield what each step of a state adds to the mean power; chargers are not in it."""
    timeline = circuit.view(Timelines).of_state(state)
    if timeline is None:
        return
    running = circuit.view(Running)
    for meeting in timeline.meetings:
        yield meeting.weight * _power(circuit, state, running.at(state, meeting))


def _power(circuit: Circuit, state: State, at_work: Operating) -> float:
    """Return the power of lights, resistors, regulators and whatever else draws current."""
    power = sum(
        abs((at_work.voltage(element.a)[0] - at_work.voltage(element.b)[0]) * float(current[0]))
        for group in (at_work.junctions, at_work.resistors)
        for element, current in group.items()
    )
    for point in at_work.regulators.values():
        power += float(point.input_voltage[0] * point.input_current[0])
        power -= float(point.output_voltage[0] * point.output_current[0])
    plant = circuit.view(Plants).in_state(state)
    for reference, current in at_work.loads.items():
        consumer = plant.consumer(reference)
        if consumer is not None and reference not in at_work.regulators:
            power += at_work.voltage(consumer.node)[0] * float(current[0])
    return power
