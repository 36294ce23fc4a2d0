"""The README shows what the program says today."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from boardvet.cli import main

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
LEFT_OUT = "[…]"

SHOWN = re.findall(r"```sh\nboardvet ([^\n]*)\n```\n\n```text\n(.*?)```", README, flags=re.DOTALL)
"""Each command that stands directly above what it says."""


def test_there_is_something_to_show() -> None:
    assert {command.split()[0] for command, _ in SHOWN} == {"review", "cells", "size"}
    assert README.count("```text\n") == len(SHOWN)


@pytest.mark.parametrize(("command", "shown"), SHOWN, ids=[command for command, _ in SHOWN])
def test_the_output_that_it_shows_is_real(
    command: str,
    shown: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")

    status = main(shlex.split(command))

    said = capsys.readouterr().out
    assert status == 0
    for piece in shown.split(LEFT_OUT):
        assert piece.strip("\n") in said


def test_the_intent_page_that_it_shows_is_one(tmp_path: Path) -> None:
    from boardvet.intent import read_intent

    text = README.split("```yaml\n")[1].split("```")[0]
    page = tmp_path / "boardvet.yaml"
    page.write_text(text, encoding="utf-8")

    assert read_intent(page).board == "Ladder light"
