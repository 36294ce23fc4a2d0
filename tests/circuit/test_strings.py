"""Lights with their way to supply and return."""

from __future__ import annotations

from boardvet.circuit.strings import EndKind, LedString, Strings
from boardvet.testing import circuit_of

BASE = "BT1 CR2032 VBAT GND\nU1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2* P2\n"


def strings(*lines: str) -> tuple[LedString, ...]:
    return circuit_of(BASE + "\n".join(lines)).view(Strings).all


def ends(*lines: str) -> tuple[EndKind | None, EndKind | None]:
    (string,) = strings(*lines)
    return (
        string.top.kind if string.top else None,
        string.bottom.kind if string.bottom else None,
    )


def test_a_string_runs_from_pin_to_ground_through_its_resistor() -> None:
    (string,) = strings("R1 330 P0 N1", "D1 led N1 GND")

    assert ends("R1 330 P0 N1", "D1 led N1 GND") == (EndKind.PIN, EndKind.GROUND)
    assert string.limiters == ("R1",)
    assert not string.bare
    assert [drive.high for drive in string.drives()] == [True]


def test_a_string_runs_from_a_rail_to_a_pin_that_pulls_low() -> None:
    (string,) = strings("R1 330 VBAT N1", "D1 led N1 P0")

    assert (string.top and string.top.kind) is EndKind.RAIL
    assert [(drive.node, drive.high) for drive in string.drives()] == [("P0", False)]


def test_an_open_drain_holds_low_only() -> None:
    assert ends("D1 led VBAT P2") == (EndKind.RAIL, EndKind.PIN)
    assert ends("D1 led P2 GND") == (None, EndKind.GROUND)


def test_a_connector_is_an_end_where_nothing_better_is() -> None:
    assert ends("J1 connector 1: IN 2: GND", "D1 led IN GND") == (
        EndKind.CONNECTOR,
        EndKind.GROUND,
    )


def test_an_open_side_has_no_end() -> None:
    assert ends("D1 led N9 GND") == (None, EndKind.GROUND)


def test_a_light_with_nothing_in_its_way_is_bare() -> None:
    (string,) = strings("D1 led P0 GND")

    assert string.bare
    assert [end.kind for end in string.ways()] == [EndKind.PIN, EndKind.GROUND]


def test_the_way_leads_through_transistors_and_names_them_as_to_be_on() -> None:
    (string,) = strings("Q1 fet 1:G P0 2:S GND 3:D N2 = channel n", "D1 led VBAT N2")

    assert {element.reference for element in string.switches()} == {"Q1"}


def test_a_stack_is_bare_in_all_its_lights() -> None:
    assert [string.bare for string in strings("D1 led P0 N1", "D2 led N1 GND")] == [True, True]


def test_a_way_back_over_the_light_s_own_other_end_is_none() -> None:
    pair = strings("R1 100 P0 N1", "D1 led N1 P1", "D2 led P1 N1")
    guarded = strings("R1 100 P0 N1", "D1 led N1 P1", "D2 diode P1 N1")

    assert [string.bare for string in (*pair, *guarded)] == [False, False, False]


def test_a_ghost_through_another_light_is_no_way() -> None:
    array = strings(
        "R1 100 P0 N0", "D1 led N0 P1", "D2 led P1 N0", "D3 led N3 N0", "R3 1k VBAT N3"
    )

    assert not any(string.bare for string in array)


def test_each_light_of_a_part_is_a_string_of_its_own() -> None:
    part = "D1 led 1:RA P0 2:GA P1 3:K GND"
    circuit = circuit_of(BASE + part)

    assert [s.label for s in circuit.view(Strings).of_light("D1")] == ["D1 (ra)", "D1 (ga)"]


def test_a_board_without_lights_has_no_strings() -> None:
    assert strings() == ()
