"""`bom-value`: other numbers, other colours, other parts, and what only looks so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boardvet.board import Bom
from boardvet.circuit.handle import Circuit
from boardvet.facts import FactBook
from boardvet.review.review import Review
from boardvet.testing import circuit_of, judge
from boardvet_rules.bom.bom_value import check as rule


def reviewed(
    kind: str, drawn: str, value: str, description: str = "", number: str = "", page: str = ""
) -> Review:
    """Review a part of this kind and value that the BOM lists with these texts."""
    drafted = circuit_of(f"X1 {kind}/x 1: VBAT 2: GND\n$ X1 x\n{page}")
    assert drafted.board.bom is not None
    parts = {"X1": replace(drafted.board.parts["X1"], value=drawn)}
    line = replace(
        drafted.board.bom.lines[0], value=value, description=description, part_number=number
    )
    board = replace(drafted.board, parts=parts, bom=Bom((line,), {}))
    review = judge(rule, Circuit(board, drafted.intent, FactBook(board, drafted.intent)))
    assert not review.undetermined
    assert not review.broken
    return review


def levels(
    kind: str, drawn: str, value: str, description: str = "", number: str = ""
) -> list[str]:
    found = reviewed(kind, drawn, value, description, number).findings
    return [finding.level.value for finding in found]


@pytest.mark.parametrize(
    ("kind", "drawn", "value"),
    [
        ("resistor", "4k7", "4.7k"),
        ("resistor", "4k7", "4,7 kΩ 1%"),
        ("resistor", "0R1", "100mR"),
        ("resistor", "27", "27 Ohms"),
        ("resistor", "10k/0603", "10k/R0402/5%"),
        ("resistor", "104", "100k"),
        ("resistor", "104", "104R"),
        ("capacitor", "0.1uF", "100n"),
        ("capacitor", "104", "100nF/50V/X7R"),
        ("capacitor", "10u/25V", "10uF 6.3V X5R"),
        ("inductor", "4u7", "4.7 µH 1.2A"),
        ("crystal", "32.768kHz", "32.768k 12.5pF"),
        ("zener", "5V1", "5.1V"),
        ("fuse", "500mA", "0.5A"),
        ("thermistor", "10k", "10k B3435"),
    ],
)
def test_one_value_in_two_spellings_is_clear(kind: str, drawn: str, value: str) -> None:
    assert levels(kind, drawn, value) == []


@pytest.mark.parametrize(
    ("kind", "drawn", "value"),
    [
        ("resistor", "4k7", "47k"),
        ("resistor", "4k7", "4.7M"),
        ("resistor", "0R", "10k"),
        ("resistor", "104", "47k"),
        ("capacitor", "0.1uF", "10n"),
        ("capacitor", "104", "1uF/50V/X7R"),
        ("inductor", "4u7", "10 µH 1.2A"),
        ("crystal", "32.768kHz", "32768kHz"),
        ("crystal", "12MHz", "12.288MHz"),
        ("zener", "5V1", "3.3V"),
        ("fuse", "500mA", "1A"),
        ("thermistor", "10k", "100k B3435"),
    ],
)
def test_its_twin_with_another_value_is_a_hold(kind: str, drawn: str, value: str) -> None:
    assert levels(kind, drawn, value) == ["hold"]


@pytest.mark.parametrize(
    ("drawn", "value", "ratio", "why"),
    [
        ("4k7", "4.7M", "×1000", "prefix"),
        ("4k7", "47k", "×10", "zero"),
        ("220R", "330R", "×1.5", "not carried over"),
        ("1k", "470R", "1/2.13", "not carried over"),
    ],
)
def test_the_ratio_is_printed_and_says_what_slipped(
    drawn: str, value: str, ratio: str, why: str
) -> None:
    """By hand: 4.7 M / 4.7 k = 1000; 330 / 220 = 1.5; 1000 / 470 = 2.13."""
    (finding,) = reviewed("resistor", drawn, value).findings

    assert ratio in finding.sum
    assert why in finding.why


def test_both_numbers_stand_with_their_files() -> None:
    (finding,) = reviewed("resistor", "4k7", "47k").findings

    assert [(n.name, n.value, n.unit) for n in finding.numbers] == [
        ("netlist", 4700.0, "ohm"),
        ("BOM", 47000.0, "ohm"),
    ]
    assert finding.numbers[0].source.startswith("netlist")
    assert finding.numbers[1].source.startswith("bom")


@pytest.mark.parametrize(
    ("value", "found"),
    [("10.099k", []), ("10.101k", ["hold"]), ("9.902k", []), ("9.9k", ["hold"])],
)
def test_values_within_1_percent_are_the_same(value: str, found: list[str]) -> None:
    """By hand: 10 k · 1.01 = 10.1 k; 10 k / 1.01 = 9.90099 k, so 9.9 k is just beyond."""
    assert levels("resistor", "10k", value) == found


def test_the_share_is_a_setting() -> None:
    page = "~ settings: {bom-value: {within: 30 %}}"

    assert reviewed("resistor", "10k", "12k").findings
    assert not reviewed("resistor", "10k", "12k", page=page).findings


@pytest.mark.parametrize("value", ["R", "", "see note", "CL05B104KO5NNNC"])
def test_a_text_that_holds_no_value_is_no_difference(value: str) -> None:
    assert levels("capacitor", "10n", value) == []


def test_a_case_code_is_no_value() -> None:
    assert levels("resistor", "1206", "10k") == []


def test_without_a_value_the_description_counts() -> None:
    assert levels("resistor", "100R", "", "RES 100 OHM 1% 1/16W 0402") == []
    assert levels("resistor", "100R", "", "RES 52.3 OHM 1% 1/16W 0402") == ["hold"]


@pytest.mark.parametrize(
    ("drawn", "value", "found"),
    [
        ("red", "Red LED", []),
        ("LED/RED/0603", "0603 green", ["hold"]),
        ("amber", "LED yellow", []),
        ("white", "warm white", []),
        ("red/green", "green", []),
        ("PWR", "green", []),
        ("red", "QL-3528-W40", []),
        ("blue", "infrared", ["hold"]),
    ],
)
def test_lights_are_compared_by_the_colours_both_name(
    drawn: str, value: str, found: list[str]
) -> None:
    assert levels("led", drawn, value) == found


@pytest.mark.parametrize(
    ("drawn", "value"),
    [
        ("LM358", "LM358ADT"),
        ("LM358", "lm 358"),
        ("1N4148", "LL4148"),
        ("2N7002", "SOT23/2N7002"),
        ("74HC595", "SN74HC595DR"),
        ("1N5819(S4 SOD-123)", "1N5819S4(SOD-123)"),
        ("ATtiny85", "ATTINY85V-10SU"),
        ("AP2112K", "900-AP2112K"),
        ("STM32L031F6P6", "STM32L031F6P6TR"),
        ("MMBT3904LT1G", "MMBT3904LT3G"),
        ("AMS1117-3.3", "LM1117 3.3V"),
        ("Sensor", "HDC2080DMBR"),
        ("HDC2080", "see note"),
    ],
)
def test_suffixes_and_second_sources_are_the_same_part(drawn: str, value: str) -> None:
    assert levels("integrated-circuit", drawn, value) == []


@pytest.mark.parametrize(
    ("drawn", "value"),
    [
        ("LM358", "LM324"),
        ("ATtiny85", "ATTINY45V-10SU"),
        ("STM32L031F6P6", "STM32L052K8T6"),
        ("74HC04", "74HC14"),
        ("AP2112K-3.3", "AP2112K-1.8TRG1"),
        ("2N7002", "BSS138"),
    ],
)
def test_another_number_is_a_query(drawn: str, value: str) -> None:
    assert levels("integrated-circuit", drawn, value) == ["query"]


def test_any_text_of_the_line_may_name_the_part() -> None:
    assert levels("integrated-circuit", "RP2040", "SC0914", "controller RP2040") == []
    assert levels("integrated-circuit", "RP2040", "SC0914", "controller") == ["query"]
    assert levels("integrated-circuit", "LM358", "", "", "TL072CDT") == ["query"]


@pytest.mark.parametrize("kind", ["button", "connector", "module", "led"])
def test_what_goes_by_a_label_is_not_compared_by_name(kind: str) -> None:
    assert levels(kind, "KEY1234", "TACT5678") == []


def test_parallel_parts_with_other_values_are_said_apart() -> None:
    board = "C1 1u VBAT GND\nC2 10u VBAT GND\n$ C1 2u2\n$ C2 22u\n"

    assert [f.subject.name for f in judge(rule, board).findings] == ["C1", "C2"]


def test_lists_that_hardly_meet_are_not_compared() -> None:
    lines = ["C1 1u VBAT GND", "$ C1 10u"]
    lines += [f"R{n} 1k VBAT GND" for n in range(1, 7)]
    lines += [f"$ R{n} 1k" for n in range(11, 17)]

    review = judge(rule, "\n".join(lines))
    assert not review.findings
    assert [u.key for u in review.undetermined] == ["exports"]
