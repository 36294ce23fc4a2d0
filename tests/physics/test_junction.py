"""Junctions from stated points: worked by hand, limits, laws, and what contradicts itself."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.errors import ContradictingPoints, PhysicsDomainError
from boardvet.physics.junction import (
    LED_FAMILIES,
    SCHOTTKY_DIODE,
    SILICON_DIODE,
    THERMAL_VOLTAGE,
    Junction,
    JunctionFamily,
    current_at,
    forward_voltage,
    junction_from_points,
)

JUNCTIONS = st.builds(
    Junction,
    st.floats(-30, -6).map(lambda power: 10.0**power),
    st.floats(1.0, 3.0),
    st.sampled_from((0.0, 0.05, 3.0, 15.0)),
)


def test_the_thermal_voltage_is_that_of_27_degrees() -> None:
    """By hand, from the exact SI constants: 1.380649e-23 · 300.15 / 1.602176634e-19 = 0.025865."""
    assert pytest.approx(1.380649e-23 * 300.15 / 1.602176634e-19, rel=1e-5) == THERMAL_VOLTAGE


def test_one_stated_point_takes_the_resistance_of_its_family() -> None:
    """Red at 1.9 V, 20 mA (Würth data sheet of the 150060SS75003, typical).

    By hand: 20 mA · 6 Ω = 0.12 V; (1.9 − 0.12) V / 51.73 mV = 34.4095; Is = 20 mA / e^34.4095
    = 20 mA / 8.788e14 = 2.276e-17 A.
    """
    red = junction_from_points([(1.9, 20e-3)], LED_FAMILIES["red"])
    assert red.emission == 2.0
    assert red.series_resistance == 6.0
    assert red.saturation_current == pytest.approx(2.276e-17, rel=1e-3)


def test_two_stated_points_give_the_resistance() -> None:
    """By hand: 0.2 V − 2.5 · 25.865 mV · ln(20/5) = 0.2 − 0.0896 = 0.1104 V over 15 mA: 7.36 Ω."""
    green = junction_from_points([(3.2, 20e-3), (3.0, 5e-3)], LED_FAMILIES["green"])
    assert green.series_resistance == pytest.approx(7.36, rel=1e-3)


def test_a_stated_resistance_and_emission_count_before_the_family() -> None:
    stated = junction_from_points(
        [(3.0, 5e-3)], LED_FAMILIES["white"], emission=2.2, series_resistance=8.0
    )
    assert stated[1:] == (2.2, 8.0)
    assert forward_voltage(stated, 5e-3) == pytest.approx(3.0)


@pytest.mark.parametrize(("family", "shift"), [("red", 0.07), ("blue", 0.105), ("infrared", 0.07)])
def test_the_cold_raises_the_forward_voltage(family: str, shift: float) -> None:
    """By hand: from 25 °C to −10 °C are 35 K, at −2 mV/K 70 mV and at −3 mV/K 105 mV."""
    made = [
        junction_from_points([(2.5, 5e-3)], LED_FAMILIES[family], temperature=at)
        for at in (25.0, -10.0)
    ]
    for current in (1e-6, 5e-3, 20e-3):
        warm, cold = (forward_voltage(junction, current) for junction in made)
        assert cold - warm == pytest.approx(shift, abs=1e-9)


@pytest.mark.parametrize(("family", "volts"), [(SILICON_DIODE, 0.70), (SCHOTTKY_DIODE, 0.30)])
def test_a_diode_without_stated_points_has_the_point_of_its_family(
    family: JunctionFamily, volts: float
) -> None:
    """Common practice, no source: some 0.7 V for silicon and 0.3 V for Schottky at 10 mA."""
    assert current_at(junction_from_points([], family), volts) == pytest.approx(10e-3)


def test_a_light_without_stated_points_is_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="points"):
        junction_from_points([], LED_FAMILIES["red"])


@given(JUNCTIONS, st.floats(0.0, 0.1))
@example(Junction(1e-17, 2.0, 0.0), 0.0)
def test_voltage_and_current_undo_each_other(junction: Junction, current: float) -> None:
    voltage = forward_voltage(junction, current)
    slack = junction.saturation_current * 1e-6 + 1e-20
    assert current_at(junction, voltage) == pytest.approx(current, rel=1e-9, abs=slack)


@given(JUNCTIONS, st.floats(-100.0, 10.0))
def test_the_current_obeys_the_law_as_it_is_written(junction: Junction, voltage: float) -> None:
    if junction.series_resistance == 0.0 and voltage > 10.0 * THERMAL_VOLTAGE:
        voltage = 10.0 * THERMAL_VOLTAGE
    current = current_at(junction, voltage)
    saturation, n, resistance = junction
    inner = (voltage - current * resistance) / (n * THERMAL_VOLTAGE)
    assert current == pytest.approx(
        saturation * math.expm1(inner), rel=1e-6, abs=1e-9 * saturation
    )


@given(JUNCTIONS, st.floats(-20.0, 0.0))
def test_a_reversed_junction_passes_no_more_than_its_saturation_current(
    junction: Junction, voltage: float
) -> None:
    assert -junction.saturation_current * (1 + 1e-9) <= current_at(junction, voltage) <= 1e-18


@given(
    st.floats(1.0, 2.5),
    st.floats(-30, -7).map(lambda power: 10.0**power),
    st.floats(0.0, 30.0),
    st.floats(1e-4, 5e-3),
    st.floats(2.0, 20.0),
)
def test_two_points_of_a_junction_give_that_junction(
    n: float, saturation: float, resistance: float, current: float, ratio: float
) -> None:
    real = Junction(saturation, n, resistance)
    points = [(forward_voltage(real, i), i) for i in (current, current * ratio)]
    found = junction_from_points(points, LED_FAMILIES["red"], emission=n)
    for voltage, amperes in points:
        assert forward_voltage(found, amperes) == pytest.approx(voltage, rel=1e-9)
    assert found.series_resistance == pytest.approx(resistance, abs=1e-6)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(1.9, 1e-3), (1.95, 10e-3)], r"series resistance of -7\.6\d Ω"),
        ([(2.0, 1e-3), (1.9, 10e-3)], "below 0"),
        ([(1.9, 1e-3), (2.0, 1e-3)], "two voltages at one current"),
        ([(2.0, 0.5)], "less than half"),
    ],
)
def test_points_that_contradict_each_other_are_said_to(
    points: list[tuple[float, float]], said: str
) -> None:
    """By hand: 50 mV − 51.73 mV · ln 10 = −69.1 mV over 9 mA are −7.68 Ω; 0.5 A · 6 Ω is 3 V."""
    with pytest.raises(ContradictingPoints, match=said):
        junction_from_points(points, LED_FAMILIES["red"])


@pytest.mark.parametrize(
    ("points", "name"),
    [([(0.0, 1e-3)], "voltage"), ([(2.0, 0.0)], "current"), ([(math.nan, 1e-3)], "voltage")],
)
def test_impossible_points_are_refused_by_name(
    points: list[tuple[float, float]], name: str
) -> None:
    with pytest.raises(PhysicsDomainError, match=f"^{name} = "):
        junction_from_points(points, LED_FAMILIES["red"])


def test_impossible_arguments_are_refused_by_name() -> None:
    with pytest.raises(PhysicsDomainError, match=r"current = -1\.0 A"):
        forward_voltage(Junction(1e-17, 2.0, 6.0), -1.0)
    with pytest.raises(PhysicsDomainError, match="voltage = inf V"):
        current_at(Junction(1e-17, 2.0, 6.0), math.inf)
    with pytest.raises(PhysicsDomainError, match="where Rs is 0"):
        current_at(Junction(1e-17, 2.0, 0.0), 1e3)
    with pytest.raises(PhysicsDomainError, match="emission = 0"):
        junction_from_points([(1.9, 1e-3)], LED_FAMILIES["red"], emission=0.0)
