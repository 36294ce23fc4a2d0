"""The Python interface: functions that share their names with packages stay callable."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import boardvet
from boardvet.errors import InputErrors
from boardvet.testing import judge

ROOT = Path(__file__).resolve().parents[1] / "fixtures"
BOARD = ROOT / "ladder-light" / "sound"


def test_read_gives_a_board() -> None:
    board = boardvet.read(BOARD)

    assert board.name == "Ladder light"
    assert "U1" in board.parts


def test_circuit_gives_a_handle_that_answers_views() -> None:
    from boardvet.circuit.cells import Cells

    cells = boardvet.circuit(BOARD).view(Cells).all

    assert [cell.designation for cell in cells] == ["CR2032"]


def test_review_gives_a_review() -> None:
    assert boardvet.review(BOARD).board == "Ladder light"


def test_rule_and_pack_are_for_those_who_write_rules() -> None:
    assert boardvet.Pack("a", "1", "b").package == "b"
    assert callable(boardvet.rule)
    assert callable(judge)


@pytest.mark.parametrize("first", ["boardvet.review.packs", "boardvet.circuit.cells"])
def test_the_functions_work_whatever_was_imported_before(first: str) -> None:
    code = f"import {first}, boardvet; print(boardvet.review({str(BOARD)!r}).board)"
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert shown.stdout.strip() == "Ladder light"


def test_a_path_that_is_not_there_is_a_typed_error() -> None:
    with pytest.raises(InputErrors, match="no such file"):
        boardvet.review(ROOT / "nowhere")


def test_an_unknown_attribute_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute"):
        boardvet.unheard_of  # noqa: B018
