"""View: chargers, the cells that they charge, and the current that they are set to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self, cast

from boardvet.circuit.backpaths import BackPaths
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.subjects import OfOnePart
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Charger", "Charging", "Setting"]

_SWITCHED = frozenset({ElementKind.CONTACT, ElementKind.CHANNEL, ElementKind.COLLECTOR})
_PULLING = frozenset({Kind.CONTROLLER, Kind.MODULE})


@dataclass(frozen=True, slots=True)
class Charger(OfOnePart):
    """A charger, as a subject.

    Parameters
    ----------
    reference : str
        Its designator.
    inputs, outputs : tuple of str
        Nodes that feed it, and nodes that it charges.
    """

    reference: str
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "charger"

    @property
    def nets(self) -> tuple[str, ...]:
        """Input and output nodes."""
        return (*self.inputs, *self.outputs)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Charger]:
        """Return the chargers of the board."""
        return tuple(
            cls(one.reference, one.inputs, one.outputs)
            for one in circuit.view(Converters).chargers()
        )


class Setting(NamedTuple):
    """What a charger is set to.

    Parameters
    ----------
    highest, lowest : Known[float]
        Charge current with everything that can lower the set resistance on, and off. [A]
    gain : Known[float] or None
        Current times resistance; None where no resistor sets the current. [V]
    resistors : tuple of str
        The parts that set it, empty where none do.
    switched : tuple of str
        Switches, transistors and controllers by which it changes.
    """

    highest: Known[float]
    lowest: Known[float]
    gain: Known[float] | None = None
    resistors: tuple[str, ...] = ()
    switched: tuple[str, ...] = ()


class _Way(NamedTuple):
    """What leads from a node to ground: its least resistance [ohm], and the parts on the way."""

    ohms: float
    resistors: tuple[str, ...] = ()
    switched: tuple[str, ...] = ()


@dataclass(frozen=True)
class Charging:
    """Answers what chargers of one board are set to and what they charge."""

    circuit: Circuit = field(repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; chargers are looked at when asked for."""
        return cls(circuit)

    def cells(self, charger: Charger) -> tuple[Cell, ...]:
        """Return the cells that the output of a charger reaches with nothing that blocks.

        Raises
        ------
        MissingFact
            Where its output is not known, or no cell is at it.
        """
        if not charger.outputs:
            raise self.circuit.facts.missing(charger.reference, "pins")
        cells = self.circuit.view(Cells).all
        found = tuple(cell for cell in cells if self._reaches(charger, cell))
        if not found:
            part = self._plug(charger)
            named = f"part: {part}, " if part else ""
            raise MissingFact(
                charger.reference,
                "cell",
                f"which cell {charger.reference} charges is not known",
                f"cell: {{{named}type: LiPo, capacity: 400 mAh}}   # the cell you will fit",
            )
        return found

    def setting(self, charger: Charger) -> Setting:
        """Return what current a charger is set to.

        A stated `charge_current` counts first, then the resistors at its set pin with the gain
        of the part. A set pin on ground gives the most that the part charges with.

        Raises
        ------
        MissingFact
            Where the gain, a resistance, or what sets the current is not known.
        """
        reference = charger.reference
        stated = self.circuit.known(reference, "charge_current")
        if stated is not None:
            fixed = cast("Known[float]", stated)
            return Setting(fixed, fixed)
        node = self._set_node(reference)
        if node is None:
            raise self.circuit.facts.missing(reference, "charge_current")
        if node in self.circuit.view(Grounds):
            most = cast("Known[float]", self.circuit.need(reference, "current_max"))
            return Setting(most, most)
        return self._by_resistors(reference, node)

    def ends_at(self, charger: Charger, setting: Setting) -> Known[float]:
        """Return the current at which a charger ends charging, in amperes.

        Raises
        ------
        MissingFact
            Where nothing says it.
        """
        known = cast("Known[float]", self.circuit.need(charger.reference, "termination"))
        if known.unit == "A":
            return known
        return Known(known.value * setting.highest.value, "A", known.source)

    def _reaches(self, charger: Charger, cell: Cell) -> bool:
        """Tell whether a charger reaches a cell by no way through another part that converts."""
        converters = {one.reference: one for one in self.circuit.view(Converters).all}
        through = self.circuit.view(BackPaths).from_charger(converters[charger.reference], cell)
        return through is not None and not converters.keys() & set(through)

    def _plug(self, charger: Charger) -> str:
        """Return a connector on the output of a charger, "" if there is none."""
        kinds, nodes = self.circuit.view(Kinds), self.circuit.view(Nodes)
        roles = self.circuit.view(PinRoles)
        for node in charger.outputs:
            for net in nodes.nets_of[node]:
                for pin in roles.on_net[net]:
                    if kinds.kind(pin.reference) is Kind.CONNECTOR:
                        return pin.reference
        return ""

    def _set_node(self, reference: str) -> str | None:
        net = self.circuit.view(PinRoles).net_of(reference, Role.PROGRAM)
        return self.circuit.view(Nodes).of_net(net)

    def _by_resistors(self, reference: str, node: str) -> Setting:
        gain = cast("Known[float]", self.circuit.need(reference, "program_gain"))
        # A switch straight across the set pin is no set resistor.
        ways = [w for w in self._ways(reference, node, frozenset({node})) if w.ohms > 0]
        always = sum(1.0 / way.ohms for way in ways if not way.switched)
        everything = sum(1.0 / way.ohms for way in ways)
        if everything == 0:
            raise self.circuit.facts.missing(reference, "charge_current")
        resistors = tuple(dict.fromkeys(ref for way in ways for ref in way.resistors))
        source = f"computed: {gain.value:g} V over {' and '.join(resistors)}; {gain.source}"
        return Setting(
            Known(gain.value * everything, "A", source),
            Known(gain.value * (always or everything), "A", source),
            gain,
            resistors,
            tuple(dict.fromkeys(ref for way in ways for ref in way.switched)),
        )

    def _ways(self, charger: str, node: str, seen: frozenset[str]) -> Iterator[_Way]:
        """Yield each way from a node to ground; what branches off behind a resistor is summed.

        A switch counts as closed, and a controller's pin behind a resistor as low, so that all
        of them together are the lowest resistance that can be set.
        """
        self._no_trimmer(charger, node)
        for element in self.circuit.view(Elements).at(node):
            other = element.other(node)
            ohms = self._ohms(element)
            if ohms is None or other in seen:
                continue
            onward = self._to_ground(charger, other, seen | {other})
            if onward is None:
                continue
            reference = element.reference
            resistors = (reference,) if element.kind is ElementKind.RESISTOR else ()
            switched = (reference,) if element.kind in _SWITCHED else ()
            yield _Way(
                ohms + onward.ohms,
                (*resistors, *onward.resistors),
                (*switched, *onward.switched),
            )

    def _to_ground(self, charger: str, node: str, seen: frozenset[str]) -> _Way | None:
        """Return what lies between a node and ground, None where no current can get there."""
        if node in self.circuit.view(Grounds):
            return _Way(0.0)
        puller = self._puller(node)
        if puller is not None:
            return _Way(0.0, (), (puller,))
        ways = list(self._ways(charger, node, seen))
        if not ways:
            return None
        shorted = any(way.ohms == 0 for way in ways)
        return _Way(
            0.0 if shorted else 1.0 / sum(1.0 / way.ohms for way in ways),
            tuple(ref for way in ways for ref in way.resistors),
            tuple(ref for way in ways for ref in way.switched),
        )

    def _ohms(self, element: Element) -> float | None:
        """Return the least resistance of an element, None if it passes no direct current."""
        if element.kind is ElementKind.RESISTOR:
            known = resistance(self.circuit, element.reference)
            if known is None:
                raise missing_value(element.reference)
            return known.value
        return 0.0 if element.kind in METALLIC or element.kind in _SWITCHED else None

    def _puller(self, node: str) -> str | None:
        """Return the controller that can pull a node low, None if none can."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        for net in self.circuit.view(Nodes).nets_of[node]:
            for pin in roles.on_net[net]:
                if kinds.kind(pin.reference) in _PULLING and pin.role is not Role.INPUT:
                    return pin.reference
        return None

    def _no_trimmer(self, charger: str, node: str) -> None:
        """End the subject where the set resistance can be turned."""
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        for net in self.circuit.view(Nodes).nets_of[node]:
            for pin in roles.on_net[net]:
                if kinds.kind(pin.reference) in {Kind.POTENTIOMETER, Kind.THERMISTOR}:
                    raise self.circuit.facts.missing(charger, "charge_current")
