"""The exports of one board: each file read once, recognised by content, joined to a `Board`."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from boardvet.board import Board, Bom, FileKind, Placement, SourceFile
from boardvet.errors import InputError, InputErrors, UsageError
from boardvet.read.assembly import Netlist
from boardvet.read.bom import read_bom
from boardvet.read.netlist import read_netlist
from boardvet.read.placement import read_placement
from boardvet.read.recognise import decode, kind_of_text

__all__ = ["LARGEST", "READERS", "Export", "find_exports", "open_export", "read_exports"]

READERS: Final = ("own", "reference")
"""Names of the netlist readers."""

LARGEST: Final = 256_000_000
"""Size at which a file is refused. [B] A netlist of 100,000 parts has some 60 MB."""

_ORDER: Final = tuple(FileKind)
_WORD: Final = {
    FileKind.NETLIST: "netlist",
    FileKind.BOM: "BOM",
    FileKind.PLACEMENT: "placement file",
    FileKind.TEST_POINTS: "test-point netlist",
    FileKind.INTENT: "intent page",
    FileKind.FACTS: "facts file",
}


class Export(NamedTuple):
    """A file that was read and recognised."""

    path: Path
    kind: FileKind
    text: str
    sha256: str


def open_export(path: Path, columns: Mapping[str, str] | None = None) -> Export:
    """Read a file and recognise it.

    Parameters
    ----------
    path : Path
        The file.
    columns : mapping of str to str, optional
        Role to heading, where the user has stated them: then it is a table.

    Returns
    -------
    Export

    Raises
    ------
    InputError
        If it cannot be read, or is nothing that is known.
    """
    shown = str(path)
    data = _bytes(path, shown)
    text = decode(data, shown)
    if columns:
        kind = FileKind.PLACEMENT if {"x", "y"} <= columns.keys() else FileKind.BOM
    else:
        kind = kind_of_text(text, shown)
    return Export(path, kind, text, hashlib.sha256(data).hexdigest())


def find_exports(folder: Path) -> tuple[Export, ...]:
    """Read the exports that lie in a folder, sorted by path; other files are passed over.

    Parameters
    ----------
    folder : Path
        Looked at without its subfolders; hidden files are left out.

    Returns
    -------
    tuple of Export

    Raises
    ------
    InputError
        If the folder cannot be read or holds no export.
    """
    try:
        inside = sorted(folder.iterdir())
    except OSError as error:
        raise _unreadable(str(folder), error) from None
    found = []
    for path in inside:
        if path.name.startswith(".") or not path.is_file():
            continue
        try:
            export = open_export(path)
        except InputError:
            continue
        if export.kind not in (FileKind.INTENT, FileKind.FACTS):
            found.append(export)
    if not found:
        raise InputError(
            str(folder),
            "this folder holds no netlist, BOM or placement file",
            "export the netlist in s-expression form into it, or name the files themselves",
        )
    return tuple(found)


def read_exports(
    files: Sequence[Path | Export],
    *,
    name: str | None = None,
    reader: str = "own",
    columns: Mapping[str, Mapping[str, str]] | None = None,
) -> Board:
    """Read the exports of one board.

    Parameters
    ----------
    files : sequence of Path or Export
        Files, or what `find_exports` has read of them. In any order: one netlist, at most one
        BOM, any number of placement files (top and bottom are joined). Intent pages and facts
        files are listed in `Board.files` and not read here.
    name : str, optional
        Name of the board; by default the name of the netlist file without its suffix.
    reader : {"own", "reference"}
        Which reader takes the netlist.
    columns : mapping of str to mapping of str to str, optional
        By file name: role to heading, as stated on the intent page.

    Returns
    -------
    Board
        The same for every order of `files`.

    Raises
    ------
    InputErrors
        With the mistakes of all files.
    UsageError
        If there is no such reader.
    """
    if reader not in READERS:
        raise UsageError(f"no reader is called {reader!r}; there are {' and '.join(READERS)}")
    stated = columns or {}
    errors = _Errors()
    opened: list[Export] = []
    for path, export in sorted(_distinct(files).items(), key=lambda item: str(item[0])):
        chosen = _stated(path, stated)
        with errors:
            # Stated columns may make another kind of file of it.
            opened.append(export if export and not chosen else open_export(path, chosen))
    opened.sort(key=lambda export: (_ORDER.index(export.kind), str(export.path)))
    errors.all += _wrong_numbers(opened, complete=not errors.all)
    netlist: Netlist | None = None
    boms: list[Bom] = []
    placements: list[Placement] = []
    for export in opened:
        shown = str(export.path)
        chosen = _stated(export.path, stated)
        with errors:
            if export.kind is FileKind.NETLIST:
                netlist = _netlist(export.text, shown, reader)
            elif export.kind is FileKind.BOM:
                boms.append(read_bom(export.text, shown, chosen))
            elif export.kind is FileKind.PLACEMENT:
                placements.append(read_placement(export.text, shown, chosen))
            elif export.kind is FileKind.TEST_POINTS:
                raise _not_yet(shown)
    if errors.all or netlist is None:
        raise InputErrors(errors.all)
    entries = tuple(entry for placement in placements for entry in placement.entries)
    return Board(
        name=name or opened[0].path.stem,
        parts=netlist.parts,
        nets=netlist.nets,
        bom=boms[0] if boms else None,
        placement=Placement(entries) if placements else None,
        files=tuple(SourceFile(str(one.path), one.kind, one.sha256) for one in opened),
    )


class _Errors:
    """Collects the mistakes of a block, so that the next file is looked at as well."""

    def __init__(self) -> None:
        self.all: list[InputError] = []

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> bool:
        if isinstance(error, InputErrors):
            self.all += error.errors
        elif isinstance(error, InputError):
            self.all.append(error)
        else:
            return False
        return True


def _bytes(path: Path, shown: str) -> bytes:
    try:
        if path.is_dir():
            raise InputError(shown, "this is a folder, not a file", "name the exports in it")
        if path.stat().st_size > LARGEST:
            raise InputError(
                shown,
                f"the file is larger than {LARGEST // 1_000_000} MB",
                "this can hardly be the export of one board; name the right file",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise _unreadable(shown, error) from None


def _unreadable(shown: str, error: Exception) -> InputError:
    if isinstance(error, FileNotFoundError):
        return InputError(shown, "there is no such file", "check the path and its spelling")
    reason = error.strerror if isinstance(error, OSError) else str(error)
    return InputError(shown, f"it cannot be read: {reason}", "check the path and its permissions")


def _distinct(files: Sequence[Path | Export]) -> dict[Path, Export | None]:
    """Leave out a file that is named twice, by whatever path; the shortest path stays."""
    given = {one.path: one for one in files if isinstance(one, Export)}
    paths = [one.path if isinstance(one, Export) else Path(one) for one in files]
    seen: dict[Path, Path] = {}
    for path in sorted(paths, key=lambda one: (len(str(one)), str(one))):
        seen.setdefault(path.absolute().resolve(), path)
    return {path: given.get(path) for path in seen.values()}


def _stated(path: Path, columns: Mapping[str, Mapping[str, str]]) -> Mapping[str, str] | None:
    return columns.get(str(path)) or columns.get(path.name)


def _netlist(text: str, shown: str, reader: str) -> Netlist:
    if reader == "own":
        return read_netlist(text, shown)
    # Slow to import, and asked for seldom.
    from boardvet.read.reference import read_netlist_by_reference

    return read_netlist_by_reference(text, shown)


def _wrong_numbers(opened: Sequence[Export], *, complete: bool) -> list[InputError]:
    """Demand one netlist and at most one BOM.

    Where a file could not be recognised (not `complete`), it may be the netlist that is missing:
    then its own mistake says enough.
    """
    of_kind = {
        kind: [str(one.path) for one in opened if one.kind is kind]
        for kind in (FileKind.NETLIST, FileKind.BOM)
    }
    errors = []
    if complete and not of_kind[FileKind.NETLIST]:
        given = ", ".join(f"{one.path} ({_WORD[one.kind]})" for one in opened) or "nothing"
        errors.append(
            InputError(
                str(opened[0].path) if opened else "(no file)",
                f"there is no netlist; given: {given}",
                "export the netlist in s-expression form from the schematic editor and add it",
            )
        )
    for kind, paths in of_kind.items():
        if len(paths) > 1:
            word = _WORD[kind]
            errors.append(
                InputError(
                    paths[1],
                    f"there are {len(paths)} {word}s: {', '.join(paths)}",
                    f"one review has one {word}: name the files of one board, or list them "
                    "under `exports` in its intent page",
                )
            )
    return errors


def _not_yet(shown: str) -> InputError:
    return InputError(
        shown,
        "test-point netlists (IPC-D-356) are not read yet",
        "leave this file out; the netlist, BOM and placement file are enough",
    )
