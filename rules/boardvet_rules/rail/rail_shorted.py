"""A supply is joined to ground.

On the bench
------------
Nothing works: the supply is at ground. A bench supply goes into current limit, a cell gets warm
and is soon empty, a lithium cell without protection may burn.

What is judged
--------------
Each net that carries a supply: whether ground pins of parts stand on it, or supply pins, a cell's
plus or the output of a regulator stand on a ground; whether fitted 0 Ω resistors, joined nets,
closed jumpers, coils, ferrites, fuses or closed switches lead from it to ground; and whether a way
leads to ground forward through diodes, body diodes of transistors included, on which the current,
solved, is above what the source can give. Joined grounds are no short, nor are clamps, zeners and
diodes that stand against the supply; lights are left to `led-unlimited`. Query where nothing but
the supply pin itself is tied to ground. The other rules judge the board as if the short were
cured, or follow this finding.

Left undetermined
-----------------
A diode leads to ground and nobody says how much current the source can give.

Cure
----
Take off, or turn round, the part that joins the two.

Wrong (both address straps are fitted)::

    BT1 CR2032 VBAT GND
    U1 sensor VDD+ VBAT GND- GND ADDR ADR
    R1 0R VBAT ADR
    R2 0R ADR GND

Right::

    BT1 CR2032 VBAT GND
    U1 sensor VDD+ VBAT GND- GND ADDR ADR
    R1 0R VBAT ADR
    R2? 0R ADR GND

Wrong (the ground pin is on the rail)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    U2 sensor VDD+ VBAT GND- VBAT

Right (the diode against a reversed cell stands against the supply)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    D1 SS14 GND VBAT

Wrong (that diode is turned round)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    D1 SS14 VBAT GND

Sources
-------
Ohm's law and the junction equation, solved. USB gives 500 mA at most (USB 2.0, 7.2.1.4, from
memory); ratings of cells are those of their makers' sheets.
"""

from __future__ import annotations

from dataclasses import replace

from boardvet.circuit.elements import Element, ElementKind
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Islands
from boardvet.circuit.rails import node_label
from boardvet.circuit.shorts import PowerNode, Shorts, source_limit
from boardvet.circuit.states import State
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

DEAD = "Nothing on {} works: it stands at ground, and what feeds it gets warm or switches off."


@rule(level=Level.HOLD)
def check(power: PowerNode, circuit: Circuit, feeding: Feeding, islands: Islands) -> Found | Clear:
    """Judge one net that carries a supply by what joins it to ground."""
    found = _judged(power, circuit, feeding, islands)
    if isinstance(found, Clear) or power.is_ground:
        return found
    # Where a supply stands on the ground itself, what else meets that ground is a consequence.
    shorts = circuit.view(Shorts)
    grounds = [shorts.at(node) for node in found.nets]
    cause = next((ground for ground in grounds if ground is not None and ground.is_ground), None)
    return replace(found, follows=("rail-shorted", cause)) if cause is not None else found


def _judged(
    power: PowerNode, circuit: Circuit, feeding: Feeding, islands: Islands
) -> Found | Clear:
    if power.joined is not None:
        return _joined(circuit, feeding, power)
    if power.through:
        return _through(circuit, power)
    if power.is_ground:
        return _on_ground(circuit, power)
    if power.returns and power.takers:
        return _returns_on_rail(circuit, power)
    return _forward(circuit, feeding, islands, power)


def _joined(circuit: Circuit, feeding: Feeding, power: PowerNode) -> Found:
    assert power.joined is not None
    joins = power.joined.joins
    references = tuple(dict.fromkeys(join.reference for join in joins))
    ground = node_label(circuit, power.joined.ground)
    several = len(references) > 1
    fed = feeding.ever(power.node) or bool(power.givers)
    fitted = " and ".join(references)
    return Found(
        bench=DEAD.format(THIS)
        if fed
        else f"The parts on {THIS} are dead: their supply is tied to {ground}.",
        sum=f"{fitted} {'are' if several else 'is'} fitted and {'join' if several else 'joins'} "
        f"{THIS} to {ground} with next to no resistance.",
        fix=f"fit only one of {fitted}" if several else f"leave {fitted} off",
        level=Level.HOLD if fed else Level.QUERY,
        parts=references,
        nets=tuple(dict.fromkeys(net for join in joins for net in (join.a, join.b))),
    )


def _through(circuit: Circuit, power: PowerNode) -> Found:
    references = tuple(dict.fromkeys(element.reference for element in power.through))
    ground = _end(power, power.through)
    way = ", ".join(references)
    when = f" while {_contacts(power.through)} is closed" if power.state else ""
    return Found(
        bench=DEAD.format(THIS),
        sum=f"{way} {'leads' if len(references) == 1 else 'lead'} from {THIS} to "
        f"{node_label(circuit, ground)}{when}, with next to no resistance.",
        fix=f"take {way if len(references) == 1 else references[-1]} out of the way to ground",
        parts=references,
        nets=(ground,),
        state=power.state.name if power.state else "",
    )


def _contacts(way: tuple[Element, ...]) -> str:
    return " and ".join(e.reference for e in way if e.kind is ElementKind.CONTACT)


def _end(power: PowerNode, way: tuple[Element, ...]) -> str:
    node = power.node
    for element in way:
        node = element.other(node)
    return node


def _on_ground(circuit: Circuit, power: PowerNode) -> Found | Clear:
    """Judge a ground on which a source, or a supply pin, stands too."""
    pins = ", ".join(pin.label for pin in power.takers[:4])
    parts = tuple(dict.fromkeys((*power.givers, *(pin.reference for pin in power.takers))))
    if power.givers:
        names = " and ".join(power.givers)
        return Found(
            bench=DEAD.format(THIS),
            sum=f"The plus or output of {names} is on {THIS}, which is the ground of the board.",
            fix=f"part the supply from {THIS}: the net of {names} is to be one of its own",
            parts=parts,
        )
    only = [p for p in power.takers if not _has_other_supply(circuit, p.reference, power.node)]
    return Found(
        bench=f"{parts[0] if len(parts) == 1 else 'A part'} is dead, or a side of it: its supply "
        f"is at ground.",
        sum=f"{pins} {'is' if len(power.takers) == 1 else 'are'} on {THIS}, which is the ground "
        "of the board.",
        fix=f"join {pins} to the supply in place of {THIS}",
        level=Level.HOLD if only else Level.QUERY,
        parts=parts,
    )


def _has_other_supply(circuit: Circuit, reference: str, node: str) -> bool:
    from boardvet.circuit.rails import SuppliedPart

    return any(s.reference == reference and s.node != node for s in SuppliedPart.on(circuit))


def _returns_on_rail(circuit: Circuit, power: PowerNode) -> Found:
    pins = ", ".join(pin.label for pin in power.returns[:4])
    parts = tuple(dict.fromkeys(pin.reference for pin in power.returns))
    verb = "is" if len(parts) == 1 else "are"
    return Found(
        bench=f"{' and '.join(parts[:3])} {verb} dead, or all of {THIS} is: ground and supply are "
        "one net.",
        sum=f"{pins} {'is' if len(power.returns) == 1 else 'are'} on {THIS}, which supplies "
        f"{power.takers[0].label}.",
        fix=f"join {pins} to ground in place of {THIS}",
        parts=parts,
    )


def _forward(
    circuit: Circuit, feeding: Feeding, islands: Islands, power: PowerNode
) -> Found | Clear:
    """Judge the ways to ground, forward through diodes, by the current on them."""
    carried: list[Number] = []
    for state, way in power.leaks.items():
        fed = feeding.in_state[state][power.node].need()
        diode = next(e for e in way if e.kind in {ElementKind.DIODE, ElementKind.BODY_DIODE})
        solved = islands.solve(state, [power.node], across=way)
        current = solved.current(diode)[0]
        limit = source_limit(circuit, fed)
        numbers = (
            Number(f"current through {diode.reference}", current, "A", "computed: solved"),
            Number("what the source gives", limit.value, "A", limit.source),
        )
        if current > limit.value:
            return _leaking(circuit, power, state, way, limit, numbers)
        carried.extend(numbers)
    return Clear(tuple(carried))


def _leaking(
    circuit: Circuit,
    power: PowerNode,
    state: State,
    way: tuple[Element, ...],
    limit: Known[float],
    numbers: tuple[Number, ...],
) -> Found:
    references = tuple(dict.fromkeys(element.reference for element in way))
    ground = _end(power, way)
    names = ", ".join(references)
    return Found(
        bench=f"{THIS} sinks to the drop of {names}, which gets hot, and the supply with it.",
        sum=f"{names} {'conducts' if len(references) == 1 else 'conduct'} from {THIS} to "
        f"{node_label(circuit, ground)}: {show(numbers[0].value, 'A')}, and the source gives "
        f"{show(limit.value, 'A')}.",
        fix=f"turn {references[0]} round",
        parts=references,
        nets=(ground,),
        numbers=numbers,
        state=state.name,
    )
