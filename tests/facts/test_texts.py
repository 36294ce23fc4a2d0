"""What the texts of a board tell: colour, output voltage, package, ratings, defaults."""

from __future__ import annotations

import pytest
from tests.facts.boards import board, line, part

from boardvet.facts import FactBook
from boardvet.facts.colour import colour_in
from boardvet.facts.output import output_voltage
from boardvet.facts.packages import package_named
from boardvet.intent import Intent
from boardvet.vocabulary.kinds import Kind


@pytest.mark.parametrize(
    ("text", "colour"),
    [
        ("LED_RED", "red"),
        ("green", "green"),
        ("WHITE", "white"),
        ("LED/BLUE/0603", "blue"),
        ("LED 3mm gelb", "yellow"),
        ("amber 1206", "amber"),
        ("IR emitter", "infrared"),
        ("yellow-green 0603", "yellow-green"),
        ("yellow green", "yellow-green"),
        ("LED 525nm", "green"),
        ("LED green 570 nm", "yellow-green"),
        ("warm white 3000K", "warm white"),
        ("LED_RGB", "red-green-blue"),
    ],
)
def test_a_colour_word_names_the_colour(text: str, colour: str) -> None:
    assert colour_in(text) == colour


@pytest.mark.parametrize(
    "text",
    ["LED", "LED_DUAL", "red/green", "bicolor red", "REDUCED", "WIRED", "INFRA", "BLUETOOTH",
     "3rd LED", "LED_Vert", "INDICATOR", "GRN1X", "STAIRS"],
)  # fmt: skip
def test_a_text_without_one_colour_names_none(text: str) -> None:
    assert colour_in(text) is None


@pytest.mark.parametrize(
    ("code", "rest", "volts"),
    [
        ("tenths", "-3302E/TO", 3.3),
        ("tenths", "T-1802E/MB", 1.8),
        ("tenths", "K-3.3TRG1", 3.3),
        ("tenths", "33DDCR", 3.3),
        ("tenths", "C33M5G-N", 3.3),
        ("tenths", "332MR", 3.3),
        ("tenths", "-3V3", 3.3),
        ("tenths", "M5-L-3-3/TR", 3.3),
        ("tenths", "IM5-3.3/NOPB", 3.3),
        ("tenths", "-5.0", 5.0),
        ("tenths", "-5", 5.0),
        ("tenths", "ST33T3G", 3.3),
        ("volts", "05", 5.0),
        ("volts", "12ACZ", 12.0),
        ("tenths", "-ADJ", None),
        ("tenths", "", None),
        ("tenths", "M5", None),
        ("tenths", "01", None),
        ("", "-3.3", None),
    ],
)
def test_a_suffix_codes_the_output_only_where_the_family_says_how(
    code: str, rest: str, volts: float | None
) -> None:
    """Codes as on ordering pages: MCP1700-3302E, XC6206P332MR, NCP1117ST33T3G (from memory)."""
    assert output_voltage(code, rest) == volts


@pytest.mark.parametrize(
    ("package", "footprint", "same"),
    [
        ("SOT-23", "own:SOT-23", True),
        ("SOT-23", "SOT23_hand", True),
        ("SOT-23", "sot-23-3", True),
        ("SOT-23", "own:SOT-23_2.9x1.3mm", True),
        ("SOT-23", "SOT-23-5", False),
        ("SOT-23", "SOT-23-6_3x1.6mm", False),
        ("SOT-23", "SOT-233", False),
        ("SOT-23-5", "SOT23-5", True),
        ("SOT-223", "SOT-223-3_TabPin2", False),
        ("SOT-223", "SOT-223", True),
        ("TO-92", "TO-92_wide", True),
        ("TO-92", "TO-92L", False),
        ("SOT-89", "own:SOT-89-3", False),
    ],
)
def test_a_package_is_told_from_its_longer_namesakes(
    package: str, footprint: str, same: bool
) -> None:
    assert package_named(package, footprint) is same


@pytest.mark.parametrize(
    ("footprint", "watts"),
    [("own:R_0402", 1 / 16), ("own:R_0603", 0.1), ("own:R_1206", 0.25), ("own:R_2512", 1.0)],
)
def test_a_chip_resistor_is_rated_by_its_case(footprint: str, watts: float) -> None:
    """Uni-Ohm thick-film chip resistors: 0402 1/16, 0603 1/10, 1206 1/4, 2512 1 W at 70 °C."""
    book = FactBook(board(part("R1", "10k", footprint=footprint)), Intent.empty())
    known = book.known("R1", "power_rating", Kind.RESISTOR)
    assert known is not None
    assert known.value == pytest.approx(watts)


def test_a_rating_written_beside_the_value_counts_before_that_of_the_case() -> None:
    book = FactBook(board(part("R1", "10k 1/4W", footprint="own:R_0603")), Intent.empty())
    known = book.known("R1", "power_rating", Kind.RESISTOR)
    assert known is not None
    assert known.value == pytest.approx(0.25)
    assert known.source.startswith("netlist lamp.net:7; otherwise in facts passive.yaml")


def test_ratings_are_read_from_value_and_bom_description() -> None:
    lines = (line("C2", description="CAP CER 10UF 16V X5R 0603"),)
    book = FactBook(
        board(part("C1", "22uF/6.3V/20%/X5R/C0603"), part("C2", "10u"), lines=lines),
        Intent.empty(),
    )
    assert [
        known.value if (known := book.known(reference, key, Kind.CAPACITOR)) else None
        for reference in ("C1", "C2")
        for key in ("voltage_rating", "dielectric", "tolerance")
    ] == [6.3, "X5R", pytest.approx(0.2), 16.0, "X5R", None]


def test_the_words_of_a_page_address_say_nothing_of_the_part() -> None:
    fields = {"Datasheet": "https://example.org/lamps/blue.pdf"}
    book = FactBook(board(part("D1", "LED", fields=fields)), Intent.empty())
    assert book.known("D1", "colour", Kind.LED) is None


def test_a_voltage_in_the_text_of_another_kind_is_no_rating() -> None:
    book = FactBook(board(part("J1", "5V 2A")), Intent.empty())
    assert book.known("J1", "voltage_rating", Kind.CONNECTOR) is None


@pytest.mark.parametrize(
    ("colour", "low", "high"),
    [("infrared", 1.2, 1.5), ("red", 1.8, 2.1), ("amber", 2.0, 2.1), ("yellow", 2.0, 2.1),
     ("yellow green", 2.1, 2.5), ("green", 2.9, 3.5), ("blue", 2.9, 3.4), ("white", 2.9, 3.4)],
)  # fmt: skip
def test_the_assumed_forward_voltage_lies_where_data_sheets_do(
    colour: str, low: float, high: float
) -> None:
    """At 20 mA. Red: Würth 150060SS75003 1.9 V, Kingbright APHB1608SGEC 2.0 V; green: Würth
    150080GS75000 3.2 V; yellow-green: APHB1608SGEC 2.2 V; the other ranges from memory.
    """
    known = FactBook(board(part("D1", colour)), Intent.empty()).known(
        "D1", "forward_voltage", Kind.LED
    )
    assert known is not None
    assert known.assumed
    assert isinstance(known.value, tuple)
    assert low <= known.value[0].value <= high
    assert [point.at for point in known.value] == [0.02]
