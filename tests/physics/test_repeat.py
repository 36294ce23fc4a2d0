"""Steps that follow each other for ever: sums by hand, laws that hold for all, and limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.physics import circuits
from tests.physics.circuits import BLUE, RED, SCHOTTKY

from boardvet.errors import PhysicsDomainError, UnsettledError
from boardvet.physics.elements import Floats
from boardvet.physics.network import Loads, Network, Resistors, Sources, solve
from boardvet.physics.transient import Capacitors, Cycle, advance, repeat

Steps = Sequence[tuple[Network, float]]

UNTIMED = settings(deadline=None, max_examples=40)


def supply(load: float, volts: float = 3.0, ohms: float = 20.0) -> Network:
    """A cell between node 1 and the reference, and a load beside it."""
    return Network(2, sources=Sources([1], [0], [volts], [ohms]), loads=Loads([1], [0], [load]))


def lamp(contact: float, *, volts: object = (3.0,), ohms: float = 20.0) -> Network:
    """A red light from the cell through a contact, which is a resistance."""
    cell = Sources([1], [0], np.reshape(np.array(volts), (-1, 1)), [ohms])
    light = circuits.junctions((2, 0, RED))
    return Network(3, Resistors([1], [2], [contact]), cell, light)


def reservoir(farads: float, ohms: float = 0.0) -> Capacitors:
    return Capacitors([1], [0], [farads], [ohms])


def charges(cycle: Cycle, name: str) -> Floats:
    """Add up a charge over a period, shape (B, …)."""
    total: Floats = np.sum([getattr(stretch, name) for stretch in cycle.stretches], axis=0)
    return total


# Sums by hand


def test_a_pulsed_capacitor_swings_between_two_exponentials() -> None:
    """100 µF behind 30 Ω (3 ms) from 3 V, 8 mA for 5 ms of each 8 ms.

    By hand: a = exp(−5/3) = 0.18888, b = exp(−1) = 0.36788. With u the droop at the start and
    w at the end of the pulse, w = 240 mV·(1 − a) + u·a and u = w·b:
    w = 194.67 mV / (1 − 0.069483) = 209.21 mV and u = 76.96 mV.
    """
    steps = [(supply(8e-3, ohms=30.0), 5e-3), (supply(0.0, ohms=30.0), 3e-3)]
    cycle = repeat(steps, reservoir(100e-6)).require()
    droop = [3.0 - float(stretch.charged[0, 0]) for stretch in cycle.stretches]
    assert droop == pytest.approx([209.21e-3, 76.96e-3], abs=1e-4)


def test_a_farad_behind_twenty_ohms_settles_in_a_handful_of_periods() -> None:
    """Its time constant is 20 s, the period 0.5 s.

    By hand: 100 mA for a tenth of the time drop 200 mV in the mean. Over the pulse 90 mA come from
    1 F, 4.5 mV, half of it to either side.
    """
    cycle = repeat([(supply(0.1), 0.05), (supply(0.0), 0.45)], reservoir(1.0)).require()
    ends = [float(stretch.charged[0, 0]) for stretch in cycle.stretches]
    assert ends == pytest.approx([2.79775, 2.80225], abs=3e-5)
    assert cycle.periods <= 4


def test_a_light_behind_a_supercapacitor_draws_the_same_from_the_cell_all_the_time() -> None:
    """By hand: next to no ripple on 1 F, so the cell gives the mean of what the light takes."""
    cycle = repeat([(lamp(50.0), 0.05), (lamp(1e9), 0.45)], reservoir(1.0)).require()
    on = cycle.stretches[0]
    light = float(on.junction_currents[-1, 0, 0])
    cell = float(charges(cycle, "source_charge")[0, 0]) / 0.5
    assert cell == pytest.approx(light * 0.05 / 0.5, rel=0.01)
    assert 3.0 - float(on.voltages[-1, 0, 1]) == pytest.approx(20.0 * cell, abs=1e-3)
    assert cycle.periods <= 5


def test_a_pulse_longer_than_its_period_is_always_on() -> None:
    """The caller then has one step; by hand 10 mA over 20 Ω are 200 mV, for ever."""
    cycle = repeat([(supply(10e-3), 0.7)], reservoir(1e-3)).require()
    assert cycle.stretches[0].voltages[:, 0, 1] == pytest.approx(2.8, abs=1e-6)
    assert cycle.periods == 1


def test_a_burst_of_constant_current_collapses_the_rail() -> None:
    """By hand: 100 mA over 100 Ω want 10 V; 3 V are gone after some 100 µF · 3 V / 85 mA = 3.5 ms.

    At rest the load stands where it draws what the cell can give: at 71.6 mV, s = 0.358,
    100 mA · (3·s² − 2·s³) = 29.3 mA = (3 V − 72 mV) / 100 Ω.
    """
    cycle = repeat(
        [(supply(0.1, ohms=100.0), 0.05), (supply(0.0, ohms=100.0), 0.45)], reservoir(100e-6)
    ).require()
    burst = cycle.stretches[0]
    assert burst.lowest[0, 1] == pytest.approx(71.6e-3, abs=1e-3)
    gone = float(np.interp(-1.0, -burst.voltages[:, 0, 1], burst.times))
    assert 2.0e-3 < gone < 3.5e-3


# Laws


def test_what_a_period_takes_from_the_cell_is_what_it_gives_to_the_rest() -> None:
    steps = [(lamp(50.0), 0.02), (lamp(1e9), 0.1), (lamp(200.0), 0.03), (lamp(1e9), 0.05)]
    cycle = repeat(steps, reservoir(220e-6, 0.3)).require()
    given_out = charges(cycle, "source_charge")[0, 0]
    assert charges(cycle, "junction_charge")[0, 0] == pytest.approx(given_out, rel=1e-3)
    assert charges(cycle, "resistor_charge")[0, 0] == pytest.approx(given_out, rel=1e-3)


def test_a_row_of_a_batch_is_the_same_run_alone() -> None:
    volts = (2.2, 2.6, 3.0, 3.4)
    together = _pulsed(volts)
    for row, value in enumerate(volts):
        alone = _pulsed((value,))
        for ours, theirs in zip(together.stretches, alone.stretches, strict=True):
            assert ours.charged[row] == pytest.approx(theirs.charged[0], abs=1e-4)
            assert ours.lowest[row] == pytest.approx(theirs.lowest[0], abs=1e-4)
            assert ours.junction_charge[row] == pytest.approx(theirs.junction_charge[0], rel=1e-3)


def _pulsed(volts: tuple[float, ...], **settings: float) -> Cycle:
    steps = [(lamp(50.0, volts=volts), 0.05), (lamp(1e9, volts=volts), 0.2)]
    return repeat(
        steps, reservoir(470e-6, 0.1), tolerance=settings.get("tolerance", 1e-4)
    ).require()


def test_half_the_tolerance_changes_nothing_beyond_it() -> None:
    whole, half = _pulsed((3.0,)), _pulsed((3.0,), tolerance=5e-5)
    for ours, theirs in zip(whole.stretches, half.stretches, strict=True):
        assert ours.charged == pytest.approx(theirs.charged, abs=1e-4)
        assert ours.lowest == pytest.approx(theirs.lowest, abs=1e-4)


@UNTIMED
@given(
    ohms=st.floats(0, 3).map(lambda power: 10.0**power),
    farads=st.floats(-7, 0).map(lambda power: 10.0**power),
    series=st.sampled_from((0.0, 0.05, 5.0)),
    on=st.floats(-4, 0).map(lambda power: 10.0**power),
    off=st.floats(-4, 1).map(lambda power: 10.0**power),
    diode=st.sampled_from((RED, BLUE, SCHOTTKY)),
)
def test_a_period_ends_where_it_starts(
    ohms: float, farads: float, series: float, on: float, off: float, diode: circuits.Diode
) -> None:
    """A light through a contact, a load, and a capacitor from 100 nF to 1 F."""

    def board(contact: float, load: float) -> Network:
        return Network(
            3,
            Resistors([1], [2], [contact]),
            Sources([1], [0], [3.0], [ohms]),
            circuits.junctions((2, 0, diode)),
            Loads([1], [0], [load]),
        )

    steps = [(board(47.0, 5e-3), on), (board(1e9, 1e-6), off)]
    capacitors = reservoir(farads, series)
    cycle = repeat(steps, capacitors).require()
    charged = cycle.stretches[-1].charged
    for network, duration in steps:
        charged = advance(network, capacitors, charged, duration).charged
    assert charged == pytest.approx(cycle.stretches[-1].charged, abs=2e-4)
    assert cycle.periods <= 12


# Limits


def test_without_a_capacitor_each_step_is_at_rest() -> None:
    steps = [(lamp(50.0), 0.1), (lamp(1e9), 0.9)]
    cycle = repeat(steps, Capacitors()).require()
    rest = solve(lamp(50.0)).require()
    assert cycle.stretches[0].voltages[-1] == pytest.approx(rest.voltages)
    assert cycle.periods == 1


def test_no_load_at_all_leaves_the_capacitor_at_the_voltage_of_the_cell() -> None:
    cycle = repeat([(supply(0.0), 0.1), (supply(0.0), 0.3)], reservoir(1e-3)).require()
    assert cycle.stretches[-1].charged[0, 0] == pytest.approx(3.0, abs=1e-6)


def test_a_capacitor_that_nothing_holds_stands_at_zero() -> None:
    network = Network(3, sources=Sources([1], [0], [3.0], [20.0]))
    cycle = repeat([(network, 0.1), (network, 0.2)], Capacitors([2], [0], [1e-6], [0.0])).require()
    assert cycle.stretches[-1].charged[0, 0] == pytest.approx(0.0, abs=1e-6)


def test_a_start_that_is_far_off_leads_to_the_same_period() -> None:
    steps = [(lamp(50.0), 0.05), (lamp(1e9), 0.45)]
    near = repeat(steps, reservoir(1.0)).require()
    far = repeat(steps, reservoir(1.0), np.array([[-20.0]])).require()
    assert far.stretches[-1].charged == pytest.approx(near.stretches[-1].charged, abs=1e-4)


def test_a_period_that_has_not_settled_says_so() -> None:
    steps = [(lamp(50.0), 0.05), (lamp(1e9), 0.45)]
    cycle = repeat(steps, reservoir(1.0), np.array([[0.0]]), periods=1)
    assert not cycle.settled
    with pytest.raises(UnsettledError, match=r"after 1 periods a capacitor is still .* V from"):
        cycle.require()


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: repeat([], reservoir(1e-6)), "steps = 0"),
        (lambda: repeat([(supply(0.0), 0.0)], reservoir(1e-6)), r"duration = 0\.0 s"),
        (lambda: repeat([(supply(0.0), math.nan)], reservoir(1e-6)), "duration = nan s"),
        (
            lambda: repeat([(supply(0.0), 1.0), (lamp(1.0), 1.0)], reservoir(1e-6)),
            "nodes = 3 , but it must be 2, as many as in the first step",
        ),
        (lambda: repeat([(supply(0.0), 1.0)], reservoir(1e-6), periods=0), "periods = 0"),
        (lambda: repeat([(supply(0.0), 1.0)], reservoir(1e-6), tolerance=0.0), "tolerance = 0"),
        (
            lambda: repeat(
                [(lamp(1.0, volts=(1.0, 2.0)), 1.0)], reservoir(1e-6), np.zeros((3, 1))
            ),
            "batch = 3",
        ),
    ],
)
def test_impossible_values_are_refused_by_name(make: Callable[[], object], said: str) -> None:
    with pytest.raises(PhysicsDomainError, match=said):
        make()
