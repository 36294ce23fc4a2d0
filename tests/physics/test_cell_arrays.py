"""Curves of cells as arrays: the same numbers as one by one, for whole arrays."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.cell import CellCurve, open_circuit_voltage, resistance
from boardvet.physics.cell_arrays import curve_arrays

COIN = CellCurve(
    voltage_points=((0.0, 3.2), (0.4, 3.0), (0.8, 2.8), (1.0, 2.0)),
    resistance_points=((0.0, 12.0), (1.0, 40.0)),
    temperature_points=((-20.0, 2.0), (25.0, 1.0), (60.0, 0.8)),
    pulse_points=((0.001, 0.5), (1.0, 1.0)),
)
SHARES = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6)


@given(SHARES, st.floats(-40, 80), st.floats(1e-5, 100))
def test_every_row_is_what_one_share_alone_gives(
    used: list[float], temperature: float, duration: float
) -> None:
    volts, ohms = curve_arrays(COIN, used, temperature, duration)

    assert volts.tolist() == pytest.approx([open_circuit_voltage(COIN, u) for u in used])
    assert ohms.tolist() == pytest.approx(
        [resistance(COIN, u, temperature, duration) for u in used]
    )


def test_each_row_has_its_own_temperature_and_pulse() -> None:
    """By hand: 12 Ω twice at -20 °C; 40 Ω half for 1 ms at 25 °C."""
    _, ohms = curve_arrays(COIN, [0.0, 1.0], [-20.0, 25.0], [1.0, 1e-3])

    assert ohms.tolist() == pytest.approx([24.0, 20.0])


def test_without_a_duration_the_load_is_steady() -> None:
    _, ohms = curve_arrays(COIN, np.array([0.5]))

    assert ohms.tolist() == pytest.approx([resistance(COIN, 0.5, duration=math.inf)])


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan])
def test_an_impossible_share_is_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match=r"^used = "):
        curve_arrays(COIN, [0.5, bad])


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_a_pulse_of_no_length_is_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match=r"^duration = "):
        curve_arrays(COIN, [0.5], duration=bad)
