"""The Python interface: read a board, ask its circuit, review it.

Paths are folders, intent pages or exports, as on the command line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from os import PathLike
from pathlib import Path

from boardvet.board import Board, FileKind, SourceFile
from boardvet.circuit.handle import Circuit, Progress
from boardvet.errors import InputError, InputErrors
from boardvet.facts import FactBook
from boardvet.intent import Intent, check_against, check_settings, read_intent
from boardvet.read.exports import Export, find_exports, read_exports
from boardvet.read.recognise import recognise
from boardvet.review.packs import load_packs
from boardvet.review.review import Review
from boardvet.review.runner import run
from boardvet.review.settings import known_settings

__all__ = ["PAGE", "Job", "circuit", "jobs", "read", "review"]

PAGE = "boardvet.yaml"
"""Name of the intent page of a folder."""

PathText = str | PathLike[str]


@dataclass(frozen=True, slots=True)
class Job:
    """The files of one board.

    Parameters
    ----------
    name : str
        What the board is called where its page does not say.
    page : Path or None
        Its intent page.
    exports : tuple of Path
        Exports named on the command line; empty to take those of the page, or of the folder.
    folder : Path or None
        Where to look for exports.
    """

    name: str
    page: Path | None
    exports: tuple[Path, ...]
    folder: Path | None


def jobs(paths: Sequence[PathText]) -> list[Job]:
    """Sort paths into boards: each folder and each page is one, loose exports are one together.

    A single page with loose exports is one board of those exports.

    Raises
    ------
    InputErrors
        For every path that does not exist or that cannot be told.
    """
    folders: list[Path] = []
    pages: list[Path] = []
    exports: list[Path] = []
    errors: list[InputError] = []
    for path in map(Path, paths):
        try:
            if path.is_dir():
                folders.append(path)
            elif _kind(path) is FileKind.INTENT:
                pages.append(path)
            else:
                exports.append(path)
        except InputError as error:
            errors.append(error)
        except InputErrors as several:
            errors.extend(several.errors)
    if errors:
        raise InputErrors(errors)
    found = [_of_folder(folder) for folder in folders]
    if len(pages) == 1 and exports:
        return [*found, Job(_stem(pages[0]), pages[0], tuple(exports), None)]
    found.extend(Job(_stem(page), page, (), page.parent) for page in pages)
    if exports:
        found.append(Job(exports[0].stem, None, tuple(exports), None))
    return found


def read(paths: PathText | Sequence[PathText], *, reader: str = "own") -> Board:
    """Read one board.

    Raises
    ------
    InputErrors
        With every mistake of every file.
    """
    return _load(_only(paths), reader)[0]


def circuit(
    paths: PathText | Sequence[PathText] | Job,
    *,
    assume_nothing: bool = False,
    reader: str = "own",
) -> Circuit:
    """Read one board and return the handle on what it means.

    Raises
    ------
    InputErrors
        With every mistake of every file.
    """
    job = paths if isinstance(paths, Job) else _only(paths)
    return _circuit(job, assume_nothing, reader)


def review(
    paths: PathText | Sequence[PathText] | Job,
    *,
    gate: str = "hold",
    strict: bool = False,
    assume_nothing: bool = False,
    reader: str = "own",
    progress: Progress | None = None,
) -> Review:
    """Read and review one board.

    `progress` is told of what takes long: what is done, how many, of how many.

    Raises
    ------
    InputErrors
        With every mistake of every file.
    PackError
        If an installed pack cannot be used.
    """
    job = paths if isinstance(paths, Job) else _only(paths)
    found = _circuit(job, assume_nothing, reader)
    found.progress = progress
    return run(found, load_packs(), gate=gate, strict=strict)


def _only(paths: PathText | Sequence[PathText]) -> Job:
    listed = [paths] if isinstance(paths, str | PathLike) else list(paths)
    found = jobs(listed)
    if len(found) != 1:
        names = ", ".join(job.name for job in found) or "none"
        raise InputError(
            str(listed[0]) if listed else "",
            f"one board is wanted here, and these paths are {len(found)} boards: {names}",
            "name one folder, one intent page or the exports of one board",
        )
    return found[0]


def _kind(path: Path) -> FileKind:
    if not path.exists():
        raise InputError(str(path), "no such file or folder", "check the path")
    return recognise(path.read_bytes(), str(path))


def _stem(page: Path) -> str:
    return page.resolve().parent.name if page.name == PAGE else page.stem


def _of_folder(folder: Path) -> Job:
    page = folder / PAGE
    return Job(folder.resolve().name, page if page.is_file() else None, (), folder)


def _circuit(job: Job, assume_nothing: bool, reader: str) -> Circuit:
    board, intent = _load(job, reader)
    base = job.page.parent if job.page else Path()
    return Circuit(
        board,
        intent,
        FactBook(board, intent, [base / name for name in intent.facts]),
        assume_nothing=assume_nothing,
    )


def _load(job: Job, reader: str) -> tuple[Board, Intent]:
    intent = read_intent(job.page) if job.page else Intent.empty()
    files = _files(job, intent)
    board = read_exports(
        files, name=intent.board or job.name, reader=reader, columns=intent.columns
    )
    if job.page:
        _check(intent, board)
        digest = sha256(job.page.read_bytes()).hexdigest()
        page = SourceFile(str(job.page), FileKind.INTENT, digest)
        board = replace(board, files=(*board.files, page))
    return board, intent


def _check(intent: Intent, board: Board) -> None:
    """Hold a page against the board and the installed rules; all its mistakes come together."""
    rules = {rule.id: known_settings(rule) for pack in load_packs() for rule in pack.rules}
    mistakes: list[InputError] = []
    for check in (lambda: check_settings(intent, rules), lambda: check_against(intent, board)):
        try:
            check()
        except InputErrors as several:
            mistakes.extend(several.errors)
    if mistakes:
        raise InputErrors(sorted(mistakes, key=lambda mistake: (mistake.line, mistake.column)))


def _files(job: Job, intent: Intent) -> Sequence[Path | Export]:
    """Return the exports of a job: those named, those of its page, or those of its folder."""
    if job.exports:
        return list(job.exports)
    base = job.folder or Path()
    if intent.exports is not None:
        return [base / name for name in intent.exports]
    return find_exports(base)
