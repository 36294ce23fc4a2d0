"""Chemistries: the voltages of the rule book, curves against published readings."""

from __future__ import annotations

from itertools import pairwise

import pytest

from boardvet.facts.chemistry import chemistries, chemistry, load
from boardvet.known import SOURCE_PREFIXES
from boardvet.physics.cell import CellCurve, open_circuit_voltage, resistance, share_left_at_rate

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
        for source in (each.self_discharge.source, each.rate.source):
            assert source.startswith(SOURCE_PREFIXES)
            assert len(source) > 20
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


@pytest.mark.parametrize("name", NAMES)
def test_curves_run_from_fresh_to_empty_and_one_way(name: str) -> None:
    """An empty cell stands at the end voltage or above, unloaded: a load brings it lower."""
    found = chemistry(name)
    assert found is not None
    volts, ohms = found.curve.voltage_points, found.curve.resistance_points
    assert (volts[0][0], volts[-1][0]) == (0.0, 1.0)
    assert (ohms[0][0], ohms[-1][0]) == (0.0, 1.0)
    assert all(after[1] < before[1] for before, after in pairwise(volts))
    assert found.end_voltage.value <= volts[-1][1] + 0.05 <= volts[0][1]
    if name != "alkaline":  # whose published curve is worst fresh, then at its end
        assert all(after[1] >= before[1] for before, after in pairwise(ohms))


@pytest.mark.parametrize("name", NAMES)
def test_less_is_left_at_a_higher_rate_and_never_all_or_nothing(name: str) -> None:
    found = chemistry(name)
    assert found is not None
    points = found.rate.value
    assert all(at > 0 and 0.3 < share <= 1 for at, share in points)
    assert all(b[0] > a[0] and b[1] < a[1] for a, b in pairwise(points))
    assert not points or points[0][1] == 1.0
    assert points or found.rate.assumed


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        pytest.param("lithium manganese", 0.01, 0.02, id="Energizer CR2032: 1 to 2 %"),
        pytest.param("alkaline", 0.0, 0.02, id="FREI LR44: less than 2 %"),
        pytest.param("NiMH", 0.2, 0.5, id="makers' handbooks: 50 to 80 % kept"),
        pytest.param("lithium-ion", 12 * 0.02, 12 * 0.05, id="from memory: 2 to 5 % a month"),
        pytest.param("silver oxide", 0.0, 0.05, id="from memory: 5 % or less"),
        pytest.param("lithium iron disulphide", 0.0, 0.02, id="L91: 25 years of shelf life"),
    ],
)
def test_self_discharge_of_a_year_is_what_makers_say(name: str, least: float, most: float) -> None:
    found = chemistry(name)
    assert found is not None
    assert least <= found.self_discharge.value * 8766 * 3600 <= most * (1 + 1e-9)


def used_when_loaded(name: str, current: float, end: float) -> float:
    """The share used when a steady current first brings the cell to a voltage, by halving."""
    curve = curve_of(name)
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        loaded = open_circuit_voltage(curve, middle) - current * resistance(curve, middle)
        low, high = (middle, high) if loaded > end else (low, middle)
    return low


def test_resistance_and_rate_together_give_the_makers_capacity_of_an_alkaline_cell() -> None:
    """Energizer LR6 to 0.8 V, by way of lygte-info.dk: 2900 mAh at 25 mA, 1400 mAh at 500 mA.

    By hand at 500 mA: 1.10 V - 0.45 V = 0.65 V when empty and 1.20 V - 0.325 V = 0.875 V at 90 %;
    on the line between them 0.8 V are reached at 90 % + 10 % · 0.075/0.225 = 93.3 %; 1400 / 2900 =
    48.3 %, of which 93.3 % are the resistance, so 51.7 % are left for the rate.
    """
    found = chemistry("alkaline")
    assert found is not None
    by_resistance = used_when_loaded("alkaline", 0.5, 0.8)
    share = share_left_at_rate(found.rate.value, 0.5 / 2.9)
    assert by_resistance == pytest.approx(0.933, abs=0.001)
    assert 2900 * by_resistance * share == pytest.approx(1400, rel=0.01)
    gentle = share_left_at_rate(found.rate.value, 0.025 / 2.9)
    assert 2900 * used_when_loaded("alkaline", 0.025, 0.8) * gentle == pytest.approx(
        2900, rel=0.01
    )


def test_resistance_takes_little_of_a_coin_cell_beside_its_rate() -> None:
    """Nordic: a steady 3 mA leaves 60 %; to 2.0 V the resistance alone would leave 98 %."""
    found = chemistry("CR")
    assert found is not None
    assert used_when_loaded("CR", 3e-3, 2.0) > 0.97
    assert share_left_at_rate(found.rate.value, 3e-3 / 0.225) == pytest.approx(0.6, abs=0.003)
    assert share_left_at_rate(found.rate.value, 0.5e-3 / 0.225) == pytest.approx(0.95, abs=0.003)
    assert share_left_at_rate(found.rate.value, 0.2e-3 / 0.225) == 1.0
