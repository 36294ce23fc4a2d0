"""A part of the netlist is on no line of the BOM.

On the bench
------------
The boards come back with an empty place, because nobody bought or fitted the part.

What is judged
--------------
Each part of the netlist that is fitted and has to be bought, by its reference. Not asked for are:
parts marked as not fitted or as not for the BOM, mounting holes, fiducials, graphics, test
points, joined grounds, and what is copper of the board itself (printed antennas, touch pads, card
edges, solder jumpers and solder pads). "u1" and "U1A" of a BOM are U1. A line that is marked as
not fitted lists the part; `bom-fitting` asks about that.

Left undetermined
-----------------
The BOM lists fewer than half of the parts, and more than five are missing: it is then most likely
the BOM of another board or revision, and one question is better than fifty holds.

Cure
----
Add a line for the part, or mark it in the drawing as not fitted or not for the BOM.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu/ATtiny85 VCC+ VBAT GND- GND RST< NRST
    R5 10k VBAT NRST
    $ BT1 CR2032
    $ U1 ATtiny85

Right::

    BT1 CR2032 VBAT GND
    U1 mcu/ATtiny85 VCC+ VBAT GND- GND RST< NRST
    R5 10k VBAT NRST
    $ BT1 CR2032
    $ U1 ATtiny85
    $ R5 10k

Right (a test point is copper of the board)::

    BT1 CR2032 VBAT GND
    C1 1u VBAT GND
    TP1 test-point 1: VBAT
    $ BT1 CR2032
    $ C1 1u

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.compare import readings
from boardvet.circuit.lists import PartLists, PurchasedPart
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@rule(level=Level.HOLD)
def check(part: PurchasedPart, lists: PartLists) -> Found | Clear:
    """Judge one part by the lines that name it."""
    if part.lines or not part.to_buy:
        return Clear()
    lists.need_most_listed()
    case = part.part.footprint.rpartition(":")[2]
    what = ", ".join(text for text in (part.part.value, case) if text)
    named = f" ({what})" if what else ""
    return Found(
        bench=f"The place of {THIS} stays empty, because nobody buys the part.",
        sum=f"The netlist has {THIS}{named}, fitted; no line of the BOM lists it.",
        fix=f"add {THIS}{named} to the BOM, or mark it in the drawing as not fitted",
        why="A board house fits what the BOM lists and nothing else.",
        numbers=_value(part),
    )


def _value(part: PurchasedPart) -> tuple[Number, ...]:
    """Return the value to list, so that only parts of one value are said together."""
    values, unit = readings(part.part.value, part.part_kind)
    place = part.part.place
    return tuple(Number("value", v, unit, f"netlist {place.file}") for v in values[:1])
