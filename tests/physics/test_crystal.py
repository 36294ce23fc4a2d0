"""Capacitors of a crystal: two makers' examples, which count strays in two ways, and a law."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.crystal import load_capacitors, load_seen


def test_the_controller_s_data_sheet() -> None:
    """STM32F103x8/xB, DocID13587 Rev 17, s. 5.3.6: CL 6 pF, Cstray 2 pF: 8 pF each.

    By hand: 8 · 8 / 16 pF + 2 pF = 6 pF.
    """
    assert load_capacitors(6e-12, 2e-12) == pytest.approx(8e-12)
    assert load_seen(8e-12, 8e-12, 2e-12) == pytest.approx(6e-12)


@pytest.mark.parametrize(("pin", "each"), [(10e-12, 26e-12), (5e-12, 31e-12)])
def test_the_application_note_that_counts_strays_by_pin(pin: float, each: float) -> None:
    """Atmel AVR042 rev. 2521F: C = 2·CL − Cs, Cs 5 to 10 pF a pin. CL 18 pF: 26 to 31 pF.

    By hand: 36 − 10 = 26; 36 − 5 = 31. A pin's strays to ground are half across the crystal.
    """
    assert load_capacitors(18e-12, pin / 2) == pytest.approx(each)


@given(st.floats(4e-12, 40e-12), st.floats(0.0, 3.9e-12))
def test_the_crystal_sees_what_it_wants(load: float, stray: float) -> None:
    each = load_capacitors(load, stray)

    assert load_seen(each, each, stray) == pytest.approx(load)


def test_a_very_large_second_capacitor_leaves_the_first() -> None:
    assert load_seen(10e-12, 1.0, 0.0) == pytest.approx(10e-12)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: load_capacitors(0.0, 0.0), "load"),
        (lambda: load_capacitors(6e-12, -1e-12), "stray = -1e-12"),
        (lambda: load_capacitors(6e-12, 6e-12), "stray = 6e-12 F, but it must be less"),
        (lambda: load_seen(0.0, 1e-12, 0.0), "first"),
        (lambda: load_seen(1e-12, 0.0, 0.0), "second"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call: object, name: str) -> None:
    assert callable(call)
    with pytest.raises(PhysicsDomainError, match=f"^{name}"):
        call()
