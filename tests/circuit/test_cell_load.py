"""What cells give: by mode, by cell, and beside the capacitors of their rail; redone by hand."""

from __future__ import annotations

import math

import pytest

from boardvet.circuit.cell_load import CellLoad, CellLoads, Pulse
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.handle import Circuit
from boardvet.testing import circuit_of

TEN_OHM = "~ cell: {part: BT1, type: CR2032, voltage: 3 V, resistance: 10 ohm}"
MCU = "U1 mcu VCC+ VBAT GND- GND = sleep_current 0 A"
TANTALUM = "= dielectric tantalum = voltage_rating 6.3 V"


def load(*lines: str, cell: str = "BT1") -> CellLoad:
    circuit = circuit_of("\n".join(lines))
    (only,) = circuit.view(CellLoads).of_cell(_cell(circuit, cell))
    return only


def _cell(circuit: Circuit, reference: str = "BT1") -> Cell:
    return next(each for each in circuit.view(Cells).all if each.reference == reference)


def pulse(*lines: str, cell: str = "BT1") -> Pulse:
    found = load(*lines, cell=cell).pulse
    assert found is not None
    return found


def burst(length: str, every: str) -> tuple[str, ...]:
    entry = f"~ - {{part: U1, current: 20 mA, for: {length}, every: {every}}}"
    return ("BT1 CR2032 VBAT GND", MCU, TEN_OHM, "~ pattern:", entry)


def test_a_single_pulse_is_shared_between_cell_and_capacitor() -> None:
    """20 mA for 1 ms each second; 10 Ω · 100 µF = 1 ms: 20 mA · (1 - 1/e) = 12.64 mA."""
    found = pulse(*burst("1 ms", "1 s"), f"C1 100u VBAT GND {TANTALUM}")

    assert found.steady == pytest.approx(20e-3)
    assert found.capacitance == pytest.approx(100e-6)
    assert found.given == pytest.approx(20e-3 * (1 - math.exp(-1)), rel=1e-3)


def test_pulses_that_follow_soon_add_up() -> None:
    """The same each 2 ms: 20 mA · (1 - e^-1)/(1 - e^-2) = 20 mA · 0.632121/0.864665 = 14.62 mA."""
    found = pulse(*burst("1 ms", "2 ms"), f"C1 100u VBAT GND {TANTALUM}")

    assert found.given == pytest.approx(14.62e-3, rel=1e-3)


def test_the_mean_is_what_the_cell_gives_at_least() -> None:
    """Two bursts that share a large capacitor: U1 5 mA and U2 5 mA on average, 10 mA in all.

    The formula for U1's burst alone would say 5 mA.
    """
    found = pulse(
        *burst("1 ms", "4 ms"),
        "~ - {part: U2, current: 20 mA, for: 1 ms, every: 4 ms, after: 2 ms}",
        "U2 sensor VDD+ VBAT GND- GND = sleep_current 0 A",
        f"C1 10000u VBAT GND {TANTALUM}",
    )

    assert found.given == pytest.approx(10e-3, rel=0.01)


def test_a_ceramic_helps_with_what_it_keeps_under_bias() -> None:
    """A class 2 ceramic rated for just its voltage keeps well under its nominal capacitance."""
    ceramic = pulse(*burst("1 ms", "1 s"), "C1 100u/6.3V @0805 VBAT GND = dielectric X5R")

    assert 0.0 < ceramic.capacitance < 80e-6


@pytest.mark.parametrize(
    ("resistor", "farads"), [("4R7", 100e-6), ("47", 0.0)], ids=["smaller", "larger"]
)
def test_behind_a_resistor_larger_than_the_cell_s_a_capacitor_does_not_count(
    resistor: str, farads: float
) -> None:
    found = pulse(
        *burst("1 ms", "1 s"),
        f"R1 {resistor} VBAT VX",
        f"C1 100u VX GND {TANTALUM}",
        "U2 sensor VDD+ VX GND- GND = sleep_current 0 A",
    )

    assert found.capacitance == pytest.approx(farads)


@pytest.mark.parametrize(
    ("cells", "ohms", "part"),
    [
        pytest.param(("BT1 CR2032 VBAT GND", "BT2 CR2032 VBAT GND"), 5.0, 0.5, id="side by side"),
        pytest.param(("BT1 CR2032 VBAT MID", "BT2 CR2032 MID GND"), 20.0, 1.0, id="in a row"),
    ],
)
def test_the_resistance_is_that_of_all_cells(
    cells: tuple[str, ...], ohms: float, part: float
) -> None:
    """10 Ω each; the cell gives its part of 20 mA · (1 - e^(-1 ms / (R · 100 µF)))."""
    page = TEN_OHM.replace("part: BT1", "part: [BT1, BT2]")
    lines = (*cells, MCU, page, *burst("1 ms", "1 s")[3:], f"C1 100u VBAT GND {TANTALUM}")
    found = pulse(*lines)

    assert found.given == pytest.approx(
        part * 20e-3 * (1 - math.exp(-1e-3 / (ohms * 100e-6))), rel=2e-3
    )


def test_an_ideal_cell_gives_all_of_a_pulse() -> None:
    ideal = [line.replace("10 ohm", "0 ohm") for line in burst("1 ms", "1 s")]

    assert pulse(*ideal, f"C1 100u VBAT GND {TANTALUM}").given == pytest.approx(20e-3)


def test_the_mean_over_all_modes_counts_their_shares() -> None:
    """A quarter of the time 4 mA, nothing in the rest: 1 mA."""
    circuit = circuit_of(
        f"BT1 CR2032 VBAT GND\n{MCU}\n{TEN_OHM}\n"
        "~ modes: {lit: {share: 6 h per day, pattern: [{part: U1, current: 4 mA}]}}"
    )

    assert circuit.view(CellLoads).mean(_cell(circuit)) == pytest.approx(1e-3)


@pytest.mark.parametrize(
    ("lines", "unknown"),
    [
        pytest.param((), ("U1",), id="nothing said"),
        pytest.param(("~ pattern: [{part: U1, current: 1 mA}]",), (), id="always"),
        pytest.param(
            ("~ pattern: [{part: U1, current: 1 mA, for: 1 ms, every: 1 s}]",),
            ("U1",),
            id="at times, and what then",
        ),
    ],
)
def test_who_is_not_known_at_rest(lines: tuple[str, ...], unknown: tuple[str, ...]) -> None:
    board = ("BT1 CR2032 VBAT GND", "U1 mcu VCC+ VBAT GND- GND", *lines)
    circuit = circuit_of("\n".join(board))

    assert circuit.view(CellLoads).unknown(_cell(circuit)) == unknown


def test_what_another_cell_feeds_is_not_asked_for() -> None:
    circuit = circuit_of(
        f"BT1 CR2032 VBAT GND\nBT2 CR2032 VTWO GND\n{MCU}\nU2 sensor VDD+ VTWO GND- GND"
    )

    assert circuit.view(CellLoads).unknown(_cell(circuit)) == ()
    assert circuit.view(CellLoads).unknown(_cell(circuit, "BT2")) == ("U2",)


def test_what_only_another_source_feeds_is_not_asked_for() -> None:
    circuit = circuit_of(
        f"BT1 CR2032 VBAT GND\n{MCU}\nJ1 connector/in 1: VIN 2: GND\nD9 diode VIN VBAT\n"
        "U2 sensor VDD+ VIN GND- GND\n"
        "~ sources: {J1: {net: VIN, voltage: 5 V}}\n"
        "~ modes:\n~   docked: {share: 10 h per day, sources: [J1], pattern: []}\n"
    )

    assert circuit.view(CellLoads).unknown(_cell(circuit)) == ()


def test_a_short_pulse_that_meets_a_long_one_does_not_last_as_long() -> None:
    """10 Ω · 100 µF = 1 ms. 4 mA for 10 ms are given whole; 20 mA for 1 ms to 12.64 mA.

    Together the cell gives 16.64 mA, where it would give 24 mA if both lasted.
    """
    found = pulse(
        *burst("1 ms", "0.7 s"),
        "~ - {part: U2, current: 4 mA, for: 10 ms, every: 1 s}",
        "U2 sensor VDD+ VBAT GND- GND = sleep_current 0 A",
        f"C1 100u VBAT GND {TANTALUM}",
    )

    assert found.steady == pytest.approx(24e-3)
    assert found.given == pytest.approx(16.64e-3, rel=1e-3)


def test_pulses_in_a_row_last_as_long_as_all_of_them() -> None:
    """Three of 20 mA and 1 ms behind each other: 20 mA · (1 - e^-3) = 19.0 mA."""
    found = pulse(
        *burst("1 ms", "1 s"),
        "~ - {part: U1, current: 20 mA, for: 1 ms, every: 1 s, after: 1 ms}",
        "~ - {part: U2, current: 20 mA, for: 1 ms, every: 1 s, after: 2 ms}",
        "U2 sensor VDD+ VBAT GND- GND = sleep_current 0 A",
        f"C1 100u VBAT GND {TANTALUM}",
    )

    assert found.given == pytest.approx(20e-3 * (1 - math.exp(-3)), rel=1e-3)


def test_beside_something_that_never_rests_a_pulse_counts_whole() -> None:
    """U2 alternates 5 and 4 mA for ever: nothing can be told apart, so all 25 mA count."""
    found = pulse(
        *burst("1 ms", "0.7 s"),
        "~ - {part: U2, draws: 5 mA for 0.5 s then 4 mA for 0.5 s, every: 1 s}",
        "U2 sensor VDD+ VBAT GND- GND = sleep_current 0 A",
        f"C1 100u VBAT GND {TANTALUM}",
    )

    assert found.given == pytest.approx(25e-3)
