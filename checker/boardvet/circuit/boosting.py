"""View: boosting, what regulators that step up ask of the cells, and whether they can give it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import partial
from typing import NamedTuple, Self, cast

from boardvet.circuit.cells import MOMENTS, Cell, Cells
from boardvet.circuit.converters import Regulator
from boardvet.circuit.elements import METALLIC, ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.idling import Idling, efficiency_at
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.plant import Converting
from boardvet.circuit.regulating import Regulating, Step
from boardvet.circuit.reservoirs import Reservoirs
from boardvet.circuit.states import State
from boardvet.circuit.target import Target
from boardvet.circuit.workload import coldest
from boardvet.known import Known
from boardvet.physics.cell import open_circuit_voltage
from boardvet.physics.cell import resistance as cell_resistance
from boardvet.physics.constant_power import (
    constant_power_voltage,
    largest_power,
    settled_low,
    time_to_fall,
)
from boardvet.physics.regulator import converter_input_current
from boardvet.quantity.statement import Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Boost", "Boosting", "Want", "Why"]


_LARGER, _MOST_TRIES = 1.2, 24
"""By what and how often a capacitor is made larger until it carries every pulse: 80 times."""


_BETTER_OHMS, _BETTER_VOLTS = 0.5, 1.05


class Why(StrEnum):
    """What goes wrong first."""

    COLLAPSE = "the cells cannot give the power"
    DIP = "the input falls too low"
    START = "it does not start"
    COIL = "the coil carries more than it stands"


class Want(NamedTuple):
    """What a booster takes in one step.

    Parameters
    ----------
    step : Step
        The step.
    given, power : float
        What it gives and takes. [W]
    efficiency : Known[float]
        Between them.
    source : tuple of float
        Voltage of what feeds it, less the drop by all else, at each of `MOMENTS`. [V]
    capacitance : float
        At its input and beside the cells, after the loss under bias. [F]
    """

    step: Step
    given: float
    power: float
    efficiency: Known[float]
    source: tuple[float, ...]
    capacitance: float


class Boost(NamedTuple):
    """What stops a booster first, or where it has least to spare at the end of the cell.

    Parameters
    ----------
    cell : str
        Reference of the cell.
    why : Why or None
        None if nothing does.
    used : float
        Share of the charge used then, 1 where nothing does.
    want : Want
        The step in which it happens.
    source, resistance : float
        Of the cells at that moment, with all else on. [V, ohm]
    stands : float or None
        Voltage at its input then, None where it collapses. [V]
    least : Known[float] or None
        The limit that is passed: input or start voltage [V], current of the coil [A].
    coil : str
        The coil that is meant, else "".
    """

    cell: str
    why: Why | None
    used: float
    want: Want
    source: float
    resistance: float
    stands: float | None
    least: Known[float] | None
    coil: str = ""

    @property
    def numbers(self) -> Converting:
        """The booster."""
        return self.want.step.numbers

    @property
    def most(self) -> float:
        """The most power that the cells can give at that moment, in watts."""
        return largest_power(self.source, self.resistance)


@dataclass(frozen=True)
class Boosting:
    """Answers what the boosters of one board ask of its cells."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; boosters are looked at when asked for."""
        return cls(circuit)

    def boost(self, regulator: Regulator) -> Boost | None:
        """Return what stops a booster first; None for other regulators and off the cells.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        SolverError
            If a network has no solution that could be found.
        """
        if regulator.charger or not regulator.conversion.steps_up:
            return None
        wants = [self._want(step) for step in self.circuit.view(Regulating).over_life(regulator)]
        if not wants:
            return None
        found = [
            *self._starving(regulator, wants),
            *self._starting(regulator, wants),
            *self._coil(regulator, wants),
        ]
        return min(found, key=lambda each: (each.used, -each.want.power))

    def ohms(self, step: Step, used: float, run: float) -> float:
        """Return the resistance of the cells that feed a step, cold, in ohms."""
        cold = coldest(self.circuit)
        total = 0.0
        for row in self._rows(step):
            each = [cell_resistance(cell.curve, used, cold, run) for cell in row]
            total += 0.0 if min(each) == 0.0 else 1.0 / sum(1.0 / ohms for ohms in each)
        return total

    def _rows(self, step: Step) -> tuple[tuple[Cell, ...], ...]:
        """Return the rows of the bank that feeds a step."""
        feeding = set(step.sources)
        banks = self.circuit.view(Target).banks
        return next((b.rows for b in banks if {cell.reference for cell in b.cells} & feeding), ())

    def _open(self, step: Step, used: float) -> float:
        """Return the voltage of that bank without load, in volts."""
        return sum(open_circuit_voltage(row[0].curve, used) for row in self._rows(step))

    def needed_capacitance(self, boost: Boost) -> float:
        """Return what would carry the step of a booster to the end of the cell, in farads.

        Infinite where no capacitor does.
        """
        meeting, step = boost.want.step.meeting, boost.want.step
        ohms, volts = self.ohms(step, 1.0, meeting.run), boost.want.source[-1]
        known = self._least(boost.numbers.reference)
        to = (known.value if known is not None else 0.0) or volts / 2.0
        gap = meeting.run / meeting.weight - meeting.run if meeting.weight > 0.0 else math.inf
        if not math.isfinite(meeting.run) or not ohms or gap <= 0.0 or to >= volts:
            return math.inf
        lasts = time_to_fall(volts, ohms, 1.0, boost.want.power, to)
        farads = meeting.run / lasts if lasts > 0.0 else math.inf
        for _ in range(_MOST_TRIES):
            low = settled_low(volts, ohms, farads, boost.want.power, meeting.run, gap)
            if low is not None and low >= to:
                return farads
            farads *= _LARGER
        return math.inf

    def is_sure(self, boost: Boost, share: float) -> bool:
        """Tell whether a booster starves before a share is used even with a better cell.

        Better is half of the resistance and a twentieth more voltage: curves that are only
        assumed may be that far off.
        """
        if boost.why not in {Why.COLLAPSE, Why.DIP}:
            return False
        want, least = boost.want, self._least(boost.numbers.reference)
        ohms = self.ohms(want.step, share, want.step.meeting.run) * _BETTER_OHMS
        volts = _at(want.source, share) * _BETTER_VOLTS
        return _starved(want, volts, ohms, least.value if least is not None else 0.0)

    def _want(self, step: Step) -> Want:
        """Return what it takes in a step, and what is left of the cells for it."""
        numbers, amperes = step.numbers, step.point.given_first
        efficiency = efficiency_at(self.circuit, numbers.reference, amperes)
        given = numbers.voltage * amperes
        own = numbers.quiescent.value * numbers.voltage if numbers.quiescent else 0.0
        run = step.meeting.run
        # Where the cells cannot give it the solved current says nothing: the open voltage counts.
        source = tuple(
            min(float(volts) + float(current) * self.ohms(step, used, run), self._open(step, used))
            for used, volts, current in zip(
                MOMENTS, step.point.input_voltage, step.point.input_current, strict=True
            )
        )
        reached = self._joined(numbers.source, step.timeline.state)
        capacitance = sum(
            each.capacitance.value
            for each in self.circuit.view(Reservoirs).in_state(step.timeline.state, reached)
        )
        return Want(step, given, (given + own) / efficiency.value, efficiency, source, capacitance)

    def _joined(self, node: str, state: State) -> frozenset[str]:
        """Return the nodes that metal and closed contacts join to a node."""
        elements, grounds = self.circuit.view(Elements), self.circuit.view(Grounds)
        found, queue = {node}, [node]
        while queue:
            at = queue.pop()
            for element in elements.at(at):
                closed = element.kind is ElementKind.CONTACT and state.is_closed(element)
                other = element.other(at)
                if (closed or element.kind in METALLIC) and other not in found | set(
                    grounds.nodes
                ):
                    found.add(other)
                    queue.append(other)
        return frozenset(found)

    def _least(self, reference: str) -> Known[float] | None:
        supply = self.circuit.known(reference, "supply")
        if supply is None:
            return None
        return Known(cast("Span", supply.value).low, "V", supply.source)

    def _starving(self, regulator: Regulator, wants: Sequence[Want]) -> Iterator[Boost]:
        least = self._least(regulator.reference)
        floor = least.value if least is not None else 0.0
        for want in wants:
            used = _first(partial(self._starves, want, floor))
            at = 1.0 if used is None else used
            ohms = self.ohms(want.step, at, want.step.meeting.run)
            volts = _at(want.source, at)
            stands = constant_power_voltage(volts, ohms, want.power) if volts > 0.0 else None
            why = None
            if used is not None:
                why = Why.COLLAPSE if stands is None else Why.DIP
            cell = self._cell(want)
            yield Boost(cell, why, at, want, volts, ohms, stands, least)

    def _starves(self, want: Want, floor: float, used: float) -> bool:
        ohms = self.ohms(want.step, used, want.step.meeting.run)
        return _starved(want, _at(want.source, used), ohms, floor)

    def _starting(self, regulator: Regulator, wants: Sequence[Want]) -> Iterator[Boost]:
        """Yield when it no longer starts: fresh, or at any time where it is switched on again."""
        known = self.circuit.known(regulator.reference, "start_voltage")
        if known is None:
            return
        least = cast("Known[float]", known)
        want = min(wants, key=lambda each: each.power)
        used = _first(lambda share: _at(want.source, share) < least.value)
        if used is not None and (used == 0.0 or self._restarts(regulator, want)):
            ohms = self.ohms(want.step, used, math.inf)
            volts = _at(want.source, used)
            cell = self._cell(want)
            yield Boost(cell, Why.START, used, want, volts, ohms, volts, least)

    def _restarts(self, regulator: Regulator, want: Want) -> bool:
        """Tell whether a pin or a hand switches it on again and again."""
        if self.circuit.view(Idling).enable_driven(regulator):
            return True
        fed = self.circuit.view(Regulating).fed(regulator, want.step.timeline.state)
        kinds = self.circuit.view(Kinds)
        path = fed.path if fed is not None else ()
        return any(kinds.kind(part) in {Kind.SWITCH, Kind.BUTTON} for part in path)

    def _coil(self, regulator: Regulator, wants: Sequence[Want]) -> Iterator[Boost]:
        """Yield when the mean current of its coil passes the coil's rating."""
        for coil in self._coils(regulator):
            known = self.circuit.known(coil, "current_max")
            if known is None:
                continue
            most = cast("Known[float]", known)
            for want in wants:
                used = _first(partial(self._is_above, want, most.value))
                if used is None:
                    continue
                ohms = self.ohms(want.step, used, want.step.meeting.run)
                volts = _at(want.source, used)
                stands = constant_power_voltage(volts, ohms, want.power)
                cell = self._cell(want)
                yield Boost(cell, Why.COIL, used, want, volts, ohms, stands, most, coil)

    def _coils(self, regulator: Regulator) -> tuple[str, ...]:
        roles, nodes = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        ends = [
            nodes.of_net(pin.pin.net) for pin in roles.pins(regulator.reference, Role.SWITCH_NODE)
        ]
        elements = self.circuit.view(Elements)
        return tuple(
            dict.fromkeys(
                element.reference
                for node in ends
                if node is not None
                for element in elements.at(node, ElementKind.INDUCTOR)
            )
        )

    def _is_above(self, want: Want, most: float, used: float) -> bool:
        return self._current(want, used) > most

    def _current(self, want: Want, used: float) -> float:
        """Return what it takes at a share of charge used, 0 where the cells cannot give it."""
        volts, ohms = _at(want.source, used), self.ohms(want.step, used, want.step.meeting.run)
        stands = constant_power_voltage(volts, ohms, want.power) if volts > 0.0 else None
        return 0.0 if stands is None else converter_input_current(want.power, 1.0, stands)

    def _cell(self, want: Want) -> str:
        cells = self.circuit.view(Cells).all
        return next((c.reference for c in cells if c.reference in want.step.sources), "")


def _starved(want: Want, volts: float, ohms: float, floor: float) -> bool:
    """Tell whether a step can neither be fed at a voltage and resistance nor be carried."""
    if volts <= max(floor, 0.0):
        return True
    stands = constant_power_voltage(volts, ohms, want.power)
    if stands is not None and stands >= floor:
        return False
    return not _carried(want, volts, ohms, floor or volts / 2.0)


def _carried(want: Want, volts: float, ohms: float, to: float) -> bool:
    """Tell whether capacitors carry a pulse again and again, never below a voltage."""
    run, weight = want.step.meeting.run, want.step.meeting.weight
    if not math.isfinite(run) or not want.capacitance or not ohms:
        return False
    gap = run / weight - run if weight > 0.0 else math.inf
    if gap <= 0.0:
        return False
    low = settled_low(volts, ohms, want.capacitance, want.power, run, gap)
    return low is not None and low >= to


def _at(values: Sequence[float], used: float) -> float:
    """Return a value between `MOMENTS`."""
    last = len(MOMENTS) - 1
    low = min(int(used * last + 1e-9), last - 1)
    return values[low] + (values[low + 1] - values[low]) * (used * last - low)


def _first(wrong: Callable[[float], bool]) -> float | None:
    """Return the first share of charge used at which something is wrong, None if it never is."""
    late = next((moment for moment in MOMENTS if wrong(moment)), None)
    if late is None or late == 0.0:
        return late
    early = late - (MOMENTS[1] - MOMENTS[0])
    for _ in range(12):
        middle = (early + late) / 2.0
        early, late = (early, middle) if wrong(middle) else (middle, late)
    return late
