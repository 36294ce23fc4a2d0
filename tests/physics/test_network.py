"""The network solver: reference circuits against ngspice, laws that hold for all, and extremes."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.physics import circuits, spice
from tests.physics.circuits import BLUE, DEEP_RED, RED, SCHOTTKY, SILICON, Diode
from tests.physics.ngspice_values import NGSPICE_39

from boardvet.errors import PhysicsDomainError, SolverError
from boardvet.physics import nodal
from boardvet.physics.elements import Floats, Indices
from boardvet.physics.network import (
    LEAK_CONDUCTANCE,
    Junctions,
    Loads,
    Network,
    Resistors,
    Solution,
    Sources,
    solve,
)

RELATIVE, ABSOLUTE = 1e-4, 1e-9
"""The bar is 1 % or 1 µA. Both solvers stop nearer, and a slip shows at a hundredth of it."""

UNTIMED = settings(deadline=None, max_examples=60)
"""How long a law takes is the business of the benchmarks."""

REFERENCE = pytest.mark.parametrize("circuit", circuits.CIRCUITS, ids=lambda made: made.__name__)


@REFERENCE
def test_currents_are_those_of_ngspice_39(circuit: Callable[[], Network]) -> None:
    _compare(circuit(), NGSPICE_39[circuit.__name__])


@REFERENCE
@spice.needs_ngspice
def test_currents_are_those_of_the_ngspice_here(
    circuit: Callable[[], Network], tmp_path: Path
) -> None:
    _compare(circuit(), spice.run(circuit(), tmp_path))


def _compare(network: Network, reading: spice.Reading) -> None:
    solution = solve(network).require()
    pairs = (
        (solution.junction_currents, reading.junctions),
        (solution.source_currents, reading.sources),
        (solution.load_currents, reading.loads),
    )
    for ours, theirs in pairs:
        assert ours[0] == pytest.approx(theirs, rel=RELATIVE, abs=ABSOLUTE)
    assert solution.voltages[0] == pytest.approx(reading.voltages, rel=0, abs=1e-4)


def test_every_reference_circuit_has_kept_values() -> None:
    assert set(NGSPICE_39) == {circuit.__name__ for circuit in circuits.CIRCUITS}
    assert np.isfinite(np.concatenate([v for r in NGSPICE_39.values() for v in r])).all()


def test_the_solver_loads_nothing_heavier_than_numpy() -> None:
    heavy = ("networkx", "pydantic", "rich", "scipy", "yaml", "kinparse")
    code = f"import boardvet.physics.network, sys; print([n for n in {heavy} if n in sys.modules])"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    )
    assert done.stdout.strip() == "[]"


# Laws, on networks of random parts at random places


@st.composite
def networks(draw: st.DrawFn, batch: int = 1) -> Network:
    """Boards that nobody would draw: 2 to 7 nodes, each kind of element between any two."""
    nodes = draw(st.integers(2, 7))
    node = st.integers(0, nodes - 1)
    ohms = st.floats(-1, 7).map(lambda power: 10.0**power)

    def ends(count: int) -> tuple[list[int], list[int]]:
        pairs = [(draw(node), draw(node)) for _ in range(count)]
        return [a for a, _ in pairs], [b for _, b in pairs]

    def rows(values: st.SearchStrategy[float], count: int) -> Floats:
        drawn = [[draw(values) for _ in range(count)] for _ in range(batch)]
        return np.array(drawn, dtype=np.float64).reshape(batch, count)

    many, few = st.integers(0, 6), st.integers(0, 2)
    resistors, cells = draw(many), draw(st.integers(1, 2))
    lights, controllers = draw(many), draw(few)
    diodes: list[Diode] = [
        draw(st.sampled_from((RED, DEEP_RED, BLUE, SILICON, SCHOTTKY))) for _ in range(lights)
    ]
    parameters = np.array(diodes, dtype=np.float64).reshape(lights, 3).T
    return Network(
        nodes=nodes,
        resistors=Resistors(*ends(resistors), rows(ohms, resistors)),
        sources=Sources(
            *ends(cells),
            rows(st.sampled_from((0.0, 1.5, 2.2, 3.0, 9.0, -5.0)), cells),
            rows(st.sampled_from((0.1, 12.0, 1e3)), cells),
        ),
        junctions=Junctions(*ends(lights), *parameters),
        loads=Loads(*ends(controllers), rows(st.sampled_from((1e-6, 5e-3)), controllers)),
    )


def _into_nodes(network: Network, solution: Solution) -> Floats:
    """Add up the currents into each node, shape (0, B, nodes), and their sizes, (1, B, nodes)."""
    total: Floats = np.zeros((2, network.batch, network.nodes))
    flows = (
        (network.resistors.a, network.resistors.b, solution.resistor_currents),
        (network.sources.negative, network.sources.positive, solution.source_currents),
        (network.junctions.anode, network.junctions.cathode, solution.junction_currents),
        (network.loads.positive, network.loads.negative, solution.load_currents),
    )
    for start, end, currents in flows:
        for column, (a, b) in enumerate(zip(start, end, strict=True)):
            total[0, :, a] -= currents[:, column]
            total[0, :, b] += currents[:, column]
            total[1, :, a] += np.abs(currents[:, column])
            total[1, :, b] += np.abs(currents[:, column])
    return total


@UNTIMED
@given(networks())
def test_what_flows_into_a_node_flows_out_of_it(network: Network) -> None:
    solution = solve(network).require()
    net, size = _into_nodes(network, solution)
    leak = np.abs(LEAK_CONDUCTANCE * solution.voltages)
    # rounding of some 10 V leaves that much over 0.1 Ω; nodes folded into a junction do not leak
    assert np.all(np.abs(net)[:, 1:] <= 1e-9 * size[:, 1:] + 1e-12 + 1.001 * leak[:, 1:])


@UNTIMED
@given(networks())
def test_every_junction_obeys_its_law(network: Network) -> None:
    """By the law as it stands in the data sheet, and not in the form that is solved."""
    solution = solve(network).require()
    part = network.junctions
    across = (solution.voltages[:, part.anode] - solution.voltages[:, part.cathode])[0]
    current = solution.junction_currents[0]
    inner = across - current * part.series_resistance[0]
    law = part.saturation_current[0] * np.expm1(inner / (part.emission[0] * 0.025865))
    # a cell shorted by itself gives up to 90 A, and the law may be missed by 1e-14 of that
    assert current == pytest.approx(law, rel=1e-5, abs=2e-12)


@UNTIMED
@given(networks())
def test_the_sources_deliver_what_the_rest_turns_into_heat(network: Network) -> None:
    solution = solve(network).require()
    volts = solution.voltages

    def power(a: Indices, b: Indices, currents: Floats) -> float:
        return float(((volts[:, a] - volts[:, b]) * currents).sum())

    given_out = power(network.sources.positive, network.sources.negative, solution.source_currents)
    used = power(network.resistors.a, network.resistors.b, solution.resistor_currents)
    used += power(network.junctions.anode, network.junctions.cathode, solution.junction_currents)
    used += power(network.loads.positive, network.loads.negative, solution.load_currents)
    used += LEAK_CONDUCTANCE * float((volts**2).sum())
    assert given_out == pytest.approx(used, rel=1e-6, abs=1e-10)


@UNTIMED
@given(networks(batch=3))
def test_a_row_of_a_batch_is_the_same_network_alone(network: Network) -> None:
    together = solve(network).require()
    for row in range(network.batch):
        resistors, cells, wants = network.resistors, network.sources, network.loads
        alone = solve(
            replace(
                network,
                resistors=Resistors(resistors.a, resistors.b, resistors.resistance[row]),
                sources=Sources(
                    cells.positive, cells.negative, cells.voltage[row], cells.resistance[row]
                ),
                loads=Loads(wants.positive, wants.negative, wants.current[row]),
            )
        ).require()
        assert together.voltages[row] == pytest.approx(alone.voltages[0], rel=1e-9, abs=1e-9)
        assert together.junction_currents[row] == pytest.approx(
            alone.junction_currents[0], rel=1e-6, abs=1e-13
        )


@UNTIMED
@given(
    st.floats(0.0, 12.0),
    st.sampled_from((RED, BLUE, SILICON)),
    st.lists(st.floats(0.1, 1e7), min_size=2, max_size=6),
)
def test_more_resistance_never_gives_more_current(
    volts: float, diode: Diode, ohms: list[float]
) -> None:
    rising = np.sort(np.array(ohms))[:, None]
    light = circuits.junctions((2, 0, diode))
    string = Network(3, Resistors([1], [2], rising), Sources([1], [0], [volts], [1.0]), light)
    currents = solve(string).require().junction_currents[:, 0]
    assert np.all(np.diff(currents) <= 1e-6 * currents[:-1] + 1e-13)


@UNTIMED
@given(st.floats(0.0, 50.0), st.floats(0.1, 1e6))
def test_twice_the_network_side_by_side_draws_twice_the_current(volts: float, ohms: float) -> None:
    def strings(count: int) -> Network:
        return Network(
            nodes=2 + count,
            sources=Sources([1], [0], [volts], [0.0]),
            resistors=Resistors([1] * count, range(2, 2 + count), [ohms] * count),
            junctions=circuits.junctions(*((2 + index, 0, RED) for index in range(count))),
        )

    one, two = (solve(strings(count)).require().source_currents[0, 0] for count in (1, 2))
    # the supply node itself leaks once in both
    assert two == pytest.approx(2 * one - LEAK_CONDUCTANCE * volts, rel=1e-5, abs=1e-13)


# Limits that can be worked out by hand


def test_a_light_without_series_resistance_obeys_the_plain_exponential() -> None:
    """By hand: 0.7 V on Is 1 fA, n 1: I = 1 fA · (exp(0.7 / 0.025865) − 1) = 1 fA · 5.668e11."""
    light = circuits.junctions((1, 0, (1e-15, 1.0, 0.0)))
    solution = solve(
        Network(2, sources=Sources([1], [0], [0.7], [0.0]), junctions=light)
    ).require()
    assert math.exp(0.7 / 0.025865) == pytest.approx(5.668e11, rel=1e-3)
    expected = 1e-15 * math.expm1(0.7 / 0.025865)
    assert solution.junction_currents[0, 0] == pytest.approx(expected, rel=1e-4)


def test_a_zener_diode_has_its_voltage_at_one_milliampere() -> None:
    """By hand: 6.1 V less 5.1 V over 1 kΩ is 1 mA."""
    zener = circuits.junctions((0, 2, (1e-14, 1.0, 0.0)), breakdown={0: 5.1})
    source = Sources([1], [0], [6.1], [0.0])
    solution = solve(Network(3, Resistors([1], [2], [1e3]), source, zener)).require()
    assert solution.voltages[0, 2] == pytest.approx(5.1, abs=1e-5)
    assert solution.junction_currents[0, 0] == pytest.approx(-1e-3, rel=1e-4)


def test_a_batch_may_mix_diodes_that_break_down_and_that_do_not() -> None:
    """The rows of a batch: no breakdown, 5.1 V; by hand 7.1 V less 5.1 V over 2 kΩ is 1 mA."""
    knees = [[math.inf], [5.1]]
    diode = Junctions([0], [2], [1e-14], [1.0], [0.0], knees)
    network = Network(3, Resistors([1], [2], [2e3]), Sources([1], [0], [7.1], [0.0]), diode)
    currents = solve(network).require().junction_currents[:, 0]
    assert currents == pytest.approx([0.0, -1e-3], rel=1e-4, abs=1e-11)


def test_a_load_takes_all_of_its_current_from_a_source_that_can_give_it() -> None:
    """By hand: 3.0 V less 10 mA over 15 Ω leaves 2.85 V."""
    network = Network(2, sources=Sources([1], [0], [3.0], [15.0]), loads=Loads([1], [0], [10e-3]))
    assert solve(network).require().voltages[0, 1] == pytest.approx(2.85, abs=1e-9)


def test_a_source_too_weak_for_its_load_collapses() -> None:
    """By hand: at 20 mV, s = 0.1 and the load draws 0.028 of 50 mA, as 0.98 V over 700 Ω do."""
    network = Network(2, sources=Sources([1], [0], [1.0], [700.0]), loads=Loads([1], [0], [50e-3]))
    solution = solve(network).require()
    assert solution.voltages[0, 1] == pytest.approx(0.020, abs=1e-4)
    assert solution.load_currents[0, 0] == pytest.approx(1.4e-3, rel=1e-3)


def test_two_equal_stiff_sources_share_the_current() -> None:
    network = Network(
        2, Resistors([1], [0], [100.0]), Sources([1, 1], [0, 0], [3.0] * 2, [0.0] * 2)
    )
    assert solve(network).require().source_currents[0] == pytest.approx([15e-3, 15e-3], rel=1e-4)


def test_two_unlike_stiff_sources_show_an_absurd_current() -> None:
    network = Network(
        2, Resistors([1], [0], [100.0]), Sources([1, 1], [0, 0], [3.0, 5.0], [0.0] * 2)
    )
    assert solve(network).require().source_currents[0] == pytest.approx([-1e6, 1e6], rel=1e-3)


def test_a_node_that_nothing_holds_stands_at_zero() -> None:
    network = Network(4, Resistors([2], [3], [100.0]), Sources([1], [0], [3.0], [0.0]))
    assert solve(network).require().voltages[0] == pytest.approx([0.0, 3.0, 0.0, 0.0], abs=1e-12)


def test_a_stiff_pair_that_nothing_holds_stands_at_zero() -> None:
    """The leak of 1 pS is less than the rounding of the 1 MS between the two."""
    network = Network(3, Resistors([1], [2], [0.0]))
    assert solve(network).require().voltages[0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


def test_a_load_that_nothing_feeds_is_solved_by_half_steps() -> None:
    """It lies across a zener diode on a node that nothing else holds: whole steps never end.

    By hand: no more can flow than what leaks from that node, 3 V · 1 pS.
    """
    network = Network(
        nodes=3,
        sources=Sources([1], [0], [3.0], [1e3]),
        junctions=circuits.junctions((2, 1, RED), breakdown={0: 2.4}),
        loads=Loads([1], [2], [1e-6]),
    )
    solution = solve(network).require()
    assert solution.iterations > 20
    assert 0.0 <= solution.load_currents[0, 0] <= 3.1e-12


@REFERENCE
def test_a_circuit_takes_no_more_than_a_dozen_steps(circuit: Callable[[], Network]) -> None:
    assert solve(circuit()).require().iterations <= 12


def test_a_light_that_nothing_feeds_is_dark_after_a_few_steps() -> None:
    """Plain steps down an exponential are n·Vt each: 1.7 V by 52 mV, over 30 steps."""
    solution = solve(Network(2, junctions=circuits.junctions((1, 0, RED)))).require()
    assert solution.iterations <= 5
    assert solution.voltages[0, 1] == pytest.approx(0.0, abs=1e-6)


def test_a_network_of_the_reference_alone_is_solved() -> None:
    assert solve(Network(1)).require().voltages.tolist() == [[0.0]]


def test_two_hundred_nodes_are_solved() -> None:
    """By hand: 199 times 1 kΩ in a row on 19.9 V is 0.1 mA, and the leaks take some nA."""
    chain = list(range(1, 200))
    network = Network(
        200, Resistors(chain, [*chain[1:], 0], [1e3] * 199), Sources([1], [0], [19.9], [0.0])
    )
    assert solve(network).require().source_currents[0, 0] == pytest.approx(0.1e-3, abs=2e-9)


@UNTIMED
@given(st.integers(1, 6), st.integers(1, 20))
def test_a_large_batch_is_solved_in_parts_without_a_seam(parts: int, more: int) -> None:
    """A part holds 2^16 matrix elements; these are 22 unknowns and so 135 rows."""
    batch = 135 * parts + more
    chain = list(range(1, 22))
    volts = np.linspace(0.0, 10.0, batch)[:, None]
    network = Network(
        22, Resistors(chain, [*chain[1:], 0], [1.0] * 21), Sources([1], [0], volts, [0.0])
    )
    solution = solve(network).require()
    assert solution.source_currents == pytest.approx(volts / 21.0, rel=1e-6, abs=1e-9)


# What is refused, and what is not solved


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Resistors([0], [1], [-1.0]), r"resistance = -1\.0 Ω, but it must be finite"),
        (lambda: Resistors([0], [1], [math.nan]), "resistance = nan"),
        (lambda: Resistors([0], [1], [math.inf]), "resistance = inf"),
        (lambda: Resistors([0], [1], [1.0, 2.0]), "resistance = 2 values, but it must be 1"),
        (lambda: Resistors([0, 1], [1], [1.0, 2.0]), "b = 1 nodes, but it must be 2"),
        (lambda: Sources([0], [1], [math.nan], [1.0]), "voltage = nan V, but it must be finite"),
        (lambda: Sources([0], [1], [1.0], [-1.0]), "resistance = -1"),
        (lambda: Junctions([0], [1], [0.0], [1.0], [1.0]), "saturation_current = 0"),
        (lambda: Junctions([0], [1], [1e-9], [0.0], [1.0]), "emission = 0"),
        (lambda: Junctions([0], [1], [1e-9], [1.0], [1.0], [0.0]), "breakdown_voltage = 0"),
        (lambda: Loads([0], [1], [-1e-3]), "current = -0.001 A"),
        (lambda: Network(0), "nodes = 0"),
        (lambda: Network(2, Resistors([0], [2], [1.0])), "node = 2 , but it must be 0 to 1"),
        (lambda: Network(2, Resistors([-1], [1], [1.0])), "node = -1"),
        (
            lambda: Network(
                2, Resistors([0], [1], [[1.0]] * 2), Sources([0], [1], [[1.0]] * 3, [0.0])
            ),
            "batch = 3",
        ),
    ],
)
def test_impossible_values_are_refused_by_name(make: Callable[[], object], said: str) -> None:
    with pytest.raises(PhysicsDomainError, match=said):
        make()


def test_a_row_that_is_not_solved_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """One step is enough for no light, and too few for one."""
    monkeypatch.setattr(nodal, "_MOST_STEPS", 1)
    network = replace(circuits.one_string(), sources=Sources([1], [0], [[0.0], [3.0]], [12.0]))
    light = replace(network, junctions=Junctions([2], [0], [[1e-300], [1e-17]], [2.0], [6.0]))
    solution = solve(light)
    assert not solution.converged.all()
    with pytest.raises(SolverError, match=r"of 2 rows have no solution after 1 steps") as caught:
        solution.require()
    assert caught.value.missing == int((~solution.converged).sum())
    assert caught.value.error == pytest.approx(solution.error[~solution.converged].max())
