"""A reference stands on two lines of the BOM.

On the bench
------------
Twice as many parts are bought as there are places; where the lines differ, which of the two is on
the board is chance.

What is judged
--------------
Each reference of the BOM, by the lines that buy it. Lines that are marked as not fitted buy
nothing, so that one fitted line among variants is sound. So is a further line that calls itself
an alternative or a second source. A reference that stands twice on one line is a query: mostly
another one was meant. Two tables of one file that list the same parts count once.

Left undetermined
-----------------
Nothing: the lines are there to be counted.

Cure
----
Leave the reference on one line; mark further sources as alternatives.

Wrong::

    BT1 CR2032 VBAT GND
    R5 100k VBAT GND
    $ BT1 CR2032
    $ R5 100k
    $ R5 47k

Right::

    BT1 CR2032 VBAT GND
    R5 100k VBAT GND
    $ BT1 CR2032
    $ R5 100k

Right (only one of the two is fitted)::

    BT1 CR2032 VBAT GND
    R5 100k VBAT GND
    $ BT1 CR2032
    $ R5 100k
    $ R5 47k not-fitted

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.lists import BomReference
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Related


@rule(level=Level.HOLD)
def check(reference: BomReference) -> Found | Clear:
    """Judge one reference by the lines that buy it."""
    lines = reference.bought
    if len(lines) < 2:
        return Clear()
    places = list(dict.fromkeys(line.place for line in lines))
    if len(places) == 1:
        return Found(
            bench=f"A part too many is bought for {THIS}, or another place stays empty.",
            sum=f"{THIS} stands {len(lines)} times on line {places[0].line} of the BOM.",
            fix=f"name {THIS} once; if another part was meant, write its reference",
            level=Level.QUERY,
        )
    values = list(dict.fromkeys(line.value for line in lines if line.value))
    differ = f", as {' and as '.join(values)}" if len(values) > 1 else ""
    numbers = " and ".join(str(place.line) for place in places)
    return Found(
        bench=f"{len(lines)} parts are bought for the one place of {THIS}; which of them is "
        "fitted is chance.",
        sum=f"{THIS} stands on lines {numbers} of the BOM{differ}.",
        fix=f"leave {THIS} on one line, or mark the further one as an alternative",
        why="A board house cannot know which line counts.",
        related=tuple(Related(place, f"names {reference.label} again") for place in places[1:]),
    )
