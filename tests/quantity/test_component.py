"""Value texts: what they say, by the standards and by the texts that real exports hold.

Sources of the tables: IEC 60062 (codes with the letter at the point, tolerance letters), from
memory; the EIA three-digit code from a capacitor maker's code key (103 = 10 nF, 105 = 1 µF,
107 = 100 µF, R50 = 0.5 pF there) and a marking note (153 = 15 k, 120 = 12 on a resistor's body);
the other texts are of the kinds found in public exports.
"""

from __future__ import annotations

import time

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.quantity import ComponentText, parse_component

IEC_60062_RESISTANCES = {
    "R47": 0.47,
    "0R1": 0.1,
    "4R7": 4.7,
    "470R": 470.0,
    "4K7": 4700.0,
    "4k7": 4700.0,
    "5k11": 5110.0,
    "47K": 47e3,
    "2M2": 2.2e6,
    "1G0": 1e9,
    "R010": 0.010,
    "10L": 0.010,
    "0R": 0.0,
    "0R005": 0.005,
    "R0005": 0.0005,
    "4\N{GREEK CAPITAL LETTER OMEGA}3": 4.3,
}
IEC_60062_CAPACITANCES = {
    "p33": 0.33e-12,
    "3p3": 3.3e-12,
    "n15": 0.15e-9,
    "4n7": 4.7e-9,
    "4u7": 4.7e-6,
    "4\N{MICRO SIGN}7": 4.7e-6,
    "1m0": 1e-3,
}


@pytest.mark.parametrize(("text", "ohms"), IEC_60062_RESISTANCES.items())
def test_resistance_code_of_iec_60062(text: str, ohms: float) -> None:
    said = parse_component(text, "R")
    assert (said.value, said.unit, said.rest) == (ohms, "ohm", "")


@pytest.mark.parametrize(("text", "farads"), IEC_60062_CAPACITANCES.items())
def test_capacitance_code_of_iec_60062(text: str, farads: float) -> None:
    said = parse_component(text, "C")
    assert (said.value, said.unit, said.rest) == (farads, "F", "")


@pytest.mark.parametrize(
    ("letter", "share"),
    [("F", 0.01), ("G", 0.02), ("J", 0.05), ("K", 0.1), ("M", 0.2), ("D", 0.005), ("B", 0.001)],
)
def test_tolerance_letter_behind_a_code(letter: str, share: float) -> None:
    said = parse_component(f"4K7{letter}", "R")
    assert (said.value, said.tolerance) == (4700.0, share)


def test_f_behind_kilo_is_one_per_cent_and_no_kilofarad() -> None:
    for text in ("10kF", "10k0F"):
        assert parse_component(text, "R")[:4] == (10e3, "ohm", None, 0.01)


def test_tolerance_letters_below_f_are_picofarads_on_a_capacitor() -> None:
    """C is ±0.25 pF: of 5 pF that is 5 %."""
    assert parse_component("5pC", "C").tolerance == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("text", "letter", "value"),
    [
        ("10 k\N{GREEK CAPITAL LETTER OMEGA}", "R", 10e3),
        ("10 k\N{OHM SIGN}", "R", 10e3),
        ("10kohm", "R", 10e3),
        ("10K ohm", "R", 10e3),
        ("2.2meg", "R", 2.2e6),
        ("4,7k", "R", 4700.0),
        ("1 000", "R", 1000.0),
        ("1M", "R", 1e6),
        ("1m", "R", 1e-3),
        ("100", "R", 100.0),
        ("4700", "R", 4700.0),
        ("0", "R", 0.0),
        ("0.1uF", "C", 1e-7),
        ("0.1 \N{MICRO SIGN}F", "C", 1e-7),
        ("0.1 \N{GREEK SMALL LETTER MU}F", "C", 1e-7),
        ("100n", "C", 1e-7),
        ("100NF", "C", 1e-7),
        ("1m", "C", 1e-3),
        ("1F", "C", 1.0),
        ("10uH", "L", 10e-6),
        ("3.9nH", "L", 3.9e-9),
        ("12MHz", "Y", 12e6),
        ("16mhz", "Y", 16e6),
        ("32.768k", "Y", 32768.0),
        ("32768kHz", "Y", 32.768e6),
        ("Q12MHz", "Y", 12e6),
    ],
)
def test_value_with_prefix(text: str, letter: str, value: float) -> None:
    said = parse_component(text, letter)
    assert (said.value, said.rest) == (value, "")


@pytest.mark.parametrize(
    ("code", "farads"), [("103", 10e-9), ("104", 100e-9), ("105", 1e-6), ("107", 100e-6)]
)
def test_three_digits_of_a_capacitor_are_the_eia_code(code: str, farads: float) -> None:
    assert parse_component(code, "C").value == farads


def test_three_digits_of_an_inductor_are_microhenries() -> None:
    assert parse_component("101", "L").value == 100e-6


@pytest.mark.parametrize("text", ["104", "153", "121", "1003", "1206"])
def test_digits_that_may_be_a_code_or_a_number_give_no_resistance(text: str) -> None:
    said = parse_component(text, "R")
    assert (said.value, said.rest) == (None, text)


@pytest.mark.parametrize(
    ("text", "letter"),
    [
        ("33pp", "C"),
        ("100", "C"),
        ("0.1", "C"),
        ("22", "C"),
        ("1M", "C"),
        ("10k", "C"),
        ("4,700", "R"),
        ("R", "R"),
        ("32,768", "Y"),
        ("26M6782", "R"),
        ("parts list page 4", "R"),
        ("1N4148", "D"),
        ("2N7002", ""),
        ("AP2112K-3.3", ""),
        ("UPZ2012E-601-2R0TF", "L"),
        ("GRM188R71C104KA01D", "C"),
        ("", "R"),
    ],
)
def test_text_without_clear_value_gives_none(text: str, letter: str) -> None:
    assert parse_component(text, letter) == ComponentText(rest=text)


def test_a_bare_prefix_of_an_unknown_part_is_no_value() -> None:
    assert parse_component("100n", "").value is None


@pytest.mark.parametrize(
    ("text", "letter", "said"),
    [
        ("22pF/50V", "C", {"value": 22e-12, "voltage": 50.0}),
        ("100u/36V", "C", {"value": 100e-6, "voltage": 36.0}),
        ("4n7 2kV", "C", {"value": 4.7e-9, "voltage": 2000.0}),
        ("22u 6V3", "C", {"value": 22e-6, "voltage": 6.3}),
        ("10uF-25V", "C", {"value": 10e-6, "voltage": 25.0}),
        ("2012/0.1uF", "C", {"value": 1e-7, "case": "0805"}),
        ("0402 104", "C", {"value": 1e-7, "case": "0402"}),
        ("10k 1%", "R", {"value": 10e3, "tolerance": 0.01}),
        ("10k \N{PLUS-MINUS SIGN}5%", "R", {"value": 10e3, "tolerance": 0.05}),
        ("+/-10% 1uF", "C", {"value": 1e-6, "tolerance": 0.1}),
        ("10mR 2W 1%", "R", {"value": 0.01, "power": 2.0, "tolerance": 0.01}),
        ("0R(board_mounted)", "R", {"value": 0.0, "rest": "board_mounted"}),
        ("NA(10k/R0603)", "R", {"value": 10e3, "case": "0603", "rest": "NA"}),
        ("NA(R0603)", "R", {"case": "0603", "rest": "NA"}),
        ("DNP 330", "R", {"value": 330.0, "rest": "DNP"}),
        ("470uF/10V/105C", "C", {"value": 470e-6, "voltage": 10.0, "rest": "105C"}),
        ("10u 2A", "L", {"value": 10e-6, "current": 2.0}),
        ("FB0805/600R/2A", "L", {"value": 600.0, "current": 2.0, "case": "0805"}),
        ("600R@100MHz", "L", {"value": 600.0, "frequency": 100e6}),
        ("2.2uH/DCR=72mR", "L", {"value": 2.2e-6, "series_resistance": 0.072}),
        ("3 A hold", "F", {"current": 3.0, "rest": "hold"}),
        ("Polyfuse 1.1A-hold 2.2A-trip", "F", {"current": 1.1, "rest": "Polyfuse 2.2A-trip"}),
        ("T500mA", "F", {"current": 0.5}),
        ("5V1", "D", {"voltage": 5.1}),
        ("2012/RED", "D", {"case": "0805", "rest": "RED"}),
        ("12MHz/20pF/10ppm", "Y", {"value": 12e6, "load_capacitance": 20e-12, "tolerance": 1e-5}),
    ],
)
def test_what_else_the_text_says(text: str, letter: str, said: dict[str, object]) -> None:
    found = {
        field: value
        for field, value in parse_component(text, letter)._asdict().items()
        if value not in (None, "") and field != "unit"
    }
    assert found == said


@pytest.mark.parametrize(
    ("text", "letter", "said"),
    [
        (
            "22uF/6.3V/20%/X5R/C0603",
            "C",
            ComponentText(22e-6, "F", 6.3, 0.2, "X5R", "0603"),
        ),
        ("1uF, 10V, X5R, 0402", "C", ComponentText(1e-6, "F", 10.0, None, "X5R", "0402")),
        (
            "1nF/50V/5%/NPO(COG)/C0603",
            "C",
            ComponentText(1e-9, "F", 50.0, 0.05, "C0G", "0603"),
        ),
        (
            "CC0805KRX7R9BB104 100nF 50V X7R",
            "C",
            ComponentText(1e-7, "F", 50.0, None, "X7R", rest="CC0805KRX7R9BB104"),
        ),
        (
            "15 Ohm, 1%, 1/16W, 0402",
            "R",
            ComponentText(15.0, "ohm", None, 0.01, None, "0402", 1 / 16),
        ),
    ],
)
def test_a_full_line(text: str, letter: str, said: ComponentText) -> None:
    assert parse_component(text, letter) == said


def test_the_letter_decides_what_a_marking_with_r_means() -> None:
    """On a resistor 4R7 is 4.7 Ω, on an inductor 4.7 µH."""
    assert parse_component("4R7", "R")[:2] == (4.7, "ohm")
    assert parse_component("4R7", "L")[:2] == (4.7e-6, "H")


def test_a_written_unit_is_believed_over_the_letter() -> None:
    assert parse_component("100nF", "R")[:2] == (1e-7, "F")


def test_a_comma_parts_tokens_where_it_is_no_decimal_comma() -> None:
    said = parse_component("0603,1%,10k", "R")
    assert (said.value, said.tolerance, said.case) == (10e3, 0.01, "0603")


@given(st.text(max_size=60), st.sampled_from(["R", "C", "L", "F", "D", "Y", ""]))
@example("٣k", "R")
@example("9" * 400, "R")
@example("1e999", "R")
@example("-_-_-10k-_", "R")
@example("DCR=DCR=DCR=", "L")
@example("1" + " 000" * 90, "R")
def test_no_text_raises(text: str, letter: str) -> None:
    said = parse_component(text, letter)
    assert said.value is None or said.value >= 0


@given(
    st.integers(1, 999),
    st.integers(1, 99),
    st.sampled_from([("k", "R"), ("M", "R"), ("p", "C"), ("n", "C"), ("u", "C"), ("u", "L")]),
)
def test_a_code_and_a_decimal_number_agree(whole: int, part: int, of: tuple[str, str]) -> None:
    prefix, letter = of
    code = parse_component(f"{whole}{prefix}{part}", letter)
    number = parse_component(f"{whole}.{part}{prefix}", letter)
    assert code == number
    assert code.value is not None


@given(st.integers(1, 999999), st.sampled_from(["k", "m", "M", "G"]))
def test_a_space_and_a_unit_change_nothing(number: int, prefix: str) -> None:
    short = parse_component(f"{number}{prefix}", "R")
    assert parse_component(f"{number} {prefix}ohm", "R") == short


def test_one_value_in_any_spelling_is_one_number() -> None:
    spellings = ["0.1uF", "100nF", "100n", "100000pF", "104", "0.1\N{MICRO SIGN}"]
    assert len({parse_component(text, "C").value for text in spellings}) == 1


def test_a_thousand_texts_take_little_of_the_start_up() -> None:
    """The bar is 15 ms on a quiet machine; six times that fails on any."""
    kinds = ("{}uF/6.3V/20%/X5R/C0603", "{}k 1%", "{}nF", "{}R", "{} Ohm, 1%, 1/16W, 0402")
    texts = [(kinds[n % 5].format(10 + n / 7), "RCL"[n % 3]) for n in range(1000)]
    start = time.process_time()
    for text, letter in texts:
        parse_component.__wrapped__(text, letter)
    assert time.process_time() - start < 0.090
