"""What ends the run of a board, on one cell and on two, and in which mode of use."""

from __future__ import annotations

import pytest
from tests.circuit.emptied import Sloping
from tests.circuit.lives import (
    FLAT,
    REGULATOR,
    SLOPE,
    TEN_OHM,
    controller,
    discharge,
    drawing,
    taken,
)

from boardvet.circuit.discharge import Discharge
from boardvet.testing import circuit_of


@pytest.mark.parametrize(
    ("supply", "brown_out", "end", "used", "reason"),
    [
        pytest.param(2.3, 2.0, 2.0, 0.75, "U1 needs 2.3 V on VBAT", id="least supply"),
        pytest.param(1.8, 2.6, 2.0, 0.5, "U1 resets below 2.6 V on VBAT", id="brown-out"),
        pytest.param(1.8, 1.9, 2.9, 0.25, "BT1 (CR2032) is at its end of 2.9 V", id="cell end"),
    ],
)
def test_the_highest_of_what_can_end_it_counts(
    supply: float, brown_out: float, end: float, used: float, reason: str
) -> None:
    """By hand: 3.3 V − 1.2 V · u, less 10 mA · 10 ohm."""
    part = controller(f"{supply} to 5 V", f"brown_out {brown_out} V")
    cell = Sloping(3.3, 2.1, 10.0, 10.0)
    found = discharge(part, drawing("current: 10 mA"), cell=cell, stop=f"{end} V")

    assert found.stop.reason == reason
    assert found.stop.used == pytest.approx(used, abs=1e-3)
    assert found.stranded == pytest.approx(SLOPE.charge * (1 - used), rel=2e-3)


def test_the_drop_out_of_a_regulator_counts_where_nobody_says_what_it_feeds_needs() -> None:
    """By hand: 250 ohm behind 2.5 V, less 2 % (Microchip DS22049E): 2.45 V = V · 250 / 262 where
    2 ohm of drop-out and 10 ohm of the cell are in the way: V = 2.5676 V at 52.7 %."""
    found = discharge(REGULATOR, "R1 250 VOUT GND", cell=TEN_OHM)

    assert found.stop.reason == "U2 falls below 2.45 V on VOUT"
    assert found.stop.used == pytest.approx((3.2 - 2.45 * 262 / 250) / 1.2, abs=2e-3)


def test_the_drop_out_of_a_regulator_does_not_count_where_its_load_runs_on_less() -> None:
    board = (REGULATOR, "R1 250 VOUT GND", controller(node="VOUT"))
    found = discharge(*board, cell=Sloping(3.2, 2.2, 10.0, 10.0))

    assert found.stop.reason == "BT1 (CR2032) is empty"


def test_a_cell_that_nothing_stops_is_used_up() -> None:
    found = discharge(controller(), drawing("current: 1 mA"), cell=FLAT, stop="2 V")

    assert (found.stop.used, found.stop.reason) == (1.0, "BT1 (CR2032) is empty")
    assert found.stranded == 0.0


def test_the_dip_of_the_worst_step_is_taken_off() -> None:
    """By hand: both take 1 mA on average, but 50 mA dip 0.5 V at 10 ohm, not 10 mV."""
    steady = discharge(controller("2.2 to 5 V"), drawing("current: 1 mA"), cell=TEN_OHM)
    pulsed = discharge(
        controller("2.2 to 5 V"),
        drawing("current: 50 mA, for: 20 ms, every: 1 s"),
        cell=TEN_OHM,
    )

    assert steady.stop.used == pytest.approx((3.2 - 0.01 - 2.2) / 1.2, abs=1e-3)
    assert pulsed.stop.used == pytest.approx((3.2 - 0.5 - 2.2) / 1.2, abs=1e-3)
    assert pulsed.mean_current == pytest.approx(steady.mean_current, rel=1e-3)


def test_the_step_that_ends_it_is_named_and_when_it_would_end_without_its_dip() -> None:
    """Two bursts of a part that sleeps between them: the larger one ends it, 0.5 V deep."""
    found = discharge(
        controller("2.2 to 5 V"),
        drawing(
            "current: 5 mA, for: 20 ms, every: 1 s",
            "current: 50 mA, for: 20 ms, every: 1 s, after: 500 ms",
        ),
        cell=TEN_OHM,
    )

    assert found.stop.meeting is not None
    assert found.stop.meeting.draws == (("U1", 50e-3),)
    assert found.stop.used == pytest.approx((3.2 - 0.5 - 2.2) / 1.2, abs=1e-3)
    assert found.stop.at_rest == pytest.approx((3.2 - 2.2) / 1.2, abs=1e-3)


def test_the_coldest_temperature_deepens_the_dip_and_no_more() -> None:
    """By hand: 2.25 times the resistance at −20 °C (a maker measured 2.0 to 2.5, zufek.com,
    "Coin cell low temperature"), so 1.125 V of dip for 50 mA."""
    pulses = drawing("current: 50 mA, for: 20 ms, every: 1 s")
    board = (controller("1.5 to 5 V"), pulses)
    warm = discharge(*board, cell=TEN_OHM)
    cold = discharge(*board, "~ temperature: -20 to 40 degC", cell=TEN_OHM)

    assert warm.stop.used == pytest.approx(1.0)
    assert cold.stop.used == pytest.approx((3.2 - 1.125 - 1.5) / 1.2, abs=1e-3)
    assert cold.mean_current == pytest.approx(warm.mean_current, rel=1e-3)


# Several cells


def two(first: str, second: str, *more: str) -> Discharge:
    cells = "".join(f"~ - {TEN_OHM.page(part=part)}\n" for part in ("BT1", "BT2"))
    part = "U1 mcu VCC+ VBAT GND- GND = sleep_current 2 mA = supply 1.0 to 7 V"
    board = [f"BT1 cell/holder {first}", f"BT2 cell/holder {second}", part, *more]
    return circuit_of("\n".join(board) + f"\n~ cell:\n{cells}").view(Discharge)


@pytest.mark.parametrize(
    ("first", "second", "more", "times"),
    [
        pytest.param("VBAT MID", "MID GND", (), 1, id="in series"),
        pytest.param("VBAT GND", "VBAT GND", (), 2, id="in parallel"),
        pytest.param("V1 GND", "V2 GND",
                     ("D1 diode/BAT54 V1 VBAT", "D2 diode/BAT54 V2 VBAT"), 2, id="by diodes"),
    ],
)  # fmt: skip
def test_two_equal_cells_run_a_part(
    first: str, second: str, more: tuple[str, ...], times: int
) -> None:
    one = discharge(
        "U1 mcu VCC+ VBAT GND- GND = sleep_current 2 mA = supply 1.0 to 7 V", cell=TEN_OHM
    )
    found = two(first, second, *more)

    assert found.stop.used == 1.0
    assert found.run_time == pytest.approx(times * one.run_time, rel=1e-3)


def test_two_cells_in_series_show_twice_the_voltage_in_what_ends_it() -> None:
    """By hand: 2 · (3.2 V − 1.2 V · u − 20 mV) = 5.2 V at u = 0.4833."""
    found = two(
        "VBAT MID",
        "MID GND",
        "U9 sensor VDD+ VBAT GND- GND = sleep_current 0 A = supply 5.2 to 7 V",
    )

    assert found.stop.reason == "U9 needs 5.2 V on VBAT"
    assert found.stop.used == pytest.approx((3.2 - 0.02 - 2.6) / 1.2, abs=1e-3)
    assert found.stops[-1].reason == "BT1 (CR2032) and BT2 (CR2032) are empty"


# Modes

MODES = """
J1 usb-connector 1:VBUS VBUS 2:GND- GND
D9 diode/BAT54 VBUS VBAT
~ sources: {J1: {net: VBUS, voltage: 5 V}}
~ modes:
~   day: {share: 6 h per day, pattern: [{part: U1, current: 4 mA}]}
~   plugged: {share: 6 h per day, sources: [J1], pattern: [{part: U1, current: 100 mA}]}
"""


def test_modes_count_by_their_share_and_one_with_another_source_draws_nothing() -> None:
    """By hand: 6 h of 24 at 4 mA, and 50 µA at rest in the 12 h that no mode names: 1.025 mA."""
    part = "U1 mcu VCC+ VBAT GND- GND = sleep_current 50 uA = supply 1.8 to 5.5 V"
    found = discharge(part, MODES, cell=FLAT)

    assert [(m.name, m.share) for m in found.modes] == [
        ("day", 0.25),
        ("plugged", 0.25),
        ("rest", 0.5),
    ]
    assert [m.current for m in found.modes] == pytest.approx([4e-3, 0.0, 50e-6], rel=1e-3)
    assert found.mean_current == pytest.approx(0.25 * 4e-3 + 0.5 * 50e-6 + FLAT.loss, rel=1e-4)
    assert taken(found, "U1").current == pytest.approx(0.25 * 4e-3 + 0.5 * 50e-6, rel=1e-4)


def test_the_mode_in_which_it_ends_is_named() -> None:
    part = "U1 mcu VCC+ VBAT GND- GND = sleep_current 50 uA = supply 2.5 to 5.5 V"
    found = discharge(part, MODES, cell=SLOPE)

    assert found.stop.timeline is not None
    assert found.stop.timeline.name == "day"
