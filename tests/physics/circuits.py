"""Reference circuits of different shape, for our solver and for ngspice. The parts are made up."""

from __future__ import annotations

import math
from collections.abc import Callable

from boardvet.physics.network import Junctions, Loads, Network, Resistors, Sources

Diode = tuple[float, float, float]

RED: Diode = (1e-17, 2.0, 6.0)
"""1.85 V at 10 mA."""

DEEP_RED: Diode = (8e-17, 2.0, 6.0)
"""0.11 V below `RED`."""

BLUE: Diode = (2.5e-22, 2.5, 15.0)
"""3.0 V at 5 mA."""

SILICON: Diode = (4e-9, 1.8, 0.6)
SCHOTTKY: Diode = (2e-7, 1.05, 1.0)


def junctions(
    *parts: tuple[int, int, Diode], breakdown: dict[int, float] | None = None
) -> Junctions:
    """Return junctions from (anode, cathode, parameters)."""
    anode, cathode, diodes = zip(*parts, strict=True)
    saturation, emission, resistance = zip(*diodes, strict=True)
    knee = [(breakdown or {}).get(index, math.inf) for index in range(len(parts))]
    return Junctions(anode, cathode, saturation, emission, resistance, knee)


def resistors(*parts: tuple[int, int, float]) -> Resistors:
    """Return resistors from (node, node, ohms)."""
    return Resistors(*zip(*parts, strict=True))


def sources(*parts: tuple[int, int, float, float]) -> Sources:
    """Return sources from (positive, negative, volts, ohms)."""
    return Sources(*zip(*parts, strict=True))


def loads(*parts: tuple[int, int, float]) -> Loads:
    """Return loads from (positive, negative, amperes)."""
    return Loads(*zip(*parts, strict=True))


def one_string() -> Network:
    return Network(
        nodes=3,
        sources=sources((1, 0, 3.0, 12.0)),
        resistors=resistors((1, 2, 330.0)),
        junctions=junctions((2, 0, RED)),
    )


def strings_that_share_the_cell() -> Network:
    """Five strings pull down the cell's own resistance together."""
    ohms = ((2, 47.0), (3, 100.0), (4, 150.0), (5, 330.0), (6, 22.0))
    return Network(
        nodes=7,
        sources=sources((1, 0, 2.9, 25.0)),
        resistors=resistors(*((1, node, value) for node, value in ohms)),
        junctions=junctions(*((node, 0, RED) for node in range(2, 6)), (6, 0, BLUE)),
    )


def unequal_lights_behind_one_resistor() -> Network:
    return Network(
        nodes=3,
        sources=sources((1, 0, 5.0, 0.5)),
        resistors=resistors((1, 2, 100.0)),
        junctions=junctions((2, 0, RED), (2, 0, DEEP_RED), (2, 0, BLUE)),
    )


def lights_in_series() -> Network:
    return Network(
        nodes=5,
        sources=sources((1, 0, 9.0, 2.0)),
        resistors=resistors((1, 2, 220.0)),
        junctions=junctions((2, 3, RED), (3, 4, BLUE), (4, 0, DEEP_RED)),
    )


def antiparallel_pair() -> Network:
    """Two pins drive the pair; here the second pin is the high one."""
    return Network(
        nodes=4,
        sources=sources((1, 0, 0.0, 30.0), (2, 0, 3.0, 30.0)),
        resistors=resistors((1, 3, 150.0)),
        junctions=junctions((3, 2, RED), (2, 3, BLUE)),
    )


def array_of_three_pins() -> Network:
    """Six lights between three lines: 1 high, 2 low, 3 left open, where two make a ghost path."""
    return Network(
        nodes=6,
        sources=sources((1, 0, 3.0, 35.0), (2, 0, 0.0, 25.0)),
        resistors=resistors((1, 3, 68.0), (2, 4, 68.0)),
        junctions=junctions(
            (3, 4, RED), (4, 3, RED), (3, 5, DEEP_RED), (5, 3, RED), (5, 4, DEEP_RED), (4, 5, RED)
        ),
    )


def transistor_switch() -> Network:
    """A FET in the ground lead: its channel in parallel with its body diode."""
    return Network(
        nodes=4,
        sources=sources((1, 0, 4.0, 0.2)),
        resistors=resistors((1, 2, 15.0), (3, 0, 1.5)),
        junctions=junctions((2, 3, BLUE), (0, 3, SILICON)),
    )


def reversed_transistor() -> Network:
    """The same FET switched off and turned round: only the body diode conducts."""
    return Network(
        nodes=4,
        sources=sources((1, 0, 4.0, 0.2)),
        resistors=resistors((1, 2, 15.0)),
        junctions=junctions((2, 3, BLUE), (3, 0, SILICON)),
    )


def two_cells_through_diodes() -> Network:
    return Network(
        nodes=5,
        sources=sources((1, 0, 3.0, 15.0), (2, 0, 3.1, 8.0)),
        resistors=resistors((3, 4, 120.0)),
        junctions=junctions((1, 3, SCHOTTKY), (2, 3, SCHOTTKY), (4, 0, RED)),
    )


def loaded_divider() -> Network:
    return Network(
        nodes=3,
        sources=sources((1, 0, 3.7, 0.1)),
        resistors=resistors((1, 2, 1e6), (2, 0, 330e3)),
        loads=loads((1, 0, 5e-3), (2, 0, 1e-6)),
    )


def zener_clamp() -> Network:
    return Network(
        nodes=4,
        sources=sources((1, 0, 12.0, 1.0)),
        resistors=resistors((1, 2, 470.0), (2, 3, 150.0)),
        junctions=junctions((0, 2, (1e-14, 1.0, 5.0)), (3, 0, BLUE), breakdown={0: 5.1}),
    )


def floating_cell() -> Network:
    """A cell with a light of its own that touches the rest at no place; node 4 touches nothing."""
    return Network(
        nodes=7,
        sources=sources((1, 0, 3.0, 0.0), (2, 3, 3.0, 10.0)),
        resistors=resistors((1, 5, 1e3), (2, 6, 200.0)),
        junctions=junctions((5, 0, RED), (6, 3, RED)),
    )


def bridge_of_lights() -> Network:
    """Four lights as a rectifier, a fifth across it."""
    return Network(
        nodes=6,
        sources=sources((1, 0, -9.0, 3.0)),
        resistors=resistors((1, 2, 150.0), (3, 5, 47.0)),
        junctions=junctions((2, 3, RED), (0, 3, RED), (4, 2, DEEP_RED), (4, 0, RED), (5, 4, BLUE)),
    )


def light_from_two_pins() -> Network:
    return Network(
        nodes=4,
        sources=sources((1, 0, 3.0, 30.0), (2, 0, 3.0, 45.0)),
        resistors=resistors((1, 3, 100.0), (2, 3, 100.0)),
        junctions=junctions((3, 0, RED)),
    )


def light_on_the_bare_cell() -> Network:
    return Network(
        nodes=2,
        sources=sources((1, 0, 3.2, 18.0)),
        junctions=junctions((1, 0, BLUE)),
    )


def source_too_weak_for_its_load() -> Network:
    """A controller that wants 20 mA from 3 V behind 1 kΩ, with a light beside it."""
    return Network(
        nodes=3,
        sources=sources((1, 0, 3.0, 1e3)),
        resistors=resistors((1, 2, 330.0)),
        junctions=junctions((2, 0, RED)),
        loads=loads((1, 0, 20e-3)),
    )


def smallest_and_largest_resistor() -> Network:
    return Network(
        nodes=5,
        sources=sources((1, 0, 3.0, 0.0)),
        resistors=resistors((1, 2, 0.1), (2, 3, 10e6), (2, 4, 47.0), (3, 4, 10e6)),
        junctions=junctions((3, 0, RED), (4, 0, RED)),
    )


def light_reversed_at_twenty_volts() -> Network:
    return Network(
        nodes=3,
        sources=sources((1, 0, -20.0, 0.0)),
        resistors=resistors((1, 2, 0.1)),
        junctions=junctions((2, 0, RED), (2, 0, BLUE)),
    )


def five_lights_on_a_stiff_source() -> Network:
    unlike = ((2.0, 6.0), (2.0, 0.1), (2.1, 3.0), (2.5, 15.0), (2.2, 0.5))
    return Network(
        nodes=2,
        sources=sources((1, 0, 3.0, 0.0)),
        junctions=junctions(*((1, 0, (1e-17, n, rs)) for n, rs in unlike)),
    )


def no_supply() -> Network:
    return Network(
        nodes=3,
        sources=sources((1, 0, 0.0, 0.0)),
        resistors=resistors((1, 2, 330.0)),
        junctions=junctions((2, 0, RED), (2, 1, SCHOTTKY)),
    )


def hundred_volts() -> Network:
    return Network(
        nodes=4,
        sources=sources((1, 0, 100.0, 0.0)),
        resistors=resistors((1, 3, 0.1)),
        junctions=junctions((1, 2, RED), (2, 0, BLUE), (0, 1, SILICON), (3, 0, RED)),
    )


CIRCUITS: tuple[Callable[[], Network], ...] = (
    one_string,
    strings_that_share_the_cell,
    unequal_lights_behind_one_resistor,
    lights_in_series,
    antiparallel_pair,
    array_of_three_pins,
    transistor_switch,
    reversed_transistor,
    two_cells_through_diodes,
    loaded_divider,
    zener_clamp,
    floating_cell,
    bridge_of_lights,
    light_from_two_pins,
    light_on_the_bare_cell,
    source_too_weak_for_its_load,
    smallest_and_largest_resistor,
    light_reversed_at_twenty_volts,
    five_lights_on_a_stiff_source,
    no_supply,
    hundred_volts,
)
