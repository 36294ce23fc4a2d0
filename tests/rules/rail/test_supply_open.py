"""`supply-open`: pins that nothing feeds, pins that may be left open, and what folds."""

from __future__ import annotations

import pytest

from boardvet.review.review import Review
from boardvet.review.verdict import Level
from boardvet.testing import judge
from boardvet_rules.rail.supply_open import check as rule


def review(*lines: str) -> Review:
    done = judge(rule, "\n".join(("BT1 CR2032 VBAT GND", "R1 10k VBAT GND", *lines)))
    assert not done.broken
    return done


def levels(*lines: str) -> dict[str, Level]:
    return {f.subject.name: f.level for f in review(*lines).findings}


@pytest.mark.parametrize("net", [".", "VBATT", "_7"])
def test_a_supply_pin_on_nothing_or_on_a_net_of_its_own_is_a_hold(net: str) -> None:
    found = levels(f"U1 mcu VCC+ VBAT AVCC+ {net} GND- GND")

    assert found == {"U1 pin 2 (AVCC)": Level.HOLD}


def test_it_names_the_net_of_the_other_supply_pin() -> None:
    (finding,) = review("U1 mcu VCC+ VBAT AVCC+ . GND- GND").findings

    assert finding.fix == "join U1 pin 2 (AVCC) to VBAT, like U1 pin 1 (VCC)"


def test_an_open_ground_pin_is_a_hold_though_another_is_connected() -> None:
    found = levels("U1 mcu VCC+ VBAT GND- GND GND- .")

    assert found == {"U1 pin 3 (GND)": Level.HOLD}


def test_a_capacitor_on_the_net_is_not_nothing() -> None:
    """What such a net is fed from is the question of `rail-unfed`."""
    assert levels("U1 mcu VCC+ VBAT AVCC+ VA GND- GND", "C1 100n VA GND") == {}


def test_a_test_point_or_a_part_not_fitted_is_nothing() -> None:
    found = levels("U1 mcu VCC+ VBAT AVCC+ VA GND- GND", "TP1 test-point 1: VA", "C1? 100n VA GND")

    assert found == {"U1 pin 2 (AVCC)": Level.HOLD}


def test_an_open_thermal_pad_is_a_query_beside_a_ground_pin() -> None:
    assert levels("U1 mcu VCC+ VBAT GND- GND EP- .") == {"U1 pin 3 (EP)": Level.QUERY}


def test_an_open_thermal_pad_is_a_hold_where_it_is_the_only_ground() -> None:
    assert levels("U1 mcu VCC+ VBAT EP- . PB0 A") == {"U1 pin 2 (EP)": Level.HOLD}


@pytest.mark.parametrize("pin", ["VCORE+", "VREF+", "VCAP+", "VOUT>", "NC", "DCC+"])
def test_pins_that_give_and_documented_no_connects_are_quiet(pin: str) -> None:
    assert levels(f"U1 mcu VCC+ VBAT GND- GND {pin} .") == {}


def test_a_pin_marked_as_open_is_quiet_beside_another_supply_pin() -> None:
    assert levels("U1 mcu VCC+ VBAT AVCC+ x GND- GND") == {}


def test_an_only_supply_pin_is_found_though_it_is_marked_as_open() -> None:
    assert levels("U1 mcu VCC+ x GND- GND PB0 VBAT") == {"U1 pin 1 (VCC)": Level.HOLD}


def test_an_open_back_up_supply_is_a_query() -> None:
    assert levels("U1 mcu VCC+ VBAT VBAT+ . GND- GND") == {"U1 pin 2 (VBAT)": Level.QUERY}


def test_an_open_pin_that_only_its_name_calls_a_supply_is_a_query() -> None:
    found = levels("U1 mcu VCC+ VBAT VDDA . GND- GND = pins {2: supply}")

    assert found == {"U1 pin 2 (VDDA)": Level.QUERY}


def test_further_open_pins_of_a_part_follow_the_first() -> None:
    findings = review("U1 mcu VCC+ . AVCC+ . GND- GND PB0 VBAT").findings

    assert [f.follows is None for f in findings] == [True, False]
    assert findings[1].follows == findings[0].fingerprint


def test_a_part_that_is_wired_to_nothing_is_one_query() -> None:
    findings = review("U1 mcu VCC+ . GND- . PB0 .").findings

    assert {f.level for f in findings} == {Level.QUERY}
    assert [f.follows is None for f in findings] == [True, False]


def test_parts_whose_pins_nobody_tells_apart_are_undetermined() -> None:
    done = review("U1 integrated-circuit 1: VBAT 2: GND 3: A")

    assert [(u.of, u.key) for u in done.undetermined] == [("U1", "pins")]
    assert not done.findings


def test_a_pin_that_the_part_feeds_itself_is_not_open() -> None:
    """A core supply joined to the regulator output of the same part, with no capacitor left."""
    board = """
BT1 CR2032 VBAT GND
U1 mcu 1:VDD+ VBAT 2:GND- GND 3:DVDD+ CORE 4:VREG_VOUT> CORE = pins {4: supply output}
"""
    assert not judge(rule, board).findings


def test_the_same_pin_without_that_output_is_open() -> None:
    board = """
BT1 CR2032 VBAT GND
U1 mcu 1:VDD+ VBAT 2:GND- GND 3:DVDD+ CORE 4:VREG_VOUT> OTHER = pins {4: supply output}
"""
    assert [finding.subject.name for finding in judge(rule, board).findings] == ["U1 pin 3 (DVDD)"]
