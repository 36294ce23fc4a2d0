"""One cell or holder: what it is, how its voltage falls as it is used, what it can give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from boardvet.circuit.handle import Circuit
from boardvet.errors import MissingFact
from boardvet.facts.cell import CellType
from boardvet.facts.chemistry import Chemistry
from boardvet.intent import StatedCell
from boardvet.known import Known
from boardvet.physics.cell import (
    CellCurve,
    CurvePoints,
    in_parallel,
    in_series,
    open_circuit_voltage,
    share_left_at_rate,
)

__all__ = ["MOMENTS", "Cell"]

MOMENTS: tuple[float, ...] = tuple(step / 20 for step in range(21))
"""Shares of charge used at which voltages are compared, fresh to empty."""


@dataclass(frozen=True)
class Cell:
    """One cell or holder, as a subject.

    Parameters
    ----------
    reference : str
        The holder, or the connector that the battery is plugged into.
    plus, minus : str or None
        Nodes of its poles.
    designation : str
        What it is, "" where unknown.
    chemistry : Chemistry or None
        None where unknown: asking `need_chemistry` then ends the subject.
    type : CellType or None
        What is known of the size.
    series, parallel : int
        Cells inside the holder.
    source : str
        Where the type was read.
    stated : StatedCell or None
        What the intent page says of it.
    plugged : bool
        True if the battery comes by a connector.
    printed : Known[float] or None
        Charge that the text of the part or its line of the BOM states. [C]
    """

    reference: str
    plus: str | None
    minus: str | None
    designation: str
    chemistry: Chemistry | None
    type: CellType | None
    series: int
    parallel: int
    source: str
    stated: StatedCell | None = None
    plugged: bool = False
    printed: Known[float] | None = None

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "cell"

    @property
    def label(self) -> str:
        """Reference and designation."""
        return f"{self.reference} ({self.designation})" if self.designation else self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The holder."""
        return (self.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """The nodes of its poles."""
        return tuple(node for node in (self.plus, self.minus) if node is not None)

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Cell]:
        """Return the cells of the board."""
        from boardvet.circuit.cells import Cells

        return circuit.view(Cells).all

    def need_chemistry(self) -> Chemistry:
        """Return the chemistry, or end the subject as undetermined."""
        if self.chemistry is None:
            example = "LiPo" if self.plugged else "CR2032"
            raise MissingFact(
                self.reference,
                "cell",
                f"which cell {self.reference} holds is not known",
                f"cell: {{part: {self.reference}, type: {example}}}   # the type you will fit",
            )
        return self.chemistry

    @property
    def curve(self) -> CellCurve:
        """Open-circuit voltage and resistance of the whole holder over the charge used."""
        curve = self._single_curve()
        if self.series > 1:
            curve = in_series(curve, self.series)
        return in_parallel(curve, self.parallel) if self.parallel > 1 else curve

    def _single_curve(self) -> CellCurve:
        chemical = self.need_chemistry()
        curve = self.type.curve if self.type is not None else chemical.curve
        stated = self.stated
        if stated is None or (stated.voltage is None and stated.resistance is None):
            return curve
        if stated.voltage is not None:
            points = tuple((point.at or 0.0, point.value) for point in stated.voltage.value)
            curve = replace(curve, voltage_points=points)
        if stated.resistance is not None:
            points = tuple((point.at or 0.0, point.value) for point in stated.resistance.value)
            # A stated resistance is that of the board's own pulses, however short they are.
            curve = replace(curve, resistance_points=points, pulse_points=((1.0, 1.0),))
        return curve

    @property
    def curve_source(self) -> str:
        """Where the curve comes from."""
        if self.stated is not None and self.stated.voltage is not None:
            return self.stated.voltage.source
        return self.type.curve_source if self.type else self.need_chemistry().curve_source

    @property
    def resistance_source(self) -> str:
        """Where the resistance comes from."""
        if self.stated is not None and self.stated.resistance is not None:
            return self.stated.resistance.source
        known = self.type or self.need_chemistry()
        return known.resistance_source

    @property
    def capacity(self) -> Known[float] | None:
        """Charge of the whole holder, fresh, in coulombs: stated, printed, else of the type.

        What is stated or printed is that of the holder as it is; that of a type is multiplied
        by the cells side by side.
        """
        if self.stated is not None and self.stated.capacity is not None:
            return self.stated.capacity
        if self.printed is not None:
            return self.printed
        return self._of_parallel(self.type.capacity if self.type is not None else None)

    def need_capacity(self) -> Known[float]:
        """Return the charge of the whole holder, or end the subject as undetermined."""
        chemical = self.need_chemistry()
        capacity = self.capacity
        if capacity is None:
            example = "400 mAh" if chemical.rechargeable else "200 mAh"
            kind = f", type: {self.designation}" if self.designation else ""
            raise MissingFact(
                self.reference,
                "capacity",
                f"the capacity of {self.label} is not known",
                f"cell: {{part: {self.reference}{kind}, capacity: {example}}}"
                "   # what is printed on it",
            )
        return capacity

    @property
    def end_voltage(self) -> Known[float]:
        """Voltage at which the whole holder counts as empty, in volts."""
        if self.stated is not None and self.stated.stop is not None:
            return self.stated.stop
        end = (self.type or self.need_chemistry()).end_voltage
        return replace(end, value=round(end.value * self.series, 9))

    @property
    def self_discharge(self) -> Known[float] | None:
        """Share of the capacity that is lost per second at 20 to 25 °C, None if unknown."""
        return self.chemistry.self_discharge if self.chemistry is not None else None

    @property
    def rate(self) -> Known[CurvePoints]:
        """Share of the capacity left over a mean current in multiples of the capacity per hour.

        Empty, which is no effect, where the page states voltage, resistance or capacity: what
        is stated is used as given.
        """
        stated = self.stated
        if stated is not None:
            for given in (stated.voltage, stated.resistance, stated.capacity):
                if given is not None:
                    return Known((), "", given.source)
        return (self.type or self.need_chemistry()).rate

    def share_left(self, current: float) -> float:
        """Return the share of the capacity that is left at a mean current.

        Parameters
        ----------
        current : float
            Of the whole holder, at least 0. [A]

        Raises
        ------
        MissingFact
            Where the capacity is needed and not known.
        """
        points = self.rate.value
        if not points:
            return 1.0
        return share_left_at_rate(points, current * 3600.0 / self.need_capacity().value)

    @property
    def continuous_current(self) -> Known[float] | None:
        """Rated continuous current of the whole holder in amperes, None if unknown."""
        known = self.type.continuous_current if self.type is not None else None
        chemical, capacity = self.chemistry, self.capacity
        if chemical is not None and chemical.one_hour_source and capacity is not None:
            by_capacity = known is None or known.source == chemical.one_hour_source
            if by_capacity:
                return Known(capacity.value / 3600.0, "A", chemical.one_hour_source)
        return self._of_parallel(known)

    @property
    def pulse_current(self) -> Known[float] | None:
        """Rated pulse current of the whole holder in amperes, None if unknown."""
        return self._of_parallel(self.type.pulse_current if self.type is not None else None)

    def _of_parallel(self, one: Known[float] | None) -> Known[float] | None:
        if one is None or self.parallel == 1:
            return one
        return replace(one, value=one.value * self.parallel)

    def rest_on_curve(self, circuit: Circuit, *, resistance: bool = False) -> None:
        """Note the curve of the cell as an assumption where it is one.

        Parameters
        ----------
        circuit : Circuit
            Whose assumptions are noted.
        resistance : bool
            True where the verdict rests on the resistance as well.

        Raises
        ------
        MissingFact
            Where no default may be used and the curve is one.
        """
        self._note(circuit, "voltage", self.curve_source, _ends(self.curve.voltage_points), "V")
        if resistance:
            points = self.curve.resistance_points
            self._note(circuit, "resistance", self.resistance_source, _ends(points), "ohm")

    def _note(self, circuit: Circuit, key: str, source: str, value: str, unit: str) -> None:
        if not source.startswith("assumed"):
            return
        if circuit.assume_nothing:
            example = "3.2 V at 0 % and 2.0 V at 100 %" if key == "voltage" else "15 ohm"
            raise MissingFact(
                self.reference,
                key,
                f"how the {key} of {self.reference} changes as it empties is only assumed",
                f"cell: {{part: {self.reference}, {key}: {example}}}   # from its data sheet",
            )
        circuit.assume(f"{key} of {self.label}, fresh to empty", value, unit, source)

    def voltages(self) -> tuple[float, ...]:
        """Return the open-circuit voltage at each of `MOMENTS`, in volts."""
        curve = self.curve
        return tuple(open_circuit_voltage(curve, used) for used in MOMENTS)

    def highest(self) -> Known[float]:
        """Return the highest voltage that a fresh holder can show, in volts."""
        known = self.type or self.need_chemistry()
        fresh = self.voltages()[0]
        if self.stated is not None and self.stated.voltage is not None:
            return Known(fresh, "V", self.stated.voltage.source)
        highest = known.highest_voltage
        return Known(max(fresh, highest.value * self.series), "V", highest.source)


def _ends(points: CurvePoints) -> str:
    """Return the first and the last value of a curve in words."""
    return f"{points[0][1]:.3g} to {points[-1][1]:.3g}"
