"""The network solver: reference circuits against ngspice, laws that hold for all, and extremes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from tests.physics import circuits, spice
from tests.physics.ngspice_values import NGSPICE_39

from boardvet.physics.network import Network, solve

RELATIVE, ABSOLUTE = 1e-4, 1e-9
"""DESIGN.md demands 1 % or 1 µA; both solvers stop nearer: a slip shows at a hundredth of it."""

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
