"""An LED goes dim or dark before the cell is empty.

On the bench
------------
The light is fine with a fresh cell, then dim, then dark, while the rest of the board goes on; or
it never lights.

What is judged
--------------
Each LED that a cell feeds: the whole network is solved with the cell fresh, at each tenth of its
charge, empty, and finer where the light fades, at 25 °C and at the coldest temperature stated.
What is on with it is taken from the pattern, as the mean while it is lit; without a pattern, or
where no pattern lights it, the light is taken alone, which is the most that it gets. Too dim is
below a tenth of what it is meant to have (`wanted_current`), where that is stated, else of what it
has with a fresh cell at 25 °C.

Hold: it is so with a fresh cell, with half of the charge or more left, or before the run time
wanted is over, where the charge as a whole is enough for that. Query: down to a tenth of the
charge. Note: below. A light with less than `dark` when fresh counts as dark, unless that is what
it is meant to have.

Quiet: what dims only after the cell is at its end; what a booster, USB or another source that is
no cell feeds; LEDs at the output of a driver, which sets their current itself. Lights that a
neighbour behind the same resistor keeps dark follow led-shared-resistor.

Left undetermined
-----------------
The forward voltage or colour of the LED, the value of a resistor, the cell, or what else feeds
the LED is not known.

Cure
----
A smaller resistor, a light that drops less (another colour), or a booster; the finding computes
the values and has solved the board with resistor or light put in.

Settings
--------
dim : share of the wanted current, or else of the fresh one, below which a light is too dim.
    Default 10 %.
dark : current below which it counts as dark with a fresh cell. Default 20 µA.

Wrong::

    BT1 cell/LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 2}
    R1 33 VBAT N1
    D1 led/blue N1 GND = forward_voltage 3.0 V at 20 mA

Right::

    BT1 cell/LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 2}
    R1 150 VBAT N1
    D1 led/red N1 GND = forward_voltage 1.9 V at 20 mA

Right (a booster holds its rail)::

    BT1 cell/LR6 VBAT GND
    ~ cell: {part: BT1, type: LR6, series: 2}
    U1 regulator VIN+ VBAT VOUT> VLED GND- GND = output 5 V = conversion step-up
    R1 100 VLED N1
    D1 led/blue N1 GND = forward_voltage 3.0 V at 20 mA

Sources
-------
Kirchhoff's laws and the junction equation, solved over the discharge curve of the cell. Change of
the forward voltage with temperature, a tenth as too dim, 20 µA as dark (a thousandth of the 20 mA
at which light is usually stated): common practice, no source. Levels: the rule book of this
project.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.discharge import Discharge
from boardvet.circuit.handle import Circuit
from boardvet.circuit.headroom import SHARES, Changes, Crossing, Fade, Headroom
from boardvet.circuit.junctions import ROOM_TEMPERATURE, junction_of
from boardvet.circuit.light_corners import preferred_values
from boardvet.circuit.lighting import Lighting
from boardvet.circuit.shared_resistors import SharedResistors
from boardvet.circuit.strings import LedString
from boardvet.circuit.values import resistance
from boardvet.errors import MissingFact, SolverError
from boardvet.known import Known
from boardvet.physics.junction import forward_voltage
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number, Subject

HALF, TENTH = 0.5, 0.1
OUTPUTS = (3.0, 3.3, 3.6, 4.2, 5.0, 9.0, 12.0)
"""Outputs of boosters that many makers sell: common practice. [V]"""

DROP = 0.3
"""What is left for the resistor of a light behind a booster, at least: common practice. [V]"""

LEAST_MEANT = 1e-3
"""A light that gets less is taken as meant to have this, where a cure is looked for. [A]"""

NITRIDE = 2.6
"""From here on LEDs are blue, white and true green ones; others drop less. [V]"""

GRID = 0.05
"""In steps of this a forward voltage is looked for. [V]"""

RED = 2.0
"""Common red ones drop this much at 20 mA: data sheets, from memory. [V]"""

MOST_LIGHT = 15.0
"""No LED of one junction drops more at the current that it is made for: it is meant to have a
current that no other of its size stands either (common practice, no source). [V]"""
LEAST_LIGHT = 1.7
"""No visible LED drops less at milliamperes: data sheets of red ones, from memory. [V]"""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """When a light is too dim, and when it is dark."""

    dim: Annotated[float, ""] = 0.1
    dark: Annotated[float, "A"] = 20e-6


class Dimming(NamedTuple):
    """A light with the current that is too little, and when it falls below it.

    Parameters
    ----------
    fade : Fade
        How it fades.
    wanted : Known of float or None
        What it is meant to have. [A]
    limit : float
        Below it is too dim. [A]
    crossing : Crossing
        When that is.
    cold : bool
        True where it is so early only at the coldest temperature.
    """

    fade: Fade
    wanted: Known[float] | None
    limit: float
    crossing: Crossing
    cold: bool


class Due(NamedTuple):
    """When a light is too dim: after how long [s] and the time wanted; or the fact to tell it."""

    after: float | None
    wanted: float | None
    missing: str

    @property
    def early(self) -> bool:
        """True where it surely is before the run time wanted is over."""
        return self.after is not None and self.wanted is not None and self.after < self.wanted


@rule(level=Level.QUERY)
def check(
    light: LedString, circuit: Circuit, headroom: Headroom, settings: Settings
) -> Found | Clear:
    """Judge one light by the charge that is left when it becomes too dim."""
    fades = headroom.fades(light)
    if not fades:
        return Clear()
    wanted = cast("Known[float] | None", circuit.known(light.light.reference, "wanted_current"))
    found = [
        dimming
        for fade in fades
        if (dimming := _dimming(headroom, fade, wanted, settings)) is not None
    ]
    if not found:
        return Clear(_currents(fades[0]))
    worst = min(found, key=lambda dimming: dimming.crossing.used)
    if 0.0 < _end(circuit) <= worst.crossing.used:
        return Clear(_currents(fades[0]))
    return _found(circuit, headroom, light, worst, settings)


def _end(circuit: Circuit) -> float:
    """Return the share of charge used at which the cells are at their end under load."""
    try:
        stops = circuit.view(Discharge).stops
    except (MissingFact, SolverError):
        return 1.0
    return min(stop.used for stop in stops if stop.floor is None)


def _dimming(
    headroom: Headroom, fade: Fade, wanted: Known[float] | None, settings: Settings
) -> Dimming | None:
    fresh = fade.room[0]
    limit = settings.dim * (wanted.value if wanted is not None else fresh)
    if wanted is None:
        limit = max(limit, settings.dark)
    room = headroom.crossing(fade, limit, cold=False)
    if fade.coldest == ROOM_TEMPERATURE:
        return Dimming(fade, wanted, limit, room, cold=False) if room is not None else None
    cold = headroom.crossing(fade, limit, cold=True)
    if cold is None:
        return None
    only = room is None or _level(room) is not _level(cold)
    return Dimming(fade, wanted, limit, cold, cold=only)


def _level(crossing: Crossing) -> Level:
    """Return the level by the charge that is left."""
    left = 1.0 - crossing.used
    return Level.HOLD if left >= HALF else Level.QUERY if left >= TENTH else Level.NOTE


def _found(
    circuit: Circuit, headroom: Headroom, light: LedString, dimming: Dimming, settings: Settings
) -> Found:
    level = _level(dimming.crossing)
    due = _due(circuit, dimming.crossing) if level is not Level.HOLD else Due(None, None, "")
    return Found(
        bench=_bench(dimming, due),
        sum=_sum(dimming, settings),
        fix=_fix(circuit, headroom, light, dimming, settings),
        why=_why(circuit, light, dimming, due),
        numbers=_numbers(circuit, light, dimming),
        level=Level.HOLD if due.early else level,
        parts=tuple(cell.reference for cell in dimming.fade.cells),
        state=dimming.fade.state.name,
        follows=_cause(circuit, headroom, light, dimming),
    )


def _due(circuit: Circuit, crossing: Crossing) -> Due:
    """Return after how long a light is too dim, beside the run time wanted."""
    from boardvet.physics.discharge import time_until

    wanted = circuit.intent.run_time
    if wanted is None:
        return Due(None, None, "")
    try:
        discharge = circuit.view(Discharge)
    except MissingFact as missing:
        return Due(None, wanted.value, missing.missing)
    after, last = (
        float(time_until(discharge.used, discharge.times, share)) for share in (crossing.used, 1.0)
    )
    # Where the charge as a whole is not enough, that is the matter of `run-time`.
    return Due(after if last >= wanted.value else None, wanted.value, "")


def _cause(
    circuit: Circuit, headroom: Headroom, light: LedString, dimming: Dimming
) -> tuple[str, Subject] | None:
    """Return the finding that this one is a consequence of, if there is one."""
    short = headroom.shorted(dimming.fade)
    if short is not None:
        return ("rail-shorted", short)
    if dimming.crossing.used == 0.0:
        groups = circuit.view(SharedResistors).all
        shared = next((group for group in groups if light in group.lights), None)
        return ("led-shared-resistor", shared) if shared is not None else None
    return None


def _bench(dimming: Dimming, due: Due) -> str:
    left = 1.0 - dimming.crossing.used
    cold = f" at {show(dimming.fade.coldest, 'degC')}" if dimming.cold else ""
    if dimming.crossing.used == 0.0:
        return f"{THIS} is dark or very dim even with a fresh cell{cold}."
    if due.early and due.after is not None and due.wanted is not None:
        after, wanted = show(due.after, "s", 2), show(due.wanted, "s", 2)
        return f"{THIS} is dark or very dim after {after} of the {wanted} wanted{cold}."
    return f"{THIS} is dark or very dim while {left:.0%} of the charge is still in the cell{cold}."


def _sum(dimming: Dimming, settings: Settings) -> str:
    fade, crossing, limit = dimming.fade, dimming.crossing, show(dimming.limit, "A", 2)
    share = f"{settings.dim * 100:g} %"
    if dimming.wanted is not None:
        share = f"{share} of the {show(dimming.wanted.value, 'A')} it is meant to have"
    elif dimming.limit > settings.dim * fade.room[0]:
        share = "the least that counts as light"
    else:
        share = f"{share} of that"
    text = f"It gets {_three(fade.room)}"
    if fade.coldest < ROOM_TEMPERATURE:
        text += f"; at {show(fade.coldest, 'degC')} {_three(fade.cold)}"
    if crossing.used == 0.0:
        return f"{text}: from the start less than {limit}, {share}."
    names = " and ".join(cell.reference for cell in fade.cells)
    volts = show(crossing.volts, "V")
    return f"{text}: less than {limit}, {share}, from {volts} of {names} on."


def _three(currents: tuple[float, ...]) -> str:
    fresh, half, end = (show(currents[n], "A", 2) for n in (0, len(SHARES) // 2, -1))
    return f"{fresh} with a fresh cell, {half} at half of the charge, {end} at the end"


def _why(circuit: Circuit, light: LedString, dimming: Dimming, due: Due) -> str:
    fade, meant = dimming.fade, show(_meant(dimming), "A", 2)
    text = (
        f"It drops {show(_drop(circuit, light, dimming), 'V')} at {meant}, and the cell gives "
        f"{show(fade.volts[0], 'V')} when fresh and {show(fade.volts[-1], 'V')} when empty."
    )
    if fade.alone:
        text += " It was solved with no other light on, the most that it can get."
    if due.missing:
        text += f" Whether that is before the run time wanted is not known: {due.missing}."
    return text


def _drop(circuit: Circuit, light: LedString, dimming: Dimming) -> float:
    """Return what the light drops at the current meant for it, in volts."""
    return forward_voltage(junction_of(circuit, light.light).junction, _meant(dimming))


def _meant(dimming: Dimming) -> float:
    """Return the current that a light is meant to have, at least one that can be seen, in A."""
    meant = dimming.wanted.value if dimming.wanted is not None else dimming.fade.room[0]
    return max(meant, LEAST_MEANT)


def _numbers(circuit: Circuit, light: LedString, dimming: Dimming) -> tuple[Number, ...]:
    fade, crossing, part = dimming.fade, dimming.crossing, junction_of(circuit, light.light)
    numbers = [
        *_currents(fade),
        Number("too dim below", dimming.limit, "A", _limit_source(dimming)),
        Number("share of charge left", 1.0 - crossing.used, "", "computed: the network, solved"),
        _cell_voltage(circuit, light, dimming),
        Number("forward voltage", _drop(circuit, light, dimming), "V", part.source),
    ]
    if dimming.cold:
        numbers.append(
            Number("temperature", fade.coldest, "degC", "assumed: how it changes what LEDs drop")
        )
    return tuple(_rounded(number) for number in numbers)


def _cell_voltage(circuit: Circuit, light: LedString, dimming: Dimming) -> Number:
    """Return the voltage that decides: the highest where the light is dark even then.

    The highest of a fresh cell is what its makers state, and its curve may be an assumption.
    """
    cells, crossing = dimming.fade.cells, dimming.crossing
    if crossing.used == 0.0 and len(cells) == 1:
        lit = [each for each in circuit.view(Lighting).each(light) if each.on_cell]
        if lit and max(each.highest for each in lit) < dimming.limit:
            highest = cells[0].highest()
            return Number("cell voltage at the highest", highest.value, "V", highest.source)
    return Number("cell voltage then", crossing.volts, "V", cells[0].curve_source)


def _rounded(number: Number) -> Number:
    """Return a number to six figures, so that lights that are alike show the same."""
    return number._replace(value=float(f"{number.value:.6g}"))


def _limit_source(dimming: Dimming) -> str:
    wanted = dimming.wanted
    return "computed: share of what it is meant to have" if wanted else "computed: same, fresh"


def _currents(fade: Fade) -> tuple[Number, ...]:
    solved = "computed: the network, solved"
    return (
        Number("LED current, fresh cell", fade.room[0], "A", solved),
        Number("LED current, half of the charge", fade.room[len(SHARES) // 2], "A", solved),
        Number("LED current, empty cell", fade.room[-1], "A", solved),
        *(
            (Number("LED current, empty and coldest", fade.cold[-1], "A", solved),)
            if fade.coldest < ROOM_TEMPERATURE
            else ()
        ),
    )


def _fix(
    circuit: Circuit, headroom: Headroom, light: LedString, dimming: Dimming, settings: Settings
) -> str:
    """Return the change: a smaller resistor where that is enough, else another light or rail."""
    smaller = _smaller(circuit, headroom, light, dimming)
    if smaller:
        return smaller
    booster = f"feed it from a booster of {show(_output(circuit, light, dimming), 'V')}"
    drop = _lower(circuit, headroom, light, dimming, settings)
    if drop is None:
        return booster
    colour = " (common red ones do)" if RED <= drop < NITRIDE else ""
    meant = show(_meant(dimming), "A", 2)
    return f"fit a light that drops at most {show(drop, 'V')} at {meant}{colour}, or {booster}"


def _smaller(circuit: Circuit, headroom: Headroom, light: LedString, dimming: Dimming) -> str:
    """Return the largest resistor with which the light lasts, where its rating allows it."""
    import numpy as np

    solved = dimming.fade.string.limiters  # of the light that stands for all that are alike
    largest = max(solved, key=lambda each: _ohms(circuit, each), default=None)
    fitted = _ohms(circuit, largest) if largest is not None else 0.0
    rated = cast("Known[float] | None", circuit.known(light.light.reference, "current_max"))
    if largest is None or fitted <= 1.0 or rated is None or dimming.wanted is None:
        return ""
    values = [v for v in preferred_values(max(fitted / 20, 1.0), fitted) if v < fitted]
    if not values:
        return ""
    factor = np.array(values) / fitted
    fresh, end = _both_ends(headroom, dimming, Changes("", largest, 0.0 * factor, factor))
    for ohms, first, last in sorted(zip(values, fresh, end, strict=True), reverse=True):
        if last >= dimming.limit and first <= rated.value:
            value, before = show(ohms, "ohm"), show(fitted, "ohm")
            return (
                f"make {_named(light, solved.index(largest))} {value} in place of {before}: then "
                f"{show(first, 'A', 2)} flow with a fresh cell and {show(last, 'A', 2)} at the end"
            )
    return ""


def _named(light: LedString, place: int) -> str:
    """Return how a resistor is called; lights that are alike with one each then read the same."""
    return "its resistor" if len(light.limiters) == 1 else light.limiters[place]


def _lower(
    circuit: Circuit, headroom: Headroom, light: LedString, dimming: Dimming, settings: Settings
) -> float | None:
    """Return the highest drop with which the light lasts, None if no LED drops so little. [V]."""
    import numpy as np

    drop = _drop(circuit, light, dimming)
    if drop > MOST_LIGHT:
        return None
    most = min(drop, max(dimming.fade.volts))
    lowers = np.arange(np.floor(most / GRID) * GRID, LEAST_LIGHT - 1e-9, -GRID)
    if not len(lowers):
        return None
    changes = Changes(
        dimming.fade.string.light.reference, "", lowers - drop, np.ones(lowers.shape)
    )
    try:
        fresh, end = _both_ends(headroom, dimming, changes)
    except SolverError:
        return None  # such as for a small LED that is meant to have amperes
    for lower, first, last in zip(lowers, fresh, end, strict=True):
        least = max(settings.dim * first, settings.dark)
        if last >= (dimming.limit if dimming.wanted is not None else least):
            return float(lower)
    return None


def _both_ends(
    headroom: Headroom, dimming: Dimming, changes: Changes
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the current with a fresh cell at 25 °C, and with an empty one at the coldest."""
    fade, rows = dimming.fade, len(changes.shift)
    fresh = headroom.currents(fade, (0.0,) * rows, None, changes)
    return fresh, headroom.currents(fade, (1.0,) * rows, fade.coldest, changes)


def _ohms(circuit: Circuit, reference: str) -> float:
    known = resistance(circuit, reference)
    return known.value if known is not None else 0.0


def _output(circuit: Circuit, light: LedString, dimming: Dimming) -> float:
    """Return the output of a booster that lights the light as it is meant to be, in volts."""
    needed = _drop(circuit, light, dimming) + DROP
    highest = max(dimming.fade.volts[0], needed)
    return next((volts for volts in OUTPUTS if volts >= highest), highest)
