"""The nearest bypass capacitor is too far from the supply pin that it serves.

On the bench
------------
As if the capacitor were missing: resets and misreads when several outputs switch, and more noise
on the air than the part would make.

What is judged
--------------
Each supply pin that asks for a bypass capacitor, as in `bypass-missing`: the distance from its
part to the nearest fitted ceramic capacitor of 10 nF or more on the same rail, from the placement
file: from middle to middle as seen from above, less half of the longer side of both bodies. The
size of a body comes from its case code, from the dimensions in the name of its footprint, or from
its package; the larger where a package comes in several. The two sides of a board count alike: a
via is short. What is found is said once a part and rail. Where a panel repeats a reference, each
place is compared with the nearest one.

Left undetermined
-----------------
No placement file is given, the part or every capacitor of its rail is not in it, or the package
does not tell how large the part is and the verdict turns on that.

Cure
----
Move a capacitor of the rail beside the pin, or add one there.

Settings
--------
distance : gap between the bodies up to which a capacitor is near. Default 5 mm.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu @SOIC-8 VCC+ VBAT GND- GND
    C1 100n @0603 VBAT GND
    ! U1 10 10
    ! C1 30 10

Right::

    BT1 CR2032 VBAT GND
    U1 mcu @SOIC-8 VCC+ VBAT GND- GND
    C1 100n @0603 VBAT GND
    ! U1 10 10
    ! C1 15 10

Sources
-------
5 mm: common practice, no source. There and back that is some 10 nH, at 1 nH for a millimetre of
trace (a usual estimate), about as much as a 100 nF chip and its vias add: beyond it the way
decides. Body sizes: JEDEC outlines, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.circuit.bypass import Bypass, PlacedBypass, asks_for_bypass
from boardvet.circuit.handle import Circuit
from boardvet.circuit.places import Places
from boardvet.circuit.rails import Rails, SupplyPin
from boardvet.errors import MissingFact
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number


@dataclass(frozen=True)
class Settings(RuleSettings):
    """How near is near."""

    distance: Annotated[float, "m"] = 5e-3


@rule(level=Level.QUERY)
def check(
    pin: SupplyPin,
    circuit: Circuit,
    bypass: Bypass,
    places: Places,
    placed: PlacedBypass,
    settings: Settings,
) -> Found | Clear:
    """Judge one supply pin by the nearest capacitor on its rail."""
    node, part = pin.node, pin.pin.reference
    if node is None or not asks_for_bypass(circuit, pin.pin):
        return Clear()
    field, unplaced = placed.of_rail.get(node), placed.unplaced.get(node)
    if field is None and unplaced is None:
        return Clear()  # a rail with none at all is the business of `bypass-missing`
    on_rail = bypass.of_rail[node]
    if on_rail.asking[part][0] != pin.pin:
        return Clear()  # said once, at the first pin of the part on this rail
    places.need(part)
    if field is None:
        raise places.absent(unplaced or part)
    nearest, gap = field.nearest(part)
    numbers = (
        Number("gap", gap.bodies, "m", f"placement: {part} to {nearest}, less body sizes"),
        Number("from middle to middle", gap.middles, "m", f"placement: {part} to {nearest}"),
    )
    if gap.bodies <= settings.distance:
        if not gap.told and gap.middles > settings.distance:
            raise _body_missing(circuit, part, nearest, places)
        return Clear(numbers)
    if unplaced is not None:
        raise places.absent(unplaced)
    rail = circuit.view(Rails).rail_at(node) if on_rail.scarce else None
    side = ", on the other side of the board" if gap.other_side else ""
    return Found(
        bench=f"{part} may reset or misread when outputs switch, as if it had no capacitor.",
        sum=f"{nearest} is the nearest on its rail{side}: {show(gap.bodies, 'm')} from body to "
        f"body, {show(gap.middles, 'm')} from middle to middle.",
        fix=f"move a capacitor of this rail to within {show(settings.distance, 'm')} of {THIS}, "
        "or add 100 nF there",
        why="The way there and back is a coil that keeps fast current from coming through.",
        numbers=numbers,
        parts=(nearest,),
        follows=("bypass-missing", rail) if rail is not None else None,
    )


def _body_missing(circuit: Circuit, part: str, nearest: str, places: Places) -> MissingFact:
    of = next(ref for ref in (part, nearest) if not places.bodies[ref].told)
    return MissingFact(
        of,
        "package",
        f"the footprint of {of} does not tell how large it is",
        f"name the package of {of} in the drawing or the BOM, such as QFN-32_5x5mm",
    )
