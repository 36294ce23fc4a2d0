"""Something on the board can hurt someone.

On the bench
------------
Nothing: the board works. A child swallows the cell, a bare lithium cell is shorted or punctured, a
primary cell is charged and vents, a light that flashes provokes a seizure, or a part that stays
warm burns skin.

What is judged
--------------
Button and coin cells (wider than they are high) where children are near; lithium cells without a
stated protection or a protection IC on the board; a primary cell that another source has a way to,
blocked or not; a charger on a coin-size cell whose holder also takes a primary one (query); all
lights together flashing between 3 Hz and 60 Hz; heat near skin: a regulator or charger that may
reach the touch temperature at the hot end of the stated temperature (its inside, which its surface
stays below), or a board that in some state turns more than half a watt into heat, as the mean over
its pattern with fresh cells, or while an empty cell charges; what parts draw that nobody stated is
not in it. `near` on the intent page says who is near; without it all are assumed. Cautions name
the document to read. They are no legal advice: local rules and a licensed practitioner decide.

Left undetermined
-----------------
The type or the size of the cell, the pattern of the lights, or what the heat depends on, is not
known.

Cure
----
Close the battery compartment by a screw or by two movements at once; flash below 3 Hz (a period
over 333 ms) or above 60 Hz; charge or shine with less current, or keep 2 mm of air or cloth over
what gets warm; state `near` and `protected` where they are known.

Settings
--------
slowest : flashing slower than this is no concern. Default 3 Hz.
fastest : flashing faster than this looks steady. Default 60 Hz.
touch : temperature from which on skin may be burnt in hours. Default 43 degC.
power : heat of the whole board from which on it is warm to touch. Default 0.5 W.

Wrong (a coin cell within reach of a child)::

    BT1 CR2032 VBAT GND
    C1 1u VBAT GND

Wrong (all lights flash together at 10 Hz)::

    BT1 LR6 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    R1 100 LAMP _1
    D1 led/red _1 GND
    ~ pattern: [{name: flash, lights: [D1], for: 20 ms, every: 100 ms}]

Wrong (a linear charger on skin: half a watt at 230 K/W)::

    BT1 cell/pouch VBAT GND
    J1 usb-connector 1:VBUS VUSB 2:GND GND
    U1 MCP73831 1:STAT . 2:VSS- GND 3:VBAT> VBAT 4:VDD+ VUSB 5:PROG S = thermal_resistance 230 K/W
    R1 3k3 S GND
    ~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh, protected: yes}

Right::

    BT1 LR6 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    R1 100 LAMP _1
    D1 led/red _1 GND
    ~ pattern: [{name: flash, lights: [D1], for: 20 ms, every: 1 s}]

Sources
-------
16 CFR 1263 with ANSI/UL 4200A-2023 (United States) for products with button or coin cells: a
cell with a diameter greater than its height; IEC 60086-4 for primary lithium cells; IEC 62133-2
for lithium-ion cells. Flashing between 3 Hz and 60 Hz: common practice, after public advice on
photosensitive epilepsy (from memory). 43 °C for contact of 8 h and more, 48 °C for 10 min: ISO
13732-1 (from memory). Half a watt: 10 cm² of board, both sides, at 10 W/(m²·K) get 25 K warmer
than the air (an assumption).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, cast

from boardvet.circuit.backpaths import BackPaths
from boardvet.circuit.cells import Cell
from boardvet.circuit.handle import Circuit
from boardvet.circuit.hazards import Hazard, Topic
from boardvet.circuit.pattern import Pattern
from boardvet.circuit.protection import Protections
from boardvet.circuit.regulating import Regulating
from boardvet.circuit.shorts import Shorts
from boardvet.circuit.sources import Sources
from boardvet.circuit.warmth import Surface, Warmth
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

DEFER = "Local rules and a licensed practitioner decide"
"""Stands at the end of each cure, which is shown however short a note is."""
LITHIUM_ION = {"lithium-ion", "LiFePO4"}

READ_ON_HEAT = f"Read ISO 13732-1 and IEC 62368-1. {DEFER}"
LEAST_RISE = 5.0
"""A part that gets no warmer than this over the air is no hotter than its surroundings. [K]"""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """Between which rates flashing is a concern, and from where on heat is."""

    slowest: Annotated[float, "Hz"] = 3.0
    fastest: Annotated[float, "Hz"] = 60.0
    touch: Annotated[float, "degC"] = 43.0
    power: Annotated[float, "W"] = 0.5


@rule(level=Level.NOTE)
def check(
    hazard: Hazard,
    circuit: Circuit,
    pattern: Pattern,
    sources: Sources,
    paths: BackPaths,
    settings: Settings,
) -> Found | Clear:
    """Judge one hazard."""
    if hazard.topic is Topic.HEAT:
        return _heat(circuit, settings)
    if hazard.cell is None:
        return _flashing(hazard, circuit, pattern, settings)
    if hazard.topic is Topic.SWALLOWING:
        return _swallowing(hazard.cell, circuit)
    if hazard.topic is Topic.LITHIUM:
        return _lithium(hazard.cell, circuit)
    return _charging(hazard.cell, circuit, sources, paths)


def _near(circuit: Circuit, who: str) -> bool:
    """Tell whether somebody is near; with nothing stated all are, and that is an assumption."""
    stated = circuit.intent.near
    if stated is None:
        circuit.assume("near", "children, skin and eyes", "", "assumed: near is not stated")
        return True
    return who in stated.value


def _swallowing(cell: Cell, circuit: Circuit) -> Found | Clear:
    size = _coin_size(cell, circuit)
    if size is None or not _near(circuit, "children"):
        return Clear()
    diameter, height = size
    return Found(
        bench=f"A child who gets {THIS} out and swallows it can be burnt inside within hours.",
        sum=f"It is {show(diameter.value, 'm')} across and {show(height.value, 'm')} "
        "high: a button or coin cell.",
        fix="close its compartment by a screw that stays in, or by two movements at once, and "
        f"print the warning. Read 16 CFR 1263 and ANSI/UL 4200A (United States) and IEC 60086-4. "
        f"{DEFER}",
        numbers=(
            Number("diameter", diameter.value, "m", diameter.source),
            Number("height", height.value, "m", height.source),
        ),
    )


def _coin_size(cell: Cell, circuit: Circuit) -> tuple[Known[float], Known[float]] | None:
    """Return diameter and height of a button or coin cell, None if it is none.

    A battery on a lead is none. A rechargeable cell named by its chemistry alone is taken for a
    pouch or pack, since coins are named by their size. A primary one of unknown size ends the
    subject.
    """
    chemistry = cell.need_chemistry()
    if cell.plugged:
        return None
    size = cell.type
    if size is None or size.diameter is None or size.height is None:
        if chemistry.rechargeable:
            circuit.assume(
                f"shape of {cell.label}", "pouch or pack", "", "assumed: no size is named"
            )
            return None
        raise MissingFact(
            cell.reference,
            "cell",
            f"the size of the cell in {cell.reference} is not known",
            f"cell: {{part: {cell.reference}, type: LR6}}   # its type with the size in it",
        )
    coin = size.diameter.value > size.height.value
    return (size.diameter, size.height) if coin else None


def _lithium(cell: Cell, circuit: Circuit) -> Found | Clear:
    if cell.need_chemistry().name not in LITHIUM_ION:
        return Clear()
    stated = cell.stated.protected if cell.stated is not None else None
    if (stated is not None and stated.value) or circuit.view(Protections).protectors(cell):
        return Clear()
    return Found(
        bench=f"{THIS} can burn if it is shorted, crushed or charged wrongly.",
        sum="It is a lithium cell, nobody stated that it has its own protection, and the board "
        "has none for it.",
        fix="fit a cell with a protection circuit and state protected: yes under cell. "
        f"Read IEC 62133-2, and the cell maker's instructions. {DEFER}",
    )


def _charging(cell: Cell, circuit: Circuit, sources: Sources, paths: BackPaths) -> Found | Clear:
    """Judge the sources from which a way leads to the cell, blocked or not."""
    chemistry = cell.need_chemistry()
    reaching = [s for s in sources.besides_cells if paths.easiest(s, cell) is not None]
    others = ", ".join(source.label for source in reaching)
    if not others:
        return Clear()
    if not chemistry.rechargeable:
        return Found(
            bench=f"{THIS} must never be charged: it can leak, vent or burst.",
            sum=f"The board also takes power from {others}.",
            fix="keep two blocking elements between that source and the cell, and test with the "
            f"cell's maker's limit (primary-charged has it). Read IEC 60086-4. {DEFER}",
        )
    size = _coin_size(cell, circuit)
    if size is None:
        return Clear()
    return Found(
        bench=f"Somebody puts a primary cell of the same size into the holder of {THIS}, and the "
        "board charges it.",
        sum=f"A holder for {show(size[0].value, 'm')} takes primary lithium cells too.",
        fix="solder the rechargeable cell in, or use a holder that takes no primary cell. "
        f"Read IEC 60086-4. {DEFER}",
        level=Level.QUERY,
    )


def _flashing(
    hazard: Hazard, circuit: Circuit, pattern: Pattern, settings: Settings
) -> Found | Clear:
    if not pattern.stated:
        raise MissingFact(
            "board",
            "pattern",
            "how the lights flash is not known",
            f"pattern: [{{name: flash, lights: [{hazard.lights[0]}], for: 20 ms, every: 1 s}}]",
        )
    if not _near(circuit, "eyes"):
        return Clear()
    rates = {
        lit.period
        for light in hazard.lights
        for lit in pattern.lit(light)
        if lit.stated and lit.period and lit.duty < 1.0
    }
    steady = any(lit.duty >= 1.0 for light in hazard.lights for lit in pattern.lit(light))
    seen = sorted(
        1.0 / period for period in rates if settings.slowest <= 1.0 / period <= settings.fastest
    )
    if not seen or steady:
        return Clear()
    return Found(
        bench="The flashing can provoke a seizure in photosensitive people.",
        sum=f"The lights flash at {show(seen[0], 'Hz')}.",
        fix=f"flash below {show(settings.slowest, 'Hz')}, or above {show(settings.fastest, 'Hz')}"
        f". Advice on photosensitive epilepsy warns of such rates. {DEFER}",
        numbers=(Number("flash rate", seen[0], "Hz", "computed: from the pattern"),),
    )


def _heat(circuit: Circuit, settings: Settings) -> Found | Clear:
    """Judge the warmest part, then the board as a whole."""
    if not _near(circuit, "skin"):
        return Clear()
    warmth = circuit.view(Warmth)
    surface = max(warmth.surfaces, key=lambda surface: surface.rise, default=None)
    found = None if surface is None else _hot_part(circuit, surface, settings)
    state, watts = max(warmth.totals, key=lambda total: total[1])
    heat = Number("heat", watts, "W", "computed: the whole board, solved with fresh cells")
    if found is None and watts > settings.power:
        found = Found(
            bench="The board gets warm on the skin.",
            sum=f"It turns up to {show(watts, 'W')} into heat; from "
            f"{show(settings.power, 'W')} on a board of some 10 cm² gets 25 K warmer than the "
            "air.",
            fix=f"lower the current, or keep it off the skin by a wall and air. {READ_ON_HEAT}",
            numbers=(heat,),
            state=state.name,
        )
    if found is not None:
        # A board that a short warms is the finding of another rule.
        short = next((p for p in circuit.view(Shorts).all if p.joined or p.through), None)
        return found if short is None else replace(found, follows=("rail-shorted", short))
    for missing in warmth.missing:
        raise missing
    return Clear((heat,))


def _hot_part(circuit: Circuit, surface: Surface, settings: Settings) -> Found | None:
    """Judge a part by the temperature inside it, which its surface stays below."""
    air, resistance = circuit.view(Regulating).hottest, surface.resistance
    inside = air.value + surface.rise
    if resistance is None or surface.rise < LEAST_RISE or inside <= settings.touch:
        return None
    return Found(
        bench=f"{surface.reference} may burn skin that it touches for long.",
        sum=f"It turns {show(surface.power, 'W')} into heat; with "
        f"{show(resistance.value, 'K/W')} in air of {air.value:.0f} °C that is up to "
        f"{_held_back(circuit, surface, inside):.0f} °C inside. Skin stands "
        f"{settings.touch:.0f} °C for hours and 48 °C for 10 min.",
        fix=f"lower its current, or keep it off the skin by a wall and air. {READ_ON_HEAT}",
        numbers=(
            Number("heat", surface.power, "W", "computed: solved with fresh cells"),
            Number("thermal resistance", *_plain(resistance)),
            Number("air", *_plain(air)),
        ),
        state=surface.state.name,
        parts=(surface.reference,),
    )


def _held_back(circuit: Circuit, surface: Surface, inside: float) -> float:
    """Return the temperature at which a part holds itself back, if it would get hotter."""
    limit = circuit.known(surface.reference, "junction_max")
    return inside if limit is None else min(inside, cast("float", limit.value))


def _plain(known: Known[float]) -> tuple[float, str, str]:
    return known.value, known.unit, known.source
