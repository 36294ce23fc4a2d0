"""What the solver is told of an island: values, rows, what is held, drawn, left out. By hand."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
from tests.circuit.at_work import MCU, cell, element
from tests.circuit.decks import BLUE, RED

from boardvet.circuit.elements import ElementKind
from boardvet.circuit.handle import Circuit
from boardvet.circuit.island import Conditions, Drive, IslandSolution, Load, Pass
from boardvet.circuit.islands import Islands
from boardvet.circuit.states import States
from boardvet.errors import MissingFact
from boardvet.physics.elements import Floats, Indices
from boardvet.testing import circuit_of

CELL = cell((3.0, 2.0), (10.0, 10.0))
"""3 V behind 10 Ω, half used 2.5 V."""


def island(
    text: str,
    *seeds: str,
    used: tuple[float, ...] = (0.0,),
    numbers: dict[str, int] | None = None,
    **how: object,
) -> tuple[Circuit, IslandSolution]:
    circuit = circuit_of(text)
    conditions = Conditions(circuit.view(States).main, **how)  # type: ignore[arg-type]
    return circuit, circuit.view(Islands).build(conditions, seeds, used, numbers).solved()


def solved(text: str, *seeds: str, **how: object) -> IslandSolution:
    return island(text, *seeds, **how)[1]  # type: ignore[arg-type]


# Loads


def test_a_load_draws_its_current_from_its_node() -> None:
    """10 mA through 10 Ω and 90 Ω."""
    found = solved(CELL + "R1 90 VBAT MID", "MID", loads=(Load("U1", "MID", 10e-3),))

    assert found.voltage("MID")[0] == pytest.approx(2.0)
    assert found.drawn("U1")[0] == pytest.approx(10e-3)


def test_a_load_may_differ_from_row_to_row() -> None:
    """Fresh with 10 mA, half used with 20 mA."""
    load = Load("U1", "VBAT", np.array([10e-3, 20e-3]))
    found = solved(CELL + "R1 90 VBAT MID", "VBAT", used=(0.0, 0.5), loads=(load,))

    assert found.voltage("VBAT") == pytest.approx((2.9, 2.3))


def test_loads_of_several_parts_on_one_node_add_up() -> None:
    loads = Load("U1", "VBAT", 10e-3), Load("U2", "VBAT", 5e-3)
    found = solved(CELL, "VBAT", loads=loads)

    assert found.delivered("BT1")[0] == pytest.approx(15e-3)


def test_a_load_elsewhere_is_left_out() -> None:
    found = solved(CELL + "R1 300 ELSE GND", "VBAT", loads=(Load("U1", "ELSE", 1e-3),))

    assert found.island.loads == {}
    assert found.drawn("U1") == (0.0,)


# What is held


def test_a_node_that_is_held_parts_the_network() -> None:
    """2 V over 200 Ω; the cell on the other side is not reached."""
    board = CELL + "R1 90 VBAT RAIL\nR2 100 RAIL MID\nR3 100 MID GND"
    found = solved(board, "MID", hold={"RAIL": 2.0})

    assert found.voltage("MID")[0] == pytest.approx(1.0)
    assert found.delivered("RAIL")[0] == pytest.approx(10e-3)
    assert "VBAT" not in found.island.reached


def test_what_lies_across_a_held_node_is_left_out_unless_it_is_asked_for() -> None:
    circuit, without = island(CELL + "R1 100 RAIL GND", "RAIL", hold={"RAIL": 2.0})
    across = frozenset({element(circuit, "R1", ElementKind.RESISTOR)})
    asked = solved(CELL + "R1 100 RAIL GND", "RAIL", hold={"RAIL": 2.0}, across=across)

    assert without.delivered("RAIL")[0] == pytest.approx(0.0, abs=1e-9)
    assert asked.delivered("RAIL")[0] == pytest.approx(20e-3)


REGULATED = "U2 regulator VIN+ VBAT GND- GND VOUT> VREG = output 2 V = dropout 0.1 V at 50 mA\n"


def test_the_outputs_of_regulators_are_held_where_nobody_says_what_is() -> None:
    board = CELL + REGULATED + "R1 100 VREG MID\nR2 100 MID GND"

    assert solved(board, "MID").voltage("MID")[0] == pytest.approx(1.0)


def test_they_are_not_where_somebody_does() -> None:
    """Nothing holds VREG then, and nothing feeds it."""
    board = CELL + REGULATED + "R1 100 VREG MID\nR2 100 MID GND"

    assert solved(board, "MID", hold={}).voltage("MID")[0] == pytest.approx(0.0, abs=1e-6)


def test_a_regulator_out_of_regulation_is_a_resistance() -> None:
    """3 V over 10 Ω, 40 Ω and 250 Ω."""
    board = CELL + REGULATED + "R1 250 VREG GND"
    passes = (Pass("U2", "VBAT", "VREG", 40.0),)
    found = solved(board, "VBAT", hold={}, passes=passes)

    assert found.voltage("VREG")[0] == pytest.approx(2.5)
    assert found.delivered("BT1")[0] == pytest.approx(10e-3)


def test_a_resistance_of_nothing_is_next_to_nothing() -> None:
    """3 V over 10 Ω and 290 Ω."""
    passes = (Pass("U2", "VBAT", "VREG", 0.0),)
    found = solved(CELL + REGULATED + "R1 290 VREG GND", "VBAT", hold={}, passes=passes)

    assert found.delivered("BT1")[0] == pytest.approx(10e-3, rel=1e-4)


# What carries


def test_a_switch_carries_only_in_states_in_which_it_is_closed() -> None:
    circuit = circuit_of(CELL + "SW1 switch VBAT ON\nR1 290 ON GND")
    islands = circuit.view(Islands)
    on, off = (
        islands.build(Conditions(state), ["VBAT"]).solved().delivered("BT1")[0]
        for state in circuit.view(States).all[:2]
    )

    assert on == pytest.approx(10e-3, rel=1e-3)
    assert off == pytest.approx(0.0, abs=1e-9)


SWITCHED = (
    CELL
    + MCU
    + "Q1 fet/p 1:G P0 2:S VBAT 3:D RAIL = channel p = on_resistance 5 ohm at 3 V\n"
    + "R9 100k P0 VBAT\nU3 sensor/XY VCC+ RAIL GND- GND\nR1 285 RAIL GND\n"
)


def test_a_channel_of_the_supply_path_carries_unless_it_is_off() -> None:
    """3 V over 10 Ω, 5 Ω and 285 Ω."""
    circuit, on = island(SWITCHED, "RAIL")
    off = frozenset({element(circuit, "Q1", ElementKind.CHANNEL)})

    assert on.delivered("BT1")[0] == pytest.approx(10e-3)
    assert solved(SWITCHED, "RAIL", off=off).voltage("RAIL")[0] == pytest.approx(0.0, abs=1e-3)


def test_a_channel_of_unknown_resistance_is_assumed_and_said() -> None:
    """The kind's default: 0.1 Ω, an assumption. 3 V over 10 Ω, 0.1 Ω and 285 Ω."""
    circuit = circuit_of(SWITCHED.replace(" = on_resistance 5 ohm at 3 V", ""))
    with circuit.noting() as noted:
        found = circuit.view(Islands).build(Conditions(circuit.view(States).main), ["RAIL"])

    assert found.solved().delivered("BT1")[0] == pytest.approx(3.0 / 295.1, rel=1e-4)
    assert noted["on_resistance of Q1"].source.startswith("assumed")


def test_a_driven_pin_pulls_to_its_own_supply() -> None:
    """2 V of VREG over 30 Ω and 170 Ω, whatever the cell has."""
    mcu = "U1 mcu VCC+ VREG GND- GND PB0 P0 = pin_resistance 30 ohm\n"
    drive = Drive("U1", "P0", True)
    found = solved(CELL + REGULATED + mcu + "R1 170 P0 GND", "P0", drives=(drive,))

    assert found.through(drive)[0] == pytest.approx(10e-3)


def test_a_pin_that_is_not_driven_floats() -> None:
    """R1 and R2 alone divide: no pin pulls at MID."""
    board = CELL + MCU + "R1 100 VBAT P0\nR2 190 P0 GND"

    assert solved(board, "P0").delivered("BT1")[0] == pytest.approx(10e-3)


# What is left out


def test_a_part_that_leads_nowhere_asks_for_no_value() -> None:
    """The value of R2 is not known, and does not matter."""
    found = solved(CELL + "R1 290 VBAT GND\nR2 R VBAT LOOSE", "VBAT")

    assert found.delivered("BT1")[0] == pytest.approx(10e-3)


def test_a_chain_that_leads_nowhere_asks_for_no_value() -> None:
    found = solved(CELL + "R1 290 VBAT GND\nR2 R VBAT A\nR3 R A B", "VBAT")

    assert [each.reference for each in found.island.resistors] == ["R1"]


def test_a_part_that_leads_to_a_load_counts() -> None:
    board = CELL + "R1 290 VBAT GND\nR2 R VBAT LOOSE"
    with pytest.raises(MissingFact) as raised:
        solved(board, "VBAT", loads=(Load("U1", "LOOSE", 1e-3),))

    assert (raised.value.of, raised.value.key) == ("R2", "value")


def test_a_driven_pin_of_unknown_resistance_is_asked_for() -> None:
    mcu = "U1 mcu VCC+ VBAT GND- GND PB0 P0\n"
    circuit = circuit_of(CELL + mcu + "R1 170 P0 GND", assume_nothing=True)
    conditions = Conditions(circuit.view(States).main, (Drive("U1", "P0", True),))
    with pytest.raises(MissingFact) as raised:
        circuit.view(Islands).build(conditions, ["P0"])

    assert (raised.value.of, raised.value.key) == ("U1", "pin_resistance")


# Rows


def test_each_share_of_charge_is_a_row() -> None:
    """3 V, 2.5 V and 2 V over 300 Ω."""
    found = solved(CELL + "R1 290 VBAT GND", "VBAT", used=(0.0, 0.5, 1.0))

    assert found.delivered("BT1") == pytest.approx((3 / 300, 2.5 / 300, 2 / 300))


def test_a_held_node_is_the_same_in_each_row() -> None:
    board = CELL + "R1 100 VBAT RAIL"
    found = solved(board, "VBAT", used=(0.0, 0.5), hold={"RAIL": 2.0})

    assert found.voltage("RAIL") == pytest.approx((2.0, 2.0))
    assert found.delivered("BT1") == pytest.approx((1.0 / 110, 0.5 / 110))


PLAIN = (
    "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3 V at 0 % and 2 V at 100 %}\n"
)


def test_the_resistance_of_the_cell_is_that_of_its_pulse() -> None:
    """10 % less in the first millisecond: J. Ganssle, "Internal resistance of coin cells"."""
    found = solved(
        PLAIN,
        "VBAT",
        used=(0.0, 0.0),
        loads=(Load("U1", "VBAT", 1e-3),),
        duration=np.array([1e-3, math.inf]),
    )
    short, steady = (3.0 - volts for volts in found.voltage("VBAT"))

    assert short == pytest.approx(0.9 * steady)


def test_the_resistance_of_the_cell_is_that_of_its_temperature() -> None:
    """1.4 times at 0 °C: a maker's measurement on ML2032 cells (zufek.com)."""
    load = (Load("U1", "VBAT", 1e-3),)
    warm = 3.0 - solved(PLAIN, "VBAT", loads=load).voltage("VBAT")[0]
    cold = 3.0 - solved(PLAIN, "VBAT", loads=load, temperature=0.0).voltage("VBAT")[0]

    assert cold == pytest.approx(1.4 * warm)


@pytest.mark.parametrize(("facts", "per_kelvin"), [(RED, -2e-3), (BLUE, -3e-3)])
def test_a_warmer_light_drops_less(facts: str, per_kelvin: float) -> None:
    """−2 mV/K, InGaN −3 (assumptions of the project): 20 K more shift 40 or 60 mV, at the same
    current to first order. Behind 10 kΩ the current hardly changes."""
    board = cell((5.0, 5.0), (0.01, 0.01)) + "R1 10k VBAT N0\nD1 led N0 GND" + facts
    warm, hot = (solved(board, "N0", temperature=t).voltage("N0")[0] for t in (25.0, 45.0))

    assert hot - warm == pytest.approx(20 * per_kelvin, rel=0.05)


def test_for_damage_the_hot_end_counts() -> None:
    board = cell((5.0, 5.0), (0.01, 0.01)) + "R1 10k VBAT N0\nD1 led N0 GND" + RED
    hot = board + "\n~ temperature: 0 to 45 degC"

    typical = solved(hot, "N0").voltage("N0")[0]
    assert typical == pytest.approx(solved(board, "N0").voltage("N0")[0])
    assert solved(hot, "N0", highest=True).voltage("N0")[0] < typical - 0.03


# Boards that differ


class Doubled(NamedTuple):
    """A spread of two rows: typical, and everything twice, lights 0.1 V more."""

    rows: tuple[int, ...] = (0, 1)

    def of(self, rows: Indices) -> Doubled:
        return Doubled(tuple(self.rows[row] for row in rows))

    def tiled(self, count: int) -> Doubled:
        return Doubled(self.rows * count)

    def _factor(self) -> Floats:
        return np.array([1.0 + row for row in self.rows])

    def resistance(self, reference: str) -> Floats:
        return self._factor() if reference != "R9" else np.ones(len(self.rows))

    def pin_resistance(self, reference: str) -> Floats:
        return self._factor()

    def forward_shift(self, reference: str) -> Floats:
        return np.array([0.1 * row for row in self.rows])

    def cell_resistance(self, reference: str) -> Floats:
        return self._factor()


def test_a_spread_multiplies_resistances_row_by_row() -> None:
    """3 V over 10 Ω, 90 Ω and 200 Ω, then over twice of each."""
    board = CELL + "R1 90 VBAT MID\nR2 200 MID GND"
    found = solved(board, "MID", used=(0.0, 0.0), spread=Doubled())

    assert found.delivered("BT1") == pytest.approx((10e-3, 5e-3))


def test_a_spread_multiplies_each_part_by_its_own() -> None:
    """R9 stays: 3 V over 20 Ω, 180 Ω and 200 Ω."""
    board = CELL + "R1 90 VBAT MID\nR9 200 MID GND"
    found = solved(board, "MID", used=(0.0, 0.0), spread=Doubled())

    assert found.delivered("BT1") == pytest.approx((10e-3, 7.5e-3))


def test_a_spread_multiplies_the_resistance_of_pins() -> None:
    """3 V over 10 Ω, 30 Ω and 260 Ω, then over 20 Ω, 60 Ω and 260 Ω."""
    drive = Drive("U1", "P0", True)
    found = solved(
        CELL + MCU + "R9 260 P0 GND", "P0", used=(0.0, 0.0), drives=(drive,), spread=Doubled()
    )

    assert found.through(drive) == pytest.approx((10e-3, 3 / 340))


def test_a_spread_shifts_forward_voltages() -> None:
    """0.1 V more at the same current: behind 10 kΩ the current hardly changes."""
    board = cell((5.0, 5.0), (0.01, 0.01)) + "R9 10k VBAT N0\nD1 led N0 GND" + RED
    found = solved(board, "N0", used=(0.0, 0.0), spread=Doubled())
    typical, higher = found.voltage("N0")

    assert higher - typical == pytest.approx(0.1, rel=0.03)


# Numbers of nodes


def test_several_islands_can_count_their_nodes_alike() -> None:
    numbers: dict[str, int] = {}
    board = CELL + "R1 100 VBAT A\nR2 190 A GND\nR3 100 X Y\nR4 100 Y GND"
    first = solved(board, "A", numbers=numbers)
    second = solved(board, "Y", numbers=numbers, hold={"X": 2.0})

    assert {**first.nodes, **second.nodes} == numbers
    assert not set(first.nodes.values()) & set(second.nodes.values())
    assert second.voltage("Y")[0] == pytest.approx(1.0)


def test_what_went_in_is_told_with_its_source() -> None:
    found = solved(CELL + "R1 290 VBAT GND", "VBAT")

    assert dict(found.because)["voltage of BT1"].startswith("intent")
    assert dict(found.because)["resistance of R1"].startswith("netlist")
