"""Facts files of a repository: what is right, and every mistake at once with its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.facts.boards import board, part

from boardvet.errors import InputErrors
from boardvet.facts import FactBook
from boardvet.facts.entries import EntryReader, compose, read_facts_file
from boardvet.intent import Intent
from boardvet.vocabulary.roles import Role


def errors_of(path: Path, text: str) -> list[str]:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputErrors) as caught:
        read_facts_file(path)
    return [
        f"{error.line}:{error.column}: {error.what} ({error.do})" for error in caught.value.errors
    ]


def test_a_file_may_be_empty(tmp_path: Path) -> None:
    path = tmp_path / "ours.yaml"
    path.write_text("# nothing yet\n", encoding="utf-8")
    assert read_facts_file(path) == ()


def test_any_layout_of_yaml_is_read(tmp_path: Path) -> None:
    path = tmp_path / "ours.yaml"
    path.write_text(
        '\ufeff- kind: fet\n  source: "own measurement"\n  match:\n    - QQ-77\n'
        "  pins: {any: {010: gate, 2: source}}\n",
        encoding="utf-8",
    )
    (family,) = read_facts_file(path)
    assert family.match == ("QQ-77",)
    assert family.pins == {"any": {"010": Role.GATE, "2": Role.SOURCE}}
    assert family.own


def test_every_mistake_is_told_at_once_with_its_place(tmp_path: Path) -> None:
    text = """\
- match: [ZZ9]
  kind: regulatr
  suply: 1 to 2 V
  source: measured
- match: [GOOD-1]
  kind: led
  colour: rd
  supply: 2 to 3 V
  output_code: tens
"""
    found = errors_of(tmp_path / "ours.yaml", text)
    assert [each.partition(" (")[0] for each in found] == [
        "1:11: the prefix 'ZZ9' is too short to name a family: it needs four letters and digits",
        "2:9: unknown kind 'regulatr'",
        "3:3: unknown key 'suply'",
        "5:3: the entry has no `source`",
        "7:11: colour: 'rd' is no word for colour",
        "8:11: a led has no supply",
        "9:16: unknown output code 'tens'",
    ]
    assert "did you mean 'supply'?" in found[2]
    assert "did you mean 'regulator'?" in found[1]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("- match: [ABCD]\n  kind: led\n  colour: rd\n  source: x\n", "3:11: colour: 'rd' is"),
        ("- match: [ABCD]\n  kind: led\n  current_max: 5 V\n  source: x\n", "3:16: current_max"),
        (
            "- match: [ABCD]\n  kind: led\n  kind: fet\n  source: x\n",
            "2:3: the key 'kind' stands twice",
        ),
        (
            "- match: [ABCD]\n  kind: fet\n  pins: {any: {1: gat}}\n  source: x\n",
            "3:19: unknown pin role",
        ),
        (
            "- match: [ABCD]\n  kind: fet\n  pins: [1]\n  source: x\n",
            "3:9: `pins` is a set of packages",
        ),
        ("- match: []\n  kind: fet\n  source: x\n", "1:10: `match` is empty"),
        ("- kind: fet\n  source: x\n", "1:3: the entry has no `match`"),
        ("match: [ABCD]\n", "1:1: a facts file is a list of entries"),
        ("- just text\n", "1:3: an entry is a set of keys"),
        ("- {match: [ABCD]\n", "is not YAML"),
        ("[" * 5000, "is not YAML"),
        (
            "- match: [ABCD]\n  kind: fet\n  channel: n\n  sheet_does_not_say: [channel]\n"
            "  source: x\n",
            "1:3: channel is stated and listed under `sheet_does_not_say`",
        ),
    ],
)
def test_a_mistake_is_told_with_its_place(tmp_path: Path, text: str, what: str) -> None:
    assert any(what in each for each in errors_of(tmp_path / "ours.yaml", text))


def test_files_that_cannot_be_read_are_told_together(tmp_path: Path) -> None:
    (tmp_path / "latin.yaml").write_bytes(b"- \xff\xfe")
    missing = tmp_path / "none.yaml"
    with pytest.raises(InputErrors) as caught:
        FactBook(board(part("U1")), Intent.empty(), [missing, tmp_path / "latin.yaml"])
    assert [error.file for error in caught.value.errors] == [
        str(missing),
        str(tmp_path / "latin.yaml"),
    ]


def test_a_file_beyond_any_use_is_refused_unread(tmp_path: Path) -> None:
    (said,) = errors_of(tmp_path / "ours.yaml", "# " + "x" * (1 << 20))
    assert "is larger than 1 MiB" in said


def test_an_entry_repeated_by_an_alias_counts_once(tmp_path: Path) -> None:
    path = tmp_path / "ours.yaml"
    path.write_text("- &a {match: [ABCD], kind: led, source: x}\n" + "- *a\n" * 1000)
    assert len(read_facts_file(path)) == 1


def test_of_equal_prefixes_the_earlier_file_counts(tmp_path: Path) -> None:
    paths = []
    for name, colour in (("a.yaml", "red"), ("b.yaml", "blue")):
        path = tmp_path / name
        path.write_text(f"- match: [LAMPE]\n  kind: led\n  colour: {colour}\n  source: x\n")
        paths.append(path)
    known = FactBook(board(part("D1", "LAMPE")), Intent.empty(), paths).known("D1", "colour")
    assert known is not None
    assert known.value == "red"


@settings(max_examples=60)
@given(st.text(alphabet="-: []{}\n matchkindsource#&*!|>'\"%@`,?\tAB12", max_size=60))
def test_no_text_whatever_breaks_the_reader(text: str) -> None:
    """Law: a facts file is read or refused with places; no other exception gets out."""
    reader = EntryReader("f.yaml", "f.yaml", own=True)
    try:
        reader.families(compose(text, "f.yaml"))
    except InputErrors as refused:
        reader.errors.extend(error for error in refused.errors if error.line)
    assert all(error.line > 0 for error in reader.errors)
