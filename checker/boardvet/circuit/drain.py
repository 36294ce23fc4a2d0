"""What one timeline takes from the cells, and how low it pulls the rails, over the cell's life."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from boardvet.circuit.cells import Cell
from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.floors import Floor, Floors
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.strings import EndKind, LedString, Strings
from boardvet.circuit.target import Target
from boardvet.circuit.timeline import Timeline

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["Drain", "Draw", "Lowest", "drain_of", "lowest_of"]

OTHER = "other paths"
"""What is left of the current when every consumer is counted: leaks of diodes, clamps, pins."""


_DARK = 1e-9
"""An LED that carries no more than this is not in series with others. [A]"""


class Draw(NamedTuple):
    """What one consumer takes from the cells: the part, and as what ("lit", "itself")."""

    part: str
    what: str


@dataclass(frozen=True)
class Drain:
    """What one timeline takes, averaged over its pattern.

    Parameters
    ----------
    timeline : Timeline
        Which.
    total : array, shape (B,)
        Of all cells together; rows are boards times shares of charge used. [A]
    consumers : mapping of Draw to array, shape (B,)
        The same by consumer, referred to the cells. [A]
    """

    timeline: Timeline
    total: Floats
    consumers: Mapping[Draw, Floats]


class Lowest(NamedTuple):
    """The lowest that a voltage gets in any step of a timeline.

    Parameters
    ----------
    subject : Floor or Cell
        The part that needs the voltage, or the cell whose terminals show it.
    timeline : Timeline
        In which.
    volts : array, shape (B,)
        [V]
    meeting : tuple of Meeting
        The step that is worst, row by row.
    resting : array, shape (B,)
        The voltage in the step in which it is highest. [V]
    """

    subject: Floor | Cell
    timeline: Timeline
    volts: Floats
    meeting: tuple[Meeting, ...]
    resting: Floats


def drain_of(
    circuit: Circuit,
    timeline: Timeline,
    solved: Sequence[tuple[Meeting, Operating]],
    rows: int,
    *,
    apart: bool = True,
) -> Drain:
    """Return what a timeline takes, from the solutions of its meetings, by consumer if `apart`."""
    plant = circuit.view(Plants).in_state(timeline.state)
    total = np.zeros(rows)
    consumers: dict[Draw, Floats] = {}
    for meeting, operating in solved if timeline.on_cell else ():
        given = _from_cells(circuit, operating)
        total = total + meeting.weight * given
        shares = _shares(circuit, plant, meeting, operating, given) if apart else ()
        for draw, current in shares:
            before = consumers.get(draw, np.zeros(rows))
            consumers[draw] = before + meeting.weight * current
    return Drain(timeline, np.maximum(total, 0.0), consumers)


def lowest_of(
    circuit: Circuit,
    timeline: Timeline,
    solved: Sequence[tuple[Meeting, Operating]],
) -> tuple[Lowest, ...]:
    """Return how low a timeline pulls what parts need, and the terminals of the cells."""
    if not timeline.on_cell:
        return ()
    found: list[Lowest] = []
    plant = circuit.view(Plants).in_state(timeline.state)
    for floor in circuit.view(Floors).all:
        awake = [
            (m, o.nodes[floor.node])
            for m, o in solved
            if floor.node in o.nodes and is_awake(circuit, plant, timeline, m, floor)
        ]
        if awake and floor.node in plant.paths:
            every = [o.nodes[floor.node] for _, o in solved if floor.node in o.nodes]
            found.append(_lowest(floor, timeline, awake, every))
    for cell in (c for c in circuit.view(Target).cells.all if c.reference in plant.cells):
        across = [(m, _terminals(cell, o)) for m, o in solved if cell.reference in o.cells]
        if across:
            found.append(_lowest(cell, timeline, across, [volts for _, volts in across]))
    return tuple(found)


def is_awake(
    circuit: Circuit, plant: Plant, timeline: Timeline, meeting: Meeting, floor: Floor
) -> bool:
    """Tell whether a part is at work in a meeting.

    A part with entries in the pattern is at work in them and while its pins light something;
    one without is always at work where its supply is on.
    """
    reference = floor.reference
    drawing = frozenset(part for part, _ in meeting.draws)
    strings = circuit.view(Strings)
    lit = [string for light in meeting.lights for string in strings.of_light(light)]
    driving = {drive.reference for string in lit for drive in string.drives()}
    if reference in drawing | driving:
        return True
    if reference in timeline.active:
        return False
    active, feeding = drawing | frozenset(driving), plant.feeding(lit)
    off = {channel.reference for channel in plant.resting(active, feeding)}
    off |= plant.stopped(active, feeding)
    return not off & set(plant.paths.get(floor.node, ()))


def _lowest(
    subject: Floor | Cell,
    timeline: Timeline,
    each: Sequence[tuple[Meeting, Floats]],
    every: Sequence[Floats],
) -> Lowest:
    """Return the lowest of the steps in which it counts, and the highest of all."""
    volts = np.stack([values for _, values in each])
    worst = volts.argmin(axis=0)
    return Lowest(
        subject,
        timeline,
        volts.min(axis=0),
        tuple(each[index][0] for index in worst),
        np.stack(list(every)).max(axis=0),
    )


def _terminals(cell: Cell, operating: Operating) -> Floats:
    nothing = np.zeros(operating.count)
    plus = operating.nodes.get(cell.plus or "", nothing)
    return plus - operating.nodes.get(cell.minus or "", nothing)


def _from_cells(circuit: Circuit, operating: Operating) -> Floats:
    """Return what the cells give: of each bank the current of one row."""
    total = np.zeros(operating.count)
    for bank in circuit.view(Target).banks:
        for cell in bank.rows[0]:
            total = total + operating.cells.get(cell.reference, 0.0)
    return total


def _shares(
    circuit: Circuit, plant: Plant, meeting: Meeting, operating: Operating, given: Floats
) -> Iterator[tuple[Draw, Floats]]:
    """Yield what each consumer takes in a meeting, referred to the cells."""
    left = given
    for draw, current in (
        *_loads(plant, operating),
        *_regulators(plant, operating),
        *_lights(circuit, plant, operating),
    ):
        left = left - current
        yield draw, current
    for draw, current in _returns(circuit, plant, meeting, operating):
        part = np.minimum(current, np.maximum(left, 0.0))
        left = left - part
        yield draw, part
    yield Draw(OTHER, ""), left


def _loads(plant: Plant, operating: Operating) -> Iterator[tuple[Draw, Floats]]:
    for consumer in plant.consumers:
        current = operating.loads.get(consumer.reference)
        if current is not None:
            scale = _scale(plant, operating, consumer.path)
            yield Draw(consumer.reference, "itself"), current * scale


def _regulators(plant: Plant, operating: Operating) -> Iterator[tuple[Draw, Floats]]:
    for each in plant.converting:
        if each.quiescent is not None and each.reference in operating.regulators:
            scale = _scale(plant, operating, plant.paths.get(each.source, ()))
            yield Draw(each.reference, "itself"), each.quiescent.value * scale


def _lights(circuit: Circuit, plant: Plant, operating: Operating) -> Iterator[tuple[Draw, Floats]]:
    """Yield the current of each light; of lights in series the first counts."""
    strings = {string.light: string for string in circuit.view(Strings).all}
    lit = [e for e in operating.junctions if e.kind is ElementKind.LED]
    behind = {element.b for element in lit if operating.junctions[element].max() > _DARK}
    for element in lit:
        if element.a in behind:
            continue
        path = _path_of(circuit, plant, strings[element])
        current = np.maximum(operating.junctions[element], 0.0)
        yield Draw(element.reference, "lit"), current * _scale(plant, operating, path)


def _path_of(circuit: Circuit, plant: Plant, string: LedString) -> Sequence[str]:
    top = string.bare_ends[0] if string.bare_ends else string.top
    if top is None:
        return ()
    if top.kind is EndKind.PIN and top.pin is not None:
        consumer = plant.consumer(top.pin.reference)
        return consumer.path if consumer is not None else ()
    return plant.paths.get(top.node, ())


def _scale(plant: Plant, operating: Operating, path: Sequence[str]) -> Floats:
    """Return what the source gives for each ampere behind the switching regulators of a path."""
    scale = np.ones(operating.count)
    for each in plant.converting:
        point = operating.regulators.get(each.reference)
        if each.reference not in path or point is None or not each.switching:
            continue
        own = each.quiescent.value if each.quiescent is not None else 0.0
        given = np.where(point.output_current > 0.0, point.output_current, 1.0)
        ratio = (point.input_current - own) / given
        scale = scale * np.where(point.output_current > 0.0, ratio, 1.0)
    return scale


def _returns(
    circuit: Circuit, plant: Plant, meeting: Meeting, operating: Operating
) -> Iterator[tuple[Draw, Floats]]:
    """Yield the current of resistors to ground that belong to no light."""
    from boardvet.circuit.grounds import Grounds

    grounds = circuit.view(Grounds)
    strings = circuit.view(Strings)
    own: set[Element] = {
        element
        for light in meeting.lights
        for string in strings.of_light(light)
        for end in (string.top, string.bottom, *string.bare_ends)
        if end is not None
        for element in end.path
    }
    for element, current in operating.resistors.items():
        if element.kind is not ElementKind.RESISTOR or element in own:
            continue
        if element.a in grounds or element.b in grounds:
            end = element.a if element.b in grounds else element.b
            scale = _scale(plant, operating, _path_to(circuit, plant, end))
            yield Draw(element.reference, "path to ground"), np.abs(current) * scale


def _path_to(circuit: Circuit, plant: Plant, node: str) -> Sequence[str]:
    """Return the parts on the way to a node, in a chain of resistors that to where it begins."""
    if not any(each.switching for each in plant.converting):
        return ()
    elements = circuit.view(Elements)
    seen, queue = {node}, [node]
    for at in queue:
        if at in plant.paths:
            return plant.paths[at]
        beyond = (e.other(at) for e in elements.at(at, ElementKind.RESISTOR))
        further = [other for other in beyond if other not in seen]
        seen.update(further)
        queue.extend(further)
    return ()
