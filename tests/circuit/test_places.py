"""Places: distances on the board, panels, sides. Sums by hand, Pythagoras."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.circuit.bodies import body_of
from boardvet.circuit.places import Field, Places
from boardvet.errors import MissingFact
from boardvet.testing import circuit_of

PARTS = "U1 mcu @SOIC-8 VCC+ V GND- GND\nC1 1u @0603 V GND\nC2 1u @0603 V GND\n"


def places(*lines: str) -> Places:
    return circuit_of(PARTS + "\n".join(lines)).view(Places)


def field(*lines: str) -> Field:
    return places(*lines).field(["C1", "C2"])


def test_distance_is_from_middle_to_middle_and_between_the_bodies() -> None:
    """3-4-5: 5 mm; less half of 6.2 mm and of 1.6 mm: 1.1 mm."""
    name, gap = field("! U1 0 0", "! C1 3 4", "! C2 30 40").nearest("U1")

    assert name == "C1"
    assert gap.middles == pytest.approx(5e-3)
    assert gap.bodies == pytest.approx(1.1e-3)
    assert gap.told


def test_bodies_that_touch_have_no_gap() -> None:
    assert field("! U1 0 0", "! C1 3 0").nearest("U1")[1].bodies == 0.0


def test_the_place_of_a_panel_that_is_worst_off_counts() -> None:
    near = ("! U1 0 0", "! C1 5 0", "! U1 100 0", "! C1 105 0")

    assert field(*near).nearest("U1")[1].middles == pytest.approx(5e-3)
    assert field(*near, "! U1 200 0").nearest("U1")[1].middles == pytest.approx(95e-3)


def test_sides_are_told_apart() -> None:
    assert field("! U1 0 0 top", "! C1 5 0 bottom").nearest("U1")[1].other_side
    assert not field("! U1 0 0 bottom", "! C1 5 0 bottom").nearest("U1")[1].other_side


def test_a_bottom_seen_from_below_is_turned_only_where_all_of_it_is() -> None:
    turned = field("! U1 10 0 top", "! C1 -12 0 bottom", "! C2 -50 0 bottom")
    as_it_is = field("! U1 10 0 top", "! C1 -12 0 bottom", "! C2 50 0 bottom")

    assert turned.nearest("U1")[1].middles == pytest.approx(2e-3)
    assert as_it_is.nearest("U1")[1].middles == pytest.approx(22e-3)


def test_what_is_not_there_is_asked_for() -> None:
    with pytest.raises(MissingFact, match="no placement file"):
        places().need("U1")
    with pytest.raises(MissingFact, match="U1 is not in the placement file"):
        places("! C1 0 0").need("U1")


@given(
    st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=1, max_size=40),
    st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
)
def test_the_nearest_is_the_nearest_of_all(
    spots: list[tuple[float, float]], own: tuple[float, float]
) -> None:
    lines = [f"C{n} 1u V GND\n! C{n} {x:.4f} {y:.4f}" for n, (x, y) in enumerate(spots, 10)]
    circuit = circuit_of(PARTS + "\n".join([*lines, f"! U1 {own[0]:.4f} {own[1]:.4f}"]))
    found = circuit.view(Places).field([f"C{n}" for n in range(10, 10 + len(spots))])

    wanted = min(hypot(x - own[0], y - own[1]) for x, y in spots)
    assert found.nearest("U1")[1].middles * 1e3 == pytest.approx(wanted, abs=1e-3)


def test_a_place_beyond_all_measure_is_no_endless_search() -> None:
    assert field("! U1 0 0", "! C1 1e12 0").nearest("U1")[1].middles == pytest.approx(1e9)


@pytest.mark.parametrize(
    ("name", "longer"),
    [
        ("R_0402", 1.0),
        ("C_0805_2012", 2.0),
        ("SOT_23", 3.0),
        ("SOT-23-5", 3.0),
        ("SOIC-8_3.9x4.9mm", 6.2),
        ("TSSOP_20", 6.8),
        ("QFN-24-1EP_5x5mm", 5.0),
        ("WSON_6_3X3", 3.0),
        ("LQFP-48_7x7mm", 12.2),
        ("DIP-8_W7.62mm", 10.7),
        ("TO-92", 5.2),
    ],
)
def test_bodies_are_those_of_their_outlines(name: str, longer: float) -> None:
    """The longer side over the leads, from memory of JEDEC outlines; never too small."""
    body = body_of([f"made-up:{name}"], 2)

    assert body.told
    assert body.longer * 1e3 == pytest.approx(longer, abs=0.1)
