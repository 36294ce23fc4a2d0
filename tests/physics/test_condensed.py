"""Equations without what only linear elements touch: the same solution as the whole ones."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.physics import circuits, pulsed
from tests.physics.test_network import networks

from boardvet.physics.companion import Companion
from boardvet.physics.condensed import Condensed
from boardvet.physics.elements import Capacitors, Floats
from boardvet.physics.network import Network, Resistors, Sources, solve
from boardvet.physics.nodal import Equations

UNTIMED = settings(deadline=None, max_examples=60)


@UNTIMED
@given(
    network=networks(batch=2),
    ends=st.tuples(st.integers(0, 1), st.integers(0, 1)),
    volts=st.sampled_from((0.0, 1.2, 3.0)),
    ohms=st.sampled_from((0.1, 1e3, 1e6)),
)
def test_a_network_at_one_instant_is_that_with_its_capacitors_as_sources(
    network: Network, ends: tuple[int, int], volts: float, ohms: float
) -> None:
    capacitors = Capacitors([ends[0]], [ends[1]], [1e-6], [ohms])
    companion = Companion(network, capacitors, 2)
    instant = companion.at(np.full((2, 1), volts), capacitors.series_resistance, None)
    ours = companion.solution(instant.values)
    whole = solve(_with_sources(network, capacitors, np.full((2, 1), volts))).require()
    # a node that only a reversed light holds may stand where it likes, and so nothing of voltages;
    # 90 A of a shorted cell leave 10 nA of rounding
    assert ours.resistor_currents == pytest.approx(whole.resistor_currents, rel=1e-6, abs=1e-8)
    assert ours.load_currents == pytest.approx(whole.load_currents, rel=1e-4, abs=1e-8)
    assert ours.source_currents == pytest.approx(whole.source_currents, rel=1e-6, abs=1e-8)
    assert ours.junction_currents == pytest.approx(whole.junction_currents, rel=1e-4, abs=1e-8)


@pytest.mark.parametrize("circuit", pulsed.PULSED, ids=lambda made: made.__name__)
def test_all_voltages_come_back(circuit: Callable[[], pulsed.Pulsed]) -> None:
    made = circuit()
    network = made.steps[0][0]
    companion = Companion(network, made.capacitors, 1)
    charged = np.array([made.charged])
    instant = companion.at(charged, made.capacitors.series_resistance, None)
    ours = companion.solution(instant.values)
    whole = solve(_with_sources(network, made.capacitors, charged)).require()
    assert ours.voltages == pytest.approx(whole.voltages, abs=1e-6)
    assert ours.source_currents == pytest.approx(whole.source_currents, rel=1e-4, abs=1e-9)


def _with_sources(network: Network, capacitors: Capacitors, charged: Floats) -> Network:
    cells = network.sources
    rows = np.ones((len(charged), 1))
    added = Sources(
        [*cells.positive, *capacitors.a],
        [*cells.negative, *capacitors.b],
        np.concatenate([cells.voltage * rows, charged], axis=1),
        np.concatenate([cells.resistance * rows, capacitors.series_resistance * rows], axis=1),
    )
    return replace(network, sources=added)


def test_pins_and_series_resistors_are_gone_and_lights_stay() -> None:
    """Of 5 nodes and 3 sources: the light's node, the capacitor's and its current stay."""
    network = Network(
        6,
        Resistors([2, 3, 4], [5, 5, 1], [100.0, 100.0, 10.0]),
        Sources([1, 2, 3], [0, 0, 0], [3.0, 3.0, 0.0], [20.0, 25.0, 0.0]),
        circuits.junctions((5, 0, circuits.RED)),
    )
    companion = Companion(network, Capacitors([4], [0], [1e-4], [0.0]), 1)
    condensed = Condensed.of(Equations.of(companion.network, np.array([8])))
    assert condensed.kept.tolist() == [3, 4, 8]


def test_a_stiff_source_at_a_light_keeps_its_current() -> None:
    light = circuits.junctions((1, 0, circuits.RED))
    stiff = Network(2, sources=Sources([1], [0], [2.0], [0.0]), junctions=light)
    soft = Network(2, sources=Sources([1], [0], [2.0], [10.0]), junctions=light)
    assert Condensed.of(Equations.of(stiff)).kept.tolist() == [0, 1]
    assert Condensed.of(Equations.of(soft)).kept.tolist() == [0]


def test_a_large_island_shrinks() -> None:
    """Of 122 nodes 121 unknowns, one cell, two capacitors; the cell's current is gone."""
    made = pulsed.sixty_strings()
    companion = Companion(made.steps[0][0], made.capacitors, 1)
    assert companion.curved.start == 121 + 2
