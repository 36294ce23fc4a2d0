"""Capacitance under bias: the bands of a trade page, its two curves, and what holds for all."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import PhysicsDomainError
from boardvet.physics.bias import Dielectric, capacitance_kept, loss_at_rating

VOLTS = st.floats(0, 100)
RATED = st.floats(2.5, 100)


@pytest.mark.parametrize(
    ("volts", "rated", "least", "most"),
    [(5.0, 10.0, 0.60, 0.80), (3.3, 10.0, 0.80, 0.90), (10.0, 10.0, 0.30, 0.50),
     (5.0, 16.0, 0.85, 0.95)],
)  # fmt: skip
def test_the_curve_lies_in_every_band_of_the_rule_of_thumb(
    volts: float, rated: float, least: float, most: float
) -> None:
    """ufcapacitors.com/5455, X7R: what parts of 10 V and 16 V keep."""
    assert least <= capacitance_kept(volts, rated) <= most


@pytest.mark.parametrize(("case", "farads"), [("0805", 5.0e-6), ("1206", 9.3e-6)])
def test_the_size_matters_as_two_curves_of_a_maker_show(case: str, farads: float) -> None:
    """ufcapacitors.com/5354: 10 µF, 10 V at 5 V is 5 µF in an 0805 and 9.3 µF in a 1206.

    One curve for all makers is rough: within a fifth of the nominal value.
    """
    kept = capacitance_kept(5.0, 10.0, capacitance=10e-6, case=case)

    assert kept * 10e-6 == pytest.approx(farads, abs=2e-6)


def test_the_share_by_hand() -> None:
    """By hand: 10 µF in 2.0 · 1.25 · 1.25 = 3.125 mm³ at 10 V: k = 0.01 · 10 · 100 / 3.125 = 3.2.

    At 5 V: 1 / (1 + 3.2 · 0.25) = 1 / 1.8.
    """
    assert loss_at_rating(10.0, 10e-6, "0805") == pytest.approx(3.2)
    assert capacitance_kept(5.0, 10.0, capacitance=10e-6, case="0805") == pytest.approx(1 / 1.8)


def test_a_smaller_case_keeps_less() -> None:
    shares = [
        capacitance_kept(5.0, 10.0, capacitance=4.7e-6, case=case)
        for case in ("0603", "0805", "1206")
    ]

    assert shares == sorted(shares)
    assert len(set(shares)) == 3


@given(VOLTS, RATED)
def test_class_1_keeps_everything(volts: float, rated: float) -> None:
    assert capacitance_kept(volts, rated, Dielectric.STABLE) == 1.0


@given(VOLTS, RATED)
def test_the_strong_kind_never_keeps_more(volts: float, rated: float) -> None:
    strong = capacitance_kept(volts, rated, Dielectric.STRONG)

    assert 0.0 < strong <= capacitance_kept(volts, rated) <= 1.0


@given(st.floats(0.1, 50), st.floats(0.1, 50), RATED)
def test_more_voltage_never_leaves_more(one: float, more: float, rated: float) -> None:
    assert capacitance_kept(one + more, rated) < capacitance_kept(one, rated)


@given(VOLTS, RATED)
def test_the_sign_does_not_matter(volts: float, rated: float) -> None:
    assert capacitance_kept(-volts, rated) == capacitance_kept(volts, rated)


@given(RATED, st.floats(1e-12, 1e-3), st.sampled_from(["0402", "0805", "1210", "none", None]))
def test_the_loss_at_the_rating_stays_within_what_is_sold(
    rated: float, farads: float, case: str | None
) -> None:
    assert 0.3 <= loss_at_rating(rated, farads, case) <= 6.0


@pytest.mark.parametrize("rated", [0.0, -1.0, math.nan, math.inf])
def test_an_impossible_rating_is_refused(rated: float) -> None:
    with pytest.raises(PhysicsDomainError, match="rated"):
        capacitance_kept(1.0, rated)


def test_other_impossible_arguments_are_refused() -> None:
    with pytest.raises(PhysicsDomainError, match="voltage"):
        capacitance_kept(math.nan, 10.0)
    with pytest.raises(PhysicsDomainError, match="capacitance"):
        capacitance_kept(1.0, 10.0, capacitance=0.0, case="0805")
