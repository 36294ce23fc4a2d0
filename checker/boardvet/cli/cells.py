"""``boardvet cells``: the same board on other cells, best first."""

from __future__ import annotations

import argparse
import gc
import sys
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING

from boardvet.cli._boards import add_paths
from boardvet.cli._output import coloured, complain, emit, width
from boardvet.errors import BoardvetError, MissingFact, SolverError

if TYPE_CHECKING:
    from boardvet.api import Job

__all__ = ["SUMMARY", "run"]

SUMMARY = "the same board on other cells: run time, dip, size, mass"

_PATIENCE = 1.0
"""After so long without an answer it is said how far the work is. [s]"""


def run(arguments: Sequence[str]) -> int:
    """Compare cells for each board that the arguments name and return the exit status."""
    options = _parser().parse_args(arguments)
    from boardvet.api import jobs

    status = 0
    for number, board in enumerate(jobs(options.path)):
        if number:
            gc.collect()  # a board and its circuits hold each other; nothing else frees them
        try:
            emit(_compared(board, everything=options.all))
        except BoardvetError as error:
            complain(str(error))
            status = 2
    return status


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="boardvet cells",
        description="Puts every cell of about the same voltage on a board, singly or two or three "
        "in a row, simulates its discharge and lists run time, dip, charge left, size and mass.",
        epilog="The intent page says how long the board has to run (run_time) and what is on when "
        "(pattern). Exit status: 0, or 2 for input that cannot be used.",
        allow_abbrev=False,
    )
    add_paths(parser)
    parser.add_argument("--all", action="store_true", help="list every cell, none folded away")
    return parser


def _compared(job: Job, *, everything: bool) -> str:
    """Return the page of one board; where a fact is missing it says which, ready to paste."""
    from boardvet.api import circuit
    from boardvet.circuit.alternatives import alternatives
    from boardvet.circuit.inserted import regulated
    from boardvet.cli._cell_table import cells_page, missing_page

    board = circuit(job)
    name = board.board.name
    progress = _Progress(name)
    try:
        found = alternatives(board, progress.tell)
        try:
            between = regulated(board)
        except (MissingFact, SolverError):
            between = None
        return cells_page(board, found, between, width(), color=coloured(), everything=everything)
    except MissingFact as fact:
        return missing_page(name, fact.missing, fact.how, width(), color=coloured())
    except SolverError as error:
        return missing_page(name, str(error), "", width(), color=coloured())
    finally:
        progress.end()


class _Progress:
    """Says on a terminal how far it is, once it takes long."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._began = time.monotonic()
        self._said = False

    def tell(self, done: int, of: int) -> None:
        """Say how many cells are done."""
        if sys.stderr.isatty() and time.monotonic() - self._began > _PATIENCE:
            sys.stderr.write(f"\r\x1b[Kboardvet: {done} of {of} cells")
            sys.stderr.flush()
            self._said = True

    def end(self) -> None:
        """Wipe what was said."""
        if self._said:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
