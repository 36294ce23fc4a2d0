"""The single change that gains most: each is made on the board, and the board runs again."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.circuit.lives import FLAT, STEP_UP

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.gains import Gain, Gains
from boardvet.circuit.handle import Circuit
from boardvet.circuit.revalued import run_times_with
from boardvet.circuit.what_if import with_value
from boardvet.testing import circuit_of

COIN = "BT1 CR2032 VBAT GND"
LIT = " = forward_voltage 1.9 V at 5 mA = colour red"
FLASH = "for: 20 ms, every: 1 s"

Change = Callable[[str], Circuit]
"""Makes a change on a board."""


def controller(rest: str = "1 uA", supply: str = "1.8 to 3.6 V") -> str:
    return (
        "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 = pin_resistance 30 ohm"
        f" = sleep_current {rest} = supply {supply}"
    )


def gains(board: str) -> tuple[Gain, ...]:
    return circuit_of(board).view(Gains).all


def runs(circuit: Circuit) -> float:
    return circuit.view(Discharge).run_time


def values(**ohms: str) -> Change:
    """Fit other resistors."""

    def change(board: str) -> Circuit:
        circuit = circuit_of(board)
        for reference, value in ohms.items():
            circuit = with_value(circuit, reference, value)
        return circuit

    return change


def instead(old: str, new: str) -> Change:
    """Draw or state something else."""

    def change(board: str) -> Circuit:
        assert old in board
        return circuit_of(board.replace(old, new))

    return change


LIGHT = f"R1 220 P0 N1\nD1 led N1 GND{LIT}"
TWO = f"{LIGHT}\nR2 220 P1 N2\nD2 led N2 GND{LIT}"
UNLIKE = f"{LIGHT}\nR2 1k P1 N2\nD2 led N2 GND{LIT}"
DIVIDER = "R1 10k VBAT TAP\nR2 10k TAP GND"
BURSTS = "~ pattern: [{part: U1, current: 5 mA, for: 10 ms, every: %s}]"


@pytest.mark.parametrize(
    ("board", "words", "change"),
    [
        pytest.param(
            f"{COIN}\n{controller()}\n{LIGHT}\n~ pattern: [{{lights: [D1], {FLASH}}}]",
            "halve the current of D1 (R1 470 Ω)",
            values(R1="470"),
            id="a light that flashes",
        ),
        pytest.param(
            f"{COIN}\n{controller()}\n{LIGHT}",
            "halve the current of D1 (R1 470 Ω)",
            values(R1="470"),
            id="a light that is always on",
        ),
        pytest.param(
            f"{COIN}\n{controller()}\n{TWO}\n~ pattern: [{{lights: [D1, D2], {FLASH}}}]",
            "halve the current of D1, D2 (R1, R2 470 Ω)",
            values(R1="470", R2="470"),
            id="two lights alike",
        ),
        pytest.param(
            f"{COIN}\n{controller()}\n{DIVIDER}\n{BURSTS % '1 s'}",
            "raise R1, R2 to ten times their values",
            values(R1="100k", R2="100k"),
            id="a divider",
        ),
        pytest.param(
            f"{COIN}\n{controller('50 uA')}\n{BURSTS % '10 s'}",
            "halve what U1 draws at rest",
            instead("sleep_current 50 uA", "sleep_current 25 uA"),
            id="a part that draws most at rest",
        ),
        pytest.param(
            f"{COIN}\n{controller('2 mA')}",
            "halve what U1 draws at rest",
            instead("sleep_current 2 mA", "sleep_current 1 mA"),
            id="a part that draws so much that the cell gives less charge",
        ),
        pytest.param(
            f"{COIN}\n{controller('5 uA')}\n{BURSTS % '100 ms'}",
            "halve the time that U1 is awake, or what it draws then",
            instead("for: 10 ms", "for: 5 ms"),
            id="a part that draws most while awake",
        ),
        pytest.param(
            f"{COIN}\n{controller(supply='2.85 to 3.6 V')}\n{BURSTS % '100 ms'}",
            "fit a type of U1 that runs on less, down to 2 V",
            instead("supply 2.85 to", "supply 1.8 to"),
            id="a part that stops early",
        ),
        pytest.param(
            f"{COIN}\n{STEP_UP.replace('20 uA', '200 uA')}\n"
            "U3 sensor VDD+ VOUT GND- GND = sleep_current 1 uA = supply 1.6 to 3.6 V",
            "fit a regulator that uses half of what U2 uses itself",
            instead("quiescent_current 200 uA", "quiescent_current 100 uA"),
            id="a regulator that uses most itself",
        ),
    ],
)
def test_the_change_that_gains_most_makes_the_board_run_as_long_as_it_says(
    board: str, words: str, change: Change
) -> None:
    first, *_ = gains(board)

    assert first.change == words
    assert first.run_time == pytest.approx(runs(change(board)), rel=0.1)
    assert first.run_time > 1.05 * runs(circuit_of(board))


def test_the_first_of_several_changes_really_gains_most() -> None:
    board = f"{COIN}\n{controller()}\n{UNLIKE}\n~ pattern: [{{lights: [D1, D2], {FLASH}}}]"
    said = gains(board)
    made = [runs(values(R1="470")(board)), runs(values(R2="1k8")(board))]

    assert [each.change for each in said] == [
        "halve the current of D1 (R1 470 Ω)",
        "halve the current of D2 (R2 1.8 kΩ)",
    ]
    assert [each.run_time for each in said] == pytest.approx(made, rel=0.03)
    assert made[0] > made[1]


def test_taking_the_dip_away_gains_what_the_board_runs_at_rest() -> None:
    """40 mA dip a real coin cell by 0.8 V and more, the same charge slowly by next to none."""
    board = (
        f"{COIN}\n{controller('0 A', '2.0 to 3.6 V')}\n"
        "~ pattern: [{part: U1, current: 40 mA, for: 10 ms, every: 10 s}]"
    )
    said = {each.change: each.run_time for each in gains(board)}
    gentle = instead("40 mA, for: 10 ms", "0.4 mA, for: 1 s")(board)

    taken = said["take the dip away: a reservoir, or less current at once"]
    assert taken == pytest.approx(runs(gentle), rel=0.1)
    assert runs(gentle) > 1.3 * runs(circuit_of(board))


def test_a_divider_with_something_on_its_tap_is_raised_below_it_alone() -> None:
    """R3 joins at TAP: which of them makes the rest of a divider is not known."""
    board = f"{COIN}\n{controller()}\n{DIVIDER}\nR3 10k VBAT TAP\n{BURSTS % '1 s'}"
    (change,) = (each.change for each in gains(board) if each.change.startswith("raise"))

    assert change == "raise R2 to ten times its value"


def test_a_light_without_a_resistor_has_no_value_named() -> None:
    board = (
        f"{COIN}\n{controller()}\nD1 led P0 GND = forward_voltage 2.9 V at 5 mA = colour white\n"
        f"~ pattern: [{{lights: [D1], {FLASH}}}]"
    )
    shorter = instead("for: 20 ms", "for: 10 ms")(board)
    first = gains(board)[0]

    assert first.change == "halve the current of D1, or the time that it is lit"
    assert first.run_time == pytest.approx(runs(shorter), rel=0.1)


def test_what_gains_less_than_a_twentieth_is_not_said() -> None:
    """1 µA at rest beside 0.1 mA, of which half may well be saved."""
    entry = "{part: U1, current: 1 mA, for: 100 ms, every: 1 s}"
    board = f"{COIN}\n{controller()}\n~ pattern: [{entry}]"

    assert [each.change for each in gains(board)] == [
        "halve the time that U1 is awake, or what it draws then"
    ]


def test_a_board_that_draws_nothing_gains_nothing() -> None:
    assert gains(f"BT1 cell/holder VBAT GND\n~ cell: {FLAT.page('2 V')}") == ()


def test_several_values_are_tried_at_once_each_by_itself() -> None:
    """Each is the board drawn with that value, and the board itself stays as it is."""
    circuit = circuit_of(f"{COIN}\n{controller()}\n{UNLIKE}")
    before = runs(circuit)
    tried = run_times_with(circuit, [{"R1": 470.0}, {"R2": 10e3}, {"R1": 470.0, "R2": 10e3}, {}])
    made = [
        runs(values(R1="470")(f"{COIN}\n{controller()}\n{UNLIKE}")),
        runs(values(R2="10k")(f"{COIN}\n{controller()}\n{UNLIKE}")),
        runs(values(R1="470", R2="10k")(f"{COIN}\n{controller()}\n{UNLIKE}")),
        before,
    ]

    assert tried == pytest.approx(made, rel=0.03)
    assert runs(circuit) == before
    assert run_times_with(circuit, []) == ()


def test_a_change_that_leaves_the_board_dead_is_not_said() -> None:
    """It never starts: 3 V behind 1 kΩ cannot hold 2.7 V at 2 mA, nor at half of that (2 V)."""
    gains = circuit_of(
        "BT1 cell/holder + VBAT - GND\n"
        "~ cell: {part: BT1, type: LiPo, capacity: 100 mAh, voltage: 3 V at 0 % and 3 V at 100 %,"
        " resistance: 1000 ohm}\n"
        "U1 mcu VCC+ VBAT GND- GND = supply 2.7 to 5.5 V = sleep_current 1 uA\n"
        "~ pattern: [{part: U1, current: 2 mA, for: 1 s, every: 2 s}]\n"
    ).view(Gains)
    assert all(gain.run_time > 0.0 for gain in gains.all)
