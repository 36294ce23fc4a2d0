"""The shipped facts: every file right, every entry with an honest source."""

from __future__ import annotations

import re

import pytest
from tests.facts.boards import board, part

from boardvet.facts import FactBook
from boardvet.facts.builtin import FAMILY_FILES, builtin_table, data_text, family_of, find_builtin
from boardvet.facts.entries import EntryReader, compose
from boardvet.facts.family import FROM_MEMORY, Family
from boardvet.facts.ratings import DEFAULTS_FILE, RATINGS_FILE, general_entries
from boardvet.intent import Intent
from boardvet.quantity.statement import Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import PROPERTIES, parse_property

MAKERS = (
    "Advanced Monolithic Systems", "Alpha & Omega", "Arduino", "Atmel", "Bosch", "DC Components",
    "Diodes", "Diotech", "Espressif", "Fairchild", "H&M Semiconductor", "Holtek", "Hottech",
    "InvenSense", "Kexin", "Kingbright", "Linear Technology", "Lite-On",
    "Maxim", "Microchip", "Micrel", "NXP",
    "NanJing Top Power", "Pan Jit", "Philips", "Puya", "Raytac", "Richtek", "ST ", "Sensirion",
    "TI ", "Toshiba", "Uni-Ohm", "Vishay", "Worldsemi", "Würth", "onsemi",
)  # fmt: skip


def read(name: str) -> tuple[Family, ...]:
    reader = EntryReader(name, name)
    families = reader.families(compose(data_text(name), name))
    for family in families:
        reader.check_values(family)
    assert [str(error) for error in reader.errors] == []
    return families


FAMILIES = [family for name in FAMILY_FILES for family in read(name)]
IDS = [family.name for family in FAMILIES]


def test_there_are_enough_families_of_each_sort() -> None:
    assert len(FAMILIES) >= 200
    for kind in (Kind.CONTROLLER, Kind.REGULATOR, Kind.FET, Kind.SENSOR):
        assert sum(family.kind is kind for family in FAMILIES) >= 15


@pytest.mark.parametrize("family", FAMILIES, ids=IDS)
def test_a_source_is_a_document_or_from_memory(family: Family) -> None:
    if family.source == FROM_MEMORY:
        assert not family.from_memory, "all of it is from memory already"
        return
    assert family.source.startswith(MAKERS), "a maker's document, or exactly `from memory`"
    stated = set(family.values) | ({"pins"} if family.pins else set())
    assert stated - family.from_memory, "a document is cited that nothing was taken from"
    assert family.from_memory <= stated | family.not_stated


@pytest.mark.parametrize("name", FAMILY_FILES)
def test_the_glance_at_prefixes_sees_what_the_yaml_says(name: str) -> None:
    """Only entries laid out as ``- match: [...]`` on one line are found without parsing."""
    glanced = re.findall(r"^- match: \[(.*)\]$", data_text(name), re.MULTILINE)
    prefixes = [tuple(each.strip(" '\"") for each in line.split(",")) for line in glanced]
    assert prefixes == [family.match for family in read(name)]


def test_no_two_entries_claim_the_same_prefix() -> None:
    every = [prefix.upper() for family in FAMILIES for prefix in family.match]
    assert sorted({each for each in every if every.count(each) > 1}) == []


@pytest.mark.parametrize("family", FAMILIES, ids=IDS)
def test_each_prefix_finds_its_own_entry(family: Family) -> None:
    for prefix in family.match:
        found = find_builtin(prefix.replace("#", "3").rstrip("!"))
        assert found is not None
        assert found.entry.match == family.match


def test_an_entry_keeps_its_place_in_the_file() -> None:
    found = builtin_table().find("PY32F003")
    assert found is not None
    text = data_text("controller.yaml").splitlines()
    assert text[found.entry.line - 1].startswith("- match: [PY32F003]")
    assert family_of(found.entry).place.line == found.entry.line


@pytest.mark.parametrize("name", [RATINGS_FILE, DEFAULTS_FILE])
def test_ratings_and_defaults_parse_and_give_their_reason(name: str) -> None:
    for entry in general_entries(name):
        assert entry.values
        assert len(entry.source) > 10
        for key, text in entry.values.items():
            kinds = PROPERTIES[key].kinds
            assert not kinds or entry.kind in kinds
            parse_property(key, text)
            assert key != "supply"
        assert set(entry.when) <= {"case", *PROPERTIES}


@pytest.mark.parametrize("family", FAMILIES, ids=IDS)
def test_a_supply_range_is_one_that_a_small_board_can_have(family: Family) -> None:
    """Catches slips such as mV for V: every part here runs at 5 V or less, none above 35 V."""
    stated = family.known("supply")
    if stated is not None:
        assert isinstance(stated.value, Span)
        assert stated.value.low < stated.value.high <= 35
        assert stated.value.high >= 3
        assert stated.value.low <= 5


@pytest.mark.parametrize(
    ("value", "low", "high"),
    [
        ("STM32F103C8T6", 2.0, 3.6),
        ("STM8L151K4T6", 1.8, 3.6),
        ("PIC16F688-I/SL", 2.0, 5.5),
        ("SN74HC595D", 2.0, 6.0),
        ("74HCT04", 4.5, 5.5),
        ("MCP1703T-3302E/CB", 2.7, 16.0),
        ("MCP1700-3302E", 2.3, 6.0),
        ("LM555CN", 4.5, 16.0),
        ("MDBT42Q-512K", 1.7, 3.6),
        ("WS2812B-V5", 3.5, 5.3),
        ("SHT31-DIS-B", 2.15, 5.5),
        ("STM32L031F6P6", 1.65, 3.6),
        ("ATtiny841-SSU", 1.7, 5.5),
        ("ATmega328P-AU", 1.8, 5.5),
        ("RT9013-33GB", 2.2, 5.5),
        ("24LC256T-I/SN", 2.5, 5.5),
        ("ESP32-WROOM-32E-N4", 3.0, 3.6),
    ],
)
def test_supply_ranges_are_those_of_the_data_sheets(value: str, low: float, high: float) -> None:
    """STM32F103 DocID13587 Rev 17; STM8L15x DocID15962 Rev 14; PIC16F688 DS41203B; 74HC/HCT
    Philips 2003-06-30; MCP1703 DS22049F; MCP1700 DS21826B; LM555 SNAS548B; MDBT42Q Ver. E;
    WS2812B by Worldsemi; SHT3x-DIS by Sensirion; STM32L031 DS10668 Rev 6; ATtiny841 8495H;
    ATmega328P 8271H; RT9013 DS9013-10; 24LC256 DS20001203X; ESP32-WROOM-32E v1.2.
    """
    known = FactBook(board(part("U1", value)), Intent.empty()).known("U1", "supply")
    assert known is not None
    assert known.value == Span(low, high)


def test_a_thousand_parts_are_looked_up_without_parsing_what_is_not_there() -> None:
    parts = [part(f"R{n}", f"{n}k") for n in range(1, 1000)]
    parts.append(part("U1", "BME280"))
    family_of.cache_clear()
    book = FactBook(board(*parts), Intent.empty())
    for each in parts:
        book.family(each.reference)
    assert family_of.cache_info().misses == 1
