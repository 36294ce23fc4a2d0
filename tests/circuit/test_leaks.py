"""Ways on which current creeps: which are seen, and how much flows."""

from __future__ import annotations

import pytest

from boardvet.circuit.leaks import Leak, LeakKind, Leaks
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/x + CELL - GND\n"
    "~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 2 V at 100 %, resistance: 15 ohm}\n"
)
SOURCE = "J1 connector/in 1: VIN 2: GND\n~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
LOAD = "U1 mcu VCC+ VCC GND- GND\nR9 100k VIN GND\n"


def leaks(lines: str, cell: str = CELL, *, assume_nothing: bool = False) -> list[Leak]:
    circuit = circuit_of(f"{cell}{SOURCE}{LOAD}{lines}", assume_nothing=assume_nothing)
    return list(Leak.on(circuit))


def current(lines: str, where: LeakKind, *, assume_nothing: bool = False) -> float:
    circuit = circuit_of(f"{CELL}{SOURCE}{LOAD}{lines}", assume_nothing=assume_nothing)
    (leak,) = (one for one in Leak.on(circuit) if one.where is where)
    return circuit.view(Leaks).current(leak).value


BOTH = "D1 diode/x CELL VCC{one}\nD2 diode/x VIN VCC{two}"
BLOCK = " = reverse_current 2 uA at 10 V and 1 uA at 5 V"


def test_two_diodes_onto_one_rail_leak_into_the_cell_and_into_the_unplugged_rail() -> None:
    found = leaks(BOTH.format(one="", two=""))

    assert [(leak.where, leak.through, leak.into) for leak in found] == [
        (LeakKind.CELL, ("D1",), "BT1"),
        (LeakKind.RAIL, ("D2",), "VIN"),
    ]
    assert "J1" in found[0].state.sources
    assert "J1" not in found[1].state.sources


def test_a_rechargeable_cell_is_not_leaked_into() -> None:
    lipo = CELL.replace("CR2032", "LiPo")

    assert [leak.where for leak in leaks(BOTH.format(one="", two=""), lipo)] == [LeakKind.RAIL]


def test_a_transistor_that_blocks_is_no_leak_and_a_diode_in_its_place_is() -> None:
    path = "Q1 fet/p 1:G VIN 2:S VCC 3:D CELL = channel p\nF1 fuse/1A VIN VCC"

    assert LeakKind.CELL not in [leak.where for leak in leaks(path)]
    assert LeakKind.CELL in [
        leak.where for leak in leaks("D1 diode/x CELL VCC\nF1 fuse/1A VIN VCC")
    ]


def test_nothing_creeps_into_a_rail_on_which_nothing_hangs() -> None:
    bare = LOAD.replace("R9 100k VIN GND\n", "")
    circuit = circuit_of(f"{CELL}{SOURCE}{bare}{BOTH.format(one='', two='')}")

    assert [leak.where for leak in Leak.on(circuit)] == [LeakKind.CELL]


def test_a_point_counts_for_all_voltages_up_to_its_own() -> None:
    """Across the diode into the cell lie 5 V, less a drop, less 2 V at the end: under 5 V."""
    one = BOTH.format(one=BLOCK, two="")

    assert current(one, LeakKind.CELL) == pytest.approx(1e-6)
    above = BOTH.format(one=" = reverse_current 2 uA at 10 V and 1 uA at 1 V", two="")
    assert current(above, LeakKind.CELL) == pytest.approx(2e-6)


def test_beyond_every_point_the_largest_counts() -> None:
    low = BOTH.format(one=" = reverse_current 3 uA at 1 V and 1 uA at 0.5 V", two="")

    assert current(low, LeakKind.CELL) == pytest.approx(3e-6)


def test_a_source_that_no_mode_names_can_be_plugged_in_all_the_same() -> None:
    modes = "~ modes:\n~   alone: {share: 24 h per day}\n"

    assert current(f"{modes}{BOTH.format(one=BLOCK, two='')}", LeakKind.CELL) == (
        pytest.approx(1e-6)
    )


def test_two_sources_behind_one_diode_are_one_leak() -> None:
    circuit = circuit_of(
        f"{CELL}J1 connector/in 1: VIN 2: GND\nJ2 connector/in 1: AUX 2: GND\n"
        "~ sources: {J1: {net: VIN, voltage: 5 V}, J2: {net: AUX, voltage: 5 V}}\n"
        f"{LOAD}D1 diode/x CELL VCC\nF1 fuse/1A VIN VCC\nF2 fuse/1A AUX VCC"
    )

    assert [leak.through for leak in Leak.on(circuit)] == [("D1",)]


def test_a_clamp_from_a_signal_to_the_rail_is_no_way_into_a_rail() -> None:
    assert not leaks("D4 diode/x SIG VCC\nR4 10k SIG GND\nD1 diode/x CELL VCC")


def test_behind_a_large_resistor_the_source_drives_the_leak() -> None:
    """The way is no feed (100 kΩ), and yet 5 V stand behind it: 5 V - 2 V across the diode."""
    way = f"D1 diode/x CELL MID{BLOCK}\nR5 100k VIN MID\nF3 fuse/1A CELL VCC"

    assert current(way, LeakKind.CELL) == pytest.approx(1e-6)


def test_it_doubles_every_ten_kelvin_up_to_the_hottest_air() -> None:
    """By hand: from 25 to 45 °C two doublings."""
    one = BOTH.format(one=BLOCK, two="")

    hot = current(f"~ temperature: 0 to 45 degC\n{one}", LeakKind.CELL)
    assert hot == pytest.approx(4e-6)


def test_in_a_row_the_tightest_diode_counts() -> None:
    row = (
        "D1 diode/x CELL A = reverse_current 5 uA at 10 V\n"
        "D3 diode/x A VCC = reverse_current 30 nA at 10 V\nD2 diode/x VIN VCC"
    )

    assert current(row, LeakKind.CELL) == pytest.approx(30e-9)


@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [("BAT54", 0.4e-6, 0.6e-6), ("SS14", 5e-6, 50e-6), ("1N4148", 1e-9, 100e-9)],
)
def test_a_type_brings_its_reverse_current(kind: str, least: float, most: float) -> None:
    """BAT54 0.5 µA typical (Diotech); 1 A Schottky types 5 to 50 µA, 1N4148 25 nA: from memory."""
    both = f"D1 diode/{kind} CELL VCC\nD2 diode/{kind} VIN VCC"

    assert least < current(both, LeakKind.CELL) < most
    assert least < current(both, LeakKind.RAIL) < most


def test_no_default_is_used_where_nothing_may_be_assumed() -> None:
    both = BOTH.format(one="", two=" = forward_voltage 0.3 V at 1 mA")
    with pytest.raises(MissingFact) as caught:
        current(both, LeakKind.RAIL, assume_nothing=True)

    assert caught.value.key == "reverse_current"


def test_a_source_below_the_cell_lets_nothing_creep_into_it() -> None:
    low = SOURCE.replace("5 V", "1.5 V")
    circuit = circuit_of(f"{CELL}{low}{LOAD}D1 diode/x CELL A\nR8 1k A VIN\nR7 1k A GND")
    found = [leak for leak in Leak.on(circuit) if leak.where is LeakKind.CELL]

    assert all(circuit.view(Leaks).current(leak).value == 0 for leak in found)


def test_a_tap_before_the_switch_leaks_into_the_part_behind_it() -> None:
    """By hand: (3 V − 0.3 to 0.6 V) / 100 kΩ = 24 to 27 µA."""
    tap = "SW1 switch/slide CELL VSW\nU2 mcu VCC+ VSW GND- GND PB0 TAP\nR1 100k CELL TAP"
    found = [leak for leak in leaks(tap) if leak.where is LeakKind.PART]

    assert [(leak.through, leak.into) for leak in found] == [(("R1",), "U2")]
    assert 24e-6 < current(tap, LeakKind.PART) < 27e-6
