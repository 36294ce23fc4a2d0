"""The board at rest in one mode: what still carries current from the cells to ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from boardvet.circuit.capacitors import Capacitor, Capacitors, Technology
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.elements import JUNCTIONS, METALLIC, Element, ElementKind
from boardvet.circuit.feeding import Feeding, FeedingIn
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.idling import Idling
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.operating import Operating
from boardvet.circuit.pins import PinRoles
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.rails import Unrecognised
from boardvet.circuit.standing import ModeDrain, PathKind, StandingPath
from boardvet.circuit.timeline import Timeline
from boardvet.circuit.values import missing_value
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Rest"]

_LEAST = 1e-9
"""Less than this is no current. [A]"""

_CUT_OFF = 0.5
"""A node with less than this share of what feeds it is shorted, or reached backwards only."""

_BY_CHARGE = {
    Technology.ALUMINIUM: 0.01,
    Technology.TANTALUM: 0.01,
    Technology.POLARISED: 0.01,
    Technology.POLYMER: 0.1,
}
"""Leakage over C·V, per second: what data sheets allow at most."""

_SUPERCAPACITOR = 5e-6
"""Leakage of a supercapacitor over its capacitance, after days on its voltage. [A/F]"""
_LEAKING = frozenset({*_BY_CHARGE, Technology.SUPERCAPACITOR})


class Rest:
    """The board at rest in one mode."""

    def __init__(self, circuit: Circuit, timeline: Timeline) -> None:
        self.circuit = circuit
        self.timeline = timeline
        self.grounds = circuit.view(Grounds)
        self.plant = circuit.view(Plants).in_state(timeline.state)
        self.fed: FeedingIn = circuit.view(Feeding).at(timeline.state)
        self.off = self._switched_off()
        self.open = frozenset(channel.reference for channel in self.plant.resting())
        behind = {
            node
            for node, one in self.fed.items()
            if self.off & set(one.path) or node in self._outs()
        }
        self.behind = frozenset(behind)
        self.solved = self._solve()

    def paths(self) -> Iterator[StandingPath]:
        """Yield the networks that carry current from a fed node to ground."""
        for component in self._components():
            path = self._path(component)
            if path is not None:
                yield path

    def leaks(self) -> Iterator[StandingPath | Unrecognised]:
        """Yield the capacitors that leak, also those of which nobody knows how much."""
        declared = _declared(self.circuit)
        for capacitor in self.circuit.view(Capacitors).of_part.values():
            node = capacitor.b if capacitor.a in self.grounds else capacitor.a
            leaks = capacitor.technology in _LEAKING and capacitor.reference not in declared
            grounded = capacitor.a in self.grounds or capacitor.b in self.grounds
            if not leaks or not grounded or node not in self.fed or not self._stays_on(node):
                continue
            try:
                known = self._leakage(capacitor, self._volts(node))
            except MissingFact as missing:
                reference = capacitor.reference
                yield Unrecognised("drain path", reference, (reference,), (node,), missing)
                continue
            if known.value > _LEAST:
                drain = self._drain(known.value * self._scale(node), self._volts(node))
                parts = (capacitor.reference,)
                yield StandingPath(
                    PathKind.LEAKAGE, parts, (node,), (), (drain,), "", known.source
                )

    def own(self) -> Iterator[tuple[str, Known[float]]]:
        """Yield regulators and addressable LEDs that are on, with their own current."""
        for each in self.plant.converting:
            if each.reference not in self.off and each.quiescent is not None:
                yield each.reference, each.quiescent
        kinds = self.circuit.view(Kinds)
        for consumer in self.plant.consumers:
            lit = kinds.kind(consumer.reference) is Kind.ADDRESSABLE_LED
            if lit and consumer.rest is not None and not self.open & set(consumer.path):
                yield consumer.reference, consumer.rest

    def _switched_off(self) -> frozenset[str]:
        """Return the regulators that something switches off while nothing needs them."""
        idling = self.circuit.view(Idling)
        needed = {
            reference
            for consumer in self.plant.consumers
            if consumer.reference in self.plant.awake
            for reference in consumer.path
        }
        return frozenset(
            each.reference
            for each in self.circuit.view(Converters).all
            if each.reference not in needed and not each.charger and idling.enable_driven(each)
        )

    def _outs(self) -> set[str]:
        """Return the outputs and switch nodes of regulators that are off."""
        nodes, roles = self.circuit.view(Nodes), self.circuit.view(PinRoles)
        found: set[str] = set()
        for each in self._off_regulators():
            found.update(each.outputs)
            for pin in roles.pins(each.reference, Role.SWITCH_NODE):
                node = nodes.of_net(pin.pin.net)
                found.update(() if node is None else (node,))
        return found

    def _off_regulators(self) -> Iterator[Regulator]:
        for each in self.circuit.view(Converters).all:
            if each.reference in self.off:
                yield each

    def _solve(self) -> Operating:
        import numpy as np

        from boardvet.circuit.working import Setting, Work

        left = tuple(
            each
            for each in self.plant.converting
            if each.reference not in self.off
            and not self.off & set(self.plant.paths.get(each.source, ()))
        )
        plant: Plant = replace(self.plant, converting=left)
        setting = Setting(frozenset(), {}, np.zeros(1), None, np.full(1, np.inf))
        work = Work(self.circuit, plant, setting)
        work.fill(np.arange(1), frozenset())
        return work.result

    def _currents(self) -> dict[Element, float]:
        """Return the elements that carry current, from `a` to `b`; junctions forward only."""
        flowing = {e: float(values[0]) for e, values in self.solved.resistors.items()}
        flowing |= {e: max(float(v[0]), 0.0) for e, v in self.solved.junctions.items()}
        return {element: current for element, current in flowing.items() if abs(current) > _LEAST}

    def _components(self) -> list[dict[Element, float]]:
        """Return the currents of elements that hang together, fed nodes and grounds between."""
        flowing = self._currents()
        at_node: dict[str, list[Element]] = {}
        for element in flowing:
            for node in (element.a, element.b):
                if not self._is_border(node):
                    at_node.setdefault(node, []).append(element)
        found: list[dict[Element, float]] = []
        left = dict(flowing)
        while left:
            first = next(iter(left))
            component = {first: left.pop(first)}
            queue = [first]
            while queue:
                element = queue.pop()
                for node in (element.a, element.b):
                    for other in at_node.get(node, ()):
                        if other in left:
                            component[other] = left.pop(other)
                            queue.append(other)
            found.append(component)
        return found

    def _is_border(self, node: str) -> bool:
        return node in self.grounds or (node in self.fed and node not in self.behind)

    def _path(self, component: dict[Element, float]) -> StandingPath | None:
        """Return the path that a component is, None where it is none or is declared."""
        given: dict[str, float] = {}
        returned = 0.0
        for element, current in component.items():
            for node, amperes in ((element.a, current), (element.b, -current)):
                if node in self.grounds:
                    returned -= amperes
                elif self._is_border(node):
                    given[node] = given.get(node, 0.0) + amperes
        feeds = {node: amperes for node, amperes in given.items() if amperes > _LEAST}
        if returned <= _LEAST or not feeds or not self._counts(component, set(given)):
            return None
        at_cell = sum(amperes * self._scale(node) for node, amperes in feeds.items())
        node = max(feeds, key=feeds.__getitem__)
        drain = self._drain(returned * at_cell / sum(feeds.values()), self._volts(node))
        inside = {n for e in component for n in (e.a, e.b) if not self._is_border(n)}
        booster = next((r.reference for r in self._off_regulators() if inside & self._ends(r)), "")
        references = tuple(dict.fromkeys(element.reference for element in component))
        return StandingPath(
            _what(component, booster),
            references,
            tuple(feeds),
            tuple(sorted(inside)),
            (drain,),
            booster,
        )

    def _ends(self, regulator: Regulator) -> set[str]:
        return set(regulator.outputs) if regulator.conversion.steps_up else set()

    def _counts(self, component: dict[Element, float], borders: set[str]) -> bool:
        """Tell whether a component is a path that nobody declared, and that stays on."""
        references = {element.reference for element in component}
        nodes = {n for element in component for n in (element.a, element.b)}
        if references & _declared(self.circuit) or self._sets_output(nodes):
            return False
        kinds, modes = self.circuit.view(Kinds), self.circuit.intent.modes
        contacts = {e.reference for e in component if e.kind is ElementKind.CONTACT}
        lights = any(element.kind is ElementKind.LED for element in component)
        if lights and contacts and not modes:
            return False  # a light with a hand switch: nobody says how long it is on
        stated = {reference for mode in modes for reference in mode.closed or {}}
        if any(kinds.kind(each) is Kind.JUMPER for each in contacts - stated):
            return False  # drawn open
        return all(self._stays_on(node) for node in borders)

    def _sets_output(self, nodes: set[str]) -> bool:
        """Tell whether a component is the divider of a regulator that is on."""
        roles, of = self.circuit.view(PinRoles), self.circuit.view(Nodes)
        return any(
            of.of_net(pin.pin.net) in nodes
            for each in self.plant.converting
            if each.reference not in self.off
            for pin in roles.pins(each.reference, Role.FEEDBACK)
        )

    def _stays_on(self, node: str) -> bool:
        """Tell whether nothing on the way of the supply to a fed node is off at rest."""
        path = set(self.fed[node].path)
        if node in self.behind or path & self.open:
            return False
        if self._volts(node) < _CUT_OFF * self.fed[node].need().low[0]:
            return False  # a matter of rail-shorted, or of reverse-leak
        kinds = self.circuit.view(Kinds)
        # Modes say how the switches stand; without them nobody says how long they are closed.
        by_hand = any(kinds.kind(each) in {Kind.SWITCH, Kind.BUTTON} for each in path)
        return bool(self.circuit.intent.modes) or not by_hand

    def _volts(self, node: str) -> float:
        solved = self.solved.nodes.get(node)
        return float(solved[0]) if solved is not None else self.fed[node].need().low[0]

    def _scale(self, node: str) -> float:
        """Return what the cells give for each ampere behind the switching regulators of a path."""
        scale = 1.0
        for each in self.plant.converting:
            point = self.solved.regulators.get(each.reference)
            if point is None or not each.switching or each.reference not in self.fed[node].path:
                continue
            given = float(point.output_current[0])
            own = each.quiescent.value if each.quiescent is not None else 0.0
            scale *= (float(point.input_current[0]) - own) / given if given > 0.0 else 1.0
        return scale

    def _drain(self, current: float, volts: float) -> ModeDrain:
        return ModeDrain(self.timeline.name, self.timeline.share, current, volts)

    def _leakage(self, capacitor: Capacitor, volts: float) -> Known[float]:
        """Return what a capacitor leaks; a value that is not known ends it."""
        if capacitor.value is None:
            raise missing_value(capacitor.reference)
        farads, rate = capacitor.value.value, _BY_CHARGE.get(capacitor.technology)
        if rate is None:
            source = "assumed: some 5 µA for each farad of a supercapacitor, from memory"
            known = Known(_SUPERCAPACITOR * farads, "A", source)
        else:
            source = f"assumed: {rate:g} · C · V, common practice for {capacitor.technology} ones"
            known = Known(rate * farads * volts, "A", source)
        what = f"leakage of {capacitor.reference}"
        if self.circuit.assume_nothing:
            raise MissingFact(
                capacitor.reference,
                "pattern",
                f"the {what} is not known",
                f"pattern: [{{name: leakage, part: {capacitor.reference}, current: 1 uA}}]",
            )
        self.circuit.assume(what, known.value, "A", source)
        return known


def _what(component: dict[Element, float], booster: str) -> PathKind:
    kinds = {element.kind for element in component}
    if booster and kinds & (METALLIC | JUNCTIONS):
        return PathKind.BOOSTER
    if ElementKind.LED in kinds:
        return PathKind.LIGHT
    return PathKind.CONTACT if ElementKind.CONTACT in kinds else PathKind.RESISTORS


def _declared(circuit: Circuit) -> set[str]:
    """Return the parts and lights of which the page says when they are on."""
    entries = [*circuit.intent.pattern, *(e for m in circuit.intent.modes for e in m.pattern)]
    found = {light for entry in entries for light in entry.lights}
    return found | {entry.part for entry in entries if entry.part is not None}
