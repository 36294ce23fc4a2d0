"""A primary cell can be charged.

On the bench
------------
The cell gets warm while the other source is connected; it leaks, swells or bursts, at once or
after months.

What is judged
--------------
Each primary cell against every other source: the way on which least blocks is searched,
backwards through switches, fuses, resistors, FETs that conduct and regulators. Charger, USB,
solar cell or stated source with nothing that blocks: hold, with the solved current and the
maker's limit for abnormal charging where it is known. One blocking part alone is a note: makers
ask for a second element. A charger whose output reaches it, and another cell with nothing between:
hold. A programming header on the cell's rail: query, a note where a hand
switch parts them, with the current at 5 V and at 3.3 V. Equal primaries in parallel: query, with
the current between a fresh and a used one; lithium cylinders hold.

Left undetermined
-----------------
The type of the cell, or the voltage of the source, is not known.

Cure
----
Put a Schottky diode in the cell's lead towards the board and a second one, or a resistor of 1 kΩ
where the load allows it, in series with it.

Settings
--------
harmless : current into the cell below which nothing is found. Default 1 µA.

Wrong (USB feeds the cell's rail through a resistor)::

    BT1 CR2032 VBAT GND
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    R1 100 VIN VBAT
    U1 mcu VCC+ VBAT GND- GND

Wrong (the programmer's supply reaches the cell)::

    BT1 CR2032 VBAT GND
    J1 connector/ISP 1:VCC VBAT 2:MISO SO 3:SCK SCK 4:GND GND
    U1 mcu VCC+ VBAT GND- GND PB1 SO PB2 SCK

Right (two diodes in the lead of the cell)::

    BT1 CR2032 CELL GND
    D1 diode/BAT54 CELL _1
    D2 diode/BAT54 _1 VBAT
    J1 connector/in 1: VIN 2: GND
    ~ sources: {J1: {net: VIN, voltage: 5 V}}
    R1 100 VIN VBAT
    U1 mcu VCC+ VBAT GND- GND

Sources
-------
UL 1642 conditions as printed in the Renata lithium guide, p. 53: two diodes in series, or a diode
and a resistor that limits the current if the diode fails. Limits of abnormal charging by type:
the same page. IEC 60086-4 for what happens when primary lithium is charged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.circuit.backpaths import BackPath, BackPaths
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.handle import Circuit
from boardvet.circuit.sources import Source, SourceKind, Sources
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

PROGRAMMER_VOLTS = (5.0, 3.3)
UNBLOCKED = "A primary cell must not be charged, and nothing on the way blocks."
LITHIUM_CYLINDERS = ("lithium iron disulphide",)


@dataclass(frozen=True)
class Settings(RuleSettings):
    """What current into a cell is of no concern."""

    harmless: Annotated[float, "A"] = 1e-6


@rule(level=Level.HOLD)
def check(
    cell: Cell,
    circuit: Circuit,
    paths: BackPaths,
    cells: Cells,
    sources: Sources,
    converters: Converters,
    settings: Settings,
) -> Found | Clear:
    """Judge one cell against every other source, the worst first."""
    if cell.need_chemistry().rechargeable or cell.plus is None:
        return Clear()
    answers = [
        *(_from_charger(cell, charger, paths) for charger in converters.chargers()),
        *(
            _from_source(cell, source, circuit, paths, settings)
            for source in sources.all
            if source.kind is not SourceKind.CELL
        ),
        *(_from_cell(cell, other, paths, settings, sources) for other in cells.all),
        _in_parallel(cell, cells, paths),
    ]
    found = [answer for answer in answers if answer is not None]
    return min(found, key=lambda one: (one.level or Level.HOLD).rank, default=Clear())


def _from_charger(cell: Cell, charger: Regulator, paths: BackPaths) -> Found | None:
    """Judge a charger whose output reaches the cell, whatever feeds it."""
    through = paths.from_charger(charger, cell)
    if through is None:
        return None
    by = f" through {', '.join(through)}" if through else ""
    output = charger.conversion.output
    volts = f", which it charges to {show(output.value.high, 'V')}" if output else ""
    return Found(
        bench=f"{THIS} is charged by {charger.reference}: it leaks or bursts.",
        sum=f"The output of {charger.reference} reaches the plus of the cell{by}{volts}"
        f"{_limit_text(cell)}.",
        fix=f"fit a rechargeable cell that {charger.reference} is made for in place of {THIS}",
        why=UNBLOCKED,
        numbers=_limit(cell),
        parts=(charger.reference, *through),
    )


def _from_cell(
    cell: Cell, other: Cell, paths: BackPaths, settings: Settings, sources: Sources
) -> Found | None:
    """Judge another cell that feeds into this one with nothing that blocks between them."""
    source = next((s for s in sources.all if s.reference == other.reference), None)
    beside = (other.plus, other.minus) == (cell.plus, cell.minus)
    if source is None or beside or cell in paths.stack(other) or other in paths.stack(cell):
        return None
    path = paths.easiest(source, cell)
    if path is None or path.blocking:
        return None
    volts, ohms = paths.of_cell(other)
    current = paths.current_into(path, cell, volts, ohms)
    if current <= settings.harmless:
        return None
    numbers = (Number("current into the cell", current, "A", "computed: the way, solved"),)
    when = f"by {other.label} as it empties"
    return _unblocked(cell, path, when, f"a fresh {other.reference}", numbers)


def _from_source(
    cell: Cell, source: Source, circuit: Circuit, paths: BackPaths, settings: Settings
) -> Found | None:
    path = paths.easiest(source, cell)
    if path is None or len(path.blocking) > 1:
        return None
    if source.kind is SourceKind.HEADER:
        return _from_programmer(cell, path, paths, settings)
    if source.voltage is None:
        raise circuit.facts.missing(source.reference, "voltage")
    volts = source.voltage.value.high
    current, origin = _into(circuit, source, paths.current_into(path, cell, volts))
    if current <= settings.harmless:
        return None
    numbers = (
        Number("current into the cell", current, "A", origin),
        Number("source voltage", volts, "V", source.voltage.source),
    )
    if path.blocking:
        return _blocked_once(cell, path, current, numbers)
    when = f"whenever {source.label} is connected"
    return _unblocked(cell, path, when, source.label, numbers)


def _unblocked(
    cell: Cell, path: BackPath, when: str, giver: str, numbers: tuple[Number, ...]
) -> Found:
    """Say what a way does on which nothing blocks; the first number is the current."""
    through = ", ".join(path.parts) or "nothing at all"
    return Found(
        bench=f"{THIS} is charged {when}: it leaks or bursts.",
        sum=f"{show(numbers[0].value, 'A')} flow from {giver} into the cell through {through}"
        f"{_limit_text(cell)}.",
        fix=f"put two Schottky diodes in series between {THIS} and the rail",
        why=UNBLOCKED,
        numbers=(*numbers, *_limit(cell)),
        parts=(path.source.reference, *path.parts),
        nets=(path.source.node,),
        state=path.state.name,
    )


def _into(circuit: Circuit, source: Source, solved: float) -> tuple[float, str]:
    """Return the current into the cell with its source: at most what the source can give."""
    stated = circuit.intent.sources.get(source.reference)
    most = stated.current_max if stated is not None else None
    if most is not None and most.value < solved:
        return most.value, most.source
    return solved, "computed: the way to the cell, solved"


def _limit(cell: Cell) -> tuple[Number, ...]:
    known = cell.type.abnormal_charge_current if cell.type else None
    return (Number("abnormal charge limit", known.value, "A", known.source),) if known else ()


def _limit_text(cell: Cell) -> str:
    known = cell.type.abnormal_charge_current if cell.type else None
    return f"; its maker allows {show(known.value, 'A')} in a fault" if known else ""


def _blocked_once(
    cell: Cell, path: BackPath, current: float, numbers: tuple[Number, ...]
) -> Found:
    (blocking,) = path.blocking
    return Found(
        bench=f"If {blocking} fails, {path.source.label} charges {THIS}.",
        sum=f"{blocking} alone keeps it off; shorted, it lets {show(current, 'A')} through"
        f"{_limit_text(cell)}.",
        fix=f"put a second Schottky diode in series with {blocking}",
        why="Makers of primary cells ask for two blocking elements, or one and a resistor.",
        numbers=(*numbers, *_limit(cell)),
        level=Level.NOTE,
        parts=(path.source.reference, *path.parts),
        nets=(path.source.node,),
        state=path.state.name,
    )


def _from_programmer(
    cell: Cell, path: BackPath, paths: BackPaths, settings: Settings
) -> Found | None:
    if path.blocking:
        return None
    high, low = (paths.current_into(path, cell, volts) for volts in PROGRAMMER_VOLTS)
    if high <= settings.harmless:
        return None
    label = path.source.reference
    return Found(
        bench=f"{THIS} is charged while a programmer in {label} feeds the board.",
        sum=f"A 5 V programmer pushes {show(high, 'A')} into it, one of 3.3 V {show(low, 'A')}"
        f"{_limit_text(cell)}.",
        fix="take the cell out to program, or part its lead with a switch or a diode",
        why="A programmer that feeds its target is a source like any other.",
        numbers=(
            Number("current into the cell at 5 V", high, "A", "computed: the way, solved"),
            Number("current into the cell at 3.3 V", low, "A", "computed: the way, solved"),
            *_limit(cell),
        ),
        level=Level.NOTE if path.switched else Level.QUERY,
        parts=(label, *path.parts),
        nets=(path.source.node,),
        state=path.state.name,
    )


def _in_parallel(cell: Cell, cells: Cells, paths: BackPaths) -> Found | None:
    """Judge equal primaries side by side, once a group: at its first cell."""
    group = [c for c in cells.all if (c.plus, c.minus) == (cell.plus, cell.minus)]
    if len(group) < 2 or group[0].reference != cell.reference or cell.minus is None:
        return None
    current = paths.current_between(cell, 0.0, 0.5)
    hold = cell.need_chemistry().name in LITHIUM_CYLINDERS
    others = ", ".join(c.reference for c in group[1:])
    return Found(
        bench=f"A fresh cell in {THIS} charges a used one in {others}.",
        sum=f"Between a fresh and a half used cell {show(current, 'A')} flow.",
        fix="put a Schottky diode in the lead of each cell, or use one larger cell",
        why="Cells side by side share one voltage, so the fuller charges the emptier.",
        numbers=(Number("current", current, "A", "computed: the pair of cells, solved"),),
        level=Level.HOLD if hold else Level.QUERY,
        parts=tuple(c.reference for c in group),
    )
