"""View: the cells that feed the board, and how their voltage falls as they are used."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Self

from boardvet.board import Part
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.values import BomLines
from boardvet.errors import MissingFact
from boardvet.facts.cell import CellType, cell_type, find_cell
from boardvet.facts.chemistry import Chemistry, chemistry
from boardvet.intent import StatedCell
from boardvet.known import Known
from boardvet.physics.cell import CellCurve, in_parallel, in_series, open_circuit_voltage
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["MOMENTS", "Cell", "Cells"]

MOMENTS: tuple[float, ...] = tuple(step / 20 for step in range(21))
"""Shares of charge used at which voltages are compared, fresh to empty."""

_BATTERY_WORDS = re.compile(r"batt?(ery)?([ _+-]|\d|$)|lipo|li-?ion|akku|accu", re.IGNORECASE)


@dataclass(frozen=True)
class Cell:
    """One cell or holder, as a subject.

    Parameters
    ----------
    reference : str
        The holder, or the connector that the battery is plugged into.
    plus, minus : str or None
        Nodes of its poles.
    designation : str
        What it is, "" where unknown.
    chemistry : Chemistry or None
        None where unknown: asking `need_chemistry` then ends the subject.
    type : CellType or None
        What is known of the size.
    series, parallel : int
        Cells inside the holder.
    source : str
        Where the type was read.
    stated : StatedCell or None
        What the intent page says of it.
    """

    reference: str
    plus: str | None
    minus: str | None
    designation: str
    chemistry: Chemistry | None
    type: CellType | None
    series: int
    parallel: int
    source: str
    stated: StatedCell | None = None

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "cell"

    @property
    def label(self) -> str:
        """Reference and designation."""
        return f"{self.reference} ({self.designation})" if self.designation else self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The holder."""
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes of its poles."""
        return tuple(node for node in (self.plus, self.minus) if node is not None)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Cell]:
        """Return the cells of the board."""
        return circuit.view(Cells).all

    def need_chemistry(self) -> Chemistry:
        """Return the chemistry, or end the subject as undetermined."""
        if self.chemistry is None:
            raise MissingFact(
                self.reference,
                "cell",
                f"which cell {self.reference} holds is not known",
                f"cell: {{part: {self.reference}, type: CR2032}}   # the type you will fit",
            )
        return self.chemistry

    @property
    def curve(self) -> CellCurve:
        """Open-circuit voltage and resistance of the whole holder over the charge used."""
        curve = self._single_curve()
        if self.series > 1:
            curve = in_series(curve, self.series)
        return in_parallel(curve, self.parallel) if self.parallel > 1 else curve

    def _single_curve(self) -> CellCurve:
        chemical = self.need_chemistry()
        curve = self.type.curve if self.type is not None else chemical.curve
        stated = self.stated
        if stated is None or (stated.voltage is None and stated.resistance is None):
            return curve
        if stated.voltage is not None:
            points = tuple((point.at or 0.0, point.value) for point in stated.voltage.value)
            curve = replace(curve, voltage_points=points)
        if stated.resistance is not None:
            points = tuple((point.at or 0.0, point.value) for point in stated.resistance.value)
            curve = replace(curve, resistance_points=points)
        return curve

    @property
    def curve_source(self) -> str:
        """Where the curve comes from."""
        if self.stated is not None and self.stated.voltage is not None:
            return self.stated.voltage.source
        return self.type.curve_source if self.type else self.need_chemistry().curve_source

    @property
    def resistance_source(self) -> str:
        """Where the resistance comes from."""
        if self.stated is not None and self.stated.resistance is not None:
            return self.stated.resistance.source
        known = self.type or self.need_chemistry()
        return known.resistance_source

    def voltages(self) -> tuple[float, ...]:
        """Return the open-circuit voltage at each of `MOMENTS`, in volts."""
        curve = self.curve
        return tuple(open_circuit_voltage(curve, used) for used in MOMENTS)

    def highest(self) -> Known[float]:
        """Return the highest voltage that a fresh holder can show, in volts."""
        known = self.type or self.need_chemistry()
        fresh = self.voltages()[0]
        if self.stated is not None and self.stated.voltage is not None:
            return Known(fresh, "V", self.stated.voltage.source)
        highest = known.highest_voltage
        return Known(max(fresh, highest.value * self.series), "V", highest.source)


@dataclass(frozen=True)
class Cells:
    """The fitted cells of the board, in its order."""

    all: tuple[Cell, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Recognise the cells from intent, netlist and BOM."""
        found = [_cell(circuit, reference) for reference in _holders(circuit)]
        return cls(tuple(found))

    def need_any(self) -> tuple[Cell, ...]:
        """Return the cells, or end the subject as undetermined where there is none."""
        if not self.all:
            raise MissingFact(
                "board",
                "cell",
                "no cell was found on the board",
                "cell: {part: BT1, type: CR2032}   # the holder or connector, and the type fitted",
            )
        return self.all


def _holders(circuit: Circuit) -> Iterator[str]:
    kinds = circuit.view(Kinds)
    stated = [ref for cell in circuit.intent.cells for ref in cell.parts]
    yield from dict.fromkeys(
        list(kinds.fitted_of(Kind.CELL))
        + [ref for ref in stated if ref in kinds.fitted]
        + [ref for ref in kinds.fitted_of(Kind.CONNECTOR) if _is_battery_connector(circuit, ref)]
    )


def _is_battery_connector(circuit: Circuit, reference: str) -> bool:
    """Tell whether a two-pole connector says that a battery is plugged in."""
    part = circuit.board.parts[reference]
    nets = {pin.net for pin in part.pins if pin.net is not None}
    grounds, nodes = circuit.view(Grounds), circuit.view(Nodes)
    live = [net for net in nets if nodes.node_of[net] not in grounds]
    if len(live) != 1 or not 1 <= len(nets) - len(live) <= 2:
        return False
    words = f"{part.value} {part.reference} {part.name}"
    return bool(_BATTERY_WORDS.search(words) or _BATTERY_WORDS.search(live[0].rpartition("/")[2]))


def _cell(circuit: Circuit, reference: str) -> Cell:
    part = circuit.board.parts[reference]
    plus, minus = _poles(circuit, part)
    stated = next((c for c in circuit.intent.cells if reference in c.parts), None)
    if stated is None and len(circuit.intent.cells) == 1 and not circuit.intent.cells[0].parts:
        stated = circuit.intent.cells[0]
    found, series, source = _recognise(circuit, part)
    chemical = found.chemistry if found else None
    designation = found.designation if found else ""
    if stated is not None and stated.type is not None:
        source, designation = stated.type.source, stated.type.value
        named = find_cell(stated.type.value)
        found = named[0] if named else cell_type(stated.type.value)
        series = named[1] if named else 1
        chemical = found.chemistry if found else chemistry(stated.type.value)
    return Cell(
        reference=reference,
        plus=plus,
        minus=minus,
        designation=designation,
        chemistry=chemical,
        type=found,
        series=int(stated.series.value) if stated and stated.series else series,
        parallel=int(stated.parallel.value) if stated and stated.parallel else 1,
        source=source,
        stated=stated,
    )


def _recognise(circuit: Circuit, part: Part) -> tuple[CellType | None, int, str]:
    """Look for a designation in the netlist's texts, then in the BOM line."""
    place = f"netlist {part.place.file}:{part.place.line}"
    for text in (part.value, part.footprint.rpartition(":")[2], part.name, part.description):
        found = find_cell(text)
        if found is not None:
            return (*found, place)
    line = circuit.view(BomLines).of_part.get(part.reference)
    if line is not None:
        for text in (line.value, line.part_number, line.description, line.footprint):
            found = find_cell(text)
            if found is not None:
                return (*found, f"bom {line.place.file}:{line.place.line}")
    return None, 1, ""


def _poles(circuit: Circuit, part: Part) -> tuple[str | None, str | None]:
    """Return the nodes of plus and minus: by pin names, else pin 1 is plus (common practice)."""
    roles, nodes, grounds = circuit.view(PinRoles), circuit.view(Nodes), circuit.view(Grounds)
    plus = nodes.of_net(roles.net_of(part.reference, Role.POSITIVE, Role.SUPPLY, Role.BATTERY))
    minus = nodes.of_net(roles.net_of(part.reference, Role.NEGATIVE, Role.GROUND))
    if plus is not None and minus is not None:
        return plus, minus
    live = [nodes.node_of[pin.net] for pin in part.pins if pin.net is not None]
    others = list(dict.fromkeys(live))
    if minus is None:
        minus = next((node for node in others if node in grounds and node != plus), None)
    if plus is None:
        plus = next((node for node in others if node != minus), None)
    if minus is None:
        minus = next((node for node in others[1:] if node != plus), None)
    return plus, minus
