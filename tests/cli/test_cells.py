"""``boardvet cells``: a table that fits, best first, with reasons, and errors in plain words."""

from __future__ import annotations

import contextlib
import io
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from boardvet.cli import main

Captured = pytest.CaptureFixture[str]

FIXTURES = Path(__file__).parents[2] / "fixtures"
LAMP = FIXTURES / "crate-lamp" / "sound"
LADDER = FIXTURES / "ladder-light" / "sound"
DRAFT = FIXTURES / "ladder-light" / "draft"


def page_of(*words: str, columns: int = 80) -> str:
    """Run the command as on a terminal of a width that takes no colour."""
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(io.StringIO()) as out:
        patch.setenv("COLUMNS", str(columns))
        assert main(["cells", *words]) == 0
    return out.getvalue()


@pytest.fixture(scope="module")
def lamp() -> str:
    return page_of(str(LAMP))


@pytest.fixture(scope="module")
def ladder() -> str:
    return page_of(str(LADDER))


@pytest.fixture(scope="module")
def draft() -> str:
    return page_of(str(DRAFT), columns=120)


def rows(page: str) -> Iterator[tuple[str, str]]:
    """Yield the name and the verdict of each row of the table, the mark left out."""
    for line in page.splitlines():
        found = re.match(r"[> ] (\d × )?(\S+).* {2}(meets .*|\d\S* \w+ short.*)$", line)
        if found:
            yield f"{found[1] or ''}{found[2]}", found[3]


def as_one(page: str) -> str:
    return " ".join(page.split())


@pytest.mark.parametrize("columns", [80, 120])
def test_every_line_fits_the_terminal(columns: int) -> None:
    lines = page_of(str(LAMP), columns=columns).splitlines()
    assert max(map(len, lines)) <= columns
    assert len(lines) > 20


def test_pages_of_other_boards_fit(ladder: str, draft: str) -> None:
    assert max(map(len, ladder.splitlines())) <= 80
    assert max(map(len, draft.splitlines())) <= 120


def test_those_that_meet_the_time_come_first_with_run_time_dip_size_and_mass(lamp: str) -> None:
    """The page wants 3 days. 16340: 18 g, 16 mm × 34 mm (data, from memory)."""
    found = list(rows(lamp))
    verdicts = [verdict for _, verdict in found]
    meeting = [verdict for verdict in verdicts if verdict == "meets 3 days"]
    assert verdicts[: len(meeting)] == meeting
    assert all(verdict.endswith("short") for verdict in verdicts[len(meeting) :])
    (line,) = [line for line in lamp.splitlines() if line.startswith("  16340*")]
    assert re.fullmatch(
        r"  16340\* +[\d.]+–[\d.]+ days +[\d.]+ mV +\d+ % +16 × 34 +18  meets 3 days", line
    )


def test_the_fitted_cell_is_marked_once(lamp: str, ladder: str) -> None:
    for page, name in ((lamp, "> lithium-ion*"), (ladder, "> CR2032")):
        marked = [line for line in page.splitlines() if line.startswith(">")]
        assert len(marked) == 1
        assert marked[0].startswith(name)
        assert "> is fitted" in page


def test_the_fitted_cell_has_a_row_where_many_are_lighter() -> None:
    """Two LR03 weigh 23 g; all coins that meet the 400 days of the page are lighter."""
    page = page_of(str(FIXTURES / "frost-tag" / "sound"))
    (line,) = [line for line in page.splitlines() if line.startswith(">")]
    assert line.startswith("> 2 × LR03 (AAA) ")
    assert line.endswith("23  meets 400 days")


def test_reasons_are_folded_into_one_paragraph_each(lamp: str) -> None:
    text = as_one(lamp)
    assert text.count("U1 would charge it, which it does not stand: every lithium manganese") == 1
    assert "which is too much: ML1220, ML2032 (made for 3.2 V a cell)" in text
    assert not re.search(r"\bCR2032", text)


def test_what_is_folded_away_is_counted_and_can_be_listed(ladder: str) -> None:
    heavier = re.search(r"^  (\d+) more, heavier: ", ladder, re.MULTILINE)
    assert heavier is not None
    whole = page_of(str(LADDER), "--all", columns=120)
    assert "--all" not in whole
    before, after = dict(rows(ladder)), dict(rows(whole))
    assert set(before) < set(after)
    kept, all_of_them = (
        [verdict for verdict in some.values() if verdict.startswith("meets")]
        for some in (before, after)
    )
    assert len(all_of_them) - len(kept) == int(heavier[1])


def test_a_board_that_does_not_start_says_which_part_and_in_a_dip(draft: str) -> None:
    """FAULTS.md: the draft browns out at 2.7 V, and its lights pull the coin cell below that."""
    (line,) = [line for line in draft.splitlines() if line.startswith(">")]
    assert "none" in line
    assert "does not start" in line
    assert "does not start: U1 resets below 2.7 V on VDD in the first dip: CR1025" in (
        as_one(draft).replace("Does", "does")
    )
    assert "too much current: D3 stands 30 mA" in draft.replace("Too", "too")


def test_without_a_time_wanted_it_says_by_what_it_ranks(draft: str) -> None:
    assert "longest run time a gram comes first" in as_one(draft)
    assert "U1 resets below 2.7 V on VDD in a dip" in draft


def test_it_says_whether_a_regulator_would_pay_with_both_numbers(ladder: str, lamp: str) -> None:
    for page in (ladder, lamp):
        text = as_one(page)
        assert re.search(
            r"A low-drop-out regulator of \d\.?\d? V would pay: [\d.]+ days in place of "
            r"[\d.]+ days, \d+ % of the charge left at the stop, now \d+ %\.",
            text,
        )
        assert "Assumed: drop-out 100 mV and 1 µA" in text
    assert "A step-up converter of 2.5 V would strand charge" in as_one(ladder)


def test_coins_and_rechargeables_come_with_their_cautions(ladder: str) -> None:
    text = as_one(ladder)
    assert "A child who swallows a coin or button cell can die of it" in text
    assert "* is rechargeable: it needs its own charger" in text
    assert re.search(r"^  LIR2450\*", ladder, re.MULTILINE)


def test_colour_only_where_the_terminal_takes_it(
    lamp: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("boardvet.cli.cells.coloured", lambda: True)
    bright = page_of(str(LAMP))
    assert "\x1b" not in lamp
    assert "\x1b[" in bright
    assert re.sub(r"\x1b\[[0-9;]*m", "", bright) == lamp


def test_a_board_without_facts_says_what_is_not_counted(tmp_path: Path) -> None:
    shutil.copy(LADDER / "ladder-light.net", tmp_path / "bare.net")
    text = as_one(page_of(str(tmp_path)))
    assert re.search(r"not compared: .*state ", text, re.IGNORECASE) or "without what " in text
    assert "regulator between" not in text


def test_a_cell_without_capacity_is_asked_for_and_the_others_are_compared(tmp_path: Path) -> None:
    board = tmp_path / "lamp"
    shutil.copytree(LAMP, board)
    for file in board.iterdir():
        text = file.read_text("utf-8").replace("capacity: 1000 mAh, ", "")
        file.write_text(text.replace("lithium-ion 1000 mAh", "lithium-ion"), "utf-8")
    shown = page_of(str(board))
    assert "cell: {part: BT1, type: lithium-ion, capacity: 400 mAh}" in shown
    assert dict(rows(shown))["18650*"] == "meets 3 days"


def test_boards_come_one_after_another(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        shutil.copy(LAMP / "crate-lamp.net", tmp_path / name)
    pages = page_of(str(tmp_path / "one"), str(tmp_path / "two"))
    heads = [line for line in pages.splitlines() if line.startswith("━━")]
    assert [head.split()[1] for head in heads] == ["one", "two"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["no-such-folder"], "no such file or folder"),
        ([str(FIXTURES / "broken" / "half-a-netlist")], ""),
        ([str(FIXTURES / "broken" / "three-mistakes")], ""),
        ([], "PATH"),
        (["--gate", "hold", str(LAMP)], "--gate"),
    ],
)
def test_a_mistake_ends_with_two_and_without_a_traceback(
    capsys: Captured, words: list[str], message: str
) -> None:
    assert main(["cells", *words]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err
    assert message in captured.err
    assert "Traceback" not in captured.err


def test_a_board_that_cannot_be_read_hides_no_other(capsys: Captured) -> None:
    bad = FIXTURES / "broken" / "half-a-netlist"
    assert main(["cells", str(bad), str(LAMP)]) == 2
    captured = capsys.readouterr()
    assert "16340*" in captured.out
    assert "half-a-netlist" in captured.err


def test_progress_is_told_on_a_terminal_only_and_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr("boardvet.cli.cells._PATIENCE", 0.0)
    for stream, told in ((Terminal(), True), (io.StringIO(), False)):
        with contextlib.redirect_stderr(stream):
            page_of(str(LAMP))
        assert (" cells" in stream.getvalue()) is told
        assert stream.getvalue().endswith("\r\x1b[K" if told else "")


def test_help_and_the_list_of_commands_name_it(capsys: Captured) -> None:
    assert main(["cells", "--help"]) == 0
    assert "two or three in a row" in as_one(capsys.readouterr().out)
    assert main([]) == 2
    assert re.search(r"cells +the same board on other cells", capsys.readouterr().err)
