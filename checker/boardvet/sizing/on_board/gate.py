"""The gate resistors of the FETs on a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from boardvet.circuit.elements import Element, ElementKind, Elements, is_p_channel
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Drive, Islands
from boardvet.circuit.pins import PinRef
from boardvet.circuit.states import State
from boardvet.circuit.values import Values
from boardvet.errors import MissingFact
from boardvet.quantity import show
from boardvet.sizing._calculation import Chosen
from boardvet.sizing.gate import HOLD, SERIES, Gate, size
from boardvet.sizing.on_board._nodes import driver_of, fed_span, pin_ohms, supply_of
from boardvet.sizing.on_board._outcome import Change, Outcome, Sized, changed, tried

__all__ = ["GIVEN", "find"]

GIVEN = ("threshold", "peak_current", "leakage", "capacitance", "off_within", "margin")

_WITHIN = {HOLD: 10.0, SERIES: 100.0}
"""How far from its limit a fitted resistor on the right side of it stays: a smaller hold draws
more, a larger series resistor only switches more slowly."""


class _Driven(NamedTuple):
    """A channel, the pin that drives its gate, and the resistors there, None where none is."""

    channel: Element
    gate: str
    pin: PinRef
    pin_node: str
    series: str | None
    hold: str | None


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the gate resistors of each FET that a pin drives."""
    for driven in _driven(circuit):
        subject = driven.channel.label
        yield from tried(subject, lambda d=driven: _sized(circuit, given, d))  # type: ignore[misc]


def _driven(circuit: Circuit) -> Iterator[_Driven]:
    for channel in circuit.view(Elements).of_kind(ElementKind.CHANNEL):
        gate = channel.control
        if gate is None or _is_border(circuit, gate):
            continue
        for node, series in _ways(circuit, gate):
            pin = None if _is_border(circuit, node) else driver_of(circuit, node)
            if pin is not None:
                hold = _hold(circuit, channel, gate, node)
                yield _Driven(channel, gate, pin, node, series, hold)
                break


def _is_border(circuit: Circuit, node: str) -> bool:
    """Tell whether a node is ground or a rail, which no pin drives."""
    return node in circuit.view(Grounds) or circuit.view(Feeding).ever(node)


def _ways(circuit: Circuit, gate: str) -> Iterator[tuple[str, str | None]]:
    """Yield the gate itself and each node behind a resistor at it, with that resistor."""
    yield gate, None
    for resistor in circuit.view(Elements).at(gate, ElementKind.RESISTOR):
        yield resistor.other(gate), resistor.reference


def _hold(circuit: Circuit, channel: Element, gate: str, pin_node: str) -> str | None:
    """Return the resistor from gate, or from its pin, to the source of the FET."""
    elements = circuit.view(Elements)
    for node in (gate, pin_node):
        for resistor in elements.at(node, ElementKind.RESISTOR):
            if resistor.other(node) == channel.b:
                return resistor.reference
    return None


def _sized(circuit: Circuit, given: Mapping[str, object], driven: _Driven) -> Outcome:
    pin = driven.pin.reference
    if "threshold" not in given:
        raise MissingFact(
            driven.channel.reference,
            "threshold",
            f"lowest gate threshold of {driven.channel.reference} is not known",
            'threshold="0.5 V" behind gate, from its data sheet',
        )
    state, drive = fed_span(circuit, supply_of(circuit, pin), pin)
    wishes = dict(given)
    if "peak_current" not in wishes:
        wishes["peak_current"] = circuit.need(pin, "pin_current_max").value
    inputs = Gate(drive=drive, pin_resistance=pin_ohms(circuit, pin), **wishes)  # type: ignore[arg-type]
    answer = size(inputs)
    after, changes, chosen = circuit, [], []
    for each in answer.chosen:
        reference = driven.hold if each.name == HOLD else driven.series
        kept = _kept(circuit, reference, each)
        chosen.append(kept)
        if reference is None:
            changes.append(Change("", "", kept.shown))
        else:
            after, change = changed(after, reference, kept)
            changes.append(change)
    answer = size(inputs, tuple(chosen))
    solved = (_said(after, driven, state),)
    return Sized(driven.channel.label, answer, tuple(changes), solved)


def _kept(circuit: Circuit, reference: str | None, chosen: Chosen) -> Chosen:
    """Return what is fitted where it is on the right side of its limit and near enough to it."""
    fitted = circuit.view(Values).of_part.get(reference or "")
    if fitted is None:
        return chosen
    ratio = fitted.value / chosen.wanted
    if chosen.name == HOLD:
        ratio = 1.0 / ratio
    within = 1.0 - 1e-9 <= ratio <= _WITHIN[chosen.name]
    return chosen._replace(value=fitted.value, series="as fitted") if within else chosen


def _said(after: Circuit, driven: _Driven, state: State) -> str:
    """Solve the gate while its pin drives it on."""
    p_channel = is_p_channel(after, driven.channel.reference) or False
    drive = Drive(driven.pin.reference, driven.pin_node, not p_channel)
    solved = after.view(Islands).solve(state, [driven.gate, driven.pin_node], [drive])
    volts = solved.voltage(driven.gate)[0]
    amps = solved.through(drive)[0]
    return f"gate at {show(volts, 'V')} while on, fresh; the pin carries {show(amps, 'A')} then"
