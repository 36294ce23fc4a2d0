"""Questions about nodes that several calculations ask of a board."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from boardvet.circuit.cells import MOMENTS
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles, can_drive
from boardvet.circuit.states import State
from boardvet.errors import MissingFact
from boardvet.quantity.statement import Span
from boardvet.sizing.on_board._outcome import end_of_life
from boardvet.vocabulary.kinds import INTEGRATED
from boardvet.vocabulary.roles import Role

__all__ = [
    "driver_of",
    "fed_span",
    "net_stated",
    "node_named",
    "pin_ohms",
    "resistors_between",
    "supply_of",
]


def node_named(circuit: Circuit, name: str) -> str | None:
    """Return the node of a net by its name, as the page of intent writes it."""
    for key, net in circuit.board.nets.items():
        if net.name.removeprefix("/") == name.removeprefix("/"):
            return circuit.view(Nodes).of_net(key)
    return None


def net_stated(circuit: Circuit, name: str, key: str) -> float | None:
    """Return a number that the page states of a net, None where it does not."""
    known = circuit.intent.nets.get(name, {}).get(key)
    return None if known is None else cast("float", known.value)


def fed_span(circuit: Circuit, node: str, reference: str) -> tuple[State, Span]:
    """Return a state that feeds a node, and its voltage from the end of the life to fresh.

    Raises
    ------
    MissingFact
        Where nothing feeds it, or its voltage is not known.
    """
    for state, fed in circuit.view(Feeding).states_of(node):
        fed.need()
        last = round(end_of_life(circuit)[0] * (len(MOMENTS) - 1))
        return state, Span(min(fed.low[: last + 1]), max(fed.high))
    raise MissingFact(
        reference,
        "sources",
        f"what feeds {circuit.board.nets[node].name} is not known",
        f"sources: {{J1: {{net: {circuit.board.nets[node].name}, voltage: 5 V}}}}",
    )


def supply_of(circuit: Circuit, reference: str) -> str:
    """Return the node that supplies a part.

    Raises
    ------
    MissingFact
        Where its supply pin is not known.
    """
    net = circuit.view(PinRoles).net_of(reference, Role.SUPPLY, Role.REGULATOR_INPUT)
    node = circuit.view(Nodes).of_net(net)
    if node is None:
        raise circuit.facts.missing(reference, "pins")
    return node


def driver_of(circuit: Circuit, node: str) -> PinRef | None:
    """Return the pin of a circuit that drives a node, None if none does."""
    kinds, roles = circuit.view(Kinds), circuit.view(PinRoles)
    for net in circuit.view(Nodes).nets_of[node]:
        for pin in roles.on_net[net]:
            kind = kinds.kind(pin.reference)
            if kind in INTEGRATED and can_drive(pin, kind) and pin.role is not Role.OPEN_DRAIN:
                return pin
    return None


def pin_ohms(circuit: Circuit, reference: str) -> float:
    """Return the resistance of the pins of a part. [Ω].

    Raises
    ------
    MissingFact
        Where it is not known.
    """
    known = circuit.need(reference, "pin_resistance")
    return float(known.value[0].value)  # type: ignore[index]


def resistors_between(circuit: Circuit, node: str, *, ground: bool) -> Iterator[Element]:
    """Yield the resistors from a node to ground, or to a fed rail."""
    grounds, feeding = circuit.view(Grounds), circuit.view(Feeding)
    for element in circuit.view(Elements).at(node, ElementKind.RESISTOR):
        other = element.other(node)
        if (other in grounds) if ground else feeding.ever(other):
            yield element
