"""Reservoirs on a board: the value is put in, the pulses solved in time, the dip kept."""

from __future__ import annotations

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.timeline import Timelines
from boardvet.circuit.what_if import with_value
from boardvet.sizing.on_board import find
from boardvet.sizing.on_board._outcome import NotSized, Outcome, Sized
from boardvet.sizing.on_board.reservoir import dips
from boardvet.testing import circuit_of

BURST = """
BT1 lithium-ion VBAT GND
~ cell: {part: BT1, type: lithium-ion, capacity: 90 mAh, voltage: 3.0 V, resistance: 30 ohm}
U1 mcu VCC+ VBAT GND- GND = sleep_current 1 nA = supply 1.8 to 3.6 V
C1 10u VBAT GND = dielectric tantalum = series_resistance 1 mohm
~ pattern: [{part: U1, current: 8 mA, for: 5 ms, every: 1 s}]
~ nets: {VBAT: {dip_max: 200 mV}}
"""


def outcomes(board: str, **given: object) -> tuple[Circuit, list[Outcome]]:
    circuit = circuit_of(board)
    return circuit, list(find("reservoir", circuit, given))


def sized(board: str, **given: object) -> tuple[Circuit, Sized]:
    circuit, (found,) = outcomes(board, **given)
    assert isinstance(found, Sized), found
    return circuit, found


def depth(circuit: Circuit) -> float:
    (timeline,) = circuit.view(Timelines).all
    return max(dips(circuit, timeline, "VBAT"))


def test_the_dip_of_paper_is_what_the_board_shows() -> None:
    """A cell of 3.0 V and 30 Ω, 8 mA for 5 ms, with next to nothing and with 100 µF.

    By hand: 8 mA · 30 Ω = 240 mV; · (1 − e^(−5 ms / 3 ms)) = 194.7 mV.
    """
    circuit = circuit_of(BURST)

    assert depth(with_value(circuit, "C1", "1n")) == pytest.approx(0.240, rel=2e-3)
    assert depth(with_value(circuit, "C1", "100u")) == pytest.approx(0.1947, rel=2e-3)


def test_the_value_is_put_back_and_keeps_the_dip() -> None:
    """By hand: −5 ms / (30 Ω · ln(1 − 200 / 240)) = 93.0 µF; E6 above it is 100 µF: 194.7 mV."""
    circuit, found = sized(BURST)

    assert found.answer.chosen[0].wanted == pytest.approx(93.0e-6, rel=5e-3)
    assert [(c.reference, c.after) for c in found.changes] == [("C1", "100 µF")]
    assert depth(with_value(circuit, "C1", found.changes[0].after)) <= 0.2
    assert depth(with_value(circuit, "C1", "68u")) > 0.2
    assert found.solved[0].startswith("dips by 195 mV fresh, 195 mV ")


def test_a_dip_on_the_command_line_counts_before_that_of_the_page() -> None:
    """By hand: −5 ms / (30 Ω · ln(1 − 100 / 240)) = 309 µF; E6 above it is 330 µF."""
    _, found = sized(BURST, dip=0.1)

    assert found.changes[0].after == "330 µF"


def test_what_is_fitted_stays_where_it_keeps_the_dip() -> None:
    _, found = sized(BURST.replace("C1 10u", "C1 150u"))

    assert found.answer.chosen[0].series == "as fitted"
    assert found.changes[0].after == "150 µF"


def test_no_reservoir_is_needed_where_the_cell_carries_the_pulse() -> None:
    """By hand: 8 mA · 30 Ω = 240 mV, and 300 mV are allowed."""
    _, found = sized(BURST.replace("200 mV", "300 mV"))

    assert found.changes == ()
    assert "no reservoir is needed" in found.answer.sums[0]


@pytest.mark.parametrize(
    ("board", "missing"),
    [
        (BURST.replace("~ pattern: [{part: U1, current: 8 mA, for: 5 ms, every: 1 s}]\n", ""),
         "what pulls at VBAT for how long is not known"),
        (BURST.replace("C1 10u VBAT GND = dielectric tantalum = series_resistance 1 mohm\n", ""),
         "no capacitor stands from VBAT to ground, and 150 µF are needed"),
        (BURST.replace("every: 1 s", "every: 7 ms").replace("200 mV", "100 mV"),
         "the mean current alone dips the cell by 171 mV"),
    ],
    ids=["no pattern", "no capacitor", "too often"],
)  # fmt: skip
def test_what_is_missing_or_cannot_be_is_said(board: str, missing: str) -> None:
    """By hand: 93.0 µF / 70 % = 133 µF, E6 150 µF; 240 mV · 5 / 7 = 171 mV."""
    _, (found,) = outcomes(board)

    assert isinstance(found, NotSized)
    assert missing in found.missing


def test_without_a_wish_nothing_is_sized() -> None:
    assert outcomes(BURST.replace("~ nets: {VBAT: {dip_max: 200 mV}}\n", ""))[1] == []
