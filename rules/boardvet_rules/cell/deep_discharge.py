"""A bare rechargeable lithium cell that nothing parts from the board when it is empty or shorted.

On the bench
------------
The board is left switched on, and after days or weeks the cell no longer takes a charge, or swells
when it is charged. With a short circuit, wires glow and the cell catches fire.

What is judged
--------------
Each rechargeable lithium cell that is not stated as protected. Against emptying: a protection IC
at the cell, or a lock-out, which is a supervisor that opens the supply or disables regulators with
nothing left that goes on drawing from the cell. Against a short circuit: a protection IC, or a
fuse that all of its current flows through. A brown-out or reset stops the work and not the
standing loads, so it is no lock-out. Query: one of them is missing, with the days from the stop
of the board until the cell is at 2.5 V, at what still flows then. Note: only the lock-out is
missing, and those days are many.

Left undetermined
-----------------
Which cell it is, is not known.

Cure
----
A cell with its own protection (then state `protected: yes`), or a protection IC with two FETs in
its minus lead.

Settings
--------
patient : days from the stop to 2.5 V from which an emptying that nothing cuts off is a note.
    Default 180 days.

Wrong::

    BT1 connector/LiPo 1: VBAT 2: GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    U1 mcu VCC+ VBAT GND- GND = supply 3.0 to 5.5 V = sleep_current 20 uA

Right::

    BT1 connector/LiPo 1: VBAT 2: GND
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh, protected: yes}
    U1 mcu VCC+ VBAT GND- GND = supply 3.0 to 5.5 V = sleep_current 20 uA

Right (a protection IC in the minus lead)::

    BT1 connector/LiPo 1: VBAT 2: CELLMINUS
    ~ cell: {part: BT1, type: LiPo, capacity: 400 mAh}
    R1 100 VBAT VSENSE
    U2 battery-protector/DW01A VCC+ VSENSE GND- CELLMINUS OD GATE1 OC GATE2 CS SENSE
    U1 mcu VCC+ VBAT GND- GND = supply 3.0 to 5.5 V = sleep_current 20 uA

Sources
-------
End of discharge at 2.5 V: Samsung SDI INR18650-25R; protection ICs part the cell at 2.4 V (H&M
Semiconductor DW01A). That a reset does not stop standing loads: the network, solved. 180 days:
assumed, a season in a drawer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from boardvet.circuit.cells import Cell
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.protection import Protection, Protections, Remaining
from boardvet.circuit.target import DAY, Target
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

LITHIUM = ("lithium-ion", "LiFePO4")
"""Chemistries that deep discharge damages for good; ML and VL coins recover (from memory)."""

DEEP = Known(2.5, "V", "facts chemistry.yaml: Samsung SDI INR18650-25R sheet, 2.5 V end")
"""Below this a cell is damaged."""

TAIL = Known(
    0.01, "", "assumed: 1 % of the charge between 3.0 V and 2.5 V (from memory of curves)"
)
"""Share of the charge that is left below the end of the curve of a lithium-ion cell."""

FUSES = (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0)
"""Fuses that can be bought. [A]"""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """When an emptying after the stop is slow enough."""

    patient: Annotated[float, "s"] = 180 * DAY


class Emptying(NamedTuple):
    """How a cell goes on emptying.

    `charge` is what is left at the stop [C], None where nothing stops the board before; `time` is
    from the stop to 2.5 V, in seconds.
    """

    reason: str
    charge: float | None
    time: float
    remaining: Remaining | None
    capacity: Known[float]


@rule(level=Level.QUERY)
def check(
    cell: Cell, circuit: Circuit, protections: Protections, settings: Settings
) -> Found | Clear:
    """Judge one rechargeable lithium cell."""
    if cell.need_chemistry().name not in LITHIUM or cell.plus is None:
        return Clear()
    stated = cell.stated.protected if cell.stated is not None else None
    if stated is not None and stated.value:
        return Clear()
    protection = protections.of_cell(cell)
    if protection.against_emptying and protection.against_short:
        return Clear()
    if stated is None:
        _assume_bare(cell, circuit)
    emptying = None if protection.against_emptying else _emptying(cell, circuit, protections)
    slow = emptying is not None and emptying.time >= settings.patient
    return Found(
        bench=_bench(protection, emptying),
        sum=_sum(protection, emptying),
        fix=_fix(cell, protection, stated),
        why=_why(protection),
        numbers=_numbers(emptying),
        level=Level.NOTE if protection.against_short and slow else Level.QUERY,
        parts=protection.lockouts,
    )


def _assume_bare(cell: Cell, circuit: Circuit) -> None:
    """Note that the cell is taken as bare; without assumptions that is a missing fact."""
    if circuit.assume_nothing:
        kind = f", type: {cell.designation}" if cell.designation else ""
        raise MissingFact(
            cell.reference,
            "protected",
            f"whether {cell.label} has its own protection circuit is not known",
            f"cell: {{part: {cell.reference}{kind}, protected: yes}}   # or no",
        )
    circuit.assume(
        f"protection of {cell.label}", "none of its own", "", "assumed: the page does not say so"
    )


def _emptying(cell: Cell, circuit: Circuit, protections: Protections) -> Emptying | None:
    """Return how the cell empties after the stop, None where too little is known for the sum."""
    try:
        discharge = circuit.view(Discharge)
        if discharge.unjudged:
            return None  # a part may stop sooner, or go on
        capacity = circuit.view(Target).need_capacity(cell.reference)
        stop = next((s for s in discharge.stops if s.floor is not None and s.used < 1.0), None)
        if stop is None:
            return Emptying("", None, 0.0, None, capacity) if _runs_on(discharge) else None
        remaining = protections.remaining(cell, (1.0 + stop.used) / 2.0)
        tail = _below_the_curve(cell, circuit)
    except MissingFact:
        return None
    charge = capacity.value * (1.0 - stop.used + tail)
    current = remaining.current if remaining is not None else 0.0
    time = charge / current if current > 0.0 else float("inf")
    return Emptying(stop.reason, charge, time, remaining, capacity)


def _runs_on(discharge: Discharge) -> bool:
    """Tell whether the board still draws from an empty cell: a light may let go before."""
    first, last = (sum(float(each[row]) for each in discharge.draws.values()) for row in (0, -1))
    return last > 0.01 * first or bool(discharge.unknown)


def _below_the_curve(cell: Cell, circuit: Circuit) -> float:
    """Return the share of the charge between the end of the curve and 2.5 V a cell."""
    count = cell.series * (cell.type.cells if cell.type is not None else 1)
    end = cell.curve.voltage_points[-1][1] / count
    share = TAIL.value * max(end - DEEP.value, 0.0) / 0.5
    if share > 0.0:
        circuit.assume(f"charge of {cell.label} below {end:.2g} V", share, "", TAIL.source)
    return share


def _bench(protection: Protection, emptying: Emptying | None) -> str:
    if protection.against_emptying:
        return f"A short circuit on the board is fed by {THIS} until something burns."
    if emptying is None:
        return f"{THIS} is emptied until it is damaged if the board is left alone."
    if emptying.charge is None:
        return f"{THIS} is emptied until it is damaged: the board runs on below 2.5 V a cell."
    if emptying.time == float("inf"):
        return f"{THIS} is not parted from the board when it is empty."
    days = emptying.time / DAY
    shown = f"{days:.0f} days" if days >= 2.0 else f"{emptying.time / 3600.0:.0f} h"
    return f"{THIS} is damaged {shown} after the board has stopped, if it is left alone."


def _sum(protection: Protection, emptying: Emptying | None) -> str:
    said = []
    if emptying is not None and emptying.charge is not None:
        left = emptying.charge / emptying.capacity.value
        said.append(
            f"The board stops ({emptying.reason}) with {left:.1%} of the charge,"
            f" {emptying.charge / 3.6:.2g} mAh, left to 2.5 V{_still(emptying.remaining)}."
        )
    if not protection.against_emptying:
        beside = ", ".join(protection.beside[:4])
        said.append(
            f"{' and '.join(protection.lockouts)} stops the rest, but not {beside}."
            if protection.lockouts
            else "Nothing on the board parts it from its load when it is empty."
        )
    if not protection.against_short:
        said.append(
            "There is no fuse in its lead either." if said else "There is no fuse in its lead."
        )
    return " ".join(said)


def _still(remaining: Remaining | None) -> str:
    if remaining is None or remaining.current <= 0.0:
        return ""
    least = "at least " if remaining.unknown else ""
    return f", and {least}{show(remaining.current, 'A')} still flow"


def _fix(cell: Cell, protection: Protection, stated: Known[bool] | None) -> str:
    if protection.against_emptying:
        capacity = cell.capacity
        wanted = capacity.value / 3600.0 if capacity is not None else 1.0
        rating = next((each for each in FUSES if each >= wanted), FUSES[-1])
        return f"put a fuse of {show(rating, 'A')} in the plus lead of {THIS}, next to it"
    own = "" if stated is not None else " and state `protected: yes`"
    return (
        f"use a cell with its own protection{own}, or put a protection IC such as a DW01A with two"
        f" N-channel FETs in the minus lead of {THIS}"
    )


def _why(protection: Protection) -> str:
    if protection.against_emptying:
        return "A lithium cell gives many times its rated current into a short circuit."
    return (
        "Below 2.5 V copper dissolves in the cell; it can short inside when it is charged again."
    )


def _numbers(emptying: Emptying | None) -> tuple[Number, ...]:
    if emptying is None:
        return ()
    found = [Number("capacity", emptying.capacity.value, "C", emptying.capacity.source)]
    if emptying.charge is not None:
        origin = "computed: discharge over the curve of the cell"
        found.append(Number("charge from the stop to 2.5 V", emptying.charge, "C", origin))
    if emptying.remaining is not None:
        flows = emptying.remaining.current
        found.append(Number("current after the stop", flows, "A", "computed: the board, solved"))
    return (*found, Number("damaging voltage", DEEP.value, "V", DEEP.source))
