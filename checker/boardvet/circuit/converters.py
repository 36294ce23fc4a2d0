"""View: regulators and chargers, and what voltage they make."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Self, cast

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import rail_voltage
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.subjects import OfOnePart
from boardvet.known import Known
from boardvet.physics.regulator import dropout_voltage
from boardvet.quantity.statement import Points, Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Conversion", "Converters", "Regulator", "dropout_points"]

_STEPPING_UP = ("step-up", "step-up-down")

LIGHT_LOAD = 10e-3
"""Current at which the head-room of a regulator is taken where no load is solved. [A]"""


@dataclass(frozen=True, slots=True)
class Conversion:
    """What a regulator makes: voltage, how, its drop-out at `LIGHT_LOAD`, if that is known."""

    output: Known[Span] | None
    how: str
    dropout: float
    dropout_known: bool = True

    @property
    def steps_up(self) -> bool:
        """True where the output may be above the input."""
        return self.how in _STEPPING_UP


@dataclass(frozen=True, slots=True)
class Regulator(OfOnePart):
    """A regulator or charger, as a subject.

    Parameters
    ----------
    reference : str
        Its designator.
    charger : bool
        True if its output charges a cell.
    inputs : tuple of str
        Nodes that feed it.
    outputs : tuple of str
        Nodes that it feeds.
    conversion : Conversion
        What it makes; `output` is None where nothing says.
    """

    reference: str
    charger: bool
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    conversion: Conversion

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "charger" if self.charger else "regulator"

    @property
    def nets(self) -> tuple[str, ...]:
        """Input and output nodes."""
        return (*self.inputs, *self.outputs)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Regulator]:
        """Return the regulators and chargers of the board."""
        return circuit.view(Converters).all


@dataclass(frozen=True)
class Converters:
    """All fitted regulators and chargers."""

    all: tuple[Regulator, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Find inputs and outputs of each."""
        kinds = circuit.view(Kinds)
        return cls(
            tuple(
                _regulator(circuit, reference, kinds.kind(reference) is Kind.CHARGER)
                for reference in kinds.fitted_of(Kind.REGULATOR, Kind.CHARGER)
            )
        )

    def chargers(self) -> tuple[Regulator, ...]:
        """Return those that charge a cell."""
        return tuple(converter for converter in self.all if converter.charger)


def dropout_points(circuit: Circuit, reference: str) -> tuple[tuple[float, float], ...]:
    """Return the drop-out of a regulator as pairs of current [A] and voltage [V].

    A drop-out without a current is that at the most current the part is made for, or the same at
    every current where that is not known either; empty where nothing is known.
    """
    known = circuit.known(reference, "dropout")
    if known is None:
        return ()
    points = cast("Points", known.value)
    if points[0].at:
        return tuple((point.at, point.value) for point in points if point.at)
    most = circuit.known(reference, "current_max")
    at = cast("float", most.value) if most is not None else 0.0
    volts = points[0].value
    return ((at, volts),) if at else ((1e-9, volts), (1.0, volts))


def _regulator(circuit: Circuit, reference: str, charger: bool) -> Regulator:
    inputs = tuple(_nodes(circuit, reference, Role.REGULATOR_INPUT, Role.SUPPLY))
    outputs = tuple(_nodes(circuit, reference, Role.SUPPLY_OUTPUT, Role.BATTERY))
    if not outputs:
        outputs = tuple(_behind_coil(circuit, reference, inputs))
    # An input that is also the output's node (a boost's sense pin) is not what feeds it.
    inputs = tuple(node for node in inputs if node not in outputs) or inputs
    return Regulator(
        reference, charger, inputs, outputs, _conversion(circuit, reference, outputs, charger)
    )


def _nodes(circuit: Circuit, reference: str, *roles: Role) -> Iterator[str]:
    nodes, grounds = circuit.view(Nodes), circuit.view(Grounds)
    seen: set[str] = set()
    for pin in circuit.view(PinRoles).pins(reference, *roles):
        node = nodes.of_net(pin.pin.net)
        if node is not None and node not in grounds and node not in seen:
            seen.add(node)
            yield node


def _behind_coil(circuit: Circuit, reference: str, inputs: tuple[str, ...]) -> Iterator[str]:
    """Follow the switch node through its coil (step-down) or diode (step-up) to the output."""
    elements, grounds = circuit.view(Elements), circuit.view(Grounds)
    for node in _nodes(circuit, reference, Role.SWITCH_NODE):
        for element in elements.at(node, ElementKind.INDUCTOR, ElementKind.DIODE):
            other = element.other(node)
            forward = element.kind is ElementKind.INDUCTOR or element.a == node
            if other not in inputs and other not in grounds and forward:
                yield other


def _conversion(
    circuit: Circuit, reference: str, outputs: tuple[str, ...], charger: bool
) -> Conversion:
    stated = circuit.known(reference, "charge_voltage" if charger else "output")
    output: Known[Span] | None = None
    if stated is not None:
        volts = cast("float", stated.value)
        output = Known(Span(volts, volts), "V", stated.source)
    elif not charger:
        output = _named_output(circuit, outputs)
    how = circuit.known(reference, "conversion")
    points = dropout_points(circuit, reference)
    return Conversion(
        output,
        str(how.value) if how else _by_coil(circuit, reference, outputs),
        dropout_voltage(points, LIGHT_LOAD) if points else 0.0,
        bool(points),
    )


def _by_coil(circuit: Circuit, reference: str, outputs: tuple[str, ...]) -> str:
    """Tell how a regulator converts by its coil: none, before the output, at the input."""
    elements = circuit.view(Elements)
    for node in _nodes(circuit, reference, Role.SWITCH_NODE):
        for coil in elements.at(node, ElementKind.INDUCTOR):
            return "step-down" if coil.other(node) in outputs else "step-up"
    return "linear"


def _named_output(circuit: Circuit, outputs: tuple[str, ...]) -> Known[Span] | None:
    """Take a rail's name at its word where the part does not say: +3V3 is 3.3 V."""
    for node in outputs:
        for key in circuit.view(Nodes).nets_of[node]:
            net = circuit.board.nets[key]
            volts = rail_voltage(net.name) if net.named else None
            if volts is not None:
                source = f"netlist {net.place.file}:{net.place.line}: the name of {net.name}"
                return Known(Span(volts, volts), "V", source)
    return None
