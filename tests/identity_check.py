"""Measure over real boards how well identities single parts out and bear changes.

Not collected by pytest: ``python -m tests.identity_check FOLDER`` prints, over all netlists of a
folder, the share of parts whose identity no other part of the board has, the share that an edited
value changes (none may), and the mean share of the other parts whose identity changes when one
part is taken out.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from boardvet.board import Board
from boardvet.errors import InputError, InputErrors
from boardvet.read.exports import read_exports
from boardvet.review.identity import Identities

__all__ = ["Measured", "main", "measure"]

MOST_REMOVED = 200
"""Parts taken out of one board, evenly spread: more say no more and take long."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What was counted on one board, in parts; `removals` is a mean share for each removal."""

    parts: int
    unique: int
    changed_by_value: int
    removals: tuple[float, ...]


def measure(board: Board) -> Measured:
    """Count on one board."""
    before = Identities.of_board(board).of_part
    counts = Counter(before.values())
    edited = {
        ref: replace(part, value=f"{part.value} edited") for ref, part in board.parts.items()
    }
    after = Identities.of_board(replace(board, parts=edited)).of_part
    return Measured(
        parts=len(before),
        unique=sum(1 for identity in before.values() if counts[identity] == 1),
        changed_by_value=sum(1 for ref, identity in before.items() if after[ref] != identity),
        removals=tuple(_removals(board, before)),
    )


def _removals(board: Board, before: Mapping[str, str]) -> Iterator[float]:
    references = list(board.parts)
    step = max(1, len(references) // MOST_REMOVED)
    for gone in references[::step] if len(references) > 1 else ():
        after = Identities.of_board(_without(board, gone)).of_part
        changed = sum(1 for ref, identity in after.items() if before[ref] != identity)
        yield changed / len(after)


def _without(board: Board, gone: str) -> Board:
    parts = {ref: part for ref, part in board.parts.items() if ref != gone}
    nets = {
        key: replace(net, nodes=tuple(node for node in net.nodes if node.reference != gone))
        for key, net in board.nets.items()
    }
    return replace(board, parts=parts, nets=nets)


def main(arguments: Sequence[str]) -> int:
    """Measure every netlist of a folder and print the three shares."""
    if len(arguments) != 1 or not Path(arguments[0]).is_dir():
        print("usage: python -m tests.identity_check FOLDER", file=sys.stderr)
        return 2
    boards = []
    for path in sorted(Path(arguments[0]).rglob("*.net")):
        try:
            boards.append(measure(read_exports([path])))
        except (InputError, InputErrors) as error:
            print(f"{path.name}: {error}", file=sys.stderr)
    parts = sum(board.parts for board in boards)
    if not parts:
        print("no netlist with parts was found", file=sys.stderr)
        return 2
    removals = [share for board in boards for share in board.removals]
    by_board = [sum(b.removals) / len(b.removals) for b in boards if b.removals]
    print(f"boards: {len(boards)}, parts: {parts}")
    print(f"unique identity: {sum(b.unique for b in boards) / parts:.1%} of parts")
    print(f"changed by an edited value: {sum(b.changed_by_value for b in boards)} parts")
    print(f"others changed when one part is removed: {sum(removals) / len(removals):.1%}", end="")
    print(f" a removal, {sum(by_board) / len(by_board):.1%} a board")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
