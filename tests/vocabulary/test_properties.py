"""The vocabulary: what can be stated, and that it can be stated as the texts say."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from boardvet.errors import QuantityError
from boardvet.intent import parse_intent
from boardvet.quantity.statement import Point, Span
from boardvet.vocabulary.entries import CELL, GROUPS, MODE, PAGE, PATTERN, SOURCE, WAIVER
from boardvet.vocabulary.forms import EVERY, Form, nearest, parse
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import (
    NET_PROPERTIES,
    PROPERTIES,
    known_property,
    missing_fact,
    parse_property,
)
from boardvet.vocabulary.roles import Role

TABLES = {
    "page": PAGE,
    "cell": CELL,
    "source": SOURCE,
    "pattern": PATTERN,
    "mode": MODE,
    "waiver": WAIVER,
    "part": PROPERTIES,
    "net": NET_PROPERTIES,
}
EVERY_PROPERTY = {
    f"{table}-{name}": of for table, keys in TABLES.items() for name, of in keys.items()
}

NAMED_IN_THE_DESIGN = (
    "supply", "brown_out", "sleep_current", "pin_current_max", "pin_resistance", "kind",
    "output", "dropout", "quiescent_current", "output_capacitor_min", "forward_voltage",
    "current_max", "wanted_current", "conversion", "efficiency", "thermal_resistance",
    "junction_max", "enable", "program_gain", "termination", "charge_voltage", "emission",
    "series_resistance", "load_capacitance", "tolerant_to", "fail_safe", "pull_inside",
    "bypass_inside", "voltage_rating", "dielectric", "power_rating", "gate_drive", "fitting",
    "programmed", "powers_board", "pull_ups", "current_peak", "charge_current_min", "clock",
    "pins",
)  # fmt: skip


def keys_of_all_tables() -> list[str]:
    return [*GROUPS, "closed", *(name for table in TABLES.values() for name in table)]


@pytest.mark.parametrize("name", NAMED_IN_THE_DESIGN)
def test_every_property_of_the_design_is_known(name: str) -> None:
    assert PROPERTIES[name].name == name


def test_the_properties_of_nets_are_those_of_the_design() -> None:
    wanted = ["bus", "speed", "capacitance", "pull", "dip_max", "driven_by", "leaves_board"]
    assert list(NET_PROPERTIES) == wanted


def test_no_key_is_a_yes_or_no_of_older_yaml() -> None:
    assert not {"on", "off", "yes", "no", "y", "n", "true", "false"} & {
        key.lower() for key in keys_of_all_tables()
    }


def test_no_key_is_a_word_that_the_json_schema_is_stripped_of() -> None:
    assert not {"title", "default"} & set(keys_of_all_tables())


def test_a_key_says_alone_whether_it_is_of_a_part_a_net_a_cell_or_the_page() -> None:
    named = [*PROPERTIES, *NET_PROPERTIES, *PAGE, *GROUPS, *(set(CELL) - {"part"})]
    assert len(named) == len(set(named))


@pytest.mark.parametrize(
    "name",
    [name for name, of in EVERY_PROPERTY.items() if not of.example.startswith(("[", "{"))],
)
def test_every_example_parses(name: str) -> None:
    of = EVERY_PROPERTY[name]
    value, unit = parse(of, of.example)
    assert value not in (None, "", ())
    assert unit == of.unit or of.share_too


@pytest.mark.parametrize("name", EVERY_PROPERTY)
def test_every_property_says_in_plain_words_what_it_is(name: str) -> None:
    of = EVERY_PROPERTY[name]
    assert len(of.meaning) > 6
    assert "_" not in of.meaning
    assert (of.form is Form.CHOICE) <= bool(of.choices)


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("supply", "1.8 to 5.5 V", Span(1.8, 5.5)),
        ("sleep_current", "0.6 uA", 0.6e-6),
        ("pin_resistance", "30 ohm at 3 V", (Point(30.0, 3.0),)),
        ("current_peak", "100 mA at 10 %", (Point(0.1, 0.1),)),
        ("efficiency", "85 %", (Point(0.85, None),)),
        ("thermal_resistance", "250 K/W", 250.0),
        ("junction_max", "125 degC", 125.0),
        ("output_capacitor_min", "1 uF", 1e-6),
        ("clock", "8 MHz", 8e6),
        ("fail_safe", "no", False),
        ("kind", "usb_connector", "usb connector"),
        ("kind", "LED", "led"),
        ("enable", "must float", "must_float"),
        ("pull_ups", ["SDA", "SCL"], ("SDA", "SCL")),
        ("pull_inside", "yes", (EVERY,)),
        ("pull_inside", "no", ()),
        ("pins", {"3": "enable", "7": "no connect"}, {"3": Role.ENABLE, "7": Role.NO_CONNECT}),
        ("dielectric", "X7R", "X7R"),
    ],
)
def test_a_property_is_read_to_si_units(key: str, text: str, value: object) -> None:
    assert (
        parse_property(key, text) == pytest.approx(value)
        if isinstance(value, float)
        else parse_property(key, text) == value
    )


def test_a_percentage_and_a_current_both_say_where_charging_ends() -> None:
    """From a data sheet one reads "7.5 % of the set current" as often as "10 mA"."""
    share = known_property("termination", "7.5 %", "facts x")
    current = known_property("termination", "10 mA", "facts x")
    assert (share.value, share.unit) == (pytest.approx(0.075), "")
    assert (current.value, current.unit) == (pytest.approx(0.010), "A")


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("brown_out", "-1 V"),
        ("brown_out", "1e999 V"),
        ("brown_out", "soon"),
        ("supply", ""),
        ("supply", "5.5 to 1.8 V"),
        ("kind", "gizmo"),
        ("kind", "unknown"),
        ("pins", "3"),
        ("pins", {"3": "wiggle"}),
        ("pull_ups", [" "]),
        ("brown_out", "1" + "0" * 400 + " V"),
        ("fail_safe", "perhaps"),
        ("tolerance", "120 %"),
        ("pin_resistance", "30 ohm at -3 V"),
        ("pin_resistance", "-30 ohm at 3 V"),
        ("pin_resistance", "30 ohm at 3 V and 40 ohm at 3 V"),
        ("pin_resistance", "30 ohm and 40 ohm at 3 V"),
        ("current_peak", "100 mA at 130 %"),
        ("output", ["3 V"]),
    ],
)
def test_what_cannot_be_is_refused_with_an_example(key: str, text: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_property(key, text)
    assert caught.value.do


def test_the_text_of_a_missing_fact_can_be_pasted() -> None:
    missing = missing_fact("D3", "forward_voltage")
    assert missing.missing == "forward voltage of D3 is not known"
    assert missing.how == "parts: {D3: {forward_voltage: 2.0 V at 10 mA}}"


@pytest.mark.parametrize(
    "key", [*PROPERTIES, *NET_PROPERTIES, *PAGE, *GROUPS, *(set(CELL) - {"part"})]
)
def test_what_is_pasted_is_read(key: str) -> None:
    missing = missing_fact("BT1", key)
    assert "{" not in missing.missing
    parse_intent(missing.how)


def test_a_missing_property_of_a_cell_is_pasted_under_the_cell() -> None:
    assert missing_fact("BT1", "capacity").how == "cell: {part: BT1, capacity: 620 mAh}"


def test_an_unknown_key_has_no_missing_text() -> None:
    with pytest.raises(KeyError):
        missing_fact("U1", "smell")


@given(
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Co", "Zl", "Zp"]), min_size=1)
    .map(str.strip)
    .filter(lambda name: name and "\ufeff" not in name)
)
@example("Net-(D1-A)")
@example("/bus/SDA{slow}")
@example("NO")
@example("a: b #c, d")
@example('"\\')
@example("~{RESET}")
def test_what_is_pasted_for_any_net_is_read_as_that_net(name: str) -> None:
    intent = parse_intent(missing_fact(name, "pull").how)
    assert list(intent.nets) == [name]


def test_the_nearest_word_is_blind_to_case() -> None:
    assert nearest("Forward_Voltge", ["output", "forward_voltage"]) == "forward_voltage"
    assert nearest("zzz", ["output"]) == ""


def test_a_kind_that_is_stated_is_a_kind() -> None:
    for word in PROPERTIES["kind"].choices:
        assert Kind(word) is not Kind.UNKNOWN
