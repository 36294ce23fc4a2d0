"""Reference circuits in time, for our time steps and for ngspice. The parts are made up.

All steps of a circuit have the same elements between the same nodes; voltages of sources,
resistances and load currents change from step to step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from tests.physics.circuits import (
    BLUE,
    DEEP_RED,
    RED,
    SCHOTTKY,
    junctions,
    loads,
    resistors,
    sources,
)

from boardvet.physics.network import Network
from boardvet.physics.transient import Capacitors

OPEN = 1e9
"""A contact that is open, or a pin that drives nothing. [Ω]"""


class Pulsed(NamedTuple):
    """A circuit in time.

    Parameters
    ----------
    steps : tuple of (Network, float)
        The network without its capacitors, and for how long it stands [s].
    capacitors : Capacitors
        Of all steps.
    charged : tuple of float
        Voltages across the plates at the start. [V]
    periods : int
        How often ngspice runs through the steps; where more than once, until they repeat, and ours
        is the period that they repeat for ever.
    watched : tuple of int
        Nodes of which the voltages are kept; all where there are none.
    lights : tuple of int
        Junctions of which the currents are kept; all where there are none.
    """

    steps: tuple[tuple[Network, float], ...]
    capacitors: Capacitors
    charged: tuple[float, ...]
    periods: int = 1
    watched: tuple[int, ...] = ()
    lights: tuple[int, ...] = ()


def capacitors(*parts: tuple[int, int, float, float]) -> Capacitors:
    """Return capacitors from (node, node, farads, ohms)."""
    return Capacitors(*zip(*parts, strict=True))


def _loaded(network: Network, *amperes: float) -> Network:
    part = network.loads
    return replace(network, loads=loads(*zip(part.positive, part.negative, amperes, strict=True)))


def _with_resistors(network: Network, changed: dict[int, float]) -> Network:
    part = network.resistors
    ohms = [changed.get(index, value) for index, value in enumerate(part.resistance[0])]
    return replace(network, resistors=resistors(*zip(part.a, part.b, ohms, strict=True)))


def _with_sources(network: Network, changed: dict[int, float]) -> Network:
    part = network.sources
    volts = [changed.get(index, value) for index, value in enumerate(part.voltage[0])]
    cells = zip(part.positive, part.negative, volts, part.resistance[0], strict=True)
    return replace(network, sources=sources(*cells))


def reservoir_without_resistance() -> Pulsed:
    rest = Network(2, sources=sources((1, 0, 3.0, 30.0)), loads=loads((1, 0, 1e-6)))
    steps = ((_loaded(rest, 20e-3), 5e-3), (rest, 95e-3))
    return Pulsed(steps, capacitors((1, 0, 100e-6, 0.0)), (3.0,))


def reservoir_with_resistance() -> Pulsed:
    rest = Network(2, sources=sources((1, 0, 2.9, 60.0)), loads=loads((1, 0, 1e-6)))
    steps = ((_loaded(rest, 15e-3), 2e-3), (rest, 8e-3))
    return Pulsed(steps, capacitors((1, 0, 47e-6, 2.0)), (2.9,))


def string_from_cell_and_reservoir() -> Pulsed:
    """A FET lets a red light be on for a fifth of the time; it draws more than the cell likes."""
    off = Network(
        4,
        resistors((1, 2, 47.0), (3, 0, OPEN)),
        sources((1, 0, 3.0, 100.0)),
        junctions((2, 3, RED)),
    )
    steps = ((_with_resistors(off, {1: 1.5}), 20e-3), (off, 80e-3))
    return Pulsed(steps, capacitors((1, 0, 220e-6, 0.5)), (3.0,), periods=8)


def burst_of_three_currents() -> Pulsed:
    """The load of TI SWRA349 appendix A."""
    rest = Network(2, sources=sources((1, 0, 2.7, 1e3)), loads=loads((1, 0, 0.0)))
    burst = ((8e-3, 2e-3), (30e-3, 1e-3), (8e-3, 2e-3), (0.0, 195e-3))
    steps = tuple((_loaded(rest, amperes), seconds) for amperes, seconds in burst)
    return Pulsed(steps, capacitors((1, 0, 100e-6, 0.0)), (2.6,))


def recharge_between_pulses() -> Pulsed:
    """The rest is too short for 1 kΩ and 470 µF: the rail creeps down over many periods."""
    off = Network(
        3,
        resistors((1, 2, OPEN), (1, 0, 1e6)),
        sources((1, 0, 3.2, 1e3)),
        junctions((2, 0, RED)),
    )
    steps = ((_with_resistors(off, {0: 150.0}), 10e-3), (off, 90e-3))
    return Pulsed(steps, capacitors((1, 0, 470e-6, 0.2)), (2.7,), periods=80)


def two_capacitors_of_unlike_resistance() -> Pulsed:
    rest = Network(
        3,
        resistors((1, 2, 0.4)),
        sources((1, 0, 3.0, 25.0)),
        loads=loads((2, 0, 10e-6)),
    )
    steps = ((_loaded(rest, 40e-3), 3e-3), (rest, 17e-3))
    both = capacitors((1, 0, 100e-6, 1.5), (2, 0, 4.7e-6, 0.05))
    return Pulsed(steps, both, (3.0, 3.0), periods=6)


def reservoir_behind_a_diode() -> Pulsed:
    """A motor pulls the cell down; a Schottky diode keeps the controller's reservoir from it."""
    rest = Network(
        3,
        sources=sources((1, 0, 3.0, 15.0)),
        junctions=junctions((1, 2, SCHOTTKY)),
        loads=loads((1, 0, 0.0), (2, 0, 3e-3)),
    )
    steps = ((_loaded(rest, 80e-3, 3e-3), 10e-3), (rest, 40e-3))
    return Pulsed(steps, capacitors((2, 0, 220e-6, 0.3)), (2.7,), periods=6)


def supercapacitor() -> Pulsed:
    """Its time constant is 40 periods, so it starts near where it ends.

    By hand: 10.02 mA in the mean drop 200.4 mV, and a pulse begins half of 4.5 mV above that.
    """
    rest = Network(2, sources=sources((1, 0, 3.0, 20.0)), loads=loads((1, 0, 20e-6)))
    steps = ((_loaded(rest, 100e-3), 50e-3), (rest, 450e-3))
    return Pulsed(steps, capacitors((1, 0, 1.0, 0.5)), (2.8019,), periods=100)


def burst_that_collapses_the_rail() -> Pulsed:
    rest = Network(
        3,
        resistors((1, 2, 330.0)),
        sources((1, 0, 3.0, 100.0)),
        junctions((2, 0, RED)),
        loads((1, 0, 0.0)),
    )
    steps = ((_loaded(rest, 80e-3), 20e-3), (rest, 80e-3))
    return Pulsed(steps, capacitors((1, 0, 47e-6, 0.1)), (2.8,), periods=3)


def capacitor_into_a_floating_pair() -> Pulsed:
    """A pin drives two opposed lights through a capacitor: no other way leads to their node."""
    low = Network(
        4,
        resistors((2, 3, 100.0)),
        sources((1, 0, 0.0, 30.0)),
        junctions((3, 0, RED), (0, 3, DEEP_RED)),
    )
    steps = ((_with_sources(low, {0: 5.0}), 5e-3), (low, 5e-3))
    return Pulsed(steps, capacitors((1, 2, 10e-6, 0.1)), (2.0,), periods=12)


def charge_pump() -> Pulsed:
    """A pin lifts a capacitor above a Schottky diode: a blue light from a cell too low for it."""
    low = Network(
        5,
        resistors((3, 4, 220.0)),
        sources((1, 0, 0.0, 25.0), (2, 0, 2.4, 10.0)),
        junctions((2, 3, SCHOTTKY), (4, 0, BLUE)),
    )
    # 1 is the pin, 2 the cell; 3 is lifted by the pin
    steps = ((_with_sources(low, {0: 2.4}), 2e-3), (low, 2e-3))
    return Pulsed(steps, capacitors((3, 1, 22e-6, 0.2)), (2.2,), periods=20)


def always_on_from_an_empty_capacitor() -> Pulsed:
    """A pulse longer than its period is no pulse; the capacitor charges once."""
    on = Network(
        3, resistors((1, 2, 220.0)), sources((1, 0, 3.3, 40.0)), junctions((2, 0, DEEP_RED))
    )
    return Pulsed(((on, 0.1),), capacitors((1, 0, 330e-6, 1.0)), (0.0,))


def zener_clamp_with_a_capacitor() -> Pulsed:
    """A supply that doubles for 2 ms; the zener diode and 1 µF hold what hangs on it."""
    rest = Network(
        4,
        resistors((1, 2, 100.0), (2, 3, 390.0)),
        sources((1, 0, 5.0, 1.0)),
        junctions((0, 2, (1e-14, 1.0, 5.0)), (3, 0, RED), breakdown={0: 5.1}),
    )
    steps = ((_with_sources(rest, {0: 12.0}), 2e-3), (rest, 2e-3))
    return Pulsed(steps, capacitors((2, 0, 1e-6, 0.02)), (4.2,), periods=3)


def array_in_turn_from_a_reservoir() -> Pulsed:
    """Three pins that lend themselves to six lights, two of them lit in turn, then all at rest.

    Each pin is a half bridge: a resistance to the rail and one to the reference. In both turns the
    third pin is open, and two lights in series make a ghost path past it.
    """
    on, pins = 30.0, (2, 3, 4)
    rest = Network(
        8,
        resistors(
            *((1, pin, OPEN) for pin in pins),
            *((pin, 0, OPEN) for pin in pins),
            *((pin, pin + 3, 47.0) for pin in pins),
        ),
        sources((1, 0, 3.0, 40.0)),
        junctions(
            (5, 6, RED), (6, 5, RED), (5, 7, DEEP_RED), (7, 5, RED), (6, 7, RED), (7, 6, RED)
        ),
    )
    one = _with_resistors(rest, {0: on, 4: on})
    other = _with_resistors(rest, {1: on, 5: on})
    steps = ((one, 4e-3), (other, 4e-3), (rest, 12e-3))
    return Pulsed(steps, capacitors((1, 0, 47e-6, 0.4)), (3.0,), periods=8)


def two_cells_through_diodes_and_a_reservoir() -> Pulsed:
    rest = Network(
        5,
        resistors((3, 4, 68.0)),
        sources((1, 0, 3.0, 30.0), (2, 0, 3.05, 90.0)),
        junctions((1, 3, SCHOTTKY), (2, 3, SCHOTTKY), (4, 0, RED)),
        loads((3, 0, 1e-6)),
    )
    steps = ((_loaded(rest, 25e-3), 8e-3), (rest, 24e-3))
    return Pulsed(steps, capacitors((3, 0, 150e-6, 0.6)), (2.7,), periods=6)


def sixty_strings() -> Pulsed:
    """An island of 122 nodes: 40 strings always on, 20 more for a fifth of the time."""
    strings = range(60)
    ohms = [100.0 + 10.0 * index for index in strings]
    diodes = (RED, DEEP_RED, BLUE)
    off = Network(
        122,
        resistors(
            *((1, 2 + index, ohms[index]) for index in strings),
            *((62 + index, 0, 2.0 if index < 40 else OPEN) for index in strings),
        ),
        sources((1, 0, 4.2, 0.4)),
        junctions(*((2 + index, 62 + index, diodes[index % 3]) for index in strings)),
    )
    on = _with_resistors(off, {60 + index: 2.0 for index in range(40, 60)})
    steps = ((on, 2e-3), (off, 8e-3))
    both = capacitors((1, 0, 470e-6, 0.15), (1, 0, 100e-9, 0.02))
    return Pulsed(
        steps,
        both,
        (4.0, 4.0),
        periods=3,
        watched=(1, 2, 61, 62, 121),
        lights=(0, 2, 38, 40, 59),
    )


def line_of_two_hundred_nodes() -> Pulsed:
    """Lights along a strip whose own resistance counts, with reservoirs at three places."""
    last = 99
    off = Network(
        200,
        resistors(
            *((index, index + 1, 0.15) for index in range(1, last)),
            *((index, 100 + index, 1e3) for index in range(1, last + 1)),
        ),
        sources((1, 0, 5.0, 0.5)),
        junctions(*((100 + index, 0, RED if index % 2 else BLUE) for index in range(1, last + 1))),
        loads((last, 0, 0.0)),
    )
    steps = ((_loaded(off, 100e-3), 3e-3), (off, 7e-3))
    three = capacitors((1, 0, 100e-6, 0.1), (50, 0, 220e-6, 0.3), (99, 0, 47e-6, 0.0))
    return Pulsed(
        steps,
        three,
        (4.8, 4.0, 3.7),
        periods=4,
        watched=(1, 25, 50, 99, 150, 199),
        lights=(0, 49, 50, 97, 98),
    )


PULSED: tuple[Callable[[], Pulsed], ...] = (
    reservoir_without_resistance,
    reservoir_with_resistance,
    string_from_cell_and_reservoir,
    burst_of_three_currents,
    recharge_between_pulses,
    two_capacitors_of_unlike_resistance,
    reservoir_behind_a_diode,
    supercapacitor,
    burst_that_collapses_the_rail,
    capacitor_into_a_floating_pair,
    charge_pump,
    always_on_from_an_empty_capacitor,
    zener_clamp_with_a_capacitor,
    array_in_turn_from_a_reservoir,
    two_cells_through_diodes_and_a_reservoir,
    sixty_strings,
    line_of_two_hundred_nodes,
)
