"""The capacitors of the crystals on a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import cast

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.values import capacitance, missing_value
from boardvet.physics.crystal import load_seen
from boardvet.quantity import show
from boardvet.sizing._calculation import Unsizable
from boardvet.sizing.crystal import Crystal, size, stray_of
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, fitted_or, tried
from boardvet.vocabulary.kinds import Kind

__all__ = ["GIVEN", "find"]

GIVEN = ("load_capacitance", "stray", "stray_pin", "margin")


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the capacitors of each crystal."""
    for reference in circuit.view(Kinds).fitted_of(Kind.CRYSTAL):
        yield from tried(reference, lambda r=reference: _sized(circuit, given, r))  # type: ignore[misc]


def _sized(circuit: Circuit, given: Mapping[str, object], reference: str) -> Outcome:
    capacitors = _capacitors(circuit, reference)
    load = given.get("load_capacitance") or circuit.need(reference, "load_capacitance").value
    wishes = {**given, "load_capacitance": load}
    inputs = Crystal(**wishes)  # type: ignore[arg-type]
    answer = size(inputs)
    chosen = answer.chosen[0]
    if len({_farads(circuit, each) for each in capacitors}) == 1:
        chosen = fitted_or(circuit, capacitors[0], chosen, inputs.margin)
    after, changes = circuit, []
    for each in capacitors:
        after, change = changed(after, each, chosen)
        changes.append(change)
    one, other = (_farads(after, each) for each in capacitors)
    seen = [show(load_seen(one, other, stray), "F") for stray in stray_of(inputs)]
    words = " to ".join(dict.fromkeys(seen))
    solved = (f"{reference} sees {words} and is made for {show(cast('float', load), 'F')}",)
    answer = size(inputs, chosen)
    return Sized(reference, answer, tuple(changes), solved)


def _capacitors(circuit: Circuit, reference: str) -> tuple[str, str]:
    """Return the capacitor from each pin of a crystal to ground."""
    nodes, grounds, elements = circuit.view(Nodes), circuit.view(Grounds), circuit.view(Elements)
    ends = dict.fromkeys(
        nodes.node_of[pin.net] for pin in circuit.part(reference).pins if pin.net is not None
    )
    live = [node for node in ends if node not in grounds]
    found = [
        [c for c in elements.at(node, ElementKind.CAPACITOR) if c.other(node) in grounds]
        for node in live
    ]
    if len(found) != 2 or any(len(each) != 1 for each in found):
        counts = " and ".join(str(len(each)) for each in found)
        raise Unsizable(
            f"it has {counts or 'no'} capacitors at its pins",
            "one from each pin to ground is wanted, unless the controller has them inside",
        )
    return found[0][0].reference, found[1][0].reference


def _farads(circuit: Circuit, reference: str) -> float:
    known = capacitance(circuit, reference)
    if known is None:
        raise missing_value(reference)
    return known.value
