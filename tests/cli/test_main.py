"""The command line as a whole: help, version, unknown commands, and what help may import."""

from __future__ import annotations

import gc
import os
import pkgutil
import subprocess
import sys

import pytest

import boardvet.cli
from boardvet import __version__
from boardvet.cli import main

Captured = pytest.CaptureFixture[str]

HEAVY = ("rich", "numpy", "networkx", "pydantic", "yaml", "kinparse", "jinja2")


def test_help_names_every_command(capsys: Captured) -> None:
    commands = [
        module.name
        for module in pkgutil.iter_modules(boardvet.cli.__path__)
        if not module.name.startswith("_")
    ]

    assert main(["--help"]) == 0
    listed = capsys.readouterr().out.partition("commands:\n")[2].partition("\n\n")[0]
    assert sorted(line.split()[0] for line in listed.splitlines()) == sorted(commands)
    assert {"review", "explain"} <= set(commands)


def test_version(capsys: Captured) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"boardvet {__version__}\n"


def test_without_a_command_help_goes_to_standard_error(capsys: Captured) -> None:
    assert main([]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "commands:" in captured.err


@pytest.mark.parametrize(
    ("name", "words"), [("reveiw", "did you mean review?"), ("x", "there are")]
)
def test_an_unknown_command_is_two(capsys: Captured, name: str, words: str) -> None:
    assert main([name]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("on", [True, False])
def test_the_garbage_collector_is_left_as_it_was(on: bool) -> None:
    was_on = gc.isenabled()
    (gc.enable if on else gc.disable)()
    try:
        main(["--version"])
        left = gc.isenabled()
    finally:
        (gc.enable if was_on else gc.disable)()
    assert left is on


def test_linear_algebra_runs_on_one_core_unless_the_user_says_otherwise(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[str | None] = []
    monkeypatch.setattr(
        boardvet.cli, "_dispatch", lambda _: seen.append(os.environ.get("OPENBLAS_NUM_THREADS"))
    )
    monkeypatch.delitem(sys.modules, "numpy", raising=False)
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    main([])
    left = os.environ.get("OPENBLAS_NUM_THREADS")
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "3")
    main([])

    assert (seen, left) == (["1", "3"], None)


@pytest.mark.parametrize("command", [[], ["review"], ["explain"]])
def test_help_imports_nothing_heavy(command: list[str]) -> None:
    script = (
        "import sys; from boardvet.cli import main; "
        f"status = main({[*command, '--help']!r}); "
        f"heavy = [name for name in {HEAVY!r} if name in sys.modules]; "
        "sys.exit(str(heavy) if heavy else status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONPATH": ":".join(sys.path), "PATH": ""},
    )

    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("usage: boardvet")
