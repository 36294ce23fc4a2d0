"""By which ways another source reaches a cell, and what they let flow into it.

Currents are worked out by hand from stated voltages and resistances with Ohm's law; the cell's
curve is flat so that one moment is as good as another. What passes without a value is taken as
0.05 ohm at either end (the view's own assumption): each sum allows 1 %.
"""

from __future__ import annotations

import pytest

from boardvet.circuit.backpaths import BackPath, BackPaths
from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.circuit.sources import Sources
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

FLAT = "voltage: 3 V at 0 % and 3 V at 100 %, resistance: 10 ohm"
BOARD = (
    "BT1 cell + VBAT - GND\nJ1 connector/inlet 1: VIN 2: GND\nU1 mcu VCC+ VBAT GND- GND\n"
    f"~ cell: {{part: BT1, type: CR2032, {FLAT}}}\n~ sources: {{J1: {{voltage: 5 V}}}}\n"
)


def way(lines: str) -> tuple[Circuit, BackPath | None]:
    circuit = circuit_of(lines + "\n" + BOARD)
    (cell,) = circuit.view(Cells).all
    (source,) = (s for s in circuit.view(Sources).all if s.reference == "J1")
    return circuit, circuit.view(BackPaths).easiest(source, cell)


def found(lines: str) -> BackPath:
    path = way(lines)[1]
    assert path is not None
    return path


def into(lines: str, volts: float = 5.0) -> float:
    circuit, path = way(lines)
    assert path is not None
    (cell,) = circuit.view(Cells).all
    return circuit.view(BackPaths).current_into(path, cell, volts)


def test_two_nets_that_nothing_joins_are_no_way() -> None:
    assert way("R1 1k VIN X\nC1 100n VIN VBAT")[1] is None


def test_ground_is_no_way() -> None:
    assert way("R1 1k VIN GND\nR2 1k GND VBAT")[1] is None


@pytest.mark.parametrize(
    "part",
    ["F1 fuse/1A VIN VBAT", "FB1 ferrite/600R VIN VBAT", "R1 1k VIN VBAT", "L1 10u VIN VBAT"],
)
def test_metal_conducts_backwards(part: str) -> None:
    path = found(part)

    assert path.parts == (part.split()[0],)
    assert path.blocking == ()
    assert not path.switched


def test_a_closed_switch_is_a_way_that_a_hand_can_open() -> None:
    assert found("SW1 switch VIN VBAT").switched


def test_a_diode_blocks_against_its_direction_only() -> None:
    assert found("D1 diode/1N4148 VIN VBAT").blocking == ()
    assert found("D1 diode/1N4148 VBAT VIN").blocking == ("D1",)


def test_the_way_that_is_blocked_least_counts_even_if_it_is_longer() -> None:
    path = found("D1 diode/1N4148 VBAT VIN\nR1 1k VIN A\nR2 1k A B\nR3 1k B VBAT")

    assert path.parts == ("R1", "R2", "R3")


def test_of_two_open_ways_the_shorter_counts() -> None:
    assert found("R1 1k VIN A\nR2 1k A VBAT\nR3 47k VIN VBAT").parts == ("R3",)


def test_the_current_through_a_resistor() -> None:
    """(5 V - 3 V) / (990 ohm + 10 ohm) = 2.0 mA."""
    assert into("R1 990 VIN VBAT") == pytest.approx(2.0e-3, rel=0.01)


def test_resistors_on_the_way_add_up() -> None:
    """(5 V - 3 V) / (490 + 500 + 10 ohm) = 2.0 mA."""
    assert into("R1 490 VIN A\nR2 500 A VBAT") == pytest.approx(2.0e-3, rel=0.01)


def test_metal_leaves_only_the_cell_s_own_resistance() -> None:
    """(5 V - 3 V) / 10 ohm = 200 mA."""
    assert into("F1 fuse/1A VIN VBAT") == pytest.approx(0.2, rel=0.015)


def test_a_diode_on_the_way_takes_its_drop() -> None:
    """With 1.95 V at 1 mA the diode leaves 5 - 3 - 1.95 = 50 mV for (40 + 10) ohm: 1 mA."""
    diode = "D1 diode VIN A = forward_voltage 1.95 V at 1 mA = series_resistance 0 ohm\n"

    assert into(diode + "R1 40 A VBAT") == pytest.approx(1.0e-3, rel=0.02)


def test_what_blocks_is_taken_as_shorted_so_that_one_failure_is_answered() -> None:
    """Diode shorted: (5 V - 3 V) / (990 + 10) ohm = 2.0 mA."""
    assert into("D1 diode/1N4148 A VIN\nR1 990 A VBAT") == pytest.approx(2.0e-3, rel=0.01)


def test_a_source_below_the_cell_lets_nothing_flow_into_it() -> None:
    assert into("R1 990 VIN VBAT", volts=2.0) == 0.0


def test_behind_a_regulator_its_output_drives() -> None:
    """Output 3.3 V: (3.3 V - 3 V) / (290 + 10) ohm = 1.0 mA; at its 5 V input it would be 6.7."""
    regulator = "U2 regulator IN VIN OUT A GND- GND = output 3.3 V = conversion linear\n"

    assert into(regulator + "R1 290 A VBAT") == pytest.approx(1.0e-3, rel=0.02)


def test_what_lies_before_a_regulator_in_regulation_does_not_count() -> None:
    """As above, 1.0 mA; the 700 ohm before it would leave 0.3 mA."""
    regulator = "U2 regulator IN B OUT A GND- GND = output 3.3 V = conversion linear\n"

    assert into("R2 700 VIN B\n" + regulator + "R1 290 A VBAT") == pytest.approx(1e-3, rel=0.02)


def test_a_resistor_without_a_value_is_a_missing_fact() -> None:
    with pytest.raises(MissingFact) as raised:
        into("R1 R VIN VBAT")

    assert (raised.value.of, raised.value.key) == ("R1", "value")


def test_a_stack_is_charged_against_the_sum_of_its_cells() -> None:
    """Two cells of 1.5 V and 5 ohm: (5 V - 3 V) / (990 + 10) ohm = 2.0 mA."""
    flat = "voltage: 1.5 V at 0 % and 1.5 V at 100 %, resistance: 5 ohm"
    circuit = circuit_of(
        "BT1 cell + MID - GND\nBT2 cell + VBAT - MID\nJ1 connector/inlet 1: VIN 2: GND\n"
        "U1 mcu VCC+ VBAT GND- GND\nR1 990 VIN VBAT\n"
        f"~ cell: {{part: [BT1, BT2], type: LR6, {flat}}}\n"
        "~ sources: {J1: {voltage: 5 V}}\n"
    )
    (upper,) = (c for c in circuit.view(Cells).all if c.reference == "BT2")
    (source,) = (s for s in circuit.view(Sources).all if s.reference == "J1")
    paths = circuit.view(BackPaths)
    path = paths.easiest(source, upper)

    assert path is not None
    assert paths.current_into(path, upper, 5.0) == pytest.approx(2.0e-3, rel=0.01)


def test_between_two_like_cells_the_fuller_feeds_the_emptier() -> None:
    """(3 V - 2 V) / (10 + 10) ohm = 50 mA."""
    slope = "voltage: 3 V at 0 % and 2 V at 100 %, resistance: 10 ohm"
    circuit = circuit_of(
        "BT1 cell + VBAT - GND\nU1 mcu VCC+ VBAT GND- GND\n"
        f"~ cell: {{part: BT1, type: CR2032, {slope}}}\n"
    )
    (cell,) = circuit.view(Cells).all

    assert circuit.view(BackPaths).current_between(cell, 0.0, 1.0) == pytest.approx(0.05)
    assert circuit.view(BackPaths).current_between(cell, 0.5, 0.5) == pytest.approx(0.0, abs=1e-9)
