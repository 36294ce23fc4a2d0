"""Which findings the intent page accepts, and why."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from boardvet.intent import StatedWaiver
from boardvet.review.verdict import Finding, Waived

__all__ = ["waived_by"]


def waived_by(waivers: Sequence[StatedWaiver], finding: Finding) -> Waived | None:
    """Return why a finding is accepted, None if it is not.

    A waiver covers a finding of its rule whose parts, nets or subject it names. One that has run
    out covers nothing.
    """
    today = datetime.date.today()
    names = {finding.subject.name, *finding.parts, *finding.nets}
    for waiver in waivers:
        in_time = waiver.until is None or today <= waiver.until
        if waiver.rule == finding.rule and in_time and names & set(waiver.at):
            return Waived(waiver.because, waiver.until.isoformat() if waiver.until else "")
    return None
