"""A regulator uses up the cell by itself while the board rests.

On the bench
------------
The board works, but the cell is empty long before the sum of its loads says so, even if it is
never used.

What is judged
--------------
Each regulator that a cell feeds and that nothing switches off: its own current, as a share of
the mean current that the cell can give over the run time wanted. Query from a quarter of it, note
from a twentieth. That of a booster flows from its output, so it counts on the side of the cell as
I · Vout / (η · Vin), with the mean voltage of the cell over its life. Where it is known that a
part uses more while its input is too low to regulate (bipolar types), that counts for the share of
the charge during which the cell is so low. Behind a switching regulator a current counts as power.

Without a run time wanted: note where the regulator alone would empty the cell within a year.

Quiet: an enable pin that a pin, transistor or contact can pull; a hand switch or a FET that is
switched before the input; what only USB or another source feeds. Chargers are judged by the
charger rules. A hand switch that a mode closes counts for the share of that mode.

Left undetermined
-----------------
The own current of the regulator, the cell or its capacity is not known.

Cure
----
A type with less current of its own, or let a controller that has a supply of its own switch it
off.

Settings
--------
query : share of the mean current from which somebody must answer. Default 25 %.
note : share from which it is worth knowing. Default 5 %.
alone : time within which it may not empty the cell alone, without a run time wanted.
    Default 1 year.

Wrong::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 4, capacity: 2500 mAh}
    ~ run_time: 60 days
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = quiescent_current 5 mA

Right::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 4, capacity: 2500 mAh}
    ~ run_time: 60 days
    U1 regulator VIN+ VBAT VOUT> VCC GND- GND = output 3.3 V = quiescent_current 2 uA

Right (a controller with a supply of its own switches it)::

    BT1 LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 2, capacity: 2500 mAh}
    ~ run_time: 60 days
    U1 regulator VIN+ VBAT VOUT> VCC EN< ON GND- GND = output 2.5 V = quiescent_current 5 mA
    U2 mcu VCC+ VBAT GND- GND PA1 ON

Sources
-------
TI SLVA079, section 4: a regulator's own current is what its input takes less what its output
gives. Microchip MCP1640 data sheet, note to its table of characteristics: the own current of a
booster is measured at its output. A quarter and a twentieth: the rule book of this project.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.circuit.converters import Regulator
from boardvet.circuit.idling import Idle, Idling
from boardvet.circuit.target import DAY, Target
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@dataclass(frozen=True)
class Settings(RuleSettings):
    """From which share of the mean current it is worth a word."""

    query: Annotated[float, ""] = 0.25
    note: Annotated[float, ""] = 0.05
    alone: Annotated[float, "s"] = 365 * DAY


@rule(level=Level.QUERY)
def check(
    regulator: Regulator, idling: Idling, target: Target, settings: Settings
) -> Found | Clear:
    """Judge one regulator by what it takes for itself."""
    idle = idling.idle(regulator)
    if idle is None:
        return Clear()
    mean = target.mean_current_of(idle.cell)
    if mean is None:
        return _alone(idle, target, settings)
    share = idle.mean / mean.value
    numbers = (
        *_numbers(idle),
        Number("mean current for the run time", mean.value, "A", mean.source),
    )
    if share < settings.note:
        return Clear(numbers)
    return Found(
        bench=_bench(idle, share, target),
        sum=f"{_sum(idle)}, and over the run time wanted {idle.cell} can give "
        f"{show(mean.value, 'A')} on average.",
        fix=_fix(idle, settings.note * mean.value),
        why=_why(idle),
        numbers=numbers,
        level=Level.QUERY if share >= settings.query else Level.NOTE,
        parts=(idle.cell,),
    )


def _bench(idle: Idle, share: float, target: Target) -> str:
    if share < 1.0 or target.run_time is None:
        return f"{idle.cell} runs empty early: {THIS} uses {share:.0%} of its charge for itself."
    wanted = target.run_time.value / DAY
    return (
        f"{idle.cell} is empty after {wanted / share:.3g} of {wanted:.3g} days, from {THIS} alone."
    )


def _alone(idle: Idle, target: Target, settings: Settings) -> Found | Clear:
    """Judge without a run time wanted: how long the cell lasts with nothing else."""
    capacity = target.need_capacity(idle.cell)
    lasts = capacity.value / idle.mean if idle.mean else float("inf")
    numbers = (*_numbers(idle), _capacity(idle, capacity))
    if lasts >= settings.alone:
        return Clear(numbers)
    return Found(
        bench=f"{idle.cell} is empty after {lasts / DAY:.0f} days even if the board does nothing.",
        sum=f"{_sum(idle)}, out of {show(capacity.value / 3.6, '')} mAh.",
        fix=_fix(idle, capacity.value / settings.alone),
        why=_why(idle),
        numbers=numbers,
        level=Level.NOTE,
        parts=(idle.cell,),
    )


def _capacity(idle: Idle, capacity: Known[float]) -> Number:
    return Number(f"charge of {idle.cell}", capacity.value, "C", capacity.source)


def _numbers(idle: Idle) -> tuple[Number, ...]:
    source = f"computed: {idle.because}" if idle.because else idle.own.source
    known = [
        Number("own current", idle.own.value, "A", idle.own.source),
        Number("own current, at the cell", idle.current, "A", source),
    ]
    if idle.dropout is not None:
        known.insert(
            1, Number("own current, out of regulation", *_plain(idle.dropout), idle.dropout.source)
        )
    return tuple(known)


def _plain(known: Known[float]) -> tuple[float, str]:
    return known.value, known.unit


def _sum(idle: Idle) -> str:
    own = show(idle.own.value, "A")
    if abs(idle.current - idle.own.value) <= 0.005 * idle.own.value:
        taken = f"{THIS} takes {own} for itself"
    elif idle.unregulated and not idle.because:
        low = show(idle.dropout.value, "A") if idle.dropout is not None else ""
        taken = (
            f"{THIS} takes {own} for itself, and {low} for the last {idle.unregulated:.0%} of the "
            f"charge, when it no longer regulates"
        )
    else:
        taken = f"{THIS} uses {own} itself, which is {show(idle.current, 'A')} at {idle.cell}"
    return taken if idle.share > 0.995 else f"{taken}, {idle.share:.0%} of the time"


def _why(idle: Idle) -> str:
    return f"At {idle.cell} its own current counts {idle.because}." if idle.because else ""


def _fix(idle: Idle, allowed: float) -> str:
    scale = idle.own.value / idle.mean if idle.mean else 1.0
    return (
        f"fit a type of at most {show(allowed * scale, 'A')} of its own, or let something that "
        "has a supply of its own switch it off at rest"
    )
