"""What commands say and where: reports to standard output, everything else to standard error."""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path

from boardvet.errors import UsageError
from boardvet.report.text import plain

__all__ = ["coloured", "complain", "emit", "fault", "prepare", "width", "write_files"]

_IN_ASCII = {
    "━": "=", "─": "-", "·": "|", "–": "-", "−": "-", "×": "x", "…": "...", "≤": "<=", "≥": ">=",
    "Ω": "ohm", "\u2126": "ohm", "µ": "u", "\u03bc": "u", "°": " deg ", "±": "+/-", "→": "->",
    "⌀": "dia.",
}  # fmt: skip
"""What stands for a character that the output's encoding does not have."""


def prepare() -> None:
    """Make both streams write what their encoding lacks in other words, instead of failing."""
    codecs.register_error("boardvet-ascii", _in_ascii)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="boardvet-ascii")


def _in_ascii(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_IN_ASCII.get(character, "?") for character in lacking), error.end


def emit(text: str) -> None:
    """Write a report to standard output; a reader that has gone away is no fault."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # What is still buffered would fail again when Python ends: give it somewhere to go.
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def complain(text: str) -> None:
    """Write a message to standard error, each line plain."""
    with contextlib.suppress(BrokenPipeError):
        for line in text.splitlines():
            print(f"boardvet: {plain(line)}", file=sys.stderr)


def fault(error: Exception) -> None:
    """Say in one line that boardvet itself broke, and where."""
    import traceback  # slow to import, and of use here only

    frames = traceback.extract_tb(error.__traceback__)
    where = f" at {Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    complain(
        f"a fault in boardvet, not in the input: {type(error).__name__}: {error}{where} "
        "(report it together with the input)"
    )


def width() -> int:
    """Return the columns of the terminal, 80 where there is none."""
    return shutil.get_terminal_size().columns


def coloured() -> bool:
    """Return whether standard output takes escape sequences and nobody asked for none."""
    dumb = os.environ.get("TERM") == "dumb"
    return sys.stdout.isatty() and not dumb and not os.environ.get("NO_COLOR")


def write_files(texts: Mapping[Path, str]) -> None:
    """Write each text to its path, whole or not at all.

    Raises
    ------
    UsageError
        Where a path cannot be written.
    """
    for path, text in texts.items():
        draft = path.with_name(f".{path.name}.{os.getpid()}")
        try:
            draft.write_text(text, encoding="utf-8", newline="\n")
            draft.replace(path)
        except OSError as error:
            reason = error.strerror or str(error)
            raise UsageError(
                f"{path}: cannot be written: {reason} (give another path to --out)"
            ) from error
        finally:
            with contextlib.suppress(OSError):
                draft.unlink()
