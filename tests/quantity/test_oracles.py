"""Two libraries for such texts as oracles, on the texts that they are made for."""

from __future__ import annotations

from decimal import Decimal

import pytest
import rkm_codes
from hypothesis import given
from hypothesis import strategies as st
from quantiphy import Quantity

from boardvet.quantity import parse_component, parse_number

rkm_codes.set_prefs(rkm_maps=rkm_codes.IEC60062_MAPS)


@given(
    st.integers(0, 999),
    st.sampled_from("RkKMGLpnum"),
    st.integers(1, 999),
)
def test_codes_read_as_the_library_reads_them(whole: int, letter: str, part: int) -> None:
    code = f"{whole}{letter}{part}"
    oracle = rkm_codes.from_rkm(code)
    said = parse_component(code, "R" if oracle.units == "Ω" else "C")
    assert said.value == pytest.approx(float(oracle), rel=1e-12)


WRITTEN_UNITS = {
    "pF": "F",
    "nF": "F",
    "uF": "F",
    "uH": "H",
    "mA": "A",
    "mV": "V",
    "kHz": "Hz",
    "MHz": "Hz",
    "kohm": "ohm",
    "Mohm": "ohm",
}


@given(
    st.decimals(min_value="0.001", max_value="999", places=3),
    st.sampled_from(sorted(WRITTEN_UNITS)),
    st.sampled_from(["", " "]),
)
def test_quantities_read_as_the_library_reads_them(number: Decimal, unit: str, space: str) -> None:
    text = f"{number}{space}{unit}"
    assert parse_number(text, WRITTEN_UNITS[unit]) == pytest.approx(
        float(Quantity(text)), rel=1e-12
    )
