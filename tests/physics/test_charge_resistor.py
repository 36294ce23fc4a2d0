"""The resistor of a charger: two makers' pairs, and the inverse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.charge_resistor import charge_current, charge_resistance


@pytest.mark.parametrize(
    ("gain", "current", "ohms"),
    [(1000.0, 0.5, 2000.0), (1000.0, 0.1, 10e3), (1200.0, 1.0, 1200.0)],
    ids=["MCP73831 2 k", "MCP73831 10 k", "TP4056 1.2 k"],
)
def test_pairs_of_the_data_sheets(gain: float, current: float, ohms: float) -> None:
    """From memory of Microchip DS20001984G and of the TP4056 data sheet's table.

    By hand: 1000 V / 2 kΩ = 0.5 A; 1000 V / 10 kΩ = 0.1 A; 1200 V / 1.2 kΩ = 1 A.
    """
    assert charge_resistance(gain, current) == pytest.approx(ohms, rel=1e-4)


@given(st.floats(100.0, 2000.0), st.floats(1e-3, 2.0))
def test_the_two_functions_undo_each_other(gain: float, current: float) -> None:
    assert charge_current(gain, charge_resistance(gain, current)) == pytest.approx(current)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: charge_resistance(0.0, 1.0), "gain = 0.0"),
        (lambda: charge_resistance(1000.0, 0.0), "current"),
        (lambda: charge_current(-1.0, 1.0), "gain = -1.0"),
        (lambda: charge_current(1000.0, 0.0), "resistance"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=f"^{name}"):
        call()
