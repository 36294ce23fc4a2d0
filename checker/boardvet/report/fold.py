"""What is alike is said once: findings, missing facts and assumptions folded for reading."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from boardvet.report.text import spread
from boardvet.review.verdict import Assumption, Finding, Level, Undetermined

__all__ = [
    "AreaFindings",
    "Group",
    "LikeAssumptions",
    "Wanted",
    "by_area",
    "fold_assumptions",
    "fold_findings",
    "fold_missing",
]

_EACH = 0
"""Slot of a text that stands for the subject's own name."""

_SLOT = re.compile("\ue000([0-9]+)\ue001")
_REFERENCE = re.compile(r"\b[A-Za-z]{1,4}[0-9]{1,5}\b")
_FROM_A_REEL = re.compile(r"(?:C|D|FB|L|LED|R)[1-9][0-9]{0,4}")
"""Parts that come many alike, so that one value for a run of them is likely; U1 to U3 are not."""


@dataclass(frozen=True, slots=True)
class Group:
    """Findings that say the same of several subjects, and what follows from them.

    Parameters
    ----------
    findings : tuple of Finding
        At least one; the first stands for all.
    bench, sum, fix, why : str
        Texts of the first, with "each" for the subject and the names of all for what differs.
    follows : tuple of Group
        Consequences, folded in turn.
    """

    findings: tuple[Finding, ...]
    bench: str
    sum: str
    fix: str
    why: str
    follows: tuple[Group, ...] = ()

    @property
    def first(self) -> Finding:
        """The finding that stands for all."""
        return self.findings[0]

    @property
    def level(self) -> Level:
        """Level that all of them have."""
        return self.first.level

    @property
    def count(self) -> int:
        """How many subjects are meant, those of equal identity included."""
        return sum(finding.folded for finding in self.findings)

    @property
    def subjects(self) -> tuple[str, ...]:
        """Names of the subjects, each once."""
        return tuple(dict.fromkeys(chain.from_iterable(map(_subjects, self.findings))))

    def everything(self) -> tuple[Finding, ...]:
        """Return the findings of the group and of all that follows from it."""
        return self.findings + tuple(f for group in self.follows for f in group.everything())


class AreaFindings(NamedTuple):
    """The groups of one area, the worst first."""

    area: str
    groups: tuple[Group, ...]


class Wanted(NamedTuple):
    """One fact that is missing and what waits for it."""

    of: str
    key: str
    missing: str
    how: str
    waiting: tuple[Undetermined, ...]

    @property
    def rules(self) -> tuple[str, ...]:
        """Rules that wait for it, each once."""
        return tuple(dict.fromkeys(item.rule for item in self.waiting))


class LikeAssumptions(NamedTuple):
    """The same default, used for one or several things."""

    what: str
    value: float | str
    unit: str
    source: str
    rules: tuple[str, ...]


# Findings


def fold_findings(findings: Iterable[Finding]) -> tuple[Group, ...]:
    """Return the findings folded: like ones together, each consequence under its cause.

    A finding that follows one which is not among these stands by itself, so that nothing is
    hidden under a cause that is waived or not shown. Of causes that follow each other in a
    circle, the first stands by itself.
    """
    shown = tuple(findings)
    present = {finding.fingerprint for finding in shown}
    children: dict[str, list[Finding]] = {}
    roots: list[Finding] = []
    for finding in shown:
        if finding.follows in present and finding.follows != finding.fingerprint:
            children.setdefault(finding.follows or "", []).append(finding)
        else:
            roots.append(finding)
    groups = list(_nest(roots, children))
    # What is left follows in a circle: no cause of it was a root.
    while children:
        cause = next(iter(children))
        first = children[cause].pop(0)
        if not children[cause]:
            del children[cause]
        groups += _nest([first], children)
    return tuple(groups)


def _nest(findings: Sequence[Finding], children: dict[str, list[Finding]]) -> tuple[Group, ...]:
    """Fold these findings, taking from `children` what follows from them."""
    groups = []
    for alike in _alike(findings):
        below: list[Finding] = []
        for fingerprint in dict.fromkeys(finding.fingerprint for finding in alike):
            below += children.pop(fingerprint, ())
        groups.append(_group(alike, _nest(below, children) if below else ()))
    return tuple(groups)


def by_area(groups: Iterable[Group]) -> tuple[AreaFindings, ...]:
    """Return the groups by the area of their first finding, biggest area and worst group first.

    Biggest is by the number of holds, then of queries, then of notes, consequences included.
    """
    areas: dict[str, list[Group]] = {}
    for group in groups:
        areas.setdefault(group.first.area, []).append(group)
    ordered = sorted(areas.items(), key=lambda item: (_weight(item[1]), item[0]))
    return tuple(
        AreaFindings(area, tuple(sorted(found, key=lambda group: group.level.rank)))
        for area, found in ordered
    )


def _weight(groups: Iterable[Group]) -> tuple[int, ...]:
    counts = Counter(finding.level for group in groups for finding in group.everything())
    return tuple(-counts[level] for level in Level)


def _alike(findings: Sequence[Finding]) -> list[tuple[Finding, ...]]:
    """Return the findings in sets that differ in names only, in the order of their firsts."""
    rough: dict[object, list[Finding]] = {}
    for finding in findings:
        rough.setdefault(_rough_key(finding), []).append(finding)
    if len(rough) == len(findings):
        return [(finding,) for finding in findings]
    exact: dict[object, list[Finding]] = {}
    for key, found in rough.items():
        for finding in found:
            # A text without a like one needs no template, which is the slow part.
            texts = _template(finding) if len(found) > 1 else ()
            exact.setdefault((key, texts), []).append(finding)
    order = {id(finding): index for index, finding in enumerate(findings)}
    return sorted((tuple(found) for found in exact.values()), key=lambda f: order[id(f[0])])


def _rough_key(finding: Finding) -> tuple[object, ...]:
    numbers = tuple((f"{number.value:.4g}", number.unit) for number in finding.numbers)
    return (
        finding.rule,
        finding.level,
        finding.subject.kind,
        numbers,
        finding.state,
        finding.waived,
        finding.since,
    )


def _subjects(finding: Finding) -> tuple[str, ...]:
    """Return the names of the subjects: a finding on several of equal identity lists them."""
    names = tuple(finding.subject.name.split(", "))
    return names if len(names) == finding.folded else (finding.subject.name,)


def _slots(finding: Finding) -> list[tuple[str, ...]]:
    """Return the names that may differ between like findings, those of the subjects first.

    Each slot holds one name a subject; the texts have the first of them.
    """
    subjects = _subjects(finding)
    slots = {subjects[0]: subjects}
    for column in (*_columns(finding.parts, len(subjects)), *((net,) for net in finding.nets)):
        slots.setdefault(column[0], column)
    slots.pop("", None)
    return list(slots.values())


def _columns(parts: tuple[str, ...], subjects: int) -> list[tuple[str, ...]]:
    """Return the parts of several subjects, listed one subject after the other, by their place."""
    step = len(parts) // subjects
    columns = [parts[place::step] for place in range(step)] if step else []
    if step * subjects == len(parts) and all(_same_letters(column) for column in columns):
        return columns
    return [(part,) for part in parts]


def _same_letters(names: tuple[str, ...]) -> bool:
    return len({name.rstrip("0123456789") for name in names}) == 1


def _template(finding: Finding) -> tuple[str, ...]:
    """Return the four texts with a numbered slot for each name of the finding."""
    texts = (finding.bench, finding.sum, finding.fix, finding.why)
    slots = {names[0]: f"\ue000{index}\ue001" for index, names in enumerate(_slots(finding))}
    if not slots:
        return texts
    return tuple(_with_words(text, slots) for text in texts)


def _with_words(text: str, words: Mapping[str, str]) -> str:
    """Put other words in place of names, the longest where several begin.

    A pattern made of the names would do the same, but to compile one a finding is slow.
    """
    pieces: list[str] = []
    done = 0
    while True:
        found = [(_next(text, name, done), -len(name), name) for name in words]
        place, _, name = min((one for one in found if one[0] >= 0), default=(-1, 0, ""))
        if place < 0:
            return "".join((*pieces, text[done:]))
        pieces += [text[done:place], words[name]]
        done = place + len(name)


def _next(text: str, name: str, start: int) -> int:
    """Return where a name next stands as a word of its own, -1 if nowhere."""
    place = text.find(name, start)
    while place >= 0:
        end = place + len(name)
        if not (_in_a_word(text[place - 1 : place]) or _in_a_word(text[end : end + 1])):
            break
        place = text.find(name, place + 1)
    return place


def _in_a_word(character: str) -> bool:
    return character.isalnum() or character == "_"


def _group(findings: tuple[Finding, ...], follows: tuple[Group, ...]) -> Group:
    first = findings[0]
    if len(findings) == 1 and len(_subjects(first)) == 1:
        return Group(findings, first.bench, first.sum, first.fix, first.why, follows)
    columns = [
        tuple(chain.from_iterable(names)) for names in zip(*map(_slots, findings), strict=False)
    ]
    words = [
        names[0] if len(set(names)) == 1 else "each" if slot == _EACH else spread(names, 40)
        for slot, names in enumerate(columns)
    ]
    bench, total, fix, why = (_fill(text, words) for text in _template(first))
    return Group(findings, bench, total, fix, why, follows)


def _fill(template: str, words: Sequence[str]) -> str:
    """Put the words into the slots; "each" takes a capital where a sentence begins."""

    def word(match: re.Match[str]) -> str:
        text = words[int(match[1])]
        before = template[: match.start()].rstrip()
        return text.capitalize() if text == "each" and before[-1:] in ("", ".") else text

    return _SLOT.sub(word, template)


# Missing facts


def fold_missing(undetermined: Iterable[Undetermined]) -> tuple[Wanted, ...]:
    """Return the missing facts, the one that most subjects wait for first.

    Facts of resistors, LEDs and the like whose numbers run on are one, with a range, where the
    texts differ in the part's name only: one line of the intent page can state them together.
    """
    by_fact: dict[tuple[str, str], list[Undetermined]] = {}
    for item in undetermined:
        by_fact.setdefault((item.of, item.key), []).append(item)
    wanted = [
        Wanted(of, key, items[0].missing, items[0].how, tuple(items))
        for (of, key), items in by_fact.items()
    ]
    joined = _join_ranges(wanted)
    return tuple(sorted(joined, key=lambda fact: (-len(fact.waiting), _worst(fact))))


def _worst(fact: Wanted) -> int:
    return min(item.level.rank for item in fact.waiting)


def _join_ranges(wanted: Sequence[Wanted]) -> list[Wanted]:
    like: dict[object, list[Wanted]] = {}
    for fact in wanted:
        # The intent page takes ranges of parts, not of nets.
        ranged = fact.how.startswith("parts:") and _FROM_A_REEL.fullmatch(fact.of) is not None
        key = (fact.key, fact.rules, _without(fact.of, fact.missing), _without(fact.of, fact.how))
        like.setdefault(key if ranged else (fact.of, fact.key), []).append(fact)
    return [joined for facts in like.values() for joined in _joined(facts)]


def _without(name: str, text: str) -> str:
    return _with_words(text, {name: "\ue000"}) if name else text


def _joined(facts: Sequence[Wanted]) -> list[Wanted]:
    """Join the like facts of each unbroken run of designators."""
    if len(facts) == 1:
        return list(facts)
    by_name = {fact.of: fact for fact in facts}
    first = facts[0]
    result = []
    for run in spread(tuple(by_name), limit=10**9).split(", "):
        low, _, high = run.partition("-")
        if not high:
            result.append(by_name[low])
            continue
        prefix = low.rstrip("0123456789")
        numbers = range(int(low[len(prefix) :]), int(high[len(prefix) :]) + 1)
        members = [by_name[f"{prefix}{number}"] for number in numbers]
        missing, how = (
            _without(first.of, text).replace("\ue000", run) for text in (first.missing, first.how)
        )
        waiting = tuple(item for fact in members for item in fact.waiting)
        result.append(Wanted(run, first.key, missing, how, waiting))
    return result


# Assumptions


def fold_assumptions(assumptions: Iterable[Assumption]) -> tuple[LikeAssumptions, ...]:
    """Return the defaults in use, the one that most rules rest on first.

    Assumptions that differ only in the one part they name are said together.
    """
    like: dict[object, list[Assumption]] = {}
    for item in assumptions:
        value = item.value if isinstance(item.value, str) else f"{item.value:.6g}"
        names = _REFERENCE.findall(item.what)
        what = _REFERENCE.sub("\ue000", item.what) if len(names) == 1 else item.what
        source = item.source
        if len(names) == 1:
            source = _without(names[0], source)
        like.setdefault((what, value, item.unit, source), []).append(item)
    folded = [_like_assumptions(items) for items in like.values()]
    return tuple(sorted(folded, key=lambda item: -len(item.rules)))


def _like_assumptions(items: Sequence[Assumption]) -> LikeAssumptions:
    first = items[0]
    rules = tuple(dict.fromkeys(rule for item in items for rule in item.used_by))
    if len(items) == 1:
        return LikeAssumptions(first.what, first.value, first.unit, first.source, rules)
    parts = tuple(name for item in items for name in _REFERENCE.findall(item.what)[:1])
    listed = spread(parts)
    what = _REFERENCE.sub(listed, first.what)
    source = _without(parts[0], first.source).replace("\ue000", listed)
    return LikeAssumptions(what, first.value, first.unit, source, rules)
