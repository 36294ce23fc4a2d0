"""View: gains, which single change would make the board run longest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import natural_key
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


@dataclass(frozen=True)
class Gains:
    """Single changes that make the board run longer, the one that gains most first."""

    all: tuple[Gain, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Try every consumer at half of its current, and everything that ends the run early.

        Raises
        ------
        MissingFact
            As the view `Discharge`.
        """
        discharge = circuit.view(Discharge)
        found = [*_of_consumers(circuit, discharge), *_of_stop(discharge)]
        worth = [gain for gain in found if gain.run_time >= WORTH * discharge.run_time]
        return cls(tuple(sorted(worth, key=lambda gain: -gain.run_time)))


def _of_consumers(circuit: Circuit, discharge: Discharge) -> Iterator[Gain]:
    from boardvet.circuit.life import at_its_rate, own_loss

    loss = own_loss(circuit)
    for draws, change, left in _groups(circuit, discharge.draws):
        taken = sum((discharge.draws[draw] for draw in draws), start=0.0 * discharge.drawn)
        saved = (discharge.drawn - (1.0 - left) * taken).clip(min=0.0)
        current = at_its_rate(circuit, saved) + loss
        yield Gain(change, discharge.life_if(current, discharge.stop.used))


def _groups(
    circuit: Circuit, draws: Mapping[Draw, Floats]
) -> Iterator[tuple[list[Draw], str, float]]:
    """Yield consumers that one change would touch, the change, and what is left of them."""
    lights: dict[object, list[Draw]] = {}
    for draw in draws:
        if draw.what == "lit":
            lights.setdefault(_limiters(circuit, draw.part), []).append(draw)
        elif draw.what == "path to ground":
            yield [draw], f"raise {draw.part} to ten times its value", 0.1
        elif draw.what == "itself":
            yield [draw], *_of_part(circuit, draw.part)
    for alike in lights.values():
        yield alike, _dimmer(circuit, [draw.part for draw in alike]), 0.5


def _limiters(circuit: Circuit, light: str) -> tuple[float, ...]:
    """Return the values of the resistors of a light: lights with equal ones go together."""
    values = (
        resistance(circuit, reference)
        for string in circuit.view(Strings).of_light(light)
        for reference in string.limiters
    )
    return tuple(sorted(known.value for known in values if known is not None))


def _dimmer(circuit: Circuit, lights: Sequence[str]) -> str:
    """Say how the current of some lights is halved."""
    strings = circuit.view(Strings)
    names = _listed(lights)
    resistors = [
        reference
        for light in lights
        for string in strings.of_light(light)
        for reference in string.limiters
    ]
    values = {known.value for r in resistors if (known := resistance(circuit, r)) is not None}
    if len(values) != 1:
        return f"halve the current of {names}, or the time that it is lit"
    ohms = preferred(2.0 * values.pop(), "E12", "nearest")
    return f"halve the current of {names}: {_listed(resistors)} {show(ohms, 'ohm')}"


def _of_part(circuit: Circuit, reference: str) -> tuple[str, float]:
    if circuit.view(Kinds).kind(reference) is Kind.REGULATOR:
        return f"fit a regulator that uses half of what {reference} uses itself", 0.5
    awake = any(reference in timeline.active for timeline in circuit.view(Timelines).all)
    if awake:
        return f"halve the time that {reference} is awake, or what it draws then", 0.5
    return f"halve what {reference} draws at rest", 0.5


def _of_stop(discharge: Discharge) -> Iterator[Gain]:
    """Yield what not stopping early would gain: another part, or no dip."""
    stop = discharge.stop
    if stop.floor is not None:
        others = [s for s in discharge.stops if s.floor is None or s.floor != stop.floor]
        later = others[0].used
        volts = show(discharge.stops[-1].voltage, "V")
        change = f"fit a type of {stop.floor.reference} that runs on less, down to {volts}"
        yield Gain(change, discharge.life_if(discharge.current, later))
    if stop.at_rest > stop.used:
        change = "take the dip away: a reservoir, or less current at once"
        yield Gain(change, discharge.life_if(discharge.current, stop.at_rest))


def _listed(references: Sequence[str]) -> str:
    """Return references in their order, the middle ones of many left out."""
    names = sorted(dict.fromkeys(references), key=natural_key)
    return ", ".join(names) if len(names) <= 2 else f"{names[0]} to {names[-1]}"
