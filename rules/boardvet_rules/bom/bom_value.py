"""The BOM gives a part another value than the netlist.

On the bench
------------
The board is built with the value of the BOM: a light is too dim or too bright, a voltage is wrong,
a bus does not work.

What is judged
--------------
Each part that is fitted on both sides. Values are compared as numbers (4k7 is 4.7 kΩ, 104 on a
capacitor is 100 nF), zeners by voltage, fuses by current; voltage, tolerance and case beside a
value do not count. Where the value column holds no number, the description is read. LEDs are
compared by colour where both name one. Integrated circuits, diodes and transistors are compared by
name: suffixes and a second source of the same number are alike, another number is a query. A text
that says nothing clear is no difference. A reference on several lines is left to `bom-repeated`,
one that only one side fits to `bom-fitting`.

Left undetermined
-----------------
Netlist and BOM each have fewer than half of the parts of the other: then what they say of one
reference is not compared.

Cure
----
Carry the value that is meant into the other file.

Settings
--------
within : values closer than this share are the same. Default 1 %.

Wrong (a slip of the prefix)::

    BT1 CR2032 VBAT GND
    R1 4k7 VBAT GND
    $ BT1 CR2032
    $ R1 4.7M

Wrong (another light)::

    BT1 CR2032 VBAT GND
    R1 390R VBAT _1
    D1 led/red _1 GND
    $ BT1 CR2032
    $ R1 390R
    $ D1 green

Right::

    BT1 CR2032 VBAT GND
    R1 4k7 VBAT GND
    $ BT1 CR2032
    $ R1 4.7k/1%

Sources
-------
IEC 60062 for the marking codes; the rest is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.board import BomLine
from boardvet.circuit.compare import (
    NAMED,
    Difference,
    colours,
    difference,
    same_name,
    says_name,
)
from boardvet.circuit.lists import ListedPart, PartLists
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Related
from boardvet.vocabulary.kinds import Kind


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How close two values are the same."""

    within: Annotated[float, ""] = 0.01


@rule(level=Level.HOLD)
def check(part: ListedPart, lists: PartLists, settings: Settings) -> Found | Clear:
    """Judge one part by the value of both lists."""
    line = part.compared
    if line is None or part.part.value.casefold() == line.value.casefold():
        return Clear()
    found: Found | None = None
    differ = difference(part.part, part.part_kind, line, settings.within)
    if differ is not None:
        found = _other_value(part, line, differ)
    elif part.part_kind is Kind.LED:
        found = _other_colour(part, line)
    elif part.part_kind in NAMED:
        found = _other_name(part, line)
    if found is None:
        return Clear()
    lists.need_same_board()
    return found


def _other_value(part: ListedPart, line: BomLine, differ: Difference) -> Found:
    drawn, listed = show(differ.drawn, differ.unit), show(differ.listed, differ.unit)
    ratio, slip = _ratio(differ)
    place = part.part.place
    return Found(
        bench=f"{THIS} is built with {listed} where the drawing has {drawn}.",
        sum=f"Netlist {drawn}, line {line.place.line} of the BOM {listed}{ratio}.",
        fix=f"write {drawn} for {THIS} in the BOM, or {listed} in the drawing if that is meant",
        why=slip,
        numbers=(
            Number("netlist", differ.drawn, differ.unit, f"netlist {place.file}"),
            Number("BOM", differ.listed, differ.unit, f"bom {line.place.file}:{line.place.line}"),
        ),
        related=_related(part, line),
    )


def _ratio(differ: Difference) -> tuple[str, str]:
    """Return how many times more or less the BOM says, and what such a ratio mostly is."""
    if not differ.drawn or not differ.listed:
        return "", "An edit that was not carried over."
    times = differ.listed / differ.drawn
    text = f": ×{_plain(times)}" if times > 1 else f": 1/{_plain(1 / times)} of it"
    if any(_near(times, 10.0**power) for power in (-9, -6, -3, 3, 6, 9)):
        return text, "A ratio of a thousand is mostly a slip of the prefix."
    if any(_near(times, 10.0**power) for power in (-2, -1, 1, 2)):
        return text, "A ratio of ten is mostly a slip of the point or of a zero."
    return text, "Mostly an edit that was not carried over."


def _plain(times: float) -> str:
    return f"{times:.0f}" if times >= 100 else f"{times:.3g}"


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= 0.001 * other


def _other_colour(part: ListedPart, line: BomLine) -> Found | None:
    drawn = colours(part.part.value)
    listed = colours(line.value) or colours(line.description)
    if not drawn or not listed or drawn & listed:
        return None
    ours, theirs = " and ".join(sorted(drawn)), " and ".join(sorted(listed))
    return Found(
        bench=f"{THIS} lights {theirs} where the drawing has {ours}.",
        sum=f"Netlist {part.part.value!r}, line {line.place.line} of the BOM "
        f"{line.value or line.description!r}.",
        fix=f"write {ours} for {THIS} in the BOM, or {theirs} in the drawing if that is meant",
        why="Colours also differ in forward voltage, so the current is another one.",
        related=_related(part, line),
    )


def _other_name(part: ListedPart, line: BomLine) -> Found | None:
    named = [text for text in (line.value, line.part_number) if says_name(text)]
    texts = (*named, line.description)
    if not named or any(same_name(part.part.value, t) for t in texts if says_name(t)):
        return None
    listed = named[0]
    return Found(
        bench=f"{THIS} is built with another part than the drawing has.",
        sum=f"Netlist {part.part.value}, line {line.place.line} of the BOM {listed}.",
        fix=f"order {part.part.value} for {THIS}, or carry {listed} into the drawing",
        why="The circuit was reviewed with the part of the drawing.",
        level=Level.QUERY,
        related=_related(part, line),
    )


def _related(part: ListedPart, line: BomLine) -> tuple[Related, ...]:
    return (Related(line.place, f"the line of {part.label} in the BOM"),)
