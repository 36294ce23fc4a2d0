"""What ``boardvet cells`` prints of a regulator between the cell and the board."""

from __future__ import annotations

import math

from boardvet.circuit.inserted import (
    DROPOUT,
    EFFICIENCY,
    LINEAR_OWN,
    SWITCHING_OWN,
    Inserted,
    Regulated,
)
from boardvet.quantity import show, show_time
from boardvet.report.layout import ACCENT, FAINT, Page
from boardvet.report.text import spread

__all__ = ["set_between", "share"]

_WORTH = 1.05
"""A regulator that changes the run time by less than a twentieth is not worth its place."""


def set_between(page: Page, between: Regulated, holders: str) -> None:
    """Set what a regulator between the cell and the board would do.

    Parameters
    ----------
    page : Page
        Where it is set.
    between : Regulated
        What was computed.
    holders : str
        Names of what holds the cells.
    """
    page.ruled("a regulator between cell and board")
    if between.behind:
        names = spread(between.behind)
        page.gloss(
            "",
            f"{names} already stands before all that needs a voltage; {share(between.left)} of "
            "the charge is left at the stop.",
        )
        return
    if between.output is None:
        page.gloss("", "No usual output runs every part and lights every light by half.")
        return
    if between.linear is None:
        text = f"A linear one has no room: the parts need {show(between.output, 'V')}."
        page.gloss("linear", text)
    else:
        _inserted(page, "linear", between, between.linear)
    if between.step_up is not None:
        _inserted(page, "step-up", between, between.step_up)
    page.gloss(
        "",
        f"Assumed: drop-out {show(DROPOUT, 'V')} and {show(LINEAR_OWN, 'A')} for its own; step-up "
        f"{EFFICIENCY:.0%} and {show(SWITCHING_OWN, 'A')}. ".replace("%", " %")
        + "Computed from what the board takes at the output, where lights keep half of their "
        f"current or more; from {holders}, typical parts.",
        style=FAINT,
    )


def _inserted(page: Page, word: str, between: Regulated, one: Inserted) -> None:
    """Say whether a regulator would pay, and what it would leave in the cell."""
    gain = one.run_time / between.run_time if between.run_time > 0.0 else math.inf
    strands = one.left > between.left + 0.02
    what = "step-up converter" if one.stepping_up else "low-drop-out regulator"
    named = f"A {what} of {show(one.output, 'V')}"
    if one.run_time == 0.0:
        also = ", either" if between.run_time == 0.0 else ""
        page.gloss(word, f"{named}: the board would not start on it{also}.")
        return
    if gain >= _WORTH:
        verdict = "would pay"
    elif strands:
        verdict = "would strand charge"
    elif gain <= 1.0 / _WORTH:
        verdict = "would cost run time"
    else:
        verdict = "would change little"
    times = f"{_time(one.run_time)} in place of {_time(between.run_time)}"
    charge = f"{share(one.left)} of the charge left at the stop, now {share(between.left)}"
    text = f"{named} {verdict}: {times}, {charge}."
    page.gloss(word, text, style=ACCENT if gain >= _WORTH else "")


def _time(seconds: float) -> str:
    return "no time" if seconds == 0.0 else show_time(seconds)


def share(part: float) -> str:
    """Return a share in per cent."""
    return f"{part:.0%}".replace("%", " %")
