"""`addressable-led`: dark current against the target, data level and supply.

By hand: 1000 mAh for 1000 h allow 1 mA. Data of 0.7 · 5 V is 3.5 V.
"""

from __future__ import annotations

import pytest
from tests.rules.judging import Judging

from boardvet.review.packs import LoadedPack
from boardvet.review.runner import run
from boardvet.review.verdict import Finding, Level
from boardvet.testing import circuit_of
from boardvet_rules.cell.supply_window import check as supply_window
from boardvet_rules.light.addressable_led import check as rule

CELL = (
    "BT1 cell/holder VBAT GND\n~ cell: {part: BT1, type: lithium-ion, capacity: 1000 mAh, "
    "voltage: 3.9 V at 0 % and 3.9 V at 100 %}"
)
TARGET = "~ run_time: 1000 h"
MCU = "U1 mcu VCC+ {on} GND- GND PB0 DATA PB1 GATE"
FIVE = "J1 connector/in 1: V5 2: GND\n~ sources: {{J1: {{net: V5, voltage: {volts}}}}}"


def led(
    n: int, on: str = "VBAT", facts: str = "= sleep_current 0.5 mA = supply 3.0 to 5.5 V"
) -> str:
    data = "DATA" if n == 1 else f"L{n}"
    return f"D{n} addressable-led/X1 VDD+ {on} DOUT> L{n + 1} VSS- GND DIN< {data} {facts}"


JUDGING = Judging(rule)
review = JUDGING.review


def finding(*lines: str) -> Finding | None:
    found = review(*lines)
    assert not found.undetermined, found.undetermined
    assert len(found.findings) <= 1
    return found.findings[0] if found.findings else None


def level(*lines: str) -> Level | None:
    found = finding(*lines)
    return found.level if found else None


def dark(current: str, *more: str) -> Level | None:
    facts = f"= sleep_current {current} = supply 3.0 to 5.5 V"
    return level(CELL, MCU.format(on="VBAT"), led(1, facts=facts), *(more or (TARGET,)))


def test_a_quarter_of_the_target_is_the_limit_of_the_query() -> None:
    """1 % around 0.25 mA of 1 mA."""
    assert dark("252.5 uA") is Level.QUERY
    assert dark("247.5 uA") is Level.NOTE


def test_a_twentieth_of_the_target_is_the_limit_of_the_note() -> None:
    """1 % around 50 µA of 1 mA."""
    assert dark("50.5 uA") is Level.NOTE
    assert dark("49.5 uA") is None


def test_sixteen_are_one_finding_with_the_sum() -> None:
    """16 × 0.5 mA = 8 mA are 8 times the target; 1000 mAh / 8 mA = 125 h = 5.2 days."""
    found = finding(CELL, TARGET, MCU.format(on="VBAT"), *(led(n) for n in range(1, 17)))

    assert found is not None
    assert found.level is Level.QUERY
    assert "16 × 500 µA" in found.sum
    assert "8 times what" in found.sum
    assert "5.2 days" in found.sum
    assert found.numbers[1].value == pytest.approx(8e-3)


def test_without_a_target_it_is_a_note_with_the_days() -> None:
    """1000 mAh / 0.5 mA = 2000 h = 83 days."""
    found = finding(CELL, MCU.format(on="VBAT"), led(1))

    assert found is not None
    assert found.level is Level.NOTE
    assert "83 days" in found.sum


def test_behind_a_booster_more_flows_at_the_cell() -> None:
    """0.5 mA · 5 V / (80 % · 3.9 V) = 0.801 mA, 80 % of the target."""
    boost = (
        "U2 regulator IN+ VBAT GND- GND OUT> V5 = output 5 V = conversion step-up = "
        "efficiency 80 % at 1 mA"
    )
    found = finding(CELL, TARGET, boost, MCU.format(on="V5"), led(1, "V5"))

    assert found is not None
    assert found.numbers[1].value == pytest.approx(0.801e-3, rel=2e-3)


@pytest.mark.parametrize(
    "switch",
    [
        "Q1 fet/pmos D VLED S VBAT G GATE = channel p",
        "U2 regulator IN+ VBAT GND- GND OUT> VLED EN< GATE = output 3.9 V "
        "= pins {4: enable} = conversion linear",
    ],
)
def test_a_switched_supply_is_quiet(switch: str) -> None:
    assert level(CELL, TARGET, MCU.format(on="VBAT"), switch, led(1, "VLED")) is None
    assert level(CELL, TARGET, MCU.format(on="VBAT"), led(1)) is Level.QUERY


def test_a_board_without_a_cell_has_no_dark_current_to_mind() -> None:
    assert level(FIVE.format(volts="5 V"), MCU.format(on="V5"), led(1, "V5")) is None


def test_a_mode_that_feeds_it_for_a_share_of_the_time_counts_so_much() -> None:
    """0.5 mA for 4 h a day are 83 µA: 8 % of the target."""
    switch = "SW1 switch 1: VBAT 2: VLED"
    modes = "~ modes: {on: {share: 4 h per day, closed: {SW1: [1, 2]}}}"
    found = finding(CELL, TARGET, switch, modes, MCU.format(on="VLED"), led(1, "VLED"))

    assert found is not None
    assert found.level is Level.NOTE
    assert found.numbers[1].value == pytest.approx(0.5e-3 / 6)


def data(volts: str, *more: str, on: str = "V3") -> Level | None:
    regulator = f"U2 regulator IN+ V5 GND- GND OUT> V3 = output {volts} = dropout 0.1 V at 10 mA"
    return level(FIVE.format(volts="5 V"), regulator, MCU.format(on=on), led(1, "V5"), *more)


def test_seven_tenths_of_the_supply_are_the_limit_of_the_data() -> None:
    """1 % around 3.5 V."""
    assert data("3.465 V") is Level.QUERY
    assert data("3.535 V") is None


def test_levels_are_compared_at_the_same_moment() -> None:
    """A cell from 4.2 to 3.3 V with data from its own rail: always 1, never 3.3 of 4.2 V."""
    falling = CELL.replace("3.9 V at 0 % and 3.9 V at 100 %", "4.2 V at 0 % and 2.8 V at 100 %")
    facts = "= sleep_current 1 uA = supply 2.7 to 5.5 V"

    assert level(falling, TARGET, MCU.format(on="VBAT"), led(1, facts=facts)) is None


def test_a_shifter_on_the_rail_of_the_leds_is_quiet() -> None:
    gate = "U3 logic/74AHCT1G125 VCC+ {on} GND- GND A< D3 Y> DATA"
    mcu = MCU.format(on="V3").replace("DATA", "D3")
    regulator = "U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V = dropout 0.1 V at 10 mA"
    board = (FIVE.format(volts="5 V"), regulator, mcu, led(1, "V5"))

    assert level(*board, gate.format(on="V5")) is None
    assert level(*board, gate.format(on="V3")) is Level.QUERY


def test_a_pull_up_behind_a_transistor_gives_the_level() -> None:
    regulator = "U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V = dropout 0.1 V at 10 mA"
    shifter = "Q1 fet/nmos D DATA S D3 G V3 = channel n"
    mcu = MCU.format(on="V3").replace("DATA", "D3")
    board = (FIVE.format(volts="5 V"), regulator, mcu, shifter, led(1, "V5"))

    assert level(*board, "R1 1k DATA V5") is None
    assert level(*board, "R1 1k DATA V3") is Level.QUERY


def test_a_pull_up_does_not_raise_what_a_pin_drives() -> None:
    assert data("3.3 V", "R1 1k DATA V5") is Level.QUERY


def test_a_controller_with_its_usb_pin_on_the_higher_rail_still_drives_the_lower_one() -> None:
    regulator = "U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V = dropout 0.1 V at 10 mA"
    mcu = MCU.format(on="V3") + " VBUS+ V5"

    assert level(FIVE.format(volts="5 V"), regulator, mcu, led(1, "V5")) is Level.QUERY


def test_an_led_on_a_lower_rail_hands_on_its_own_level() -> None:
    """The second one is on 5 V and gets its data from the first, on 3.3 V."""
    regulator = "U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V = dropout 0.1 V at 10 mA"
    source, mcu = FIVE.format(volts="5 V"), MCU.format(on="V3")

    found = finding(source, regulator, mcu, led(1, "V3"), led(2, "V5"))
    assert found is not None
    assert found.subject.name == "D2"
    assert finding(source, regulator, mcu, led(1, "V3"), led(2, "V3")) is None


def test_a_series_resistor_changes_nothing() -> None:
    found = data("3.3 V", "R1 330 DATA X1")
    regulator = "U2 regulator IN+ V5 GND- GND OUT> V3 = output 3.3 V = dropout 0.1 V at 10 mA"
    mcu = MCU.format(on="V3").replace("DATA", "D3")

    assert found is Level.QUERY
    assert (
        level(FIVE.format(volts="5 V"), regulator, mcu, "R1 330 D3 DATA", led(1, "V5"))
        is Level.QUERY
    )


def test_a_rail_below_the_supply_follows_the_rule_on_supplies() -> None:
    """3.9 V for LEDs that need 4.5 V, already fresh."""
    facts = "= sleep_current 1 uA = supply 4.5 to 5.5 V"
    circuit = circuit_of("\n".join((CELL, TARGET, MCU.format(on="VBAT"), led(1, facts=facts))))
    both = run(circuit, [LoadedPack("two rules", "0", (rule, supply_window))])
    (found,) = (f for f in both.findings if f.rule == "addressable-led")
    (cause,) = (f for f in both.findings if f.rule == "supply-window" and "D1" in f.parts)

    assert found.level is Level.QUERY
    assert "100%" in found.sum
    assert found.follows == cause.fingerprint
    assert dark("1 uA") is None


def test_a_low_rail_is_left_to_the_rule_on_supplies_where_something_else_is_found() -> None:
    facts = "= sleep_current 0.5 mA = supply 4.5 to 5.5 V"
    found = finding(CELL, TARGET, MCU.format(on="VBAT"), led(1, facts=facts))

    assert found is not None
    assert "falls below" not in found.sum
    assert found.follows is None


def test_what_each_draws_dark_is_asked_for() -> None:
    (undetermined,) = review(
        CELL, TARGET, MCU.format(on="VBAT"), led(1, facts="= supply 3.0 to 5.5 V")
    ).undetermined

    assert (undetermined.of, undetermined.key) == ("D1", "sleep_current")


def test_what_drives_the_data_is_asked_for() -> None:
    source = FIVE.format(volts="5 V")
    (undetermined,) = review(source, "J2 connector/data 1: DATA 2: GND", led(1, "V5")).undetermined

    assert undetermined.key == "driven_by"


def test_the_capacity_is_asked_for_only_where_a_cell_feeds_them() -> None:
    unknown = "BT1 cell/holder VBAT GND"
    found = review(unknown, TARGET, MCU.format(on="VBAT"), led(1))

    assert {u.key for u in found.undetermined} == {"cell"}
