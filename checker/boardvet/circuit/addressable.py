"""View: addressable LEDs, by the rail that they share, and what drives their data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles, can_drive
from boardvet.circuit.rails import SuppliedPart, node_label
from boardvet.circuit.states import State
from boardvet.errors import MissingFact
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.properties import missing_fact
from boardvet.vocabulary.roles import Role

__all__ = ["AddressableGroup", "AddressableGroups", "DataLevel"]


class DataLevel(NamedTuple):
    """The data line of a group against its supply, at one state of the cell.

    Parameters
    ----------
    driver : str
        What drives it, or the resistor that pulls it up.
    rail : str
        Name of the rail that its high level is.
    state : State
        Where the level is lowest against the supply.
    high, supply : float
        Lowest of the one and highest of the other at the same moment. [V]
    """

    driver: str
    rail: str
    state: State
    high: float
    supply: float

    @property
    def share(self) -> float:
        """High level over supply, 1 where there is no supply."""
        return self.high / self.supply if self.supply else 1.0


@dataclass(frozen=True)
class AddressableGroup:
    """Equal addressable LEDs on one rail, as a subject.

    Parameters
    ----------
    references : tuple of str
        The LEDs, in the order of the board.
    node : str
        Their rail.
    rail : str
        Its name.
    supplies : tuple of SuppliedPart
        The same as subjects of other rules.
    """

    references: tuple[str, ...]
    node: str
    rail: str
    supplies: tuple[SuppliedPart, ...] = field(compare=False)

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "addressable leds"

    @property
    def label(self) -> str:
        """How many of them, or the only one."""
        first, count = self.references[0], len(self.references)
        return first if count == 1 else f"{count} addressable LEDs from {first} on"

    @property
    def parts(self) -> tuple[str, ...]:
        """The LEDs."""
        return self.references

    @property
    def nets(self) -> tuple[str, ...]:
        """Their rail."""
        return (self.node,)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[AddressableGroup]:
        """Return the groups of the board."""
        return circuit.view(AddressableGroups).all


@dataclass(frozen=True)
class AddressableGroups:
    """The groups of addressable LEDs of a board."""

    circuit: Circuit = field(repr=False)
    all: tuple[AddressableGroup, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Put equal ones on one rail together."""
        found: dict[tuple[str, str], list[SuppliedPart]] = {}
        for part in SuppliedPart.on(circuit):
            if part.part_kind is Kind.ADDRESSABLE_LED:
                family = circuit.facts.family(part.reference)
                value = circuit.board.parts[part.reference].value
                name = family.name if family is not None else value
                found.setdefault((part.node, name), []).append(part)
        return cls(
            circuit,
            tuple(
                AddressableGroup(
                    tuple(part.reference for part in parts),
                    node,
                    node_label(circuit, node),
                    tuple(parts),
                )
                for (node, _), parts in found.items()
            ),
        )

    def data_level(self, group: AddressableGroup) -> DataLevel | None:
        """Return the lowest data level against the supply, None where nothing drives any data.

        Raises
        ------
        MissingFact
            Where what drives the data, or a voltage, is not known.
        """
        nodes = dict.fromkeys(self._inputs(group))
        levels = [level for node in nodes for level in self._levels(group, node)]
        return min(levels, key=lambda level: level.share, default=None)

    def _inputs(self, group: AddressableGroup) -> Iterator[str]:
        """Yield the nodes of the data inputs."""
        roles, nodes = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        for reference in group.references:
            for pin in roles.pins(reference, Role.INPUT):
                node = nodes.of_net(pin.pin.net)
                if node is not None and node not in self.circuit.view(Grounds):
                    yield node

    def _beside(self, node: str, own: str) -> list[PinRef]:
        """Return the pins that drive a node, straight or through a resistor."""
        kinds = self.circuit.view(Kinds)
        elements, grounds = self.circuit.view(Elements), self.circuit.view(Grounds)
        feeding = self.circuit.view(Feeding)
        reached = [node]
        reached += [
            element.other(node)
            for element in elements.at(node, ElementKind.RESISTOR)
            if element.other(node) not in grounds and not feeding.ever(element.other(node))
        ]
        roles, nodes = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        return [
            pin
            for each in reached
            for net in nodes.nets_of[each]
            for pin in roles.on_net[net]
            if pin.reference != own
            and pin.role is not Role.INPUT
            and can_drive(pin, kinds.kind(pin.reference))
        ]

    def _levels(self, group: AddressableGroup, node: str) -> Iterator[DataLevel]:
        driver, rails = self._high_rails(node, group)
        for state, supply in self.circuit.view(Feeding).states_of(group.node):
            fed = self.circuit.view(Feeding).at(state)
            found = [
                self._level(driver, rail, state, fed[rail], supply)
                for rail in rails
                if rail in fed
            ]
            if found:
                yield max(found, key=lambda level: level.share)

    def _level(self, driver: str, rail: str, state: State, high: Fed, supply: Fed) -> DataLevel:
        """Compare two rails at the moment at which one is lowest against the other."""
        pairs = zip(high.need().low, supply.need().high, strict=True)
        low, top = min(pairs, key=lambda pair: pair[0] / pair[1] if pair[1] else 1.0)
        return DataLevel(driver, node_label(self.circuit, rail), state, low, top)

    def _high_rails(self, node: str, group: AddressableGroup) -> tuple[str, tuple[str, ...]]:
        """Return what makes the high level of a data line, and the rails that it may be.

        A transistor on the line only pulls down: the high level is that of the pull-up. A level
        shifter has two rails, of which the higher one is taken to be that of its outputs.
        """
        elements, feeding = self.circuit.view(Elements), self.circuit.view(Feeding)
        moving = elements.at(node, ElementKind.CHANNEL, ElementKind.COLLECTOR)
        pulls = [
            (element.reference, element.other(node))
            for element in elements.at(node, ElementKind.RESISTOR)
            if feeding.ever(element.other(node))
        ]
        drivers = self._beside(node, group.references[0])
        open_drain = all(pin.role is Role.OPEN_DRAIN for pin in drivers)
        if pulls and (moving or open_drain):
            return pulls[0][0], (pulls[0][1],)
        kinds, roles = self.circuit.view(Kinds), self.circuit.view(PinRoles)
        for pin in drivers:
            kind = kinds.kind(pin.reference)
            if kind not in INTEGRATED:
                continue
            pins = roles.pins(pin.reference, Role.SUPPLY, Role.REGULATOR_INPUT)
            found = (self.circuit.view(Nodes).of_net(p.pin.net) for p in pins)
            supplies = tuple(each for each in found if each is not None)
            if not supplies:
                raise self._unknown_pins(pin.reference)
            return pin.reference, supplies if kind is Kind.LOGIC else supplies[:1]
        if drivers:
            raise missing_fact(self.circuit.board.nets[node].name, "driven_by")
        return "", ()  # a line that nothing drives is the business of other rules

    def _unknown_pins(self, reference: str) -> MissingFact:
        return MissingFact(
            reference,
            "pins",
            f"the supply pin of {reference} is not known",
            f"parts: {{{reference}: {{pins: {{8: supply}}}}}}   # its true number",
        )
