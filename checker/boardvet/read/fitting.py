"""Which words say that a part is not fitted. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Iterable

from boardvet.read.headings import key

__all__ = ["mark_among", "note_says_not_fitted", "value_says_not_fitted", "yes_or_no"]

_MARKS = """dnp dnf dni dnm dns donotpopulate donotfit donotplace donotinstall donotmount
    donotstuff donotassemble dontpopulate dontfit dontmount notfitted notpopulated notmounted
    notplaced notinstalled notassembled notstuffed unpopulated unfitted nopop nofit nostuff
    nomount noplace noload omit omitted nichtbestucken nichtbestuckt unbestuckt nonmonte
    nepasmonter nomontar nomontado nocolocar niemontowac nieobsadzac nonmontare nonmontato
    nietplaatsen неустанавливать 不贴 不焊 未実装 미실장"""
_AFFIRMING = "x yes y true 1 t ja j oui o si s tak sim да 是 on checked"
_DENYING = "no n false 0 f nein non nie nao нет 否 off unchecked"
_WORDS = frozenset(map(key, _MARKS.split()))
_INITIALS = frozenset("([{<*-_!") | {c for m in _MARKS.split() for c in (m[0], m[0].upper())}
_SHORT = frozenset({"nc", "na", "nf"})
_YES = frozenset({*map(key, _AFFIRMING.split()), "✓", "✔", "☑"})
_NO = frozenset({*map(key, _DENYING.split()), "-"})
_WRAPPED = re.compile(r"(?:NA|NC|NF)\s*[/(].+", re.DOTALL)
_WORD_BREAKS = re.compile(r"[\s/,;()\[\]{}<>:|_*!]+")
_NOTE_END = re.compile(r"[.,;:(\[/]| - |$")


def mark_among(cells: Iterable[str]) -> bool:
    """Tell whether one of the cells, as a whole, is a mark such as "DNP" or "do not fit".

    Examples
    --------
    >>> mark_among(["R1", "Do not populate"]), mark_among(["R1", "10k", "D5, DNP side"])
    (True, False)
    """
    # Nearly every cell is left by its first letter: `key` on all of them would cost the most.
    for cell in cells:
        if cell and cell[0] in _INITIALS and 1 < len(cell) < 30 and key(cell) in _WORDS:
            return True
    return False


def note_says_not_fitted(note: str) -> bool:
    """Tell whether a note is a mark or begins with one ("DNP, rev A only").

    Examples
    --------
    >>> note_says_not_fitted("DNP, rev A only"), note_says_not_fitted("do not fit by machine")
    (True, False)
    """
    lead = key(_NOTE_END.split(note, maxsplit=1)[0])
    return lead in _WORDS or key(note) == "nc"


def value_says_not_fitted(value: str) -> bool:
    """Tell whether a value marks its part as not fitted.

    "DNP" anywhere as a word; "NC", "NA" and "NF" only as the whole value, or wrapped around it
    as in ``NA(47uF)`` and ``NA/R0603``, since they are parts of ordinary words too.

    Parameters
    ----------
    value : str
        As exported.

    Returns
    -------
    bool

    Examples
    --------
    >>> [value_says_not_fitted(text) for text in ("100n DNP", "NA(1uF)", "100 nF", "NC")]
    [True, True, False, True]
    """
    if len(value) < 2:
        return False
    if value.casefold() in _SHORT or _WRAPPED.fullmatch(value):
        return True
    folded = value.casefold()
    if "n" not in folded and "omit" not in folded and folded.isascii():
        return False
    if key(value) in _WORDS:
        return True
    return any(word in _WORDS for word in _WORD_BREAKS.split(folded))


def yes_or_no(cell: str) -> bool | None:
    """Return what a cell of a yes-or-no column says; None for any other text.

    Examples
    --------
    >>> yes_or_no("x"), yes_or_no("False"), yes_or_no("LM358")
    (True, False, None)
    """
    word = key(cell) or cell
    if word in _YES:
        return True
    return False if word in _NO else None
