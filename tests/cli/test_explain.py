"""``boardvet explain``: pages of rules and topics, the list by area, and near misses."""

from __future__ import annotations

import sys
from types import ModuleType, SimpleNamespace

import pytest

from boardvet.cli import main
from boardvet.review.verdict import Level

Captured = pytest.CaptureFixture[str]

PAGE = """An LED has nothing that limits its current.

On the bench
------------
It flares and dies within minutes, and the cell with it, which is seen first on a fresh one.

Settings
--------
share : of the rated current that is allowed. Default 1.

Wrong::

    D1 red   VBAT GND
"""


def rule(name: str, area: str, title: str, page: str = "") -> SimpleNamespace:
    return SimpleNamespace(id=name, area=area, level=Level.HOLD, title=title, page=page or title)


@pytest.fixture(autouse=True)
def packs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two packs with three rules in two areas."""
    light = rule("led-unlimited", "light", "An LED has nothing that limits its current", PAGE)
    other = rule("led-reversed", "light", "An LED is the wrong way round")
    ours = rule("screw-missing", "house", "A screw is \x1b[31mmissing")
    pack = SimpleNamespace(name="built-in", version="0.1.0", rules=(light, other))
    own = SimpleNamespace(name="our-pack", version="7", rules=(ours,))
    fake = ModuleType("boardvet.review.packs")
    fake.__dict__["load_packs"] = lambda: (pack, own)
    monkeypatch.setitem(sys.modules, "boardvet.review.packs", fake)
    page = ModuleType("boardvet.intent.page")
    page.__dict__["intent_page"] = lambda: "The intent page\n"
    monkeypatch.setitem(sys.modules, "boardvet.intent.page", page)
    monkeypatch.setenv("COLUMNS", "80")


def test_alone_it_lists_the_rules_by_area_and_the_topics(capsys: Captured) -> None:
    assert main(["explain"]) == 0
    assert capsys.readouterr().out == (
        "house\n"
        "  screw-missing          hold   A screw is \\x1b[31mmissing\n"
        "\n"
        "light\n"
        "  led-reversed           hold   An LED is the wrong way round\n"
        "  led-unlimited          hold   An LED has nothing that limits its current\n"
        "\n"
        "topics\n"
        "  files, gate, intent, packs\n"
    )


def test_a_rule_has_its_page_under_its_name(capsys: Captured) -> None:
    assert main(["explain", "led-unlimited"]) == 0
    text = capsys.readouterr().out

    assert text.startswith("led-unlimited · light · hold · built-in 0.1.0\n\nAn LED has nothing")
    assert "On the bench\n------------\n" in text
    assert "share : of the rated current" in text
    assert "Wrong:\n\n    D1 red   VBAT GND\n" in text


def test_a_page_fits_the_terminal(capsys: Captured) -> None:
    main(["explain", "led-unlimited"])

    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_an_area_has_its_list(capsys: Captured) -> None:
    main(["explain", "house"])

    assert capsys.readouterr().out.startswith("house\n  screw-missing")


@pytest.mark.parametrize(
    ("topic", "words"),
    [
        ("intent", "The intent page"),
        ("files", "recognised by what is in it"),
        ("gate", "Exit status"),
        ("packs", 'group "boardvet.packs"'),
        ("GATE", "Exit status"),
    ],
)
@pytest.mark.parametrize("columns", ["60", "80", "120"])
def test_a_topic_has_its_page(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch, topic: str, words: str, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)

    assert main(["explain", topic]) == 0
    text = capsys.readouterr().out
    assert words in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= int(columns)


def test_a_long_line_of_a_list_hangs_under_its_second_column(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    main(["explain", "gate"])

    assert (
        "  --assume-nothing   no default value is used; what would\n"
        "                     rest on one is not judged\n"
    ) in capsys.readouterr().out


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("led-unlimted", "led-unlimited"),
        ("gates", "gate"),
        ("intnt", "intent"),
        ("lihgt", "light"),
    ],
)
def test_a_near_miss_gets_the_nearest_names(capsys: Captured, name: str, near: str) -> None:
    assert main(["explain", name]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert near in captured.err.partition("nearest: ")[2]


def test_a_name_like_no_other_is_told_where_the_list_is(capsys: Captured) -> None:
    assert main(["explain", "zzzzzz"]) == 2
    assert "'boardvet explain' lists all" in capsys.readouterr().err
