"""Base and gate resistors: a data sheet's saturation, hand sums, limiting cases, laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.transistor import (
    base_resistance,
    gate_hold_for_leakage,
    gate_hold_for_time,
    gate_series_resistance,
)


@pytest.mark.parametrize(("base_emitter", "ohms"), [(0.65, 2350.0), (0.85, 2150.0)])
def test_saturation_as_the_data_sheet_specifies_it(base_emitter: float, ohms: float) -> None:
    """Nexperia MMBT3904: VCE(sat) at 10 mA and 1 mA, VBE(sat) 650 to 850 mV there.

    By hand from 3.0 V: 2.35 V / 1 mA and 2.15 V / 1 mA.
    """
    assert base_resistance(3.0, base_emitter, 10e-3) == pytest.approx(ohms)


@given(st.floats(1.0, 5.0), st.floats(1e-4, 0.1), st.floats(5.0, 50.0))
def test_the_base_gets_its_share_of_the_collector(volts: float, amps: float, gain: float) -> None:
    """By energy: drive times base current is what base and resistor take."""
    ohms, base = base_resistance(volts, 0.7, amps, gain), amps / gain

    assert 0.7 * base + base * base * ohms == pytest.approx(volts * base)


def test_peak_into_an_empty_gate() -> None:
    """By hand: 3.3 V / 20 mA = 165 Ω; a pin of 30 Ω leaves 135 Ω, one of 200 Ω nothing."""
    assert gate_series_resistance(3.3, 20e-3) == pytest.approx(165.0)
    assert gate_series_resistance(3.3, 20e-3, 30.0) == pytest.approx(135.0)
    assert gate_series_resistance(3.3, 20e-3, 200.0) == 0.0


def test_leakage_lifts_a_gate() -> None:
    """By hand: 250 mV / 1 µA = 250 kΩ."""
    assert gate_hold_for_leakage(0.25, 1e-6) == pytest.approx(250e3)


@given(st.floats(0.3, 2.0), st.floats(1.1, 10.0), st.floats(1e-11, 1e-8), st.floats(1e-6, 1e-1))
def test_the_hold_discharges_the_gate_in_time(
    threshold: float, times: float, farads: float, within: float
) -> None:
    """A different formula: the exponential has come down to the threshold by then."""
    drive = threshold * times
    ohms = gate_hold_for_time(drive, threshold, farads, within)

    assert drive * math.exp(-within / (ohms * farads)) == pytest.approx(threshold)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: base_resistance(0.7, 0.7, 1e-3), "drive = 0.7 V, but it must be finite and abo"),
        (lambda: base_resistance(3.0, 0.0, 1e-3), "base_emitter"),
        (lambda: base_resistance(3.0, 0.7, 0.0), "collector_current"),
        (lambda: base_resistance(3.0, 0.7, 1e-3, 0.0), "gain"),
        (lambda: gate_series_resistance(-1.0, 1.0), "drive = -1.0"),
        (lambda: gate_series_resistance(1.0, 0.0), "peak"),
        (lambda: gate_series_resistance(1.0, 1.0, -1.0), "pin_resistance"),
        (lambda: gate_hold_for_leakage(0.0, 1.0), "voltage"),
        (lambda: gate_hold_for_leakage(1.0, 0.0), "leakage"),
        (lambda: gate_hold_for_time(1.0, 1.0, 1e-9, 1.0), "drive = 1.0"),
        (lambda: gate_hold_for_time(2.0, 0.0, 1e-9, 1.0), "threshold"),
        (lambda: gate_hold_for_time(2.0, 1.0, 0.0, 1.0), "capacitance"),
        (lambda: gate_hold_for_time(2.0, 1.0, 1e-9, 0.0), "within"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=f"^{name}"):
        call()
