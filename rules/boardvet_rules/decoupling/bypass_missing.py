"""An IC has no small capacitor from its supply to ground.

On the bench
------------
The part works until it switches many outputs at once or sends, then resets or misreads; touching
it with a probe moves the fault.

What is judged
--------------
Each rail: the fitted ceramic capacitors of 10 nF or more from it to ground, counted against the
supply pins on it. Electrolytic, tantalum and polymer capacitors alone do not count, nor does what
lies behind a ferrite: that is another rail. Query where there are fewer than pins; a note where
only small parts (up to 8 pins, no controller) have to share with a neighbour. Hold where a
controller, a radio or a regulator stands on the rail and no capacitor of any kind does. Not
counted: modules and parts with capacitors inside (`bypass_inside`), back-up and reference pins,
and regulators and chargers, whose makers ask for capacitors of their own. A netlist has no
places: this rule proves too few, `bypass-far` judges where they are.

Left undetermined
-----------------
No ground is known, or the count turns on a capacitor of which the value or the making is not
known.

Cure
----
Add 100 nF (X7R) from the rail to ground beside each supply pin that has none.

Settings
--------
per_pin : capacitors wanted for each supply pin. Default 1.
smallest : least capacitance that counts. Default 10 nF.

Wrong (nothing at all: a hold)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP

Wrong (a tantalum capacitor alone is too slow)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    C1 47u VBAT GND = dielectric tantalum

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP
    C1 100n VBAT GND

Right (a module brings its own)::

    BT1 CR2032 VBAT GND
    U1 module VCC+ VBAT GND- GND TX DATA

Sources
-------
Data sheets of controllers ask for 100 nF at each supply pin. That small parts may share one, and
that 10 nF is enough: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Annotated

from boardvet.circuit.bypass import Bypass, RailBypass
from boardvet.circuit.capacitors import Capacitor
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SupplyRail, node_label
from boardvet.circuit.values import missing_value
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

NAMED = 4
"""As many parts are named one by one; of more, the number is said."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How many capacitors are wanted, and from which size on one counts."""

    per_pin: Annotated[float, ""] = 1.0
    smallest: Annotated[float, "F"] = 10e-9


@dataclass(frozen=True)
class Count:
    """What a rail has and what it asks for."""

    have: int
    wanted: int
    least: int


@rule(level=Level.QUERY)
def check(
    rail: SupplyRail, circuit: Circuit, bypass: Bypass, grounds: Grounds, settings: Settings
) -> Found | Clear:
    """Judge one rail by the capacitors on it."""
    on_rail = bypass.of_rail[rail.node]
    if on_rail.alone or not (on_rail.asking or on_rail.heavy):
        return Clear()
    ground = node_label(circuit, on_rail.ground or grounds.main)
    if on_rail.heavy and not on_rail.capacitors:
        return _none(rail, on_rail, ground)
    count = _count(on_rail, settings)
    numbers = (
        Number("capacitors", count.have, "", "netlist: counted"),
        Number("wanted", count.wanted, "", "netlist: supply pins, counted"),
    )
    if count.have >= count.wanted:
        return Clear(numbers)
    _decide_doubtful(circuit, on_rail, count)
    return Found(
        bench=f"{_names(on_rail)} on {THIS} may reset or misread when several outputs switch.",
        sum=_sum(on_rail, count, ground, settings),
        fix=_fix(on_rail, count.wanted - count.have, ground),
        why="The way to the cell or regulator is too long for the nanoseconds in which a part "
        "switches.",
        numbers=numbers,
        level=Level.NOTE if 0 < count.least <= count.have else Level.QUERY,
        parts=tuple(on_rail.asking),
        follows=None if rail.fed else ("rail-unfed", rail),
    )


def _none(rail: SupplyRail, on_rail: RailBypass, ground: str) -> Found:
    missing = max(len(on_rail.pins), 1)
    return Found(
        bench=f"{_of(on_rail.heavy)} on {THIS} {'is' if len(on_rail.heavy) == 1 else 'are'} "
        "not stable: resets, misreads or oscillates.",
        sum=f"No capacitor at all leads from {THIS} to {ground}.",
        fix=_fix(on_rail, missing, ground),
        why="Every edge of its outputs pulls the supply down, and nothing near holds it.",
        numbers=(
            Number("capacitors", 0, "", "netlist: counted"),
            Number("wanted", missing, "", "netlist: supply pins, counted"),
        ),
        level=Level.HOLD,
        parts=tuple(dict.fromkeys((*on_rail.asking, *on_rail.heavy))),
        follows=None if rail.fed else ("rail-unfed", rail),
    )


def _count(on_rail: RailBypass, settings: Settings) -> Count:
    """Count; `least` is enough for the larger parts, or 1, where small ones are ganged."""
    wanted = ceil(settings.per_pin * len(on_rail.pins))
    larger = [p for p in on_rail.pins if p.reference not in on_rail.small]
    least = max(ceil(settings.per_pin * len(larger)), 1) if on_rail.small else wanted
    return Count(len(on_rail.counted(settings.smallest)), wanted, least)


def _decide_doubtful(circuit: Circuit, on_rail: RailBypass, count: Count) -> None:
    """End the subject where capacitors of unknown value or making would turn the count."""
    doubtful = on_rail.doubtful()
    if not doubtful or count.have + len(doubtful) < count.least:
        return
    first = doubtful[0]
    if first.value is None:
        raise missing_value(first.reference)
    raise circuit.facts.missing(first.reference, "dielectric")


def _sum(on_rail: RailBypass, count: Count, ground: str, settings: Settings) -> str:
    pins = "1 supply pin" if count.wanted == 1 else f"{count.wanted} supply pins"
    wanted = f"{pins} on {THIS}"
    size = show(settings.smallest, "F")
    if not count.have:
        rest = _too_slow(on_rail.capacitors)
        return f"No ceramic capacitor of {size} or more to {ground} for {wanted}{rest}."
    has = "1 ceramic capacitor" if count.have == 1 else f"{count.have} ceramic capacitors"
    return f"{has} of {size} or more to {ground} for {wanted}."


def _too_slow(capacitors: tuple[Capacitor, ...]) -> str:
    slow = [f"{c.reference} ({c.technology})" for c in capacitors if not c.ceramic]
    return f"; {' and '.join(slow[:2])} alone {'is' if len(slow) == 1 else 'are'} too slow" * bool(
        slow
    )


def _fix(on_rail: RailBypass, missing: int, ground: str) -> str:
    count = "100 nF" if missing == 1 else f"{missing} × 100 nF"
    one = len(on_rail.pins) == 1
    where = f"beside {on_rail.pins[0].label}" if one else "one beside each pin that has none"
    added = f"add {count} (X7R) from {THIS} to {ground}, {where}"
    if not on_rail.pins:
        added = f"add 1 µF (X7R) from {THIS} to {ground}, beside {_of(on_rail.heavy)}"
    if not on_rail.left_off:
        return added
    fitting = " and ".join(on_rail.left_off[:missing])
    more = f", then {added}" if len(on_rail.left_off) < missing else ""
    return f"fit {fitting}, drawn but marked as not fitted{more}"


def _names(on_rail: RailBypass) -> str:
    return _of(tuple(on_rail.asking))


def _of(references: tuple[str, ...]) -> str:
    if len(references) > NAMED:
        return f"{len(references)} parts"
    *most, last = references
    return f"{', '.join(most)} and {last}" if most else last
