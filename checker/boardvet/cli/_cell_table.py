"""What ``boardvet cells`` prints for a board: a table, best first, and what follows from it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from boardvet.circuit.alternatives import Alternative, Alternatives, Fate
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.inserted import Regulated
from boardvet.circuit.unfit import unrated
from boardvet.cli._cell_regulator import set_between, share
from boardvet.facts.cell import CellType
from boardvet.quantity import show, show_time
from boardvet.report.layout import FAINT, STRONG, Page, wrapped
from boardvet.report.text import sentence, spread

__all__ = ["cells_page", "missing_page"]

_SHOWN = 12
"""Rows that are listed without --all; of those that fall short half as many beside others."""

_GAP = "  "
_TRADE = {
    "LR6": "AA", "LR03": "AAA", "LR14": "C", "LR20": "D", "LR1": "N",
    "HR6": "AA", "HR03": "AAA", "FR6": "AA", "FR03": "AAA",
}  # fmt: skip
"""What people call them: IEC 60086-2 and the trade, from memory."""

_UNITS = ((365.25 * 86400.0, "years"), (86400.0, "days"), (3600.0, "h"), (60.0, "min"))

_HEADS = ("  cell", "run time", "dip", "left", "⌀ × h, mm", "g")


class _Row(NamedTuple):
    """A row of the table.

    Parameters
    ----------
    texts : tuple of str
        What stands in its columns.
    verdict, brief : str
        In a few words, and in fewer.
    why : str
        What else there is to say.
    fitted : bool
        Whether it is what is on the board now.
    """

    texts: tuple[str, ...]
    verdict: str
    brief: str
    why: str
    fitted: bool


def missing_page(board: str, missing: str, how: str, columns: int, *, color: bool) -> str:
    """Return the page of a board whose cells could not be compared."""
    page = Page(columns)
    page.ruled(board, "cells", heavy=True)
    page.gloss("", sentence(f"not compared: {missing}"))
    _paste(page, how)
    return page.text(color=color)


def _paste(page: Page, how: str) -> None:
    """Set what has to be stated on the intent page."""
    line, _, comment = how.partition("#")
    if how:
        page.paste("state", line.rstrip(), comment.strip() or "on the intent page")


def cells_page(
    circuit: Circuit,
    found: Alternatives,
    between: Regulated | None,
    columns: int,
    *,
    color: bool,
    everything: bool = False,
) -> str:
    """Return the comparison as a page.

    Parameters
    ----------
    circuit : Circuit
        The board as it is.
    found : Alternatives
        What was compared.
    between : Regulated or None
        What a regulator would do.
    columns : int
        No line is longer.
    color : bool
        Whether escape sequences are allowed.
    everything : bool
        Whether all cells that work get a row.
    """
    page = Page(columns)
    page.ruled(circuit.board.name, f"cells for {spread(found.holders)}", heavy=True)
    page.gloss("", _order(found))
    solved = next((each.circuit for each in found.ranked if each.life is not None), None)
    unknown = solved.view(Discharge).unknown if solved is not None else ()
    if unknown:
        page.gloss(
            "without",
            f"what {spread(unknown)} draws at rest, which nobody knows: with it all run shorter",
        )
        _paste(page, circuit.facts.missing(unknown[0], "sleep_current").how)
    page.blank()
    _table(page, found, everything=everything)
    _unfit(page, found)
    _notes(page, circuit, found)
    if between is not None and not unknown:
        set_between(page, between, spread(found.holders))
    return page.text(color=color)


def _order(found: Alternatives) -> str:
    if found.wanted is None:
        return (
            "Nobody says how long it has to run, so the longest run time a gram comes first; "
            "run_time on the intent page ranks them by it."
        )
    return (
        f"{show_time(found.wanted.value)} are wanted. Those that last so long come first, the "
        "lightest in front; then those that fall short, the longest in front."
    )


def _table(page: Page, found: Alternatives, *, everything: bool) -> None:
    working = [a for a in found.ranked if a.fate <= Fate.SHORT]
    meeting = [a for a in working if a.fate is not Fate.SHORT]
    short = [a for a in working if a.fate is Fate.SHORT]
    shown = [
        *_some(meeting, _SHOWN, everything=everything),
        *_some(short, _SHOWN // 2 if meeting else _SHOWN, everything=everything),
    ]
    if found.fitted.fate > Fate.SHORT:
        shown.append(found.fitted)
    rows = [_row(each, found) for each in shown]
    columns = list(zip(_HEADS, *(row.texts for row in rows), strict=True))
    widths = [max(map(len, column)) for column in columns]
    page.line(_set(_HEADS, widths), style=FAINT)
    for row in rows:
        _set_row(page, row, widths)
    lacking = found.fitted.trouble if found.fitted.fate is Fate.UNKNOWN else None
    if lacking is not None:
        _paste(page, lacking.excess)
    for kind, some in (("heavier" if found.wanted else "shorter", meeting), ("shorter", short)):
        left = [each for each in some if each not in shown]
        if left:
            first, last = left[0].label, left[-1].label
            names = first if first == last else f"{first} to {last}"
            a_gram = " a gram" if left[0].fate is Fate.RUNS else ""
            text = f"{len(left)} more, {kind}{a_gram}: {names}; --all lists them"
            page.line(f"  {text}", style=FAINT)


def _some(group: Sequence[Alternative], most: int, *, everything: bool) -> Iterator[Alternative]:
    for number, each in enumerate(group):
        if everything or number < most or each.fitted:
            yield each


def _row(each: Alternative, found: Alternatives) -> _Row:
    life, choice = each.life, each.choice
    texts = (
        _name(each),
        _span(each),
        _volts(life.dip) if life is not None else "",
        share(life.stranded / life.capacity) if life is not None else "",
        _size(choice.type) if choice is not None else "",
        _grams(each.mass) if each.mass is not None else "",
    )
    verdict, why = _verdict(each, found)
    brief = "meets it" if each.fate is Fate.MEETS else verdict
    return _Row(texts, verdict, brief, why, each.fitted)


def _name(each: Alternative) -> str:
    """Return what a person calls the cells, with what is special about them."""
    trade = _TRADE.get(each.choice.type.designation, "") if each.choice is not None else ""
    name = f"{each.label} ({trade})" if trade else each.label
    return f"{'>' if each.fitted else ' '} {name}{'*' if each.rechargeable else ''}"


def _span(each: Alternative) -> str:
    """Return the run time with everything against it and for it, in one unit."""
    if each.life is None:
        return ""
    typical = each.life.run_time
    if typical == 0.0 or math.isinf(typical):
        return "none" if typical == 0.0 else "endless"
    corners = each.corners()
    if corners is None or math.isinf(corners.best):
        return show_time(typical)
    size, unit = next(
        ((size, unit) for size, unit in _UNITS if corners.best >= 1.5 * size), _UNITS[-1]
    )
    worst, best = (f"{float(f'{time / size:.2g}'):g}" for time in corners)
    return f"{best} {unit}" if worst == best else f"{worst}–{best} {unit}"


def _volts(dip: float) -> str:
    return show(dip, "V", 2) if dip >= 1e-3 else "<1 mV"


def _grams(mass: float) -> str:
    grams = mass * 1e3
    return f"{grams:.0f}" if grams >= 10 else f"{grams:.2g}"


def _size(cell: CellType) -> str:
    """Return diameter and height in millimetres; a block has no diameter."""
    across, high = (
        f"{known.value * 1e3:.3g}" if known is not None else "–"
        for known in (cell.diameter, cell.height)
    )
    return f"{across} × {high}"


def _verdict(each: Alternative, found: Alternatives) -> tuple[str, str]:
    """Return the verdict in a few words, and why."""
    life, trouble = each.life, each.trouble
    if each.fate is Fate.UNKNOWN and trouble is not None:
        return "not solved", trouble.limit
    if life is None or trouble is not None:
        text = ", ".join(filter(None, trouble)) if trouble is not None else ""
        head, _, why = text.partition(": ")
        return (head, why) if why else ("unfit", text)
    strain = life.strain
    hard = (
        f"asks {show(strain.asked, 'A', 2)} of it, rated {show(strain.rated, 'A', 2)}"
        if strain is not None
        else ""
    )
    reasons = [text for text in (_end(each), hard) if text]
    if found.wanted is None:
        return (reasons[0] if reasons else "until empty", "; ".join(reasons[1:]))
    if each.fate is Fate.MEETS:
        return f"meets {show_time(found.wanted.value)}", hard
    missing = found.wanted.value - life.lasts
    return f"{show_time(missing)} short", "; ".join(reasons)


def _end(each: Alternative) -> str:
    """Return what ends the use before the cell is empty, "" where nothing does."""
    life = each.life
    if life is None:
        return ""
    if life.fade is not None and life.fade.after < life.run_time:
        return f"{life.fade.light} too dim after {show_time(life.fade.after)}"
    stop = life.stop
    if stop.floor is None:
        return ""
    dips = stop.at_rest > stop.used + 0.01
    return f"{stop.reason} in a dip" if dips else stop.reason


def _set(texts: Sequence[str], widths: Sequence[int], verdict: str = "") -> str:
    """Return a row: the first two columns begin at their left, numbers end at their right."""
    cells = [
        text.ljust(width) if number < 2 else text.rjust(width)
        for number, (text, width) in enumerate(zip(texts, widths, strict=True))
    ]
    return _GAP.join([*cells, verdict]).rstrip()


def _set_row(page: Page, row: _Row, widths: Sequence[int]) -> None:
    """Set a row; what does not fit behind it goes below."""
    style = STRONG if row.fitted else ""
    room = page.width - sum(widths) - len(_GAP) * len(widths)
    whole = f"{row.verdict}: {row.why}" if row.why else row.verdict
    short = row.verdict if len(row.verdict) <= room else row.brief
    beside, below = row.verdict, row.why
    if len(whole) <= room:
        beside, below = whole, ""
    elif len(row.verdict) > room:
        beside, below = (short, row.why) if len(short) <= room else ("", whole)
    page.line(_set(row.texts, widths, beside), style=style)
    for line in wrapped(below, page.width - 4) if below else ():
        page.line(f"    {line}", style=style)


def _unfit(page: Page, found: Alternatives) -> None:
    """Set what does not work, one paragraph a reason."""
    unfit = [each for each in found.ranked if each.fate > Fate.SHORT and not each.fitted]
    if unfit:
        page.ruled("not for this board")
    for limit, group in _by(unfit, lambda each: each.trouble.limit if each.trouble else ""):
        page.gloss("", sentence(f"{limit}: {_listed(group, found)}"))


def _listed(group: Sequence[Alternative], found: Alternatives) -> str:
    """Return cells by name with what they do, by chemistry where all of one are among them."""
    whole = Counter(_chemistry(each) for each in found.ranked if not each.fitted)
    names: dict[str, dict[str, None]] = {}
    for excess, some in _by(group, lambda each: each.trouble.excess if each.trouble else ""):
        for name, alike in _by(some, _chemistry):
            every = len(alike) == whole[name] > 2
            labels = [f"every {name} cell"] if every else [each.label for each in alike]
            names.setdefault(excess, {}).update(dict.fromkeys(labels))
    return ", ".join(
        ", ".join(labels) + (f" ({excess})" if excess else "") for excess, labels in names.items()
    )


def _chemistry(each: Alternative) -> str:
    return each.choice.type.chemistry.name if each.choice is not None else ""


def _by(
    group: Sequence[Alternative], key: Callable[[Alternative], str]
) -> Iterator[tuple[str, list[Alternative]]]:
    """Yield what has the same key together, in the order of the first."""
    found: dict[str, list[Alternative]] = {}
    for each in group:
        found.setdefault(key(each), []).append(each)
    yield from found.items()


def _notes(page: Page, circuit: Circuit, found: Alternatives) -> None:
    """Set what has to be known to use the table."""
    page.blank()
    page.gloss(
        "read",
        "> is fitted; run time from the worst to the best parts, judged with typical ones; dip: "
        "the most that the load takes off the cell, at the coldest temperature stated; left: "
        "charge in it at the stop",
        style=FAINT,
    )
    risky = unrated(circuit)
    if risky:
        page.gloss(
            "unknown",
            f"which supply {spread(risky)} stands, and needs: no cell is refused for it",
        )
    for name, load in found.overloads.items():
        page.gloss(
            "already",
            f"{name} carries {show(load.current, 'A', 2)} with a fresh fitted cell and stands "
            f"{show(load.allowed, 'A', 2)}: mend that first; only cells that drive it harder are "
            "refused for it",
        )
    for text in _care(found):
        page.gloss("care", text)


def _care(found: Alternatives) -> Iterator[str]:
    working = [a for a in found.ranked if a.fate <= Fate.SHORT or a.fitted]
    if any(_is_button(each) for each in working):
        yield (
            "A child who swallows a coin or button cell can die of it: use a compartment that "
            "opens with a tool only, and follow local rules. Swallowed: to a hospital at once."
        )
    if any(map(_is_zinc_air, working)):
        yield "Zinc-air cells (PR) need an opening for air, and dry out in months once opened."
    if any(each.rechargeable for each in working):
        yield (
            "* is rechargeable: it needs its own charger, and lithium-ion a protection circuit. "
            "Never charge any other."
        )


def _is_zinc_air(each: Alternative) -> bool:
    return each.choice is not None and each.choice.type.chemistry.name == "zinc-air"


def _is_button(each: Alternative) -> bool:
    """Tell whether a cell is flat: wider than high."""
    type_ = each.choice.type if each.choice is not None else None
    if type_ is None or type_.diameter is None or type_.height is None:
        return False
    return type_.height.value < type_.diameter.value
