"""What is alike is said once, and nothing is lost or said of a subject that differs."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st
from tests.report.factory import assumption, draft_review, finding, undetermined

from boardvet.report.fold import by_area, fold_assumptions, fold_findings, fold_missing
from boardvet.report.text import spread
from boardvet.review.verdict import Finding, Level, Number, SubjectName


def leds(*numbers: int) -> tuple[Finding, ...]:
    return tuple(finding(f"D{number}", line=number) for number in numbers)


def test_twelve_like_leds_are_one_group() -> None:
    (group,) = fold_findings(leds(*range(1, 13)))

    assert group.count == 12
    assert spread(group.subjects) == "D1-D12"
    assert group.bench == "Each flares and dies within minutes."
    assert group.fix == "put 68 Ω in series with each"


def test_a_single_finding_keeps_its_name() -> None:
    (group,) = fold_findings(leds(7))

    assert group.bench == "D7 flares and dies within minutes."


def test_a_different_number_is_a_different_group() -> None:
    other = finding("D2", numbers=(Number("forward voltage", 2.1, "V", "facts led"),))

    assert [group.subjects for group in fold_findings((*leds(1, 3), other))] == [
        ("D1", "D3"),
        ("D2",),
    ]


def test_a_different_text_is_a_different_group() -> None:
    assert len(fold_findings((*leds(1), finding("D2", fix="take D2 off")))) == 2


def test_a_different_level_is_a_different_group() -> None:
    assert len(fold_findings((*leds(1), finding("D2", level=Level.QUERY)))) == 2


def test_the_name_of_one_led_is_not_found_inside_that_of_another() -> None:
    """D1 stands in the text of D11 too; a name counts only as a whole word."""
    made = [
        finding(name, sum="", why="", bench=f"{name} fails beside D1X.") for name in ("D1", "D11")
    ]
    (group,) = fold_findings(made)

    assert group.bench == "Each fails beside D1X."


def test_the_resistors_of_like_leds_are_listed() -> None:
    made = [
        finding(f"D{n}", parts=(f"D{n}", f"R{n}"), fix=f"change R{n} to 68 Ω") for n in (1, 2, 3)
    ]
    (group,) = fold_findings(made)

    assert group.fix == "change R1-R3 to 68 Ω"


def test_subjects_of_equal_identity_are_named_and_their_resistors_too() -> None:
    """The runner lists subjects of one fingerprint in one finding; its texts name the first."""
    two = finding(
        "D1",
        subject=SubjectName("LED string", "D1, D2"),
        parts=("D1", "R1", "D2", "R2"),
        folded=2,
        fix="change R1 to 68 Ω",
    )
    third = finding("D3", parts=("D3", "R3"), fix="change R3 to 68 Ω")
    (alone,) = fold_findings((two,))
    (both,) = fold_findings((two, third))

    assert (alone.count, alone.subjects, alone.fix) == (2, ("D1", "D2"), "change R1, R2 to 68 Ω")
    assert (both.count, both.subjects, both.fix) == (
        *(3, ("D1", "D2", "D3"), "change R1-R3 to 68 Ω"),
    )
    assert alone.bench == both.bench == "Each flares and dies within minutes."


def test_a_part_that_subjects_of_equal_identity_share_is_not_taken_for_another() -> None:
    two = finding(
        "D1",
        subject=SubjectName("LED string", "D1, D2"),
        parts=("D1", "R1", "U1", "U2", "D2", "R2"),
        folded=2,
        fix="move R1 from U1 to U2",
    )
    (group,) = fold_findings((two,))

    assert group.fix == "move R1 from U1 to U2"


def test_a_net_that_all_share_keeps_its_name() -> None:
    made = [
        finding(f"D{n}", nets=("VBAT",), fix=f"join D{n} to VBAT through 68 Ω") for n in (1, 2)
    ]
    (group,) = fold_findings(made)

    assert group.fix == "join each to VBAT through 68 Ω"


def test_a_consequence_is_folded_under_its_cause() -> None:
    cause = finding("VLED", rule="rail-unfed")
    effects = [
        finding(name, rule="supply-window", follows=cause.fingerprint) for name in ("U1", "U2")
    ]
    (group,) = fold_findings((effects[0], cause, effects[1]))

    assert group.first is cause
    assert [inner.subjects for inner in group.follows] == [("U1", "U2")]


def test_a_consequence_of_a_consequence_is_folded_too() -> None:
    first = finding("A")
    second = finding("B", follows=first.fingerprint, bench="B is dark.")
    third = finding("C", follows=second.fingerprint, bench="C is dim.")
    (group,) = fold_findings((third, second, first))

    assert group.follows[0].follows[0].first is third


def test_a_consequence_without_its_cause_stands_by_itself() -> None:
    (group,) = fold_findings((finding("U1", follows="rail-unfed/VLED"),))

    assert group.first.subject.name == "U1"


def test_findings_that_follow_each_other_are_all_kept() -> None:
    circle = (finding("A", follows="led-unlimited/B"), finding("B", follows="led-unlimited/A"))

    assert sum(len(group.everything()) for group in fold_findings(circle)) == 2


NAMES = st.sampled_from(["D1", "D2", "D3", "R1", "VBAT", "A"])


@given(st.lists(st.tuples(NAMES, st.sampled_from(Level), st.none() | NAMES), max_size=12))
def test_folding_loses_and_doubles_nothing(
    rows: list[tuple[str, Level, str | None]],
) -> None:
    findings = [
        finding(name, level=level, follows=follows and f"led-unlimited/{follows}")
        for name, level, follows in rows
    ]
    kept = [item for group in fold_findings(findings) for item in group.everything()]

    assert sorted(map(id, kept)) == sorted(map(id, findings))


def test_the_area_with_most_holds_comes_first() -> None:
    findings = (
        finding("N1", area="net", level=Level.NOTE),
        finding("B1", area="bom", level=Level.QUERY),
        finding("C1", area="cell"),
        *(finding(name, area="light", fix=f"{name}{name}") for name in ("D1", "D2")),
    )

    assert [area.area for area in by_area(fold_findings(findings))] == [
        *("light", "cell", "bom", "net")
    ]


def test_within_an_area_the_worst_comes_first() -> None:
    levels = (Level.NOTE, Level.HOLD, Level.QUERY)
    (area,) = by_area(fold_findings([finding(level.value, level=level) for level in levels]))

    assert [group.level for group in area.groups] == [Level.HOLD, Level.QUERY, Level.NOTE]


def test_the_order_does_not_depend_on_the_order_of_areas() -> None:
    findings = list(draft_review().findings)
    areas = [area.area for area in by_area(fold_findings(findings))]
    random.Random(2).shuffle(findings)

    assert [area.area for area in by_area(fold_findings(findings))] == areas


def test_the_fact_that_most_wait_for_comes_first() -> None:
    facts = fold_missing(
        [
            undetermined("U1", "supply"),
            undetermined("U2", "supply", rule="back-feed"),
            undetermined("U2", "supply", rule="pin-overloaded"),
        ]
    )

    assert [(fact.of, len(fact.waiting)) for fact in facts] == [("U2", 2), ("U1", 1)]


def test_a_missing_cell_is_one_fact_however_many_wait() -> None:
    how = "cell: {part: BT1, type: CR2450}"
    (fact,) = fold_missing(
        undetermined("board", "cell", rule=rule, subject=name, how=how)
        for rule in ("supply-window", "led-unlimited")
        for name in ("U1", "U2", "U3")
    )

    assert fact.how == how
    assert len(fact.waiting) == 6
    assert fact.rules == ("supply-window", "led-unlimited")


def test_the_same_fact_of_parts_in_a_row_is_one_line_with_a_range() -> None:
    facts = fold_missing(
        undetermined(f"D{n}", "forward_voltage", how=f"parts: {{D{n}: {{forward_voltage: 2 V}}}}")
        for n in (1, 2, 3, 4, 9)
    )

    assert [fact.how for fact in facts] == [
        "parts: {D1-D4: {forward_voltage: 2 V}}",
        "parts: {D9: {forward_voltage: 2 V}}",
    ]
    assert facts[0].missing == "forward_voltage of D1-D4 is not known"


def test_parts_that_are_seldom_alike_are_never_joined_to_a_range() -> None:
    """U1 to U3 are three different circuits as a rule; one line for them would mislead."""
    assert len(fold_missing(undetermined(f"U{n}", "supply") for n in (1, 2, 3))) == 3


def test_nets_are_never_joined_to_a_range() -> None:
    """The intent page knows ranges of parts only."""
    facts = fold_missing(
        undetermined(f"LED{n}", "speed", how=f"nets: {{LED{n}: {{speed: 100 kHz}}}}")
        for n in (1, 2, 3)
    )

    assert len(facts) == 3


def test_like_assumptions_are_said_once() -> None:
    pins = [assumption(f"pin_resistance of U{n}", "led-unlimited", f"rule-{n}") for n in (1, 2, 3)]
    likes = fold_assumptions([assumption("temperature"), *pins])

    assert [(like.what, len(like.rules)) for like in likes] == [
        ("pin_resistance of U1-U3", 4),
        ("temperature", 1),
    ]


@given(st.sets(st.integers(0, 40)))
def test_a_range_says_exactly_its_members(numbers: set[int]) -> None:
    text = spread(tuple(f"R{number}" for number in sorted(numbers)), limit=1000)
    written: set[int] = set()
    for run in filter(None, text.split(", ")):
        low, _, high = run.partition("-")
        written |= set(range(int(low[1:]), int((high or low)[1:]) + 1))

    assert written == numbers


def test_what_a_short_list_leaves_out_is_counted() -> None:
    names = tuple(f"NET_{letter}" for letter in "ABCDEFGH")

    assert spread(names, limit=15) == "NET_A, NET_B and 6 more"
