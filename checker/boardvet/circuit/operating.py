"""What the board does in some rows: voltages and currents, in the words of the board."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

from boardvet.circuit.elements import Element
from boardvet.circuit.island import Drive

if TYPE_CHECKING:
    import numpy as np

    from boardvet.physics.elements import Floats

__all__ = ["Operating", "RegulatorPoint"]


class RegulatorPoint(NamedTuple):
    """What a regulator does in each row.

    Parameters
    ----------
    input_voltage, output_voltage : array, shape (B,)
        [V]
    input_current, output_current : array, shape (B,)
        What it takes, its own use included, and what it gives. [A]
    regulating : array of bool, shape (B,)
        False where its input is too low; a switching one that its source cannot feed gives 0 V.
    """

    input_voltage: Floats
    output_voltage: Floats
    input_current: Floats
    output_current: Floats
    regulating: np.typing.NDArray[np.bool_]

    @property
    def given_first(self) -> float:
        """What it gives in the first row; what another source pushes back is none. [A]."""
        return max(float(self.output_current[0]), 0.0)

    def rows(self, rows: slice) -> RegulatorPoint:
        """Return some of the rows."""
        return RegulatorPoint._make(values[rows] for values in self)


@dataclass(frozen=True)
class Operating:
    """The board at work.

    Parameters
    ----------
    count : int
        How many rows.
    nodes : mapping of node to array
        Voltage over ground of each node that was solved. [V]
    cells : mapping of str to array
        What each cell delivers, by reference. [A]
    junctions, resistors : mapping of Element to array
        Currents from `a` to `b`. [A]
    drives : mapping of Drive to array
        What each driven pin carries, positive from its supply or into it. [A]
    loads : mapping of str to array
        What each part draws, by reference. [A]
    regulators : mapping of str to RegulatorPoint
        What each fed regulator does, by reference.
    because : mapping of str to str
        Names and sources of the numbers that went in.
    """

    count: int
    nodes: dict[str, Floats] = field(default_factory=dict)
    cells: dict[str, Floats] = field(default_factory=dict)
    junctions: dict[Element, Floats] = field(default_factory=dict)
    resistors: dict[Element, Floats] = field(default_factory=dict)
    drives: dict[Drive, Floats] = field(default_factory=dict)
    loads: dict[str, Floats] = field(default_factory=dict)
    regulators: dict[str, RegulatorPoint] = field(default_factory=dict)
    because: dict[str, str] = field(default_factory=dict)

    def voltage(self, node: str) -> tuple[float, ...]:
        """Return the voltage of a node over ground, 0 where no current can reach it, in volts."""
        return self._of(self.nodes, node)

    def cell_current(self, reference: str) -> tuple[float, ...]:
        """Return what a cell delivers, in amperes."""
        return self._of(self.cells, reference)

    def light(self, element: Element) -> tuple[float, ...]:
        """Return the current through an LED or diode, in amperes."""
        return self._of(self.junctions, element)

    def through(self, element: Element) -> tuple[float, ...]:
        """Return the current through a resistor, contact or channel from `a` to `b`, in A."""
        return self._of(self.resistors, element)

    def pin(self, drive: Drive) -> tuple[float, ...]:
        """Return the current that a driven pin carries, whichever way, in amperes."""
        return tuple(map(abs, self._of(self.drives, drive)))

    def load(self, reference: str) -> tuple[float, ...]:
        """Return what a part draws by itself, in amperes."""
        return self._of(self.loads, reference)

    def rows(self, rows: slice) -> Operating:
        """Return some of the rows."""
        return Operating(
            len(range(*rows.indices(self.count))),
            {key: values[rows] for key, values in self.nodes.items()},
            {key: values[rows] for key, values in self.cells.items()},
            {key: values[rows] for key, values in self.junctions.items()},
            {key: values[rows] for key, values in self.resistors.items()},
            {key: values[rows] for key, values in self.drives.items()},
            {key: values[rows] for key, values in self.loads.items()},
            {key: point.rows(rows) for key, point in self.regulators.items()},
            self.because,
        )

    def _of(self, values: Mapping[Any, Floats], key: object) -> tuple[float, ...]:
        found = values.get(key)
        return (0.0,) * self.count if found is None else tuple(map(float, found))
