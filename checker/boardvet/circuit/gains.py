"""View: gains, which single change would make the board run longest.

Where a change is another resistor, the board is solved with it; what a part draws is taken to be
half, and all else as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.discharge import Discharge, Stop
from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import natural_key
from boardvet.circuit.plant import Plants
from boardvet.circuit.strings import Strings
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.values import resistance
from boardvet.quantity import preferred, show
from boardvet.vocabulary.kinds import Kind

if TYPE_CHECKING:
    from boardvet.circuit.drain import Draw
    from boardvet.physics.elements import Floats

__all__ = ["Gain", "Gains"]

WORTH = 1.05
"""A change that gains less than a twentieth of the run time is not worth a word."""

RAISED = 10.0
"""By what resistors between a supply and ground may well be raised, mostly."""


class Gain(NamedTuple):
    """A change and what it makes of the run time.

    Parameters
    ----------
    change : str
        What to do, as a clause: "halve the current of D1, D2 (R1, R2 820 Ω)".
    run_time : float
        How long the board would run then. [s]
    """

    change: str
    run_time: float


class _Change(NamedTuple):
    """A change in words, and what it does: new values of resistors, or what it takes off.

    Parameters
    ----------
    words : str
        What to do, as a clause.
    resistors : mapping of str to float
        New values by reference [ohm]; empty where no resistor is named.
    draws : tuple of Draw
        Consumers that take less, where no resistor is named.
    saved : float
        Which share of what they take is saved.
    """

    words: str
    resistors: Mapping[str, float]
    draws: tuple[Draw, ...] = ()
    saved: float = 0.5


@dataclass(frozen=True)
class Gains:
    """Single changes that make the board run longer, the one that gains most first."""

    all: tuple[Gain, ...] = field(default=())

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Try every consumer at half of its current, and everything that ends the run early.

        Raises
        ------
        MissingFact
            As the view `Discharge`.
        """
        from boardvet.circuit.revalued import run_times_with

        discharge = circuit.view(Discharge)
        changes = list(_changes(circuit, discharge.draws))
        found = [*_of_draws(circuit, discharge, changes), *_of_stop(discharge)]
        others = [change for change in changes if change.resistors]
        times = run_times_with(circuit, [change.resistors for change in others])
        found += [Gain(each.words, time) for each, time in zip(others, times, strict=True)]
        least = WORTH * discharge.run_time
        worth = [gain for gain in found if gain.run_time > 0.0 and gain.run_time >= least]
        return cls(tuple(sorted(worth, key=lambda gain: -gain.run_time)))


def _of_draws(
    circuit: Circuit, discharge: Discharge, changes: Sequence[_Change]
) -> Iterator[Gain]:
    """Yield what taking off a share of some draws would gain."""
    from boardvet.circuit.life import at_its_rate, own_loss

    loss = own_loss(circuit)
    for change in changes:
        if not change.resistors:
            taken = sum((discharge.draws[draw] for draw in change.draws), 0.0 * discharge.drawn)
            left = (discharge.drawn - change.saved * taken).clip(min=0.0)
            current = at_its_rate(circuit, left) + loss
            yield Gain(change.words, discharge.life_if(current, discharge.stop.used))


def _changes(circuit: Circuit, draws: Mapping[Draw, Floats]) -> Iterator[_Change]:
    """Yield what can be done about each consumer; one change may touch several."""
    lights: dict[object, list[Draw]] = {}
    for draw in draws:
        if draw.what == "lit":
            lights.setdefault(_limiters(circuit, draw.part), []).append(draw)
        elif draw.what == "path to ground":
            yield _raised(circuit, draw.part)
        elif draw.what == "itself":
            yield from _of_part(circuit, draw)
    for alike in lights.values():
        yield _dimmed(circuit, tuple(alike))


def _limiters(circuit: Circuit, light: str) -> tuple[float, ...]:
    """Return the values of the resistors of a light: lights with equal ones go together."""
    values = (
        resistance(circuit, reference)
        for string in circuit.view(Strings).of_light(light)
        for reference in string.limiters
    )
    return tuple(sorted(known.value for known in values if known is not None))


def _dimmed(circuit: Circuit, draws: tuple[Draw, ...]) -> _Change:
    """Halve the current of some lights: by their resistors, where these are all alike."""
    strings = circuit.view(Strings)
    lights = [draw.part for draw in draws]
    names = _listed(lights)
    resistors = [
        reference
        for light in lights
        for string in strings.of_light(light)
        for reference in string.limiters
    ]
    values = {known.value for r in resistors if (known := resistance(circuit, r)) is not None}
    if len(values) != 1 or 0.0 in values:
        return _Change(f"halve the current of {names}, or the time that it is lit", {}, draws)
    ohms = preferred(2.0 * values.pop(), "E12", "nearest")
    words = f"halve the current of {names} ({_listed(resistors)} {show(ohms, 'ohm')})"
    return _Change(words, dict.fromkeys(resistors, ohms))


def _raised(circuit: Circuit, reference: str) -> _Change:
    """Raise a resistor to ground, and those in a row with it, so that a divider stays one."""
    row = list(_in_a_row(circuit, reference))
    known = {each: resistance(circuit, each) for each in row}
    ohms = {each: RAISED * value.value for each, value in known.items() if value and value.value}
    what = "its value" if len(ohms) == 1 else "their values"
    return _Change(f"raise {_listed(list(ohms))} to ten times {what}", ohms)


def _in_a_row(circuit: Circuit, reference: str) -> Iterator[str]:
    """Yield the resistors in a row from one to ground upwards, up to where others join."""
    elements, grounds = circuit.view(Elements), circuit.view(Grounds)
    element = next(e for e in elements.of_kind(ElementKind.RESISTOR) if e.reference == reference)
    seen = {element}
    node = element.a if element.b in grounds else element.b
    yield reference
    while True:
        others = [e for e in elements.at(node, ElementKind.RESISTOR) if e not in seen]
        if len(others) != 1 or circuit.view(Feeding).ever(node):
            return
        (element,) = others
        seen.add(element)
        node = element.other(node)
        yield element.reference


def _of_part(circuit: Circuit, draw: Draw) -> Iterator[_Change]:
    reference = draw.part
    if circuit.view(Kinds).kind(reference) is Kind.REGULATOR:
        words = f"fit a regulator that uses half of what {reference} uses itself"
        yield _Change(words, {}, (draw,))
        return
    awake = _share_awake(circuit, reference)
    if awake > 0.0:
        words = f"halve the time that {reference} is awake, or what it draws then"
        yield _Change(words, {}, (draw,), 0.5 * awake)
    if awake < 1.0:
        yield _Change(f"halve what {reference} draws at rest", {}, (draw,), 0.5 * (1.0 - awake))


def _share_awake(circuit: Circuit, reference: str) -> float:
    """Return the share of what a part draws that it draws while the pattern has it at work."""
    awake = resting = 0.0
    for timeline in (each for each in circuit.view(Timelines).all if each.on_cell):
        consumer = circuit.view(Plants).in_state(timeline.state).consumer(reference)
        rest = consumer.rest.value if consumer is not None and consumer.rest is not None else 0.0
        for meeting in timeline.meetings:
            time = timeline.share * meeting.weight
            drawn = dict(meeting.draws).get(reference)
            awake += time * (drawn or 0.0)
            resting += time * rest if drawn is None else 0.0
    return awake / (awake + resting) if awake > 0.0 else 0.0


def _of_stop(discharge: Discharge) -> Iterator[Gain]:
    """Yield what not stopping early would gain: another part, or no dip."""
    stop = discharge.stop
    if stop.floor is not None:
        later = next(s for s in discharge.stops if s.floor is None or s.floor != stop.floor)
        change = f"fit a type of {stop.floor.reference} that runs on less{_down_to(stop, later)}"
        yield Gain(change, discharge.life_if(discharge.current, later.used))
    if stop.at_rest > stop.used:
        change = "take the dip away: a reservoir, or less current at once"
        yield Gain(change, discharge.life_if(discharge.current, stop.at_rest))


def _down_to(stop: Stop, later: Stop) -> str:
    """Say down to which voltage a part would have to run, where the next limit is one of it."""
    same = (
        later.floor is not None and stop.floor is not None and later.floor.node == stop.floor.node
    )
    return f", down to {show(later.voltage, 'V')}" if same or later.floor is None else ""


def _listed(references: Sequence[str]) -> str:
    """Return references in their order, the middle ones of many left out."""
    names = sorted(dict.fromkeys(references), key=natural_key)
    return ", ".join(names) if len(names) <= 2 else f"{names[0]} to {names[-1]}"
