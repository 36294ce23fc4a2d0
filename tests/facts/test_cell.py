"""Cells by designation: IEC names, sums by hand, and finding a name in other text."""

from __future__ import annotations

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.facts.cell import CellType, capacity_in, cell_type, cell_types, find_cell
from boardvet.facts.chemistry import load
from boardvet.facts.designation import size_in_name
from boardvet.known import SOURCE_PREFIXES, Known
from boardvet.physics.cell import open_circuit_voltage, resistance

COINS = [cell for cell in cell_types() if size_in_name(cell.designation) is not None]


def need(designation: str) -> CellType:
    found = cell_type(designation)
    assert found is not None
    return found


def value(known: Known[float] | None) -> float:
    assert known is not None
    return known.value


def milliampere_hours(cell: CellType) -> float:
    return value(cell.capacity) / 3.6


@pytest.mark.parametrize(
    ("designation", "diameter", "height"),
    [
        ("CR2032", 20.0, 3.2),
        ("CR2450", 24.5, 5.0),
        ("CR1220", 12.5, 2.0),
        ("CR2477", 24.5, 7.7),
        ("LR1154", 11.6, 5.4),
        ("SR626", 6.8, 2.6),
        ("LR6", 14.5, 50.5),
        ("LR03", 10.5, 44.5),
        ("18650", 18.0, 65.0),
    ],
)
def test_size(designation: str, diameter: float, height: float) -> None:
    """IEC 60086 naming: LR1154 is 11.6 mm by 5.4 mm, the diameter truncated to 11."""
    cell = need(designation)
    assert value(cell.diameter) == pytest.approx(diameter / 1000)
    assert value(cell.height) == pytest.approx(height / 1000)


@pytest.mark.parametrize("cell", COINS, ids=lambda cell: cell.designation)
def test_name_says_the_size_of_every_coin_in_the_table(cell: CellType) -> None:
    digits = cell.designation[-4:]
    assert int(value(cell.diameter) * 1000 + 1e-6) == int(digits[:2])
    assert value(cell.height) * 10_000 == pytest.approx(int(digits[2:]))


def test_cr2032_is_what_everybody_says() -> None:
    """Common practice: 20 mm across, 3.2 mm high, 200 to 250 mAh; 14 sheets print 2.8 to 3.9 g."""
    cell = need("CR2032")
    assert cell.chemistry.name == "lithium manganese"
    assert 200 <= milliampere_hours(cell) <= 250
    assert 2.8e-3 <= value(cell.mass) <= 3.9e-3
    assert (value(cell.continuous_current), value(cell.pulse_current)) == (3e-3, 15e-3)


@pytest.mark.parametrize(
    ("designation", "milliamperes"),
    [("CR1025", 5), ("CR1216", 5), ("CR1220", 25), ("CR2032", 25), ("CR2450", 25)],
)
def test_abnormal_charge_limit_is_that_of_the_makers_table(
    designation: str, milliamperes: float
) -> None:
    """Renata Designer's Guide, p. 53 (UL)."""
    limit = need(designation).abnormal_charge_current
    assert value(limit) == pytest.approx(milliamperes / 1000)


def hours_on(cell: CellType, ohms: float, end: float) -> float:
    """Return how long a cell feeds a resistor, by a sum over a thousand steps of its charge."""
    hours = 0.0
    for step in range(1000):
        used = (step + 0.5) / 1000
        inside = resistance(cell.curve, used)
        current = open_circuit_voltage(cell.curve, used) / (ohms + inside)
        if current * ohms < end:
            break
        hours += value(cell.capacity) / 1000 / current / 3600
    return hours


def test_coin_cell_lasts_as_long_as_its_makers_say() -> None:
    """CR2032 on 15 kΩ to 2.0 V: at least the 920 h of IEC 60086-2 (from memory), and within the
    60 days of the axis of Sanyo's graph; by hand 225 mAh / (2.85 V / 15 kΩ) = 1184 h."""
    hours = hours_on(need("CR2032"), 15e3, 2.0)
    assert 920 <= hours <= 60 * 24
    assert hours == pytest.approx(225e-3 / (2.85 / 15e3), rel=0.03)


def test_alkaline_button_lasts_as_long_as_its_maker_says() -> None:
    """FREI LR44: 145 mAh, 800 h on 6.8 kΩ to 0.9 V (which at 1.3 V would be 153 mAh)."""
    assert hours_on(need("LR44"), 6.8e3, 0.9) == pytest.approx(800, rel=0.1)


def test_small_coins_can_be_shorted_to_the_current_their_maker_states() -> None:
    """Malak 30 mAh cell: at least 3.2 V without load and 50 mA shorted, so at most some 64 Ω."""
    cell = need("CR1216")
    fresh = open_circuit_voltage(cell.curve, 0.0)
    assert fresh >= 3.2
    assert fresh / resistance(cell.curve, 0.0) >= 0.050


def test_smaller_coins_have_more_resistance_by_their_area() -> None:
    """By hand: 20 Ω · (20 mm / 12.5 mm)² = 51.2 Ω."""
    assert resistance(need("CR1220").curve, 0.0) == pytest.approx(51.2)


def test_a_block_counts_as_the_cells_inside_it() -> None:
    """6LR61 is six alkaline cells: 9 V on the plate, at most 9.9 V."""
    block = need("6LR61")
    assert block.cells == 6
    assert block.nominal_voltage.value == 9.0
    assert block.highest_voltage.value == pytest.approx(9.9)
    assert open_circuit_voltage(block.curve, 0.0) == pytest.approx(6 * 1.59)


@pytest.mark.parametrize("alias", ["LR1154", "AG13", "A76", "lr44", "LR 44"])
def test_names_of_one_cell(alias: str) -> None:
    assert need(alias).designation == "LR44"


def test_a_name_outside_the_table_is_decoded_but_has_no_capacity() -> None:
    """Decoding says 23.0 mm by 5.4 mm and lithium manganese, no more."""
    cell = need("CR2354")
    assert (cell.chemistry.name, cell.capacity, cell.mass) == ("lithium manganese", None, None)
    assert value(cell.diameter) == pytest.approx(0.023)
    assert value(cell.height) == pytest.approx(0.0054)
    assert cell.resistance_source.startswith("assumed")


def test_a_chemistry_alone_is_a_cell_of_unknown_size() -> None:
    cell = need("LiPo")
    assert (cell.chemistry.name, cell.capacity, cell.diameter) == ("lithium-ion", None, None)


@pytest.mark.parametrize(
    "text", ["", "xyz", "CR9999", "CR0000", "LR2032", "2xAAA", "12V", "BAT54"]
)
def test_what_is_no_cell_is_none(text: str) -> None:
    assert cell_type(text) is None


@pytest.mark.parametrize(
    ("text", "designation", "count"),
    [
        ("CR2032 holder", "CR2032", 1),
        ("BAT-HLD-2032", "CR2032", 1),
        ("coin holder 1x2450", "CR2450", 1),
        ("CR-2032", "CR2032", 1),
        ("DL2032", "CR2032", 1),
        ("CR2450N", "CR2450", 1),
        ("2x LR03", "LR03", 2),
        ("Battery holder 2xAAA", "LR03", 2),
        ("holder_2xAAA_side", "LR03", 2),
        ("3 x AA", "LR6", 3),
        ("AAAx3", "LR03", 3),
        ("4AA", "LR6", 4),
        ("2xAA NiMH", "HR6", 2),
        ("2x18650", "18650", 2),
        ("BH-14500-PC", "14500", 1),
        ("LIR2032", "LIR2032", 1),
        ("PR44", "PR44", 1),
        ("SR626SW", "SR66", 1),
        ("4LR44", "4LR44", 1),
        ("9V block", "6LR61", 1),
        ("LiPo 3.7V 500mAh", "lithium-ion", 1),
        ("Li-Ion", "lithium-ion", 1),
        ("CR2354", "CR2354", 1),
    ],
)
def test_a_cell_is_found_in_text(text: str, designation: str, count: int) -> None:
    found = find_cell(text)
    assert found is not None
    assert (found[0].designation, found[1]) == (designation, count)


@pytest.mark.parametrize(
    "text",
    [
        "Keystone 3034",
        "Battery",
        "2032",
        "LED 2012",
        "holder 1/2AA",
        "CR2032/CR2025 holder",
        "holder CR2016-2025-2032",
        "LiFePO4 18650",
        "LR2032",
        "BAT54C",
        "S8421-45R",
        "",
    ],
)
def test_text_that_names_none_or_several_gives_none(text: str) -> None:
    assert find_cell(text) is None


@given(st.text(max_size=60))
def test_no_text_raises(text: str) -> None:
    found = find_cell(text)
    assert found is None or found[1] >= 1


@pytest.mark.parametrize(
    ("text", "coulombs"),
    [
        ("LiPo 3.7V 500mAh", 1800.0),
        ("2.2Ah", 7920.0),
        ("1000 mAh cell", 3600.0),
        ("CR2032", None),
        ("500mAh or 700mAh", None),
        ("5 mA", None),
    ],
)
def test_capacity_in_text(text: str, coulombs: float | None) -> None:
    assert capacity_in(text) == coulombs


@pytest.mark.parametrize("cell", cell_types(), ids=lambda cell: cell.designation)
def test_every_number_has_its_unit_and_source(cell: CellType) -> None:
    units = {"capacity": "C", "diameter": "m", "height": "m", "mass": "kg",
             "continuous_current": "A", "pulse_current": "A",
             "abnormal_charge_current": "A"}  # fmt: skip
    for field, unit in units.items():
        known = getattr(cell, field)
        if known is not None:
            assert known.unit == unit
            assert known.source.startswith(SOURCE_PREFIXES)
            assert known.value > 0
    assert cell.capacity is not None
    assert cell.curve_source.startswith(SOURCE_PREFIXES)
    assert cell.resistance_source.startswith(SOURCE_PREFIXES)


@pytest.mark.parametrize("cell", cell_types(), ids=lambda cell: cell.designation)
def test_mass_fits_the_size(cell: CellType) -> None:
    """Cells are denser than water and lighter than steel: 1.1 to 5.5 g/cm³."""
    if cell.diameter is None or cell.height is None or cell.mass is None:
        assert cell.designation in {"6LR61", "ICR2032", "IFR2032"}
        return
    volume = 3.14159 / 4 * cell.diameter.value**2 * cell.height.value
    assert 1100 < cell.mass.value / volume < 5500


PAIR = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
VALUES = ("capacity", "mass", "continuous", "pulse", "abnormal", "resistance", "rate")
ENTRY = {
    "type": "object",
    "additionalProperties": False,
    "required": ["designation", "chemistry", "capacity"],
    "properties": {
        "designation": {"type": "string"},
        "aliases": {"type": "array", "items": {"type": "string"}},
        "chemistry": {"type": "string"},
        "cells": {"type": "string", "pattern": "^[2-9]$"},
        "curve": {"enum": ["cylinder"]},
        "size": {"type": "array", "minItems": 2, "maxItems": 2},
    }
    | dict.fromkeys(VALUES, PAIR),
}
SCHEMA = {
    "type": "object",
    "additionalProperties": False,
    "required": ["sources", "cells"],
    "properties": {
        "sources": {"type": "object", "additionalProperties": {"type": "string", "minLength": 10}},
        "cells": {"type": "array", "items": ENTRY},
    },
}


def test_data_file_is_laid_out_as_its_head_says() -> None:
    jsonschema.validate(load("cell.yaml"), SCHEMA)


def test_every_source_of_the_data_file_is_used_and_every_name_stands_once() -> None:
    data = load("cell.yaml")
    text = str(data["cells"])
    assert [name for name in data["sources"] if f"'{name}'" not in text] == []
    names = [
        name
        for entry in data["cells"]
        for name in (entry["designation"], *entry.get("aliases", []))
    ]
    assert len(names) == len(set(names))
