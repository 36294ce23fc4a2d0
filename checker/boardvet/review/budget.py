"""The budget of a board: how long it runs, what ends it, and who takes the charge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from boardvet.circuit.batch import Batches
from boardvet.circuit.cells import Cells
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.gains import Gains
from boardvet.circuit.handle import Circuit
from boardvet.errors import MissingFact

__all__ = ["Budget", "Consumer", "ModeBudget", "budget_of"]


class Consumer(NamedTuple):
    """What one part takes: as what, mean over the life [A], share of it all."""

    part: str
    what: str
    current: float
    share: float


class ModeBudget(NamedTuple):
    """A mode of use, its share of the time, its mean current [A]."""

    name: str
    share: float
    current: float


@dataclass(frozen=True, slots=True)
class Budget:
    """What the cells of a board are spent on; empty where nothing could be computed.

    Parameters
    ----------
    cells : str
        Names of the cells.
    capacity : float or None
        Their charge, fresh. [C]
    run_time : float or None
        With typical parts; None where it is not known, or endless. [s]
    worst, best : float or None
        The same with every part at the limit against it, and for it. [s]
    wanted : float or None
        The run time wanted. [s]
    reaching : float or None
        What share of boards drawn at random reaches it.
    mean_current : float or None
        Over the run, self-discharge included. [A]
    stop_voltage : float or None
        The limit that ends the run. [V]
    stop_reason : str
        What ends it, in words.
    stranded : float or None
        Charge that is left then. [C]
    consumers : tuple of Consumer
        Biggest first.
    modes : tuple of ModeBudget
        In the order of the page.
    change : str
        The single change that gains most, "" where none is worth a word.
    changed_run_time : float or None
        The run time with it. [s]
    not_counted : tuple of str
        Parts whose current at rest nobody knows.
    missing, how : str
        What is not known where nothing could be computed, and how to state it.
    """

    cells: str = ""
    capacity: float | None = None
    run_time: float | None = None
    worst: float | None = None
    best: float | None = None
    wanted: float | None = None
    reaching: float | None = None
    mean_current: float | None = None
    stop_voltage: float | None = None
    stop_reason: str = ""
    stranded: float | None = None
    consumers: tuple[Consumer, ...] = ()
    modes: tuple[ModeBudget, ...] = ()
    change: str = ""
    changed_run_time: float | None = None
    not_counted: tuple[str, ...] = ()
    missing: str = ""
    how: str = ""


def budget_of(circuit: Circuit) -> Budget:
    """Return the budget of a board; one without a cell has an empty one."""
    if not circuit.view(Cells).all:
        return Budget()
    try:
        return _computed(circuit)
    except MissingFact as fact:
        return Budget(missing=fact.missing, how=fact.how)


def _computed(circuit: Circuit) -> Budget:
    discharge = circuit.view(Discharge)
    batches = circuit.view(Batches)
    corners = batches.corners()
    wanted = circuit.intent.run_time
    gains = circuit.view(Gains).all
    reaching = batches.reaching(wanted.value) if wanted is not None else None
    return Budget(
        cells=" and ".join(cell.label for cell in circuit.view(Cells).all),
        capacity=discharge.capacity.value,
        run_time=_finite(discharge.run_time),
        worst=_finite(corners.worst),
        best=_finite(corners.best),
        wanted=wanted.value if wanted is not None else None,
        reaching=reaching,
        mean_current=discharge.mean_current,
        stop_voltage=discharge.stop.voltage,
        stop_reason=discharge.stop.reason,
        stranded=discharge.stranded,
        consumers=tuple(Consumer(*each) for each in discharge.consumers),
        modes=tuple(ModeBudget(*each) for each in discharge.modes),
        change=gains[0].change if gains else "",
        changed_run_time=_finite(gains[0].run_time) if gains else None,
        not_counted=discharge.unknown,
    )


def _finite(seconds: float) -> float | None:
    return seconds if math.isfinite(seconds) else None
