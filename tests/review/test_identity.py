"""Identities outlive renumbering, edited values and removed neighbours."""

from __future__ import annotations

import re

from boardvet.review.identity import Identities
from boardvet.testing import board_of

BOARD = """
BT1 CR2032 VBAT GND
U1 controller/made-up 8:VCC+ VBAT 4:GND- GND 5:PB0 LAMP 6:PB1 _u6
R1 330 LAMP _r1
D1 led/red _r1 GND
R2 330 _u6 _r2
D2 led/red _r2 GND
C1 100n VBAT GND
C2 10u VBAT GND
"""


def identities(text: str) -> Identities:
    return Identities.of_board(board_of(text))


def renumbered(text: str, **names: str) -> str:
    return re.sub(r"\b([A-Z]+\d+)\b", lambda match: names.get(match[1], match[1]), text)


def test_renumbering_parts_keeps_every_identity() -> None:
    before = identities(BOARD)
    after = identities(renumbered(BOARD, R1="R7", D1="D9", C1="C2", C2="C1"))

    assert after.part("R7") == before.part("R1")
    assert after.part("D9") == before.part("D1")
    assert sorted(after.of_part.values()) == sorted(before.of_part.values())


def test_new_automatic_net_names_keep_every_identity() -> None:
    before = identities(BOARD)
    after = identities(BOARD.replace("_r1", "_net12").replace("_u6", "_net40"))

    assert after.of_part == before.of_part


def test_an_edited_value_keeps_every_identity() -> None:
    assert identities(BOARD.replace("330", "1k")).of_part == identities(BOARD).of_part


def test_a_removed_part_changes_only_what_hung_on_its_automatic_nets() -> None:
    before = identities(BOARD)
    after = identities(BOARD.replace("R2 330 _u6 _r2\n", ""))

    changed = {ref for ref in after.of_part if after.part(ref) != before.part(ref)}
    assert changed == {"D2", "U1"}


def test_a_renamed_net_changes_the_identities_on_it() -> None:
    before = identities(BOARD)
    after = identities(BOARD.replace("LAMP", "LANTERN"))

    changed = {ref for ref in after.of_part if after.part(ref) != before.part(ref)}
    assert changed == {"U1", "R1"}


def test_equal_places_have_equal_identities() -> None:
    of = identities(BOARD)

    assert of.part("C1") == of.part("C2")
    assert of.part("R1") != of.part("R2")


def test_a_part_that_is_not_on_the_board_is_its_own_text() -> None:
    of = identities(BOARD)

    assert of.part("R99") == of.part("R99")
    assert of.part("R99") != of.part("R98")
