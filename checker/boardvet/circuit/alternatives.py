"""The same board on other cells: how long it runs on each, how deep it dips, which are unfit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import NamedTuple

from boardvet.circuit.alike import families, solve_together
from boardvet.circuit.batch import Batches, Range
from boardvet.circuit.candidates import Choice, candidates
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.discharge import Discharge, Stop
from boardvet.circuit.elements import Element
from boardvet.circuit.glow import currents_lit, first_faded, meant
from boardvet.circuit.handle import Circuit
from boardvet.circuit.unfit import Forbidden, Overload, charged, overloaded, overloads, too_high
from boardvet.circuit.what_if import with_cell
from boardvet.circuit.workload import Workloads
from boardvet.errors import MissingFact, SolverError
from boardvet.known import Known
from boardvet.quantity import show

__all__ = ["Alternative", "Alternatives", "Fade", "Fate", "Life", "Strain", "alternatives"]

DIM = 0.1
"""Below this share of what it is meant to have a light is too dim (common practice, no source)."""

_OVER = 1.05
"""A cell that is asked for a twentieth more than its rating is still taken to stand it."""

Progress = Callable[[int, int], None]
"""Told how many cells are done, of how many."""


class Fate(IntEnum):
    """What becomes of the board on some cells, the best first."""

    MEETS = 0
    RUNS = 1
    """Nobody says how long it has to run."""

    SHORT = 2
    FAILS = 3
    """It does not start, or a light stays dark."""

    HARMS = 4
    UNKNOWN = 5
    """A fact about these cells is missing, with how to state it, or no solution was found."""


class Fade(NamedTuple):
    """A light that is too dim from some time on, before the board stops. [s]."""

    light: str
    after: float


class Strain(NamedTuple):
    """The most that a fresh cell has to give in any step, and its rating, which is less. [A]."""

    asked: float
    rated: float


class Life(NamedTuple):
    """How a board lives on some cells, with typical parts.

    Parameters
    ----------
    run_time : float
        Until it stops. [s]
    stop : Stop
        What ends it.
    fade : Fade or None
        The light that is too dim first.
    dip : float
        Most that the load ever takes off the voltage of a cell or holder before the stop. [V]
    stranded : float
        Charge that is left at the stop. [C]
    capacity : float
        Fresh. [C]
    strain : Strain or None
        Where it has to give more than it is rated for.
    """

    run_time: float
    stop: Stop
    fade: Fade | None
    dip: float
    stranded: float
    capacity: float
    strain: Strain | None

    @property
    def lasts(self) -> float:
        """How long it does what it is for: until it stops, or a light is too dim. [s]."""
        return self.run_time if self.fade is None else min(self.run_time, self.fade.after)


@dataclass(frozen=True)
class Alternative:
    """One kind of cell on the board.

    Parameters
    ----------
    label : str
        What stands in each holder.
    choice : Choice or None
        The type and how many in a row; None for a fitted cell of no size that is known.
    fitted : bool
        True for what is on the board now, with all that its page states.
    fate : Fate
        What becomes of the board.
    life : Life or None
        None where it was not solved.
    trouble : Forbidden or None
        Why it harms, does not start or is not known, as what limits it and by how much.
    rechargeable : bool
        Whether it may be charged.
    mass : float or None
        Of all cells together. [kg]
    circuit : Circuit
        The board with it.
    """

    label: str
    choice: Choice | None
    fitted: bool
    fate: Fate
    life: Life | None
    trouble: Forbidden | None
    rechargeable: bool
    mass: float | None
    circuit: Circuit = field(repr=False, compare=False)

    def corners(self) -> Range | None:
        """Return the run time with everything against it, and for it; None where not solved."""
        if self.life is None:
            return None
        try:
            return self.circuit.view(Batches).corners()
        except SolverError:
            return None


@dataclass(frozen=True)
class Alternatives:
    """The board on every cell that could stand in its place.

    Parameters
    ----------
    wanted : Known of float or None
        The run time wanted. [s]
    holders : tuple of str
        References; all of them hold the same.
    ranked : tuple of Alternative
        Best first. Those that run as long as wanted come first, the lightest in front; then those
        that run shorter, the longest in front. Where nobody says how long, the one with the
        longest run time a gram is best. Those that do not work come last.
    overloads : mapping of str to Overload
        Lights and pins that the fitted cells already drive too hard: not held against others
        that drive them no harder.
    """

    wanted: Known[float] | None
    holders: tuple[str, ...]
    ranked: tuple[Alternative, ...]
    overloads: Mapping[str, Overload]

    @property
    def fitted(self) -> Alternative:
        """The one that is on the board now."""
        return next(each for each in self.ranked if each.fitted)


def alternatives(circuit: Circuit, progress: Progress | None = None) -> Alternatives:
    """Simulate the discharge of a board on every cell that could stand in its place.

    Parameters
    ----------
    circuit : Circuit
        The board.
    progress : callable, optional
        Told how many cells are done, of how many.

    Raises
    ------
    MissingFact
        Where there is no cell, it is not known what it is, or a fact that the current of the
        board rests on is missing.
    """
    cells = circuit.view(Cells).need_any()
    wanted = meant(circuit)
    now = _Case(circuit, _name(cells[0]), _choice_of(cells[0]), fitted=True)
    others = [
        _Case(with_cell(circuit, each.type.designation, each.series), each.label, each)
        for each in candidates(circuit)
        if not _same(each, cells)
    ]
    already = overloads(circuit)
    found = [now.judged(wanted, already)]
    lawful = []
    for case in others:
        trouble = _at_sight(case.circuit)
        if trouble is None:
            lawful.append(case)
        else:
            found.append(case.alternative(Fate.HARMS, None, trouble))
    by_circuit = {id(case.circuit): case for case in lawful}
    for family in families([case.circuit for case in lawful]):
        solve_together(family)
        for each in family:
            found.append(by_circuit[id(each)].judged(wanted, already))
            if progress is not None:
                progress(len(found), len(others) + 1)
    ranked = sorted(found, key=_rank)
    holders = tuple(cell.reference for cell in cells)
    return Alternatives(circuit.intent.run_time, holders, tuple(ranked), already)


def _at_sight(circuit: Circuit) -> Forbidden | None:
    """Return what forbids cells before anything is solved."""
    try:
        return too_high(circuit) or charged(circuit)
    except MissingFact:
        return None


def _choice_of(cell: Cell) -> Choice | None:
    return Choice(cell.type, cell.series) if cell.type is not None and cell.type.diameter else None


def _name(cell: Cell) -> str:
    """Return what stands in a holder now, such as "2 × LR03"."""
    name = cell.designation or cell.need_chemistry().name
    times = cell.series * cell.parallel
    return name if times == 1 else f"{times} × {name}"


def _same(choice: Choice, cells: Sequence[Cell]) -> bool:
    return all(
        cell.designation == choice.type.designation
        and cell.series == choice.series
        and cell.parallel == 1
        for cell in cells
    )


@dataclass(frozen=True)
class _Case:
    """A board with some cells on it, to be judged."""

    circuit: Circuit
    label: str
    choice: Choice | None
    fitted: bool = False

    def judged(
        self, wanted: Mapping[Element, float], already: Mapping[str, Overload]
    ) -> Alternative:
        """Simulate the discharge and say what becomes of the board."""
        try:
            forbidden = _at_sight(self.circuit) if self.fitted else None
            forbidden = forbidden or overloaded(self.circuit, already)
            life = life_on(self.circuit, wanted)
        except MissingFact as missing:
            trouble = Forbidden(missing.missing, missing.how)
            return self.alternative(Fate.UNKNOWN, None, trouble)
        except SolverError:
            trouble = Forbidden("no solution found: the load asks more than it can give", "")
            return self.alternative(Fate.UNKNOWN, None, trouble)
        if forbidden is not None:
            return self.alternative(Fate.HARMS, life, forbidden)
        failure = _failure(life)
        if failure is not None:
            return self.alternative(Fate.FAILS, life, failure)
        target = self.circuit.intent.run_time
        if target is None:
            return self.alternative(Fate.RUNS, life, None)
        meets = life.lasts >= target.value
        return self.alternative(Fate.MEETS if meets else Fate.SHORT, life, None)

    def alternative(self, fate: Fate, life: Life | None, trouble: Forbidden | None) -> Alternative:
        """Return the verdict as it is kept."""
        cells = self.circuit.view(Cells).all
        one = self.choice.mass if self.choice is not None else None
        return Alternative(
            self.label,
            self.choice,
            self.fitted,
            fate,
            life,
            trouble,
            all(cell.chemistry is not None and cell.chemistry.rechargeable for cell in cells),
            None if one is None else one * sum(cell.parallel for cell in cells),
            self.circuit,
        )


def life_on(circuit: Circuit, wanted: Mapping[Element, float]) -> Life:
    """Return how a board lives on the cells that stand on it.

    Parameters
    ----------
    circuit : Circuit
        The board.
    wanted : mapping of Element to float
        What its lights are meant to have. [A]

    Raises
    ------
    MissingFact
        As the view `Discharge`.
    SolverError
        If a network has no solution that could be found.
    """
    from boardvet.physics.discharge import time_until

    discharge = circuit.view(Discharge)
    faded = first_faded(discharge.used, currents_lit(circuit), wanted, DIM)
    fade = None
    if faded is not None and faded.used < discharge.stop.used:
        after = float(time_until(discharge.used, discharge.times, faded.used))
        fade = Fade(faded.light, after)
    return Life(
        discharge.run_time,
        discharge.stop,
        fade,
        max(_dips(circuit, discharge), default=0.0),
        discharge.stranded,
        discharge.capacity.value,
        _strain(circuit),
    )


def _strain(circuit: Circuit) -> Strain | None:
    """Return what is asked of the cell that is strained most; reservoirs take their part."""
    found: list[Strain] = []
    for cell in circuit.view(Cells).all:
        rated = cell.pulse_current or cell.continuous_current
        for workload in circuit.view(Workloads).on_cell() if rated is not None else ():
            for _, operating in workload.typical:
                asked = operating.cells.get(cell.reference)
                if (
                    asked is not None
                    and rated is not None
                    and float(asked[0]) > _OVER * rated.value
                ):
                    found.append(Strain(float(asked[0]), rated.value))
    return max(found, key=lambda each: each.asked / each.rated, default=None)


def _dips(circuit: Circuit, discharge: Discharge) -> Iterator[float]:
    """Yield what the worst step takes off the open-circuit voltage, at each share to the stop."""
    import numpy as np

    before = discharge.used <= max(discharge.stop.used, 0.0)
    for low in discharge.lowest:
        if isinstance(low.subject, Cell):
            at, volts = zip(*low.subject.curve.voltage_points, strict=True)
            open_circuit = np.interp(discharge.used, at, volts)
            yield float((open_circuit - low.volts)[before].max())


def _failure(life: Life) -> Forbidden | None:
    """Return why a board does not work at all on some cells."""
    stop = life.stop
    if life.run_time == 0.0:
        if stop.floor is None:
            return Forbidden("too weak: sags to its end at once", show(stop.voltage, "V"))
        dips = " in the first dip" if stop.at_rest > 0.0 else ""
        return Forbidden(f"does not start: {stop.reason}{dips}", "")
    if life.fade is not None and life.fade.after == 0.0:
        return Forbidden(f"{life.fade.light} stays dark", "")
    return None


def _rank(each: Alternative) -> tuple[float, ...]:
    mass = each.mass if each.mass is not None else math.inf
    if each.life is None or each.fate in (Fate.FAILS, Fate.HARMS, Fate.UNKNOWN):
        return (max(each.fate, Fate.FAILS), mass)
    lasts = each.life.lasts
    if each.fate is Fate.MEETS:
        return (Fate.MEETS, mass, -lasts)
    if each.fate is Fate.RUNS:
        return (Fate.RUNS, -lasts / mass, -lasts)
    return (Fate.SHORT, -lasts)
