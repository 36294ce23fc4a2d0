"""The pull-ups of the I²C lines on a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from boardvet.circuit.elements import Element
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.states import State
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.physics.pull_up import rise_time
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing._calculation import Unsizable
from boardvet.sizing.on_board._nodes import fed_span, net_stated, node_named, resistors_between
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, tried
from boardvet.sizing.pullup import Pullup, low_level_at, size
from boardvet.vocabulary.properties import missing_fact

__all__ = ["GIVEN", "find"]

GIVEN = ("speed", "capacitance", "rise", "sink_current", "low_level")


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the pull-up of each line that the page says is of an I²C bus."""
    for name, stated in circuit.intent.nets.items():
        if "bus" in stated and stated["bus"].value == "i2c":
            yield from tried(name, lambda n=name: _sized(circuit, given, n))  # type: ignore[misc]


def _sized(circuit: Circuit, given: Mapping[str, object], name: str) -> Outcome:
    node = node_named(circuit, name)
    pulls = list(resistors_between(circuit, node, ground=False)) if node is not None else []
    if node is None or len(pulls) != 1:
        raise Unsizable(
            f"{len(pulls) or 'no'} resistors on the board pull {name} up",
            "one is wanted for each line of a bus; size it with 'boardvet size pullup'",
        )
    pull = pulls[0]
    state, supply = fed_span(circuit, pull.other(node), pull.reference)
    inputs = _inputs(circuit, given, name, supply)
    fitted = resistance(circuit, pull.reference)
    answer = size(inputs, fitted.value if fitted else None)
    chosen = answer.chosen[0]
    after, change = changed(circuit, pull.reference, chosen)
    solved = (_said(after, inputs, state, node, pull),)
    return Sized(name, answer, (change,), solved)


def _inputs(circuit: Circuit, given: Mapping[str, object], name: str, supply: Span) -> Pullup:
    wishes = dict(given)
    for key in ("speed", "capacitance"):
        if key not in wishes:
            known = net_stated(circuit, name, key)
            if known is None:
                raise _missing(name, key)
            wishes[key] = known
    return Pullup(supply=supply, **wishes)  # type: ignore[arg-type]


def _missing(name: str, key: str) -> MissingFact:
    missing = missing_fact(name, key)
    how = f"{missing.how}, or say {key} behind pullup"
    return MissingFact(name, key, missing.missing, how)


def _said(after: Circuit, inputs: Pullup, state: State, node: str, pull: Element) -> str:
    """Solve the line while it is held low, and say how fast it rises."""
    level, _ = low_level_at(inputs, inputs.supply.high)
    held = after.view(Islands).solve(
        state, [pull.other(node), node], fixed={node: level}, across={pull}
    )
    amps = abs(held.resistor(pull)[0])
    ohms = resistance(after, pull.reference)
    if ohms is None:
        raise missing_value(pull.reference)
    seconds = rise_time(ohms.value, inputs.capacitance)
    return f"{show(amps, 'A')} while held at {show(level, 'V')}; rises in {show(seconds, 's', 3)}"
