"""The dividers on a board: those of regulators, and all others where a target is stated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple, cast

from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import Element, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.states import State
from boardvet.circuit.values import resistance
from boardvet.quantity import show
from boardvet.sizing._calculation import Unsizable
from boardvet.sizing.divider import Divider, size
from boardvet.sizing.on_board._nodes import fed_span, resistors_between
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, tried
from boardvet.vocabulary.roles import Role

__all__ = ["GIVEN", "find"]

GIVEN = ("input", "output", "current", "source_max", "tolerance", "margin")


class _Drawn(NamedTuple):
    """A divider as drawn: its tap, the resistors, and the regulator that it is for, if it is."""

    tap: str
    top: Element
    bottom: Element
    regulator: str | None

    @property
    def rail(self) -> str:
        """The node that it divides."""
        return self.top.other(self.tap)


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the resistors of each divider whose purpose is known."""
    for drawn in _drawn(circuit):
        if drawn.regulator is None and not {"input", "output"} <= given.keys():
            continue
        subject = drawn.regulator or circuit.board.nets[drawn.tap].name
        yield from tried(subject, lambda d=drawn, s=subject: _sized(circuit, given, d, s))  # type: ignore[misc]


def _drawn(circuit: Circuit) -> Iterator[_Drawn]:
    """Yield each node that one resistor ties to a rail and one to ground, with a reader on it."""
    elements, grounds, feeding = (
        circuit.view(Elements),
        circuit.view(Grounds),
        circuit.view(Feeding),
    )
    of_feedback = _feedback(circuit)
    for node in circuit.view(Nodes).nets_of:
        if node in grounds or feeding.ever(node) or node not in elements.at_node:
            continue
        bottoms = list(resistors_between(circuit, node, ground=True))
        tops = list(resistors_between(circuit, node, ground=False))
        if len(bottoms) == len(tops) == 1:
            yield _Drawn(node, tops[0], bottoms[0], of_feedback.get(node))


def _feedback(circuit: Circuit) -> dict[str, str]:
    """Return the regulator at each feedback node."""
    roles, nodes = circuit.view(PinRoles), circuit.view(Nodes)
    found = {}
    for converter in circuit.view(Converters).all:
        node = nodes.of_net(roles.net_of(converter.reference, Role.FEEDBACK))
        if node is not None:
            found[node] = converter.reference
    return found


def _sized(circuit: Circuit, given: Mapping[str, object], drawn: _Drawn, subject: str) -> Outcome:
    wishes = dict(given)
    if drawn.regulator is not None:
        for key, of in (("input", "output"), ("output", "reference_voltage")):
            wishes[key] = circuit.need(drawn.regulator, of).value
    state, supply = fed_span(circuit, drawn.rail, drawn.top.reference)
    if "current" not in wishes and "source_max" not in wishes:
        wishes["current"] = _drawn_current(circuit, drawn, cast("float", wishes["input"]))
    inputs = Divider(supply=supply, **wishes)  # type: ignore[arg-type]
    answer = size(inputs)
    after, top = changed(circuit, drawn.top.reference, answer.chosen[0])
    after, bottom = changed(after, drawn.bottom.reference, answer.chosen[1])
    return Sized(subject, answer, (top, bottom), (_said(after, inputs, drawn, state),))


def _drawn_current(circuit: Circuit, drawn: _Drawn, volts: float) -> float | None:
    """Return what the divider as fitted draws, a little more for room; None where unknown."""
    known = [resistance(circuit, e.reference) for e in (drawn.top, drawn.bottom)]
    values = [each.value for each in known if each is not None]
    return None if len(values) < 2 else 1.2 * volts / sum(values)


def _said(after: Circuit, inputs: Divider, drawn: _Drawn, state: State) -> str:
    """Solve the tap with the rail held at the input."""
    solved = after.view(Islands).solve(
        state, [drawn.tap], fixed={drawn.rail: inputs.input}, across={drawn.top, drawn.bottom}
    )
    volts = solved.voltage(drawn.tap)[0]
    if volts <= 0:
        raise Unsizable(
            "its tap has no voltage when solved", "look for what else hangs on the tap"
        )
    name = after.board.nets[drawn.tap].name
    return f"{show(volts, 'V', 4)} at {name} for {show(inputs.input, 'V')}"
