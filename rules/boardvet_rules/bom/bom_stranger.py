"""A line of the BOM names a part that the netlist does not have.

On the bench
------------
A part is bought that has no place on the board; or, where the part was renumbered, its place
stays empty.

What is judged
--------------
Each reference of the BOM. Left alone are lines that are marked as not fitted, since they buy
nothing, names without a number (PCB, case, stencil: items beside the board), and holes, fiducials,
test points and logos, which a netlist need not have.

Left undetermined
-----------------
The netlist has fewer than half of the references, and more than five are missing: the BOM is then
most likely that of another board or revision, or of several boards together.

Cure
----
Take the line out, or export netlist and BOM from the same revision of the drawing.

Wrong::

    BT1 CR2032 VBAT GND
    C1 1u VBAT GND
    $ BT1 CR2032
    $ C1,C9 1u

Right::

    BT1 CR2032 VBAT GND
    C1 1u VBAT GND
    $ BT1 CR2032
    $ C1 1u

Right (the line buys nothing)::

    BT1 CR2032 VBAT GND
    C1 1u VBAT GND
    $ BT1 CR2032
    $ C1 1u
    $ C9 1u not-fitted

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.lists import BomReference, PartLists
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level


@rule(level=Level.QUERY)
def check(reference: BomReference, lists: PartLists) -> Found | Clear:
    """Judge one reference of the BOM by the parts of the netlist."""
    if reference.drawn or reference.off_board or not reference.bought:
        return Clear()
    lists.need_most_drawn()
    line = reference.bought[0]
    said = f" ({line.value})" if line.value else ""
    return Found(
        bench=f"{THIS} is bought and has no place on the board.",
        sum=f"The BOM lists {THIS}{said} on line {line.place.line}; the netlist has no such part.",
        fix=f"take {THIS} out of the BOM, or export netlist and BOM from the same revision",
        why="Mostly the rest of an earlier revision, or a part that was renumbered in one file.",
    )
