"""Addressable LEDs that draw current while dark, or get too little supply or data level.

On the bench
------------
The cell is empty after days although nothing was lit; or the LEDs flicker, show wrong colours or
stop at one of them, on some boards and at some temperatures only.

What is judged
--------------
Equal addressable LEDs on one rail together. The current that all of them draw while dark, on the
side of the cell, as a share of the mean current that the target allows: query from a quarter on,
note from a twentieth on; without a target a note with the days that it alone would allow. The high
level of the data line, at the same state of the cell, against 0.7 of their supply: query below.
Their rail against the least supply they need: a consequence of supply-window.

Left undetermined
-----------------
What each draws while dark, the capacity of the cell, what drives the data, or the voltages are
not known.

Cure
----
Switch their supply with a P-channel FET from a pin of the controller; run controller and LEDs from
one rail, or put a 74AHCT gate with the LEDs' supply into the data line.

Settings
--------
query_share : share of the target's mean current from which on it is a query. Default 0.25.
note_share : share of the target's mean current from which on it is a note. Default 0.05.
data_level : least data level as a share of the supply. Default 0.7.

Wrong (dark it takes 0.6 mA where the run time allows 1.4 mA)::

    BT1 lithium-ion VBAT GND
    ~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh}
    ~ run_time: 30 days
    U1 mcu VCC+ VBAT GND- GND PB0 DATA
    D1 addressable-led/WS2812B 1:VDD+ VBAT 2:DOUT> . 3:VSS- GND 4:DIN< DATA

Wrong (3.3 V of data for LEDs on 5 V)::

    J1 connector/in 1: V5 2: GND
    ~ sources: {J1: {net: V5, voltage: 5 V}}
    U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V
    U1 mcu VCC+ V3 GND- GND PB0 DATA
    D1 addressable-led/WS2812B 1:VDD+ V5 2:DOUT> . 3:VSS- GND 4:DIN< DATA

Right::

    J1 connector/in 1: V5 2: GND
    ~ sources: {J1: {net: V5, voltage: 5 V}}
    U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V
    U1 mcu VCC+ V3 GND- GND PB0 D3
    U3 logic/74AHCT1G125 VCC+ V5 GND- GND A< D3 Y> DATA
    D1 addressable-led/WS2812B 1:VDD+ V5 2:DOUT> . 3:VSS- GND 4:DIN< DATA

Sources
-------
0.7 of the supply as least high level of the data input, and the range of the supply: Worldsemi
WS2812B data sheet. That each draws some 0.6 mA to 1 mA while dark: no sheet says so; public
measurements ("under 1 mA per pixel", jpralves.net, 2019) and memory. Shares of a quarter and of a
twentieth: common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.addressable import AddressableGroup, AddressableGroups
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.idling import Idling
from boardvet.circuit.target import Target
from boardvet.circuit.windows import first_below, least_supply
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

LAST_TENTH = 0.9
"""What happens with less than a tenth of the charge left is a note."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How much of the target they may take, and what data level they need."""

    query_share: Annotated[float, ""] = 0.25
    note_share: Annotated[float, ""] = 0.05
    data_level: Annotated[float, ""] = 0.7


class Problem(NamedTuple):
    """One thing wrong with a group."""

    level: Level
    bench: str
    sum: str
    fix: str
    numbers: tuple[Number, ...]
    state: str = ""
    of_supply: bool = False


@rule(level=Level.QUERY)
def check(
    group: AddressableGroup, circuit: Circuit, groups: AddressableGroups, settings: Settings
) -> Found | Clear:
    """Judge one group by its dark current, its data level and its supply."""
    problems: list[Problem] = []
    missing: list[MissingFact] = []
    for look in (_data, _dark, _supply):
        try:
            problems.extend(look(group, circuit, groups, settings))
        except MissingFact as fact:
            missing.append(fact)
    if not problems:
        if missing:
            raise missing[0]
        return Clear()
    # What supply-window reports is said here only where nothing else is.
    own = [problem for problem in problems if not problem.of_supply] or problems
    own.sort(key=lambda problem: problem.level.rank)
    first = own[0]
    return Found(
        bench=first.bench,
        sum=" ".join(problem.sum for problem in own),
        fix="; ".join(problem.fix for problem in own),
        numbers=tuple(number for problem in own for number in problem.numbers),
        level=first.level,
        state=first.state,
        follows=("supply-window", group.supplies[0]) if first.of_supply else None,
    )


def _dark(
    group: AddressableGroup, circuit: Circuit, groups: AddressableGroups, settings: Settings
) -> Iterator[Problem]:
    """Judge what all of them draw while nothing is lit."""
    # Whether a cell feeds them for good does not depend on how much they draw.
    if circuit.view(Idling).standing(group.node, 1e-3) is None:
        return
    each = cast("Known[float]", circuit.need(group.references[0], "sleep_current"))
    count = len(group.references)
    standing = circuit.view(Idling).standing(group.node, count * each.value)
    if standing is None or standing.mean <= 0.0:
        return
    target = circuit.view(Target)
    share = target.share(standing.mean, standing.cell)
    if share is not None and share < settings.note_share:
        return
    per = f"{count} × {show(each.value, 'A')}" if count > 1 else show(each.value, "A")
    days = target.days_alone(standing.mean, standing.cell) * 86400.0
    of_target = "" if share is None else f"{_times(share)} what the run time allows; "
    alone = f"alone they empty the cell in {show(days, 's', 2)}"
    at_cell = f", {show(standing.current, 'A')} at the cell" if standing.because else ""
    yield Problem(
        Level.QUERY if share is not None and share >= settings.query_share else Level.NOTE,
        f"The cell empties although {THIS} {'is' if count == 1 else 'are'} dark.",
        f"Dark they draw {per}{at_cell}: {of_target}{alone}.",
        f"switch the supply of {THIS} with a P-channel FET from a pin",
        (
            Number("current of each while dark", each.value, "A", each.source),
            Number("mean current from the cell", standing.mean, "A", "computed: count × current"),
        ),
    )


def _times(share: float) -> str:
    return f"{share:.2g} times" if share >= 1.0 else f"{share:.0%} of"


def _data(
    group: AddressableGroup, circuit: Circuit, groups: AddressableGroups, settings: Settings
) -> Iterator[Problem]:
    """Judge the high level of the data line against the supply at the same moment."""
    level = groups.data_level(group)
    if level is None or level.share >= settings.data_level:
        return
    needed = settings.data_level * level.supply
    yield Problem(
        Level.QUERY,
        f"{THIS} may flicker, show wrong colours or stay dark, on some boards only.",
        f"{level.driver} gives {show(level.high, 'V')} of data ({level.rail}); on "
        f"{show(level.supply, 'V')} an input needs {show(needed, 'V')}, "
        f"{settings.data_level:g} of its supply.",
        f"feed {level.driver} and {THIS} from one rail, or put a 74AHCT1G125 on {group.rail} into "
        "the data line",
        (
            Number("data level", level.high, "V", "computed: rail of what drives the data"),
            Number("supply", level.supply, "V", "computed: rail at the same moment"),
        ),
        level.state.name,
    )


def _supply(
    group: AddressableGroup, circuit: Circuit, groups: AddressableGroups, settings: Settings
) -> Iterator[Problem]:
    """Judge the rail over the life of the cell against the least supply, where it is known."""
    reference = group.references[0]
    if circuit.known(reference, "supply") is None:
        return  # supply-window asks for it
    least = least_supply(circuit, reference).volts
    states = circuit.view(Feeding).states_of(group.node)
    below = [(first_below(fed.need().low, least.value), state) for state, fed in states]
    early = [(used, state) for used, state in below if used is not None]
    if not early:
        return
    used, state = min(early, key=lambda each: each[0])
    yield Problem(
        Level.NOTE if used > LAST_TENTH else Level.QUERY,
        f"{THIS} goes dim, shows wrong colours, then stops.",
        f"Its rail {group.rail} falls below the {show(least.value, 'V')} that it needs with "
        f"{1.0 - used:.0%} of the charge left.",
        "use LEDs that work on less, or a cell or booster that gives more",
        (Number("least supply", least.value, "V", least.source),),
        state.name,
        True,
    )
