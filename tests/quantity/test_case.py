"""Case sizes. Pairs of imperial and metric codes: Uni-Ohm chip resistor sheet, body sizes."""

from __future__ import annotations

import pytest

from boardvet.quantity import case_size

UNI_OHM = {"0603": "0201", "1005": "0402", "1608": "0603", "2012": "0805", "3216": "1206",
           "6432": "2512"}  # fmt: skip


@pytest.mark.parametrize(("metric", "imperial"), UNI_OHM.items())
def test_metric_code_with_its_word(metric: str, imperial: str) -> None:
    assert case_size(f"C_{metric}Metric") == imperial


@pytest.mark.parametrize(("metric", "imperial"), UNI_OHM.items())
def test_both_codes_in_one_name_are_one_size(metric: str, imperial: str) -> None:
    assert case_size(f"R_{imperial}_{metric}Metric") == imperial


@pytest.mark.parametrize(
    ("text", "case"),
    [
        ("C0805", "0805"),
        ("LED-0603", "0603"),
        ("R1206", "1206"),
        ("2012/0.1uF", "0805"),
        ("C1608", "0603"),
        ("our-chips:RES-0402", "0402"),
        ("0402", "0402"),
        ("0603", "0603"),
        ("0402M", "01005"),
        ("01005", "01005"),
        ("CP_3528-21", "1411"),
    ],
)
def test_size_in_a_name(text: str, case: str) -> None:
    assert case_size(text) == case


@pytest.mark.parametrize(
    "text", ["SOT-23", "QFN-16_3x3mm", "", "R10603", "SOIC-8_3.9x4.9mm", "0402_0805"]
)
def test_no_size_or_two_give_none(text: str) -> None:
    assert case_size(text) is None
