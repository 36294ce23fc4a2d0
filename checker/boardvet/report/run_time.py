"""The part of a report on the run time: how long, why it ends, who takes the charge."""

from __future__ import annotations

from collections.abc import Iterator

from boardvet.quantity import show, show_time
from boardvet.report.layout import ACCENT, FAINT, Page
from boardvet.report.text import pasted, sentence, spread
from boardvet.review.budget import Budget, Consumer

__all__ = ["set_run_time"]

_DAY = 86400.0
_YEARS = 5 * 365 * _DAY
"""Up to here two times in different units are both given in days. [s]"""

_LOST = ("self-discharge", "lost at this rate")
"""What the cell itself takes: whose it is goes without saying."""

_ALIKE = 0.9
"""Consumers of one kind that take at least this share of the first of them go by one name."""

_AT_MOST = 5
"""Consumers that are named without --verbose."""


def set_run_time(page: Page, budget: Budget, *, verbose: bool) -> None:
    """Set the run time of a board on the page; nothing for a board without a cell."""
    if budget.missing:
        page.ruled("run time", "not computed")
        entry = pasted(budget.how)
        missing = f"{sentence(budget.missing)} To have it computed,"
        if entry is None:
            page.gloss("", f"{missing} {budget.how}.")
        else:
            page.gloss("", f"{missing} state on the intent page:")
            page.paste("", entry[0], "; ".join(entry[1]))
        return
    if budget.capacity is None:
        return
    page.ruled("run time", _span(budget))
    page.gloss("", " ".join(_sentences(budget)))
    if budget.run_time != 0.0:
        page.gloss("spent", _spent(budget, verbose=verbose))
    if verbose and len(budget.modes) > 1:
        page.gloss("modes", _modes(budget))
    if budget.change and budget.changed_run_time is not None:
        longer = f"then it runs {show_time(budget.changed_run_time)}"
        page.gloss("longer", sentence(f"{budget.change}: {longer}"), style=ACCENT)
    if budget.not_counted:
        names = spread(budget.not_counted)
        draws = "draws" if len(budget.not_counted) == 1 else "draw"
        page.gloss("without", f"what {names} {draws} at rest: nobody knows it", style=FAINT)


def _span(budget: Budget) -> str:
    """Return the run time as a range: cells differ by tens of per cent."""
    if budget.run_time is None:
        return "endless"
    if budget.run_time == 0.0:
        return "does not start"
    if budget.worst is None or budget.best is None:
        return show_time(budget.run_time)
    (worst, unit), (best, of_best) = (show_time(t).split() for t in (budget.worst, budget.best))
    if unit == of_best:
        return f"{worst} to {best} {unit}"
    if budget.worst >= 0.1 * _DAY and budget.best < _YEARS:
        worst, best = (f"{float(f'{t / _DAY:.2g}'):g}" for t in (budget.worst, budget.best))
        return f"{worst} to {best} days"
    return f"{worst} {unit} to {best} {of_best}"


def _sentences(budget: Budget) -> Iterator[str]:
    if budget.run_time is None:
        yield f"Nothing draws from {budget.cells}."
        return
    if budget.run_time == 0.0:
        yield f"It does not start on {budget.cells}: {budget.stop_reason}."
        return
    typical = show_time(budget.run_time)
    yield f"It runs {typical} on {budget.cells} with typical parts{_wanted(budget)}."
    if budget.capacity and budget.stranded is not None:
        left = budget.stranded / budget.capacity
        rest = f"; {left:.0%} of the charge is left then" if left >= 0.005 else ""
        yield f"It stops when {budget.stop_reason}{rest}."
    if budget.reaching is not None and budget.wanted is not None:
        yield _reaching(budget, budget.reaching, budget.wanted)


def _wanted(budget: Budget) -> str:
    return f"; {show_time(budget.wanted, 3)} are wanted" if budget.wanted is not None else ""


def _reaching(budget: Budget, share: float, wanted: float) -> str:
    """Say who reaches the run time wanted; where the limits of parts say so, none was drawn."""
    if budget.worst is not None and budget.worst >= wanted:
        return "With every part at its worst it still reaches that."
    if budget.best is not None and budget.best < wanted:
        return "Not even with every part at its best does it reach that."
    if share in (0.0, 1.0):
        return f"{'All boards' if share else 'No boards'} drawn at random reach the time wanted."
    return f"{min(max(share, 0.01), 0.99):.0%} of boards drawn at random reach the time wanted."


def _spent(budget: Budget, *, verbose: bool) -> str:
    """Return the mean current and who takes it, biggest first."""
    joined = list(_joined(budget.consumers))
    most = len(joined) if verbose else _AT_MOST
    texts = [f"{name} {share:.0%}" for name, share in joined[:most] if share >= 0.005]
    rest = sum(share for _, share in joined[most:])
    if rest >= 0.005:
        texts.append(f"others {rest:.0%}")
    return f"{show(budget.mean_current or 0.0, 'A')} on average: {', '.join(texts)}"


def _joined(consumers: tuple[Consumer, ...]) -> Iterator[tuple[str, float]]:
    """Yield consumers in words, those that take about the same joined, biggest first."""
    groups: list[list[Consumer]] = []
    for each in sorted(consumers, key=lambda consumer: (consumer.what, -consumer.share)):
        last = groups[-1][0] if groups else None
        if last and last.what == each.what and each.share >= _ALIKE * last.share:
            groups[-1].append(each)
        else:
            groups.append([each])
    named = [
        (_name(tuple(each.part for each in alike), alike[0].what), sum(e.share for e in alike))
        for alike in groups
    ]
    yield from sorted(named, key=lambda item: -item[1])


def _name(parts: tuple[str, ...], what: str) -> str:
    if what in ("itself", ""):
        return spread(parts)
    return what if what in _LOST else f"{spread(parts)} ({what})"


def _modes(budget: Budget) -> str:
    return "; ".join(
        f"{mode.name} {mode.share:.0%} of the time, {show(mode.current, 'A')}"
        for mode in budget.modes
    )
