"""View: what the quantities of the BOM count: places, boards, spares, or parts of a kind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from boardvet.board import BomLine
from boardvet.circuit.handle import Circuit
from boardvet.circuit.lists import PartLists

__all__ = ["Quantities"]

Group = tuple[str, str, str]


@dataclass(frozen=True)
class Quantities:
    """How the quantities of most lines follow from their references: boards × references + spare.

    Parameters
    ----------
    boards : int
        Common factor, 1 unless most lines and at least two have it.
    spare : int
        Common surplus, 0 unless most lines and at least two have it.
    of_group : Counter
        References on all lines of one value, package and part number: where each part has its
        own line, the quantity may count all parts that are alike.
    """

    boards: int
    spare: int
    of_group: Counter[Group]

    def fits(self, line: BomLine) -> bool:
        """Tell whether the quantity of a line is one that its references account for."""
        if line.quantity is None:
            return True
        counts = {len(line.references), len(set(line.references)), self.of_group[_group(line)]}
        return line.quantity in {self.boards * count + self.spare for count in counts}

    def wanted(self, line: BomLine) -> int:
        """Return the quantity that the references of a line ask for."""
        return self.boards * len(set(line.references)) + self.spare

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Find the factor and the surplus that most lines share."""
        circuit.view(PartLists)  # ends here without a BOM
        bom = circuit.board.bom
        lines = [line for line in bom.lines if line.references and line.fitted] if bom else []
        counted = [line for line in lines if line.quantity]
        groups: Counter[Group] = Counter()
        for line in lines:
            groups[_group(line)] += len(line.references)
        return cls(*_common(counted), groups)


def _group(line: BomLine) -> Group:
    return line.value, line.footprint, line.part_number


def _common(lines: Sequence[BomLine]) -> tuple[int, int]:
    """Return factor and surplus: those that explain most lines, plain counting first."""
    pairs = [(line.quantity or 0.0, len(set(line.references))) for line in lines]
    factors = Counter(q / n for q, n in pairs if (q / n).is_integer())
    spares = Counter(q - n for q, n in pairs if (q - n).is_integer() and q > n)
    plain = sum(q == n for q, n in pairs)
    best, most = (1, 0), max(plain, len(pairs) // 2, 1)
    for factor, count in factors.most_common(1):
        if count > most:
            best, most = (int(factor), 0), count
    for spare, count in spares.most_common(1):
        if count > most:
            best = (1, int(spare))
    return best
