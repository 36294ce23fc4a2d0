"""Names on the page: ranges of reference designators written out, and names in messages."""

from __future__ import annotations

import re
from collections.abc import Iterable

from boardvet.errors import QuantityError

__all__ = ["expand", "expand_all", "quoted", "shortened"]

_RANGE = re.compile(r"([A-Za-z_]+)(\d{1,9})\s*(?:-|\N{EN DASH}|\.\.|to)\s*\1(\d{1,9})", re.ASCII)
_MOST = 10_000
_LONGEST = 40


def expand(text: str) -> tuple[str, ...]:
    """Return the references that a text names: itself, or those of a range.

    Raises
    ------
    QuantityError
        If the range runs backwards or is too long.

    Examples
    --------
    >>> expand("D1-D3"), expand("U1")
    (('D1', 'D2', 'D3'), ('U1',))
    """
    found = _RANGE.fullmatch(text)
    if not found:
        return (text,)
    letters, first, last = found[1], int(found[2]), int(found[3])
    if last < first:
        do = f"write {letters}{last}-{letters}{first}"
        raise QuantityError(text, "is a range that runs backwards", do)
    if last - first >= _MOST:
        raise QuantityError(text, "is a range of too many parts", f"name at most {_MOST}")
    return tuple(f"{letters}{number}" for number in range(first, last + 1))


def expand_all(texts: Iterable[str]) -> tuple[str, ...]:
    """Return the references of several texts, each once, in their order."""
    return tuple(dict.fromkeys(name for text in texts for name in expand(text)))


def quoted(text: str) -> str:
    """Return a text for a message: in quotes, on one line, and not longer than a line.

    >>> print(quoted("a" * 100))
    'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa …'
    """
    return repr(shortened(text))


def shortened(text: str) -> str:
    """Return a text that is not too long for a message."""
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]} …"
