"""View: discharge, how long the board runs on its cells, what ends it, and who takes the charge.

At each share of charge used everything that can be on together is solved; the mean over the
pattern says how fast the charge goes, the lowest voltage says when the board stops. Charge is
counted in one number for all cells: cells in a row give the same current, banks side by side are
taken to be used up alike.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, Self

from boardvet.circuit.floors import Floor
from boardvet.circuit.handle import Circuit
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.timeline import Timeline
from boardvet.known import Known

if TYPE_CHECKING:
    from boardvet.circuit.drain import Draw, Lowest
    from boardvet.physics.elements import Floats

__all__ = ["Consumption", "Discharge", "ModeCurrent", "Stop", "costs_run_time"]


class Consumption(NamedTuple):
    """What one consumer takes: the part, as what, mean over the life [A], share of it all."""

    part: str
    what: str
    current: float
    share: float


class ModeCurrent(NamedTuple):
    """The mean current of one mode of use, over the life [A], and its share of the time."""

    name: str
    share: float
    current: float


class Stop(NamedTuple):
    """What ends the run.

    Parameters
    ----------
    used : float
        Share of the charge that is used then; 0 where it does not even start.
    voltage : float
        The limit that is passed, under load. [V]
    reason : str
        In words, such as "U1 resets below 1.8 V on VBAT".
    source : str
        Where the limit was read.
    floor : Floor or None
        The part that stops; None where the cell is empty.
    timeline : Timeline or None
        The mode in which it happens.
    meeting : Meeting or None
        What is on then.
    at_rest : float
        The share at which it would stop if the voltage were always that of its easiest step.
    """

    used: float
    voltage: float
    reason: str
    source: str
    floor: Floor | None
    timeline: Timeline | None
    meeting: Meeting | None
    at_rest: float


@dataclass(frozen=True)
class Discharge:
    """The life of the cells on this board, with typical parts.

    Parameters
    ----------
    capacity : Known of float
        Charge of all cells, fresh. [C]
    used : array, shape (U,)
        Shares of the charge used at which it was solved.
    drawn : array, shape (U,)
        Mean current that the board takes at each of them. [A]
    current : array, shape (U,)
        The same with self-discharge, and with what the cell loses at its rate. [A]
    times : array, shape (U,)
        When each is reached; infinite where nothing is drawn. [s]
    stop : Stop
        What ends the run.
    stops : tuple of Stop
        Everything that would end it sooner or later, the first first.
    consumers : tuple of Consumption
        Biggest first.
    draws : mapping of Draw to array, shape (U,)
        What each consumer takes at each share, self-discharge left out. [A]
    modes : tuple of ModeCurrent
        By mode of use.
    lowest : tuple of Lowest
        How low each part and cell is pulled, by timeline.
    unknown : tuple of str
        Parts that are not counted, since nobody knows what they draw at rest.
    unjudged : tuple of str
        Parts of which nobody knows the least supply, so that they may stop it sooner.
    coldest : float
        Temperature at which dips were taken. [°C]
    """

    capacity: Known[float]
    used: Floats = field(repr=False)
    drawn: Floats = field(repr=False)
    current: Floats = field(repr=False)
    times: Floats = field(repr=False)
    stop: Stop
    stops: tuple[Stop, ...]
    consumers: tuple[Consumption, ...]
    draws: dict[Draw, Floats] = field(repr=False)
    modes: tuple[ModeCurrent, ...]
    lowest: tuple[Lowest, ...] = field(repr=False)
    unknown: tuple[str, ...]
    unjudged: tuple[str, ...]
    coldest: float

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Simulate the discharge.

        Raises
        ------
        MissingFact
            Where there is no cell, or a fact that the current rests on is missing.
        SolverError
            If a network has no solution that could be found.
        """
        from boardvet.circuit.life import life_of

        return cls(**life_of(circuit))

    @property
    def run_time(self) -> float:
        """How long it runs, in seconds; infinite where nothing is drawn."""
        from boardvet.physics.discharge import time_until

        return float(time_until(self.used, self.times, self.stop.used))

    @property
    def mean_current(self) -> float:
        """Mean current that the charge goes at, what the cell loses included, in amperes."""
        from boardvet.physics.discharge import mean_until

        return float(mean_until(self.used, self.current, self.current, self.stop.used))

    @property
    def stranded(self) -> float:
        """Charge that is left when it stops, in coulombs."""
        return self.capacity.value * (1.0 - self.stop.used)

    def need_known(self, circuit: Circuit) -> None:
        """End the subject where a part's current at rest is not known.

        Raises
        ------
        MissingFact
            With the first such part.
        """
        if self.unknown:
            raise circuit.facts.missing(self.unknown[0], "sleep_current")

    def life_if(self, current: Floats, stop: float) -> float:
        """Return how long it would run at other mean currents, to another share used, in seconds.

        Parameters
        ----------
        current : array, shape (U,)
            Mean current at each share of `used`. [A]
        stop : float
            Share of the charge used at the end.
        """
        from boardvet.physics.discharge import elapsed, time_until

        times = elapsed(self.used, current, self.capacity.value)
        return float(time_until(self.used, times, stop))


def costs_run_time(circuit: Circuit, used: float) -> bool:
    """Tell whether stopping at a share of charge used keeps the board from its run time.

    Only where the charge as a whole would be enough: else `run-time` has the cause.

    Parameters
    ----------
    circuit : Circuit
        The board.
    used : float
        Share of the charge that is used when it stops; at 0 it does not start, and the charge
        tells nothing.

    Raises
    ------
    MissingFact
        Where a run time is wanted, and the discharge rests on a fact that is missing.
    """
    wanted = circuit.intent.run_time
    if wanted is None or used <= 0.0:
        return False
    from boardvet.physics.discharge import time_until

    life = circuit.view(Discharge)
    stops, lasts = (float(time_until(life.used, life.times, share)) for share in (used, 1.0))
    return stops < wanted.value <= lasts
