"""Cells as a voltage and a resistance: hand sums, the edges, and what must hold for all."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.cell import (
    CellCurve,
    CurvePoints,
    in_parallel,
    in_series,
    open_circuit_voltage,
    resistance,
    share_left_at_rate,
    share_used_at,
)

COIN = CellCurve(
    voltage_points=((0.0, 3.2), (0.4, 3.0), (0.8, 2.8), (1.0, 2.0)),
    resistance_points=((0.0, 12.0), (1.0, 40.0)),
    temperature_points=((-20.0, 2.0), (25.0, 1.0), (60.0, 0.8)),
    pulse_points=((0.001, 0.5), (1.0, 1.0)),
)
SHARE = st.floats(0.0, 1.0)


@st.composite
def curves(draw: st.DrawFn) -> CellCurve:
    count = draw(st.integers(1, 8))
    shares = st.lists(st.integers(0, 1000), min_size=count, max_size=count, unique=True)
    millivolts = st.lists(st.integers(0, 5000), min_size=count, max_size=count)
    used = sorted(draw(shares))
    volts = sorted(draw(millivolts), reverse=True)
    voltage = tuple((u / 1000, v / 1000) for u, v in zip(used, volts, strict=True))
    ohms = draw(st.floats(0.0, 1000.0))
    return CellCurve(voltage, ((0.0, ohms), (1.0, 3 * ohms)))


def test_voltage_lies_on_the_line_between_two_points() -> None:
    """By hand: at 50 % a quarter of the way from 3.0 V at 40 % to 2.8 V at 80 %: 2.95 V."""
    assert open_circuit_voltage(COIN, 0.5) == pytest.approx(2.95)


def test_voltage_beyond_the_stated_points_stays_that_of_the_last() -> None:
    curve = CellCurve(((0.1, 3.0), (0.9, 2.5)), ((0.5, 10.0),))
    assert open_circuit_voltage(curve, 0.0) == 3.0
    assert open_circuit_voltage(curve, 1.0) == 2.5
    assert resistance(curve, 0.0) == resistance(curve, 1.0) == 10.0


def test_energizers_pulse_row_gives_the_resistance() -> None:
    """Energizer CR2032, Form 2032NA0618: 2.9 V at 0.19 mA, 2.7 V at 6.8 mA.

    By hand: 0.2 V / 6.61 mA = 30.26 Ω. A cell of 30.26 Ω whose voltage without load is 2.9057 V
    shows both readings.
    """
    ohms = (2.9 - 2.7) / (6.8e-3 - 0.19e-3)
    curve = CellCurve(((0.0, 2.9 + 0.19e-3 * ohms),), ((0.0, ohms),))
    fresh, internal = open_circuit_voltage(curve, 0.0), resistance(curve, 0.0)
    assert internal == pytest.approx(30.26, abs=0.01)
    assert fresh - 6.8e-3 * internal == pytest.approx(2.7, abs=1e-9)


def test_cold_and_length_of_the_pulse_multiply_the_resistance() -> None:
    """By hand: 26 Ω at half charge, twice at -20 °C, half for 1 ms, three quarters half way
    between 1 ms and 1 s on a logarithmic scale, which is 31.6 ms."""
    assert resistance(COIN, 0.5) == pytest.approx(26.0)
    assert resistance(COIN, 0.5, temperature=-20.0) == pytest.approx(52.0)
    assert resistance(COIN, 0.5, duration=1e-3) == pytest.approx(13.0)
    assert resistance(COIN, 0.5, duration=math.sqrt(1e-3)) == pytest.approx(19.5)
    assert resistance(COIN, 0.5, -20.0, 1e-3) == pytest.approx(26.0)


def test_outside_the_stated_temperatures_the_end_counts() -> None:
    assert resistance(COIN, 0.0, temperature=-40.0) == resistance(COIN, 0.0, temperature=-20.0)


def test_share_used_is_found_on_the_line() -> None:
    """By hand: 2.4 V is half way from 2.8 V at 80 % to 2.0 V at 100 %."""
    assert share_used_at(COIN, 2.4) == pytest.approx(0.9)
    assert share_used_at(COIN, 3.2) == 0.0
    assert share_used_at(COIN, 9.9) == 0.0
    assert share_used_at(COIN, 1.9) == 1.0


def test_the_first_share_counts_where_the_curve_is_flat() -> None:
    flat = CellCurve(((0.0, 3.0), (0.2, 2.5), (0.8, 2.5), (1.0, 2.0)), ((0.0, 1.0),))
    assert share_used_at(flat, 2.5) == pytest.approx(0.2)


def test_a_cell_of_one_point_is_an_ideal_source() -> None:
    ideal = CellCurve(((0.0, 3.0),), ((0.0, 0.0),))
    assert open_circuit_voltage(ideal, 0.7) == 3.0
    assert resistance(ideal, 0.7) == 0.0
    assert share_used_at(ideal, 2.0) == 1.0


def test_four_cells_two_by_two_have_twice_the_voltage_and_one_cells_resistance() -> None:
    block = in_parallel(in_series(COIN, 2), 2)
    assert open_circuit_voltage(block, 0.0) == pytest.approx(6.4)
    assert resistance(block, 0.0, -20.0) == pytest.approx(resistance(COIN, 0.0, -20.0))


@given(curves(), SHARE, SHARE)
def test_the_voltage_never_rises_while_the_cell_is_used(
    curve: CellCurve, one: float, two: float
) -> None:
    less, more = sorted((one, two))
    assert open_circuit_voltage(curve, more) <= open_circuit_voltage(curve, less) + 1e-12


@given(curves(), st.floats(-1.0, 6.0))
@example(COIN, 2.8)
def test_share_and_voltage_undo_each_other(curve: CellCurve, voltage: float) -> None:
    used = share_used_at(curve, voltage)
    reached = open_circuit_voltage(curve, used)
    if 0 < used < 1:
        assert reached == pytest.approx(voltage, abs=1e-9)
    elif used == 0:
        assert reached <= voltage
    else:
        assert reached >= voltage - 1e-9


@given(curves(), st.integers(1, 9), SHARE)
def test_cells_side_by_side_and_in_a_row_give_one_cell_scaled(
    curve: CellCurve, count: int, used: float
) -> None:
    """n in series and n of those in parallel: n times the voltage at the resistance of one."""
    block = in_parallel(in_series(curve, count), count)
    assert open_circuit_voltage(block, used) == pytest.approx(
        count * open_circuit_voltage(curve, used)
    )
    assert resistance(block, used) == pytest.approx(resistance(curve, used))


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan, math.inf])
def test_an_impossible_share_is_refused_by_name(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match=r"used = .*, but it must be from 0 to 1"):
        open_circuit_voltage(COIN, bad)
    with pytest.raises(PhysicsDomainError, match="used"):
        resistance(COIN, bad)


@pytest.mark.parametrize(
    ("field", "points", "what"),
    [
        ("voltage_points", (), "number of points of voltage_points"),
        ("voltage_points", ((0.0, 3.0), (0.5, 3.1)), "at most 3.0 V"),
        ("voltage_points", ((0.5, 3.0), (0.5, 2.9)), "abscissa of voltage_points"),
        ("voltage_points", ((0.0, 3.0), (1.2, 2.0)), "share used of voltage_points"),
        ("voltage_points", ((0.0, math.nan),), "finite and at least 0"),
        ("resistance_points", ((0.0, -1.0),), "resistance_points"),
        ("resistance_points", (), "number of points of resistance_points"),
        ("temperature_points", ((25.0, 0.0),), "finite and more than 0"),
        ("pulse_points", ((0.0, 1.0),), "pulse length"),
        ("pulse_points", ((math.inf, 1.0),), "abscissa of pulse_points"),
    ],
)
def test_a_curve_that_cannot_be_is_refused(field: str, points: CurvePoints, what: str) -> None:
    with pytest.raises(PhysicsDomainError, match=what):
        replace(COIN, **{field: points})


@pytest.mark.parametrize(
    ("temperature", "duration"), [(-300.0, 1.0), (math.nan, 1.0), (25.0, 0.0), (25.0, math.nan)]
)
def test_an_impossible_condition_is_refused(temperature: float, duration: float) -> None:
    with pytest.raises(PhysicsDomainError):
        resistance(COIN, 0.5, temperature, duration)


def test_no_cells_are_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="count"):
        in_series(COIN, 0)
    with pytest.raises(PhysicsDomainError, match="count"):
        in_parallel(COIN, 0)
    with pytest.raises(PhysicsDomainError, match="voltage"):
        share_used_at(COIN, math.nan)


RATE = ((1e-4, 1.0), (1e-2, 0.6))


@pytest.mark.parametrize(
    ("rate", "share"), [(0.0, 1.0), (1e-5, 1.0), (1e-4, 1.0), (1e-3, 0.8), (1e-2, 0.6), (1.0, 0.6)]
)
def test_loss_at_rate_goes_with_the_logarithm_and_is_held_outside(
    rate: float, share: float
) -> None:
    """By hand: 1e-3 is half way in decades between 1e-4 and 1e-2."""
    assert share_left_at_rate(RATE, rate) == pytest.approx(share)


def test_without_points_no_rate_takes_anything() -> None:
    assert share_left_at_rate((), 1e3) == 1.0


@pytest.mark.parametrize("bad", [-1e-9, math.nan, math.inf])
def test_an_impossible_rate_is_refused(bad: float) -> None:
    with pytest.raises(PhysicsDomainError, match="rate = "):
        share_left_at_rate(RATE, bad)


@given(curves(), st.integers(1, 6), st.integers(1, 6), SHARE)
def test_series_and_parallel_may_be_taken_in_either_order(
    curve: CellCurve, row: int, beside: int, used: float
) -> None:
    """n in a row and m beside: n times the voltage, n/m times the resistance."""
    one = in_parallel(in_series(curve, row), beside)
    other = in_series(in_parallel(curve, beside), row)
    assert open_circuit_voltage(one, used) == pytest.approx(
        row * open_circuit_voltage(curve, used)
    )
    assert resistance(one, used) == pytest.approx(resistance(curve, used) * row / beside)
    assert resistance(one, used) == pytest.approx(resistance(other, used))
