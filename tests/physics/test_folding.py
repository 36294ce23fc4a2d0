"""Folding: fewer nodes, and the voltages and currents that the whole network has."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from tests.physics import circuits

from boardvet.physics.folding import Folding
from boardvet.physics.network import Network, Resistors, solution_of
from boardvet.physics.network import solve as solve_folded
from boardvet.physics.nodal import Equations, solved

RED = circuits.RED
SHAPES = [
    circuits.one_string,
    circuits.strings_that_share_the_cell,
    circuits.unequal_lights_behind_one_resistor,
    circuits.lights_in_series,
    circuits.antiparallel_pair,
    circuits.array_of_three_pins,
    circuits.transistor_switch,
    circuits.floating_cell,
    circuits.bridge_of_lights,
]


def one_light(*resistors: tuple[int, int, float], anode: int, cathode: int = 0) -> Network:
    nodes = 1 + max(max(a, b) for a, b, _ in resistors)
    return Network(
        nodes=max(nodes, anode + 1, cathode + 1),
        sources=circuits.sources((1, 0, 3.0, 12.0)),
        resistors=circuits.resistors(*resistors),
        junctions=circuits.junctions((anode, cathode, RED)),
    )


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.__name__)
def test_every_voltage_and_current_is_that_of_the_unfolded_network(
    shape: Callable[[], Network],
) -> None:
    network = shape()
    whole = solution_of(network, *solved(Equations.of(network), network.batch))
    folded = solve_folded(network)

    assert folded.voltages == pytest.approx(whole.voltages, rel=1e-6, abs=1e-6)
    assert folded.resistor_currents == pytest.approx(whole.resistor_currents, rel=1e-5, abs=1e-9)
    assert folded.junction_currents == pytest.approx(whole.junction_currents, rel=1e-5, abs=1e-9)
    assert folded.source_currents == pytest.approx(whole.source_currents, rel=1e-5, abs=1e-9)


def test_a_resistor_before_a_light_becomes_a_part_of_it() -> None:
    network = one_light((1, 2, 330.0), anode=2)

    left = Folding.of(network).network

    assert (left.nodes, len(left.resistors.a)) == (2, 0)
    assert left.junctions.series_resistance.tolist() == [[RED[2] + 330.0]]


def test_a_resistor_behind_a_light_becomes_a_part_of_it() -> None:
    network = one_light((2, 0, 330.0), anode=1, cathode=2)

    assert Folding.of(network).network.nodes == 2


def test_a_chain_of_pin_and_resistor_is_folded_whole() -> None:
    network = one_light((1, 2, 30.0), (2, 3, 330.0), anode=3)

    left = Folding.of(network).network

    assert left.nodes == 2
    assert left.junctions.series_resistance.tolist() == [[RED[2] + 360.0]]


def test_a_node_that_something_else_needs_stays() -> None:
    network = one_light((1, 2, 330.0), (2, 0, 10e3), anode=2)

    assert Folding.of(network).network is network


def test_a_zener_keeps_its_resistor_outside() -> None:
    """Backwards it conducts too, and then behind its own law of breakdown."""
    network = Network(
        nodes=3,
        sources=circuits.sources((1, 0, 9.0, 1.0)),
        resistors=circuits.resistors((1, 2, 330.0)),
        junctions=circuits.junctions((0, 2, circuits.SILICON), breakdown={0: 5.1}),
    )

    assert Folding.of(network).network is network


def test_each_row_keeps_its_own_resistor() -> None:
    """By hand with an ideal drop it halves; here the unfolded network is the measure."""
    network = Network(
        nodes=3,
        sources=circuits.sources((1, 0, 3.0, 0.0)),
        resistors=Resistors([1], [2], [[100.0], [1000.0]]),
        junctions=circuits.junctions((2, 0, RED)),
    )
    whole = solution_of(network, *solved(Equations.of(network), network.batch))

    assert np.allclose(solve_folded(network).voltages, whole.voltages, rtol=1e-6)
