"""What tests of rules ask of a review: its one finding, its level, a number, that it is quiet."""

from __future__ import annotations

from typing import NamedTuple

from boardvet.review.review import Review
from boardvet.review.rule import Rule
from boardvet.review.verdict import Finding, Level
from boardvet.testing import judge

__all__ = ["Judging", "level", "number", "only", "quiet"]


def only(done: Review) -> Finding:
    """Return the one finding of a review in which everything could be judged."""
    assert not done.undetermined, done.undetermined
    (finding,) = done.findings
    return finding


def quiet(done: Review) -> bool:
    """Tell whether a review judged something and found nothing."""
    assert not done.undetermined, done.undetermined
    assert done.clear or done.findings
    return not done.findings


def level(done: Review) -> Level | None:
    """Return the level of the first finding, None where every subject is clear."""
    return None if quiet(done) else done.findings[0].level


def number(finding: Finding, name: str) -> float:
    """Return a number of a finding by its name."""
    return next(each.value for each in finding.numbers if each.name == name)


class Judging(NamedTuple):
    """One rule, judging boards that are written as lines of the notation."""

    rule: Rule

    def review(self, *lines: str, **how: bool) -> Review:
        """Return the review of a board on which the rule does not break."""
        done = judge(self.rule, "\n".join(lines), **how)
        assert not done.broken, done.broken
        return done

    def only(self, *lines: str) -> Finding:
        """Return the one finding, nothing being undetermined."""
        return only(self.review(*lines))

    def finding(self, *lines: str) -> Finding:
        """Return the one finding, whatever else could not be judged."""
        (one,) = self.review(*lines).findings
        return one

    def quiet(self, *lines: str) -> bool:
        """Tell whether something was judged and nothing found."""
        return quiet(self.review(*lines))

    def level(self, *lines: str) -> Level | None:
        """Return the level of the first finding, None where all is clear."""
        return level(self.review(*lines))
