"""The resistors of the lights on a board."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, cast

from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.junctions import junction_of
from boardvet.circuit.lighting import LightCurrent, Lighting
from boardvet.circuit.strings import LedString, Strings
from boardvet.circuit.values import missing_value, resistance
from boardvet.errors import MissingFact
from boardvet.physics.heat import resistor_dissipation
from boardvet.physics.junction import forward_voltage
from boardvet.quantity import show
from boardvet.sizing._calculation import Answer, Unsizable
from boardvet.sizing._values import MARGIN, choose, resistor
from boardvet.sizing.on_board._outcome import (
    NotSized,
    Outcome,
    Sized,
    changed,
    end_of_life,
    fitted_or,
    tried,
)

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats, Indices

__all__ = ["GIVEN", "currents", "find"]

GIVEN = ("current", "over", "margin")

_LEAST, _MOST = 1.0, 1e6
_GRID = 25
_NOTHING = 1e-9
"""A light with less than this is not lit by anything. [A]"""

_SHARES = 8
"""Steps of the charge over which the mean over life is taken."""


@dataclass(frozen=True)
class _Swept:
    """A `Spread` in which one resistor has another value in each row."""

    reference: str
    factors: Floats

    @property
    def cells_alone(self) -> bool:
        """Resistors differ."""
        return False

    def of(self, rows: Indices) -> _Swept:
        """Return some of the rows."""
        return replace(self, factors=self.factors[rows])

    def tiled(self, count: int) -> _Swept:
        """Return as many repetitions of the rows."""
        from numpy import tile

        return replace(self, factors=tile(self.factors, count))

    def resistance(self, reference: str) -> float | Floats:
        """Return by what a resistance is multiplied."""
        return self.factors if reference == self.reference else 1.0

    def pin_resistance(self, reference: str) -> float | Floats:
        """Return 1: pins are typical."""
        return 1.0

    def forward_shift(self, reference: str) -> float | Floats:
        """Return 0: lights are typical."""
        return 0.0

    def cell_resistance(self, reference: str) -> float | Floats:
        """Return 1: cells are typical."""
        return 1.0


class _Job(NamedTuple):
    """A resistor, the light behind it that takes most, its worst state, and what is wanted."""

    resistor: str
    string: LedString
    light: LightCurrent
    wanted: float
    over: str
    shares: tuple[float, ...]
    end: str


def currents(
    circuit: Circuit,
    string: LedString,
    light: LightCurrent,
    reference: str,
    values: Sequence[float],
    used: Sequence[float],
) -> Floats:
    """Solve a light with other resistors put in.

    Parameters
    ----------
    reference : str
        The resistor.
    values : sequence of float
        Its values. [Ω]
    used : sequence of float
        Shares of the charge of the cell used.

    Returns
    -------
    array, shape (values, shares)
        Current of the light. [A]
    """
    import numpy as np

    fitted = resistance(circuit, reference)
    if fitted is None:
        raise missing_value(reference)
    factors = np.repeat(np.array(values, dtype=np.float64) / fitted.value, len(used))
    conditions, seeds = circuit.view(Lighting).conditions(string, light.state, light.lit)
    island = circuit.view(Islands).build(
        replace(conditions, spread=_Swept(reference, factors)), seeds, [*used] * len(values)
    )
    # Where no current can reach the light, the answer is one 0 for all rows.
    found = np.broadcast_to(island.solved().current(string.light), factors.shape)
    return found.reshape(len(values), len(used))


def find(circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield the resistor of each light, once for lights that share one."""
    groups: dict[str, list[LedString]] = {}
    for string in circuit.view(Strings).all:
        if len(string.limiters) == 1 and not string.bare:
            groups.setdefault(string.limiters[0], []).append(string)
        else:
            yield _no_resistor(string)
    for reference, strings in groups.items():
        subject = ", ".join(string.label for string in strings)
        yield from tried(subject, lambda r=reference, s=strings: _sized(circuit, given, r, s))  # type: ignore[misc]


def _no_resistor(string: LedString) -> NotSized:
    if string.bare or not string.limiters:
        return NotSized(
            string.label,
            "no resistor limits its current",
            "draw one in series, or leave it where a driver limits the current itself",
        )
    return NotSized(
        string.label,
        f"several resistors limit its current: {', '.join(string.limiters)}",
        "size their sum with 'boardvet size led', and part it as you like",
    )


def _sized(
    circuit: Circuit, given: Mapping[str, object], reference: str, strings: Sequence[LedString]
) -> Outcome:
    job = _job(circuit, given, reference, strings)
    exact = _exact(circuit, job)
    margin = cast("float", given.get("margin", MARGIN))
    chosen = choose("resistor", exact, "ohm", margin)
    chosen = fitted_or(circuit, reference, chosen, margin)
    after, change = changed(circuit, reference, chosen)
    (solved,) = _solved(after, job, [chosen.value])
    drop = forward_voltage(junction_of(circuit, job.string.light).junction, job.wanted)
    when = {"fresh": "fresh", "life": "on average over the life", "end": "at the end"}[job.over]
    sums = (
        f"{show(job.wanted, 'A')} {when}: {show(job.wanted * exact, 'V')} / "
        f"{show(job.wanted, 'A')} = {show(exact, 'ohm')} (the light takes "
        f"{show(drop, 'V')}; cell, pins and switches the rest; solved)",
    )
    fresh = float(solved[0])
    answer = Answer(
        (chosen,), sums, (), resistor(chosen, resistor_dissipation(fresh, chosen.value))
    )
    subject = ", ".join(string.label for string in strings)
    return Sized(subject, answer, (change,), (_said(job, solved),))


def _job(
    circuit: Circuit, given: Mapping[str, object], reference: str, strings: Sequence[LedString]
) -> _Job:
    lights = [(string, circuit.view(Lighting).worst(string)) for string in strings]
    lit = [(string, light) for string, light in lights if light is not None]
    if not lit:
        raise Unsizable("no state of the board lights it", "say under modes how it is lit")
    string, light = max(lit, key=lambda each: each[1].current)
    over = str(given.get("over", "fresh"))
    end, words = end_of_life(circuit) if light.on_cell else (0.0, "")
    shares = (0.0, end) if over != "life" else tuple(end * n / _SHARES for n in range(_SHARES + 1))
    return _Job(reference, string, light, _wanted(circuit, given, string), over, shares, words)


def _wanted(circuit: Circuit, given: Mapping[str, object], string: LedString) -> float:
    stated = given.get("current")
    if isinstance(stated, float):
        return stated
    reference = string.light.reference
    known = circuit.known(reference, "wanted_current")
    if known is None:
        raise MissingFact(
            reference,
            "wanted_current",
            f"wanted current of {reference} is not known",
            f'parts: {{{reference}: {{wanted_current: 5 mA}}}}, or say current="5 mA" behind led',
        )
    return cast("float", known.value)


def _exact(circuit: Circuit, job: _Job) -> float:
    """Return the resistance that gives the wanted current, by narrowing a grid of solutions."""
    import numpy as np

    low, high = math.log(_LEAST), math.log(_MOST)
    for _ in range(4):
        grid = np.linspace(low, high, _GRID)
        reached = _aimed(job, _solved(circuit, job, [float(v) for v in np.exp(grid)]))
        if reached[0] < _NOTHING:
            raise Unsizable(
                "no current reaches it when it is meant to be lit",
                "say under modes which switches are closed, or draw what is missing",
            )
        if reached[0] < job.wanted and low == math.log(_LEAST):
            raise Unsizable(
                f"even next to no resistor leaves {show(float(reached[0]), 'A')}, and "
                f"{show(job.wanted, 'A')} are wanted",
                "want less, or feed it from more",
            )
        below = int(np.argmax(reached < job.wanted))
        if not reached[-1] < job.wanted:
            raise Unsizable(
                f"another way around {job.resistor} gives {show(float(reached[-1]), 'A')}",
                "look for what else feeds it",
            )
        low, high = float(grid[below - 1]), float(grid[below])
    return math.exp((low + high) / 2)


def _solved(circuit: Circuit, job: _Job, values: Sequence[float]) -> Floats:
    strings = circuit.view(Strings).of_light(job.string.light.reference)
    string = next(s for s in strings if s.label == job.string.label)
    return currents(circuit, string, job.light, job.resistor, values, job.shares)


def _aimed(job: _Job, solved: Floats) -> Floats:
    """Return the current that is aimed at: fresh, the mean over the charge, or at the end."""
    if job.over == "life":
        inner = solved[:, 1:-1].sum(axis=1)
        mean: Floats = (inner + (solved[:, 0] + solved[:, -1]) / 2.0) / (solved.shape[1] - 1)
        return mean
    return solved[:, -1 if job.over == "end" else 0]


def _said(job: _Job, solved: Floats) -> str:
    if not job.light.on_cell:
        return f"{show(float(solved[0]), 'A')}, from a rail that is held"
    if math.isclose(solved[0], solved[-1], rel_tol=1e-3):
        return f"{show(float(solved[0]), 'A')}, fresh as {job.end}"
    words = f"{show(float(solved[0]), 'A')} fresh"
    if job.over == "life":
        words += f", {show(float(_aimed(job, solved[None, :])[0]), 'A')} on average"
    return f"{words}, {show(float(solved[-1]), 'A')} {job.end}"
