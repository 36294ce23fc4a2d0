"""Parts take their supply from a rail that no source reaches.

On the bench
------------
The parts on the rail are dead, or run faintly by what leaks in through their inputs. With a
programmer plugged in they may work, and stop when it is taken off.

What is judged
--------------
Each net from which a part takes its supply: whether a cell, USB or a stated source reaches it in
any state, through regulators, switches, jumpers, fuses, ferrites, coils, diodes, transistors that
can be on, small resistors, or an output that supplies it. A programming header is no source. Hold
where nothing can reach it. Query where it leads to a connector of which nobody states what it
feeds, where only a back-up supply hangs on it, where what would feed it is not fitted, where only
a resistor above 10 kΩ reaches it, and where the only part on it is supplied by another pin and may
make this voltage itself. A rail downstream of another one that is not fed follows it, one whose
source is shorted follows `rail-shorted`, one behind an open input follows `supply-open`; a pin
with nothing else on its net is left to that rule as well.

Left undetermined
-----------------
The whole board has neither a cell nor another source, a part on the way is not understood, or the
name of the only pin on the rail (V3, VDDCR) leaves open whether it takes a supply or makes one.

Cure
----
Join the rail to the one that feeds it, or state on the intent page what feeds it.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    U2 sensor VDD+ VDD_S GND- GND
    C1 100n VDD_S GND

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    U2 sensor VDD+ VBAT GND- GND
    C1 100n VBAT GND

Wrong (a connector may feed it, and nobody says so)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    J1 connector 1: VIN 2: GND
    U2 sensor VDD+ VIN GND- GND

Right (the connector is stated)::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND
    J1 connector 1: VIN 2: GND
    U2 sensor VDD+ VIN GND- GND
    ~ sources:
    ~   J1: {net: VIN, voltage: 3.3 V}

Sources
-------
Kirchhoff's current law: a net that no source reaches carries no supply current. Which parts pass
a supply is common practice, no source.
"""

from __future__ import annotations

from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import rail_voltage
from boardvet.circuit.rails import Rails, SupplyRail, node_label
from boardvet.circuit.shorts import PowerNode, Shorts
from boardvet.circuit.unfed import Unfed, UnfedRails, Why
from boardvet.quantity import show
from boardvet.review.rule import rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Subject
from boardvet.vocabulary.roles import Role

NAMED = 4
"""As many parts are named one by one; of more, the number is said."""


@rule(level=Level.HOLD)
def check(rail: SupplyRail, circuit: Circuit, unfed_rails: UnfedRails) -> Found | Clear:
    """Judge one rail by what reaches it."""
    unfed = unfed_rails.at.get(rail.node)
    if unfed is None or unfed.why is Why.OPEN:
        return Clear()
    if unfed.missing is not None:
        raise unfed.missing.with_traceback(None)
    root = _root(unfed, unfed_rails)
    follows = _cause(circuit, root) or _cause(circuit, unfed)
    return Found(
        bench=_bench(rail, unfed),
        sum=_sum(circuit, unfed),
        fix=_fix(circuit, rail, unfed),
        level=_level(unfed, unfed_rails),
        parts=_parts(rail, unfed, root),
        nets=_nets(circuit, root, follows),
        follows=follows,
    )


def _root(unfed: Unfed, unfed_rails: UnfedRails) -> Unfed:
    """Return what is the matter with the rail upstream, of a rail downstream of one."""
    if unfed.why is Why.DOWNSTREAM and unfed.cause is not None:
        return unfed_rails.at[unfed.cause]
    return unfed


def _parts(rail: SupplyRail, unfed: Unfed, root: Unfed) -> tuple[str, ...]:
    cut_off = root.open_pin.parts if root.open_pin is not None else ()
    return tuple(dict.fromkeys((*(p.reference for p in rail.takers), *unfed.givers, *cut_off)))


def _nets(circuit: Circuit, root: Unfed, follows: tuple[str, Subject] | None) -> tuple[str, ...]:
    short = circuit.view(Shorts).at(root.cause) if root.why is Why.SHORTED and root.cause else None
    return (*(follows[1].nets if follows else ()), *(short.meets if short else ()))


def _cause(circuit: Circuit, unfed: Unfed) -> tuple[str, Subject] | None:
    if unfed.open_pin is not None:
        return ("supply-open", unfed.open_pin)
    if unfed.cause is None:
        return None
    if unfed.why is Why.SHORTED:
        short = circuit.view(Shorts).at(unfed.cause)
        return ("rail-shorted", short if short is not None else PowerNode.bare(unfed.cause))
    upstream = circuit.view(Rails).rail_at(unfed.cause)
    return ("rail-unfed", upstream) if upstream is not None else None


def _level(unfed: Unfed, unfed_rails: UnfedRails) -> Level:
    """Return hold, or query where somebody may know better; a consequence is as its cause."""
    root = _root(unfed, unfed_rails)
    if root is not unfed:
        return _level(root, unfed_rails)
    only_backup = all(pin.role is Role.BACKUP_SUPPLY for pin in unfed.rail.takers)
    asks = unfed.why in {Why.ASKED, Why.INSIDE} or bool(unfed.left_off or unfed.resistors)
    return Level.QUERY if asks or only_backup else Level.HOLD


def _bench(rail: SupplyRail, unfed: Unfed) -> str:
    names = list(dict.fromkeys(pin.reference for pin in rail.takers))
    dead = ", ".join(names) if len(names) <= NAMED else f"{len(names)} parts"
    verb = "is" if len(names) == 1 else "are"
    if unfed.why is Why.ASKED:
        return f"{dead} on {THIS} {verb} dead unless {_any_of(unfed.givers)} brings in a supply."
    if unfed.why is Why.INSIDE:
        pins = ", ".join(pin.label for pin in rail.takers[:NAMED])
        return (
            f"A side of {dead} is dead unless it makes {THIS} itself: nothing else feeds {pins}."
        )
    return f"{dead} {verb} dead: nothing feeds {THIS}."


def _any_of(references: tuple[str, ...]) -> str:
    if len(references) > NAMED:
        return f"one of {len(references)} connectors"
    return " or ".join(references)


def _sum(circuit: Circuit, unfed: Unfed) -> str:
    if unfed.why is Why.DOWNSTREAM and unfed.cause is not None:
        return f"It comes from {node_label(circuit, unfed.cause)}, which nothing feeds either."
    if unfed.why is Why.SHORTED and unfed.cause is not None:
        return (
            f"What would feed it stands on {node_label(circuit, unfed.cause)}, which is shorted."
        )
    if unfed.open_pin is not None:
        return f"{unfed.open_pin.label}, which would feed it, is on nothing."
    if unfed.left_off:
        return f"{' and '.join(unfed.left_off)} would reach it, and is not fitted."
    if unfed.resistors:
        return f"Only {' and '.join(unfed.resistors)} reaches it, too large for a supply."
    if unfed.headers and unfed.why is not Why.ASKED:
        return (
            f"Only {' and '.join(unfed.headers)} leads to it, for a programmer: that is no source."
        )
    return ""


def _fix(circuit: Circuit, rail: SupplyRail, unfed: Unfed) -> str:
    if unfed.why is Why.ASKED:
        net = node_label(circuit, unfed.given)
        volts = show(rail_voltage(net) or 5.0, "V")
        page = f"sources: {{{unfed.givers[0]}: {{net: {net}, voltage: {volts}}}}}"
        return f"say what it brings in, on the intent page: {page}"
    if unfed.why is Why.INSIDE:
        pins = ", ".join(f"{pin.pin.number}: supply output" for pin in rail.takers)
        page = f"parts: {{{unfed.givers[0]}: {{pins: {{{pins}}}}}}}"
        return f"join {THIS} to a rail that is fed, or say on the intent page: {page}"
    if unfed.why is Why.DOWNSTREAM and unfed.cause is not None:
        return f"feed {node_label(circuit, unfed.cause)}"
    if unfed.why is Why.SHORTED and unfed.cause is not None:
        return f"take the short off {node_label(circuit, unfed.cause)}"
    if unfed.open_pin is not None:
        return f"connect {unfed.open_pin.label}"
    if unfed.left_off:
        return f"fit {unfed.left_off[0]}, or leave off what it feeds"
    alike = _alike(circuit, rail)
    return f"join {THIS} to {alike}" if alike else f"join {THIS} to the rail that is to feed it"


def _alike(circuit: Circuit, rail: SupplyRail) -> str:
    """Return the name of a fed rail of the same voltage, or "" where there is none."""
    volts = rail_voltage(rail.name)
    fed = [other for other in circuit.view(Rails).all if other.fed]
    same = [o.name for o in fed if volts is not None and rail_voltage(o.name) == volts]
    return same[0] if same else ""
