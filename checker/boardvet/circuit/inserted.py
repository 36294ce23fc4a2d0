"""A regulator put between the cell and a board: what it would make of the run time.

The board is solved over its supply voltage, on a source without resistance. What it takes at the
voltage that a regulator lets through then comes back to the cell, whose resistance drops its own.
Dips that reservoirs carry are taken as far less as they are without the regulator. Nothing of it
is a real part: drop-out, quiescent current and efficiency are assumptions, here as constants.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, cast

import numpy as np

from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters
from boardvet.circuit.discharge import Discharge
from boardvet.circuit.drain import Lowest, lowest_of
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.floors import Floor
from boardvet.circuit.glow import currents_lit, meant
from boardvet.circuit.handle import Circuit
from boardvet.circuit.junctions import ROOM_TEMPERATURE
from boardvet.circuit.life import at_its_rate, own_loss
from boardvet.circuit.plant import Plant, Plants
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.strings import StringEnd, Strings
from boardvet.circuit.what_if import with_supply
from boardvet.circuit.workload import Workload, Workloads, coldest
from boardvet.known import Known
from boardvet.physics.cell_arrays import curve_arrays
from boardvet.physics.discharge import first_below
from boardvet.quantity.statement import Point, Points, Span

if TYPE_CHECKING:
    from boardvet.physics.elements import Floats

__all__ = ["DROPOUT", "EFFICIENCY", "OUTPUTS", "Inserted", "Regulated", "regulated"]

OUTPUTS = (1.2, 1.5, 1.8, 2.0, 2.5, 2.8, 3.0, 3.3, 3.6, 4.0, 5.0)
"""Output voltages that many makers sell: common practice. [V]"""

DROPOUT = 0.1
"""Assumption for a low-drop-out regulator at small currents. [V]"""

LINEAR_OWN = 1e-6
"""Assumption: what it takes itself. [A]"""

EFFICIENCY = 0.85
"""Assumption for a small step-up converter at milliamperes."""

SWITCHING_OWN = 5e-6
"""Assumption: what it takes itself. [A]"""

BRIGHT = 0.5
"""A light needs a voltage at which it has this share of what it is meant to have."""

_STEP = 0.05
"""Between the voltages at which the board is solved. [V]"""

_ROUNDING = 1e-6
_HALVINGS = 40
_LEAST = 0.3
"""Lowest voltage at which the board is solved. [V]"""


class Inserted(NamedTuple):
    """One regulator between cell and board.

    Parameters
    ----------
    stepping_up : bool
        True for a step-up converter, False for a low-drop-out regulator.
    output : float
        [V]
    run_time : float
        With it. [s]
    left : float
        Share of the charge that is left at the stop.
    """

    stepping_up: bool
    output: float
    run_time: float
    left: float


@dataclass(frozen=True)
class Regulated:
    """A board with and without a regulator between its cell and all that hangs on it.

    Parameters
    ----------
    run_time, left : float
        Without one: run time [s] and share of the charge left at the stop.
    behind : tuple of str
        Regulators that already stand before all that needs a voltage, empty where something
        needs that of the cell.
    output : float or None
        The lowest usual output at which every part works and every light has half of its
        current; None where there is none. [V]
    linear, step_up : Inserted or None
        None where such a one has nothing to do.
    """

    run_time: float
    left: float
    behind: tuple[str, ...] = ()
    output: float | None = None
    linear: Inserted | None = None
    step_up: Inserted | None = None


def regulated(circuit: Circuit) -> Regulated | None:
    """Return what a regulator behind the cell would do, None where there are several holders.

    Raises
    ------
    MissingFact
        As the view `Discharge`.
    SolverError
        If a network has no solution that could be found.
    """
    cells = circuit.view(Cells).need_any()
    if len(cells) != 1:
        return None
    discharge = circuit.view(Discharge)
    plain = Regulated(discharge.run_time, 1.0 - discharge.stop.used)
    behind = _behind(circuit)
    if behind:
        return Regulated(plain.run_time, plain.left, behind)
    supply = _Supply(circuit, cells[0], discharge)
    output = supply.lowest_output()
    if output is None:
        return plain
    fresh = float(supply.open_circuit[0])
    linear = supply.behind_linear(output) if output + DROPOUT < fresh else None
    step_up = supply.behind_step_up(output) if output > float(supply.open_circuit[-1]) else None
    return Regulated(plain.run_time, plain.left, (), output, linear, step_up)


class _Supply:
    """A board solved over its supply voltage, and the cell that is to feed it.

    `volts` rises; what is solved on it has the same order.
    """

    def __init__(self, circuit: Circuit, cell: Cell, discharge: Discharge) -> None:
        self.circuit = circuit
        self.cell = cell
        self.discharge = discharge
        self.open_circuit, _ = curve_arrays(cell.curve, discharge.used)
        self.stands = _stands(circuit)
        outputs = [volts for volts in OUTPUTS if volts <= self.stands]
        top = max(float(self.open_circuit[0]), *outputs, _LEAST + _STEP)
        self.board = with_supply(circuit, _falling(top), discharge.capacity)
        shares = self.board.view(Workloads).used
        self.volts = (top - shares * (top - _LEAST))[::-1]
        self.easing = {w.timeline.name: self._eased(w) for w in circuit.view(Workloads).on_cell()}

    def lowest_output(self) -> float | None:
        """Return the lowest usual voltage on which all works and all lights are bright enough."""
        enough = np.ones(len(self.volts), dtype=np.bool_)
        for low in self.board.view(Discharge).lowest:
            if isinstance(low.subject, Floor):
                enough &= low.volts[::-1] >= low.subject.volts.value - _ROUNDING
        currents = currents_lit(self.board)
        for light, wanted in meant(self.circuit).items():
            if light in currents:
                enough &= currents[light][::-1] >= BRIGHT * wanted
        for volts in OUTPUTS:
            at = int(np.argmin(np.abs(self.volts - volts)))
            if enough[at] and abs(self.volts[at] - volts) < _ROUNDING and volts <= self.stands:
                return volts
        return None

    def behind_linear(
        self, output: float, dropout: float = DROPOUT, own: float = LINEAR_OWN
    ) -> Inserted:
        """Let it run behind a regulator that passes on its input less the drop-out at most."""

        def passing(taken: Floats, ohms: Floats) -> tuple[Floats, Floats, Floats]:
            behind = self._settled(taken, ohms, output, dropout, own)
            current = np.interp(behind, self.volts, taken) + own
            return behind, self.open_circuit - ohms * current, current

        return Inserted(False, output, *self._life(passing, floors=True))

    def behind_step_up(self, output: float) -> Inserted:
        """Let it run behind a converter that passes on what is more than its output."""

        def boosting(taken: Floats, ohms: Floats) -> tuple[Floats, Floats, Floats]:
            through = self._settled(taken, ohms, np.inf, 0.0, SWITCHING_OWN)
            power = output * float(np.interp(output, self.volts, taken)) / EFFICIENCY
            own = self.open_circuit - ohms * SWITCHING_OWN
            root = own * own - 4.0 * ohms * power
            # Where the cell cannot give the power, it gives the most that it can, at no voltage
            # that counts.
            held = np.where(root >= 0.0, (own + np.sqrt(np.maximum(root, 0.0))) / 2.0, 0.0)
            given = power / np.maximum(np.where(root >= 0.0, held, own / 2.0), _ROUNDING)
            passes = through >= output
            current = np.where(passes, np.interp(through, self.volts, taken), given)
            terminal = np.where(passes, through, held)
            return np.maximum(through, output), terminal, current + SWITCHING_OWN

        return Inserted(True, output, *self._life(boosting, floors=False))

    def _settled(
        self, taken: Floats, ohms: Floats, output: float, dropout: float, own: float
    ) -> Floats:
        """Return the voltage behind a regulator at which the board takes what the cell gives.

        The more the voltage, the more is taken and the less is left: it is found by halving.
        """
        low = np.zeros(len(self.open_circuit))
        high = np.minimum(output, np.maximum(self.open_circuit - dropout, 0.0))
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            left = self.open_circuit - ohms * (np.interp(middle, self.volts, taken) + own)
            fits = np.minimum(output, left - dropout) >= middle
            low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        return np.asarray((low + high) / 2.0, dtype=np.float64)

    def _life(self, regulator: _Regulator, *, floors: bool) -> tuple[float, float]:
        """Return the run time and the share of the charge left at the stop."""
        used, reference = self.discharge.used, self.cell.reference
        mean, stop = np.zeros(len(used)), 1.0
        for workload in self.board.view(Workloads).on_cell():
            timeline, nothing = workload.timeline, np.zeros(len(self.volts))
            for meeting, operating in workload.typical:
                taken = operating.cells.get(reference, nothing)[::-1]
                _, _, current = regulator(taken, self._ohms(meeting.run, None))
                mean = mean + timeline.share * meeting.weight * current
            worst = [
                regulator(
                    operating.cells.get(reference, nothing)[::-1],
                    self._ohms(meeting.run, coldest(self.circuit)),
                )
                for meeting, operating in workload.cold
            ]
            easing = self.easing.get(timeline.name, 1.0)
            behind, terminal = (
                _eased_lowest([each[kind] for each in worst], easing) for kind in (0, 1)
            )
            end = self.cell.end_voltage.value
            stop = min(stop, float(first_below(used, terminal, end)))
            if floors:
                stop = min([stop, *self._stops(timeline.name, behind)])
        current = at_its_rate(self.circuit, np.maximum(mean, 0.0)) + own_loss(self.circuit)
        return self.discharge.life_if(current, stop), 1.0 - stop

    def _stops(self, timeline: str, behind: Floats) -> Iterator[float]:
        """Yield the shares used at which parts stop, by the lowest voltage behind a regulator."""
        for low in self.board.view(Discharge).lowest:
            if isinstance(low.subject, Floor) and low.timeline.name == timeline:
                volts = np.interp(behind, self.volts, low.volts[::-1])
                limit = low.subject.volts.value - _ROUNDING
                yield float(first_below(self.discharge.used, volts, limit))

    def _ohms(self, run: float, temperature: float | None) -> Floats:
        used = self.discharge.used
        warmth = ROOM_TEMPERATURE if temperature is None else temperature
        return curve_arrays(self.cell.curve, used, warmth, np.full(len(used), run))[1]

    def _eased(self, workload: Workload) -> Floats | float:
        """Return what reservoirs leave of the dips of the cell, as a share at each share used."""
        timeline = workload.timeline
        carried = _of_cell(lowest_of(self.circuit, timeline, workload.cold))
        whole = _of_cell(lowest_of(self.circuit, timeline, workload.still))
        if carried is None or whole is None:
            return 1.0
        deep = np.maximum(whole.resting - whole.volts, _ROUNDING)
        return np.asarray(np.clip((carried.resting - carried.volts) / deep, 0.0, 1.0))


_Regulator = Callable[["Floats", "Floats"], "tuple[Floats, Floats, Floats]"]
"""From what the board takes over `volts` and the resistance of the cell over its life: voltage
behind the regulator, voltage of the cell, current of the cell."""


def _eased_lowest(volts: Sequence[Floats], easing: Floats | float) -> Floats:
    """Return the lowest of several steps, the dip from the highest as far as it is left."""
    highest, lowest = np.max(volts, axis=0), np.min(volts, axis=0)
    return np.asarray(highest - easing * (highest - lowest), dtype=np.float64)


def _of_cell(lowest: Sequence[Lowest]) -> Lowest | None:
    return next((low for low in lowest if isinstance(low.subject, Cell)), None)


def _falling(top: float) -> Points:
    """Return voltages from the highest down in small steps, usual outputs among them."""
    steps = [round(volts, 6) for volts in np.arange(_LEAST, top - _ROUNDING, _STEP).tolist()]
    volts = sorted({top, *steps, *(each for each in OUTPUTS if each < top)}, reverse=True)
    return tuple(Point(each, (top - each) / (top - _LEAST)) for each in volts)


def _stands(circuit: Circuit) -> float:
    """Return the highest voltage that all parts stand which the cell feeds straight."""
    converters = {each.reference for each in circuit.view(Converters).all}
    feeding = circuit.view(Feeding)
    found = [max(OUTPUTS)]
    for part in SuppliedPart.on(circuit):
        straight = any(not converters & set(fed.path) for _, fed in feeding.states_of(part.node))
        supply = cast("Known[Span] | None", circuit.known(part.reference, "supply"))
        if straight and supply is not None:
            found.append(supply.value.high)
    return min(found)


def _behind(circuit: Circuit) -> tuple[str, ...]:
    """Return the regulators before all that needs a voltage, none where one thing lacks one."""
    converters = {each.reference for each in circuit.view(Converters).all if not each.charger}
    found: dict[str, None] = {}
    for workload in circuit.view(Workloads).on_cell():
        plant = circuit.view(Plants).in_state(workload.timeline.state)
        lit = frozenset[str]().union(*(meeting.lights for meeting, _ in workload.still))
        paths = [each.path for each in plant.consumers]
        for name in lit:
            for string in circuit.view(Strings).of_light(name):
                paths += [plant.paths.get(_source(plant, end), ()) for end in string.ways()[:1]]
        for path in paths:
            own = [reference for reference in path if reference in converters]
            if not own:
                return ()
            found.update(dict.fromkeys(own))
    return tuple(found)


def _source(plant: Plant, end: StringEnd) -> str:
    """Return the node from which the upper end of a light is fed."""
    consumer = plant.consumer(end.pin.reference) if end.pin is not None else None
    return consumer.node if consumer is not None else end.node
