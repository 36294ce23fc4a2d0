"""View: timelines, what is on when in each mode of use, derived from the pattern.

Without a pattern the pessimistic one is taken, and said so: every light is on, all of those
together that can be, and what shares its pins with others in turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Self

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.rails import Rails
from boardvet.circuit.schedule import Course, Meeting, Window, courses_of, meetings_of
from boardvet.circuit.sources import SourceKind, Sources
from boardvet.circuit.states import State, States
from boardvet.circuit.strings import Strings
from boardvet.errors import MissingFact
from boardvet.intent import Mode, PatternEntry
from boardvet.vocabulary.kinds import Kind

__all__ = ["SCAN", "Timeline", "Timelines", "lights_at_once"]

SCAN = 1e-3
"""Period in which lights that share pins are taken to be lit in turn, where none is stated. [s]"""


@dataclass(frozen=True)
class Timeline:
    """What is on when in one mode of use.

    Parameters
    ----------
    name : str
        Of the mode; "" where the page has none.
    state : State
        Which contacts are closed and which sources are there.
    share : float
        Share of the time that the board is in it.
    on_cell : bool
        True where no other source is there, so that the cell gives all of the charge.
    lights : frozenset of str
        What is always lit.
    draws : mapping of str to float
        What parts always draw. [A]
    courses : tuple of Course
        What comes and goes.
    active : frozenset of str
        Parts of which the pattern states what they draw.
    stated : bool
        True if the page says so, False where the pessimistic pattern is taken.
    """

    name: str
    state: State
    share: float
    on_cell: bool
    lights: frozenset[str]
    draws: Mapping[str, float]
    courses: tuple[Course, ...]
    active: frozenset[str]
    stated: bool

    @cached_property
    def meetings(self) -> tuple[Meeting, ...]:
        """What can be on together, and for which share of the time."""
        return meetings_of(self.courses, self.lights, self.draws)


@dataclass(frozen=True)
class Timelines:
    """The timelines of the board, the everyday one first; their shares add up to 1."""

    all: tuple[Timeline, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Derive the timelines from the page.

        Raises
        ------
        MissingFact
            Where modes do not say for which share of the time they last.
        """
        if circuit.intent.modes:
            return cls(tuple(_of_modes(circuit)))
        state = _buttons_released(circuit, circuit.view(States).main)
        entries = circuit.intent.pattern
        return cls((_timeline(circuit, "", state, 1.0, entries, stated=bool(entries)),))

    def of_state(self, state: State) -> Timeline | None:
        """Return the timeline of a state, None where nothing says what is on in it.

        Without modes the same is on in every state.
        """
        return next((t for t in self.all if t.state == state or t.name == state.mode), None)


def _of_modes(circuit: Circuit) -> Iterator[Timeline]:
    modes = circuit.intent.modes
    states = {state.mode: state for state in circuit.view(States).all}
    shares = _shares(modes)
    for mode in modes:
        state = states[mode.name]
        if mode.closed is None:
            state = _buttons_released(circuit, state)
        yield _timeline(circuit, mode.name, state, shares[mode.name], mode.pattern, stated=True)
    left = 1.0 - sum(shares.values())
    if left > 1e-9:
        yield _timeline(circuit, "rest", _rest(circuit, modes), left, (), stated=True)


def _shares(modes: Sequence[Mode]) -> Mapping[str, float]:
    """Return the share of each mode; one without a share has what the others leave."""
    stated = {mode.name: mode.share.value for mode in modes if mode.share is not None}
    without = [mode.name for mode in modes if mode.share is None]
    if len(without) > 1:
        raise MissingFact(
            "modes",
            "share",
            f"for which share of the time {' and '.join(without)} last is not known",
            f"modes: {{{without[0]}: {{share: 3 h per day}}}}",
        )
    left = max(1.0 - sum(stated.values()), 0.0)  # the page refuses more than all of the time
    return stated | dict.fromkeys(without, left)


def _rest(circuit: Circuit, modes: Sequence[Mode]) -> State:
    """Return the state at rest: the switches that a mode names are open."""
    named = {reference for mode in modes for reference in mode.closed or {}}
    contacts = circuit.view(Elements).of_kind(ElementKind.CONTACT)
    closed = frozenset(
        (c.reference, c.a_pin, c.b_pin)
        for c in contacts
        if c.position == 0 and c.reference not in named
    )
    cells = circuit.view(Sources).of_kind(SourceKind.CELL)
    state = State("at rest", frozenset(cell.reference for cell in cells), closed, "rest")
    return _buttons_released(circuit, state)


def _buttons_released(circuit: Circuit, state: State) -> State:
    """Return the state with nobody's finger on the board, unless that is what keeps it on."""
    kinds = circuit.view(Kinds)
    closed = frozenset(c for c in state.closed if kinds.kind(c[0]) is not Kind.BUTTON)
    if closed == state.closed:
        return state
    released = replace(state, closed=closed)
    feeding = circuit.view(Feeding)
    pressed, free = feeding.at(state), feeding.at(released)
    held = [rail for rail in circuit.view(Rails).all if rail.node in pressed]
    return released if all(rail.node in free for rail in held) else state


def _timeline(
    circuit: Circuit,
    name: str,
    state: State,
    share: float,
    entries: Sequence[PatternEntry],
    *,
    stated: bool,
) -> Timeline:
    lights: set[str] = set()
    draws: dict[str, float] = {}
    windows: list[Window] = []
    for entry in entries:
        found = list(_windows(circuit, entry))
        windows.extend(found)
        if not found:
            lights.update(entry.lights)
            if entry.part is not None and entry.current is not None:
                draws[entry.part] = draws.get(entry.part, 0.0) + entry.current.value
    if not stated:
        always, scanned = _pessimistic(circuit)
        lights.update(always)
        windows.extend(scanned)
    sources = circuit.view(Sources).besides_cells
    return Timeline(
        name,
        state,
        share,
        not any(source.reference in state.sources for source in sources),
        frozenset(lights),
        draws,
        courses_of(windows),
        frozenset(entry.part for entry in entries if entry.part is not None),
        stated,
    )


def _windows(circuit: Circuit, entry: PatternEntry) -> Iterator[Window]:
    """Yield when an entry is on; nothing for one that is always on as a whole."""
    turns = [(light,) for light in entry.lights] if entry.in_turn else [entry.lights]
    slots = [lights_at_once(circuit, lights) for lights in turns]
    start = entry.after.value if entry.after else 0.0
    dimmed = entry.pwm.value if entry.pwm else 1.0
    if entry.draws is not None:
        yield from _drawn(entry, start)
        return
    duration = entry.duration.value if entry.duration else None
    if duration is None and sum(map(len, slots)) <= 1 and dimmed == 1.0:
        return
    period = entry.every.value if entry.every else duration or SCAN
    slot = period / len(slots) if duration is None else duration
    if entry.part is not None and entry.current is not None:
        current = ((entry.part, entry.current.value),)
        yield Window(start % period, min(slot, period), period, draws=current)
    for number, groups in enumerate(slots):
        each = slot / max(len(groups), 1)
        for place, group in enumerate(groups):
            begin = (start + number * slot + place * each) % period
            yield Window(begin, min(each, period), period, group, (), dimmed)


def _drawn(entry: PatternEntry, start: float) -> Iterator[Window]:
    """Yield the steps of a burst one after another."""
    steps = entry.draws.value if entry.draws else ()
    period = entry.every.value if entry.every else sum(step.duration for step in steps)
    for step in steps:
        current = ((entry.part or "", step.value),)
        yield Window(start % period, min(step.duration, period), period, draws=current)
        start += step.duration


def lights_at_once(circuit: Circuit, lights: Sequence[str]) -> list[frozenset[str]]:
    """Part lights so that within a group no pin has to be high and low at once.

    A part whose own lights cannot be lit together, such as two against each other between the
    same pins, is parted into them, by their labels.
    """
    groups: list[tuple[set[str], _Levels]] = []
    for light, levels in _levels(circuit, lights):
        for members, taken in groups:
            if not _clash(levels, taken):
                members.add(light)
                taken |= levels
                break
        else:
            groups.append(({light}, set(levels)))
    return [frozenset(members) for members, _ in groups]


_Levels = set[tuple[str, bool]]
"""Nodes that pins have to hold high (True) or low."""


def _levels(circuit: Circuit, lights: Sequence[str]) -> Iterator[tuple[str, _Levels]]:
    """Yield what each light needs of the pins, each of a part's lights if they clash."""
    strings = circuit.view(Strings)
    for light in lights:
        own = [
            (s.label, {(drive.node, drive.high) for drive in s.drives()})
            for s in strings.of_light(light)
        ]
        levels = {level for _, needed in own for level in needed}
        if _clash(levels, levels):
            yield from own
        else:
            yield light, levels


def _clash(levels: _Levels, taken: _Levels) -> bool:
    return any((node, not high) in taken for node, high in levels)


def _pessimistic(circuit: Circuit) -> tuple[set[str], list[Window]]:
    """Return every light as always on, or as scanned where they cannot all be."""
    lights = dict.fromkeys(s.light.reference for s in circuit.view(Strings).all)
    if lights:
        circuit.assume(
            "pattern of all lights",
            "every light always on, all together that can be",
            "",
            "assumed: no pattern is stated, so the pessimistic one",
        )
    groups = lights_at_once(circuit, list(lights))
    if len(groups) <= 1:
        return set(lights), []
    each = SCAN / len(groups)
    return set(), [Window(i * each, each, SCAN, group) for i, group in enumerate(groups)]
