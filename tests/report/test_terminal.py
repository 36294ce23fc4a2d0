"""The terminal report: what a reader sees, at any width, with and without colour."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from tests.report.factory import (
    assumption,
    clear,
    draft_review,
    finding,
    review,
    undetermined,
)

from boardvet.board import FileKind, SourceFile
from boardvet.report.terminal import render, render_summary
from boardvet.review.review import Review
from boardvet.review.verdict import (
    Broken,
    Finding,
    Level,
    Number,
    Setting,
    SubjectName,
    Waived,
)

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
HOSTILE = [
    "[red]stop[/red]",
    "[/]",
    "\x1b[31mred",
    "\x1b]0;title\x07",
    "a\rb\nc\td",
    "<script>alert(1)</script>",
    "left\u202eright",
    "zero\u200bwidth",
    "half\ud83d",
    "x" * 10_000,
    "電池" * 60,
    ":warning:",
    "\\[bold]",
]


def one_line(text: str) -> str:
    return " ".join(text.split())


def hostile_review(name: str) -> Review:
    return review(
        board=name,
        findings=(
            finding(name, nets=(name,), state=name),
            finding(name, rule="net-alone", level=Level.NOTE, waived=Waived(name, name)),
        ),
        undetermined=(undetermined(name, how=f"parts: {{{name}: {{supply: 3 V}}}}"),),
        clear=(clear(name),),
        broken=(Broken("bypass-far", SubjectName("rail", name), name),),
        assumptions=(assumption(name),),
        settings=(Setting("bypass-far", name, name, name),),
    )


# Setting


@pytest.mark.parametrize("width", [40, 80, 120])
@pytest.mark.parametrize("verbose", [False, True])
def test_no_line_is_longer_than_the_width(width: int, verbose: bool) -> None:
    lines = render(draft_review(), width=width, verbose=verbose).splitlines()

    assert max(map(cell_len, lines)) <= width


@pytest.mark.parametrize("width", [80, 120])
def test_colour_adds_escapes_and_changes_no_text(width: int) -> None:
    bare = render(draft_review(), width=width, color=False)
    coloured = render(draft_review(), width=width, color=True)

    assert "\x1b" not in bare
    assert ESCAPE.search(coloured)
    assert [line.rstrip() for line in ESCAPE.sub("", coloured).splitlines()] == bare.splitlines()


def test_colour_is_neither_red_nor_yellow() -> None:
    codes = set(re.findall(r"\d+", "".join(ESCAPE.findall(render(draft_review(), color=True)))))

    assert not codes & {"31", "33", "41", "43", "91", "93", "101", "103"}


def test_no_line_ends_in_spaces_and_no_two_blank_lines_meet() -> None:
    lines = render(draft_review(), verbose=True).splitlines()

    assert all(line == line.rstrip() for line in lines)
    assert all(first or second for first, second in pairwise(lines))


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("color", [False, True])
def test_a_hostile_name_neither_steers_nor_floods_the_terminal(name: str, color: bool) -> None:
    text = render(hostile_review(name), color=color, verbose=True)
    bare = ESCAPE.sub("", text)

    assert all(character.isprintable() for character in bare.replace("\n", ""))
    assert max(map(cell_len, bare.splitlines())) <= 80
    assert len(bare) < 20_000


@pytest.mark.parametrize("name", ["[red]stop[/red]", "<script>x</script>", ":warning:", "[/]"])
def test_mark_up_in_a_name_is_shown_as_written(name: str) -> None:
    text = render(review(board=name, findings=(finding(name),)), color=True)

    assert ESCAPE.sub("", text).count(name) >= 2


@settings(max_examples=30, deadline=None)
@given(st.text(max_size=200), st.integers(40, 130))
def test_any_text_fits_any_width(name: str, width: int) -> None:
    text = render(hostile_review(name or "-"), width=width, verbose=True)

    assert max(map(cell_len, text.splitlines())) <= width


# Headline


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (draft_review(), "do not order yet"),
        (review(findings=(finding(level=Level.QUERY),)), "answer before ordering"),
        (review(findings=(finding(level=Level.NOTE),)), "nothing here stops the order"),
        (
            review(findings=(finding(level=Level.NOTE),), undetermined=(undetermined(),)),
            "notes only, not fully judged",
        ),
        (review(undetermined=(undetermined(),)), "not fully judged"),
        (review(), "nothing found"),
        (
            review(broken=(Broken("bypass-far", SubjectName("rail", "VBAT"), "KeyError"),)),
            "nothing found, review incomplete",
        ),
    ],
)
def test_the_headline_says_the_outcome(made: Review, words: str) -> None:
    assert f" {words} ━━\n" in render(made).partition("\n         ")[0] + "\n"


def test_the_headline_counts_in_plain_words() -> None:
    text = one_line(render(draft_review()))

    assert "14 holds, 1 query, 1 note. 5 subjects not judged. 1 subject clear. 1 finding" in text
    assert "41 parts and 33 nets, read from buoy.net, buoy-bom.csv, boardvet.yaml." in text


def test_a_folder_that_all_files_share_is_said_once() -> None:
    kinds = (FileKind.NETLIST, FileKind.BOM)
    near = tuple(SourceFile(f"boards/buoy/{kind}.txt", kind, "0" * 64) for kind in kinds)
    far = (near[0], SourceFile("lists/bom.txt", FileKind.BOM, "0" * 64))

    assert "from netlist.txt, bom.txt in boards/buoy." in one_line(render(review(files=near)))
    assert "from boards/buoy/netlist.txt, lists/bom.txt." in one_line(render(review(files=far)))


# Findings


def test_a_finding_reads_bench_sum_cure_why_in_this_order() -> None:
    text = render(review(findings=(finding(),)))
    order = [
        "D1 · LED string",
        "D1 flares and dies",
        "62.5 mA flows",
        "Put 68 Ω in series",
        "Nothing but the resistance",
        "cell alone, every switch closed",
        "buoy.net:12",
    ]
    places = [text.index(words) for words in order]

    assert places == sorted(places)


def test_twelve_like_leds_take_one_entry() -> None:
    text = render(draft_review())

    assert "HOLD  D1-D12 · LED string, 12 alike" in text
    assert text.count("flares and dies") == 1
    assert "buoy.net:101, 102, 103, 104 and 8 more" in text


def test_subjects_of_equal_identity_are_counted() -> None:
    assert "3 alike" in render(review(findings=(finding(folded=3),)))


def test_a_consequence_stands_under_its_cause() -> None:
    text = render(draft_review())
    rail = text[text.index("── rail") : text.index("── decoupling")]

    assert " and so  U2 VDD: U2 never starts." in rail
    assert "── cell" not in text


def test_a_note_is_shorter_than_a_query() -> None:
    def height(level: Level) -> int:
        return render(review(findings=(finding(level=level),))).count("\n")

    assert height(Level.NOTE) < height(Level.QUERY)


def test_a_number_that_the_texts_show_is_not_repeated() -> None:
    shown = Number("resistance", 20.0, "ohm", "netlist buoy.net:14")
    hidden = Number("cell resistance", 15.0, "ohm", "facts CR2450")
    text = render(review(findings=(finding(numbers=(shown, hidden)),)))

    assert "cell resistance 15 Ω (facts CR2450)" in text
    assert "netlist buoy.net:14" not in text


def test_an_assumed_number_is_always_shown_with_its_source() -> None:
    number = Number("resistance", 20.0, "ohm", "assumed pin of a controller")

    assert "resistance 20 Ω (assumed pin" in render(review(findings=(finding(numbers=(number,)),)))


def test_verbose_shows_every_number() -> None:
    number = Number("resistance", 20.0, "ohm", "netlist buoy.net:14")
    made = review(findings=(finding(numbers=(number,)),))

    assert "resistance 20 Ω (netlist buoy.net:14)" in render(made, verbose=True)


def test_no_line_is_a_code_and_a_colon() -> None:
    assert not re.search(r"^\s*\[[^\]]*\]:", render(draft_review(), verbose=True), re.MULTILINE)


# What is not a finding


def test_at_most_ten_missing_facts_are_listed() -> None:
    made = review(undetermined=tuple(undetermined(f"U{2 * n}") for n in range(1, 15)))
    text = render(made)

    assert text.count("1×  parts: {U") == 10
    assert "and 4 more (--verbose lists all)" in text
    assert render(made, verbose=True).count("1×  parts: {U") == 14


def test_ten_missing_facts_are_all_listed() -> None:
    made = review(undetermined=tuple(undetermined(f"U{2 * n}") for n in range(1, 11)))

    assert "more (--verbose" not in render(made)


def test_a_line_to_paste_is_whole_and_says_what_it_is() -> None:
    text = render(review(undetermined=(undetermined("U1"),)))

    assert "     1×  parts: {U1: {supply: 1.8 to 3.6 V}}  # supply of U1 is not known\n" in text


def test_what_a_line_is_stands_below_it_where_there_is_no_room_behind() -> None:
    line, remark = "     1×  parts: {U1: {supply: 1.8 to 3.6 V}}", "# supply of U1 is not known"
    made = review(undetermined=(undetermined("U1"),))
    enough = len(f"{line}  {remark}")

    assert f"{line}  {remark}\n" in render(made, width=enough)
    assert f"{line}\n         {remark}\n" in render(made, width=enough - 1)


def test_nothing_clear_is_said_in_words() -> None:
    made = review(clear=(), no_subject=())

    assert "         Nothing was judged clear.\n" in render(made)


def test_a_remark_on_a_line_to_paste_stands_behind_what_is_missing() -> None:
    how = "cell: {part: BT1, type: CR2450}   # the type fitted"
    text = render(review(undetermined=(undetermined("U1", "cell", how=how),)), width=120)

    assert "cell: {part: BT1, type: CR2450}  # cell of U1 is not known; the type fitted\n" in text


def test_what_cannot_be_pasted_is_said_in_words() -> None:
    made = review(undetermined=(undetermined("U1", "ground", how="name the ground net GND"),))

    assert "     1×  ground of U1 is not known: name the ground net GND\n" in render(made)


def test_assumptions_are_listed_with_value_unit_source_and_use() -> None:
    text = render(review(assumptions=(assumption("temperature", "cell-sag", "led-unlimited"),)))

    assert "temperature: 25 °C, room temperature (2 rules)" in text


def test_a_waived_finding_is_shown_with_its_reason_and_end() -> None:
    text = one_line(render(draft_review()))

    assert "D20, led-unlimited: dims on purpose when the cell is low, until 2027-06-01" in text


def test_a_cause_that_is_waived_does_not_hide_what_follows() -> None:
    cause = finding("VLED", rule="rail-unfed", waived=Waived("fed from the jig"))
    effect = finding("U2", rule="supply-window", follows=cause.fingerprint)

    assert "HOLD  U2 · LED string" in render(review(findings=(cause, effect)))


def test_a_broken_rule_is_named_with_its_subject() -> None:
    made = review(broken=(Broken("bypass-far", SubjectName("rail", "VBAT"), "KeyError: 'x'"),))

    assert "bypass-far on rail VBAT: KeyError: 'x'" in render(made)


def test_clear_and_absent_rules_are_counted_and_named_with_verbose() -> None:
    made = review(clear=(clear("U1"), clear("U2")))
    bare, verbose = one_line(render(made)), one_line(render(made, verbose=True))

    assert "2 subjects clear by 1 rule. 1 rule finds nothing on this board to judge." in bare
    assert "rail-contested" not in bare
    assert "bypass-missing: U1: bypass 100 nF (netlist buoy.net:40)" in verbose
    assert "rail-contested" in verbose


def test_verbose_shows_settings() -> None:
    made = review(settings=(Setting("bypass-far", "distance", "5 mm", "10 mm"),))

    assert "bypass-far: distance = 5 mm (default 10 mm)" in render(made, verbose=True)


# Closing


@pytest.mark.parametrize(
    ("findings", "waits", "words"),
    [
        ((finding(),), False, "Cure what is marked HOLD"),
        ((finding(level=Level.QUERY),), False, "Answer what is marked QUERY"),
        ((), True, "State the missing facts, the top one first, in boardvet.yaml"),
        ((finding(level=Level.NOTE),), False, "Read what is marked note"),
        ((finding(level=Level.NOTE),), True, "State the missing facts"),
        ((), False, "Nothing that these rules judge stops the order."),
    ],
)
def test_the_closing_line_says_what_to_do_next(
    findings: tuple[Finding, ...], waits: bool, words: str
) -> None:
    made = review(findings=findings, undetermined=(undetermined(),) if waits else ())
    closing = one_line(render(made).rpartition("━━ next ")[2])

    assert words in closing


@pytest.mark.parametrize(
    ("gate", "level", "words"),
    [
        ("hold", Level.HOLD, "The gate (hold) is reached."),
        ("hold", Level.QUERY, "The gate (hold) is not reached."),
        ("note", Level.NOTE, "The gate (note) is reached."),
    ],
)
def test_the_gate_is_named(gate: str, level: Level, words: str) -> None:
    assert words in render(review(gate=gate, findings=(finding(level=level),)))


def test_without_a_gate_nothing_is_said_of_it() -> None:
    assert "The gate" not in render(review(gate="never", findings=(finding(),)))


def test_the_summary_has_a_line_a_board_worst_first() -> None:
    boards = [review(board="tag"), review(board="buoy", findings=(finding(),))]
    lines = render_summary(boards).splitlines()

    assert lines[0].startswith("━━ 2 boards ")
    assert [line.split() for line in lines[1:]] == [
        ["buoy:", "do", "not", "order", "yet", "gate", "reached"],
        ["tag:", "nothing", "found"],
    ]
