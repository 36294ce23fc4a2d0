"""The command line: `main`, and one module a command.

A command is a module of this package without an underscore in front. It has ``SUMMARY``, one line
for the help, and ``run(arguments) -> int``, which returns the exit status. Each imports what it
needs when it runs, so that help and wrong usage answer at once.
"""

from __future__ import annotations

import argparse
import gc
import os
import pkgutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from typing import NoReturn

from boardvet._version import __version__
from boardvet.cli._output import complain, fault, prepare
from boardvet.errors import BoardvetError

__all__ = ["main"]

_THREADS = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

INPUT, BROKEN, INTERRUPTED = 2, 3, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run boardvet and return its exit status.

    Parameters
    ----------
    argv : sequence of str, optional
        The arguments without the program's name; those of the process if absent.

    Returns
    -------
    int
        0 nothing at or above the gate; 1 something; 2 input that cannot be used or wrong usage;
        3 a rule or boardvet itself broke; 130 interrupted.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    prepare()
    try:
        with _no_collections(), _one_thread():
            return _dispatch(arguments)
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0
    except BoardvetError as error:
        complain(str(error))
        return INPUT
    except KeyboardInterrupt:
        complain("interrupted")
        return INTERRUPTED
    except Exception as error:
        fault(error)
        return BROKEN


@contextmanager
def _no_collections() -> Iterator[None]:
    """Look for no circular garbage: a review keeps nearly all that it makes, and ends soon."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def _one_thread() -> Iterator[None]:
    """Let the linear algebra below numpy run on one core, if it is not loaded yet.

    The systems of a board are small: sharing one between threads takes longer than solving it,
    several times as long where other processes want the cores.
    """
    added = [name for name in _THREADS if name not in os.environ and "numpy" not in sys.modules]
    os.environ.update(dict.fromkeys(added, "1"))
    try:
        yield
    finally:
        for name in added:
            os.environ.pop(name, None)


def _dispatch(arguments: list[str]) -> int:
    commands = sorted(
        module.name for module in pkgutil.iter_modules(__path__) if not module.name.startswith("_")
    )
    if arguments and arguments[0] in commands:
        status: int = import_module(f"{__name__}.{arguments[0]}").run(arguments[1:])
        return status
    parser = _parser(commands)
    if arguments and not arguments[0].startswith("-"):
        _unknown(parser, arguments[0], commands)
    parser.parse_args(arguments)
    parser.print_help(sys.stderr)
    return INPUT


def _parser(commands: Sequence[str]) -> argparse.ArgumentParser:
    width = max(map(len, commands))
    listed = "\n".join(
        f"  {name:<{width}}  {import_module(f'{__name__}.{name}').SUMMARY}" for name in commands
    )
    parser = argparse.ArgumentParser(
        prog="boardvet",
        usage="boardvet COMMAND ...",
        description="Reviews a small battery board from its netlist, BOM and placement exports,\n"
        "before it is ordered.",
        epilog=f"commands:\n{listed}\n\n'boardvet COMMAND --help' says more.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"boardvet {__version__}")
    return parser


def _unknown(parser: argparse.ArgumentParser, name: str, commands: Sequence[str]) -> NoReturn:
    from difflib import get_close_matches

    near = get_close_matches(name, commands, n=1)
    hint = f"did you mean {near[0]}?" if near else f"there are {', '.join(commands)}"
    parser.error(f"no command is called {name!r}; {hint}")
