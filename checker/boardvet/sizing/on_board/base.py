"""The base resistors of the bipolar transistors on a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple, cast

from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.pins import PinRef
from boardvet.circuit.strings import Strings
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.physics.junction import SILICON_DIODE, junction_from_points
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.sizing.base import Base, size
from boardvet.sizing.on_board._nodes import driver_of, fed_span, pin_ohms, supply_of
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, tried

__all__ = ["GIVEN", "find"]

GIVEN = ("collector_current", "base_emitter", "gain", "pin_current_max", "margin")


class _Driven(NamedTuple):
    """A transistor with the resistor between its base and the pin that drives it."""

    collector: Element
    resistor: Element
    pin: PinRef


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the base resistor of each transistor that a pin drives through one."""
    for driven in _driven(circuit):
        subject = driven.collector.label
        yield from tried(subject, lambda d=driven: _sized(circuit, given, d))  # type: ignore[misc]


def _driven(circuit: Circuit) -> Iterator[_Driven]:
    elements = circuit.view(Elements)
    for collector in elements.of_kind(ElementKind.COLLECTOR):
        if collector.control is None:
            continue
        for resistor in elements.at(collector.control, ElementKind.RESISTOR):
            pin = driver_of(circuit, resistor.other(collector.control))
            if pin is not None:
                yield _Driven(collector, resistor, pin)
                break


def _sized(circuit: Circuit, given: Mapping[str, object], driven: _Driven) -> Outcome:
    pin = driven.pin.reference
    _, drive = fed_span(circuit, supply_of(circuit, pin), pin)
    wishes = dict(given)
    if "collector_current" not in wishes:
        wishes["collector_current"] = _switched(circuit, driven.collector)
    if "pin_current_max" not in wishes:
        most = circuit.known(pin, "pin_current_max")
        wishes["pin_current_max"] = None if most is None else cast("float", most.value)
    inputs = Base(drive=drive, pin_resistance=pin_ohms(circuit, pin), **wishes)  # type: ignore[arg-type]
    answer = size(inputs)
    reference = driven.resistor.reference
    after, change = changed(circuit, reference, answer.chosen[0])
    solved = (_said(after, inputs, reference),)
    return Sized(driven.collector.label, answer, (change,), solved)


def _switched(circuit: Circuit, collector: Element) -> float:
    """Return the most that the lights behind a transistor let through it, solved."""
    found = []
    for string in circuit.view(Strings).all:
        if collector in string.switches():
            light = circuit.view(Lighting).worst(string)
            if light is not None:
                found.append(abs(light.solution.resistor(collector)[0]))
    if not found or max(found) <= 0:
        raise MissingFact(
            collector.reference,
            "current",
            f"the current that {collector.reference} switches is not known",
            'collector_current="20 mA" behind base',
        )
    return max(found)


def _said(after: Circuit, inputs: Base, reference: str) -> str:
    """Solve pin, resistor and base, fresh and at the end of the cell."""
    known = resistance(after, reference)
    if known is None:
        raise missing_value(reference)
    fresh, end = _base_currents(inputs.drive, inputs.pin_resistance + known.value)
    gain = inputs.collector_current / end
    return (
        f"{show(fresh, 'A')} into the base fresh, {show(end, 'A')} at the end, a forced gain of "
        f"{gain:.3g} there (a typical base)"
    )


def _base_currents(drive: Span, ohms: float) -> tuple[float, float]:
    from boardvet.physics.network import Junctions, Network, Resistors, Sources, solve

    base = junction_from_points((), SILICON_DIODE)
    solution = solve(
        Network(
            nodes=3,
            sources=Sources([1], [0], [[drive.high], [drive.low]], [0.0]),
            resistors=Resistors([1], [2], [ohms]),
            junctions=Junctions([2], [0], *([value] for value in base)),
        )
    ).require()
    fresh, end = solution.resistor_currents[:, 0]
    return float(fresh), float(end)
