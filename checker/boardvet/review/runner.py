"""The runner: calls each rule once a subject, and stamps, sorts and counts what it answers.

A rule that raises is contained to its subject. A fact that is missing ends its subject as
undetermined. Nothing is ever dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from boardvet.board import Place
from boardvet.circuit.handle import Assumed, Circuit
from boardvet.circuit.names import natural_key
from boardvet.circuit.rails import Unrecognised
from boardvet.errors import MissingFact
from boardvet.review.budget import Budget, budget_of
from boardvet.review.identity import Identities, fingerprint
from boardvet.review.packs import LoadedPack
from boardvet.review.review import PackName, Review
from boardvet.review.rule import Rule, RuleSettings
from boardvet.review.settings import settings_of, stated_settings
from boardvet.review.verdict import (
    THIS,
    Assumption,
    Broken,
    Clear,
    ClearOf,
    Finding,
    Found,
    Level,
    Setting,
    Subject,
    SubjectName,
    Undetermined,
)
from boardvet.review.waiving import waived_by

__all__ = ["run"]

BOARD = SubjectName("board", "board")


@dataclass
class _Answers:
    """What has been answered so far."""

    findings: list[tuple[Finding, Found]] = field(default_factory=list)
    undetermined: list[Undetermined] = field(default_factory=list)
    clear: list[ClearOf] = field(default_factory=list)
    no_subject: list[str] = field(default_factory=list)
    broken: list[Broken] = field(default_factory=list)
    assumed: dict[Assumed, set[str]] = field(default_factory=dict)


def run(
    circuit: Circuit,
    packs: Sequence[LoadedPack],
    *,
    gate: str = "hold",
    strict: bool = False,
    budget: bool = True,
) -> Review:
    """Run every rule of the packs on a circuit and return the finished review.

    Parameters
    ----------
    circuit : Circuit
        The board.
    packs : sequence of LoadedPack
        Whose rules judge it.
    gate : str
        "hold", "query", "note" or "never".
    strict : bool
        True if what could not be judged reaches the gate as well.
    budget : bool
        False to leave out the run time, where only the rules are of interest.

    Raises
    ------
    InputErrors
        If the intent page states a value that a setting cannot take.
    """
    answers = _Answers()
    rules = [rule for pack in packs for rule in pack.rules]
    settings = {rule.id: settings_of(rule, circuit.intent) for rule in rules}
    for rule in rules:
        with circuit.noting() as noted:
            _run_rule(circuit, rule, settings[rule.id], answers)
        for assumed in noted.values():
            answers.assumed.setdefault(assumed, set()).add(rule.id)
    spent = Budget()
    if budget:
        with circuit.noting() as noted:
            spent = _budget(circuit, answers)
        for assumed in noted.values():
            answers.assumed.setdefault(assumed, set()).add("budget")
    return replace(_review(circuit, packs, rules, answers, gate, strict), budget=spent)


def _budget(circuit: Circuit, answers: _Answers) -> Budget:
    """Return the budget; a fault in its arithmetic must not take the rules along."""
    try:
        return budget_of(circuit)
    except Exception as error:
        answers.broken.append(Broken("budget", BOARD, _said(error)))
        return Budget()


def _review(
    circuit: Circuit,
    packs: Sequence[LoadedPack],
    rules: Sequence[Rule],
    answers: _Answers,
    gate: str,
    strict: bool,
) -> Review:
    board = circuit.board
    changed = [s for r in rules for s in stated_settings(r, circuit.intent.settings.get(r.id, {}))]
    return Review(
        board=board.name,
        parts=len(board.parts),
        nets=len(board.nets),
        files=board.files,
        packs=tuple(PackName(pack.name, pack.version) for pack in packs),
        gate=gate,
        strict=strict,
        findings=tuple(_finished(circuit, answers)),
        undetermined=tuple(sorted(answers.undetermined, key=_order)),
        clear=tuple(answers.clear),
        no_subject=tuple(answers.no_subject),
        broken=tuple(answers.broken),
        assumptions=tuple(_assumptions(answers)),
        settings=tuple(_settings(changed)),
    )


def _settings(changed: Iterable[Setting]) -> list[Setting]:
    return sorted(changed, key=lambda setting: (setting.rule, setting.name))


def _run_rule(
    circuit: Circuit, rule: Rule, settings: RuleSettings | None, answers: _Answers
) -> None:
    subject_type, further = rule.parameters()
    try:
        subjects = subject_type.on(circuit)
        if not subjects:
            answers.no_subject.append(rule.id)
            return
        views = {name: _view(circuit, hint, settings) for name, hint in further.items()}
    except MissingFact as missing:
        answers.undetermined.append(_undetermined(rule, None, missing, circuit))
        return
    except Exception as error:  # a rule that breaks must not take the others along
        answers.broken.append(Broken(rule.id, BOARD, _said(error)))
        return
    for subject in subjects:
        _judge(circuit, rule, subject, views, answers)


def _view(circuit: Circuit, hint: type[Any], settings: RuleSettings | None) -> object:
    if hint is Circuit:
        return circuit
    if issubclass(hint, RuleSettings):
        return settings
    return circuit.view(hint)


def _judge(
    circuit: Circuit, rule: Rule, subject: Subject, views: Mapping[str, object], answers: _Answers
) -> None:
    if isinstance(subject, Unrecognised):
        answers.undetermined.append(_undetermined(rule, subject, subject.missing, circuit))
        return
    try:
        verdict = rule.check(subject, **views)
        if isinstance(verdict, Found):
            finding = _finding(circuit, rule, subject, verdict)
            answers.findings.append((finding, verdict))
        elif isinstance(verdict, Clear):
            answers.clear.append(_clear(circuit, rule, subject, verdict))
        else:
            raise TypeError(f"answered {verdict!r} in place of Found or Clear")
    except MissingFact as missing:
        answers.undetermined.append(_undetermined(rule, subject, missing, circuit))
    except Exception as error:  # contained to this subject
        answers.broken.append(Broken(rule.id, _name(subject), _said(error)))


def _said(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"


def _name(subject: Subject | None) -> SubjectName:
    return BOARD if subject is None else SubjectName(subject.kind, subject.label)


def _net_names(circuit: Circuit, keys: Iterable[str]) -> tuple[str, ...]:
    nets = circuit.board.nets
    return tuple(dict.fromkeys(nets[key].name or key if key in nets else key for key in keys))


def _finding(circuit: Circuit, rule: Rule, subject: Subject, found: Found) -> Finding:
    level = found.level or rule.level
    if level is Level.HOLD and any(n.source.startswith("assumed") for n in found.numbers):
        level = Level.QUERY  # a hold never rests on an assumed number alone
    label = subject.label
    parts = tuple(dict.fromkeys((*subject.parts, *found.parts)))
    return Finding(
        rule=rule.id,
        area=rule.area,
        level=level,
        subject=_name(subject),
        parts=parts,
        nets=_net_names(circuit, (*subject.nets, *found.nets)),
        bench=found.bench.replace(THIS, label),
        sum=found.sum.replace(THIS, label),
        fix=found.fix.replace(THIS, label),
        why=found.why.replace(THIS, label),
        numbers=found.numbers,
        at=_place(circuit, subject),
        related=found.related,
        state=found.state or None,
        fingerprint=fingerprint(rule.id, subject, circuit.view(Identities)),
    )


def _place(circuit: Circuit, subject: Subject) -> Place | None:
    own: Place | None = getattr(subject, "place", None)
    if own is not None:
        return own
    for reference in subject.parts:
        if reference in circuit.board.parts:
            return circuit.board.parts[reference].place
    for key in subject.nets:
        if key in circuit.board.nets:
            return circuit.board.nets[key].place
    return None


def _clear(circuit: Circuit, rule: Rule, subject: Subject, clear: Clear) -> ClearOf:
    return ClearOf(
        rule.id,
        _name(subject),
        subject.parts,
        _net_names(circuit, subject.nets),
        clear.numbers,
    )


def _undetermined(
    rule: Rule, subject: Subject | None, missing: MissingFact, circuit: Circuit
) -> Undetermined:
    return Undetermined(
        rule=rule.id,
        area=rule.area,
        level=rule.level,
        subject=_name(subject),
        parts=subject.parts if subject else (),
        nets=_net_names(circuit, subject.nets) if subject else (),
        of=missing.of,
        key=missing.key,
        missing=missing.missing,
        how=missing.how,
    )


def _finished(circuit: Circuit, answers: _Answers) -> Iterator[Finding]:
    """Fold equal identities, point consequences to their cause, and mark what is waived."""
    identities = circuit.view(Identities)
    prints = {finding.fingerprint for finding, _ in answers.findings}
    folded: dict[tuple[object, ...], list[Finding]] = {}
    for finding, found in answers.findings:
        follows = found.follows
        cause = fingerprint(follows[0], follows[1], identities) if follows else None
        finding = replace(finding, follows=cause if cause in prints else None)
        texts = (found.bench, found.sum, found.fix, found.why)
        key = (finding.fingerprint, finding.level, finding.numbers, finding.state, texts)
        folded.setdefault(key, []).append(finding)
    for finding in sorted(map(_merged, folded.values()), key=_order):
        yield replace(finding, waived=waived_by(circuit.intent.waivers, finding))


def _merged(alike: Sequence[Finding]) -> Finding:
    first = alike[0]
    if len(alike) == 1:
        return first
    return replace(
        first,
        subject=SubjectName(first.subject.kind, ", ".join(one.subject.name for one in alike)),
        parts=tuple(dict.fromkeys(part for one in alike for part in one.parts)),
        nets=tuple(dict.fromkeys(net for one in alike for net in one.nets)),
        folded=sum(one.folded for one in alike),
    )


def _order(item: Finding | Undetermined) -> tuple[object, ...]:
    return item.level.rank, item.area, item.rule, natural_key(item.subject.name)


def _assumptions(answers: _Answers) -> Iterator[Assumption]:
    for assumed in sorted(answers.assumed, key=lambda a: natural_key(a.what)):
        yield Assumption(*assumed, used_by=tuple(sorted(answers.assumed[assumed])))
