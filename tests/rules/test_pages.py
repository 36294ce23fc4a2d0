"""Every rule of every installed pack has a page that can be trusted."""

from __future__ import annotations

import re

import pytest

from boardvet.review.packs import load_packs
from boardvet.review.rule import Rule
from boardvet.review.settings import known_settings
from boardvet.testing import examples_of, judge

HEADINGS = (
    "On the bench",
    "What is judged",
    "Left undetermined",
    "Cure",
    "Settings",
    "Sources",
)
OPTIONAL = {"Settings"}
AREAS = [
    "cell",
    "rail",
    "decoupling",
    "light",
    "regulator",
    "charger",
    "pin",
    "bus",
    "clock",
    "switch",
    "port",
    "access",
    "net",
    "part",
    "bom",
    "placement",
    "safety",
    "revision",
    "files",
]
RULES = [rule for pack in load_packs() for rule in pack.rules]
_SECTION = re.compile(r"^([A-Z][A-Za-z ]+)\n(-+)$", re.MULTILINE)
_SETTING = re.compile(r"^([a-z_]+) : ", re.MULTILINE)


def name(rule: Rule) -> str:
    return rule.id


def section(rule: Rule, heading: str) -> str:
    match = re.search(
        rf"^{heading}\n-+\n(.*?)(?=^[A-Z][A-Za-z ]+\n-+$|^Wrong|^Right|\Z)",
        rule.page,
        re.MULTILINE | re.DOTALL,
    )
    return match[1].strip() if match else ""


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_the_headings_are_the_fixed_ones_in_their_order(rule: Rule) -> None:
    found = [match[1] for match in _SECTION.finditer(rule.page)]

    assert found == [h for h in HEADINGS if h in found]
    assert set(HEADINGS) - set(found) <= OPTIONAL


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_every_section_says_something_of_its_own(rule: Rule) -> None:
    texts = [section(rule, heading) for heading in HEADINGS if heading not in OPTIONAL]

    assert all(len(text) > 20 for text in texts)
    assert len(set(texts)) == len(texts)
    assert section(rule, "On the bench").rstrip(".").lower() != rule.title.lower()


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_the_page_fits_a_narrow_terminal(rule: Rule) -> None:
    assert max(map(len, rule.page.splitlines())) <= 100


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_the_settings_on_the_page_are_the_settings_there_are(rule: Rule) -> None:
    documented = _SETTING.findall(section(rule, "Settings"))

    assert documented == list(known_settings(rule))


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_the_area_is_one_of_the_rule_book(rule: Rule) -> None:
    assert rule.area in AREAS


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_what_is_shown_as_wrong_is_found(rule: Rule) -> None:
    examples = examples_of(rule)["Wrong"]

    assert examples, "a page shows at least one wrong board"
    for board in examples:
        review = judge(rule, board)
        assert not review.broken
        assert review.findings, board


@pytest.mark.parametrize("rule", RULES, ids=name)
def test_what_is_shown_as_right_is_clear(rule: Rule) -> None:
    examples = examples_of(rule)["Right"]

    assert examples, "a page shows at least one right board"
    for board in examples:
        review = judge(rule, board)
        assert not review.broken
        assert not review.undetermined, review.undetermined
        assert review.clear, board
        assert not review.findings, board


def test_no_two_rules_share_a_title() -> None:
    titles = [rule.title for rule in RULES]

    assert len(set(titles)) == len(titles)
