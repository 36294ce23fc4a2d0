"""View: regulator heat, the power that regulators and chargers turn into heat at their worst."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple, Self

from boardvet.circuit.charging import Charger, Charging
from boardvet.circuit.converters import Regulator
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.idling import efficiency_at
from boardvet.circuit.plant import Converting
from boardvet.circuit.regulating import Fresh, Regulating
from boardvet.circuit.states import State, States
from boardvet.circuit.timeline import Timelines
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.physics.regulator import linear_dissipation, pulse_share

__all__ = ["Heated", "RegulatorHeat"]


class Heated(NamedTuple):
    """What a regulator turns into heat in one state.

    Parameters
    ----------
    state : State
        In which.
    input, output : float
        Voltages of the step that is worst. [V]
    source : str
        Where the input voltage comes from.
    current : Known[float]
        What flows in that step. [A]
    power : float
        In that step. [W]
    lasting : float
        The power that for good would heat it as much as its pattern does. [W]
    efficiency : Known[float] or None
        Of a switching one.
    """

    state: State
    input: float
    output: float
    source: str
    current: Known[float]
    power: float
    lasting: float
    efficiency: Known[float] | None = None


class _Part(NamedTuple):
    """One step: the power in it, its share of the time, how long it lasts, and what it is."""

    power: float
    weight: float
    run: float
    step: Fresh


@dataclass(frozen=True)
class RegulatorHeat:
    """Answers how much heat each regulator and charger of one board makes."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; regulators are looked at when asked for."""
        return cls(circuit)

    def worst(self, regulator: Regulator, time_constant: float, *, highest: bool) -> Heated | None:
        """Return the state in which a regulator gets hottest, None if nothing feeds it.

        Parameters
        ----------
        regulator : Regulator
            The subject.
        time_constant : float
            Of its package: shorter pulses count with their mean. [s]
        highest : bool
            True for the highest that fresh sources may show, False for what they usually show.

        Raises
        ------
        MissingFact
            Where what a load draws, or a voltage, is not known.
        """
        regulating = self.circuit.view(Regulating)
        found: list[Heated] = []
        for _, steps in groupby(regulating.fresh(regulator), key=lambda step: step.state):
            group = list(steps)
            parts = [
                _Part(
                    self._power(step, highest=highest),
                    step.meeting.weight,
                    step.meeting.run,
                    step,
                )
                for step in group
            ]
            found.append(self._heated(parts, time_constant, highest=highest))
        return max(found, key=lambda each: each.lasting, default=None)

    def unknown_load(self, regulator: Regulator) -> MissingFact | None:
        """Return what is to be asked where nobody knows what a part behind a regulator draws."""
        regulating, timelines = self.circuit.view(Regulating), self.circuit.view(Timelines)
        for state in self.circuit.view(States).all:
            timeline = timelines.of_state(state)
            if timeline is None or regulating.fed(regulator, state) is None:
                continue
            for reference in regulating.unknown_loads(regulator, timeline):
                return regulating.load_unknown(reference)
        return None

    def at_most(self, regulator: Regulator, current: float) -> Heated | None:
        """Return the most heat that a regulator makes at an output current for good.

        Parameters
        ----------
        regulator : Regulator
            The subject.
        current : float
            What it is made for. [A]

        Returns
        -------
        Heated or None
            None if nothing feeds it.

        Raises
        ------
        MissingFact
            Where the voltage of what feeds it, or its output, is not known.
        """
        regulating = self.circuit.view(Regulating)
        output = regulator.conversion.output
        if output is None:
            raise self.circuit.facts.missing(regulator.reference, "output")
        found = []
        for state in self.circuit.view(States).all:
            fed = regulating.fed(regulator, state)
            if fed is None:
                continue
            volts = fed.need().highest
            numbers = regulating.in_numbers(regulator, state)
            power, efficiency = self._lost(numbers, volts, output.value.low, current)
            known = Known(current, "A", "computed: the most that it is made for")
            because = fed.because[-1] if fed.because else "computed: carried along the way"
            found.append(
                Heated(state, volts, output.value.low, because, known, power, power, efficiency)
            )
        return max(found, key=lambda each: each.power, default=None)

    def charging(self, charger: Charger) -> Heated | None:
        """Return the heat of a charger whose cell is empty, None if nothing feeds it.

        Raises
        ------
        MissingFact
            Where the current, the cell or the voltage of what feeds it is not known.
        """
        feeding, charging = self.circuit.view(Feeding), self.circuit.view(Charging)
        fed = [
            (state, reached[node])
            for state, reached in feeding.in_state.items()
            for node in charger.inputs
            if node in reached and node not in charger.outputs
        ]
        if not fed:
            return None
        state, highest = max(((s, f.need()) for s, f in fed), key=lambda each: each[1].highest)
        cells = charging.cells(charger)
        empty = min(cell.voltages()[-1] for cell in cells)
        for cell in cells:
            cell.rest_on_curve(self.circuit)
        current = charging.setting(charger).highest
        power = max(highest.highest - empty, 0.0) * current.value
        because = highest.because[-1] if highest.because else "computed: carried along the way"
        return Heated(state, highest.highest, empty, because, current, power, power)

    def _power(self, step: Fresh, *, highest: bool) -> float:
        volts = _input(step, highest=highest)
        return self._lost(step.numbers, volts, step.numbers.voltage, step.point.given_first)[0]

    def _lost(
        self, numbers: Converting, volts: float, output: float, current: float
    ) -> tuple[float, Known[float] | None]:
        """Return what is lost, and the efficiency of a switching one."""
        own = numbers.quiescent.value if numbers.quiescent is not None else 0.0
        if not numbers.switching:
            return linear_dissipation(volts, min(output, volts), current, own), None
        efficiency = efficiency_at(self.circuit, numbers.reference, current)
        lost = output * current * (1.0 / efficiency.value - 1.0) + volts * own
        return lost, efficiency

    def _heated(self, parts: Sequence[_Part], time_constant: float, *, highest: bool) -> Heated:
        lasting, part = max(_lasting(parts, time_constant), key=lambda each: each[0])
        numbers = part.step.numbers
        fed = part.step.fed
        index = -1 if highest else 0
        current = part.step.point.given_first
        efficiency = self._lost(numbers, 1.0, 1.0, current)[1]
        return Heated(
            part.step.state,
            _input(part.step, highest=highest),
            numbers.voltage,
            fed.because[index] if fed.because else "computed: carried along the way",
            Known(current, "A", "computed: the board, solved"),
            part.power,
            lasting,
            efficiency,
        )


def _input(step: Fresh, *, highest: bool) -> float:
    return step.fed.highest if highest else max(step.fed.high)


def _lasting(parts: Sequence[_Part], time_constant: float) -> Iterator[tuple[float, _Part]]:
    """Yield for each step the lasting power that heats as much as its pulses and all others do."""
    mean = math.fsum(part.power * part.weight for part in parts)
    for part in parts:
        if not math.isfinite(part.run) or part.weight >= 1.0:
            yield part.power, part
            continue
        rest = (mean - part.power * part.weight) / (1.0 - part.weight)
        period = part.run / part.weight if part.weight > 0.0 else math.inf
        share = pulse_share(part.run, max(period, part.run), time_constant)
        yield rest + (part.power - rest) * share, part
