"""Names and texts made safe and short: what an export says never steers the terminal."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["pasted", "plain", "plural", "sentence", "shorten", "spread"]

_UNSAFE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that are written out: controls, direction marks, halves of pairs."""

_ENTRY = re.compile(r"[a-z_]+: \S")
_COMMENT = re.compile(r"\s{2,}#\s*")

_DESIGNATOR = re.compile(r"([A-Za-z_]+)(0|[1-9][0-9]{0,8})")


def plain(text: str) -> str:
    r"""Return the text on one line, with control characters written out and not obeyed.

    Examples
    --------
    >>> plain("red \x1b[31m")
    'red \\x1b[31m'
    >>> plain("two\nlines")
    'two lines'
    """
    if text.isascii() and text.isprintable():
        return text
    joined = re.sub(r"[\t\r\n]+", " ", text)
    return "".join(map(_visible, joined))


def pasted(how: str) -> tuple[str, list[str]] | None:
    """Return the line of the intent page that a text is, with its remark if any; None for words.

    Examples
    --------
    >>> pasted("cell: {type: CR2032}   # the type you will fit")
    ('cell: {type: CR2032}', ['the type you will fit'])
    >>> pasted("give R1 a value")
    """
    line, *remark = _COMMENT.split(how, maxsplit=1)
    return (line, remark) if _ENTRY.match(line) else None


def _visible(character: str) -> str:
    if unicodedata.category(character) not in _UNSAFE:
        return character
    code = ord(character)
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def shorten(text: str, limit: int) -> str:
    """Return the text made plain, cut to at most `limit` characters with "…" for the rest.

    Examples
    --------
    >>> shorten("reservoir", 6)
    'reser…'
    """
    # Four times the limit is enough to look at: a name of 10 kB is not worth escaping whole.
    safe = plain(text[: 4 * limit])
    return safe if len(safe) <= limit else safe[: limit - 1].rstrip() + "…"


def sentence(text: str) -> str:
    """Return the text as a sentence: a capital in front, a full stop behind.

    Only a plain lower-case word gets the capital: "pH" and "µF" keep theirs.

    Examples
    --------
    >>> sentence("add 100 nF beside U1")
    'Add 100 nF beside U1.'
    """
    text = text.strip()
    first = text.partition(" ")[0].rstrip(",;:")
    if first.isalpha() and first.isascii() and first.islower():
        text = text[0].upper() + text[1:]
    if text and text[-1] not in ".!?…:":
        text += "."
    return text


def plural(count: int, one: str, many: str = "") -> str:
    """Return the count with its noun.

    Examples
    --------
    >>> plural(1, "query", "queries"), plural(0, "hold")
    ('1 query', '0 holds')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def spread(names: tuple[str, ...], limit: int = 60) -> str:
    """Return names in short, runs of designators as ranges, the way the intent page writes them.

    Parameters
    ----------
    names : tuple of str
        In any order; designators are sorted, other names keep their order.
    limit : int, default 60
        About how many characters may be used before the rest is only counted.

    Examples
    --------
    >>> spread(("D1", "D2", "D3", "D4", "D9", "VBAT"))
    'D1-D4, D9, VBAT'
    >>> spread(("A", "B", "C"), limit=1)
    'A and 2 more'
    """
    shown: list[str] = []
    used = covered = 0
    total = len(dict.fromkeys(names))
    for text, count in _runs(names):
        text = shorten(text, 48)
        if shown and used + len(text) > limit:
            break
        shown.append(text)
        used += len(text) + 2
        covered += count
    listed = ", ".join(shown)
    return listed if covered == total else f"{listed} and {total - covered:,} more"


def _runs(names: tuple[str, ...]) -> list[tuple[str, int]]:
    """Return each run or single name with how many names it stands for."""
    numbers: dict[str, list[int]] = {}
    others: list[str] = []
    for name in dict.fromkeys(names):
        match = _DESIGNATOR.fullmatch(name)
        if match:
            numbers.setdefault(match[1], []).append(int(match[2]))
        else:
            others.append(name)
    runs = [run for prefix, found in numbers.items() for run in _ranges(prefix, sorted(found))]
    return runs + [(name, 1) for name in others]


def _ranges(prefix: str, numbers: list[int]) -> list[tuple[str, int]]:
    runs: list[tuple[str, int]] = []
    start = 0
    for end in range(1, len(numbers) + 1):
        if end < len(numbers) and numbers[end] == numbers[end - 1] + 1:
            continue
        first, last, count = numbers[start], numbers[end - 1], end - start
        if count > 2:
            runs.append((f"{prefix}{first}-{prefix}{last}", count))
        else:
            runs += [(f"{prefix}{number}", 1) for number in numbers[start:end]]
        start = end
    return runs
