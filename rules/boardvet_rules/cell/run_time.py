"""The board stops before the run time that is wanted.

On the bench
------------
It works on the first day and is dead some days later, though nothing is broken.

What is judged
--------------
The discharge is simulated: at each share of the charge everything that the pattern can have on
together is solved, with regulators in and out of regulation, lights as the voltage leaves them,
and the reservoirs as far as they are recharged. The mean over pattern and modes says how fast the
charge goes, self-discharge included; a cell of which only the type is known gives less charge at
a high mean current. It ends where a part that is awake has less than it needs (least supply or
brown-out), where a regulator falls out whose load nobody knows, or where the cell is empty, with
the dip of the worst step taken off at the coldest temperature stated.

Query: with typical parts it runs shorter than wanted. Note: typical parts reach it, but of boards
drawn at random (resistors, forward voltages, cells, pins within their limits) more than a few
fall short. Without a wanted run time nothing is judged; the figure stands in the report. Where the
charge would have been enough and a part stops early, this follows from what is found of that part.

Left undetermined
-----------------
What a part draws at rest, its least supply, the capacity of the cell, or a value that a current
depends on is not known.

Cure
----
The single change that gains most, computed; another cell (``boardvet cells``).

Settings
--------
boards : how many boards are drawn at random. Default 400.
short : share of them that may fall short. Default 5 %.

Wrong::

    BT1 CR2032 VBAT GND
    R1 10k VBAT GND
    ~ run_time: 90 days

Right::

    BT1 CR2032 VBAT GND
    R1 150k VBAT GND
    ~ run_time: 90 days

Sources
-------
Charge over current, integrated over the curve of the cell; the sources of curve, capacity and
self-discharge stand with the numbers and among the assumptions. Limits of parts drawn at random:
common practice, and data sheets where known.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from boardvet.circuit.batch import Batches
from boardvet.circuit.cell_set import CellSet
from boardvet.circuit.converters import Regulator
from boardvet.circuit.discharge import Consumption, Discharge, costs_run_time
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.floors import Floors
from boardvet.circuit.gains import Gains
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.sags import Sags
from boardvet.circuit.shorts import PowerNode, Shorts
from boardvet.known import Known
from boardvet.quantity import show, show_time
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import Clear, Found, Level, Number, Subject
from boardvet.vocabulary.kinds import Kind

NAMED = 3
"""Consumers that the sum names."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How many boards are drawn, and how many of them may fall short."""

    boards: Annotated[float, ""] = 400.0
    short: Annotated[float, ""] = 0.05


@rule(level=Level.QUERY)
def check(cells: CellSet, circuit: Circuit, settings: Settings) -> Found | Clear:
    """Judge the cells of the board against the run time wanted."""
    wanted = circuit.intent.run_time
    if wanted is None:
        return Clear()
    discharge = circuit.view(Discharge)
    if discharge.run_time < wanted.value:
        found = _short(cells, circuit, discharge, wanted)
        joined = _joined_to_ground(cells, circuit)
        if joined is not None:
            return replace(found, follows=("rail-shorted", joined))
        return replace(found, follows=_stopped_early(circuit, discharge))
    discharge.need_known(circuit)
    for reference in circuit.view(Floors).unknown:
        raise circuit.facts.missing(reference, "supply")
    boards = max(int(settings.boards), 1)
    reaching = circuit.view(Batches).reaching(wanted.value, boards)
    if 1.0 - reaching > settings.short:
        return _some_short(cells, circuit, discharge, wanted, boards, reaching)
    return Clear((*_numbers(discharge, wanted), _reaching(boards, reaching)))


def _numbers(discharge: Discharge, wanted: Known[float]) -> tuple[Number, ...]:
    capacity = discharge.capacity
    return (
        Number("run time", discharge.run_time, "s", "computed: the discharge, simulated"),
        Number("wanted", wanted.value, "s", wanted.source),
        Number("mean current", discharge.mean_current, "A", "computed: same"),
        Number("capacity", capacity.value, "C", capacity.source),
        Number("voltage that ends it", discharge.stop.voltage, "V", discharge.stop.source),
    )


def _reaching(boards: int, reaching: float) -> Number:
    source = f"computed: {boards} boards drawn at random"
    return Number("share of boards that reach it", reaching, "", source)


def _joined_to_ground(cells: CellSet, circuit: Circuit) -> PowerNode | None:
    """Return a rail of the cells that something joins to ground: that empties them."""
    feeding, holders = circuit.view(Feeding), set(cells.parts)
    for power in circuit.view(Shorts).all:
        fed = (each for _, each in feeding.states_of(power.node))
        if (power.joined or power.through) and any(holders & set(each.sources) for each in fed):
            return power
    return None


def _stopped_early(circuit: Circuit, discharge: Discharge) -> tuple[str, Subject] | None:
    """Return the finding on the part that stops, where the charge would have been enough."""
    floor, used = discharge.stop.floor, discharge.stop.used
    if floor is None or not (used == 0.0 or costs_run_time(circuit, used)):
        return None
    for part in SuppliedPart.on(circuit):
        if (part.reference, part.node) == (floor.reference, floor.node):
            if part.part_kind is Kind.REGULATOR:
                continue
            sags = circuit.view(Sags)
            pulled = sags.first(sags.of_floor(floor)) is not None
            return "cell-sag" if pulled else "supply-window", part
    for regulator in Regulator.on(circuit):
        if regulator.reference == floor.reference:
            starved = floor.node in regulator.inputs
            return "boost-starved" if starved else "regulator-headroom", regulator
    return None


def _short(cells: CellSet, circuit: Circuit, discharge: Discharge, wanted: Known[float]) -> Found:
    stop = discharge.stop
    if stop.used == 0.0:
        bench = f"The board does not start on {cells.label}."
        sum_ = f"{stop.reason[0].upper()}{stop.reason[1:]}, with a fresh cell already."
    else:
        bench = (
            f"The board stops after {_told(discharge.run_time, wanted.value)}, where "
            f"{show_time(wanted.value, 3)} are wanted."
        )
        sum_ = f"{_spent(discharge)} It stops when {stop.reason}{_left(discharge)}."
    return Found(
        bench=bench,
        sum=sum_,
        fix=_fix(circuit, wanted.value),
        numbers=_numbers(discharge, wanted),
        parts=(stop.floor.reference,) if stop.floor is not None else (),
        state=stop.timeline.state.name if stop.timeline is not None else "",
    )


def _some_short(
    cells: CellSet,
    circuit: Circuit,
    discharge: Discharge,
    wanted: Known[float],
    boards: int,
    reaching: float,
) -> Found:
    corners = circuit.view(Batches).corners()
    return Found(
        bench=f"Of a hundred boards some {round(100 * (1.0 - reaching))} stop before the "
        f"{show_time(wanted.value, 3)} that are wanted.",
        sum=f"A typical one runs {show_time(discharge.run_time)} on {cells.label}; with parts at "
        f"their limits it is {show_time(corners.worst)} to {show_time(corners.best)}.",
        fix=_fix(circuit, wanted.value),
        numbers=(*_numbers(discharge, wanted), _reaching(boards, reaching)),
        level=Level.NOTE,
    )


def _spent(discharge: Discharge) -> str:
    first = [each for each in discharge.consumers[:NAMED] if each.share >= 0.005]
    takers = ", ".join(f"{_taker(each)} {each.share:.0%}" for each in first)
    return (
        f"{show(discharge.capacity.value, 'C')} go at {show(discharge.mean_current, 'A')} on "
        f"average: {takers}."
    )


def _taker(each: Consumption) -> str:
    """Return who takes it: a part, or what the cell loses by itself."""
    return each.part if each.what in {"itself", "lit", "path to ground", ""} else each.what


def _told(run_time: float, wanted: float) -> str:
    """Return a time that is shorter than wanted so that it reads shorter, too."""
    figures = 2 if show_time(run_time) != show_time(wanted) else 3
    told = show_time(run_time, figures)
    return f"just under {told}" if told == show_time(wanted, 3) else told


def _left(discharge: Discharge) -> str:
    left = 1.0 - discharge.stop.used
    return f", with {left:.0%} of the charge left" if left >= 0.01 else ""


def _fix(circuit: Circuit, wanted: float) -> str:
    """Return the change that gains most, and whether it is enough."""
    gains = circuit.view(Gains).all
    others = "another cell (boardvet cells shows what each would do)"
    if not gains:
        return f"fit {others}"
    best = gains[0]
    if best.run_time >= wanted:
        return f"{best.change}: then it runs {show_time(best.run_time)}"
    return f"{best.change}: then it runs {show_time(best.run_time)}; besides, {others}"
