"""Chemistries: the voltages of the rule book, curves against published readings."""

from __future__ import annotations

import pytest

from boardvet.facts.chemistry import chemistries, chemistry, load
from boardvet.known import SOURCE_PREFIXES
from boardvet.physics.cell import CellCurve, open_circuit_voltage, resistance

NAMES = [each.name for each in chemistries()]


def curve_of(name: str) -> CellCurve:
    found = chemistry(name)
    assert found is not None
    return found.curve


@pytest.mark.parametrize(
    ("name", "volts"),
    [
        ("lithium manganese", 3.35),
        ("alkaline", 1.65),
        ("silver oxide", 1.6),
        ("lithium iron disulphide", 1.83),
        ("NiMH", 1.5),
        ("lithium-ion", 4.25),
        ("LiFePO4", 3.65),
    ],
)
def test_highest_voltage_is_that_of_the_rule_book(name: str, volts: float) -> None:
    found = chemistry(name)
    assert found is not None
    assert found.highest_voltage.value == volts


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("LiPo", "lithium-ion"),
        ("Li-Po", "lithium-ion"),
        ("li-ion", "lithium-ion"),
        ("Lithium Ion", "lithium-ion"),
        ("lithium polymer", "lithium-ion"),
        ("lifepo4", "LiFePO4"),
        ("LFP", "LiFePO4"),
        ("NiMH", "NiMH"),
        ("Ni-MH", "NiMH"),
        ("Alkaline", "alkaline"),
        ("CR", "lithium manganese"),
    ],
)
def test_other_words_mean_the_same(word: str, name: str) -> None:
    found = chemistry(word)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize("word", ["", "lithium", "lead", "LR6"])
def test_an_unclear_word_means_none(word: str) -> None:
    assert chemistry(word) is None


def test_primary_cells_are_not_rechargeable_and_have_no_charger() -> None:
    rechargeable = {each.name for each in chemistries() if each.rechargeable}
    assert {"lithium-ion", "LiFePO4", "NiMH"} <= rechargeable
    assert not {"lithium manganese", "alkaline", "silver oxide"} & rechargeable
    assert all(each.charge_voltage is None for each in chemistries() if not each.rechargeable)


@pytest.mark.parametrize("name", NAMES)
def test_voltages_stand_in_their_order(name: str) -> None:
    found = chemistry(name)
    assert found is not None
    fresh = open_circuit_voltage(found.curve, 0.0)
    assert found.end_voltage.value < found.nominal_voltage.value <= found.highest_voltage.value
    assert found.nominal_voltage.value * 0.99 <= fresh <= found.highest_voltage.value


@pytest.mark.parametrize("name", NAMES)
def test_resistance_grows_with_use_and_cold(name: str) -> None:
    curve = curve_of(name)
    assert resistance(curve, 1.0) >= 1.4 * resistance(curve, 0.0) > 0
    assert resistance(curve, 0.0, -20.0) > resistance(curve, 0.0, 25.0)


def test_every_number_says_where_it_comes_from() -> None:
    for each in chemistries():
        for known in (each.highest_voltage, each.nominal_voltage, each.end_voltage):
            assert known.source.startswith(SOURCE_PREFIXES)
            assert len(known.source) > 20
        assert each.curve_source.startswith(SOURCE_PREFIXES)
        assert each.resistance_source.startswith(SOURCE_PREFIXES)


def test_a_curve_corrected_from_a_loaded_one_is_an_assumption() -> None:
    coin = chemistry("lithium manganese")
    assert coin is not None
    assert coin.curve_source.startswith("assumed")
    assert coin.resistance_source.startswith("assumed")


def test_every_source_is_used() -> None:
    data = load("chemistry.yaml")
    text = str(data["curves"]) + str(data["chemistries"])
    assert [name for name in data["sources"] if f"'{name}'" not in text] == []


ENERGIZER_CR2450 = (0, 6, 13, 22, 34, 49, 67, 91, 124, 160, 202, 257, 340, 465, 634, 821)
"""Remaining tenths of a per cent at 2.20, 2.25 … 2.95 V on 7.5 kΩ, 21 °C: Energizer CR2450 sheet,
by way of a fuel gauge that quotes it (its span ends are likely 2.2 and 3.0 V)."""


@pytest.mark.parametrize(("step", "remaining"), list(enumerate(ENERGIZER_CR2450))[1:])
def test_coin_curve_under_its_load_is_the_sheets(step: int, remaining: int) -> None:
    """CR2450 resistance: two thirds of that of a CR2032, by the area of the face."""
    loaded = 2.2 + 0.05 * step
    used = 1 - remaining / 1000
    drop = loaded / 7500 * resistance(curve_of("CR"), used) * (20 / 24.5) ** 2
    assert open_circuit_voltage(curve_of("CR"), used) - drop == pytest.approx(loaded, abs=0.025)


def test_a_fresh_coin_cell_shows_what_its_maker_says() -> None:
    """Renata Designer's Guide: 3.15 to 3.35 V without load; CR2032 sheets: 10 to 40 Ω."""
    assert 3.15 <= open_circuit_voltage(curve_of("CR"), 0.0) <= 3.35
    assert 10 <= resistance(curve_of("CR"), 0.0) <= 40
    assert resistance(curve_of("CR"), 1.0) > 100


SLVA194 = [(0.0, 1.59, 1.49), (0.1, 1.44, 1.35), (0.2, 1.38, 1.27), (0.3, 1.34, 1.20),
           (0.4, 1.32, 1.16), (0.5, 1.30, 1.12), (0.6, 1.28, 1.10), (0.7, 1.26, 1.10),
           (0.8, 1.23, 1.04), (0.9, 1.20, 0.98), (1.0, 1.10, 0.62)]  # fmt: skip
"""TI SLVA194 Fig. 3: share used, volts at rest, volts at a constant 330 mW; read off, ±0.02 V."""


@pytest.mark.parametrize(("used", "rest", "loaded"), SLVA194)
def test_alkaline_curve_is_the_published_one(used: float, rest: float, loaded: float) -> None:
    curve = curve_of("alkaline")
    current = 0.330 / loaded
    assert open_circuit_voltage(curve, used) == pytest.approx(rest)
    drop = current * resistance(curve, used)
    assert rest - drop == pytest.approx(loaded, abs=0.025)
