"""A named net leads to one pin only.

On the bench
------------
Whatever the net was drawn for does nothing: the button, the light or the signal at its other end
is not connected.

What is judged
--------------
Each net with a name that a person gave. A net of one pin is usually a label that was spelt
differently at its other end, or a part that was deleted. Parts that are not fitted count as ends.
A net that is called as its own pin is (P0.04, MOSI) labels a spare pin and is left alone.

Left undetermined
-----------------
Nothing: a name and a pin are always there to be counted.

Cure
----
Give both ends the same name, or mark the pin as left open in the drawing.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP PB1 BUTTON
    R1 470 LAMP _1
    D1 led/red _1 GND

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 LAMP PB1 x
    R1 470 LAMP _1
    D1 led/red _1 GND

Right (a net may end on a test point)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND PB0 PULSE
    TP1 test-point 1: PULSE

Sources
-------
Common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.netnames import NamedNet
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level


@rule(level=Level.QUERY)
def check(net: NamedNet) -> Found | Clear:
    """Judge one named net by the pins on it."""
    if len(net.pins) > 1 or net.ends_by_design or net.is_pin_label:
        return Clear()
    pin = net.pins[0].label
    return Found(
        bench=f"What {THIS} was drawn for does nothing.",
        sum=f"{pin} is the only pin on {THIS}.",
        fix=f"spell {THIS} alike at both ends, or mark {pin} as left open",
        why="A label at one end only is mostly a slip of the pen or the rest of a deleted part.",
    )
