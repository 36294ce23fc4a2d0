"""Networks with capacitors in time: sums by hand, laws that hold for all, and limits."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from tests.physics import circuits
from tests.physics.circuits import RED

from boardvet.errors import PhysicsDomainError
from boardvet.physics.elements import Floats
from boardvet.physics.network import Loads, Network, Resistors, Sources, solve
from boardvet.physics.transient import Capacitors, advance, settle


def cell_with_load(volts: float, ohms: float, amperes: float) -> Network:
    """A cell between node 1 and the reference, and a load beside it."""
    return Network(2, sources=Sources([1], [0], [volts], [ohms]), loads=Loads([1], [0], [amperes]))


def reservoir(farads: float, ohms: float = 0.0) -> Capacitors:
    return Capacitors([1], [0], [farads], [ohms])


def at(*volts: float) -> Floats:
    """Plates' voltages of one row."""
    return np.array([volts])


# Sums by hand


@pytest.mark.parametrize(
    ("farads", "millivolts"), [(1e-9, 240.0), (10e-6, 240.0), (100e-6, 194.7)]
)
def test_a_capacitor_too_small_for_the_pulse_saves_nothing(
    farads: float, millivolts: float
) -> None:
    """By hand: droop = I·Ri·(1 − exp(−t/(Ri·C))) with 8 mA, 30 Ω, 5 ms.

    10 µF: 240 mV · (1 − exp(−16.7)) = 240.0 mV; 100 µF: 240 mV · (1 − exp(−1.667)) = 194.7 mV.
    """
    stretch = advance(cell_with_load(3.0, 30.0, 8e-3), reservoir(farads), at(3.0), 5e-3)
    exact = 240.0 * (1.0 - math.exp(-5e-3 / (30.0 * farads)))
    assert exact == pytest.approx(millivolts, abs=0.05)
    assert (3.0 - stretch.lowest[0, 1]) * 1e3 == pytest.approx(exact, abs=0.1)


def test_the_burst_of_the_note_falls_to_two_volts_and_is_back_in_195_ms() -> None:
    """The load of TI SWRA349 appendix A: 8 mA 2 ms, 30 mA 1 ms, 8 mA 2 ms; 100 µF behind 1 kΩ.

    By hand, from 2.6 V with 2.7 V open: V' = V∞ + (V − V∞)·exp(−t / 100 ms), V∞ = 2.7 V − I·1 kΩ.
    −5.3 + 7.9·exp(−0.02) = 2.4436; −27.3 + 29.7436·exp(−0.01) = 2.1476;
    −5.3 + 7.4476·exp(−0.02) = 2.0001. Back to 2.6 V in 100 ms · ln(0.6999 / 0.1) = 194.6 ms.
    """
    charged = at(2.6)
    after = []
    for amperes, seconds in ((8e-3, 2e-3), (30e-3, 1e-3), (8e-3, 2e-3), (0.0, 194.6e-3)):
        stretch = advance(cell_with_load(2.7, 1e3, amperes), reservoir(100e-6), charged, seconds)
        charged = stretch.charged
        after.append(float(charged[0, 0]))
    assert after == pytest.approx([2.4436, 2.1476, 2.0001, 2.6000], abs=1e-4)


def test_the_series_resistance_drops_at_once() -> None:
    """By hand: 20 mA over 30 Ω (cell) beside 2 Ω (ESR): 20 mA · 30·2/32 Ω = 37.5 mV."""
    stretch = advance(cell_with_load(3.0, 30.0, 20e-3), reservoir(1e-3, 2.0), at(3.0), 1e-6)
    assert stretch.times[0] == 0.0
    assert 3.0 - stretch.voltages[0, 0, 1] == pytest.approx(37.5e-3, abs=1e-6)


def test_a_light_empties_a_capacitor_and_all_of_its_charge_passes_the_light() -> None:
    """By hand: 100 µF from 3.0 V down to where the light lets go; what is gone went through it."""
    network = Network(3, Resistors([1], [2], [100.0]), junctions=circuits.junctions((2, 0, RED)))
    stretch = advance(network, reservoir(100e-6), at(3.0), 1.0)
    assert 1.2 < stretch.charged[0, 0] < 1.6
    lost = 100e-6 * (3.0 - stretch.charged[0, 0])
    assert stretch.junction_charge[0, 0] == pytest.approx(lost, rel=1e-6)
    assert stretch.resistor_charge[0, 0] == pytest.approx(lost, rel=1e-6)


def test_what_settles_at_once_is_stepped_over() -> None:
    """100 nF behind 50 mΩ settles in 5 ns; by hand it then stands at 3.0 V · 10 k / 10.00005 k."""
    network = Network(2, Resistors([1], [0], [10e3]), Sources([1], [0], [3.0], [50e-3]))
    stretch = advance(network, reservoir(100e-9), at(2.0), 0.5)
    assert stretch.charged[0, 0] == pytest.approx(2.999985, abs=1e-5)
    assert stretch.solves <= 9


def test_the_first_step_after_a_jump_is_short_enough_at_once() -> None:
    """3 ms settle in 0.5 s: each step that was tried was taken, two solves each and one before."""
    stretch = advance(cell_with_load(3.0, 30.0, 20e-3), reservoir(100e-6), at(3.0), 0.5)
    assert stretch.solves == 1 + 2 * (len(stretch.times) - 1)
    assert stretch.times[1] < 3e-3


def test_a_fast_and_a_slow_capacitor_side_by_side_take_few_solves() -> None:
    """By hand, long after: the slow one has settled 8 mA · 30 Ω below 3 V."""
    network = Network(
        3,
        Resistors([1], [2], [1.0]),
        Sources([1], [0], [3.0], [30.0]),
        loads=Loads([2], [0], [8e-3]),
    )
    capacitors = Capacitors([1, 2], [0, 0], [100e-6, 100e-9], [0.5, 0.05])
    stretch = advance(network, capacitors, at(3.0, 3.0), 0.5)
    assert stretch.charged[0] == pytest.approx([2.760, 2.752], abs=1e-4)
    assert stretch.solves <= 45


# Limits


def test_without_a_capacitor_the_network_is_at_rest_at_once() -> None:
    network = circuits.one_string()
    rest = solve(network).require()
    stretch = advance(network, Capacitors(), np.zeros((1, 0)), 2.0)
    assert stretch.voltages[0] == pytest.approx(rest.voltages)
    assert stretch.times.tolist() == [0.0, 2.0]
    assert stretch.junction_charge == pytest.approx(2.0 * rest.junction_currents)
    assert stretch.solves == 1


def test_a_settled_capacitor_without_a_load_stays() -> None:
    network = cell_with_load(3.0, 30.0, 0.0)
    start = settle(network, reservoir(100e-6))
    stretch = advance(network, reservoir(100e-6), start, 1e6)
    assert stretch.charged == pytest.approx(start, abs=1e-7)
    assert stretch.solves == 3


def test_a_capacitor_on_a_floating_node_keeps_its_charge() -> None:
    network = Network(3, sources=Sources([1], [0], [3.0], [10.0]))
    stretch = advance(network, Capacitors([2], [0], [1e-6], [0.1]), at(1.2), 0.5)
    assert stretch.charged[0, 0] == pytest.approx(1.2, abs=1e-5)
    assert stretch.voltages[-1, 0] == pytest.approx([0.0, 3.0, 1.2], abs=1e-5)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Capacitors([1], [0], [0.0], [0.0]), "capacitance = 0"),
        (lambda: Capacitors([1], [0], [1e-6], [-1.0]), "series_resistance = -1"),
        (lambda: Capacitors([1], [0, 0], [1e-6], [0.0]), "b = 2 nodes"),
        (
            lambda: advance(cell_with_load(3.0, 1.0, 0.0), reservoir(1e-6), at(3.0), 0.0),
            r"duration = 0\.0 s, but it must be finite and more than 0",
        ),
        (
            lambda: advance(cell_with_load(3.0, 1.0, 0.0), reservoir(1e-6), at(3.0), math.inf),
            "duration = inf",
        ),
    ],
)
def test_impossible_values_are_refused_by_name(make: Callable[[], object], said: str) -> None:
    with pytest.raises(PhysicsDomainError, match=said):
        make()
