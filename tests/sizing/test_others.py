"""Charger, divider, crystal, base, gate and reservoir: makers' examples and hand sums."""

from __future__ import annotations

import pytest

from boardvet.quantity import preferred
from boardvet.quantity.statement import Span
from boardvet.sizing import calculation
from boardvet.sizing._calculation import Answer, Unsizable
from boardvet.sizing._reading import read
from boardvet.sizing._values import choose, choose_between
from boardvet.sizing.divider import nearest_pair


def sized(name: str, *words: str) -> Answer:
    found = calculation(name)
    return found.solve(read(name, found, words))


def values(answer: Answer) -> list[tuple[float, str]]:
    return [(chosen.value, chosen.series) for chosen in answer.chosen]


def said(answer: Answer) -> str:
    return "\n".join((*answer.sums, *answer.ends, answer.buy, *answer.notes))


class TestCharge:
    def test_a_gain_over_a_current(self) -> None:
        """MCP73831, from memory: 1000 V / 500 mA = 2 kΩ; E12 above it is 2.2 kΩ, 10 % off."""
        answer = sized("charge", "current=500 mA", "program_gain=1000 V", "margin=9 %")
        assert answer.chosen[0].wanted == pytest.approx(2000.0)
        assert values(answer) == [(2000.0, "E24")]

    def test_never_more_than_wanted(self) -> None:
        """By hand: 1000 V / 95 mA = 10.53 kΩ; 10 kΩ would give 100 mA; 11 kΩ of E24 give 90.9."""
        answer = sized("charge", "current=95 mA", "program_gain=1000 V")
        assert values(answer) == [(11e3, "E24")]
        assert "90.9 mA" in answer.sums[1]

    @pytest.mark.parametrize(
        ("capacity", "words"),
        [
            ("250 mAh", "is 0.4 C"),
            ("150 mAh", "is 0.67 C: allowed by most lithium-ion cells, not gentle"),
            ("40 mAh", "is 2.5 C: more than most lithium-ion cells allow"),
        ],
    )
    def test_the_rate_is_said_and_judged(self, capacity: str, words: str) -> None:
        """By hand: 100 mA over 250, 150 and 40 mAh."""
        answer = sized("charge", "current=100 mA", "program_gain=1000 V", f"capacity={capacity}")
        assert words in answer.notes[0]
        assert "data sheet" in answer.notes[1]


class TestDivider:
    def test_the_nearest_pair_of_a_series(self) -> None:
        """4.2 V to 1.1 V. By hand: 620 + 220 = 840 kΩ, 220 / 840 · 4.2 V = 1.1 V to the digit."""
        answer = sized("divider", "input=4.2 V", "output=1.1 V", "current=5 uA")
        assert values(answer) == [(620e3, "E24"), (220e3, "E24")]
        assert "draws 5 µA; source resistance 620 kΩ ‖ 220 kΩ = 162 kΩ" in answer.sums[2]

    @pytest.mark.parametrize("series", ["E12", "E24"])
    @pytest.mark.parametrize("ratio", [0.0371, 0.2619, 0.5, 0.731])
    def test_no_other_pair_of_the_series_is_nearer(self, series: str, ratio: float) -> None:
        total = Span(1e5, 2.2e5)
        pair = nearest_pair(ratio, total, series)
        missed = abs(pair.bottom / (pair.top + pair.bottom) - ratio)
        decade = [preferred(10 ** (step / 240), series) for step in range(240)]
        for bottom in {value * 10**power for value in decade for power in range(3, 6)}:
            for top in {value * 10**power for value in decade for power in range(3, 6)}:
                if total.low <= top + bottom <= total.high:
                    other = abs(bottom / (top + bottom) - ratio)
                    assert missed <= other + 1e-9 * ratio

    def test_source_resistance_alone_decides_the_sum(self) -> None:
        """By hand: two alike that show 10 kΩ are 20 kΩ each at most; E12 has 18 kΩ."""
        answer = sized("divider", "input=4 V", "output=2 V", "source_max=10 kohm")
        assert {value for value, _ in values(answer)} <= {10e3, 12e3, 15e3, 18e3}
        assert "over the" not in said(answer)

    def test_too_stiff_a_reader_asks_for_a_capacitor(self) -> None:
        """By hand: 162 kΩ · 100 nF · ln 1000 = 112 ms."""
        answer = sized(
            "divider", "input=4.2 V", "output=1.1 V", "current=5 uA", "source_max=10 kohm"
        )
        assert "162 kΩ is over the 10 kΩ" in said(answer)
        assert "0.1 % in 112 ms" in said(answer)

    def test_tolerance_moves_the_threshold(self) -> None:
        """By hand: 220·0.99 / (620·1.01 + 220·0.99) · 4.2 V = 1.0839 V; 1.1162 V the other way."""
        answer = sized("divider", "input=4.2 V", "output=1.1 V", "current=5 uA")
        assert "with 1 % parts 1.084 V to 1.116 V" in answer.sums[1]

    def test_both_ends_of_the_cell(self) -> None:
        """By hand: 220 / 840 · 3.0 V = 0.7857 V, 3.0 V / 840 kΩ = 3.57 µA."""
        answer = sized(
            "divider", "input=4.2 V", "output=1.1 V", "current=5 uA", "supply=3.0 to 4.2 V"
        )
        assert answer.ends == ("1.1 V at 4.2 V, drawing 5 µA", "785.7 mV at 3 V, drawing 3.57 µA")

    def test_the_default_current_is_said_to_be_one(self) -> None:
        answer = sized("divider", "input=3 V", "output=1 V")
        assert answer.notes == ("current assumed: at most 10 µA (common practice on a cell)",)
        assert sum(value for value, _ in values(answer)) >= 300e3

    def test_it_does_not_raise_a_voltage(self) -> None:
        with pytest.raises(Unsizable, match="only lowers"):
            sized("divider", "input=3 V", "output=3 V")


class TestCrystal:
    def test_the_controller_s_data_sheet(self) -> None:
        """STM32F103, DocID13587 Rev 17, s. 5.3.6: CL 6 pF, Cstray 2 pF: 8 pF each; E12 8.2 pF."""
        answer = sized("crystal", "load_capacitance=6 pF", "stray=2 pF")
        assert answer.chosen[0].wanted == pytest.approx(8e-12)
        assert values(answer) == [(8.2e-12, "E12")]
        assert answer.notes == ()

    def test_strays_counted_by_pin(self) -> None:
        """Atmel AVR042: 18 pF with 5 to 10 pF a pin: 26 to 31 pF; the middle 28.5, E12 27 pF."""
        answer = sized("crystal", "load_capacitance=18 pF", "stray_pin=5 to 10 pF")
        assert answer.chosen[0].wanted == pytest.approx(28.5e-12)
        assert values(answer) == [(27e-12, "E12")]
        assert "(from 26 pF to 31 pF)" in answer.sums[0]

    def test_unknown_strays_are_assumed_and_said(self) -> None:
        """By hand: 2 · (12.5 − 7) = 11 pF to 2 · (12.5 − 2) = 21 pF."""
        answer = sized("crystal", "load_capacitance=12.5 pF")
        assert "(from 11 pF to 21 pF)" in answer.sums[0]
        assert "strays assumed" in answer.notes[0]

    @pytest.mark.parametrize(
        ("words", "message"),
        [
            (("stray=2 pF", "stray_pin=4 pF"), "say the same in two ways"),
            (("stray=6 pF",), "alone are more than"),
        ],
    )
    def test_what_cannot_be(self, words: tuple[str, ...], message: str) -> None:
        with pytest.raises(Unsizable, match=message):
            sized("crystal", "load_capacitance=6 pF", *words)


class TestBase:
    def test_saturation_of_a_small_transistor(self) -> None:
        """Nexperia MMBT3904: 10 mA with 1 mA of base current, VBE(sat) at most 0.85 V.

        By hand: (3.0 V − 0.85 V) / 1 mA = 2150 Ω. Below it E12 has 1.8 kΩ (16 % off), E24 2.0 kΩ.
        """
        answer = sized("base", "drive=3.0 V", "collector_current=10 mA")
        assert answer.chosen[0].wanted == pytest.approx(2150.0)
        assert values(answer) == [(2000.0, "E24")]

    def test_it_still_saturates_at_the_end_of_the_cell(self) -> None:
        """By hand: (2.0 − 0.85) / 2 mA = 575 Ω; with 560 Ω 2.05 mA at 2.0 V, 4.20 mA at 3.2 V."""
        answer = sized("base", "drive=2.0 to 3.2 V", "collector_current=20 mA")
        assert values(answer) == [(560.0, "E12")]
        assert answer.ends[0].startswith("4.2 mA at 3.2 V, 2.05 mA at 2 V")

    def test_the_pin_s_limit_is_compared_at_the_fresh_end(self) -> None:
        words = ("drive=2.0 to 3.2 V", "collector_current=20 mA")
        assert sized("base", *words, "pin_current_max=4.2 mA").notes == ()
        (note,) = sized("base", *words, "pin_current_max=4.1 mA").notes
        assert "4.2 mA, over its 4.1 mA" in note

    @pytest.mark.parametrize(
        ("words", "message"),
        [
            (("drive=0.8 V", "collector_current=1 mA"), "does not exceed"),
            (("drive=1.8 V", "collector_current=1 A", "pin_resistance=30 ohm"), "leave nothing"),
        ],
    )
    def test_what_cannot_be(self, words: tuple[str, ...], message: str) -> None:
        with pytest.raises(Unsizable, match=message):
            sized("base", *words)


class TestGate:
    def test_both_resistors(self) -> None:
        """By hand: 3.2 V / 20 mA = 160 Ω; 0.25 V / 1 µA = 250 kΩ.

        E12 above 160 Ω is 180 Ω (12 % off), E24 160 Ω; below 250 kΩ 220 kΩ (12 %), 240 kΩ.
        """
        answer = sized("gate", "drive=2.0 to 3.2 V", "peak_current=20 mA", "threshold=0.5 V")
        assert values(answer) == [(160.0, "E24"), (240e3, "E24")]
        assert answer.ends == ("while on, 240 kΩ draws 13.3 µA at 3.2 V, 8.33 µA at 2 V",)

    def test_a_pin_that_limits_itself_needs_no_series_resistor(self) -> None:
        answer = sized(
            "gate", "drive=3 V", "peak_current=100 mA", "threshold=1 V", "pin_resistance=40 ohm"
        )
        assert [chosen.name for chosen in answer.chosen] == ["gate-source resistor"]
        assert "no series resistor is needed" in answer.sums[0]

    def test_a_time_to_switch_off_decides_where_it_asks_for_less(self) -> None:
        """By hand: 100 µs / (1 nF · ln 3) = 91.0 kΩ, under 500 kΩ; E12 below it is 82 kΩ."""
        words = ("drive=3 V", "peak_current=20 mA", "threshold=1 V", "off_within=100 us")
        answer = sized("gate", *words, "capacitance=1 nF")
        assert values(answer)[1] == (82e3, "E12")
        with pytest.raises(Unsizable, match="off_within needs"):
            sized("gate", *words)

    def test_dirt_on_the_board_is_the_last_limit(self) -> None:
        answer = sized("gate", "drive=3 V", "peak_current=20 mA", "threshold=1 V", "leakage=1 nA")
        assert values(answer)[1] == (1e6, "E12")
        assert "dirt" in answer.sums[1]

    def test_a_threshold_above_the_drive_is_refused(self) -> None:
        with pytest.raises(Unsizable, match="only begins to conduct"):
            sized("gate", "drive=1.8 to 3 V", "peak_current=20 mA", "threshold=2 V")


class TestReservoir:
    def test_a_pulse_from_rest(self) -> None:
        """15 mA for 2 ms, 60 Ω at the end, 200 mV allowed.

        By hand: 15 mA · 60 Ω = 0.9 V; τ = −2 ms / ln(1 − 0.2 / 0.9) = 7.958 ms; τ / 60 Ω =
        132.6 µF; over 70 % 189 µF; E6 has 220 µF.
        """
        answer = sized(
            "reservoir", "current=15 mA", "duration=2 ms", "dip=200 mV",
            "cell_resistance=15 to 60 ohm",
        )  # fmt: skip
        assert answer.chosen[0].wanted == pytest.approx(132.6e-6 / 0.7, rel=1e-3)
        assert values(answer) == [(220e-6, "E6")]
        assert "900 mV" in answer.sums[0]

    def test_what_is_fitted_keeps_the_dip(self) -> None:
        """By hand: 154 µF: 0.9 V · (1 − e^(−2 ms / 9.24 ms)) = 175 mV, and 130 mV from 15 Ω."""
        answer = sized(
            "reservoir", "current=15 mA", "duration=2 ms", "dip=200 mV",
            "cell_resistance=15 to 60 ohm",
        )  # fmt: skip
        assert answer.ends[0].endswith("130 mV fresh (15 Ω), 175 mV at the end (60 Ω)")

    def test_none_is_needed_where_the_cell_carries_it(self) -> None:
        """By hand: 15 mA · 10 Ω = 150 mV."""
        answer = sized(
            "reservoir", "current=15 mA", "duration=2 ms", "dip=200 mV", "cell_resistance=10 ohm"
        )
        assert answer.chosen == ()
        assert "no reservoir is needed" in answer.sums[0]

    def test_a_long_pulse_is_said_to_be_too_long(self) -> None:
        answer = sized(
            "reservoir", "current=15 mA", "duration=1 s", "dip=200 mV", "cell_resistance=60 ohm"
        )
        assert "too long for a capacitor of small size" in said(answer)
        assert "nothing that fits" in answer.buy

    @pytest.mark.parametrize(
        ("words", "message"),
        [
            (("every=4 ms",), "the mean current alone dips the cell by 450 mV"),
            (("series_resistance=20 ohm",), "its own series resistance dips by 300 mV"),
            (("every=1 ms",), "never ends"),
        ],
    )
    def test_what_no_capacitor_does(self, words: tuple[str, ...], message: str) -> None:
        """By hand: 2 ms of 4 ms · 900 mV = 450 mV; 15 mA · 20 Ω = 300 mV."""
        with pytest.raises(Unsizable, match=message):
            sized(
                "reservoir", "current=15 mA", "duration=2 ms", "dip=200 mV",
                "cell_resistance=60 ohm", *words,
            )  # fmt: skip


class TestValues:
    def test_e12_counts_within_the_margin_and_e24_beyond(self) -> None:
        """By hand: 1.1 kΩ is 10 % over 1.0 kΩ; 1.12 is 6.7 % under 1.2; 1.35 is 10 % off both."""
        assert choose("R", 1090.0, "ohm").series == "E12"
        assert choose("R", 1350.0, "ohm", 0.10).series == "E24"

    def test_a_range_without_a_value_is_said(self) -> None:
        with pytest.raises(Unsizable, match="no value of E96"):
            choose_between("R", 1001.0, 1002.0, 1001.5, "ohm")
