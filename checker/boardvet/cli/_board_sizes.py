"""What ``boardvet size`` prints for a board: each group of subjects that is alike, once."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence
from typing import Any, overload

from boardvet.cli._sizes import paragraphs
from boardvet.report.layout import ACCENT, STRONG, Page
from boardvet.report.text import spread
from boardvet.sizing._calculation import Chosen
from boardvet.sizing.on_board._outcome import Change, NotSized, Outcome, Sized

__all__ = ["board_page"]


def board_page(
    board: str, found: Mapping[str, Sequence[Outcome]], columns: int, *, color: bool
) -> str:
    """Return what was sized on a board as a page; what is alike is said once."""
    page = Page(columns)
    page.ruled(board, heavy=True)
    missing: list[tuple[str, list[NotSized]]] = []
    for name, outcomes in found.items():
        for group in _alike([each for each in outcomes if isinstance(each, Sized)]):
            _sized(page, name, group)
        missing += [(name, g) for g in _alike([o for o in outcomes if isinstance(o, NotSized)])]
    if missing:
        page.ruled("not sized")
        for name, lacking in missing:
            page.gloss("", f"{name}, {_lacking(lacking)}")
    if not any(found.values()):
        page.gloss("", f"nothing on it to size: {', '.join(found)}")
    return page.text(color=color)


def _sized(page: Page, name: str, group: Sequence[Sized]) -> None:
    answer = group[0].answer
    page.ruled(spread(tuple(each.subject for each in group)), name)
    for number, chosen in enumerate(answer.chosen):
        changes = [each.changes[number] for each in group if number < len(each.changes)]
        page.gloss("value", _change(chosen, changes), style=STRONG)
    for word, text in paragraphs(answer):
        if word == "buy":
            for count, line in enumerate(group[0].solved):
                page.gloss("" if count else "solved", line)
        if word != "value" or not answer.chosen:
            page.gloss(word, text, style=ACCENT if word == "buy" else "")


def _change(chosen: Chosen, changes: Sequence[Change]) -> str:
    references = spread(tuple(change.reference for change in changes if change.reference))
    if not references:
        return f"{chosen.name} {chosen.shown} ({chosen.series})"
    if all(change.stays for change in changes):
        return f"{references} {chosen.shown} stays"
    return f"{references} {changes[0].before} → {chosen.shown} ({chosen.series})"


def _lacking(group: Sequence[NotSized]) -> str:
    first, names = group[0], spread(tuple(each.subject for each in group))
    if len(group) == 1:
        return f"{first.subject}: {first.missing}; {first.how}"
    about = _about(first.subject)
    entry = re.compile(rf"{re.escape(first.subject)}: (\{{[^{{}}]*\}})")
    each = names.split(", ")  # a page takes one reference or range a key
    how = entry.sub(lambda said: ", ".join(f"{key}: {said[1]}" for key in each), first.how)
    how = how if how != first.how else about.sub(names, how)
    return f"{names}: {about.sub(names, first.missing)}; {how}"


def _about(subject: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w-]){re.escape(subject)}(?![\w-])")


@overload
def _alike(outcomes: Sequence[Sized]) -> list[list[Sized]]: ...
@overload
def _alike(outcomes: Sequence[NotSized]) -> list[list[NotSized]]: ...
def _alike(outcomes: Sequence[Any]) -> list[list[Any]]:
    """Group what is the same but for the names."""
    groups: dict[Hashable, list[Any]] = {}
    for each in outcomes:
        key: Hashable
        if isinstance(each, Sized):
            values = tuple((change.before, change.after, change.stays) for change in each.changes)
            key = (each.answer, values, each.solved)
        else:
            about = _about(each.subject)
            key = (about.sub("", each.missing), about.sub("", each.how))
        groups.setdefault(key, []).append(each)
    return list(groups.values())
