"""Collects what current can reach and turns it into the arrays of a network."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple, cast

from boardvet.circuit import sources as board_sources
from boardvet.circuit.cells import MOMENTS, Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import JUNCTIONS, Element, ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, Drive, Island, Load, Pass
from boardvet.circuit.junctions import ROOM_TEMPERATURE, PartJunctions
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.return_path import return_path
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.quantity.statement import Points
from boardvet.vocabulary.roles import Role

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats
    from boardvet.physics.network import Junctions, Loads, Resistors, Sources

__all__ = ["Builder", "Shape"]

CONTACT_RESISTANCE = 0.05
"""Closed contacts, ferrites and fuses: an assumption of no weight beside a cell's ohms. [ohm]"""

CHANNEL_RESISTANCE = 0.1
"""A FET that is on and whose on-resistance nobody stated (assumption). [ohm]"""

COLLECTOR_RESISTANCE = 10.0
"""A saturated small transistor, 200 mV at 20 mA (assumption after common data sheets). [ohm]"""

_LEAST_RESISTANCE = 1e-3
"""Pins and channels that are stated as 0 Ω, so that their current is still known. [ohm]"""


class Shape(NamedTuple):
    """What lies in an island, whatever the values: the nodes reached, and what is alive there."""

    reached: frozenset[str]
    drives: tuple[Drive, ...]
    live: frozenset[str]
    resistive: tuple[Element, ...]
    curved: tuple[Element, ...]


class Builder:
    """Collects one island and turns it into numbers.

    `held` may be added to before `build`: rails held at a voltage, by node.
    """

    def __init__(
        self,
        circuit: Circuit,
        conditions: Conditions,
        used: Sequence[float],
        numbers: dict[str, int] | None = None,
        shapes: dict[object, Shape] | None = None,
    ) -> None:
        self.circuit = circuit
        self.shapes: dict[object, Shape] = {} if shapes is None else shapes
        self.conditions = conditions
        self.state = conditions.state
        self.used = used
        self.elements = circuit.view(Elements)
        self.grounds = circuit.view(Grounds)
        feeding = circuit.view(Feeding)
        self.fed = feeding.at(self.state)
        self.channels_on = feeding.conducting(self.state)
        self.held: dict[str, float] = dict(conditions.hold or {})
        self._hold_sources()
        if conditions.hold is None:
            self._hold_outputs()
        self.cells = [
            cell
            for cell in circuit.view(Cells).all
            if cell.reference in self.state.sources and cell.plus and cell.minus
        ]
        self.drives: tuple[Drive, ...] = ()
        self.passes: tuple[Pass, ...] = ()
        self.loads: tuple[Load, ...] = ()
        self.numbers: dict[str, int] = {} if numbers is None else numbers
        self.own: dict[str, int] = {}
        self.driven: Mapping[str, list[str]] = {}
        self.returning: frozenset[str] = frozenset()
        self.because: dict[str, str] = {}
        self._supplies: dict[str, str] = {}

    def build(self, seeds: Iterable[str]) -> Island:
        """Collect, number and fill in the values."""
        from boardvet.physics.network import Network

        shape = self._shape(tuple(dict.fromkeys(seeds)))
        reached, resistive, curved = shape.reached, shape.resistive, shape.curved
        self.drives = shape.drives
        self.passes = tuple(p for p in self.conditions.passes if {p.source, p.target} & reached)
        self.loads = tuple(load for load in self.conditions.loads if load.node in shape.live)
        for node in sorted(n for element in (*resistive, *curved) for n in (element.a, element.b)):
            self._number(node)
        resistors = self._resistors(resistive)
        junctions = self._junctions(curved)
        sources, source_columns = self._sources(reached)
        drawn = self._loads()
        network = Network(
            nodes=max(self.numbers.values(), default=0) + 1,
            resistors=resistors,
            sources=sources,
            junctions=junctions,
            loads=drawn,
        )
        after = len(resistive) + len(self.drives)
        return Island(
            network,
            self.own,
            reached,
            {element: column for column, element in enumerate(resistive)},
            {element: column for column, element in enumerate(curved)},
            source_columns,
            {drive: len(resistive) + i for i, drive in enumerate(self.drives)},
            {p.reference: after + i for i, p in enumerate(self.passes)},
            {load.reference: i for i, load in enumerate(self.loads)},
            tuple(self.because.items()),
        )

    def _shape(self, seeds: tuple[str, ...]) -> Shape:
        """Return what lies in the island; it is looked for once for the same conditions."""
        conditions = self.conditions
        key = (
            self.state,
            conditions.drives,
            frozenset(map(id, conditions.on)),
            frozenset(map(id, conditions.off)),
            frozenset(map(id, conditions.across)),
            tuple((p.reference, p.source, p.target) for p in conditions.passes),
            frozenset(self.held),
            frozenset(load.node for load in conditions.loads),
            seeds,
        )
        if key not in self.shapes:
            self.shapes[key] = self._looked_for(seeds)
        return self.shapes[key]

    def _looked_for(self, seeds: tuple[str, ...]) -> Shape:
        self.driven = self._driven()
        self.returning = return_path(self.circuit, self.state, self.cells)
        reached = self._reach(seeds)
        self.drives = tuple(d for d in self.conditions.drives if self._touches(d, reached))
        self.passes = tuple(p for p in self.conditions.passes if {p.source, p.target} & reached)
        collected = self._pruned(reached)
        live = self._live(reached, collected)
        inside = [e for e in collected if e.a in live or e.b in live]
        return Shape(
            frozenset(reached),
            self.drives,
            frozenset(live),
            tuple(e for e in inside if not _is_junction(e)),
            tuple(e for e in inside if _is_junction(e)),
        )

    def _live(self, reached: set[str], collected: Sequence[Element]) -> set[str]:
        """Return the nodes to which a source really leads; all others are without voltage."""
        joined: dict[str, list[str]] = {}
        pairs = [(element.a, element.b) for element in collected]
        pairs += [(each.source, each.target) for each in self.passes]
        pairs += [(d.node, self._supply_node(d)) for d in self.drives if d.high]
        for one, other in pairs:
            joined.setdefault(one, []).append(other)
            joined.setdefault(other, []).append(one)
        poles = [(cell.plus, cell.minus) for cell in self.cells]
        queue = [node for pair in poles if {*pair} & reached for node in pair if node is not None]
        queue += [node for node in self.held if node in reached]
        live: set[str] = set()
        while queue:
            node = queue.pop()
            if node not in live and node not in self.grounds:
                live.add(node)
                queue.extend(joined.get(node, ()))
        return live

    def _hold_sources(self) -> None:
        """Take what a plugged-in source shows as held."""
        for source in self.circuit.view(board_sources.Sources).besides_cells:
            if source.reference in self.state.sources:
                self._hold(source.node)

    def _hold_outputs(self) -> None:
        """Take the outputs of regulators as held."""
        for converter in self.circuit.view(Converters).all:
            for node in () if converter.charger else converter.outputs:
                self._hold(node)

    def _hold(self, node: str) -> None:
        """Hold a node in the middle of its span, or at its highest."""
        if node in self.fed and self.fed[node].missing is None:
            fed = self.fed[node]
            middle = (fed.low[0] + fed.high[0]) / 2.0
            self.held.setdefault(node, fed.highest if self.conditions.highest else middle)

    def _number(self, node: str) -> int:
        if node in self.grounds:
            return 0
        number = self.numbers.setdefault(node, len(self.numbers) + 1)
        self.own[node] = number
        return number

    def _reach(self, seeds: Iterable[str]) -> set[str]:
        """Return the nodes that current can reach, held rails and ground as borders."""
        reached: set[str] = set()
        queue = list(seeds)
        while queue:
            node = queue.pop()
            if node in reached or node in self.grounds:
                continue
            reached.add(node)
            if node in self.held:
                continue
            queue.extend(element.other(node) for element in self._carrying(node))
            queue.extend(self._across_cells(node))
            queue.extend(self._across_drives(node))
            queue.extend(self._across_passes(node))
        return reached

    def _across_cells(self, node: str) -> Iterator[str]:
        for cell in self.cells:
            if cell.plus == node and cell.minus is not None:
                yield cell.minus
            if cell.minus == node and cell.plus is not None:
                yield cell.plus

    def _across_drives(self, node: str) -> Iterator[str]:
        yield from self.driven.get(node, ())

    def _driven(self) -> Mapping[str, list[str]]:
        """Return what pins that drive high join: their nodes and the supplies of their parts."""
        joined: dict[str, list[str]] = {}
        for drive in self.conditions.drives:
            if drive.high:
                supply = self._supply_node(drive)
                joined.setdefault(drive.node, []).append(supply)
                joined.setdefault(supply, []).append(drive.node)
        return joined

    def _across_passes(self, node: str) -> Iterator[str]:
        for each in self.conditions.passes:
            if node == each.source:
                yield each.target
            if node == each.target:
                yield each.source

    def _touches(self, drive: Drive, reached: set[str]) -> bool:
        return drive.node in reached or (drive.high and self._supply_node(drive) in reached)

    def _carrying(self, node: str) -> Iterator[Element]:
        yield from self.elements.passing.get(node, ())
        for element in self.elements.switching.get(node, ()):
            if self._is_on(element):
                yield element

    def _is_on(self, element: Element) -> bool:
        """Tell whether a contact, channel or collector passes a current."""
        if element.kind is ElementKind.CONTACT:
            return self.state.is_closed(element)
        if element in self.conditions.on:
            return True
        return element.kind is ElementKind.CHANNEL and self._is_supply_path(element)

    def _is_supply_path(self, channel: Element) -> bool:
        if f"{channel.reference}{channel.name}" not in self.channels_on:
            return False
        ends = {channel.a, channel.b}
        if ends <= self.fed.keys():
            return channel not in self.conditions.off
        below = ends & self.returning
        return bool(below) and all(end in self.grounds for end in ends - below)

    def _pruned(self, reached: set[str]) -> list[Element]:
        """Drop, again and again, elements with an end on which nothing else hangs."""
        ends = [node for node in reached if node not in self.held]
        inside = {id(e): e for node in ends for e in self._carrying(node)}
        across = self.conditions.across
        for node in {node for element in across for node in (element.a, element.b)}:
            inside.update((id(e), e) for e in self._carrying(node) if e in across)
        anchored = set(self.held) | {drive.node for drive in self.drives}
        anchored.update(n for cell in self.cells for n in (cell.plus, cell.minus) if n)
        anchored.update(self._supply_node(d) for d in self.drives if d.high)
        anchored.update(load.node for load in self.conditions.loads)
        anchored.update(n for p in self.passes for n in (p.source, p.target))
        anchored.update(self.grounds.nodes)
        at: dict[str, dict[int, Element]] = {}
        for key, element in inside.items():
            at.setdefault(element.a, {})[key] = element
            at.setdefault(element.b, {})[key] = element
        loose = [node for node, hanging in at.items() if len(hanging) == 1]
        while loose:
            node = loose.pop()
            if node in anchored or len(at[node]) != 1:
                continue
            key, element = at[node].popitem()
            del inside[key]
            other = element.other(node)
            at[other].pop(key, None)
            if len(at[other]) == 1:
                loose.append(other)
        return sorted(inside.values(), key=self.elements.order.__getitem__)

    def _resistors(self, resistive: Sequence[Element]) -> Resistors:
        import numpy as np

        from boardvet.physics.network import Resistors

        spread = self.conditions.spread
        rows: list[tuple[int, int, float | Floats]] = []
        for element in resistive:
            factor = spread.resistance(element.reference) if spread else 1.0
            ohms = self._ohms(element) * factor
            rows.append((self._number(element.a), self._number(element.b), ohms))
        for drive in self.drives:
            end = self._number(self._supply_node(drive)) if drive.high else 0
            factor = spread.pin_resistance(drive.reference) if spread else 1.0
            rows.append((self._number(drive.node), end, self._pin_ohms(drive) * factor))
        for each in self.passes:
            ends = self._number(each.source), self._number(each.target)
            rows.append((*ends, np.maximum(each.resistance, _LEAST_RESISTANCE)))
        if not rows:
            return Resistors()
        a, b, ohms_of = zip(*rows, strict=True)
        return Resistors(a, b, self._values(ohms_of))

    def _junctions(self, curved: Sequence[Element]) -> Junctions:
        from boardvet.physics.network import Junctions

        if not curved:
            return Junctions()
        from numpy import exp

        from boardvet.physics.junction import THERMAL_VOLTAGE

        spread = self.conditions.spread
        warmth = self._temperature()
        saturation: list[float | Floats] = []
        known = self.circuit.view(PartJunctions)
        parts = [known.of_element(element, warmth) for element in curved]
        for element, part in zip(curved, parts, strict=True):
            self.because[f"forward voltage of {element.label}"] = part.source
            current: float | Floats = part.junction.saturation_current
            if spread is not None:
                slope = part.junction.emission * THERMAL_VOLTAGE
                current = current * exp(-spread.forward_shift(element.reference) / slope)
            saturation.append(current)
        return Junctions(
            [self._number(e.a) for e in curved],
            [self._number(e.b) for e in curved],
            self._values(saturation),
            [p.junction.emission for p in parts],
            [p.junction.series_resistance for p in parts],
        )

    def _loads(self) -> Loads:
        from boardvet.physics.network import Loads

        if not self.loads:
            return Loads()
        ends = [self._number(load.node) for load in self.loads]
        drawn = self._values([load.current for load in self.loads])
        return Loads(ends, [0] * len(self.loads), drawn)

    def _values(self, values: Sequence[float | Floats]) -> Floats:
        """Return values of elements, numbers and arrays, with a batch axis where one has it."""
        import numpy as np

        rows = max((value.size for value in values if isinstance(value, np.ndarray)), default=1)
        whole = np.empty((rows, len(values)))
        for column, value in enumerate(values):
            whole[:, column] = value
        return whole

    def _ohms(self, element: Element) -> float:
        if element.kind is ElementKind.RESISTOR:
            known = resistance(self.circuit, element.reference)
            if known is None:
                raise missing_value(element.reference)
            self.because[f"resistance of {element.reference}"] = known.source
            return known.value
        if element.kind is ElementKind.CHANNEL:
            known_on = self.circuit.known(element.reference, "on_resistance")
            if known_on is not None:
                self.because[f"on-resistance of {element.reference}"] = known_on.source
                return max(cast("Points", known_on.value)[0].value, _LEAST_RESISTANCE)
            self._assume(f"on_resistance of {element.reference}", CHANNEL_RESISTANCE)
            return CHANNEL_RESISTANCE
        if element.kind is ElementKind.COLLECTOR:
            self._assume(f"collector resistance of {element.reference}", COLLECTOR_RESISTANCE)
            return COLLECTOR_RESISTANCE
        return CONTACT_RESISTANCE

    def _assume(self, what: str, ohms: float) -> None:
        self.circuit.assume(what, ohms, "ohm", "assumed: small beside the rest of the path")

    def _pin_ohms(self, drive: Drive) -> float | Floats:
        """Return the resistance of a pin, by the voltage of its supply where points say so."""
        known = self.circuit.need(drive.reference, "pin_resistance")
        self.because[f"pin resistance of {drive.reference}"] = known.source
        points = sorted((p.at, p.value) for p in cast("Points", known.value) if p.at is not None)
        fed = self.fed.get(self._supply_node(drive)) if len(points) > 1 else None
        if fed is None or fed.missing is not None:
            return max(cast("Points", known.value)[0].value, _LEAST_RESISTANCE)
        from numpy import interp, maximum

        volts = interp(self.used, MOMENTS, fed.low)
        at, ohms = zip(*points, strict=True)
        found: Floats = maximum(interp(volts, at, ohms), _LEAST_RESISTANCE)
        return found

    def _supply_node(self, drive: Drive) -> str:
        if drive.reference not in self._supplies:
            self._supplies[drive.reference] = self._find_supply(drive)
        return self._supplies[drive.reference]

    def _find_supply(self, drive: Drive) -> str:
        nodes = self.circuit.view(Nodes)
        roles = self.circuit.view(PinRoles)
        for pin in roles.pins(drive.reference, Role.SUPPLY):
            node = nodes.of_net(pin.pin.net)
            if node is not None:
                return node
        raise MissingFact(
            drive.reference,
            "pins",
            f"the supply pin of {drive.reference} is not known",
            f"parts: {{{drive.reference}: {{pins: {{8: supply}}}}}}   # its true number",
        )

    def _sources(self, reached: frozenset[str]) -> tuple[Sources, dict[str, int]]:
        from numpy import full

        from boardvet.physics.network import Sources

        ends: list[tuple[int, int]] = []
        volts: list[float | Floats] = []
        ohms: list[float | Floats] = []
        columns: dict[str, int] = {}
        for cell in self.cells:
            if not {cell.plus, cell.minus} & reached or cell.plus in self.held:
                continue
            columns[cell.reference] = len(ends)
            ends.append(
                (self._number(cast("str", cell.plus)), self._number(cast("str", cell.minus)))
            )
            voltage, series = self._cell(cell)
            volts.append(voltage)
            ohms.append(series)
        for node, value in self.held.items():
            if node in reached:
                columns[node] = len(ends)
                ends.append((self._number(node), 0))
                volts.append(full(len(self.used), value))
                ohms.append(0.0)
        if not columns:
            return Sources(), columns
        positive, negative = zip(*ends, strict=True)
        return Sources(positive, negative, self._values(volts), self._values(ohms)), columns

    def _cell(self, cell: Cell) -> tuple[Floats, Floats]:
        """Return the voltage and the resistance of a cell in each row."""
        from boardvet.physics.cell_arrays import curve_arrays

        conditions = self.conditions
        voltage, series = curve_arrays(
            cell.curve, self.used, self._temperature(cold=True), conditions.duration
        )
        if conditions.highest:
            voltage = voltage + (cell.highest().value - cell.voltages()[0])
        if conditions.spread is not None:
            series = series * conditions.spread.cell_resistance(cell.reference)
        cell.rest_on_curve(self.circuit, resistance=True)
        self.because[f"voltage of {cell.reference}"] = cell.curve_source
        self.because[f"resistance of {cell.reference}"] = cell.resistance_source
        return voltage, series

    def _temperature(self, *, cold: bool = False) -> float:
        """Return the temperature of the junctions: the hot end for damage, if it is stated."""
        if self.conditions.temperature is not None:
            return self.conditions.temperature
        stated = self.circuit.intent.temperature
        if cold or not self.conditions.highest or stated is None:
            return ROOM_TEMPERATURE
        return max(ROOM_TEMPERATURE, stated.value.high)


def _is_junction(element: Element) -> bool:
    return element.kind in JUNCTIONS
