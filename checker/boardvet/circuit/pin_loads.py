"""View: what controllers have to carry on their pins: lights, bases, resistors, coils."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Self

from boardvet.circuit.elements import Element, ElementKind, Elements, is_p_channel
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.heating import BASE_VOLTAGE
from boardvet.circuit.island import Drive
from boardvet.circuit.islands import Islands
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.loading import LitStep, Loading
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRef, PinRoles, can_drive
from boardvet.circuit.states import State, States
from boardvet.circuit.strings import LedString, Strings
from boardvet.circuit.subjects import OfOnePart
from boardvet.circuit.values import missing_value, resistance
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Carried", "LoadedController", "PinLoads", "SteadyLoad", "Together"]

NEGLIGIBLE = 10e3
"""Resistors from this value on are no load for a pin. [ohm]"""

_KINDS = frozenset({Kind.CONTROLLER, Kind.MODULE, Kind.LOGIC})


class SteadyLoad(NamedTuple):
    """Something besides lights that a pin may have to feed for good.

    Parameters
    ----------
    drive : Drive
        The pin, at the level at which it carries current.
    through : str
        Reference of what lies between pin and load: a resistor, a transistor's base, a coil.
    coil : bool
        True for a coil, of which the current is not solved.
    """

    drive: Drive
    through: str
    coil: bool


@dataclass(frozen=True)
class LoadedController(OfOnePart):
    """A controller with loads on its pins, as a subject.

    Parameters
    ----------
    reference : str
        Its designator.
    strings : tuple of LedString
        Lights that it drives.
    steady : tuple of SteadyLoad
        Whatever else hangs on its pins.
    pins : mapping of node to PinRef
        Its pins that can drive.
    """

    reference: str
    strings: tuple[LedString, ...]
    steady: tuple[SteadyLoad, ...]
    pins: Mapping[str, PinRef] = field(compare=False)

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "controller"

    @property
    def nets(self) -> tuple[str, ...]:
        """No net: it is about the part."""
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[LoadedController]:
        """Return the controllers that have a load on a pin."""
        return circuit.view(PinLoads).controllers


class Carried(NamedTuple):
    """What one pin carries.

    Parameters
    ----------
    drive : Drive
        The pin.
    typical, highest : float
        With sources as they are typically and at their highest. [A]
    """

    drive: Drive
    typical: float
    highest: float


class Together(NamedTuple):
    """What the pins of a controller carry together in a step.

    Parameters
    ----------
    state : State
        In which it was solved.
    share : float
        Share of the time.
    pins : tuple of Carried
        Each pin that carries something.
    """

    state: State
    share: float
    pins: tuple[Carried, ...]

    def total(self, *, highest: bool = False) -> float:
        """Return what the chip gives, or what it takes: the larger. [A]."""
        sums = {True: 0.0, False: 0.0}
        for pin in self.pins:
            sums[pin.drive.high] += pin.highest if highest else pin.typical
        return max(sums.values())


@dataclass(frozen=True)
class PinLoads:
    """The controllers with loads on their pins."""

    circuit: Circuit = field(repr=False)
    controllers: tuple[LoadedController, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Look at each pin that can drive."""
        driven: dict[str, list[LedString]] = {}
        for string in circuit.view(Strings).all:
            for reference in dict.fromkeys(drive.reference for drive in string.drives()):
                driven.setdefault(reference, []).append(string)
        found: list[LoadedController] = []
        for reference in circuit.view(Kinds).fitted_of(*_KINDS):
            strings = tuple(driven.get(reference, ()))
            lit = {drive.node for string in strings for drive in string.drives()}
            pins = _driving_pins(circuit, reference)
            steady = tuple(
                load
                for node in pins
                if node not in lit
                for load in _steady(circuit, reference, node)
            )
            if strings or steady:
                found.append(LoadedController(reference, strings, steady, pins))
        return cls(circuit, tuple(found))

    def together(self, controller: LoadedController) -> Iterator[Together]:
        """Yield what the pins carry in each state and step.

        Raises
        ------
        MissingFact
            Where a value that current depends on is not known.
        """
        solved = False
        loading = self.circuit.view(Loading)
        for state, steps in loading.steps(controller.strings):
            for step in steps:
                solved = True
                yield self._solved(controller, state, step)
        for state in () if solved or not controller.steady else self._awake(controller):
            yield self._solved(controller, state, None)

    def _awake(self, controller: LoadedController) -> Iterator[State]:
        """Yield the states in which a controller has a supply."""
        feeding, supplies = self.circuit.view(Feeding), self._supplies(controller)
        for state in self.circuit.view(States).all:
            fed = feeding.at(state)
            live = [fed[node] for node in supplies if node in fed]
            for each in live:
                each.need()
            if live:
                yield state

    def _supplies(self, controller: LoadedController) -> tuple[str, ...]:
        nodes = self.circuit.view(Nodes)
        pins = self.circuit.view(PinRoles).pins(controller.reference, Role.SUPPLY)
        found = (nodes.of_net(pin.pin.net) for pin in pins)
        return tuple(node for node in found if node is not None)

    def _solved(
        self, controller: LoadedController, state: State, step: LitStep | None
    ) -> Together:
        strings = step.strings if step is not None else ()
        steady = [load for load in controller.steady if not load.coil]
        drives = tuple(
            dict.fromkeys(
                [drive for s in strings for drive in s.drives()] + [load.drive for load in steady]
            )
        )
        own = [drive for drive in drives if drive.reference == controller.reference]
        seeds = [n for s in strings for n in (s.light.a, s.light.b)] + [d.node for d in drives]
        seeds.extend(self._supplies(controller))  # not reached from a base, which is held
        hold = dict(_bases(self.circuit, state, steady))
        typical, highest = (
            self.circuit.view(Islands).solve(
                state,
                seeds,
                drives,
                frozenset(element for s in strings for element in s.switches()),
                fixed=hold,
                highest=end,
                across=[
                    element
                    for s in strings
                    for element in (s.light, *(e for way in s.ways() for e in way.path))
                ],
            )
            for end in (False, True)
        )
        share = step.meeting.weight if step is not None else 1.0
        carried = [Carried(d, typical.through(d)[0], highest.through(d)[0]) for d in own]
        return Together(state, share, tuple(carried))


def _driving_pins(circuit: Circuit, reference: str) -> dict[str, PinRef]:
    kind, nodes = circuit.view(Kinds).kind(reference), circuit.view(Nodes)
    feeding, grounds = circuit.view(Feeding), circuit.view(Grounds)
    found: dict[str, PinRef] = {}
    for pin in circuit.view(PinRoles).pins(reference):
        node = nodes.of_net(pin.pin.net)
        if node is None or node in grounds or feeding.ever(node):
            continue
        if pin.role in {Role.OUTPUT, Role.BIDIRECTIONAL, Role.OPEN_DRAIN} and can_drive(pin, kind):
            found[node] = pin
    return found


def _steady(circuit: Circuit, reference: str, node: str) -> Iterator[SteadyLoad]:
    """Yield what hangs on a pin: through one resistor, a base, or a coil."""
    elements = circuit.view(Elements)
    high = _level(circuit, node)
    if high is not None:
        yield SteadyLoad(Drive(reference, node, high), _based(circuit, node), False)
    for element in elements.at(node, ElementKind.RESISTOR, ElementKind.COIL):
        other = element.other(node)
        level = _pole(circuit, other)
        if element.kind is ElementKind.COIL:
            if level is not None:
                yield SteadyLoad(Drive(reference, node, level), element.reference, True)
            continue
        if level is None:
            level = _level(circuit, other)
        if level is None:
            continue
        ohms = resistance(circuit, element.reference)
        if ohms is None:
            raise missing_value(element.reference)
        if ohms.value < NEGLIGIBLE:
            yield SteadyLoad(Drive(reference, node, level), element.reference, False)


def _pole(circuit: Circuit, node: str) -> bool | None:
    """Return the level at which a pin carries current to a node: high to ground, low to a rail."""
    if node in circuit.view(Grounds):
        return True
    return False if circuit.view(Feeding).ever(node) else None


def _transistors(circuit: Circuit, base: str) -> Iterator[tuple[Element, bool]]:
    """Yield the transistors with their base on a node, and whether each is a PNP."""
    for element in circuit.view(Elements).of_kind(ElementKind.COLLECTOR):
        if element.control == base:
            yield element, bool(is_p_channel(circuit, element.reference))


def _level(circuit: Circuit, base: str) -> bool | None:
    """Return the level that puts a transistor on whose base a node is, None if it is none."""
    grounds, feeding = circuit.view(Grounds), circuit.view(Feeding)
    for element, p_type in _transistors(circuit, base):
        if not p_type and element.b in grounds:
            return True
        if p_type and feeding.ever(element.b):
            return False
    return None


def _based(circuit: Circuit, base: str) -> str:
    return next(element.reference for element, _ in _transistors(circuit, base))


def _bases(
    circuit: Circuit, state: State, steady: Sequence[SteadyLoad]
) -> Iterator[tuple[str, float]]:
    """Yield the voltages at which the bases of the driven transistors stand."""
    elements, fed = circuit.view(Elements), circuit.view(Feeding).at(state)
    for load in steady:
        node = load.drive.node
        through = elements.at(node, ElementKind.RESISTOR)
        for base in (node, *(e.other(node) for e in through if e.reference == load.through)):
            for element, p_type in _transistors(circuit, base):
                if not p_type:
                    yield base, BASE_VOLTAGE
                elif element.b in fed:
                    yield base, max(fed[element.b].need().high[0] - BASE_VOLTAGE, 0.0)
