"""View: the cells that feed the board, and how their voltage falls as they are used."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

from boardvet.board import Part
from boardvet.circuit.cell import MOMENTS, Cell
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_supply_name, plain_net_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.values import BomLines
from boardvet.errors import MissingFact
from boardvet.facts.cell import CellType, capacity_in, cell_type, find_cell
from boardvet.facts.chemistry import chemistry
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["MOMENTS", "Cell", "Cells"]

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
    printed = _printed_capacity(circuit, part)
    found, series, source = _recognise(circuit, part)
    chemical = found.chemistry if found else None
    designation = found.designation if found else ""
    if stated is not None and stated.type is not None:
        drawn = found
        source, designation = stated.type.source, stated.type.value
        named = find_cell(stated.type.value)
        found = named[0] if named else cell_type(stated.type.value)
        series = named[1] if named else 1
        chemical = found.chemistry if found else chemistry(stated.type.value)
        if drawn is not None and (found is None or found.designation != drawn.designation):
            printed = None  # the charge of another cell than the one stated
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
        printed=printed,
        plugged=circuit.view(Kinds).kind(reference) is Kind.CONNECTOR,
    )


def _recognise(circuit: Circuit, part: Part) -> tuple[CellType | None, int, str]:
    """Look for a designation where people write one.

    What is bought (value, line of the BOM) says more than what is drawn: a holder's footprint
    names a size, and a rechargeable cell of that size fits too.
    """
    texts = _texts(circuit, part)
    line = circuit.view(BomLines).of_part.get(part.reference)
    written = (part.value, line.value if line is not None else "")
    stated = [voltage for text in written for voltage in _voltages_in(text)]
    for text, source in texts:
        found = find_cell(text)
        if found is not None:
            return (*found, source) if _fits(*found, stated) else (None, 1, "")
    return None, 1, ""


def _texts(circuit: Circuit, part: Part) -> list[tuple[str, str]]:
    """Return where a cell may be named, the likeliest first, each with its place."""
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
    return texts


def _printed_capacity(circuit: Circuit, part: Part) -> Known[float] | None:
    """Return the charge that a text of the part states."""
    for text, source in _texts(circuit, part):
        charge = capacity_in(text)
        if charge is not None:
            return Known(charge, "C", source)
    return None


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
