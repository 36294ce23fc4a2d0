"""Rows, separators and headers: where a table begins and what its columns are."""

from __future__ import annotations

import csv
import io
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boardvet.errors import InputError
from boardvet.read.rows import Row
from boardvet.read.table import find_header, looks_like, read_table

HEAD = ["Designator", "Value", "Qty"]
CELL = st.text(st.sampled_from("aB7µ .,;|\"'-\t"), max_size=8).map(str.strip)


def written(rows: list[list[str]], delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, quoting=quoting).writerows(rows)  # type: ignore[arg-type]
    return text.getvalue()


def body(text: str) -> list[list[str]]:
    table = read_table(text)
    assert table.header is not None
    return [list(row.cells) for row in table.rows[table.header.row + 1 :]]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_each_separator_is_told_from_the_header(delimiter: str) -> None:
    assert body(written([HEAD, ["R1", "1k", "1"]], delimiter)) == [["R1", "1k", "1"]]


def test_a_separator_inside_cells_does_not_win_by_number() -> None:
    text = "Designator;Value;Qty\nR1,R2,R3,R4,R5;1k, 1 %, 0402;5\n"

    assert body(text) == [["R1,R2,R3,R4,R5", "1k, 1 %, 0402", "5"]]


def test_the_separator_that_finds_designators_wins_over_one_that_finds_more_names() -> None:
    text = "Value,Quantity,MPN,Footprint: see below\nRef;Value\nR1;1k\n"

    assert body(text) == [["R1", "1k"]]


def test_a_quoted_cell_may_follow_a_space() -> None:
    assert body('Ref, Value, Qty\nR1, "1k, film", 1\n') == [["R1", "1k, film", "1"]]


@given(
    st.lists(st.tuples(st.sampled_from(["R1", "C2", "U3"]), CELL, CELL), min_size=1, max_size=6),
    st.sampled_from(",;\t|"),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
def test_separator_and_quoting_never_change_what_is_read(
    rows: list[tuple[str, str, str]], delimiter: str, quoting: int
) -> None:
    def trimmed(row: tuple[str, str, str]) -> list[str]:
        cells = list(row)
        while not cells[-1]:
            cells.pop()
        return cells

    assert body(written([HEAD, *map(list, rows)], delimiter, quoting)) == list(map(trimmed, rows))


def test_preamble_and_blank_rows_before_the_header_are_passed_over() -> None:
    text = ",,\nProject:,Reed lamp\n\nDate,2026-01-02\nParts,3\n" * 40 + "Ref,Value\nR1,1k\n"

    header = read_table(text).header

    assert header is not None
    assert (header.line, header.names) == (201, ("Ref", "Value"))


def test_rows_keep_the_line_on_which_they_begin() -> None:
    rows = read_table('Ref,Value\n\nR1,"one\ntwo"\nR2,1k\n').rows

    assert [(row.line, row.cells[0]) for row in rows] == [(1, "Ref"), (3, "R1"), (5, "R2")]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_all_line_ends_are_taken(end: str) -> None:
    assert body(end.join(["Ref,Value", "R1,1k", ""])) == [["R1", "1k"]]


def test_byte_order_mark_is_no_part_of_the_first_heading() -> None:
    header = read_table("\ufeffRef,Value\nR1,1k\n").header

    assert header is not None
    assert header.names == ("Ref", "Value")


def test_trailing_separators_are_no_columns() -> None:
    header = read_table("Ref;Value;;;\nR1;1k;;;\n").header

    assert header is not None
    assert header.names == ("Ref", "Value")


def test_a_name_that_stands_twice_and_a_column_without_one_are_told_apart() -> None:
    header = read_table("Ref,Value,,Maker,Maker\nR1,1k,x,A,B\n").header

    assert header is not None
    assert header.names == ("Ref", "Value", "column 3", "Maker", "Maker (2)")


def test_comment_rows_are_kept_apart() -> None:
    table = read_table("## Unit = mm\nRef,X,Y\nR1,1,2\n## End\n")

    assert [row.cells for row in table.comments] == [["## Unit = mm"], ["## End"]]
    assert [row.cells for row in table.rows] == [["Ref", "X", "Y"], ["R1", "1", "2"]]


def test_a_column_called_part_holds_designators_only_if_they_stand_there() -> None:
    by_part = read_table("Part;Value;Package\nR1;1k;0402\nC1;1n;0402\n").header
    by_reference = read_table("Part,Value,Reference\nRES-7,1k,R1\nCAP-9,1n,C1\n").header

    assert by_part is not None
    assert by_part.roles["reference"] == 0
    assert by_reference is not None
    assert by_reference.roles["reference"] == 2


def test_of_two_columns_the_one_with_content_is_the_value() -> None:
    header = read_table("Designator,Value,Comment\nR1,,1k\nR2,,2k\n").header

    assert header is not None
    assert header.names[header.roles["value"]] == "Comment"


def test_two_tables_are_two_parts() -> None:
    text = "Item,Ref,Value\n1,R1,1k\n2,R2,1k\n\nTogether:\nItem,Qty,Ref,Value\n1,2,R1 R2,1k\n"

    parts = list(read_table(text).parts())

    assert [[row.cells[0] for row in rows] for _, rows in parts] == [
        ["1", "2", "Together:"],
        ["1"],
    ]
    assert [header.line for header, _ in parts] == [1, 6]


def test_aligned_columns_are_cut_at_both_ends() -> None:
    text = (
        "## Side : top\n"
        "# Ref    Val                Package           PosX       PosY       Rot  Side\n"
        "R1       10 k, 1 %, 0402    our_chip         1.5000    -2.5000   90.0000  top\n"
        "LED1     amber lamp, long name our_lamp    100.5000   -12.5000    0.0000  top\n"
        "## End\n"
    )

    assert body(text) == [
        ["R1", "10 k, 1 %, 0402", "our_chip", "1.5000", "-2.5000", "90.0000", "top"],
        ["LED1", "amber lamp, long name", "our_lamp", "100.5000", "-12.5000", "0.0000", "top"],
    ]


def test_a_quote_that_is_never_closed_is_named_with_its_line() -> None:
    with pytest.raises(InputError, match=r"^a\.csv:3: a quote that opens here is never closed"):
        read_table('Ref,Value\nR1,1k\nR2,"2k\nR3,3k\nR4,4k\n', "a.csv")


def test_a_quote_inside_a_cell_is_a_character() -> None:
    assert body('Ref,Value\nLCD1,2.4" screen\nR1,1k\n') == [["LCD1", '2.4" screen'], ["R1", "1k"]]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Designator,Value\nR1,1k\n", "bom"),
        ("REF,PACKAGE,VALUE,X,Y,ROTATION,\nR1,c,1k,0.1,0.2,0\n", "placement"),
        ("Description,Value,Quantity,MPN\nchip,1k,3,A-1\n", "bom"),
        ("# Ref  Val  Package  PosX  PosY  Rot  Side\n", "placement"),
        ("(export (version E))", None),
        ("board: Reed lamp\ncell: {part: BT1, type: CR2032}\n", None),
        ("C1:1\nR1:1\n", None),
        ("| Ref | Value |\n|---|---|\n| R1 | 1k |\n", None),
        ("Every line has\nreference, value, footprint\nand nothing more.\n", None),
        ("Each part has a reference, value and package.\nR1 is too small.\n", None),
        ("", None),
        ("\x89PNG\r\n\x1a\n\x00\x00", None),
    ],
)
def test_files_are_recognised_by_content(text: str, kind: str | None) -> None:
    assert looks_like(text) == kind


def test_a_stated_heading_makes_its_row_the_header() -> None:
    rows = [Row(1, ["Ref", "Value"]), Row(2, ["Sitz", "Rolle"]), Row(3, ["R1", "1k"])]

    header = find_header(rows, {"reference": "Sitz", "value": "rolle"})

    assert header is not None
    assert (header.line, dict(header.roles)) == (2, {"reference": 0, "value": 1})


def test_the_work_grows_with_the_rows_and_no_faster() -> None:
    """Four times the rows in less than twelve times the time, on a text without any header."""

    def cost(count: int) -> float:
        text = "some words, and; others | here\n" * count
        best = 9.0
        for _ in range(3):
            start = time.process_time()
            read_table(text)
            best = min(best, time.process_time() - start)
        return best

    assert cost(4000) < 12 * cost(1000)


def test_columns_of_one_name_cost_no_more_each_the_more_there_are() -> None:
    """20,000 columns of one name took 80 s when each was compared with all before it."""
    start = time.process_time()
    header = read_table("Ref," + "Value," * 20_000 + "\nR1,1k\n").header

    assert header is not None
    assert header.names[-1] == "Value (20000)"
    assert time.process_time() - start < 3
