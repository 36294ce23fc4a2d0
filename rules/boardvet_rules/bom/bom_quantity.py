"""The quantity of a BOM line is not the number of its references.

On the bench
------------
Parts are left over, or run out before the last board is fitted.

What is judged
--------------
Each line with references and a quantity. A factor that most lines share is a number of boards, a
surplus that most share is a spare; both are left alone, and so are lines that are not fitted.
Where each part has a line of its own, the quantity may count all parts of that value.

Left undetermined
-----------------
Nothing: a line without a quantity asks for as many parts as it names.

Cure
----
Correct the quantity, or the references.

Wrong::

    BT1 CR2032 VBAT GND
    C1 100n VBAT GND
    C2 100n VBAT GND
    R1 10k VBAT GND
    $ BT1 CR2032 ×1
    $ C1,C2 100n ×1
    $ R1 10k ×1

Right::

    BT1 CR2032 VBAT GND
    C1 100n VBAT GND
    C2 100n VBAT GND
    R1 10k VBAT GND
    $ BT1 CR2032 ×1
    $ C1,C2 100n ×2
    $ R1 10k ×1

Right (parts for ten boards)::

    BT1 CR2032 VBAT GND
    C1 100n VBAT GND
    C2 100n VBAT GND
    R1 10k VBAT GND
    $ BT1 CR2032 ×10
    $ C1,C2 100n ×20
    $ R1 10k ×10

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.lists import PurchasedLine
from boardvet.circuit.quantities import Quantities
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@rule(level=Level.QUERY)
def check(line: PurchasedLine, quantities: Quantities) -> Found | Clear:
    """Judge one line by the references on it."""
    quantity = line.line.quantity
    if quantity is None or not line.line.fitted or quantities.fits(line.line):
        return Clear()
    count = len(set(line.parts))
    wanted = quantities.wanted(line.line)
    rest = []
    if quantities.boards > 1:
        rest.append(f"for {quantities.boards} boards, as on the other lines,")
    if quantities.spare:
        rest.append(f"with {quantities.spare} to spare, as on the other lines,")
    asked = " ".join((*rest, f"{count} references ask for {wanted}" if rest else "")).strip()
    return Found(
        bench="Parts are left over." if quantity > wanted else "Parts run out.",
        sum=f"Line {line.place.line} of the BOM buys {quantity:g} for {count} "
        f"reference{'s' if count > 1 else ''}, {THIS}{f': {asked}' if asked else ''}.",
        fix=f"set the quantity to {wanted}, or correct the references",
        why="One of the two was edited and the other was not.",
        numbers=(
            Number("quantity", quantity, "", f"bom {line.place.file}:{line.place.line}"),
            Number("references", float(count), "", f"bom {line.place.file}:{line.place.line}"),
        ),
    )
