"""``boardvet review``: judge one or several boards and report."""

from __future__ import annotations

import argparse
import gc
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from boardvet.cli._boards import add_paths
from boardvet.cli._output import coloured, complain, emit, fault, width, write_files
from boardvet.errors import BoardvetError, UsageError

if TYPE_CHECKING:
    from boardvet.api import Job
    from boardvet.review.review import Review

__all__ = ["SUMMARY", "run"]

SUMMARY = "judge the exports of a board and report"

_BUILT = (".json",)
_LATER = (".sarif", ".xml", ".md", ".html")

_PAGES = (".yaml", ".yml", "")

_RANK = {0: 0, 1: 1, 3: 2, 2: 3}
"""Which exit status counts where several apply."""


def run(arguments: Sequence[str]) -> int:
    """Review the boards that the arguments name and return the exit status."""
    options = _parser().parse_intermixed_args(arguments)
    _refuse_what_is_not_built(options)
    out = [_out_path(text) for text in options.out]
    boards, unread = _boards(options.path)
    reviews, reached = _review_all(boards, options)
    status = max(unread, reached, key=_RANK.__getitem__)
    several = len(boards) > 1 or unread != 0
    if several and reviews:
        from boardvet.report.terminal import render_summary

        emit(render_summary(reviews, width=width(), color=coloured()))
    if out and reviews:
        text = _json(reviews, several=several)
        write_files(dict.fromkeys(out, text))
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="boardvet review",
        description="Judges a board from its exports and reports what will go wrong, with the sum "
        "and the cure.",
        epilog="Exit status: 0 nothing at or above the gate, 1 something, 2 input that cannot be "
        "used, 3 a rule broke. 'boardvet explain gate' and 'boardvet explain files' say more.",
        allow_abbrev=False,
    )
    add = parser.add_argument
    add_paths(parser)
    add(
        "--gate",
        choices=("hold", "query", "note", "never"),
        default="hold",
        help="lowest level that makes the exit status 1 (default: hold)",
    )
    add("--strict", action="store_true", help="what could not be judged counts as found")
    add("--assume-nothing", action="store_true", help="use no default values")
    add(
        "--out",
        action="append",
        default=[],
        metavar="FILE",
        help=f"also write the review to a file ({', '.join(_BUILT)}); may repeat",
    )
    add(
        "--reader",
        choices=("own", "reference"),
        default="own",
        help="what reads the netlist (default: own)",
    )
    add("--verbose", action="store_true", help="show every number and all that was judged clear")
    for later in ("--since", "--house-rules"):
        add(later, action="append", default=[], help=argparse.SUPPRESS)
    return parser


def _refuse_what_is_not_built(options: argparse.Namespace) -> None:
    for name in ("since", "house_rules"):
        if getattr(options, name):
            flag = f"--{name.replace('_', '-')}"
            raise UsageError(f"{flag} is not built yet (leave it out)")


_LONG = 2000
"""From this many boards drawn it takes seconds, and progress is told."""


def _out_path(text: str) -> Path:
    path = Path(text)
    suffix = path.suffix.lower()
    if suffix in _LATER:
        raise UsageError(f"{text}: {suffix} is not built yet (write {', '.join(_BUILT)})")
    if suffix not in _BUILT:
        raise UsageError(
            f"{text}: the suffix {suffix or '(none)'} says no format (write {', '.join(_BUILT)})"
        )
    if path.is_dir() or not path.parent.is_dir():
        problem = "is a folder" if path.is_dir() else f"there is no folder {path.parent}"
        raise UsageError(f"{text}: {problem} (give a file in a folder that exists to --out)")
    return path


def _boards(paths: Sequence[str]) -> tuple[list[Job], int]:
    """Return the boards that the paths name, and 2 if some path could not be used.

    A folder is a board by itself and is still reviewed beside a path that is wrong. Loose exports
    are not, nor is a page beside one: without the file that is wrong they would be another board.
    """
    from boardvet.api import jobs

    try:
        return jobs(paths), 0
    except BoardvetError as error:
        complain(str(error))
    apart = [path for path in paths if Path(path).is_dir()]
    if all(Path(path).suffix.lower() in _PAGES or Path(path).is_dir() for path in paths):
        apart = [path for path in paths if _is_board(path)]
    return (jobs(apart) if apart else []), 2


def _is_board(path: str) -> bool:
    from boardvet.api import jobs

    try:
        return not jobs([path])[0].exports
    except BoardvetError:
        return False


def _review_all(boards: Sequence[Job], options: argparse.Namespace) -> tuple[list[Review], int]:
    """Review and report board by board; a bad one never hides the others."""
    from boardvet.review.review import exit_status

    reviews: list[Review] = []
    status = 0
    for number, board in enumerate(boards, 1):
        if len(boards) > 1 and sys.stderr.isatty():
            complain(f"board {number} of {len(boards)}: {board.name}")
        done, reached = _review_one(board, options)
        if done is not None:
            reviews.append(done)
            reached = exit_status(done)
        status = max(status, reached, key=_RANK.__getitem__)
        if number < len(boards):
            gc.collect()  # a board and its circuit hold each other; nothing else frees them
    return reviews, status


def _review_one(board: Job, options: argparse.Namespace) -> tuple[Review | None, int]:
    """Review and report one board; where that fails, say so and return the exit status."""
    from boardvet.api import review
    from boardvet.report.terminal import render

    try:
        result = review(
            board,
            gate=options.gate,
            strict=options.strict,
            assume_nothing=options.assume_nothing,
            reader=options.reader,
            progress=_progress,
        )
        emit(render(result, width=width(), color=coloured(), verbose=options.verbose))
    except BoardvetError as error:
        complain(str(error))
        return None, 2
    except Exception as error:
        fault(error)
        return None, 3
    return result, 0


def _progress(what: str, done: int, total: int) -> None:
    """Say how far something has come that takes seconds."""
    if total >= _LONG:
        complain(f"{done:,} of {total:,} {what}")


def _json(reviews: Sequence[Review], *, several: bool) -> str:
    from boardvet.report.json import to_json, to_json_many

    return to_json_many(reviews) if several else to_json(reviews[0])
