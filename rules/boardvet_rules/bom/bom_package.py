"""The BOM orders another case size than the footprint has.

On the bench
------------
The part is too small or too large for its pads: it stands up, solders badly or does not fit.

What is judged
--------------
Each fitted part with two terminals that has a case code of four digits on both sides: its
footprint in the netlist against the package column of the BOM or, where that holds no code, the
value or description of the line. Metric codes are taken for what they are (1608 is 0603). 0402 and
0603 are codes of both systems: where only the other reading makes the two agree it is a query. A
code that lost its zero ("402") is 0402. A reference on several lines is left to `bom-repeated`.

Left undetermined
-----------------
Netlist and BOM each have fewer than half of the parts of the other: then what they say of one
reference is not compared.

Cure
----
Order the size of the footprint, or change the footprint.

Wrong::

    BT1 CR2032 VBAT GND
    C1 4u7 @C_0603 VBAT GND
    $ BT1 CR2032
    $ C1 4u7 @0402

Right::

    BT1 CR2032 VBAT GND
    C1 4u7 @C_0603 VBAT GND
    $ BT1 CR2032
    $ C1 4u7 @0603

Right (a metric code)::

    BT1 CR2032 VBAT GND
    C1 4u7 @C_0603 VBAT GND
    $ BT1 CR2032
    $ C1 4u7 @1608

Sources
-------
Pairs of imperial and metric codes: chip resistor sheets of Uni-Ohm (0201 to 1206, 2512), the
others from memory.
"""

from __future__ import annotations

from boardvet.board import BomLine
from boardvet.circuit.compare import CHIPS, SOLD_AS_ONE, case_beside, cases
from boardvet.circuit.lists import ListedPart, PartLists
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Related
from boardvet.vocabulary.kinds import Kind


@rule(level=Level.HOLD)
def check(part: ListedPart, lists: PartLists) -> Found | Clear:
    """Judge one part by the case codes of both lists."""
    line = part.compared
    if line is None or part.part_kind not in CHIPS:
        return Clear()
    drawn, drawn_else = cases(part.part.footprint.rpartition(":")[2])
    listed, listed_else = _listed(line, part.part_kind)
    if drawn is None or listed is None or drawn == listed or {drawn, listed} == SOLD_AS_ONE:
        return Clear()
    lists.need_same_board()
    doubt = {drawn, drawn_else} & {listed, listed_else} - {None}
    why = "A code that stands alone can be of the metric system; then the two agree."
    return Found(
        bench=f"{THIS} does not fit its pads.",
        sum=f"The footprint is {drawn}; line {line.place.line} of the BOM orders {listed}.",
        fix=f"order {THIS} as {drawn}, or change the footprint to {listed}",
        why=why if doubt else "",
        numbers=(
            Number("case of the footprint", float(drawn), "", f"netlist {part.part.place.file}"),
            Number("case in the BOM", float(listed), "", f"bom {line.place.file}"),
        ),
        level=Level.QUERY if doubt else None,
        related=(Related(line.place, f"the line of {part.label} in the BOM"),),
    )


def _listed(line: BomLine, kind: Kind) -> tuple[str | None, str | None]:
    """Return the case code of a line: of its package, else of its value or description."""
    if line.footprint:
        return cases(line.footprint)
    return next(
        (
            found
            for text in (line.value, line.description)
            if (found := cases(case_beside(text, kind)))[0]
        ),
        (None, None),
    )
