"""View: how the current of each light falls as the cells are used, and when it is too little."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.elements import METALLIC, Element, ElementKind, Elements
from boardvet.circuit.feeding import Fed, Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import ROOM_TEMPERATURE, junction_of
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.operating import Operating
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.shorts import PowerNode, Shorts
from boardvet.circuit.states import State
from boardvet.circuit.strings import EndKind, LedString, StringEnd
from boardvet.circuit.timeline import Timeline, Timelines
from boardvet.circuit.values import resistance
from boardvet.circuit.workload import coldest
from boardvet.vocabulary.roles import Role

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["Changes", "Crossing", "Fade", "Headroom"]

SHARES = tuple(step / 10 for step in range(11))
"""Shares of charge used at which lights are solved first; where one fades, between them again."""


CUT_OFF = 0.5
"""A light without current whose supply has less than this share of what feeds it is cut off from
it: something between them conducts only at other times."""

_NOTHING = 1e-6
"""No current. [A]"""


class Crossing(NamedTuple):
    """Share of charge used at which a light has too little current, and the voltage then. [V]."""

    used: float
    volts: float


@dataclass(frozen=True)
class Fade:
    """The mean current of a light while it is lit, at each of `SHARES` of the charge used.

    Parameters
    ----------
    string : LedString
        The light, or the first of those that are alike in all that the current depends on.
    state : State
        In which it is lit.
    meetings : tuple of Meeting
        What is on while it is lit, with weights that add up to 1.
    alone : bool
        True where no pattern says what is on with it, so that it was solved alone.
    cells : tuple of Cell
        What feeds it.
    room, cold : tuple of float
        At 25 °C, and at the coldest temperature where that is lower. [A]
    coldest : float
        That temperature. [°C]
    volts : tuple of float
        Of the cells under that load at 25 °C. [V]
    because : mapping of str to str
        Names and sources of the numbers that went in.
    """

    string: LedString
    state: State
    meetings: tuple[Meeting, ...]
    alone: bool
    cells: tuple[Cell, ...]
    room: tuple[float, ...]
    cold: tuple[float, ...]
    coldest: float
    volts: tuple[float, ...]
    because: Mapping[str, str] = field(repr=False)


@dataclass(frozen=True)
class Changes:
    """A `Spread` with another light or another resistor in each row.

    Parameters
    ----------
    light, resistor : str
        Their references, "" for none.
    shift : array, shape (B,)
        What is added to the forward voltage of the light. [V]
    factor : array, shape (B,)
        By what the resistor is multiplied.
    """

    light: str
    resistor: str
    shift: Floats
    factor: Floats

    @property
    def key(self) -> object:
        """The same content, to look up by."""
        return self.light, self.resistor, tuple(self.shift), tuple(self.factor)

    @property
    def cells_alone(self) -> bool:
        """Lights and resistors differ."""
        return False

    def of(self, rows: Indices) -> Changes:
        """Return the changes of some rows."""
        return replace(self, shift=self.shift[rows], factor=self.factor[rows])

    def tiled(self, count: int) -> Changes:
        """Return the changes of as many repetitions of the rows."""
        from numpy import tile

        return replace(self, shift=tile(self.shift, count), factor=tile(self.factor, count))

    def resistance(self, reference: str) -> float | Floats:
        """Return by what the resistance of a part is multiplied."""
        return self.factor if reference == self.resistor else 1.0

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return 1: pins stay."""
        return 1.0

    def forward_shift(self, reference: str) -> float | Floats:
        """Return what is added to the forward voltage of a part, in volts."""
        return self.shift if reference == self.light else 0.0

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return 1: cells stay."""
        return 1.0


@dataclass(frozen=True)
class Headroom:
    """Solves the lights of one board over the life of its cells."""

    circuit: Circuit = field(repr=False)
    _solved: dict[object, tuple[tuple[Meeting, Operating], ...]] = field(
        default_factory=dict, repr=False
    )
    _alike: dict[object, Fade | None] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Keep the handle; each light is solved when asked for."""
        return cls(circuit)

    def fades(self, string: LedString) -> tuple[Fade, ...]:
        """Return how a light fades in each mode in which only cells feed it and it is lit.

        Nothing where no cell feeds it straight: what a booster or a source other than a cell
        holds does not fade with the cell. A light that no pattern lights is taken alone.

        Raises
        ------
        MissingFact
            Where a fact that the current rests on is missing, or nothing ever feeds the light.
        """
        if not _ends_known(string):
            return ()
        own = [t for t in self.circuit.view(Timelines).all if t.on_cell]
        live = [(t, fed) for t in own if (fed := self._fed(string, t.state)) is not None]
        lit = [(t, fed) for t, fed in live if t.stated and _lit(t, string)]
        if lit:
            fades = [self._fade(string, t.state, self._with_it(string, t), fed) for t, fed in lit]
        elif live:
            timeline, fed = live[0]
            fades = [self._fade(string, timeline.state, (), fed)]
        else:
            fades = [self._fade(string, *each) for each in self._standing(string)][:1]
        return tuple(fade for fade in fades if fade is not None)

    def currents(
        self,
        fade: Fade,
        used: Sequence[float],
        temperature: float | None,
        changes: Changes | None = None,
    ) -> tuple[float, ...]:
        """Return the mean current of a light while it is lit, one for each share, in amperes.

        Parameters
        ----------
        fade : Fade
            Which light, in which state.
        used : sequence of float
            Shares of the charge used.
        temperature : float or None
            None: 25 °C. [°C]
        changes : Changes, optional
            What differs in each row.
        """
        solved = self._solve(fade.state, fade.meetings, used, temperature, changes)
        return _mean(solved, lambda operating: operating.light(fade.string.light))

    def crossing(self, fade: Fade, limit: float, *, cold: bool) -> Crossing | None:
        """Return when the current first is below a limit, None if it never is.

        Parameters
        ----------
        fade : Fade
            Which light, in which state.
        limit : float
            [A]
        cold : bool
            True at the coldest temperature, False at 25 °C.
        """
        temperature = fade.coldest if cold and fade.coldest < ROOM_TEMPERATURE else None
        falling = fade.room if temperature is None else fade.cold
        after = next((n for n, current in enumerate(falling) if current < limit), None)
        if after is None:
            return None
        if after == 0:
            return Crossing(0.0, self._volts(fade, SHARES, temperature)[0])
        start, end = SHARES[after - 1], SHARES[after]
        used = [start + (end - start) * step / 10 for step in range(11)]
        currents = self.currents(fade, used, temperature)
        volts = self._volts(fade, used, temperature)
        low = next(n for n, current in enumerate(currents) if current < limit)
        part = (currents[low - 1] - limit) / (currents[low - 1] - currents[low])
        return Crossing(*(w[low - 1] + part * (w[low] - w[low - 1]) for w in (used, volts)))

    def shorted(self, fade: Fade) -> PowerNode | None:
        """Return a node that the cells of a light feed and something joins to ground, if any.

        That the light is dim is then a consequence.
        """
        fed = self.circuit.view(Feeding).at(fade.state)
        cells = {cell.reference for cell in fade.cells}
        for power in self.circuit.view(Shorts).all:
            joined = power.joined is not None or power.through
            if joined and power.node in fed and cells & set(fed[power.node].sources):
                return power
        return None

    def _volts(
        self, fade: Fade, used: Sequence[float], temperature: float | None
    ) -> tuple[float, ...]:
        """Return the voltage of the cells under the light, those in a row added up, in volts."""
        solved = self._solve(fade.state, fade.meetings, used, temperature)
        return _of_cells(fade.cells, solved)

    def _solve(
        self,
        state: State,
        meetings: tuple[Meeting, ...],
        used: Sequence[float],
        temperature: float | None,
        changes: Changes | None = None,
    ) -> tuple[tuple[Meeting, Operating], ...]:
        import numpy as np

        from boardvet.circuit.working import Setting

        key = state, meetings, tuple(used), temperature, changes and changes.key
        if key in self._solved:
            return self._solved[key]
        running, rows = self.circuit.view(Running), np.asarray(used, dtype=np.float64)
        found = []
        for meeting in meetings:
            run = np.full(rows.shape, meeting.run)
            setting = Setting(meeting.lights, dict(meeting.draws), rows, temperature, run, changes)
            found.append((meeting, running.solve(state, setting)))
        self._solved[key] = tuple(found)
        return self._solved[key]

    def _fade(
        self, string: LedString, state: State, meetings: tuple[Meeting, ...], fed: Fed
    ) -> Fade | None:
        """Return how a light fades; lights that are alike are solved once."""
        key = state, meetings, self._likeness(string)
        if key not in self._alike:
            self._alike[key] = self._solved_fade(string, state, meetings, fed)
        return self._alike[key]

    def _likeness(self, string: LedString) -> object:
        """Return all that the current of a light depends on besides the rest of the board."""
        elements = self.circuit.view(Elements)
        own = {string.light, *(e for end in string.ways() for e in end.path)}

        def shared(node: str) -> str:
            """Return a node on which something else hangs too, "" for the others."""
            others = set(elements.at(node)) - own
            return node if any(e.kind is not ElementKind.CAPACITOR for e in others) else ""

        def value(element: Element) -> object:
            if element.kind is ElementKind.RESISTOR:
                known = resistance(self.circuit, element.reference)
                return known.value if known is not None else element
            if element.kind is ElementKind.LED:
                return junction_of(self.circuit, element).junction
            return element.kind if element.kind in METALLIC else element

        def way(end: StringEnd, node: str) -> Iterator[object]:
            for element in end.path:
                yield shared(node), element.kind, value(element)
                node = element.other(node)
            yield end.pin.reference if end.kind is EndKind.PIN and end.pin else end.node
            yield shared(end.node)

        starts = (string.light.a, string.light.b)
        ways = zip(string.ways(), starts, strict=True)
        return value(string.light), *(tuple(way(end, node)) for end, node in ways)

    def _solved_fade(
        self, string: LedString, state: State, meetings: tuple[Meeting, ...], fed: Fed
    ) -> Fade | None:
        cells = tuple(c for c in self.circuit.view(Cells).all if c.reference in fed.sources)
        if self._stepped_up(fed):
            return None
        alone = not meetings
        if alone:
            meetings = (Meeting(frozenset({string.label}), (), 1.0, float("inf")),)
        cold = coldest(self.circuit)
        solved = self._solve(state, meetings, SHARES, None)
        room = _mean(solved, lambda operating: operating.light(string.light))
        volts = _of_cells(cells, solved)
        supply = partial(Operating.voltage, node=self._supply(string) or "")
        without = _mean(solved, supply)[0] < CUT_OFF * min(volts[0], fed.low[0])
        if without and room[0] < _NOTHING:
            return None
        because = solved[0][1].because
        fade = Fade(string, state, meetings, alone, cells, room, room, cold, volts, because)
        if cold == ROOM_TEMPERATURE:
            return fade
        return replace(fade, cold=self.currents(fade, SHARES, cold))

    def _stepped_up(self, fed: Fed) -> bool:
        return any(
            converter.reference in fed.path and converter.conversion.steps_up
            for converter in self.circuit.view(Converters).all
        )

    def _with_it(self, string: LedString, timeline: Timeline) -> tuple[Meeting, ...]:
        """Return what is on with a light, and how often while it is lit."""
        meetings = [m for m in timeline.meetings if string.is_among(m.lights)]
        whole = sum(meeting.weight for meeting in meetings)
        return tuple(m._replace(weight=m.weight / whole) for m in meetings if m.weight > 0.0)

    def _standing(self, string: LedString) -> Iterator[tuple[State, tuple[Meeting, ...], Fed]]:
        """Yield the states besides those of the pattern in which only cells feed a light."""
        cells = {cell.reference for cell in self.circuit.view(Cells).all}
        for state in self.circuit.view(Lighting).states(string):
            fed = self._fed(string, state)
            if fed is not None and state.sources <= cells:
                yield state, (), fed

    def _fed(self, string: LedString, state: State) -> Fed | None:
        """Return how the top of a light is fed in a state, None where it is not or is cut off."""
        contacts = [e for end in string.ways() for e in end.path if e.kind is ElementKind.CONTACT]
        if not all(state.is_closed(contact) for contact in contacts):
            return None
        fed = self.circuit.view(Feeding).at(state).get(self._supply(string) or "")
        return fed.need() if fed is not None else None

    def _supply(self, string: LedString) -> str | None:
        """Return the node from which a light takes its current, straight or through a pin."""
        top = string.ways()[0]
        if top.pin is None or top.kind is not EndKind.PIN:
            return top.node
        roles, nodes = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        supplies = (Role.SUPPLY, Role.REGULATOR_INPUT, Role.BATTERY)
        return nodes.of_net(roles.net_of(top.pin.reference, *supplies))


def _ends_known(string: LedString) -> bool:
    """Tell whether current can come from and go to what the solver knows of."""
    return string.top is not None and string.bottom is not None


def _lit(timeline: Timeline, string: LedString) -> bool:
    return any(string.is_among(m.lights) and m.weight > 0 for m in timeline.meetings)


def _of_cells(
    cells: Sequence[Cell], solved: Sequence[tuple[Meeting, Operating]]
) -> tuple[float, ...]:
    """Return the voltage of the highest pole of some cells, in volts."""
    poles = [cell.plus for cell in cells if cell.plus is not None]
    return max(_mean(solved, partial(Operating.voltage, node=pole)) for pole in poles)


def _mean(
    solved: Sequence[tuple[Meeting, Operating]],
    values: Callable[[Operating], tuple[float, ...]],
) -> tuple[float, ...]:
    """Return the mean of a value over meetings, by their weights."""
    each = [tuple(meeting.weight * value for value in values(o)) for meeting, o in solved]
    return tuple(map(sum, zip(*each, strict=True)))
