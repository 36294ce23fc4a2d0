"""The finished review of one board: all that a report may see."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from boardvet.board import SourceFile
from boardvet.review.budget import Budget
from boardvet.review.verdict import (
    Assumption,
    Broken,
    ClearOf,
    Finding,
    Level,
    Setting,
    Undetermined,
)

__all__ = ["Counts", "PackName", "Review", "exit_status"]


class PackName(NamedTuple):
    """A pack of rules that took part."""

    name: str
    version: str


@dataclass(frozen=True, slots=True)
class Counts:
    """How many of each; hold, query and note count what is not waived."""

    hold: int
    query: int
    note: int
    undetermined: int
    clear: int
    waived: int
    no_subject: int
    broken: int


@dataclass(frozen=True, slots=True)
class Review:
    """What one review of one board said. Every tuple is in its final order.

    `gate` is "hold", "query", "note" or "never".
    """

    board: str
    parts: int
    nets: int
    files: tuple[SourceFile, ...]
    packs: tuple[PackName, ...]
    gate: str
    strict: bool
    findings: tuple[Finding, ...]
    undetermined: tuple[Undetermined, ...]
    clear: tuple[ClearOf, ...]
    no_subject: tuple[str, ...]
    broken: tuple[Broken, ...]
    assumptions: tuple[Assumption, ...]
    settings: tuple[Setting, ...]
    budget: Budget = field(default_factory=Budget)

    @property
    def counts(self) -> Counts:
        """Counts of verdicts."""
        live = [finding.level for finding in self.findings if finding.waived is None]
        return Counts(
            hold=live.count(Level.HOLD),
            query=live.count(Level.QUERY),
            note=live.count(Level.NOTE),
            undetermined=len(self.undetermined),
            clear=len(self.clear),
            waived=len(self.findings) - len(live),
            no_subject=len(self.no_subject),
            broken=len(self.broken),
        )

    @property
    def outcome(self) -> str:
        """Highest unwaived level; else undetermined if a hold or query rule could not judge."""
        live = [finding.level for finding in self.findings if finding.waived is None]
        if live:
            return min(live, key=lambda level: level.rank).value
        if any(item.level is not Level.NOTE for item in self.undetermined):
            return "undetermined"
        return "clear"

    @property
    def tripped(self) -> bool:
        """True if a finding, or with `strict` a rule that could not judge, reaches the gate."""
        if self.gate == "never":
            return False
        limit = Level(self.gate).rank
        reached = any(
            finding.level.rank <= limit
            for finding in self.findings
            if finding.waived is None and finding.since != "known"
        )
        open_ends = self.strict and any(item.level.rank <= limit for item in self.undetermined)
        return reached or open_ends


def exit_status(review: Review) -> int:
    """Return 3 if a rule broke, 1 if the gate tripped, else 0."""
    if review.broken:
        return 3
    return 1 if review.tripped else 0
