"""The book of facts: what counts before what, what is kept, what stays unknown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.facts.boards import board, intent, line, part

from boardvet.facts import FactBook
from boardvet.facts.builtin import FAMILY_FILES, data_text
from boardvet.intent import Intent
from boardvet.known import SOURCE_PREFIXES, Known
from boardvet.quantity.statement import Point, Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import PROPERTIES
from boardvet.vocabulary.roles import Role

OWN = """\
- match: [AP2112]
  kind: regulator
  dropout: 99 mV at 50 mA
  source: measured by us
- match: [NIGHTLAMP-7]
  kind: led
  colour: blue
  source: from memory
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "our-parts.yaml"
    path.write_text(OWN, encoding="utf-8")
    return path


def test_the_part_number_counts_before_the_value_and_that_before_the_library_name() -> None:
    every = part("U1", "MCP1700-2502E", name="AMS1117-1.8")
    book = FactBook(board(every, lines=(line("U1", part_number="AP2112K-3.3"),)), Intent.empty())
    known = book.known("U1", "output", Kind.REGULATOR)
    assert known == Known(3.3, "V", "facts regulator.yaml: Diodes DS39724 Rev 2-2")

    by_value = FactBook(board(every), Intent.empty()).known("U1", "output", Kind.REGULATOR)
    assert by_value is not None
    assert by_value.value == 2.5

    by_name = FactBook(board(part("U1", "LDO", name="AMS1117-1.8")), Intent.empty())
    known = by_name.known("U1", "output", Kind.REGULATOR)
    assert known is not None
    assert known.value == 1.8


def test_a_part_number_field_of_the_netlist_counts_as_part_number() -> None:
    every = part("U1", "LDO", fields={"Manufacturer P/N": "x", "Mfr. Part Number": "TLV70018DDCR"})
    known = FactBook(board(every), Intent.empty()).known("U1", "output", Kind.REGULATOR)
    assert known is not None
    assert known.value == 1.8


def test_intent_counts_before_everything(own: Path) -> None:
    stated: Known[object] = Known((Point(0.01, None),), "V", "intent boardvet.yaml:9")
    book = FactBook(board(part("U1", "AP2112K-3.3")), intent(U1={"dropout": stated}), [own])
    known = book.known("U1", "dropout", Kind.REGULATOR)
    assert known is not None
    assert known.value == stated.value
    assert known.source.startswith(f"{stated.source}; otherwise in facts our-parts.yaml")


def test_facts_files_of_the_repository_count_before_shipped_facts(own: Path) -> None:
    book = FactBook(board(part("U1", "AP2112K-3.3")), Intent.empty(), [own])
    known = book.known("U1", "dropout", Kind.REGULATOR)
    assert known is not None
    assert known.value == (Point(0.099, 0.05),)
    assert known.source.startswith("facts our-parts.yaml: measured by us; otherwise in facts reg")
    assert book.known("U1", "quiescent_current", Kind.REGULATOR) is not None, "shipped facts stay"


def test_the_text_of_the_board_counts_before_shipped_facts() -> None:
    """A KT-0603R is red by its part number; a person who writes BLUE beside it is believed."""
    book = FactBook(board(part("D1", "KT-0603R", name="LED_BLUE")), Intent.empty())
    known = book.known("D1", "colour", Kind.LED)
    assert known is not None
    assert known.value == "blue"
    assert known.source.startswith("netlist lamp.net:7; otherwise in facts led.yaml")


def test_a_default_counts_last_and_is_an_assumption() -> None:
    book = FactBook(board(part("D1", "LED_RED"), part("D2", "150060SS75003")), Intent.empty())
    assumed = book.known("D1", "forward_voltage", Kind.LED)
    assert assumed is not None
    assert assumed.assumed
    stated = book.known("D2", "forward_voltage", Kind.LED)
    assert stated is not None
    assert not stated.assumed
    assert stated.value == (Point(1.9, 0.02),), "Würth 150060SS75003: typ. 1.9 V at 20 mA"


def test_a_conflict_is_shown_in_the_source_in_the_order_that_counts(own: Path) -> None:
    stated: Known[object] = Known((Point(0.01, None),), "V", "intent boardvet.yaml:9")
    book = FactBook(board(part("U1", "AP2112K-3.3")), intent(U1={"dropout": stated}), [own])
    known = book.known("U1", "dropout", Kind.REGULATOR)
    assert known is not None
    assert known.value == stated.value
    assert known.source == (
        "intent boardvet.yaml:9; otherwise in facts our-parts.yaml: measured by us, "
        "facts regulator.yaml: Diodes DS39724 Rev 2-2"
    )


def test_sources_that_agree_are_no_conflict() -> None:
    book = FactBook(board(part("D1", "LED red", name="LED_RED")), Intent.empty())
    known = book.known("D1", "colour", Kind.LED)
    assert known is not None
    assert "otherwise" not in known.source


def test_netlist_and_bom_that_differ_are_a_conflict_and_not_averaged() -> None:
    twice = board(part("C1", "10uF/6.3V"), lines=(line("C1", value="10uF 16V"),))
    known = FactBook(twice, Intent.empty()).known("C1", "voltage_rating", Kind.CAPACITOR)
    assert known is not None
    assert known.value == 6.3
    assert known.source == "netlist lamp.net:7; otherwise in bom lamp.csv:3"


def test_facts_of_a_family_of_another_kind_do_not_count() -> None:
    """A socket with the value of the transistor that goes in has no gate."""
    book = FactBook(board(part("J1", "2N7002")), Intent.empty())
    assert book.known("J1", "gate_drive", Kind.FET) is not None
    assert book.known("J1", "gate_drive", Kind.CONNECTOR) is None


def test_an_unsettled_kind_takes_the_facts_of_the_family() -> None:
    book = FactBook(board(part("U1", "BME280")), Intent.empty())
    known = book.known("U1", "supply", Kind.INTEGRATED_CIRCUIT)
    assert known is not None
    assert known.value == Span(1.71, 3.6), "BST-BME280-DS: VDD 1.71 to 3.6 V"


def test_a_resistor_whose_value_looks_like_a_part_is_no_part() -> None:
    book = FactBook(board(part("R1", "BAT54"), part("C1", "SS14")), Intent.empty())
    assert book.family("R1") is None
    assert book.family("C1") is None


def test_a_not_fitted_wrapper_hides_no_part() -> None:
    book = FactBook(board(part("Q1", "NA(2N7002(SOT23))")), Intent.empty())
    assert book.kind("Q1") == Known(
        Kind.FET, "", "facts transistor.yaml: DC Components 2N7002 data sheet"
    )


def test_the_kind_comes_from_intent_before_facts() -> None:
    stated: Known[object] = Known("sensor", "", "intent boardvet.yaml:4")
    book = FactBook(board(part("U1", "BME280"), part("U2", "zzz")), intent(U1={"kind": stated}))
    assert book.kind("U1") == Known(Kind.SENSOR, "", "intent boardvet.yaml:4")
    assert book.kind("U2") is None


def test_pins_are_told_by_package_where_the_symbol_does_not_name_them() -> None:
    """DC Components 2N7002, SOT-23: 1 gate, 2 source, 3 drain."""
    bare = {"1": "", "2": "", "3": ""}
    expected = {"1": Role.GATE, "2": Role.SOURCE, "3": Role.DRAIN}
    parts = (
        part("Q1", "2N7002", footprint="own:SOT-23", pins=bare),
        part("Q2", "2N7002", footprint="own:SOT-323", pins=bare),
        part("Q3", "2N7002", footprint="own:SOT-23", pins={"1": "G", "2": "D", "3": "S"}),
    )
    book = FactBook(board(*parts), Intent.empty())
    assert book.pin_roles("Q1") == expected
    assert book.pin_roles("Q2") == {}, "a package that the facts do not list"
    assert book.pin_roles("Q3") == {}, "the symbol names its own pins"
    sheet = book.data_sheet_pins("Q3")
    assert sheet is not None
    assert sheet.value == expected


def test_pins_stated_by_a_person_count_before_the_data_sheet() -> None:
    stated: Known[object] = Known({"1": Role.SOURCE}, "", "intent boardvet.yaml:4")
    bare = {"1": "", "2": "", "3": ""}
    q = part("Q1", "2N7002", footprint="SOT-23", pins=bare)
    book = FactBook(board(q), intent(Q1={"pins": stated}))
    assert book.pin_roles("Q1") == {"1": Role.SOURCE, "2": Role.SOURCE, "3": Role.DRAIN}


def test_an_led_of_unknown_colour_has_no_forward_voltage() -> None:
    book = FactBook(board(part("D1", "LED"), part("D2", "LED_RGB")), Intent.empty())
    assert book.known("D1", "forward_voltage", Kind.LED) is None
    assert book.known("D2", "forward_voltage", Kind.LED) is None
    missing = book.missing("D1", "forward_voltage")
    assert missing.of == "D1"
    assert missing.key == "forward_voltage"


def test_no_default_stands_in_for_a_supply_range() -> None:
    book = FactBook(board(part("U1", "SOMECHIP")), Intent.empty())
    assert all(book.known("U1", "supply", kind) is None for kind in Kind)


def test_a_data_sheet_that_is_silent_is_said_to_be_silent() -> None:
    book = FactBook(board(part("U1", "MSP430G2553")), Intent.empty())
    assert (
        "data sheet of MSP430G2xxx does not state it"
        in book.missing("U1", "pin_current_max").missing
    )
    assert "data sheet" not in book.missing("U1", "brown_out").missing


PREFIXES = [
    prefix.strip()
    for file in FAMILY_FILES
    for found in re.findall(r"(?m)^- match: \[(.*)\]$", data_text(file))
    for prefix in found.split(",")
]
HEADS = {re.sub(r"[^A-Z0-9]", "", prefix.upper())[:3] for prefix in PREFIXES}


@given(st.text(st.characters(codec="ascii", categories=("L", "N", "P")), max_size=16))
def test_an_unknown_part_stays_unknown(value: str) -> None:
    """Law: nothing is known of a part whose value begins like no family at all."""
    assume(re.sub(r"[^A-Z0-9]", "", value.upper())[:3] not in HEADS)
    book = FactBook(board(part("U1", value)), Intent.empty())
    assert book.family("U1") is None
    assert book.kind("U1") is None
    assert all(book.known("U1", key, Kind.INTEGRATED_CIRCUIT) is None for key in PROPERTIES)


@given(st.sampled_from(PREFIXES), st.sampled_from(sorted(PROPERTIES)))
def test_whatever_is_known_says_from_where(prefix: str, key: str) -> None:
    name = prefix.replace("#", "3").rstrip("!")
    book = FactBook(board(part("U1", name)), Intent.empty())
    kind = book.kind("U1")
    assert kind is not None
    known = book.known("U1", key, kind.value)
    assert known is None or known.source.startswith(SOURCE_PREFIXES)
