"""The set resistors of the chargers on a board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import cast

from boardvet.circuit.charging import Charger, Charging
from boardvet.circuit.handle import Circuit
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.sizing._calculation import Unsizable
from boardvet.sizing._values import MARGIN
from boardvet.sizing.charge import Charge, size
from boardvet.sizing.on_board._outcome import Outcome, Sized, changed, tried

__all__ = ["GIVEN", "find"]

GIVEN = ("current", "margin")


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the resistor of each charger."""
    for charger in Charger.on(circuit):
        yield from tried(charger.label, lambda c=charger: _sized(circuit, given, c))  # type: ignore[misc]


def _sized(circuit: Circuit, given: Mapping[str, object], charger: Charger) -> Outcome:
    setting = circuit.view(Charging).setting(charger)
    if setting.gain is None or len(setting.resistors) != 1 or setting.switched:
        raise Unsizable(
            f"no single resistor sets its current of {show(setting.highest.value, 'A')}",
            "size it with 'boardvet size charge' and part it as you like",
        )
    current = given.get("current")
    if not isinstance(current, float):
        raise MissingFact(
            charger.reference,
            "charge_current",
            f"the current that {charger.reference} is meant to charge with is not known",
            'current="100 mA" behind charge, from the data sheet of the cell',
        )
    _within(circuit, charger, current)
    capacity = _capacity(circuit, charger)
    margin = cast("float", given.get("margin", MARGIN))
    inputs = Charge(
        current=current, program_gain=setting.gain.value, capacity=capacity, margin=margin
    )
    answer = size(inputs)
    after, change = changed(circuit, setting.resistors[0], answer.chosen[0])
    reached = after.view(Charging).setting(charger).highest.value
    solved = (f"{charger.reference} charges with {show(reached, 'A')}",)
    return Sized(charger.label, answer, (change,), solved)


def _within(circuit: Circuit, charger: Charger, current: float) -> None:
    """Refuse a current that the charger cannot be set to."""
    most, least = (
        cast("Known[float] | None", circuit.known(charger.reference, key))
        for key in ("current_max", "charge_current_min")
    )
    if most is not None and current > most.value:
        raise Unsizable(
            f"{show(current, 'A')} is over the {show(most.value, 'A')} that it charges with",
            "want less, or take another charger",
        )
    if least is not None and current < least.value:
        raise Unsizable(
            f"{show(current, 'A')} is under the {show(least.value, 'A')} that it can be set to",
            "take a charger for smaller cells",
        )


def _capacity(circuit: Circuit, charger: Charger) -> float | None:
    """Return the smallest capacity of the cells that it charges, None where it is not known."""
    try:
        cells = circuit.view(Charging).cells(charger)
    except MissingFact:
        return None
    known = [cell.capacity.value for cell in cells if cell.capacity is not None]
    return min(known, default=None)
