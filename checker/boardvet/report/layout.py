"""The page that the terminal report is set on: a margin for one word, and the text beside it.

Every text is made plain and set to width here, so that nothing an export says can reach the
terminal as a control character or as mark-up.
"""

from __future__ import annotations

import io

from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from boardvet.report.text import plain, shorten

__all__ = ["ACCENT", "FAINT", "MARGIN", "STRONG", "Page"]

MARGIN = 9
"""Columns of the margin, the gap before the text included."""

ACCENT = "green"
"""Only for what a person can do: a cure, a line to paste, the next step."""

STRONG = "bold"
FAINT = "dim"

_LONGEST = 900
"""Characters of one paragraph; a report is for reading."""


class Page:
    """Lines set one after the other.

    Parameters
    ----------
    width : int
        Columns; no line is longer. At least 40.
    """

    def __init__(self, width: int) -> None:
        self.width = max(width, 40)
        self._lines: list[Text] = []
        self._console = Console(file=io.StringIO(), width=self.width, color_system=None)

    def ruled(self, left: str, right: str = "", *, heavy: bool = False, style: str = "") -> None:
        """Set a heading in a rule across the page, with a blank line before it."""
        stroke = "━" if heavy else "─"
        self.blank()
        right = shorten(right, self.width // 2)
        room = self.width - cell_len(right) - 10
        left = self._fit(left, room)
        gap = self.width - cell_len(left) - cell_len(right) - (8 if right else 4)
        line = Text(stroke * 2 + " ").append(left, style or STRONG)
        line.append(" " + stroke * max(gap, 1))
        if right:
            line.append(" ").append(right, style).append(" " + stroke * 2)
        self._lines.append(line)

    def gloss(self, word: str, text: str, *, style: str = "", word_style: str = FAINT) -> None:
        """Set a paragraph with a word in the margin; nothing where the text is empty."""
        if text:
            self._set(word, Text(shorten(text, _LONGEST), style), word_style)

    def title(self, word: str, text: str, right: str, *, style: str, word_style: str) -> None:
        """Set a line with a word in the margin and another at the right edge, if there is room."""
        text, right = shorten(text, _LONGEST), plain(right)
        gap = self.width - MARGIN - cell_len(text) - cell_len(right)
        if gap >= 2:
            body = Text(text, style).append(" " * gap).append(right, FAINT)
        else:
            body = Text(text, style).append(f" · {right}", FAINT)
        self._set(word, body, word_style)

    def paste(self, word: str, text: str, comment: str) -> None:
        """Set a line that can be pasted, with a comment behind it or, for want of room, below."""
        body = Text(shorten(text, _LONGEST), ACCENT)
        remark = f"# {shorten(comment, 200)}"
        if cell_len(body.plain) + 2 + cell_len(remark) <= self.width - MARGIN:
            self._set(word, body.append("  ").append(remark, FAINT), FAINT)
        else:
            self._set(word, body, FAINT)
            # Each line of it begins as a comment, so that it can be pasted too.
            for line in Text(remark[2:]).wrap(self._console, self.width - MARGIN - 2):
                line.rstrip()
                self._set("", Text(f"# {line.plain}", FAINT), FAINT)

    def blank(self) -> None:
        """Set an empty line, unless there is one or the page begins."""
        if self._lines and self._lines[-1].plain:
            self._lines.append(Text())

    def text(self, *, color: bool) -> str:
        """Return the page, with escape sequences only if `color`."""
        if not color:
            return "".join(line.plain.rstrip() + "\n" for line in self._lines)
        file = io.StringIO()
        console = Console(
            file=file,
            width=self.width + 1,
            force_terminal=True,
            color_system="standard",
            no_color=False,
            legacy_windows=False,
        )
        for line in self._lines:
            line.rstrip()
            console.print(line, soft_wrap=True, highlight=False)
        return file.getvalue()

    def _set(self, word: str, body: Text, word_style: str) -> None:
        indent = " " * MARGIN
        # The body keeps its own spaces: only the end of a line is trimmed.
        for number, line in enumerate(body.wrap(self._console, self.width - MARGIN)):
            line.rstrip()
            if number:
                self._lines.append(Text(indent).append_text(line))
                continue
            start = Text(" " * max(MARGIN - 2 - cell_len(word), 0)).append(word, word_style)
            self._lines.append(start.append("  ").append_text(line))

    def _fit(self, text: str, room: int) -> str:
        """Return the text in at most `room` columns; wide characters take two."""
        text = shorten(text, max(room, 2))
        while cell_len(text) > room and len(text) > 1:
            text = text[:-2] + "…"
        return text
