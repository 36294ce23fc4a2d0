"""View: regulator life, how long a regulator regulates and its loads work as the cell empties."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.cells import MOMENTS
from boardvet.circuit.converters import Regulator, dropout_points
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.plant import Converting, Plants
from boardvet.circuit.regulating import LoadLimit, Regulating, Step
from boardvet.circuit.windows import first_below
from boardvet.physics.regulator import DropoutPoints, dropout_voltage

__all__ = ["Failing", "Life", "RegulatorLife"]


_NOTHING = 1e-3
"""A part that gets so little less than it needs works: ferrites and contacts drop that. [V]"""


class Failing(NamedTuple):
    """A part that stops: what it needs, the share of charge used then, and what is on."""

    floor: Floor
    used: float
    step: Step


class Life(NamedTuple):
    """What becomes of a regulator while the cell empties.

    Parameters
    ----------
    cell : str
        Reference of the cell.
    step : Step
        The one in which it has least to spare.
    inputs : tuple of float
        Its input voltage in that step at each of `MOMENTS`. [V]
    current : float
        What it gives in that step. [A]
    dropout : float
        What it needs between input and output at that current. [V]
    lost : float or None
        Share of the charge used when it first no longer regulates; None if it always does.
    failing : tuple of Failing
        Parts behind it that stop, the first first.
    highest_floor : float
        The most that a part behind it needs, 0 where none is known. [V]
    unjudged : tuple of str
        Parts behind it of which nobody knows what they need.
    unknown : tuple of str
        Parts behind it of which nobody knows what they draw.
    """

    cell: str
    step: Step
    inputs: tuple[float, ...]
    current: float
    dropout: float
    lost: float | None
    failing: tuple[Failing, ...]
    highest_floor: float
    unjudged: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def numbers(self) -> Converting:
        """The regulator."""
        return self.step.numbers

    def lost_with(self, dropout: float) -> float | None:
        """Return when it would first no longer regulate if it needed more, in volts.

        That its input would sag further is left out.
        """
        return first_below(self.inputs, self.numbers.voltage + max(dropout, self.dropout))


@dataclass(frozen=True)
class RegulatorLife:
    """Answers how long each regulator of one board has head-room."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; regulators are looked at when asked for."""
        return cls(circuit)

    def life(self, regulator: Regulator) -> Life | None:
        """Return what becomes of a regulator; None for chargers, boosters and off the cells.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If a network has no solution that could be found.
        """
        regulating = self.circuit.view(Regulating)
        if regulator.charger or regulator.conversion.steps_up:
            return None
        steps = regulating.over_life(regulator)
        if not steps:
            return None
        points = dropout_points(self.circuit, regulator.reference)
        margins = [_margins(step, points) for step in steps]
        spare = [min(column) for column in zip(*margins, strict=True)]
        # The step in which it is first out of regulation, else the one with least to spare.
        index = next((i for i, each in enumerate(spare) if each < 0.0), len(spare) - 1)
        step = steps[min(range(len(steps)), key=lambda each: margins[each][index])]
        current = step.point.given_first
        limits = tuple(regulating.limits(regulator, steps))
        return Life(
            self._cell(regulator, step),
            step,
            tuple(map(float, step.point.input_voltage)),
            current,
            dropout_voltage(points, current) if points else 0.0,
            first_below(spare, 0.0),
            tuple(sorted(_failing(limits), key=lambda each: each.used)),
            max((limit.floor.volts.value for limit in limits), default=0.0),
            self._unjudged(regulator, step),
            tuple(dict.fromkeys(self._unknown(regulator, steps))),
        )

    def _cell(self, regulator: Regulator, step: Step) -> str:
        fed = self.circuit.view(Regulating).fed(regulator, step.timeline.state)
        return fed.sources[0] if fed is not None else ""

    def _unjudged(self, regulator: Regulator, step: Step) -> tuple[str, ...]:
        plant = self.circuit.view(Plants).in_state(step.timeline.state)
        unknown = self.circuit.view(Floors).unknown
        return tuple(
            consumer.reference
            for consumer in plant.consumers
            if consumer.reference in unknown and regulator.reference in consumer.path
        )

    def _unknown(self, regulator: Regulator, steps: Sequence[Step]) -> Iterator[str]:
        regulating = self.circuit.view(Regulating)
        timelines = {step.timeline.name: step.timeline for step in steps}
        for timeline in timelines.values():
            yield from regulating.unknown_loads(regulator, timeline)


def _failing(limits: Sequence[LoadLimit]) -> Iterator[Failing]:
    for limit in limits:
        least = limit.floor.volts.value - _NOTHING
        used = first_below(tuple(map(float, limit.volts)), least)
        if used is not None:
            row = next(i for i, moment in enumerate(MOMENTS) if moment >= used)
            yield Failing(limit.floor, used, limit.step[row])


def _margins(step: Step, points: DropoutPoints) -> tuple[float, ...]:
    """Return what is to spare before regulation is lost, below 0 how far the output is down."""
    found = []
    for volts, amperes in zip(step.point.input_voltage, step.point.output_current, strict=True):
        dropout = dropout_voltage(points, max(float(amperes), 0.0)) if points else 0.0
        found.append(float(volts) - step.numbers.voltage - dropout)
    return tuple(found)
