"""The README shows what the program says today."""

from __future__ import annotations

from pathlib import Path

import pytest

from boardvet.cli import main

ROOT = Path(__file__).resolve().parents[1]
LEFT_OUT = "[…]"


def test_the_output_that_it_shows_is_real(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")
    shown = (ROOT / "README.md").read_text(encoding="utf-8").split("```text\n")[1].split("```")[0]

    status = main(["review", "fixtures/ladder-light/draft", "--gate", "never"])

    said = capsys.readouterr().out
    assert status == 0
    for piece in shown.split(LEFT_OUT):
        assert piece.strip("\n") in said


def test_the_intent_page_that_it_shows_is_one(tmp_path: Path) -> None:
    from boardvet.intent import read_intent

    text = (ROOT / "README.md").read_text(encoding="utf-8").split("```yaml\n")[1].split("```")[0]
    page = tmp_path / "boardvet.yaml"
    page.write_text(text, encoding="utf-8")

    assert read_intent(page).board == "Ladder light"
