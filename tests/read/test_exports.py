"""The exports of one board: any order, each read once, the mistakes of all files together."""

from __future__ import annotations

import hashlib
from itertools import permutations
from pathlib import Path

import pytest
from tests.read.netlists import BARE
from tests.read.test_recognise import BOM, INTENT, PLACEMENT, TEST_POINTS, png

from boardvet.board import FileKind
from boardvet.errors import InputError, InputErrors, UsageError
from boardvet.read.exports import find_exports, open_export, read_exports

BOTTOM = PLACEMENT.replace("R1,", "R7,").replace("D1,", "D7,").replace("top", "bottom")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in {
        "lamp.net": BARE,
        "parts.csv": BOM,
        "top.csv": PLACEMENT,
        "bottom.csv": BOTTOM,
        "boardvet.yaml": INTENT,
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "photo.png").write_bytes(png())
    (tmp_path / ".hidden.net").write_text(BARE)
    (tmp_path / "old").mkdir()
    return tmp_path


def messages(*files: Path) -> list[str]:
    with pytest.raises(InputErrors) as caught:
        read_exports(files)
    return [str(error) for error in caught.value.errors]


def test_every_order_of_the_files_gives_the_same_board(folder: Path) -> None:
    files = [folder / name for name in ("lamp.net", "parts.csv", "top.csv", "bottom.csv")]
    boards = [read_exports(order) for order in permutations(files)]

    assert all(board == boards[0] for board in boards)
    assert [file.kind for file in boards[0].files] == [
        FileKind.NETLIST,
        FileKind.BOM,
        FileKind.PLACEMENT,
        FileKind.PLACEMENT,
    ]


def test_the_board_holds_what_each_file_says(folder: Path) -> None:
    board = read_exports([folder / "parts.csv", folder / "lamp.net"])

    assert board.name == "lamp"
    assert list(board.parts) == ["R1", "D1"]
    assert board.bom is not None
    assert [line.references for line in board.bom.lines] == [("R1",), ("D1",)]
    assert board.placement is None
    assert board.files[0].sha256 == hashlib.sha256(BARE.encode()).hexdigest()


def test_a_name_may_be_given(folder: Path) -> None:
    assert read_exports([folder / "lamp.net"], name="Night lamp").name == "Night lamp"


def test_top_and_bottom_placement_are_joined(folder: Path) -> None:
    board = read_exports([folder / "top.csv", folder / "lamp.net", folder / "bottom.csv"])

    assert board.placement is not None
    assert [entry.reference for entry in board.placement.entries] == ["R7", "D7", "R1", "D1"]


def test_a_file_named_twice_is_read_once(folder: Path) -> None:
    again = folder / "old" / ".." / "lamp.net"

    assert len(read_exports([folder / "lamp.net", again, folder / "lamp.net"]).files) == 1


def test_an_intent_page_is_listed(folder: Path) -> None:
    board = read_exports([folder / "boardvet.yaml", folder / "lamp.net"])

    assert [file.kind for file in board.files] == [FileKind.NETLIST, FileKind.INTENT]


def test_stated_columns_make_a_table_of_any_text(folder: Path) -> None:
    strange = folder / "strange.csv"
    strange.write_text("Wo;Was\nR1;4k7\nD1;amber\n")
    board = read_exports(
        [strange, folder / "lamp.net"],
        columns={"strange.csv": {"reference": "Wo", "value": "Was"}},
    )

    assert board.bom is not None
    assert [(line.references, line.value) for line in board.bom.lines] == [
        (("R1",), "4k7"),
        (("D1",), "amber"),
    ]


def test_a_folder_gives_its_exports_and_passes_over_the_rest(folder: Path) -> None:
    assert [export.path.name for export in find_exports(folder)] == [
        "bottom.csv",
        "lamp.net",
        "parts.csv",
        "top.csv",
    ]


def test_what_was_found_in_a_folder_is_not_read_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = find_exports(folder)
    expected = read_exports([export.path for export in found])
    monkeypatch.setattr(Path, "read_bytes", lambda path: pytest.fail(f"read {path} again"))
    assert read_exports(found) == expected


def test_a_folder_without_exports(folder: Path) -> None:
    with pytest.raises(InputError, match="holds no netlist, BOM or placement file"):
        find_exports(folder / "old")


# Mistakes


def test_no_such_file(folder: Path) -> None:
    (message,) = messages(folder / "lamb.net")

    assert "lamb.net: there is no such file" in message


def test_a_folder_where_a_file_belongs(folder: Path) -> None:
    assert "this is a folder, not a file" in messages(folder / "old")[0]


def test_no_netlist_says_what_was_given(folder: Path) -> None:
    (message,) = messages(folder / "parts.csv", folder / "top.csv")

    assert "there is no netlist" in message
    assert "parts.csv (BOM)" in message
    assert "top.csv (placement file)" in message


def test_nothing_at_all() -> None:
    assert "there is no netlist; given: nothing" in messages()[0]


def test_two_netlists_name_both(folder: Path) -> None:
    (folder / "other.net").write_text(BARE)
    (message,) = messages(folder / "other.net", folder / "lamp.net")

    assert "there are 2 netlists" in message
    assert "lamp.net" in message
    assert "other.net" in message


def test_two_boms_name_both(folder: Path) -> None:
    (folder / "more.csv").write_text(BOM)
    (message,) = messages(folder / "more.csv", folder / "lamp.net", folder / "parts.csv")

    assert "there are 2 BOMs" in message
    assert "parts.csv" in message


def test_test_points_are_refused_by_name(folder: Path) -> None:
    (folder / "lamp.ipc").write_text(TEST_POINTS)
    (message,) = messages(folder / "lamp.ipc", folder / "lamp.net")

    assert "test-point netlists (IPC-D-356) are not read yet" in message


def test_the_mistakes_of_all_files_come_together(folder: Path) -> None:
    (folder / "half.net").write_text(BARE[:400])
    (folder / "short.csv").write_text("Value;Quantity;Footprint\n4k7;1;0603\n")
    found = messages(
        folder / "short.csv", folder / "photo.png", folder / "half.net", folder / "no.csv"
    )

    assert [message.split(":")[0].rsplit("/", 1)[1] for message in found] == [
        "no.csv",
        "photo.png",
        "half.net",
        "short.csv",
    ]


def test_mistakes_come_in_the_same_order_for_every_order_of_files(folder: Path) -> None:
    files = [folder / "z.net", folder / "longer-name.net", folder / "b.net"]
    orders = {tuple(messages(*order)) for order in permutations(files)}

    assert [message.split(":")[0].rsplit("/", 1)[1] for message in orders.pop()] == [
        "b.net",
        "longer-name.net",
        "z.net",
    ]
    assert not orders


def test_a_file_of_enormous_size_is_refused_unread(folder: Path) -> None:
    big = folder / "big.net"
    with big.open("wb") as file:
        file.truncate(300_000_000)
    with pytest.raises(InputError, match="larger than 256 MB"):
        open_export(big)


def test_an_unknown_reader(folder: Path) -> None:
    with pytest.raises(UsageError, match="own and reference"):
        read_exports([folder / "lamp.net"], reader="other")
