"""A part is fitted by the netlist and not by the BOM, or the other way round.

On the bench
------------
A place stays empty that the drawing needs, or a part is fitted that the drawing leaves out.

What is judged
--------------
Each part that both name. A netlist marks a part as not fitted, or the intent page does
(`fitting: not fitted`); a BOM marks a line in its value, in a column or by quantity 0. One line
that buys the part is enough. Parts stated as `fitting: by hand`, parts that are not for the BOM,
and what is copper of the board itself are left alone.

Left undetermined
-----------------
Netlist and BOM each have fewer than half of the parts of the other: then what they say of one
reference is not compared.

Cure
----
Mark the part alike in both, or state `fitting` under parts.

Wrong (the BOM leaves it out)::

    BT1 CR2032 VBAT GND
    R9 100k VBAT GND
    $ BT1 CR2032
    $ R9 100k not-fitted

Wrong (the drawing leaves it out)::

    BT1 CR2032 VBAT GND
    R9? 100k VBAT GND
    $ BT1 CR2032
    $ R9 100k

Right::

    BT1 CR2032 VBAT GND
    R9? 100k VBAT GND
    $ BT1 CR2032
    $ R9 100k not-fitted

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.handle import Circuit
from boardvet.circuit.lists import ListedPart, PartLists
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Related


@rule(level=Level.QUERY)
def check(part: ListedPart, lists: PartLists, circuit: Circuit) -> Found | Clear:
    """Judge one part by what both lists say of its fitting."""
    bought = bool(part.bought)
    if part.fitted == bought or part.bare or not part.part.in_bom:
        return Clear()
    stated = circuit.intent.parts.get(part.label, {}).get("fitting")
    if stated is not None and stated.value == "by hand":
        return Clear()
    lists.need_same_board()
    line = part.bought[0] if bought else part.lines[0]
    related = (Related(line.place, f"the line of {part.label} in the BOM"),)
    if bought:
        source = "intent page" if part.part.fitted else "netlist"
        return Found(
            bench=f"{THIS} is bought and fitted though the drawing leaves its place empty.",
            sum=f"The {source} marks {THIS} as not fitted; line {line.place.line} of the BOM "
            "buys it.",
            fix=f"mark {THIS} as not fitted in the BOM, or as fitted in the drawing",
            why="The fitted circuit was reviewed, and it is without this part.",
            related=related,
        )
    return Found(
        bench=f"The place of {THIS} stays empty though the drawing has the part fitted.",
        sum=f"The netlist has {THIS} fitted; line {line.place.line} of the BOM marks it as not "
        "fitted.",
        fix=f"mark {THIS} alike in both, or state fitting: by hand for it under parts",
        why="The fitted circuit was reviewed, and it counts on this part.",
        related=related,
    )
