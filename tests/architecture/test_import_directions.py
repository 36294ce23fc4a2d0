"""Imports run one way, and a light start stays light."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest

LAYERS = {
    "_version": (),
    "_callable": (),
    "errors": (),
    "known": (),
    "board": (),
    "quantity": ("errors",),
    "vocabulary": ("errors", "quantity", "known", "board"),
    "physics": ("errors",),
    "read": ("_callable", "errors", "board", "quantity", "vocabulary"),
    "intent": ("errors", "board", "known", "quantity", "vocabulary", "read"),
    "facts": ("errors", "board", "known", "quantity", "vocabulary", "physics", "intent", "read"),
    "circuit": (
        "_callable", "errors", "board", "known", "quantity", "vocabulary", "physics",
        "intent", "facts",
    ),
    "review": (
        "_callable", "_version", "errors", "board", "known", "quantity", "vocabulary",
        "intent", "circuit",
    ),
    "sizing": (
        "errors", "board", "known", "quantity", "vocabulary", "physics", "intent", "facts",
        "circuit",
    ),
    "report": ("_version", "errors", "board", "known", "quantity", "review"),
    "testing": (
        "errors", "board", "known", "quantity", "vocabulary", "intent", "facts", "circuit",
        "review",
    ),
    "api": ("errors", "board", "intent", "facts", "read", "circuit", "review"),
    "cli": (
        "_version", "errors", "board", "quantity", "api", "review", "report", "intent",
        "vocabulary", "facts", "sizing", "circuit",
    ),
    "__init__": ("_version", "api", "review"),
    "__main__": ("cli",),
}  # fmt: skip
"""What each module or package of the engine may import of the others."""

HEAVY = ("numpy", "pydantic", "networkx", "rich", "kinparse", "yaml")


def _package(name: str) -> Path:
    spec = find_spec(name)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def _modules(package: str) -> list[Path]:
    return sorted(_package(package).rglob("*.py"))


def _layer(path: Path) -> str:
    relative = path.relative_to(_package("boardvet"))
    return relative.parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", _modules("boardvet"), ids=str)
def test_a_module_imports_only_what_lies_before_it(path: Path) -> None:
    layer = _layer(path)
    allowed = {layer, *LAYERS[layer]}
    for module in _imports(path):
        head, _, rest = module.partition(".")
        assert head != "boardvet_rules", f"{path}: the engine does not know its packs"
        if head == "boardvet" and rest:
            assert rest.split(".")[0] in allowed, f"{path}: {layer} imports {module}"


@pytest.mark.parametrize("path", _modules("boardvet_rules"), ids=str)
def test_a_rule_imports_neither_readers_nor_reports(path: Path) -> None:
    for module in _imports(path):
        head, _, rest = module.partition(".")
        if head == "boardvet" and rest:
            assert rest.split(".")[0] not in {"read", "report", "cli", "api"}, f"{path}: {module}"


def test_importing_boardvet_loads_no_heavy_library() -> None:
    code = f"import sys, boardvet; print([m for m in {HEAVY!r} if m in sys.modules])"
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert shown.stdout.strip() == "[]"


def test_the_layer_table_names_every_package() -> None:
    assert {_layer(path) for path in _modules("boardvet")} == set(LAYERS)
