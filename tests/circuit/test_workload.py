"""Workloads: at which shares of the charge a board is solved, and at which temperature."""

from __future__ import annotations

import pytest
from tests.circuit.lives import SLOPE, TEN_OHM

from boardvet.circuit.workload import STEPS, Workloads, coldest
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

SENSOR = "U1 sensor VDD+ VBAT GND- GND = sleep_current 0 A = supply 1.0 to 5 V\n"
BURST = "~ pattern: [{part: U1, current: 20 mA, for: 20 ms, every: 500 ms}]\n"


def board(*lines: str, cell: str = SLOPE.page()) -> str:
    return "\n".join([f"BT1 cell/holder VBAT GND\n~ cell: {cell}", SENSOR, *lines])


def stated(voltage: str, resistance: str = "10 ohm") -> str:
    return (
        f"{{part: BT1, type: CR2032, capacity: 225 mAh, voltage: {voltage},"
        f" resistance: {resistance}}}"
    )


def used(cell: str) -> list[float]:
    return [float(share) for share in circuit_of(board(cell=cell)).view(Workloads).used]


def test_a_board_is_solved_in_equal_steps_of_the_charge() -> None:
    assert used(stated("3.0 V")) == pytest.approx([step / STEPS for step in range(STEPS + 1)])


def test_it_is_solved_at_the_points_of_the_cell_s_own_curves_too() -> None:
    shares = used(stated("3.0 V at 0 % and 2.9 V at 33 % and 2 V at 100 %", "1 ohm at 77 %"))

    assert len(shares) == STEPS + 3
    assert {0.33, 0.77} <= set(shares)
    assert shares == sorted(shares)


@pytest.mark.parametrize("share", ["35", "35.0000000001"])
def test_a_point_that_lies_on_a_step_counts_once(share: str) -> None:
    """So does one that is off it by less than anybody means: slopes between the two are noise."""
    assert len(used(stated(f"3.0 V at 0 % and 2.9 V at {share} % and 2 V at 100 %"))) == STEPS + 1


def test_a_mode_with_another_source_is_not_solved() -> None:
    modes = """
~ sources: {J1: {net: VBUS, voltage: 5 V}}
~ modes:
~   day: {share: 50 %}
~   plugged: {sources: [J1]}
"""
    usb = "J1 usb-connector 1:VBUS VBUS 2:GND- GND\nD9 diode/BAT54 VBUS VBAT\n"
    work = circuit_of(board(usb + modes)).view(Workloads)

    assert [bool(each.typical) for each in work.all] == [True, False]
    assert [each.timeline.name for each in work.on_cell()] == ["day"]


@pytest.mark.parametrize(
    ("page", "expected"),
    [
        pytest.param("", 25.0, id="where nothing is stated"),
        pytest.param("~ temperature: -10 to 40 degC", -10.0, id="the cold end"),
        pytest.param("~ temperature: 30 to 40 degC", 25.0, id="no warmer than a room"),
    ],
)
def test_dips_are_taken_at_the_coldest(page: str, expected: float) -> None:
    assert coldest(circuit_of(board(page))) == expected


def test_what_is_lowest_is_solved_in_the_cold_and_what_is_drawn_at_room_temperature() -> None:
    """By hand: 3.2 V − 20 mA · 10 ohm, and 1.4 times that resistance at 0 °C (a maker's
    measurement, zufek.com)."""
    cold = board(BURST, "~ temperature: 0 to 40 degC", cell=TEN_OHM.page())
    (work,) = circuit_of(cold).view(Workloads).all
    volts = {
        name: min(o.voltage("VBAT")[0] for _, o in solved)
        for name, solved in (("typical", work.typical), ("cold", work.cold), ("still", work.still))
    }

    assert volts == pytest.approx({"typical": 3.0, "cold": 2.92, "still": 2.92})


def test_a_board_that_stays_warm_is_solved_once() -> None:
    (work,) = circuit_of(board(BURST)).view(Workloads).all

    assert work.cold is work.typical


def test_a_board_without_a_cell_is_asked_for_one() -> None:
    with pytest.raises(MissingFact) as missing:
        circuit_of(SENSOR).view(Workloads)
    assert missing.value.key == "cell"
