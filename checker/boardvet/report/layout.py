"""The page that the terminal report is set on: a margin for one word, and the text beside it.

Every text is made plain and set to width here, so that nothing an export says can reach the
terminal as a control character or as mark-up.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple, TypeAlias

from rich.cells import cell_len, chop_cells

from boardvet.report.text import plain, shorten

__all__ = ["ACCENT", "FAINT", "MARGIN", "STRONG", "Page", "wrapped"]

MARGIN = 9
"""Columns of the margin, the gap before the text included."""

ACCENT = "green"
"""Only for what a person can do: a cure, a line to paste, the next step."""

STRONG = "bold"
FAINT = "dim"

_LONGEST = 900
"""Characters of one paragraph; a report is for reading."""


_WORD = re.compile(r"\s*\S+\s*")


class Piece(NamedTuple):
    """Some text in one style."""

    text: str
    style: str = ""


Line: TypeAlias = list[Piece]


class Page:
    """Lines set one after the other.

    Parameters
    ----------
    width : int
        Columns; no line is longer. At least 40.
    """

    def __init__(self, width: int) -> None:
        self.width = max(width, 40)
        self._lines: list[Line] = []

    def ruled(self, left: str, right: str = "", *, heavy: bool = False, style: str = "") -> None:
        """Set a heading in a rule across the page, with a blank line before it."""
        stroke = "━" if heavy else "─"
        self.blank()
        right = shorten(right, self.width // 2)
        room = self.width - cell_len(right) - 10
        left = self._fit(left, room)
        gap = self.width - cell_len(left) - cell_len(right) - (8 if right else 4)
        line = [Piece(stroke * 2 + " "), Piece(left, style or STRONG)]
        line.append(Piece(" " + stroke * max(gap, 1)))
        if right:
            line += [Piece(" "), Piece(right, style), Piece(" " + stroke * 2)]
        self._lines.append(line)

    def gloss(self, word: str, text: str, *, style: str = "", word_style: str = FAINT) -> None:
        """Set a paragraph with a word in the margin; nothing where the text is empty."""
        if text:
            self._set(word, [Piece(shorten(text, _LONGEST), style)], word_style)

    def line(self, text: str, *, style: str = "") -> None:
        """Set one line from the left edge of the page, such as a row of a table; cut to fit."""
        self._lines.append([Piece(self._fit(text, self.width), style)])

    def title(self, word: str, text: str, right: str, *, style: str, word_style: str) -> None:
        """Set a line with a word in the margin and another at the right edge, if there is room."""
        text, right = shorten(text, _LONGEST), plain(right)
        gap = self.width - MARGIN - cell_len(text) - cell_len(right)
        if gap >= 2:
            body = [Piece(text + " " * gap, style), Piece(right, f"{style} {FAINT}")]
        else:
            body = [Piece(text, style), Piece(f" · {right}", f"{style} {FAINT}")]
        self._set(word, body, word_style)

    def paste(self, word: str, text: str, comment: str) -> None:
        """Set a line that can be pasted, any comment behind it or, for want of room, below."""
        text = shorten(text, _LONGEST)
        if not comment:
            self._set(word, [Piece(text, ACCENT)], FAINT)
            return
        remark = f"# {shorten(comment, 200)}"
        if cell_len(text) + 2 + cell_len(remark) <= self.width - MARGIN:
            both = [Piece(f"{text}  ", ACCENT), Piece(remark, f"{ACCENT} {FAINT}")]
            self._set(word, both, FAINT)
        else:
            self._set(word, [Piece(text, ACCENT)], FAINT)
            # Each line of it begins as a comment, so that it can be pasted too.
            for line in wrapped(remark[2:], self.width - MARGIN - 2):
                self._set("", [Piece(f"# {line}", FAINT)], FAINT)

    def blank(self) -> None:
        """Set an empty line, unless there is one or the page begins."""
        if self._lines and self._lines[-1]:
            self._lines.append([])

    def text(self, *, color: bool) -> str:
        """Return the page, with escape sequences only if `color`."""
        return _in_colour(self._lines, self.width) if color else "".join(map(_bare, self._lines))

    def _set(self, word: str, body: Line, word_style: str) -> None:
        lines = _parted(body, self.width - MARGIN)
        start = [Piece(" " * max(MARGIN - 2 - cell_len(word), 0)), Piece(word, word_style)]
        self._lines.append([*start, Piece("  "), *lines[0]])
        self._lines += [[Piece(" " * MARGIN), *line] for line in lines[1:]]

    def _fit(self, text: str, room: int) -> str:
        """Return the text in at most `room` columns; wide characters take two."""
        text = shorten(text, max(room, 2))
        while cell_len(text) > room and len(text) > 1:
            text = text[:-2] + "…"
        return text


def wrapped(text: str, width: int) -> list[str]:
    """Return the text in lines of at most `width` columns, without blanks at their ends.

    A line takes as many words as fit; a word that is longer than a line is cut. Blanks at the
    beginning stay.
    """
    starts = [0, *_breaks(text, width), len(text)]
    return [text[a:b].rstrip() for a, b in pairwise(starts)]


def _breaks(text: str, width: int) -> Iterator[int]:
    """Yield where the second line and each further one begins."""
    used = 0
    for match in _WORD.finditer(text):
        word, start = match[0], match.start()
        size = cell_len(word.rstrip())
        if size <= width - used:
            used += cell_len(word)
        elif size <= width:
            yield start
            used = cell_len(word)
        else:
            for cut in chop_cells(word, width):
                if start:
                    yield start
                start += len(cut)
                used = cell_len(cut)


def _parted(body: Line, width: int) -> list[Line]:
    """Break pieces over lines; only the end of a line is trimmed."""
    text = "".join(piece.text for piece in body)
    lines: list[Line] = []
    for start, end in pairwise([0, *_breaks(text, width), len(text)]):
        end = start + len(text[start:end].rstrip())
        line, at = [], 0
        for piece in body:
            part = piece.text[max(start - at, 0) : max(end - at, 0)]
            at += len(piece.text)
            if part:
                line.append(Piece(part, piece.style))
        lines.append(line)
    return lines


def _bare(line: Line) -> str:
    return "".join(piece.text for piece in line).rstrip() + "\n"


def _in_colour(lines: Sequence[Line], width: int) -> str:
    # Slow to import, and of no use where a file or a pipe is written to.
    from rich.console import Console
    from rich.text import Text

    file = io.StringIO()
    console = Console(
        file=file,
        width=width + 1,
        force_terminal=True,
        color_system="standard",
        no_color=False,
        legacy_windows=False,
    )
    for line in lines:
        text = Text.assemble(*line)
        text.rstrip()
        console.print(text, soft_wrap=True, highlight=False)
    return file.getvalue()
