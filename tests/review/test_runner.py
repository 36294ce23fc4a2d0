"""The runner: one subject, one verdict; crashes are contained and nothing is dropped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated

import pytest

from boardvet.circuit.handle import Circuit
from boardvet.errors import InputErrors, MissingFact
from boardvet.review.packs import LoadedPack
from boardvet.review.review import Review, exit_status
from boardvet.review.rule import Rule, RuleSettings
from boardvet.review.runner import run
from boardvet.review.verdict import THIS, Clear, Found, Level, Number
from boardvet.testing import circuit_of

BOARD = """
BT1 CR2032 VBAT GND
R1 10k VBAT _a
R2 10k _a GND
R3 10k VBAT _b
R4 10k _b GND
"""


@dataclass(frozen=True)
class Resistor:
    """A made-up subject: a resistor."""

    reference: str
    kind = "resistor"

    @property
    def label(self) -> str:
        return self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        return ()

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Resistor]:
        return [cls(ref) for ref in circuit.board.parts if ref.startswith("R")]


@dataclass(frozen=True)
class Relay(Resistor):
    """A made-up subject that no board has."""

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Relay]:
        return []


def found(**changes: object) -> Found:
    texts = {"bench": f"{THIS} glows.", "sum": "It is hot.", "fix": f"change {THIS}"}
    return Found(**(texts | changes))  # type: ignore[arg-type]


def rule_of(check: Callable[..., Found | Clear], level: Level = Level.HOLD) -> Rule:
    return Rule("made-up", "rail", level, check)


def review(check: Callable[..., Found | Clear], board: str = BOARD, **options: object) -> Review:
    pack = LoadedPack("made up", "0", (rule_of(check),))
    return run(circuit_of(board), [pack], budget=False, **options)  # type: ignore[arg-type]


def test_each_subject_gets_one_verdict() -> None:
    def check(part: Resistor) -> Found | Clear:
        return found() if part.reference in {"R1", "R4"} else Clear()

    said = review(check)

    assert [finding.subject.name for finding in said.findings] == ["R1", "R4"]
    assert [clear.subject.name for clear in said.clear] == ["R2", "R3"]


def test_the_subject_s_name_stands_in_the_texts() -> None:
    said = review(lambda_check(found()))

    assert said.findings[0].bench.startswith("R1")
    assert said.findings[0].message.endswith("glows. It is hot.")


def lambda_check(verdict: Found | Clear) -> Callable[..., Found | Clear]:
    def check(part: Resistor) -> Found | Clear:
        return verdict

    return check


def test_a_missing_fact_ends_only_its_subject() -> None:
    def check(part: Resistor) -> Found | Clear:
        if part.reference == "R2":
            raise MissingFact("R2", "power_rating", "no rating", "parts: {R2: …}")
        return Clear()

    said = review(check)

    assert [(u.subject.name, u.key) for u in said.undetermined] == [("R2", "power_rating")]
    assert len(said.clear) == 3


def test_a_crash_is_contained_to_its_subject_and_gives_status_3() -> None:
    def check(part: Resistor) -> Found | Clear:
        if part.reference == "R3":
            raise ZeroDivisionError("oops")
        return found()

    said = review(check)

    assert [(b.subject.name, b.error) for b in said.broken] == [("R3", "ZeroDivisionError: oops")]
    assert sum(finding.folded for finding in said.findings) == 3
    assert exit_status(said) == 3


def test_an_answer_that_is_no_verdict_is_a_broken_rule() -> None:
    def check(part: Resistor) -> Found | Clear:
        return None  # type: ignore[return-value]

    assert len(review(check).broken) == 4


def test_a_rule_without_subjects_is_listed_as_such() -> None:
    def check(part: Relay) -> Found | Clear:
        raise AssertionError

    assert review(check).no_subject == ("made-up",)


def test_a_hold_never_rests_on_an_assumed_number() -> None:
    stated = found(numbers=(Number("power", 1.0, "W", "netlist a:1"),))
    assumed = found(numbers=(Number("power", 1.0, "W", "assumed: a default"),))

    assert {f.level for f in review(lambda_check(stated)).findings} == {Level.HOLD}
    assert {f.level for f in review(lambda_check(assumed)).findings} == {Level.QUERY}


def test_equal_identities_fold_into_one_finding_that_counts_them() -> None:
    """R1 and R3 stand in equal places: the same letters, the same nets but for automatic names."""
    said = review(lambda_check(found()))

    assert sorted((f.subject.name, f.folded) for f in said.findings) == [
        ("R1, R3", 2),
        ("R2, R4", 2),
    ]


def test_the_gate_counts_from_its_level_up() -> None:
    note = lambda_check(found(level=Level.NOTE))

    assert exit_status(review(note, gate="query")) == 0
    assert exit_status(review(note, gate="note")) == 1
    assert exit_status(review(lambda_check(found()), gate="never")) == 0
    assert exit_status(review(lambda_check(found()), gate="hold")) == 1


def test_strict_counts_what_could_not_be_judged() -> None:
    def check(part: Resistor) -> Found | Clear:
        raise MissingFact("R1", "power_rating", "no rating", "parts: {R1: …}")

    assert exit_status(review(check)) == 0
    assert exit_status(review(check, strict=True)) == 1


def test_a_consequence_points_to_the_finding_it_follows() -> None:
    def check(part: Resistor) -> Found | Clear:
        if part.reference == "R1":
            return found(fix="first")
        return found(fix="second", follows=("made-up", Resistor("R1")))

    said = review(check)
    cause = next(f for f in said.findings if f.fix == "first")

    assert {f.follows for f in said.findings if f.fix == "second"} == {cause.fingerprint}


def test_a_consequence_without_its_cause_stands_alone() -> None:
    said = review(lambda_check(found(follows=("another-rule", Resistor("R1")))))

    assert {finding.follows for finding in said.findings} == {None}


def test_assumptions_name_the_rules_that_rest_on_them() -> None:
    def check(part: Resistor, circuit: Circuit) -> Found | Clear:
        circuit.assume("temperature", 25.0, "degC", "assumed: room temperature")
        return Clear()

    said = review(check)

    assert [(a.what, a.used_by) for a in said.assumptions] == [("temperature", ("made-up",))]


@dataclass(frozen=True)
class MadeUpSettings(RuleSettings):
    limit: Annotated[float, "ohm"] = 1000.0


def test_a_setting_of_the_page_reaches_the_rule() -> None:
    def check(part: Resistor, settings: MadeUpSettings) -> Found | Clear:
        return found() if settings.limit == 2200.0 else Clear()

    said = review(check, BOARD + "~ settings: {made-up: {limit: 2.2 kohm}}")

    assert len(said.findings) == 2
    assert [(s.name, s.value, s.default) for s in said.settings] == [("limit", "2.2 kohm", "1 kΩ")]


def test_a_setting_of_the_wrong_unit_is_refused() -> None:
    def check(part: Resistor, settings: MadeUpSettings) -> Found | Clear:
        return Clear()

    with pytest.raises(InputErrors, match="limit"):
        review(check, BOARD + "~ settings: {made-up: {limit: 3 V}}")


def test_a_waiver_covers_what_it_names_and_keeps_it_visible() -> None:
    def check(part: Resistor) -> Found | Clear:
        return found() if part.reference in {"R1", "R2"} else Clear()

    page = "~ waivers: [{rule: made-up, at: R1, because: warm on purpose}]"
    said = review(check, BOARD + page)

    assert [(f.subject.name, f.waived is not None) for f in said.findings] == [
        ("R1", True),
        ("R2", False),
    ]
    assert said.counts.waived == 1


def test_a_waiver_that_has_run_out_covers_nothing() -> None:
    page = "~ waivers: [{rule: made-up, at: R1, because: was fine then, until: 2020-01-01}]"

    assert review(lambda_check(found()), BOARD + page).counts.waived == 0


def test_equal_identities_with_different_texts_do_not_fold() -> None:
    def check(part: Resistor) -> Found | Clear:
        return found(sum=f"{part.reference[1:]} times too hot.")

    assert [finding.folded for finding in review(check).findings] == [1, 1, 1, 1]
