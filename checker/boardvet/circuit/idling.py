"""View: what regulators use of the cell for themselves, and when nothing switches them off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, Self, cast

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters, Regulator, dropout_points
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles, can_drive
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.circuit.windows import first_below
from boardvet.known import Known
from boardvet.physics.regulator import converter_input_current, dropout_voltage
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Idle", "Idling", "Standing", "efficiency_at"]

_SWITCHING = ("step-up", "step-down", "step-up-down")


class Idle(NamedTuple):
    """What a regulator takes from a cell for itself.

    Parameters
    ----------
    cell : str
        Reference of the cell.
    share : float
        Share of the time that it is on and fed by the cell, 0 to 1.
    own : Known[float]
        Current that it uses itself, as its data sheet says. [A]
    current : float
        The same on the side of the cell, mean over the time that it is on. [A]
    dropout : Known[float] or None
        What it uses while its input is too low to regulate, where that is known. [A]
    unregulated : float
        Share of the cell's charge at which that is so without a load; 0 where `dropout` is None.
    because : str
        How `current` follows from `own`, "" where they are the same.
    """

    cell: str
    share: float
    own: Known[float]
    current: float
    dropout: Known[float] | None
    unregulated: float
    because: str

    @property
    def mean(self) -> float:
        """Mean current from the cell over all of the time, in amperes."""
        return self.share * self.current


class Standing(NamedTuple):
    """What a current drawn for good takes from a cell.

    Parameters
    ----------
    cell : str
        Reference of the cell.
    share : float
        Share of the time that the cell feeds it, 0 to 1.
    current : float
        On the side of the cell, while it does. [A]
    because : str
        How it follows from the current drawn, "" where they are the same.
    """

    cell: str
    share: float
    current: float
    because: str

    @property
    def mean(self) -> float:
        """Mean current from the cell over all of the time, in amperes."""
        return self.share * self.current


@dataclass(frozen=True)
class Idling:
    """Answers what regulators of one board take while nothing needs them."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; regulators are looked at when asked for."""
        return cls(circuit)

    def idle(self, regulator: Regulator) -> Idle | None:
        """Return what a regulator takes from the cell, None if it is off at rest or not on a cell.

        It is off at rest where a pin, a transistor or a contact can take its enable pin or its
        supply away.

        Raises
        ------
        MissingFact
            Where its own current, or the shares of the modes, are not known.
        """
        if regulator.charger or self.enable_driven(regulator):
            return None
        on = [
            (timeline.share, fed)
            for timeline in self.circuit.view(Timelines).all
            for fed in self._fed(regulator.inputs, timeline)
        ]
        share = sum(each for each, _ in on)
        if share == 0.0:
            return None
        fed = max(on, key=lambda each: each[0])[1]
        own = cast("Known[float]", self.circuit.need(regulator.reference, "quiescent_current"))
        return self._idle(regulator, fed, share, own)

    def standing(self, node: str, current: float) -> Standing | None:
        """Return what a current drawn from a node for good takes from a cell.

        None where no cell feeds the node, or a pin, a transistor or a contact can take its
        supply away at rest.

        Raises
        ------
        MissingFact
            Where the shares of the modes, or an efficiency, are not known.
        """
        on = [
            (timeline.share, fed)
            for timeline in self.circuit.view(Timelines).all
            for fed in self._fed((node,), timeline)
            if not self._given_by_part(fed)
        ]
        if not on:
            return None
        fed = max(on, key=lambda each: each[0])[1]
        taken, because = self._behind(None, fed, current)
        return Standing(fed.sources[0], min(sum(share for share, _ in on), 1.0), taken, because)

    def _given_by_part(self, fed: Fed) -> bool:
        """Tell whether a pin of a part, or a regulator that something enables, feeds a node."""
        kinds = self.circuit.view(Kinds)
        converters = {each.reference: each for each in self.circuit.view(Converters).all}
        return any(
            self.enable_driven(converters[reference])
            if reference in converters
            else kinds.kind(reference) in INTEGRATED
            for reference in fed.path
        )

    def enable_driven(self, regulator: Regulator) -> bool:
        """Tell whether something besides resistors holds the enable pin of a regulator."""
        nodes, elements = self.circuit.view(Nodes), self.circuit.view(Elements)
        net = self.circuit.view(PinRoles).net_of(regulator.reference, Role.ENABLE)
        enable = nodes.of_net(net)
        if enable is None or enable in regulator.inputs:
            return False
        held = {*regulator.inputs, *regulator.outputs}
        behind = {
            element.other(enable)
            for element in elements.at(enable, ElementKind.RESISTOR, ElementKind.DIODE)
        }
        return any(
            self._moved(node, regulator.reference)
            for node in {enable, *behind} - held - set(self.circuit.view(Grounds).nodes)
        )

    def _moved(self, node: str, own: str) -> bool:
        """Tell whether a pin, a transistor or a contact at a node can change its level."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        moving = {ElementKind.CHANNEL, ElementKind.COLLECTOR, ElementKind.CONTACT}
        at_node = self.circuit.view(Elements).at(node)
        if any(element.kind in moving and element.control != node for element in at_node):
            return True
        return any(
            pin.reference != own
            and kinds.kind(pin.reference) in INTEGRATED
            and can_drive(pin, kinds.kind(pin.reference))
            for net in self.circuit.view(Nodes).nets_of[node]
            for pin in roles.on_net[net]
        )

    def _fed(self, nodes: tuple[str, ...], timeline: Timeline) -> Iterator[Fed]:
        """Yield how a cell feeds the first fed node in a timeline, if nothing can take it away."""
        reached = self.circuit.view(Feeding).at(timeline.state)
        fed = next((reached[node] for node in nodes if node in reached), None)
        cells = {cell.reference for cell in self.circuit.view(Cells).all}
        if fed is None or not fed.sources or not set(fed.sources) <= cells:
            return
        if not any(self._takes_away(reference, timeline) for reference in fed.path):
            yield fed

    def _takes_away(self, reference: str, timeline: Timeline) -> bool:
        """Tell whether a part on the way of the supply is a switch that is open at rest."""
        kind = self.circuit.view(Kinds).kind(reference)
        if kind in {Kind.SWITCH, Kind.BUTTON}:
            # Modes say how the switches stand, and the rest of the time those are open.
            return not self.circuit.intent.modes
        if kind not in {Kind.FET, Kind.TRANSISTOR}:
            return False
        feeding = self.circuit.view(Feeding)
        channels = [
            element
            for element in self.circuit.view(Elements).of_part(reference)
            if element.kind is ElementKind.CHANNEL
        ]
        return any(feeding.switched(timeline.state, channel) for channel in channels)

    def _idle(self, regulator: Regulator, fed: Fed, share: float, own: Known[float]) -> Idle:
        cell = fed.sources[0]
        conversion = regulator.conversion
        # The own current of a step-down type is one at its input, that of a booster at its output.
        if not conversion.steps_up or conversion.output is None:
            dropout = self.circuit.known(regulator.reference, "dropout_current")
            unregulated = self._unregulated(regulator, fed) if dropout is not None else 0.0
            low = cast("Known[float]", dropout)
            at_input = own.value
            if dropout is not None:
                at_input += unregulated * (low.value - own.value)
            current, because = self._behind(regulator, fed, at_input)
            return Idle(cell, share, own, current, low, unregulated, because)
        given = _middle(conversion.output.value)
        taken = _mean(fed.low)
        eta = efficiency_at(self.circuit, regulator.reference, 0.0)
        at_input = converter_input_current(given * own.value, eta.value, taken) if taken else 0.0
        because = f"{given:.3g} V / ({eta.value:.0%} · {taken:.3g} V)"
        current, further = self._behind(regulator, fed, at_input)
        return Idle(
            cell, share, own, current, None, 0.0, " · ".join(filter(None, (because, further)))
        )

    def _behind(self, regulator: Regulator | None, fed: Fed, current: float) -> tuple[float, str]:
        """Refer a current to the cell where a switching regulator lies between, and say how."""
        words = []
        for converter in self.circuit.view(Converters).all:
            output = converter.conversion.output
            between = converter.reference in fed.path and converter != regulator
            if not between or converter.conversion.how not in _SWITCHING or output is None:
                continue
            before = self._before(converter, fed)
            if before is None:
                continue
            eta = efficiency_at(self.circuit, converter.reference, current)
            volts, taken = _middle(output.value), _mean(before.low)
            current = converter_input_current(volts * current, eta.value, taken)
            words.append(f"{volts:.3g} V / ({eta.value:.0%} · {taken:.3g} V)")
        return current, " · ".join(words)

    def _before(self, converter: Regulator, behind: Fed) -> Fed | None:
        feeding = self.circuit.view(Feeding)
        for timeline in self.circuit.view(Timelines).all:
            reached = feeding.at(timeline.state)
            for node in converter.inputs:
                if node in reached and set(reached[node].sources) == set(behind.sources):
                    return reached[node]
        return None

    def _unregulated(self, regulator: Regulator, fed: Fed) -> float:
        """Return the share of the charge during which the input is below the output."""
        output = regulator.conversion.output
        if output is None:
            return 0.0
        points = dropout_points(self.circuit, regulator.reference)
        needed = output.value.low + (dropout_voltage(points, 0.0) if points else 0.0)
        used = first_below(fed.low, needed)
        return 0.0 if used is None else 1.0 - used


def efficiency_at(circuit: Circuit, reference: str, current: float) -> Known[float]:
    """Return the efficiency of a switching regulator at an output current in amperes.

    Linear between the points stated, that of the ends outside.

    Raises
    ------
    MissingFact
        Where nothing is known and no default may be used.
    """
    known = circuit.need(reference, "efficiency")
    points = cast("Points", known.value)
    before = points[0]
    if current <= (before.at or 0.0):
        return Known(before.value, "", known.source)
    for point in points[1:]:
        low, high = before.at or 0.0, point.at or 0.0
        if current <= high:
            value = before.value + (point.value - before.value) * (current - low) / (high - low)
            return Known(value, "", known.source)
        before = point
    return Known(points[-1].value, "", known.source)


def _middle(span: Span) -> float:
    return (span.low + span.high) / 2.0


def _mean(volts: tuple[float, ...]) -> float:
    return sum(volts) / len(volts)
