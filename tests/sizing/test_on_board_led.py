"""Resistors of lights on a board: each value is put back, solved, and gives what is wanted."""

from __future__ import annotations

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.strings import Strings
from boardvet.circuit.what_if import with_value
from boardvet.quantity import parse_component, show
from boardvet.sizing.on_board import find
from boardvet.sizing.on_board._outcome import NotSized, Outcome, Sized
from boardvet.testing import circuit_of

HELD = """
J1 connector/in 1: VIN 2: GND
~ sources: {J1: {net: VIN, voltage: 5 V}}
R1 1k VIN N1
D1 led N1 GND = forward_voltage 1.75 V at 1 mA and 1.95 V at 10 mA = wanted_current 10 mA
"""

COIN = """
BT1 CR2032 VBAT GND
~ cell: {part: BT1, type: CR2032, voltage: 3.2 V at 0 % and 2.0 V at 100 %, resistance: 20 ohm}
R1 1k VBAT N1
D1 led N1 GND = forward_voltage 1.75 V at 1 mA and 1.95 V at 10 mA = wanted_current 5 mA
"""


def sized(circuit: Circuit, **given: object) -> list[Outcome]:
    return list(find("led", circuit, given))


def only(outcomes: list[Outcome]) -> Sized:
    (found,) = outcomes
    assert isinstance(found, Sized), found
    return found


def solved_with(circuit: Circuit, found: Sized, reference: str) -> float:
    """Put the suggested value into the board and solve its light."""
    for change in found.changes:
        circuit = with_value(circuit, change.reference, change.after)
    (string,) = circuit.view(Strings).of_light(reference)
    light = circuit.view(Lighting).worst(string)
    assert light is not None
    return light.current


def test_the_sum_on_a_held_rail_is_that_of_paper() -> None:
    """By hand: (5 V − 1.95 V) / 10 mA = 305 Ω; E12 has 330 Ω, 8 % off."""
    circuit = circuit_of(HELD)
    found = only(sized(circuit))

    assert found.answer.chosen[0].wanted == pytest.approx(305.0, rel=1e-3)
    assert [(c.reference, c.before, c.after) for c in found.changes] == [("R1", "1k", "330 Ω")]
    current = solved_with(circuit, found, "D1")
    assert current == pytest.approx(10e-3, rel=0.1)
    assert found.solved == (f"{show(current, 'A')}, from a rail that is held",)


def test_a_stated_current_counts_before_that_of_the_page() -> None:
    """By hand: (5 V − 1.75 V) / 1 mA = 3250 Ω; E12 has 3.3 kΩ."""
    found = only(sized(circuit_of(HELD), current=1e-3))

    assert found.answer.chosen[0].wanted == pytest.approx(3250.0, rel=1e-3)
    assert found.changes[0].after == "3.3 kΩ"


def test_the_resistance_of_the_cell_is_taken_off() -> None:
    """By hand: at 5 mA the light drops 1.95 V − 51.73 mV · ln 2 − 5 mA · 8.99 Ω = 1.869 V;
    (3.2 V − 1.869 V) / 5 mA − 20 Ω = 246 Ω; E12 has 270 Ω (9.7 % off), 220 Ω is 10.6 % off."""
    circuit = circuit_of(COIN)
    found = only(sized(circuit))

    assert found.answer.chosen[0].wanted == pytest.approx(246.2, rel=2e-3)
    assert found.changes[0].after == "270 Ω"
    assert found.solved[0].startswith(f"{show(solved_with(circuit, found, 'D1'), 'A')} fresh, ")


def test_the_fitted_value_stays_where_no_other_is_nearer() -> None:
    """240 Ω is 2.5 % off 246 Ω, nearer than any of E12."""
    found = only(sized(circuit_of(COIN.replace("R1 1k", "R1 240"))))

    assert found.answer.chosen[0].series == "as fitted"
    assert found.changes[0].after == "240 Ω"


def test_over_life_the_mean_is_wanted_and_at_the_end_the_least() -> None:
    circuit = circuit_of(COIN)
    fresh, life, end = (
        only(sized(circuit, over=over, current=2e-3)).answer.chosen[0].wanted
        for over in ("fresh", "life", "end")
    )

    assert end < life < fresh


def test_at_the_end_the_empty_cell_gives_the_wanted_current() -> None:
    """The cell counts as empty at 2.0 V under the load of the board as it is, with 1 kΩ.

    By hand: at 0.3155 mA the light drops 1.75 V − 51.73 mV · ln 3.17 − 0.6845 mA · 8.99 Ω =
    1.684 V and the resistor 0.316 V, 2.0 V together; 20 Ω add 6.3 mV: 2.0063 V at rest. From
    there (2.0063 V − 1.75 V) / 1 mA − 20 Ω = 236.3 Ω.
    """
    found = only(sized(circuit_of(COIN), over="end", current=1e-3))

    assert found.answer.chosen[0].wanted == pytest.approx(236.3, rel=2e-3)


def test_lights_that_share_a_resistor_are_sized_together() -> None:
    """Two alike: by hand, each 5 mA, so (5 V − 1.869 V) / 10 mA = 313 Ω."""
    second = "D2 led N1 GND = forward_voltage 1.75 V at 1 mA and 1.95 V at 10 mA\n"
    lit = "~ pattern: [{lights: [D1, D2]}]\n"
    found = only(sized(circuit_of(HELD + second + lit), current=5e-3))

    assert found.subject == "D1, D2"
    assert found.answer.chosen[0].wanted == pytest.approx(313.1, rel=2e-3)


@pytest.mark.parametrize(
    ("board", "missing", "how"),
    [
        (HELD.replace(" = wanted_current 10 mA", ""), "wanted current of D1 is not known",
         "parts: {D1: {wanted_current: 5 mA}}"),
        (HELD.replace("R1 1k VIN N1\n", "").replace("D1 led N1", "D1 led VIN"),
         "no resistor limits its current", "in series"),
        (HELD.replace("R1 1k VIN N1", "R1 1k VIN N2\nR2 1k N2 N1"),
         "several resistors limit its current: R2, R1", "boardvet size led"),
        (HELD.replace("R1 1k", "R1 resistor"), "the value of R1 is not known", "give R1 a value"),
        (HELD.replace("= wanted_current 10 mA", "= wanted_current 90 A"), "even next to no",
         "want less"),
        (HELD.replace("voltage: 5 V", "voltage: 1.5 V"), "even next to no", "feed it from more"),
        (HELD.replace("= forward_voltage 1.75 V at 1 mA and 1.95 V at 10 mA ", ""),
         "forward voltage of D1 is not known", "forward_voltage"),
    ],
    ids=[
        "no wish", "no resistor", "two resistors", "no value", "too much", "too low", "no voltage",
    ],
)  # fmt: skip
def test_what_is_missing_is_said_with_what_to_add(board: str, missing: str, how: str) -> None:
    (found,) = sized(circuit_of(board))

    assert isinstance(found, NotSized)
    assert missing in found.missing
    assert how in found.how


def test_of_lights_that_share_a_resistor_the_one_that_takes_most_decides() -> None:
    """D2 drops 0.1 V less at any current, so it takes e^(100 / 51.7) = 6.9 times as much."""
    second = "D2 led N1 GND = forward_voltage 1.65 V at 1 mA and 1.85 V at 10 mA\n"
    lit = "~ pattern: [{lights: [D1, D2]}]\n"
    circuit = circuit_of(HELD + second + lit)
    found = only(sized(circuit, current=5e-3))

    assert solved_with(circuit, found, "D2") == pytest.approx(5e-3, rel=0.1)
    assert solved_with(circuit, found, "D1") < 2e-3


def test_a_fitted_value_within_the_margin_gives_way_to_a_nearer_one() -> None:
    """334 Ω is 9.5 % off 305 Ω, 330 Ω 8.2 %."""
    found = only(sized(circuit_of(HELD.replace("R1 1k", "R1 334R"))))

    assert found.changes[0].after == "330 Ω"


def test_a_light_that_no_current_reaches_is_not_sized() -> None:
    board = HELD.replace("D1 led N1 GND", "D1 led N1 N9")
    (found,) = sized(circuit_of(board))

    assert isinstance(found, NotSized)


def test_a_suggested_text_is_read_as_the_value_that_was_meant() -> None:
    for text, ohms in (("4.7 kΩ", 4700.0), ("330 Ω", 330.0), ("1 MΩ", 1e6), ("2.2 Ω", 2.2)):
        assert parse_component(text, "R").value == pytest.approx(ohms)
