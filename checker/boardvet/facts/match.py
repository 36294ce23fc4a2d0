"""Which family a text names: the longest literal prefix, never a guess.

The rule
--------
- Case does not count, and neither does punctuation: ``MCP1700-3302`` is ``mcp1700 3302``.
- A prefix has at least four letters and digits, the first three of them literal. ``#`` stands for
  any one digit (``TLV700##``); ``!`` at its end means that the text ends there too (``ESP32!``).
- A prefix must end where a group ends: at the end of the text, at punctuation, or where letters
  change to digits or digits to letters. ``ATtiny4`` therefore does not name an ``ATtiny44``, nor
  ``74HC`` a ``74HCT04``, while ``1N4148`` names a ``1N4148W``.
- Of several that fit, the one with most letters and digits names the family; ``#`` counts as
  less than a literal digit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Generic, NamedTuple, TypeVar

__all__ = ["Match", "PrefixTable", "check_prefix", "fold"]

T = TypeVar("T")

LEAST = 4
HEAD = 3


class Folded(NamedTuple):
    """A text without case and punctuation.

    `origin` gives for each kept character its index in the text, and one more for the end.
    """

    text: str
    origin: tuple[int, ...]


class Match(NamedTuple, Generic[T]):
    """A prefix that fits a text.

    `rest` is what follows its literal part (so a ``#`` and all after it), as it was written.
    """

    entry: T
    prefix: str
    rest: str


def fold(text: str) -> Folded:
    """Take case and punctuation off a text.

    Examples
    --------
    >>> fold("mcp1700-33").text
    'MCP170033'
    """
    kept = [index for index, letter in enumerate(text) if letter.isascii() and letter.isalnum()]
    return Folded("".join(text[index].upper() for index in kept), (*kept, len(text)))


def check_prefix(prefix: str) -> str:
    """Return what is wrong with a prefix, "" if nothing is.

    Examples
    --------
    >>> check_prefix("1N4")
    'is too short to name a family: it needs four letters and digits'
    >>> check_prefix("TLV700##")
    ''
    """
    body = _body(prefix)
    if len(body) < LEAST:
        return "is too short to name a family: it needs four letters and digits"
    if "#" in body[:HEAD]:
        return "must begin with three letters or digits before any #"
    return ""


class PrefixTable(Generic[T]):
    """Entries by their prefixes.

    Parameters
    ----------
    pairs : iterable of (str, T)
        Each prefix with its entry. Of equal prefixes the first one counts.
    """

    def __init__(self, pairs: Iterable[tuple[str, T]] = ()) -> None:
        self._by_head: dict[str, list[tuple[str, bool, str, T]]] = {}
        for prefix, entry in pairs:
            body = _body(prefix)
            row = (body, prefix.rstrip().endswith("!"), prefix, entry)
            self._by_head.setdefault(body[:HEAD], []).append(row)

    def find(self, text: str) -> Match[T] | None:
        """Return the longest prefix that fits the text, None if none does."""
        folded = fold(text)
        fitting = list(self._fitting(text, folded))
        if not fitting:
            return None
        return max(fitting, key=lambda match: _weight(match.prefix))

    def _fitting(self, text: str, folded: Folded) -> Iterator[Match[T]]:
        for body, whole, prefix, entry in self._by_head.get(folded.text[:HEAD], ()):
            if _fits(body, whole, text, folded):
                literal = len(body.partition("#")[0])
                yield Match(entry, prefix, text[folded.origin[literal - 1] + 1 :])


def _body(prefix: str) -> str:
    return "".join(
        letter.upper()
        for letter in prefix
        if letter == "#" or (letter.isascii() and letter.isalnum())
    )


def _weight(prefix: str) -> tuple[int, int]:
    body = _body(prefix)
    return len(body), len(body) - body.count("#")


def _fits(body: str, whole: bool, text: str, folded: Folded) -> bool:
    written = folded.text
    end = len(body)
    if len(written) < end:
        return False
    for wanted, letter in zip(body, written, strict=False):
        if wanted != letter and not (wanted == "#" and letter.isdigit()):
            return False
    if len(written) == end:
        return True
    if whole:
        return False
    parted = folded.origin[end] > folded.origin[end - 1] + 1
    return parted or written[end - 1].isdigit() != written[end].isdigit()
