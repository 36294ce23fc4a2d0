"""All cells of a board together, as a subject."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.handle import Circuit

__all__ = ["CellSet"]


@dataclass(frozen=True)
class CellSet:
    """The cells that feed a board."""

    cells: tuple[Cell, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "cells" if len(self.cells) > 1 else "cell"

    @property
    def label(self) -> str:
        """Reference and designation of each."""
        return " and ".join(cell.label for cell in self.cells)

    @property
    def parts(self) -> tuple[str, ...]:
        """The holders."""
        return tuple(cell.reference for cell in self.cells)

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes of their poles."""
        return tuple(dict.fromkeys(net for cell in self.cells for net in cell.nets))

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[CellSet]:
        """Return the cells as one subject; none on a board without a cell."""
        cells = circuit.view(Cells).all
        return (cls(cells),) if cells else ()
