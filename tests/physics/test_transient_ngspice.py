"""Time steps against ngspice: the rail, its dips, and what the lights and the cells carry."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import ArrayLike
from tests.physics import circuits, pulsed, spice
from tests.physics.ngspice_pulsed_values import NGSPICE_39
from tests.physics.pulsed import Pulsed
from tests.physics.spice import Course

from boardvet.physics.elements import Floats
from boardvet.physics.transient import Stretch, advance, repeat

VOLTS = 3e-4
"""Of any voltage. The bar for a dip is 2 % of it or 1 mV."""

RELATIVE, ABSOLUTE = 2e-3, 2e-7
"""Of a current; the bar is 1 % or 1 µA. Charges are held to the same, times the step. [A]"""

CIRCUIT = pytest.mark.parametrize("circuit", pulsed.PULSED, ids=lambda made: made.__name__)


def _run(circuit: Pulsed) -> list[Stretch]:
    """Return each step, the steady period where the steps repeat."""
    if circuit.periods > 1:
        return list(repeat(circuit.steps, circuit.capacitors).require().stretches)
    charged, stretches = np.array([circuit.charged]), []
    for network, duration in circuit.steps:
        stretches.append(advance(network, circuit.capacitors, charged, duration))
        charged = stretches[-1].charged
    return stretches


def _compare(circuit: Pulsed, courses: tuple[Course, ...]) -> None:
    stretches = _run(circuit)
    nodes, lights = list(spice.watched(circuit)), list(spice.watched_lights(circuit))
    for stretch, course in zip(stretches, courses, strict=True):
        volts = stretch.voltages[:, 0, nodes]
        amperes = stretch.junction_currents[:, 0, lights]
        assert volts[-1] == pytest.approx(course.end, abs=VOLTS)
        assert stretch.charged[0] == pytest.approx(course.charged, abs=VOLTS)
        assert amperes[-1] == pytest.approx(course.junction_end, rel=RELATIVE, abs=ABSOLUTE)
        if stretch is not stretches[0] or circuit.periods > 1:
            # ngspice leaves out the very first instants of its run
            assert volts.min(axis=0) == pytest.approx(course.lowest, abs=VOLTS)
            assert volts.max(axis=0) == pytest.approx(course.highest, abs=VOLTS)
            peak = amperes.max(axis=0)
            assert peak == pytest.approx(course.junction_peak, rel=RELATIVE, abs=ABSOLUTE)
        seconds = float(stretch.times[-1])
        _compare_charges(stretch.junction_charge[0, lights], course.junction_charge, seconds)
        _compare_charges(stretch.source_charge[0], course.source_charge, seconds)


def _compare_charges(ours: Floats, theirs: ArrayLike, seconds: float) -> None:
    assert ours == pytest.approx(theirs, rel=RELATIVE, abs=5e-7 * seconds)


@CIRCUIT
def test_pulses_are_those_of_ngspice_39(circuit: Callable[[], Pulsed]) -> None:
    _compare(circuit(), NGSPICE_39[circuit.__name__])


@CIRCUIT
@spice.needs_ngspice
def test_pulses_are_those_of_the_ngspice_here(
    circuit: Callable[[], Pulsed], tmp_path: Path
) -> None:
    courses = spice.run_in_time(circuit(), tmp_path)
    _compare(circuit(), courses)
    for kept, here in zip(NGSPICE_39[circuit.__name__], courses, strict=True):
        assert kept.end == pytest.approx(here.end, abs=1e-4)
        assert kept.lowest == pytest.approx(here.lowest, abs=1e-4)


def test_every_circuit_in_time_has_kept_values() -> None:
    assert set(NGSPICE_39) == {circuit.__name__ for circuit in pulsed.PULSED}
    numbers = [part for courses in NGSPICE_39.values() for course in courses for part in course]
    assert np.isfinite(np.concatenate(numbers)).all()


def test_the_reference_circuits_are_as_many_as_the_task_asks() -> None:
    """At least 25, of at least twelve shapes, on islands of 1 to 200 nodes."""
    assert len(circuits.CIRCUITS) + len(pulsed.PULSED) >= 25
    assert max(circuit().steps[0][0].nodes for circuit in pulsed.PULSED) == 200
    at_work = [circuit for circuit in pulsed.PULSED if circuit().periods > 1]
    assert len(at_work) >= 8


@CIRCUIT
def test_a_period_takes_few_solves(circuit: Callable[[], Pulsed]) -> None:
    """Under 60 a period, twice that where a light goes out or a rail collapses on the way.

    No more than 4 periods are run through until it repeats.
    """
    made = circuit()
    solves = sum(stretch.solves for stretch in _run(made))
    bends = ("zener", "collapses", "floating", "empty", "unlike", "line")
    assert solves < (125 if any(bend in circuit.__name__ for bend in bends) else 60)
    if made.periods > 1:
        assert repeat(made.steps, made.capacitors).periods <= 4
