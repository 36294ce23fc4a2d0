"""Islands: what current can reach, and what the solver is told. Sums by hand, Ohm's law."""

from __future__ import annotations

import pytest

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.islands import Drive, Islands
from boardvet.circuit.states import States
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

CELL = (
    "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, "
    "voltage: 3 V at 0 % and 2 V at 100 %, resistance: 10 ohm}\n"
)
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 = pin_resistance 40 ohm\n"


def island(text: str) -> tuple[Circuit, Islands]:
    circuit = circuit_of(text)
    return circuit, circuit.view(Islands)


def test_a_divider_on_a_cell_is_that_of_ohm_s_law() -> None:
    """3 V over 10 Ω, 90 Ω and 200 Ω: 10 mA, so 2 V at the middle."""
    circuit, islands = island(CELL + "R1 90 VBAT MID\nR2 200 MID GND")
    solved = islands.solve(circuit.view(States).main, ["MID"])

    assert solved.voltage("MID")[0] == pytest.approx(2.0)
    assert solved.voltage("VBAT")[0] == pytest.approx(2.9)
    assert solved.delivered("BT1")[0] == pytest.approx(10e-3)


def test_it_is_solved_at_every_share_of_charge_that_is_asked_for() -> None:
    """Half used the cell has 2.5 V: 2.5 V / 300 Ω."""
    circuit, islands = island(CELL + "R1 90 VBAT MID\nR2 200 MID GND")
    solved = islands.solve(circuit.view(States).main, ["MID"], used=(0.0, 0.5, 1.0))

    assert solved.delivered("BT1") == pytest.approx((3 / 300, 2.5 / 300, 2 / 300))


def test_a_driven_pin_has_its_own_resistance_from_its_supply() -> None:
    """3 V over 10 Ω, 40 Ω and 250 Ω is 10 mA."""
    circuit, islands = island(CELL + MCU + "R1 250 P0 GND")
    drive = Drive("U1", "P0", True)
    solved = islands.solve(circuit.view(States).main, ["P0"], [drive])

    assert solved.through(drive)[0] == pytest.approx(10e-3)
    assert solved.voltage("P0")[0] == pytest.approx(2.5)


def test_a_pin_pulled_low_sinks() -> None:
    """3 V over 10 Ω, 250 Ω and 40 Ω is 10 mA."""
    circuit, islands = island(CELL + MCU + "R1 250 VBAT P0")
    drive = Drive("U1", "P0", False)
    solved = islands.solve(circuit.view(States).main, ["P0"], [drive])

    assert solved.through(drive)[0] == pytest.approx(10e-3)


def test_an_open_switch_parts_and_a_closed_one_joins() -> None:
    circuit, islands = island(CELL + "SW1 switch VBAT ON\nR1 290 ON GND")
    on, off = circuit.view(States).all[:2]

    assert islands.solve(on, ["ON"]).delivered("BT1")[0] == pytest.approx(10e-3, rel=1e-3)
    assert islands.solve(off, ["ON"]).voltage("ON")[0] == pytest.approx(0.0, abs=1e-6)


def test_a_channel_carries_only_when_it_is_told_to_be_on() -> None:
    """On: 3 V over 10 Ω, 280 Ω and 10 Ω of the channel."""
    text = (
        CELL + MCU + "R1 280 VBAT N1\nQ1 fet 1:G P0 2:S GND 3:D N1 = channel n "
        "= on_resistance 10 ohm at 3 V"
    )
    circuit, islands = island(text)
    (channel,) = circuit.view(Elements).of_kind(ElementKind.CHANNEL)
    main = circuit.view(States).main

    on = islands.solve(main, ["N1"], on=frozenset({channel}))
    assert on.delivered("BT1")[0] == pytest.approx(10e-3)
    assert islands.solve(main, ["N1"]).delivered("BT1")[0] == pytest.approx(0.0, abs=1e-6)


def test_a_regulated_rail_is_a_border() -> None:
    """Only the regulated 2 V drive the resistors, whatever the cell does: 2 V / 200 Ω."""
    text = CELL + "U2 regulator VIN+ VBAT GND- GND VOUT> VREG = output 2 V = dropout 0.1 V\n"
    circuit, islands = island(text + "R1 100 VREG MID\nR2 100 MID GND")
    solved = islands.solve(circuit.view(States).main, ["MID"])

    assert solved.delivered("VREG")[0] == pytest.approx(10e-3)
    assert solved.delivered("BT1") == (0.0,)


def test_what_lies_straight_across_a_held_rail_is_solved_if_it_is_named() -> None:
    """2 V / 200 Ω; the resistor beside it is left out."""
    text = CELL + "U2 regulator VIN+ VBAT GND- GND VOUT> VREG = output 2 V = dropout 0.1 V\n"
    circuit, islands = island(text + "R1 200 VREG GND\nR2 200 VREG GND")
    (one, _) = circuit.view(Elements).of_kind(ElementKind.RESISTOR)
    solved = islands.solve(circuit.view(States).main, ["VREG"], across=[one])

    assert solved.delivered("VREG")[0] == pytest.approx(10e-3)


def test_a_light_that_no_current_reaches_carries_nothing() -> None:
    circuit, islands = island(CELL + "D1 led/red N1 N2 = colour red\nR1 1k N2 GND")
    (light,) = circuit.view(Elements).of_kind(ElementKind.LED)

    assert islands.solve(circuit.view(States).main, ["N1"]).current(light) == (0.0,)


def test_the_highest_of_a_fresh_cell_is_solved_for_damage() -> None:
    """A lithium coin cell shows 3.35 V at the highest (rule book): 3.35 V / 300 Ω."""
    text = "BT1 cell/holder + VBAT - GND\n~ cell: {part: BT1, type: CR2032, resistance: 10 ohm}\n"
    circuit, islands = island(text + "R1 290 VBAT GND")
    solved = islands.solve(circuit.view(States).main, ["VBAT"], highest=True)

    assert solved.delivered("BT1")[0] == pytest.approx(3.35 / 300)


@pytest.mark.parametrize(
    ("more", "missing"),
    [
        ("R1 R VBAT P0\nR2 1k P0 GND", ("R1", "value")),
        ("D1 led VBAT P0\nR2 1k P0 GND", ("D1", "forward_voltage")),
    ],
)
def test_a_value_that_current_depends_on_is_asked_for(more: str, missing: tuple[str, str]) -> None:
    circuit, islands = island(CELL + more)
    with pytest.raises(MissingFact) as raised:
        islands.solve(circuit.view(States).main, ["P0"])

    assert (raised.value.of, raised.value.key) == missing


def test_what_went_in_is_told() -> None:
    circuit, islands = island(CELL + "R1 290 VBAT GND")
    solved = islands.solve(circuit.view(States).main, ["VBAT"])

    assert dict(solved.because)["resistance of R1"].startswith("netlist")


def test_the_hot_end_counts_for_damage_only() -> None:
    """By hand: −2 mV/K (an assumption of the project) over 40 − 25 = 15 K is 30 mV less across
    the red LED. At 3 V behind 100 Ω alone, some 1 V / 106 Ω, it lets 30 mV / (100 + 6 + nVt/I)
    more through: with nVt/I = 51.7 mV / 9.4 mA = 5.5 Ω, that is 0.27 mA.
    """
    board = """
BT1 cell/holder + VBAT - GND
R1 100 VBAT _1
D1 led/red _1 GND = forward_voltage 2.0 V at 10 mA
~ cell: {part: BT1, type: CR2032, voltage: 3 V at 0 % and 3 V at 100 %, resistance: 0.001 ohm}
"""
    cold = _damage_current(board)
    hot = _damage_current(board + "~ temperature: 0 to 40 degC\n")

    assert hot - cold == pytest.approx(0.27e-3, rel=0.05)


def _damage_current(board: str) -> float:
    circuit = circuit_of(board)
    light = circuit.view(Elements).of_kind(ElementKind.LED)[0]
    solved = circuit.view(Islands).solve(
        circuit.view(States).main, [light.a, light.b], highest=True
    )
    return solved.current(light)[0]
