"""Which cells could stand in the holders of a board: about its voltage, singly or in a row."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from boardvet.circuit.cells import Cells
from boardvet.circuit.handle import Circuit
from boardvet.facts.cell import CellType, cell_types

__all__ = ["Choice", "candidates"]

MOST_IN_A_ROW = 3
"""More in a row only where the board has as many already."""

LOWEST, HIGHEST = 0.75, 1.34
"""About the same voltage, as shares of that on the name-plate of what is fitted: two Ni-MH cells
(2.4 V) stand in for a lithium coin (3.0 V), and so does one lithium-ion cell (3.7 V); one alkaline
cell and three of them do not."""


class Choice(NamedTuple):
    """Cells of one type in a row, as they would stand in each holder.

    Parameters
    ----------
    type : CellType
        The cell.
    series : int
        How many in a row.
    """

    type: CellType
    series: int

    @property
    def label(self) -> str:
        """Such as "2 × LR03"."""
        name = self.type.designation
        return name if self.series == 1 else f"{self.series} × {name}"

    @property
    def rechargeable(self) -> bool:
        """Whether it may be charged."""
        return self.type.chemistry.rechargeable

    @property
    def mass(self) -> float | None:
        """Of all of them together, None where it is not known. [kg]."""
        return None if self.type.mass is None else self.type.mass.value * self.series


def candidates(circuit: Circuit) -> tuple[Choice, ...]:
    """Return every cell of known charge that makes about the voltage of those fitted.

    Raises
    ------
    MissingFact
        Where there is no cell, or it is not known what it is.
    """
    fitted = circuit.view(Cells).need_any()[0]
    known = fitted.type or fitted.need_chemistry()
    wanted = known.nominal_voltage.value * fitted.series
    return tuple(_about(wanted, max(MOST_IN_A_ROW, fitted.series)))


def _about(wanted: float, most: int) -> Iterator[Choice]:
    for cell in cell_types():
        for series in range(1, most + 1):
            made = cell.nominal_voltage.value * series
            if cell.capacity is not None and LOWEST <= made / wanted <= HIGHEST:
                yield Choice(cell, series)
