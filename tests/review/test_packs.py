"""Packs are found by entry point, rules without any list; a bad pack is a clear error."""

from __future__ import annotations

import sys
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from boardvet.review import packs
from boardvet.review.packs import PackError, load_packs

RULE = '''
"""A made-up rule."""
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import SupplyRail
from boardvet.review.rule import rule
from boardvet.review.verdict import Clear, Level

@rule(level=Level.NOTE)
def check(rail: SupplyRail) -> Clear:
    return Clear()
'''


def entry(name: str, value: str) -> EntryPoint:
    return EntryPoint(name, value, packs.GROUP)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.syspath_prepend(str(tmp_path))
    load_packs.cache_clear()
    return tmp_path


def install(
    folder: Path, monkeypatch: pytest.MonkeyPatch, name: str, files: dict[str, str]
) -> None:
    """Put a pack on the path and make its entry point the only one."""
    for path, text in files.items():
        target = folder / name / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text)
    for module in [m for m in sys.modules if m.split(".")[0] == name]:
        del sys.modules[module]
    (folder / name / "__init__.py").write_text(
        f"from boardvet.review.packs import Pack\nPACK = Pack('{name}', '1.0', '{name}')\n"
    )
    found = [entry(name, f"{name}:PACK")]
    monkeypatch.setattr(packs, "entry_points", lambda group: found)
    load_packs.cache_clear()


def test_the_built_in_pack_is_found_and_sorted() -> None:
    load_packs.cache_clear()
    (built_in,) = [pack for pack in load_packs() if pack.name == "built-in"]

    assert [(r.area, r.id) for r in built_in.rules] == sorted(
        (r.area, r.id) for r in built_in.rules
    )
    assert "led-unlimited" in {rule.id for rule in built_in.rules}


def test_id_and_area_come_from_the_path(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    install(folder, monkeypatch, "hutpack", {"hut/__init__.py": "", "hut/roof_leaks.py": RULE})
    (pack,) = load_packs()

    assert [(rule.area, rule.id, rule.title) for rule in pack.rules] == [
        ("hut", "roof-leaks", "A made-up rule")
    ]


def test_a_module_that_cannot_be_imported_is_named(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    install(folder, monkeypatch, "badpack", {"hut/__init__.py": "", "hut/broken.py": "1/0"})

    with pytest.raises(PackError, match=r"badpack\.hut\.broken cannot be imported"):
        load_packs()


def test_a_module_without_a_rule_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    install(folder, monkeypatch, "nopack", {"hut/__init__.py": "", "hut/empty.py": ""})

    with pytest.raises(PackError, match="holds 0 rules"):
        load_packs()


def test_an_id_that_stands_twice_is_refused(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {
        "hut/__init__.py": "",
        "hut/roof.py": RULE,
        "shed/__init__.py": "",
        "shed/roof.py": RULE,
    }
    install(folder, monkeypatch, "doublepack", files)

    with pytest.raises(PackError, match="rule roof is also in pack"):
        load_packs()


def test_an_entry_point_that_is_no_pack_is_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(packs, "entry_points", lambda group: [entry("wrong", "pathlib:Path")])
    load_packs.cache_clear()

    with pytest.raises(PackError, match="is no Pack"):
        load_packs()


@pytest.fixture(autouse=True)
def forget_packs() -> object:
    yield
    load_packs.cache_clear()
