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
from boardvet.circuit.names import is_supply_name, plain_net_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.values import BomLines
from boardvet.errors import MissingFact
from boardvet.facts.cell import CellType, cell_type, find_cell
from boardvet.facts.chemistry import Chemistry, chemistry
from boardvet.intent import StatedCell
from boardvet.known import Known
from boardvet.physics.cell import (
    CellCurve,
    CurvePoints,
    in_parallel,
    in_series,
    open_circuit_voltage,
)
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["MOMENTS", "Cell", "Cells"]

MOMENTS: tuple[float, ...] = tuple(step / 20 for step in range(21))
"""Shares of charge used at which voltages are compared, fresh to empty."""

_BATTERY_WORDS = re.compile(
    r"(?<![a-z])batt?(ery|erie)?([ _+-]|\d|$)|battery|lipo|li-?ion|akku|accu(?!r)|coin_?cell",
    re.IGNORECASE,
)
_BATTERY_NET = re.compile(
    r"(?<![a-z])[+-]?v?_?batt?(ery)?(?![a-z])|lipo|li-?ion|akku", re.IGNORECASE
)
_NOT_ITS_POLE = re.compile(
    r"sens|meas|mon|adc|div|stat|low|_?en(able)?$|led|chg|charge|temp|ntc|_th\b|ok$|good|lvl|level",
    re.IGNORECASE,
)
"""What a net named for the battery is where it is not its pole."""

_VOLTS = re.compile(r"(?<![\dA-Za-z.,])(\d{1,2}(?:[.,]\d{1,2})?)\s?V(?![A-Za-z\d])")


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
    plugged : bool
        True if the battery comes by a connector.
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
    plugged: bool = False

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
            example = "LiPo" if self.plugged else "CR2032"
            raise MissingFact(
                self.reference,
                "cell",
                f"which cell {self.reference} holds is not known",
                f"cell: {{part: {self.reference}, type: {example}}}   # the type you will fit",
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

    def rest_on_curve(self, circuit: Circuit, *, resistance: bool = False) -> None:
        """Note the curve of the cell as an assumption where it is one.

        Parameters
        ----------
        circuit : Circuit
            Whose assumptions are noted.
        resistance : bool
            True where the verdict rests on the resistance as well.

        Raises
        ------
        MissingFact
            Where no default may be used and the curve is one.
        """
        self._note(circuit, "voltage", self.curve_source, _ends(self.curve.voltage_points), "V")
        if resistance:
            points = self.curve.resistance_points
            self._note(circuit, "resistance", self.resistance_source, _ends(points), "ohm")

    def _note(self, circuit: Circuit, key: str, source: str, value: str, unit: str) -> None:
        if not source.startswith("assumed"):
            return
        if circuit.assume_nothing:
            example = "3.2 V at 0 % and 2.0 V at 100 %" if key == "voltage" else "15 ohm"
            raise MissingFact(
                self.reference,
                key,
                f"how the {key} of {self.reference} changes as it empties is only assumed",
                f"cell: {{part: {self.reference}, {key}: {example}}}   # from its data sheet",
            )
        circuit.assume(f"{key} of {self.label}, fresh to empty", value, unit, source)

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


def _ends(points: CurvePoints) -> str:
    """Return the first and the last value of a curve in words."""
    return f"{points[0][1]:.3g} to {points[-1][1]:.3g}"


@dataclass(frozen=True)
class Cells:
    """The fitted cells of the board, in its order."""

    all: tuple[Cell, ...]
    inlet: str = ""
    """Of a board without a cell: what looks most like the way by which it is fed."""

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Recognise the cells from intent, netlist and BOM."""
        found = [_cell(circuit, reference) for reference in _holders(circuit)]
        return cls(tuple(found), "" if found else _inlet(circuit))

    def need_any(self) -> tuple[Cell, ...]:
        """Return the cells, or end the subject as undetermined where there is none."""
        if not self.all:
            raise MissingFact(
                "board",
                "cell",
                "no cell was found on the board, and nothing else that feeds it",
                f"cell: {{part: {self.inlet}, type: CR2032}}   # or sources: {{{self.inlet}:"
                " {voltage: 5 V}}, if no cell feeds it"
                if self.inlet
                else "cell: {type: CR2032}   # draw the holder or connector, then state its type",
            )
        return self.all


def _holders(circuit: Circuit) -> Iterator[str]:
    kinds = circuit.view(Kinds)
    stated = [ref for cell in circuit.intent.cells for ref in cell.parts]
    yield from dict.fromkeys(
        list(kinds.fitted_of(Kind.CELL))
        + [ref for ref in stated if ref in kinds.fitted]
        + list(_battery_connectors(circuit))
    )


def _inlet(circuit: Circuit) -> str:
    """Return the fitted connector that may feed the board: of two poles, else with a supply."""
    kinds, nodes, grounds = circuit.view(Kinds), circuit.view(Nodes), circuit.view(Grounds)
    connectors = kinds.fitted_of(Kind.CONNECTOR, Kind.USB_CONNECTOR)
    for reference in (*connectors, *kinds.fitted_of(Kind.UNKNOWN)):
        if _live_pole(circuit, reference) is not None:
            return reference
    for reference in connectors:
        nets = [p.net for p in circuit.board.parts[reference].pins if p.net is not None]
        names = [plain_net_name(circuit.board.nets[net].name) for net in nets]
        grounded = len(nets) <= 4 and any(nodes.node_of[net] in grounds for net in nets)
        if grounded and any(map(is_supply_name, names)):
            return reference
    return ""


def _battery_connectors(circuit: Circuit) -> Iterator[str]:
    """Yield the connectors that a battery is plugged into.

    The words on the part count first; then a net named for the battery, or a charger's battery
    pin, on a connector of two poles. Of several that only their net names, where no holder and
    no worded connector feeds it, the first counts: the others hand the supply on.
    """
    kinds, nodes = circuit.view(Kinds), circuit.view(Nodes)
    connectors = kinds.fitted_of(Kind.CONNECTOR)
    worded = [ref for ref in connectors if _says_battery(circuit, ref)]
    yield from worded
    fed = {
        nodes.node_of[pin.net]
        for ref in (*worded, *kinds.fitted_of(Kind.CELL))
        for pin in circuit.board.parts[ref].pins
        if pin.net is not None
    }
    for reference in connectors:
        live = _live_pole(circuit, reference)
        if live is not None and nodes.node_of[live] not in fed and _is_of_battery(circuit, live):
            fed.add(nodes.node_of[live])
            yield reference


def _says_battery(circuit: Circuit, reference: str) -> bool:
    part = circuit.board.parts[reference]
    words = f"{part.value} {part.reference} {part.name} {part.footprint.rpartition(':')[2]}"
    nets = {pin.net for pin in part.pins if pin.net is not None}
    return 2 <= len(nets) <= 3 and bool(_BATTERY_WORDS.search(words))


def _live_pole(circuit: Circuit, reference: str) -> str | None:
    """Return the net of the one pole of a connector that is not ground, None if it is not so."""
    grounds, nodes = circuit.view(Grounds), circuit.view(Nodes)
    part = circuit.board.parts[reference]
    nets = {pin.net for pin in part.pins if pin.net is not None}
    live = [net for net in nets if nodes.node_of[net] not in grounds]
    return live[0] if len(live) == 1 and 1 <= len(nets) - len(live) <= 2 else None


def _is_of_battery(circuit: Circuit, net: str) -> bool:
    """Tell whether a net is named for the battery, or leads to a charger's battery pin."""
    name = circuit.board.nets[net].name.rpartition("/")[2]
    if circuit.board.nets[net].named and _BATTERY_NET.search(name):
        return not _NOT_ITS_POLE.search(name)
    nodes = circuit.view(Nodes)
    beyond = {nodes.node_of[net], *_behind_contacts(circuit, net)}
    return any(node in beyond for node in _charged_nodes(circuit))


def _behind_contacts(circuit: Circuit, net: str) -> Iterator[str]:
    """Yield the nodes behind a switch, fuse or jumper at a net."""
    kinds, roles, nodes = circuit.view(Kinds), circuit.view(PinRoles), circuit.view(Nodes)
    for key in nodes.nets_of[nodes.node_of[net]]:
        for pin in roles.on_net[key]:
            if kinds.kind(pin.reference) in {Kind.SWITCH, Kind.FUSE, Kind.JUMPER}:
                others = circuit.board.parts[pin.reference].pins
                yield from (nodes.node_of[p.net] for p in others if p.net is not None)


def _charged_nodes(circuit: Circuit) -> Iterator[str]:
    roles, nodes = circuit.view(PinRoles), circuit.view(Nodes)
    for reference in circuit.view(Kinds).fitted_of(Kind.CHARGER):
        for pin in roles.pins(reference, Role.BATTERY):
            if pin.pin.net is not None:
                yield nodes.node_of[pin.pin.net]


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
        plugged=circuit.view(Kinds).kind(reference) is Kind.CONNECTOR,
    )


def _recognise(circuit: Circuit, part: Part) -> tuple[CellType | None, int, str]:
    """Look for a designation where people write one.

    What is bought (value, line of the BOM) says more than what is drawn: a holder's footprint
    names a size, and a rechargeable cell of that size fits too.
    """
    place = f"netlist {part.place.file}:{part.place.line}"
    texts = [(part.value, place)]
    line = circuit.view(BomLines).of_part.get(part.reference)
    if line is not None:
        bought = f"bom {line.place.file}:{line.place.line}"
        texts += [(text, bought) for text in (line.value, line.part_number, line.description)]
    footprint = part.footprint.rpartition(":")[2]
    texts += [(text, place) for text in (part.name, part.description, footprint)]
    if line is not None:
        texts.append((line.footprint, bought))
    written = (part.value, line.value if line is not None else "")
    stated = [voltage for text in written for voltage in _voltages_in(text)]
    for text, source in texts:
        found = find_cell(text)
        if found is not None:
            return (*found, source) if _fits(*found, stated) else (None, 1, "")
    return None, 1, ""


def _voltages_in(text: str) -> Iterator[float]:
    for match in _VOLTS.finditer(text):
        yield float(match[1].replace(",", "."))


def _fits(cell: CellType, count: int, stated: list[float]) -> bool:
    """Tell whether the voltages written beside a cell can be its own: "2032 4.2V" is no CR2032."""
    least, most = cell.end_voltage.value * 0.9, cell.highest_voltage.value * 1.05
    return all(least <= volts / n <= most for volts in stated for n in _counts(volts, most, count))


def _counts(volts: float, most: float, count: int) -> tuple[int, ...]:
    """Return by how many cells to divide: a voltage may be that of one or of all."""
    return (1,) if count == 1 or volts <= most else (count,)


def _poles(circuit: Circuit, part: Part) -> tuple[str | None, str | None]:
    """Return the nodes of plus and minus: by pin names, else pin 1 is plus (common practice)."""
    roles, nodes, grounds = circuit.view(PinRoles), circuit.view(Nodes), circuit.view(Grounds)
    plus = nodes.of_net(roles.net_of(part.reference, Role.POSITIVE, Role.SUPPLY, Role.BATTERY))
    minus = nodes.of_net(roles.net_of(part.reference, Role.NEGATIVE, Role.GROUND))
    if plus is not None and minus is not None:
        return plus, minus
    live = {pin.net: nodes.node_of[pin.net] for pin in part.pins if pin.net is not None}
    others = list(dict.fromkeys(live.values()))
    if minus is None:
        minus = next((node for node in others if node in grounds and node != plus), None)
    if plus is None:
        named = (n for key, n in live.items() if _is_named_pole(circuit, key) and n != minus)
        plus = next(named, None) or next((node for node in others if node != minus), None)
    if minus is None:
        minus = next((node for node in others if node != plus), None)
    return plus, minus


def _is_named_pole(circuit: Circuit, net: str) -> bool:
    name = circuit.board.nets[net].name.rpartition("/")[2]
    return bool(_BATTERY_NET.search(name)) and not _NOT_ITS_POLE.search(name)
