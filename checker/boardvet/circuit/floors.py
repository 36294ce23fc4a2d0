"""View: limits, the voltages below which a part of the board no longer works."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple, Self, cast

from boardvet.circuit.cells import Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SuppliedPart, node_label
from boardvet.circuit.windows import has_own_range, least_supply
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Floor", "Floors"]


class Floor(NamedTuple):
    """The lowest voltage of a node on which a part works.

    Parameters
    ----------
    reference : str
        The part.
    node, rail : str
        The node that feeds it, and its name.
    volts : Known of float
        [V]
    why : str
        What happens below it: "browns out", "needs", "no longer regulates".
    """

    reference: str
    node: str
    rail: str
    volts: Known[float]
    why: str

    @property
    def reason(self) -> str:
        """What ends the run there, in words."""
        return f"{self.reference} {self.why} {show(self.volts.value, 'V')} on {self.rail}"


@dataclass(frozen=True)
class Floors:
    """The floors of the board, and the parts whose floor nobody knows."""

    all: tuple[Floor, ...]
    unknown: tuple[str, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Take the higher of least supply and brown-out of every part that a cell feeds."""
        found: dict[tuple[str, str], Floor] = {}
        unknown: list[SuppliedPart] = []
        for part in SuppliedPart.on(circuit):
            if not _on_cell(circuit, part) or part.part_kind is Kind.CHARGER:
                continue
            if part.part_kind is Kind.REGULATOR:
                continue
            try:
                floor = _floor(circuit, part)
            except MissingFact:
                unknown.append(part)
                continue
            found.setdefault((part.reference, part.node), floor)
        floors = list(found.values())
        handed_on = {node for each in circuit.view(Converters).all for node in each.inputs}
        judged = {floor.node for floor in floors} | (handed_on - {part.node for part in unknown})
        floors += list(_regulators(circuit, judged))
        return cls(tuple(floors), tuple(dict.fromkeys(part.reference for part in unknown)))


def _on_cell(circuit: Circuit, part: SuppliedPart) -> bool:
    if all(pin.role is Role.BACKUP_SUPPLY for pin in part.pins):
        return False
    cells = {cell.reference for cell in circuit.view(Cells).all}
    feeding = circuit.view(Feeding)
    states = [fed for _, fed in feeding.states_of(part.node)]
    own = any(fed.path[-1:] == (part.reference,) for fed in states)
    return not own and any(cells & set(fed.sources) for fed in states)


def _floor(circuit: Circuit, part: SuppliedPart) -> Floor:
    if has_own_range(circuit, part):
        raise circuit.facts.missing(part.reference, "supply")
    least = least_supply(circuit, part.reference).volts
    brown_out = cast("Known[float] | None", circuit.known(part.reference, "brown_out"))
    if brown_out is not None and brown_out.value >= least.value:
        return Floor(part.reference, part.node, part.rail, brown_out, "resets below")
    return Floor(part.reference, part.node, part.rail, least, "needs")


def _regulators(circuit: Circuit, judged: set[str]) -> Iterator[Floor]:
    """Yield the floor of regulators: the output where nothing behind it says what it needs.

    A regulator that another one feeds works on in its drop-out; what is behind it says its needs.
    A regulator that steps up stops where its own least input voltage is passed.
    """
    for converter in circuit.view(Converters).all:
        if converter.charger or not converter.inputs or not converter.outputs:
            continue
        reference, conversion = converter.reference, converter.conversion
        source, target = converter.inputs[0], converter.outputs[0]
        if conversion.steps_up:
            supply = circuit.known(reference, "supply")
            if supply is not None:
                lowest = least_supply(circuit, reference).volts
                yield Floor(reference, source, node_label(circuit, source), lowest, "needs")
        if target not in judged and conversion.output is not None:
            low = conversion.output.value.low
            held = Known(low * _IN_REGULATION, "V", conversion.output.source)
            yield Floor(reference, target, node_label(circuit, target), held, "falls below")


_IN_REGULATION = 0.98
"""Drop-out is where the output has fallen by 2 %: Microchip DS22049E (MCP1703), its definition."""
