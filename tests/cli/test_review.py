"""``boardvet review``: exit statuses, what goes to which stream, and files written whole."""

from __future__ import annotations

import io
import json
import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest
from tests.cli.conftest import Engine
from tests.report.factory import draft_review, finding, review

from boardvet.cli import main
from boardvet.errors import InputError, InputErrors
from boardvet.review.review import Review
from boardvet.review.verdict import Broken, Level, SubjectName

BROKE = Broken("bypass-far", SubjectName("rail", "VBAT"), "KeyError")
BAD = InputError("buoy.net", "ends inside a list", "export it again", 7)

Captured = pytest.CaptureFixture[str]
ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("answers", "status"),
    [
        ([review()], 0),
        ([draft_review()], 1),
        ([review(findings=(finding(level=Level.QUERY),))], 0),
        ([review(gate="query", findings=(finding(level=Level.QUERY),))], 1),
        ([review(gate="never", findings=(finding(),))], 0),
        ([BAD], 2),
        ([review(broken=(BROKE,))], 3),
        ([review(broken=(BROKE,), findings=(finding(),))], 3),
        ([RuntimeError("a fault of ours")], 3),
        ([KeyboardInterrupt()], 130),
        # Of several boards the worst, where 2 goes before 3 before 1.
        ([review(), draft_review()], 1),
        ([draft_review(), review(broken=(BROKE,)), review()], 3),
        ([review(broken=(BROKE,)), BAD, draft_review()], 2),
    ],
)
def test_exit_status(engine: Engine, answers: list[Review | BaseException], status: int) -> None:
    engine(*answers)

    assert main(["review", "board"]) == status


def test_the_report_goes_to_standard_output_alone(engine: Engine, capsys: Captured) -> None:
    engine(draft_review())
    main(["review", "board"])
    captured = capsys.readouterr()

    assert "do not order yet" in captured.out
    assert captured.err == ""


def test_an_error_goes_to_standard_error_alone(engine: Engine, capsys: Captured) -> None:
    engine(InputErrors([BAD, InputError("buoy.csv", "has no columns", "export it again")]))
    main(["review", "board"])
    captured = capsys.readouterr()

    assert captured.out == ""
    assert captured.err == (
        "boardvet: buoy.net:7: ends inside a list (export it again)\n"
        "boardvet: buoy.csv: has no columns (export it again)\n"
    )


def test_a_fault_of_ours_is_one_line_without_a_traceback(engine: Engine, capsys: Captured) -> None:
    engine(ZeroDivisionError("division by zero"))
    main(["review", "board"])
    message = capsys.readouterr().err

    assert message.count("\n") == 1
    assert "ZeroDivisionError: division by zero at conftest.py:" in message


def test_control_characters_of_an_error_are_written_out(engine: Engine, capsys: Captured) -> None:
    engine(InputError("\x1b[31m.net", "is empty", "export it again"))
    main(["review", "board"])

    assert r"\x1b[31m.net: is empty" in capsys.readouterr().err


def test_a_bad_board_hides_no_other(engine: Engine, capsys: Captured) -> None:
    engine(review(board="Tag"), BAD, draft_review())
    main(["review", "one", "two", "three"])
    captured = capsys.readouterr()

    assert "━━ Tag ━━" in captured.out
    assert "━━ Mooring buoy lamp ━━" in captured.out
    assert "━━ 2 boards ━━" in captured.out
    assert "buoy.net:7" in captured.err


def test_options_reach_the_engine(engine: Engine) -> None:
    calls = engine(review())
    options = ["--gate", "note", "--strict", "--assume-nothing", "--reader", "reference"]
    main(["review", *options, "board"])

    assert calls.review == [
        (
            "board-0",
            {"gate": "note", "strict": True, "assume_nothing": True, "reader": "reference"},
        )
    ]


def test_without_options_the_gate_is_hold(engine: Engine) -> None:
    calls = engine(review())
    main(["review", "board"])

    assert calls.review[0][1] == {
        "gate": "hold",
        "strict": False,
        "assume_nothing": False,
        "reader": "own",
    }


def test_paths_and_options_may_mix(engine: Engine, tmp_path: Path) -> None:
    calls = engine(review())
    out = tmp_path / "review.json"
    status = main(["review", "buoy.net", "--out", str(out), "buoy-bom.csv", "--strict", "p.csv"])

    assert status == 0
    assert calls.jobs == [["buoy.net", "buoy-bom.csv", "p.csv"]]


@pytest.mark.parametrize(
    ("paths", "reviewed"),
    [
        (["{good}", "{absent}"], ["good"]),
        (["{good}", "{absent}.net"], ["good"]),
        (["{good}", "{good}/boardvet.yaml", "{absent}.yaml"], ["good", "page"]),
        # A page and loose exports are one board: without one of them it is another board.
        (["{good}/boardvet.yaml", "{absent}.net"], []),
        (["{absent}"], []),
    ],
)
def test_a_path_that_is_wrong_hides_no_board_that_stands_by_itself(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capsys: Captured,
    paths: list[str],
    reviewed: list[str],
) -> None:
    good = tmp_path / "good"
    good.mkdir()
    (good / "boardvet.yaml").write_text("board: Tag\n")
    seen: list[str] = []

    def jobs(asked: Sequence[str]) -> list[SimpleNamespace]:
        for path in asked:
            if not Path(path).exists():
                raise InputError(path, "no such file or folder", "check the path")
        names = ["page" if path.endswith(".yaml") else "good" for path in asked]
        return [SimpleNamespace(name=name, exports=()) for name in names]

    def judge(board: SimpleNamespace, **_: object) -> Review:
        seen.append(board.name)
        return review()

    fake = ModuleType("boardvet.api")
    fake.__dict__.update(jobs=jobs, review=judge)
    monkeypatch.setitem(sys.modules, "boardvet.api", fake)
    places = [path.format(good=good, absent=tmp_path / "absent") for path in paths]

    out = tmp_path / "review.json"

    assert main(["review", *places, "--out", str(out)]) == 2
    assert seen == reviewed
    assert out.exists() is bool(reviewed)
    if reviewed:
        assert json.loads(out.read_text("utf-8"))["schema"] == "boardvet-reviews/1"
    assert capsys.readouterr().err.count("no such file or folder") == 1


# Files


def test_json_is_written_beside_the_report(
    engine: Engine, tmp_path: Path, capsys: Captured
) -> None:
    engine(draft_review())
    main(["review", "board", "--out", str(tmp_path / "review.json")])
    written = json.loads((tmp_path / "review.json").read_text("utf-8"))

    assert written["schema"] == "boardvet-review/1"
    assert "do not order yet" in capsys.readouterr().out
    assert [path.name for path in tmp_path.iterdir()] == ["review.json"]


def test_out_may_repeat(engine: Engine, tmp_path: Path) -> None:
    engine(review())
    outs = [tmp_path / "a.json", tmp_path / "b.JSON"]
    main(["review", "board", *(word for out in outs for word in ("--out", str(out)))])

    assert outs[0].read_bytes() == outs[1].read_bytes() != b""


def test_several_boards_are_one_json_of_those_that_could_be_read(
    engine: Engine, tmp_path: Path
) -> None:
    engine(review(board="one"), BAD, review(board="three"))
    main(["review", "1", "2", "3", "--out", str(tmp_path / "r.json")])
    written = json.loads((tmp_path / "r.json").read_text("utf-8"))

    assert written["schema"] == "boardvet-reviews/1"
    assert [item["board"]["name"] for item in written["reviews"]] == ["one", "three"]


def test_bad_input_leaves_an_earlier_file_as_it_was(engine: Engine, tmp_path: Path) -> None:
    out = tmp_path / "review.json"
    out.write_text("earlier")
    engine(BAD)

    assert main(["review", "board", "--out", str(out)]) == 2
    assert out.read_text() == "earlier"


def test_a_write_that_fails_leaves_an_earlier_file_and_no_draft(
    engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    out = tmp_path / "review.json"
    out.write_text("earlier")
    engine(review())

    def full(path: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)

    assert main(["review", "board", "--out", str(out)]) == 2
    assert "review.json: cannot be written: No space left" in capsys.readouterr().err
    assert out.read_text() == "earlier"
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("review.sarif", ".sarif is not built yet (write .json)"),
        ("review.xml", ".xml is not built yet"),
        ("review.md", ".md is not built yet"),
        ("review.html", ".html is not built yet"),
        ("review.pdf", "the suffix .pdf says no format (write .json)"),
        ("review", "the suffix (none) says no format"),
        ("absent/review.json", "there is no folder"),
    ],
)
def test_an_out_that_cannot_be_is_refused_before_anything_is_read(
    engine: Engine, tmp_path: Path, capsys: Captured, name: str, words: str
) -> None:
    calls = engine(review())

    assert main(["review", "board", "--out", str(tmp_path / name)]) == 2
    assert words in capsys.readouterr().err
    assert calls.jobs == []


@pytest.mark.parametrize("option", ["--since", "--house-rules"])
def test_what_is_not_built_is_refused_in_plain_words(
    engine: Engine, capsys: Captured, option: str
) -> None:
    engine(review())

    assert main(["review", "board", option, "thing"]) == 2
    assert f"{option} is not built yet" in capsys.readouterr().err


@pytest.mark.parametrize(
    "wrong",
    [[], ["board", "--gate", "fatal"], ["board", "--colour"], ["board", "--reader", "other"]],
)
def test_wrong_usage_is_two(engine: Engine, wrong: list[str]) -> None:
    engine(review())

    assert main(["review", *wrong]) == 2


# Streams


def test_a_reader_that_has_gone_away_changes_nothing(
    engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    engine(draft_review())
    reading, writing = os.pipe()
    os.close(reading)
    out = tmp_path / "review.json"
    with open(writing, "w", encoding="utf-8") as closed:
        monkeypatch.setattr(sys, "stdout", closed)
        status = main(["review", "board", "--out", str(out)])
        monkeypatch.undo()

    assert status == 1
    assert out.exists()
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_an_encoding_without_our_signs_gets_words(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, encoding: str
) -> None:
    engine(draft_review())
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    main(["review", "board"])
    text = raw.getvalue().decode(encoding)

    assert text.startswith("== Mooring buoy lamp ===")
    assert "Put 68 ohm in series" in text
    assert "?" not in text


def test_a_log_gets_no_escapes(engine: Engine, capsys: Captured) -> None:
    engine(draft_review())
    main(["review", "board"])

    assert "\x1b" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)],
)
def test_a_terminal_gets_colour_unless_it_wants_none(
    engine: Engine,
    monkeypatch: pytest.MonkeyPatch,
    environment: dict[str, str],
    coloured: bool,
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    engine(draft_review())
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    main(["review", "board"])

    assert ("\x1b[" in terminal.getvalue()) is coloured


@pytest.mark.parametrize("columns", ["80", "120"])
def test_the_report_is_as_wide_as_the_terminal(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, capsys: Captured, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    engine(draft_review())
    main(["review", "board"])

    assert max(map(len, capsys.readouterr().out.splitlines())) == int(columns)


def test_progress_is_told_where_drawing_boards_takes_long(
    tmp_path: Path, capsys: Captured
) -> None:
    """The ladder light runs some 500 to 720 days, so that only drawing tells who reaches 600."""
    board = tmp_path / "board"
    shutil.copytree(ROOT / "fixtures/ladder-light/sound", board)
    page = board / "boardvet.yaml"
    text = page.read_text(encoding="utf-8").replace("run_time: 200 days", "run_time: 600 days")
    page.write_text(f"{text}\nsettings: {{run-time: {{boards: 2000}}}}\n", encoding="utf-8")

    main(["review", str(board), "--gate", "never"])

    said = capsys.readouterr().err
    assert "1,000 of 2,000 boards drawn" in said
    assert "2,000 of 2,000 boards drawn" in said
