"""``boardvet size``: the value that gives what is wanted, by itself or for a board."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from boardvet.cli._output import coloured, emit, width
from boardvet.errors import UsageError

__all__ = ["SUMMARY", "run"]

SUMMARY = "size resistors and capacitors, by themselves or for a board"


class _Request(NamedTuple):
    """What the command line asks for; `calculation` is "" where none is named."""

    paths: tuple[str, ...]
    calculation: str
    stated: tuple[str, ...]


def run(arguments: Sequence[str]) -> int:
    """Print the values that the arguments ask for and return the exit status."""
    options = _parser().parse_args(arguments)
    request = _request(options.words)
    from boardvet.cli import _sizes

    if request.paths:
        for text in _on_boards(request):
            emit(text)
    elif not request.calculation:
        emit(_sizes.listed(width()))
    elif not request.stated:
        emit(_sizes.explained(request.calculation, width()))
    else:
        emit(_alone(request))
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="boardvet size",
        usage="boardvet size [PATH...] [CALCULATION [NAME=VALUE...]]",
        description="Sizes a part for what is wanted of it and shows the sum. Alone it lists the "
        "calculations; a calculation alone says what it needs.",
        epilog="With the paths of a board it sizes what is on that board, puts the value back "
        "and solves it.",
        allow_abbrev=False,
    )
    parser.add_argument("words", nargs="*", metavar="WORD", help=argparse.SUPPRESS)
    return parser


def _request(words: Sequence[str]) -> _Request:
    """Part the words: paths, then the calculation, then its inputs."""
    from boardvet.sizing import names

    known = names()
    place = next((index for index, word in enumerate(words) if word in known), len(words))
    paths, rest = tuple(words[:place]), tuple(words[place:])
    mistakes = [_stray(word, known) for word in paths if not Path(word).exists()]
    if mistakes:
        raise UsageError("\n".join(mistakes))
    return _Request(paths, rest[0] if rest else "", rest[1:])


def _stray(word: str, known: Sequence[str]) -> str:
    from boardvet.vocabulary.forms import nearest

    if "=" in word:
        return f"{word!r} stands before its calculation (write one of {', '.join(known)} first)"
    like = nearest(word, known)
    hint = f"did you mean {like}?" if like else f"calculations: {', '.join(known)}"
    return f"{word!r} is neither a calculation nor a file or folder ({hint})"


def _on_boards(request: _Request) -> Iterator[str]:
    """Yield the page of each board that the paths name."""
    from boardvet.api import circuit, jobs
    from boardvet.cli._board_sizes import board_page
    from boardvet.sizing.on_board import find, names

    given = _given(request)
    wanted = (request.calculation,) if request.calculation else names()
    for job in jobs(request.paths):
        board = circuit(job)
        found = {name: tuple(find(name, board, given)) for name in wanted}
        yield board_page(board.board.name, found, width(), color=coloured())


def _given(request: _Request) -> dict[str, object]:
    """Return what is stated for a board; what the board says itself is refused."""
    from boardvet.sizing import calculation
    from boardvet.sizing._reading import values_of
    from boardvet.sizing.on_board import given_on_board

    name = request.calculation
    if not name:
        return {}
    values, mistakes = values_of(name, calculation(name), request.stated)
    allowed = given_on_board(name)
    mistakes += [
        f"{name}: {key} comes from the board (leave it out; what may be said there: "
        f"{', '.join(allowed)})"
        for key in values
        if key not in allowed
    ]
    if mistakes:
        raise UsageError("\n".join(mistakes))
    return values


def _alone(request: _Request) -> str:
    from boardvet.cli import _sizes
    from boardvet.sizing import calculation
    from boardvet.sizing._calculation import Unsizable
    from boardvet.sizing._reading import read

    name = request.calculation
    found = calculation(name)
    inputs = read(name, found, request.stated)
    try:
        answer = found.solve(inputs)
    except Unsizable as error:
        raise UsageError(f"{name}: {error}") from error
    return _sizes.rendered(name, answer, width(), color=coloured())
