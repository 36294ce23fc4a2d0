"""What the solver lights: rails that only a light needs, one light of a part of several."""

from __future__ import annotations

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.headroom import SHARES, Headroom
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.strings import Strings
from boardvet.circuit.timeline import Timelines
from boardvet.testing.notation import circuit_of

CELL = """
BT1 cell/holder + VBAT - GND
~ cell: {part: BT1, type: CR2032, voltage: 3.0 V at 0 % and 2.0 V at 100 %, resistance: 10 ohm}
"""
MCU = "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 = pin_resistance 30 ohm\n"
RED = " = colour red = forward_voltage 1.9 V at 10 mA\n"


def lit(circuit: Circuit, *lights: str) -> dict[str, float]:
    """Return the current of each light with a fresh cell while some are on, in amperes."""
    (timeline,) = circuit.view(Timelines).all
    meeting = Meeting(frozenset(lights), (), 1.0, float("inf"))
    solved = circuit.view(Running).at(timeline.state, meeting)
    return {s.label: solved.light(s.light)[0] for s in circuit.view(Strings).all}


def test_a_load_switch_is_on_while_a_light_behind_it_is_lit() -> None:
    """By hand: (3.0 − 1.85) V / (100 + 10) Ω is some 10 mA, and nothing while it is not lit."""
    switch = "Q1 fet 1:G P0 2:S VBAT 3:D VLED = channel p\nR9 100k VBAT P0\n"
    circuit = circuit_of(CELL + MCU + switch + "R1 100 VLED N1\nD1 led N1 GND" + RED)

    assert lit(circuit, "D1")["D1"] == pytest.approx(10e-3, rel=0.05)
    assert lit(circuit)["D1"] < 1e-6


def test_one_light_of_a_two_colour_part_is_lit_by_its_label() -> None:
    """Two lights back to back between the same two pins: never both."""
    part = "R1 100 P1 N1\nD1 led/two 1:RA P0 2:RK N1 3:GA N1 4:GK P0"
    circuit = circuit_of(CELL + MCU + part + RED)
    one, other = lit(circuit, "D1 (ra)"), lit(circuit, "D1 (ga)")

    assert one["D1 (ra)"] > 1e-3 > 1e-9 > one["D1 (ga)"]
    assert other["D1 (ga)"] > 1e-3 > 1e-9 > other["D1 (ra)"]


def test_a_two_colour_part_that_the_pattern_lights_fades_light_by_light() -> None:
    part = "R1 100 P1 N1\nD1 led/two 1:RA P0 2:RK N1 3:GA N1 4:GK P0"
    page = "~ pattern: [{name: flash, lights: [D1], for: 10 ms, every: 1 s}]\n"
    circuit = circuit_of(CELL + MCU + page + part + RED)

    for string in circuit.view(Strings).all:
        (fade,) = circuit.view(Headroom).fades(string)
        assert [set(meeting.lights) for meeting in fade.meetings] == [{string.label}]
        assert fade.room[0] > 1e-3


def test_what_is_on_with_a_light_counts_by_its_time() -> None:
    """D2 is lit during a quarter of the time of D1 and drains the cell's 10 Ω meanwhile."""
    lights = (
        "R1 100 P0 N1\nD1 led N1 GND"
        + RED
        + "R2 10 P1 N2\nD2 led N2 GND"
        + RED
        + "~ pattern:\n"
        + "~   - {name: long, lights: [D1], for: 400 ms, every: 1 s}\n"
        + "~   - {name: short, lights: [D2], for: 100 ms, every: 1 s}\n"
    )
    circuit = circuit_of(CELL + MCU + lights)
    first = circuit.view(Strings).all[0]
    (fade,) = circuit.view(Headroom).fades(first)
    alone, both = lit(circuit, "D1")["D1"], lit(circuit, "D1", "D2")["D1"]

    assert not fade.alone
    assert both < 0.95 * alone
    assert fade.room[0] == pytest.approx(0.75 * alone + 0.25 * both)


def test_the_crossing_is_where_the_current_is_the_limit() -> None:
    """A current solved at the share that was found is the limit again, within half a per cent."""
    circuit = circuit_of(CELL + "R1 100 VBAT N1\nD1 led N1 GND" + RED)
    headroom = circuit.view(Headroom)
    (fade,) = headroom.fades(circuit.view(Strings).all[0])
    for limit in (8e-3, 4e-3, 3e-3):
        crossing = headroom.crossing(fade, limit, cold=False)
        assert crossing is not None
        (current,) = headroom.currents(fade, (crossing.used,), None)
        assert current == pytest.approx(limit, rel=5e-3)
    assert headroom.crossing(fade, 0.5 * fade.room[-1], cold=False) is None
    assert len(fade.room) == len(SHARES)


LIKE = ("R1 100 P0 N1\nD1 led N1 GND" + RED, "R2 100 P1 N2\nD2 led N2 GND" + RED)


@pytest.mark.parametrize(
    ("differs", "alike"),
    [
        ("", True),
        ("C9 100n N2 GND", True),
        ("R9 100 N2 GND", False),
        ("R9 10k P1 GND", False),
    ],
)
def test_lights_that_are_alike_are_solved_once(differs: str, alike: bool) -> None:
    """What else hangs on the way of a light makes it another one; a capacitor does not."""
    circuit = circuit_of(CELL + MCU + "\n".join((*LIKE, differs)))
    one, other = (circuit.view(Headroom).fades(s)[0] for s in circuit.view(Strings).all)

    assert (one is other) is alike
    for string in circuit.view(Strings).all:
        (fade,) = circuit.view(Headroom).fades(string)
        assert fade.room[0] == pytest.approx(lit(circuit, string.label)[string.label])


@pytest.mark.parametrize(
    "differs",
    [("R2 100", "R2 120"), ("1.9 V at 10 mA\n", "1.8 V at 10 mA\n"), ("R2 100 P1", "R2 100 VBAT")],
)
def test_lights_that_differ_are_solved_by_themselves(differs: tuple[str, str]) -> None:
    first, second = LIKE
    circuit = circuit_of(CELL + MCU + first + "\n" + second.replace(*differs))
    one, other = (circuit.view(Headroom).fades(s)[0] for s in circuit.view(Strings).all)

    assert one.room[0] != pytest.approx(other.room[0], rel=1e-3)
