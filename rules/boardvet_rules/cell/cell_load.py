"""A cell is loaded with more current than it is rated for.

On the bench
------------
The board works with a fresh cell and is weak or dead long before the printed capacity is used.

What is judged
--------------
Each cell in each mode of use in which nothing else feeds the board: the board is solved for every
step of the pattern, and the mean current at half of the charge is held against the continuous
current that the cell is rated for, with the share of the capacity that is left at that rate.
Query: beyond it. A mode that lasts for less than a hundredth of the time is a pulse to the cell.
Note: a pulse beyond the rated pulse current, where there is one, with what the capacitors of the
rail take over; what the rail then does is judged by `cell-sag` or `boost-starved`. Without a
pattern every light is taken as on.

Left undetermined
-----------------
The cell, its size or capacity, the current at rest of a part that it feeds, or what a light or a
regulator needs to be solved, is not known.

Cure
----
A cell that is made for the current, such as 2 × LR03 in place of a CR2032; shorter or dimmer
light; a larger capacitor against pulses.

Settings
--------
brief : share of the time below which a mode is a pulse to the cell. Default 1 %.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND = sleep_current 1 uA
    ~ pattern:
    ~ - {part: U1, current: 6 mA}

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND = sleep_current 1 uA
    ~ pattern:
    ~ - {part: U1, current: 6 mA, for: 10 ms, every: 1 s}

Right (the reservoir carries the pulse)::

    BT1 CR2032 VBAT GND
    C1 470u VBAT GND = dielectric tantalum = voltage_rating 6.3 V
    U1 mcu VCC+ VBAT GND- GND = sleep_current 1 uA
    ~ pattern:
    ~ - {part: U1, current: 30 mA, for: 1 ms, every: 1 s}

Sources
-------
Rated currents: data sheet of the cell; for a CR2032 3 mA continuous and 15 mA in pulses are
customary (encyc.org). Share left: Nordic, "Improve battery life" (3 mA from a CR2032 leave some
60 %); Energizer's LR6 at 25 and 500 mA. A hundredth: assumed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from boardvet.circuit.cell_load import CellLoad, CellLoads
from boardvet.circuit.cells import Cell
from boardvet.circuit.converters import Regulator
from boardvet.circuit.handle import Circuit
from boardvet.circuit.pulled import pulled_low
from boardvet.errors import MissingFact
from boardvet.facts.cell import CellType, cell_type
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Subject

COMMON = ("CR2032", "CR2450", "LR03", "LR6")
"""Primary cells that are sold everywhere, the smaller first."""

SAME_VOLTAGE = 0.12
"""How far the nominal voltage of another cell may be off, as a share."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """When a mode of use is a pulse."""

    brief: Annotated[float, ""] = 0.01


@rule(level=Level.QUERY)
def check(cell: Cell, circuit: Circuit, loads: CellLoads, settings: Settings) -> Found | Clear:
    """Judge one cell by its ratings."""
    if cell.plus is None:
        return Clear()
    cell.need_chemistry()
    each = loads.of_cell(cell)
    if not any(load.mean > 0.0 or load.pulse for load in each):
        return Clear()
    rated = _need_rating(cell)
    long = [load for load in each if load.timeline.share >= settings.brief]
    worst = max(long, key=lambda load: load.mean, default=None)
    if worst is not None and worst.mean > rated.value:
        return _overloaded(cell, circuit, worst, rated)
    pulse = _pulse(cell, each, settings)
    if pulse is not None:
        return replace(pulse, follows=_sagging(circuit))
    unknown = loads.unknown(cell)
    if unknown:
        raise circuit.facts.missing(unknown[0], "sleep_current")
    mean = worst.mean if worst is not None else 0.0
    return Clear((_mean(mean), _rating("rated continuous current", rated)))


def _need_rating(cell: Cell) -> Known[float]:
    """Return the rated continuous current, or ask for what it follows from."""
    rated = cell.continuous_current
    if rated is None:
        cell.need_capacity()
        raise MissingFact(
            cell.reference,
            "cell",
            f"which size of cell {cell.label} is, and so its rated current, is not known",
            f"cell: {{part: {cell.reference}, type: LR6}}   # the type you will fit",
        )
    return rated


def _overloaded(cell: Cell, circuit: Circuit, load: CellLoad, rated: Known[float]) -> Found:
    left = cell.share_left(load.mean)
    numbers = [_mean(load.mean), _rating("rated continuous current", rated)]
    if left < 1.0:
        rate = cell.rate
        circuit.assume(
            f"capacity of {cell.label} at its rate", f"{left:.0%} left", "", rate.source
        )
        numbers.append(Number("share of the capacity left", left, "", rate.source))
    capacity = cell.capacity
    lost = f"; at that rate {left:.0%} of its capacity is left" if left < 1.0 else ""
    if left < 1.0 and capacity is not None:
        lost += f", {capacity.value * left / 3.6:.0f} of {capacity.value / 3.6:.0f} mAh"
        numbers.append(Number("capacity", capacity.value, "C", capacity.source))
    return Found(
        bench=f"{THIS} is weak early and gives far less than its printed capacity.",
        sum=f"It gives {show(load.mean, 'A')} on average{_in_mode(load)}, and is rated for "
        f"{show(rated.value, 'A')}{lost}.",
        fix=_fix(cell, load.mean, rated),
        why="A cell that is emptied faster than it is made for gives less of its charge.",
        numbers=tuple(numbers),
        state=load.timeline.state.name,
    )


def _pulse(cell: Cell, each: tuple[CellLoad, ...], settings: Settings) -> Found | None:
    """Return the note on the strongest pulse, None where it is within the rating."""
    allowed = cell.pulse_current
    if allowed is None:
        return None  # nobody states a limit, as for alkaline cylinders
    brief = [load for load in each if load.timeline.share < settings.brief]
    strongest = max(
        [
            *((load.pulse.given, load) for load in each if load.pulse is not None),
            *((load.mean, load) for load in brief),
        ],
        key=lambda pair: pair[0],
        default=None,
    )
    if strongest is None or strongest[0] <= allowed.value:
        return None
    given, load = strongest
    pulse = load.pulse if load.pulse is not None and load.pulse.given == given else None
    less = ""
    if pulse is not None and pulse.given < 0.9 * pulse.steady:
        less = f" (of {show(pulse.steady, 'A')}; the capacitors of its rail give the rest)"
    return Found(
        bench=f"{THIS} ages early and sags in its strongest pulse.",
        sum=f"In a pulse it gives {show(given, 'A')}{less}{_in_mode(load)}, and is rated for "
        f"{show(allowed.value, 'A')}.",
        fix=f"bring the pulse below {show(allowed.value, 'A')}, or put a larger capacitor beside"
        f" {THIS}",
        why="Its voltage during the pulse is judged by cell-sag.",
        numbers=(
            Number("current in the pulse", given, "A", "computed: the board, solved"),
            _rating("rated pulse current", allowed),
        ),
        level=Level.NOTE,
        state=load.timeline.state.name,
    )


def _sagging(circuit: Circuit) -> tuple[str, Subject] | None:
    """Return what the pulses pull too low: a part by `cell-sag`, or a booster that starves."""
    pulled = pulled_low(circuit)
    if pulled is None:
        return None
    return "boost-starved" if isinstance(pulled, Regulator) else "cell-sag", pulled


def _in_mode(load: CellLoad) -> str:
    return f" in mode {load.timeline.name}" if load.timeline.name else ""


def _mean(current: float) -> Number:
    return Number("mean current at half charge", current, "A", "computed: the board, solved")


def _rating(name: str, known: Known[float]) -> Number:
    return Number(name, known.value, "A", known.source)


def _fix(cell: Cell, mean: float, rated: Known[float]) -> str:
    """Return a cell that stands the current, and what else helps."""
    less = f"bring its mean current below {show(rated.value, 'A')}"
    chemical = cell.need_chemistry()
    if chemical.rechargeable:
        if not chemical.one_hour_source:
            return less
        return f"fit a cell of at least {mean * 1e3:.0f} mAh in place of {THIS}, or {less}"
    other = _stronger(cell, mean)
    return f"fit {other} in place of {THIS}, or {less}" if other else less


def _stronger(cell: Cell, mean: float) -> str:
    """Return the first common primary cell of the same voltage that is rated for a current."""
    own: CellType | None = cell.type
    nominal = (own or cell.need_chemistry()).nominal_voltage.value * cell.series
    for name in COMMON:
        other = cell_type(name)
        if other is None or other.continuous_current is None:
            continue
        count = max(1, round(nominal / other.nominal_voltage.value))
        volts = count * other.nominal_voltage.value
        if abs(volts / nominal - 1) <= SAME_VOLTAGE and other.continuous_current.value >= mean:
            return f"{count} × {name}" if count > 1 else f"a {name}"
    return ""
