"""``boardvet size``: lists, says what it needs, sizes, and tells all mistakes in a line each."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

import pytest

from boardvet.cli import main
from boardvet.cli._board_sizes import _lacking
from boardvet.intent import parse_intent
from boardvet.sizing import names
from boardvet.sizing.on_board._outcome import NotSized

Captured = pytest.CaptureFixture[str]

LED = ["size", "led", "supply=2.0 to 3.2 V", "forward_voltage=1.95 V at 10 mA", "current=5 mA"]


@pytest.fixture(autouse=True)
def _narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def test_alone_it_lists_the_calculations(capsys: Captured) -> None:
    assert main(["size"]) == 0
    lines = capsys.readouterr().out.splitlines()

    assert [line.split()[0] for line in lines[: len(names())]] == list(names())


@pytest.mark.parametrize("name", names())
def test_a_calculation_alone_says_what_it_needs_with_an_example_that_runs(
    capsys: Captured, name: str
) -> None:
    assert main(["size", name]) == 0
    page = capsys.readouterr().out
    example = shlex.split(page.rstrip("\n").splitlines()[-1])
    assert example[:3] == ["boardvet", "size", name]

    assert main(example[1:]) == 0
    assert "value  " in capsys.readouterr().out


@pytest.mark.parametrize("columns", ["80", "120"])
@pytest.mark.parametrize("name", names())
def test_pages_and_answers_fit_the_terminal(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch, name: str, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    main(["size", name])
    *page, example = capsys.readouterr().out.rstrip("\n").splitlines()
    main(shlex.split(example)[1:])

    assert max(map(len, (*page, *capsys.readouterr().out.splitlines()))) <= int(columns)


def test_the_answer_shows_value_sum_end_and_what_to_buy(capsys: Captured) -> None:
    assert main(LED) == 0
    captured = capsys.readouterr()

    assert captured.err == ""
    assert captured.out.splitlines()[1:6] == [
        "  value  resistor 270 Ω (E12)",
        "    sum  (3.2 V − 1.88 V) / 5 mA = 263 Ω",
        "         270 Ω of E12: 4.88 mA at 3.2 V",
        "    end  4.88 mA at 3.2 V, 859 µA at 2 V (18 % of it)",
        "         dark (under 5 % of the wanted current) below 1.77 V",
    ]


def test_colour_only_where_the_terminal_takes_it(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    main(LED)
    plain = capsys.readouterr().out
    monkeypatch.setattr("boardvet.cli.size.coloured", lambda: True)
    main(LED)
    bright = capsys.readouterr().out

    assert "\x1b" not in plain
    assert "\x1b[" in bright


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["ledd"], "'ledd' is neither a calculation nor a file or folder (did you mean led?)"),
        (["supply=3 V"], "'supply=3 V' stands before its calculation"),
        (["led", "supply=3"], "led: supply: '3' has no unit (write supply=\"2.0 to 3.2 V\")"),
        (["led", "supply=1.5 V", "colour=blue", "current=5 mA"], "led: 5 mA needs"),
        (["--nonsense"], "unrecognized arguments: --nonsense"),
    ],
)
def test_wrong_usage_is_two_and_says_what_to_write(
    capsys: Captured, words: list[str], message: str
) -> None:
    assert main(["size", *words]) == 2
    captured = capsys.readouterr()

    assert captured.out == ""
    assert message in captured.err
    assert "Traceback" not in captured.err


def test_a_value_cannot_steer_the_terminal(capsys: Captured) -> None:
    assert main(["size", "led", "supply=3\x1b[31m V"]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_the_list_loads_no_heavy_library(tmp_path: Path) -> None:
    import subprocess

    code = (
        "import sys; from boardvet.cli import main; main(['size']); main(['size', 'led']);"
        "heavy = {'numpy', 'networkx', 'pydantic', 'yaml'} & set(sys.modules);"
        "print('heavy:', *sorted(heavy))"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert shown.stdout.splitlines()[-1] == "heavy:"


class TestOnABoard:
    """With the paths of a board."""

    @pytest.fixture
    def board(self) -> str:
        return str(Path(__file__).parents[2] / "fixtures" / "ladder-light" / "sound")

    def test_what_is_alike_is_said_once(self, capsys: Captured, board: str) -> None:
        assert main(["size", board, "led"]) == 0
        lines = capsys.readouterr().out.splitlines()

        assert lines[0].startswith("━━ Ladder light ")
        assert lines[2].startswith("── D1-D4 ")
        assert lines[3].startswith("  value  R1-R4 390 → ")
        assert [line.split()[0] for line in lines if line.startswith(" solved")] == ["solved"]

    def test_what_the_board_says_is_not_asked_for(self, capsys: Captured, board: str) -> None:
        assert main(["size", board, "led", "supply=3 V", "current=x"]) == 2
        error = capsys.readouterr().err
        assert "led: supply comes from the board (leave it out; what may be said" in error
        assert "led: current: 'x' is not a number" in error

    def test_a_named_calculation_without_subject_says_so(
        self, capsys: Captured, tmp_path: Path
    ) -> None:
        bare = tmp_path / "bare.net"
        bare.write_text(
            '(export (version D) (design (tool "drawn by hand")) (components (comp (ref R1) '
            "(value 1k))) (nets (net (code 1) (name A) (node (ref R1) (pin 1)))))",
            encoding="utf-8",
        )
        assert main(["size", str(bare), "led"]) == 0
        assert "nothing on it to size: led" in capsys.readouterr().out

    def test_a_file_that_cannot_be_read_is_two(self, capsys: Captured, tmp_path: Path) -> None:
        (tmp_path / "x.net").write_text("(export", encoding="utf-8")
        assert main(["size", str(tmp_path / "x.net"), "led"]) == 2
        assert "x.net" in capsys.readouterr().err

    @pytest.mark.parametrize("columns", ["80", "120"])
    def test_its_page_fits_the_terminal(
        self, capsys: Captured, monkeypatch: pytest.MonkeyPatch, board: str, columns: str
    ) -> None:
        monkeypatch.setenv("COLUMNS", columns)
        main(["size", board])
        assert max(map(len, capsys.readouterr().out.splitlines())) <= int(columns)


def test_what_is_to_be_added_for_several_lights_can_be_pasted() -> None:
    """A comma parts the keys of a page: each reference or range has an entry of its own."""
    known = NotSized(
        "D1", "wanted current of D1 is not known", "parts: {D1: {wanted_current: 5 mA}}"
    )
    group = [known._replace(subject=name) for name in ("D1", "D3", "D4", "D5", "D6")]
    page = _lacking(group).rpartition("; ")[2]
    assert set(parse_intent(page + "\n").parts) == {"D1", "D3", "D4", "D5", "D6"}
