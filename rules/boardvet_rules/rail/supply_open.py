"""A supply or ground pin of an IC is not connected.

On the bench
------------
The part is dead, or half of it is: its analogue side, one row of its pins. Or it runs through its
protection diodes, draws more than it may and resets when probed.

What is judged
--------------
Each supply and ground pin of each fitted integrated circuit: no other fitted part, test points
aside, stands on its net. Hold; an open thermal pad is a query, and a hold where the part has no
other ground. Query as well: a back-up supply, a part that is wired to nothing at all, and a pin
that only its name and not its type calls a supply while another one is connected. Pins that give
(internal regulators, references, core voltages) are none of these. A pin that the drawing marks as
left open is left alone as long as another pin of the same pole is connected. Further open pins of
one part follow its first.

Left undetermined
-----------------
No supply or ground pin of the part is known.

Cure
----
Join the pin to the net on which the other supply, or ground, pins of the part are.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT AVCC+ . GND- GND

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT AVCC+ VBAT GND- GND

Wrong (a label that was spelt differently)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT AVCC+ VBATT GND- GND

Right (the core voltage comes from the part itself)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT VCORE> . GND- GND

Sources
-------
Data sheets of controllers ask to connect every supply pin, the analogue one included, even where
it is not used (ATmega328P: "AVCC should be externally connected to VCC, even if the ADC is not
used", from memory). The rest is common practice, no source.
"""

from __future__ import annotations

from boardvet.board import PinType
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SupplyPin, node_label
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level
from boardvet.vocabulary.roles import Role


@rule(level=Level.HOLD)
def check(pin: SupplyPin, circuit: Circuit) -> Found | Clear:
    """Judge one pin by what else is on its net."""
    if not pin.alone or not pin.says_so or (pin.marked_open and pin.company):
        return Clear()
    first = pin.first_alone
    follows = first is not None and first.says_so and not (first.marked_open and first.company)
    return Found(
        bench=_bench(pin),
        sum=_sum(pin),
        fix=_fix(circuit, pin),
        level=_level(pin),
        nets=tuple(p.pin.net for p in pin.company if p.pin.net is not None)[:1],
        follows=("supply-open", first) if first is not None and follows else None,
    )


def _level(pin: SupplyPin) -> Level:
    if pin.part_alone or pin.pin.role is Role.BACKUP_SUPPLY:
        return Level.QUERY
    sure = pin.pin.role is not Role.THERMAL and pin.pin.pin.type is PinType.SUPPLY_IN
    return Level.HOLD if sure or not pin.company else Level.QUERY


def _bench(pin: SupplyPin) -> str:
    part = pin.pin.reference
    if pin.part_alone:
        return f"{part} does nothing: none of its pins is wired, {THIS} included."
    if pin.pin.role is Role.THERMAL and pin.company:
        return f"{part} gets hotter than it has to, or misbehaves: its pad {THIS} is on nothing."
    if pin.pin.role is Role.BACKUP_SUPPLY:
        return f"{part} forgets the time, or draws more than it has to: {THIS} is on nothing."
    if pin.company:
        return f"A side of {part} is dead, or {part} runs hot or resets: {THIS} is on nothing."
    return f"{part} is dead, or runs by chance through its inputs: {THIS} is on nothing."


def _sum(pin: SupplyPin) -> str:
    pole = "ground" if pin.is_ground else "supply"
    connected = len(pin.company)
    if not connected:
        return f"No {pole} pin of the part is connected."
    pins = "pin is" if connected == 1 else "pins are"
    return f"{connected} other {pole} {pins} connected."


def _fix(circuit: Circuit, pin: SupplyPin) -> str:
    nets = [p.pin.net for p in pin.company if p.pin.net is not None]
    if nets:
        return f"join {THIS} to {node_label(circuit, nets[0])}, like {pin.company[0].label}"
    return f"join {THIS} to the {'ground' if pin.is_ground else 'supply'} meant for it"
