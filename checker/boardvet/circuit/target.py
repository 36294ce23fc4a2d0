"""View: how long the board has to run, and the mean current that its cells can give so long."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Self

from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.handle import Circuit
from boardvet.known import Known

__all__ = ["DAY", "Bank", "Target"]

DAY = 86400.0
"""[s]"""


class Bank(NamedTuple):
    """Holders that give their charge together: side by side, in rows of which each is one group.

    Parameters
    ----------
    rows : tuple of tuple of Cell
        From plus to ground; the cells of a row stand side by side.
    """

    rows: tuple[tuple[Cell, ...], ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Every cell of the bank."""
        return tuple(cell for row in self.rows for cell in row)

    def need_capacity(self) -> Known[float]:
        """Return the charge that passes before the first row is empty, in coulombs.

        Raises
        ------
        MissingFact
            Where the capacity of one of the cells is not known.
        """
        rows = [[cell.need_capacity() for cell in row] for row in self.rows]
        charge, row = min(
            ((sum(known.value for known in row), row) for row in rows), key=lambda each: each[0]
        )
        return Known(charge, "C", _source(row))


@dataclass(frozen=True)
class Target:
    """The run time wanted, and what a current is worth against it.

    Parameters
    ----------
    run_time : Known[float] or None
        How long the board has to run; None where the page does not say. [s]
    banks : tuple of Bank
        Cells by the nodes of their poles: in a row, side by side, or each on its own, such as
        two that feed the board through diodes.
    cells : Cells
        The same cells, in the order of the board.
    """

    run_time: Known[float] | None
    banks: tuple[Bank, ...]
    cells: Cells

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Put the cells together by their nodes; asks for no capacity yet."""
        cells = circuit.view(Cells)
        return cls(circuit.intent.run_time, _banks(cells.all), cells)

    def need_capacity(self, cell: str | None = None) -> Known[float]:
        """Return the charge of the bank of a cell, or of all banks, in coulombs.

        Parameters
        ----------
        cell : str, optional
            Reference of a cell.

        Raises
        ------
        MissingFact
            Where a capacity is not known, or no cell is.
        """
        self.cells.need_any()
        return self.sum_of(self._banks_of(cell))

    @staticmethod
    def sum_of(banks: Iterable[Bank]) -> Known[float]:
        """Return the charge of some banks together, in coulombs; raises as `need_capacity`."""
        known = [bank.need_capacity() for bank in banks]
        return Known(sum(each.value for each in known), "C", _source(known))

    @property
    def mean_current(self) -> Known[float] | None:
        """Current that empties all cells just in the run time wanted, in amperes.

        None where no run time is wanted; `MissingFact` where a capacity is not known.
        """
        return self.mean_current_of(None)

    def mean_current_of(self, cell: str | None) -> Known[float] | None:
        """Return the current that empties the bank of a cell just in the run time wanted.

        None where no run time is wanted; `MissingFact` where a capacity is not known. [A]
        """
        if self.run_time is None:
            return None
        capacity = self.need_capacity(cell)
        source = (
            f"{capacity.source}; {self.run_time.source}"
            if capacity.assumed
            else (f"computed: capacity ({capacity.source}) / run time ({self.run_time.source})")
        )
        return Known(capacity.value / self.run_time.value, "A", source)

    def share(self, current: float, cell: str | None = None) -> float | None:
        """Return what share of the mean current a current takes, None without a target.

        Parameters
        ----------
        current : float
            Mean current from the cell. [A]
        cell : str, optional
            The cell that it is drawn from; None for all of them together.

        Raises
        ------
        MissingFact
            Where there is a target, and a capacity is not known.
        """
        mean = self.mean_current_of(cell)
        return None if mean is None else current / mean.value

    def days_alone(self, current: float, cell: str | None = None) -> float:
        """Return the days after which a current alone has emptied the cells.

        Parameters
        ----------
        current : float
            Mean current from the cell; infinitely many days where it is 0 or less. [A]
        cell : str, optional
            The cell that it is drawn from; None for all of them together.

        Raises
        ------
        MissingFact
            Where a capacity is not known.
        """
        capacity = self.need_capacity(cell).value
        return capacity / current / DAY if current > 0 else math.inf

    def _banks_of(self, cell: str | None) -> tuple[Bank, ...]:
        if cell is None:
            return self.banks
        return tuple(b for b in self.banks if any(each.reference == cell for each in b.cells))


def _banks(cells: Sequence[Cell]) -> tuple[Bank, ...]:
    """Return the banks: cells on the same two nodes side by side, then rows on one another."""
    rows: dict[object, list[Cell]] = {}
    for cell in cells:
        poles = (cell.plus, cell.minus)
        rows.setdefault(cell.reference if None in poles else poles, []).append(cell)
    by_plus: dict[str | None, tuple[Cell, ...]] = {
        row[0].plus: tuple(row) for row in rows.values() if row[0].plus is not None
    }
    carried = {row[0].minus for row in rows.values()}
    banks = []
    placed: set[str] = set()
    for row in rows.values():
        if row[0].plus in carried and row[0].plus is not None:
            continue  # not the top of its bank
        chain = [tuple(row)]
        seen = {row[0].plus}
        while (below := by_plus.get(chain[-1][0].minus)) and below[0].plus not in seen:
            seen.add(below[0].plus)
            chain.append(below)
        placed.update(cell.reference for part in chain for cell in part)
        banks.append(Bank(tuple(chain)))
    left = [tuple(row) for row in rows.values() if row[0].reference not in placed]
    return (*banks, *(Bank((row,)) for row in left))


def _source(known: Iterable[Known[float]]) -> str:
    """Return one source for a sum, the assumed ones first."""
    sources = dict.fromkeys(each.source for each in known)
    return "; ".join(sorted(sources, key=lambda source: not source.startswith("assumed")))
