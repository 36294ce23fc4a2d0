"""A review as text for a terminal or a log, for a person who is tired and has a board to order.

The page is set like a book with glosses: one word in the margin says what the text beside it is.
Weight marks how bad a finding is; the one colour marks what to do. Both may be absent.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from boardvet.board import FileKind, Place
from boardvet.quantity import show
from boardvet.report.fold import (
    Group,
    LikeAssumptions,
    Wanted,
    by_area,
    fold_assumptions,
    fold_findings,
    fold_missing,
)
from boardvet.report.layout import ACCENT, FAINT, STRONG, Page
from boardvet.report.run_time import set_run_time
from boardvet.report.text import pasted, plural, sentence, shorten, spread
from boardvet.review.review import Review
from boardvet.review.verdict import ClearOf, Finding, Level, Number

__all__ = ["render", "render_summary"]

_AT_MOST = 10
"""Missing facts and assumptions that are listed without --verbose."""

_SOURCE = 64
"""Longest source of a number without --verbose; the JSON has it whole."""

_WORDS = {Level.HOLD: "HOLD", Level.QUERY: "QUERY", Level.NOTE: "note"}
_WEIGHTS = {Level.HOLD: "bold reverse", Level.QUERY: "bold", Level.NOTE: ""}


def render(review: Review, *, width: int = 80, color: bool = False, verbose: bool = False) -> str:
    """Return the report of one board.

    Parameters
    ----------
    review : Review
        The finished review.
    width : int, default 80
        Columns of the terminal; no line is longer. Less than 40 counts as 40.
    color : bool, default False
        True to add escape sequences for weight and colour.
    verbose : bool, default False
        True to show every number, what was judged clear, all that was not judged, settings.
    """
    page = Page(width)
    _headline(page, review)
    live = [finding for finding in review.findings if finding.waived is None]
    for area, groups in by_area(fold_findings(live)):
        everything = [finding for group in groups for finding in group.everything()]
        page.ruled(area, _levels(everything))
        for group in groups:
            page.blank()
            _group(page, group, verbose=verbose)
    _broken(page, review)
    set_run_time(page, review.budget, verbose=verbose)
    _not_judged(page, review, verbose=verbose)
    _waived(page, review)
    _assumptions(page, review, verbose=verbose)
    _rest(page, review, verbose=verbose)
    _closing(page, review)
    return page.text(color=color)


def render_summary(reviews: Sequence[Review], *, width: int = 80, color: bool = False) -> str:
    """Return one line a board, the worst first: the end of a report on several boards."""
    page = Page(width)
    page.ruled(plural(len(reviews), "board"), heavy=True)
    order = ("hold", "query", "undetermined", "note", "clear")
    for review in sorted(reviews, key=lambda item: order.index(item.outcome)):
        gate = "gate reached" if review.tripped else ""
        page.title(
            "",
            f"{shorten(review.board, 48)}: {_verdict(review)}",
            gate,
            style="",
            word_style=FAINT,
        )
    return page.text(color=color)


# Head


def _headline(page: Page, review: Review) -> None:
    page.ruled(shorten(review.board, 60), _verdict(review), heavy=True, style=STRONG)
    counts = review.counts
    text = f"{_tally(counts.hold, counts.query, counts.note) or 'Nothing found'}."
    if counts.broken:
        text += f" {plural(counts.broken, 'rule')} broke."
    if counts.undetermined:
        text += f" {plural(counts.undetermined, 'subject')} not judged."
    text += f" {plural(counts.clear, 'subject')} clear."
    if counts.waived:
        text += f" {plural(counts.waived, 'finding')} waived."
    page.gloss("", text, style=STRONG)
    size = f"{plural(review.parts, 'part')} and {plural(review.nets, 'net')}"
    files = _files([file.path for file in review.files])
    page.gloss("", f"{size}, read from {files}." if files else f"{size}.", style=FAINT)


def _files(paths: Sequence[str]) -> str:
    """Return the paths, with the folder that all of them share said once."""
    folders = {path.rpartition("/")[0] for path in paths}
    if len(paths) < 2 or folders == {""} or len(folders) > 1:
        return ", ".join(shorten(path, 120) for path in paths)
    names = ", ".join(shorten(path.rpartition("/")[2], 120) for path in paths)
    return f"{names} in {shorten(folders.pop(), 120)}"


def _verdict(review: Review) -> str:
    """Return the outcome in the words of somebody who must order."""
    counts = review.counts
    words = {
        "hold": "do not order yet",
        "query": "answer before ordering",
        "undetermined": "not fully judged",
        "note": "nothing here stops the order",
        "clear": "nothing found",
    }
    if review.outcome == "note" and _open_ends(review):
        return "notes only, not fully judged"
    if counts.broken:
        return f"{words[review.outcome]}, review incomplete"
    return words[review.outcome]


def _open_ends(review: Review) -> int:
    return sum(item.level is not Level.NOTE for item in review.undetermined)


def _tally(holds: int, queries: int, notes: int) -> str:
    parts = [
        plural(holds, "hold") if holds else "",
        plural(queries, "query", "queries") if queries else "",
        plural(notes, "note") if notes else "",
    ]
    return ", ".join(part for part in parts if part)


def _levels(findings: Iterable[Finding]) -> str:
    levels = [finding.level for finding in findings]
    return _tally(*(levels.count(level) for level in Level))


# Findings


def _group(page: Page, group: Group, *, verbose: bool) -> None:
    first = group.first
    page.title(
        _WORDS[group.level],
        _subject(group),
        first.rule,
        style=STRONG,
        word_style=_WEIGHTS[group.level],
    )
    if group.level is Level.NOTE and not verbose:
        said = " ".join(sentence(text) for text in (group.bench, group.sum) if text)
        page.gloss("", said)
        page.gloss("cure", sentence(group.fix), style=ACCENT)
    else:
        page.gloss("", sentence(group.bench))
        page.gloss("sum", sentence(group.sum))
        page.gloss("cure", sentence(group.fix), style=ACCENT)
        page.gloss("why", sentence(group.why))
        page.gloss("with", _numbers(group, verbose=verbose), style=FAINT)
        page.gloss("when", first.state or "", style=FAINT)
        page.gloss("at", _places(group, verbose=verbose), style=FAINT)
    for consequence in group.follows:
        _consequence(page, consequence, verbose=verbose)


def _subject(group: Group) -> str:
    text = f"{spread(group.subjects)} · {group.first.subject.kind}"
    return f"{text}, {group.count:,} alike" if group.count > 1 else text


def _consequence(page: Page, group: Group, *, verbose: bool) -> None:
    """Set what follows from a finding: its cure is the cure of the cause."""
    said = " ".join(sentence(text) for text in (group.bench, group.sum) if text)
    if verbose:
        said += f" {sentence(group.fix)}"
    alike = f", {group.count:,} alike" if group.count > 1 else ""
    origin = f"({group.level.value}, {group.first.rule}{alike})"
    page.gloss("and so", f"{spread(group.subjects)}: {said} {origin}")
    for consequence in group.follows:
        _consequence(page, consequence, verbose=verbose)


def _numbers(group: Group, *, verbose: bool) -> str:
    """Return the numbers that the texts do not show, and those that nobody stated."""
    texts = " ".join((group.bench, group.sum, group.fix, group.why))
    shown = [
        number
        for number in group.first.numbers
        if verbose or number.source.startswith("assumed") or _amount(number) not in texts
    ]
    limit = len(shown) if verbose else 4
    text = "; ".join(_number(number, verbose=verbose) for number in shown[:limit])
    return f"{text}; {len(shown) - limit} more with --verbose" if len(shown) > limit else text


def _number(number: Number, *, verbose: bool) -> str:
    source = number.source if verbose else shorten(number.source, _SOURCE)
    return f"{number.name} {_amount(number)} ({source})"


def _amount(number: Number) -> str:
    if not number.unit and number.name.startswith("share"):
        return f"{100 * number.value:.0f}%"
    return show(number.value, number.unit)


def _places(group: Group, *, verbose: bool) -> str:
    """Return where the parts of the group stand, then what else helps to understand it."""
    places = [finding.at for finding in group.findings if finding.at is not None]
    by_file: dict[str, list[int]] = {}
    for place in places:
        by_file.setdefault(place.file, []).append(place.line)
    limit = len(places) if verbose else 4
    texts = [_lines(file, lines, limit) for file, lines in by_file.items()]
    if len(group.findings) == 1:
        related = group.first.related
        texts += [
            f"{_place(item.place)} ({item.what})" for item in (related if verbose else related[:2])
        ]
    return "; ".join(texts)


def _lines(file: str, lines: list[int], limit: int) -> str:
    numbers = list(dict.fromkeys(line for line in lines if line))
    if not numbers:
        return shorten(file, 60)
    text = f"{shorten(file, 60)}:{', '.join(map(str, numbers[:limit]))}"
    return f"{text} and {len(numbers) - limit:,} more" if len(numbers) > limit else text


def _place(place: Place) -> str:
    return _lines(place.file, [place.line], 1)


# What is not a finding


def _broken(page: Page, review: Review) -> None:
    if not review.broken:
        return
    page.ruled("broken", plural(len(review.broken), "subject"))
    page.gloss("", "A rule failed on these subjects. The fault is in the rule, not in the board.")
    for item in review.broken:
        where = f"{item.rule} on {item.subject.kind} {shorten(item.subject.name, 48)}"
        page.gloss("", f"{where}: {shorten(item.error, 300)}")


def _not_judged(page: Page, review: Review, *, verbose: bool) -> None:
    facts = fold_missing(review.undetermined)
    if not facts:
        return
    subjects = len(review.undetermined)
    page.ruled("not judged", plural(subjects, "subject"))
    wait = "subject waits" if subjects == 1 else "subjects wait"
    first = f"; the first unlocks {len(facts[0].waiting):,}" if len(facts) > 1 else ""
    page.gloss(
        "",
        f"{subjects:,} {wait} for {plural(len(facts), 'fact')}{first}. Paste into "
        f"{_intent_page(review)}, entries of one key together, and put in what is true:",
    )
    for fact in facts if verbose else facts[:_AT_MOST]:
        _wanted(page, fact)
        if verbose:
            for item in fact.waiting:
                name = shorten(item.subject.name, 48)
                page.gloss("", f"  {item.rule}, {item.subject.kind} {name}", style=FAINT)
    if not verbose and len(facts) > _AT_MOST:
        page.gloss("", f"and {len(facts) - _AT_MOST:,} more (--verbose lists all)", style=FAINT)


def _wanted(page: Page, fact: Wanted) -> None:
    """Set a fact: a line of the intent page with what it is as a comment, or else in words."""
    word = f"{len(fact.waiting):,}×"
    entry = pasted(fact.how)
    if entry is not None:
        page.paste(word, entry[0], "; ".join([fact.missing, *entry[1]]))
    else:
        page.gloss(word, f"{fact.missing}: {fact.how}")


def _intent_page(review: Review) -> str:
    pages = [file.path for file in review.files if file.kind is FileKind.INTENT]
    return shorten(pages[0], 60) if pages else "boardvet.yaml"


def _waived(page: Page, review: Review) -> None:
    waived = [finding for finding in review.findings if finding.waived is not None]
    if not waived:
        return
    page.ruled("waived", plural(len(waived), "finding"))
    # Each stands by itself: a waiver hides nothing that another finding says.
    for area in by_area(fold_findings(waived)):
        for group in area.groups:
            for finding in group.everything():
                _waiver(page, finding)


def _waiver(page: Page, finding: Finding) -> None:
    if finding.waived is None:
        return
    until = f", until {finding.waived.until}" if finding.waived.until else ""
    because = finding.waived.because.rstrip(".")
    page.gloss(
        finding.level.value,
        f"{shorten(finding.subject.name, 48)}, {finding.rule}: {because}{until}",
    )


def _assumptions(page: Page, review: Review, *, verbose: bool) -> None:
    likes = fold_assumptions(review.assumptions)
    if not likes:
        return
    page.ruled("assumed", plural(len(likes), "value"))
    page.gloss("", "Nobody stated these. State what is wrong on the intent page.")
    for like in likes if verbose else likes[:_AT_MOST]:
        page.gloss("", _assumption(like, verbose=verbose))
    if not verbose and len(likes) > _AT_MOST:
        page.gloss("", f"and {len(likes) - _AT_MOST:,} more (--verbose lists all)", style=FAINT)


def _assumption(like: LikeAssumptions, *, verbose: bool) -> str:
    if isinstance(like.value, str):
        value = f"{like.value} {like.unit}".rstrip()
    else:
        value = show(like.value, like.unit)
    source = like.source.removeprefix("assumed").strip(" :,")
    source = source if verbose else shorten(source, _SOURCE)
    rules = ", ".join(like.rules) if verbose else plural(len(like.rules), "rule")
    return f"{like.what}: {value}{f', {source}' if source else ''} ({rules})"


def _rest(page: Page, review: Review, *, verbose: bool) -> None:
    """Set what was judged clear and what this board has no subject for."""
    rules = len({item.rule for item in review.clear})
    page.ruled("clear", plural(len(review.clear), "subject"))
    if verbose:
        _clear(page, review.clear)
        page.gloss("without", ", ".join(review.no_subject))
        for item in review.settings:
            text = f"{item.rule}: {item.name} = {item.value} (default {item.default})"
            page.gloss("set", text)
        return
    text = "Nothing was judged clear."
    if review.clear:
        text = f"{plural(len(review.clear), 'subject')} clear by {plural(rules, 'rule')}."
    if review.no_subject:
        find = "rule finds" if len(review.no_subject) == 1 else "rules find"
        text += f" {len(review.no_subject):,} {find} nothing on this board to judge."
    names = " --verbose names them." if review.clear or review.no_subject else ""
    page.gloss("", text + names)


def _clear(page: Page, clear: Iterable[ClearOf]) -> None:
    """Set each clear verdict with its numbers; those of a rule without numbers together."""
    by_rule: dict[str, list[ClearOf]] = {}
    for item in clear:
        by_rule.setdefault(item.rule, []).append(item)
    for rule, items in by_rule.items():
        bare = tuple(item.subject.name for item in items if not item.numbers)
        if bare:
            page.gloss("", f"{rule}: {spread(bare, 600)}")
        for item in items:
            if item.numbers:
                numbers = "; ".join(_number(n, verbose=True) for n in item.numbers)
                page.gloss("", f"{rule}: {shorten(item.subject.name, 48)}: {numbers}")


# End


def _closing(page: Page, review: Review) -> None:
    page.ruled("next", heavy=True)
    page.gloss("", _next(review), style=ACCENT)
    if review.gate == "never":
        return
    strict = ", strict" if review.strict else ""
    reached = "reached" if review.tripped else "not reached"
    page.gloss("", f"The gate ({review.gate}{strict}) is {reached}.", style=FAINT)


def _next(review: Review) -> str:
    """Return what to do now, by outcome."""
    counts = review.counts
    if counts.broken:
        return (
            "Tell the author of the broken rule what is written above; the other rules have "
            "judged, and what they say stands."
        )
    open_ends = _open_ends(review)
    state = f"{_intent_page(review)} (boardvet explain intent says how)"
    if review.outcome == "hold":
        return (
            "Cure what is marked HOLD, from the top, export again, review again. "
            "What is so on purpose gets a waiver with its reason on the intent page."
        )
    if review.outcome == "query":
        return (
            "Answer what is marked QUERY: change the board, state the fact, or waive it with "
            "its reason on the intent page. Then review again."
        )
    if open_ends:
        return f"State the missing facts, the top one first, in {state}, and review again."
    if review.outcome == "note":
        return "Read what is marked note; nothing that these rules judge stops the order."
    return (
        "Nothing that these rules judge stops the order. What no export shows (footprints, "
        "polarity marks, how it feels in the hand) is yours to look at."
    )
