"""A part gets more or less supply voltage than it is made for.

On the bench
------------
Too much: the part is damaged at once, or runs hot and fails later. Too little: the board stops, or
does odd things, while there is still charge in the cell.

What is judged
--------------
Each part on each rail that supplies it, over the whole life of the cell and in every state,
against its supply range. The rail is carried through switches, diodes and regulators, moment by
moment.

Above the maximum: hold at the usual voltage of the sources, query where only their highest exceeds
(a fresh lithium coin cell of 3.35 V, a USB port of 5.5 V) or where only a programmer does that
puts 5 V on the board; the part that stands least reports it, the others follow. Below the minimum
(that for the clock, where `supply_min` and `clock` are known; its brown-out level, where that is
higher): the share of charge that is left when it happens decides. Hold with half of it or more
left, with a fresh cell, or where it keeps the board from the run time wanted; query down to a
tenth; note below. Without a cell: hold where even the highest voltage is too low, query where only
the lowest is. A part behind a regulator that holds its output is quiet. Rails that nothing feeds
are left to `rail-unfed`, back-up supplies are not compared.

Voltages are those without load, save for the drop of diodes and regulators, taken at up to 10 mA.
What a pulse takes off is the question of `cell-sag`, of `boost-starved` for boosters, and of
`regulator-headroom` behind a regulator: where they speak, this follows from there. Whether the
run time wanted is reached is simulated; where a fact for that is missing, the charge alone
decides.

Left undetermined
-----------------
The supply range of the part, the cell, the voltage of a source, or the drop-out voltage of a
regulator where it matters is not known; a connector may feed the rail and nobody says what; or the
pin is the input of a regulator inside the part (VBUS, REGIN), which has a range of its own.

Cure
----
Another cell, a regulator, or a type of the part with a wider range.

Wrong::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND = supply 2.9 to 5.5 V

Right::

    BT1 CR2032 VBAT GND
    U1 mcu VCC+ VBAT GND- GND = supply 1.8 to 5.5 V

Wrong (a USB port on a part for 3.3 V)::

    J1 usb-connector 1:VBUS VBUS 2:GND GND
    U1 sensor VDD+ VBUS GND- GND = supply 1.7 to 3.6 V

Right (behind a regulator)::

    J1 usb-connector 1:VBUS VBUS 2:GND GND
    U2 regulator VIN+ VBUS VOUT> VCC GND- GND = output 3.3 V = supply 2 to 6 V
    U1 sensor VDD+ VCC GND- GND = supply 1.7 to 3.6 V

Sources
-------
Highest voltages of fresh cells and of USB: the rule book of this project. Shares of charge: the
open-circuit curve of the cell, see the numbers of the finding. 5 V from a programmer: common
practice.
"""

from __future__ import annotations

from typing import NamedTuple, cast

from boardvet.circuit.cells import MOMENTS, Cells
from boardvet.circuit.converters import Regulator
from boardvet.circuit.discharge import costs_run_time
from boardvet.circuit.feeding import HEADER_VOLTAGE, Fed, Feeding
from boardvet.circuit.handle import Circuit
from boardvet.circuit.names import rail_voltage
from boardvet.circuit.rails import SuppliedPart, node_label
from boardvet.circuit.states import State
from boardvet.circuit.unfed import Unfed, UnfedRails, Why
from boardvet.circuit.windows import (
    WORST_DROPOUT,
    HeaderReach,
    first_below,
    has_own_range,
    least_supply,
    with_dropout,
    without_dropout,
)
from boardvet.errors import MissingFact, SolverError
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.review.rule import rule
from boardvet.review.verdict import Clear, Found, Level, Number, Subject
from boardvet.vocabulary.roles import Role

HALF, TENTH = 0.5, 0.1
NARROW = 0.05
"""So near the limit, what a cell usually shows decides."""

OUTPUTS = (1.2, 1.5, 1.8, 2.5, 2.8, 3.0, 3.3, 5.0)
"""Outputs of fixed regulators that many makers sell: common practice. [V]"""
HEADROOM = 0.3
"""What a regulator needs between input and output (common practice, no source). [V]"""


class Limit(NamedTuple):
    """The voltage below which a part does not work, the clock it holds at, and what it does."""

    volts: Known[float]
    clock: Known[float] | None
    verb: str


class Standing(NamedTuple):
    """How the rail is fed in one state."""

    state: State
    fed: Fed


@rule(level=Level.HOLD)
def check(
    part: SuppliedPart,
    circuit: Circuit,
    feeding: Feeding,
    unfed_rails: UnfedRails,
    headers: HeaderReach,
) -> Found | Clear:
    """Judge one part on one rail."""
    unfed = unfed_rails.at.get(part.node)
    if unfed is not None:
        return _unfed(circuit, unfed)
    standings = [Standing(state, fed) for state, fed in feeding.states_of(part.node)]
    back_up = all(pin.role is Role.BACKUP_SUPPLY for pin in part.pins)
    if back_up or all(s.fed.path[-1:] == (part.reference,) for s in standings):
        return Clear()
    supply = cast("Known[Span]", circuit.need(part.reference, "supply"))
    if has_own_range(circuit, part) and _is_over(standings, supply):
        raise _range_of_pins(part)
    known = [standing for standing in standings if standing.fed.missing is None]
    found = _above(part, supply, known) or _below(circuit, part, known)
    found = found or _by_header(circuit, feeding, headers, part, supply)
    if found is not None:
        return found
    for standing in standings:
        standing.fed.need()
        _need_dropout(circuit, feeding, part, standing)
    return Clear(_in_range(part, supply, known))


def _unfed(circuit: Circuit, unfed: Unfed) -> Clear:
    """Leave rails that nothing feeds to `rail-unfed`; ask what a connector may bring in."""
    if unfed.missing is not None:
        raise unfed.missing.with_traceback(None)
    if unfed.why is Why.ASKED:
        net = node_label(circuit, unfed.given)
        volts = show(rail_voltage(net) or 5.0, "V")
        raise MissingFact(
            unfed.givers[0],
            "sources",
            f"what {unfed.givers[0]} feeds into {net} is not known",
            f"sources: {{{unfed.givers[0]}: {{net: {net}, voltage: {volts}}}}}",
        )
    return Clear()


def _is_over(standings: list[Standing], supply: Known[Span]) -> bool:
    return any(standing.fed.highest > supply.value.high for standing in standings)


def _range_of_pins(part: SuppliedPart) -> MissingFact:
    pins = ", ".join(pin.label.removeprefix(f"{part.reference} ") for pin in part.pins)
    roles = ", ".join(f"{pin.pin.number}: input" for pin in part.pins)
    return MissingFact(
        part.reference,
        "pins",
        f"what {part.reference} stands at {pins} is not known: its supply range is that of others",
        f"parts: {{{part.reference}: {{pins: {{{roles}}}}}}}   # if it stands {part.rail}",
    )


def _in_range(
    part: SuppliedPart, supply: Known[Span], known: list[Standing]
) -> tuple[Number, ...]:
    lowest = min(min(standing.fed.low) for standing in known)
    highest = max(standing.fed.highest for standing in known)
    return (
        Number(
            f"lowest voltage of {part.rail}", lowest, "V", "computed: over the life of the cell"
        ),
        Number(f"highest voltage of {part.rail}", highest, "V", "computed: with fresh sources"),
        Number(f"lowest supply of {part.reference}", supply.value.low, "V", supply.source),
        Number(f"highest supply of {part.reference}", supply.value.high, "V", supply.source),
    )


def _above(part: SuppliedPart, supply: Known[Span], known: list[Standing]) -> Found | None:
    """Judge the high side, sources at their usual voltage and at their highest."""
    limit = supply.value.high
    over = [standing for standing in known if standing.fed.highest > limit]
    if not over:
        return None
    worst = max(over, key=lambda standing: (max(standing.fed.high), standing.fed.highest))
    usual = max(worst.fed.high)
    typical = usual > limit
    volts = usual if typical else worst.fed.highest
    sources = " and ".join(dict.fromkeys(worst.fed.sources))
    symptom = "is damaged, or runs hot and fails early" if typical else "may be damaged"
    regulator = _regulator(supply.value, min(worst.fed.low))
    return Found(
        bench=f"{part.reference} {symptom}.",
        sum=f"{part.rail} {'reaches' if typical else 'may reach'} {show(volts, 'V')} from "
        f"{sources}, and {part.reference} stands {show(limit, 'V')}.",
        fix=f"put {regulator} before {part.reference}, or fit a type that stands "
        f"{show(volts, 'V')}",
        numbers=(
            _deciding(part, worst.fed, usual, limit),
            Number(f"highest supply of {part.reference}", limit, "V", supply.source),
        ),
        level=Level.HOLD if typical else Level.QUERY,
        parts=tuple(dict.fromkeys(worst.fed.sources)),
        state=worst.state.name,
    )


def _regulator(supply: Span, lowest: float) -> str:
    """Name a regulator that can be bought for a supply range and keeps head-room to its input."""
    most = min(0.95 * supply.high, lowest - HEADROOM)
    fitting = [volts for volts in OUTPUTS if supply.low <= volts <= most]
    return f"a regulator of {show(fitting[-1], 'V')}" if fitting else "a regulator"


def _deciding(part: SuppliedPart, fed: Fed, usual: float, limit: float) -> Number:
    """Return the voltage on which the verdict rests.

    What a cell usually shows may be an assumption. Where it exceeds by far, the highest voltage,
    which its makers state, decides as well.
    """
    if limit < usual < limit * (1.0 + NARROW):
        return Number(f"voltage of {part.rail}", usual, "V", _because(fed))
    source = fed.because[-1] if fed.because else _because(fed)
    return Number(f"highest voltage of {part.rail}", fed.highest, "V", source)


def _because(fed: Fed) -> str:
    return fed.because[0] if fed.because else "computed: carried along the way"


def _by_header(
    circuit: Circuit,
    feeding: Feeding,
    headers: HeaderReach,
    part: SuppliedPart,
    supply: Known[Span],
) -> Found | None:
    """Judge what a programmer would do that feeds the board with 5 V."""
    for header, reached in feeding.from_header.items():
        fed = reached.get(part.node)
        if fed is None or fed.missing is not None or fed.high[0] <= supply.value.high:
            continue
        first = headers.first_harmed.get(header, part)
        mild = "3.3 V would do no harm" if supply.value.high >= 3.3 else "3.3 V would be too much"
        return Found(
            bench=f"{part.reference} is damaged by a programmer on {header} that feeds the board "
            f"with {show(HEADER_VOLTAGE, 'V')}.",
            sum=f"{part.rail} is then at {show(fed.high[0], 'V')}, and {part.reference} stands "
            f"{show(supply.value.high, 'V')}; {mild}.",
            fix=f"set the programmer to 3.3 V and write that beside {header}; if it only senses, "
            f"say so on the intent page: parts: {{{header}: {{powers_board: no}}}}",
            numbers=(
                Number("voltage of a programmer", HEADER_VOLTAGE, "V", "assumed: common practice"),
                Number(
                    f"highest supply of {part.reference}", supply.value.high, "V", supply.source
                ),
            ),
            level=Level.QUERY,
            parts=(header,),
            follows=("supply-window", first) if first != part else None,
        )
    return None


def _below(circuit: Circuit, part: SuppliedPart, known: list[Standing]) -> Found | None:
    """Judge the low side by the charge that is left, or without a cell by the lowest voltage."""
    least = _limit(circuit, part.reference)
    cells = {cell.reference for cell in circuit.view(Cells).all}
    worst: tuple[float, Standing] | None = None
    for standing in known:
        used = first_below(standing.fed.low, least.volts.value)
        if used is not None and (worst is None or used < worst[0]):
            worst = used, standing
    if worst is None:
        return None
    used, standing = worst
    if not cells & set(standing.fed.sources) or standing.fed.low[0] == standing.fed.low[-1]:
        return _always_low(part, least, standing)
    return _early_stop(circuit, part, least, standing, used)


def _always_low(part: SuppliedPart, least: Limit, standing: Standing) -> Found:
    fed = standing.fed
    surely = fed.high[0] < least.volts.value
    volts = fed.high[0] if surely else fed.low[0]
    return Found(
        bench=f"{part.reference} {'does not start' if surely else 'may not start'}, or runs by "
        "luck.",
        sum=f"{part.rail} {'is at most' if surely else 'may fall to'} {show(volts, 'V')}, and "
        f"{part.reference} {_needs(least)}.",
        fix=f"feed {part.reference} with {show(least.volts.value, 'V')} or more, or fit a type "
        f"that runs on {show(volts, 'V')}",
        numbers=(
            Number(f"voltage of {part.rail}", volts, "V", _because(fed)),
            Number(
                f"lowest supply of {part.reference}", least.volts.value, "V", least.volts.source
            ),
        ),
        level=Level.HOLD if surely else Level.QUERY,
        parts=tuple(dict.fromkeys(fed.sources)),
        state=standing.state.name,
    )


def _limit(circuit: Circuit, reference: str) -> Limit:
    """Return the higher of the least supply of a part and its brown-out level."""
    least = least_supply(circuit, reference)
    brown_out = cast("Known[float] | None", circuit.known(reference, "brown_out"))
    if brown_out is not None and brown_out.value > least.volts.value:
        return Limit(brown_out, None, "resets below")
    return Limit(least.volts, least.clock, "needs")


def _needs(least: Limit) -> str:
    at = f" at {show(least.clock.value, 'Hz')}" if least.clock is not None else ""
    return f"{least.verb} {show(least.volts.value, 'V')}{at}"


def _early_stop(
    circuit: Circuit, part: SuppliedPart, least: Limit, standing: Standing, used: float
) -> Found:
    fed = standing.fed
    left = 1.0 - used
    fresh = used == 0.0
    early = _costs_run_time(circuit, used)
    level = Level.HOLD if left >= HALF or early else Level.QUERY if left >= TENTH else Level.NOTE
    late = " That is before the run time wanted." if early else ""
    bench = (
        f"{part.reference} does not start, or runs by luck, even with a fresh cell."
        if fresh
        else f"{part.reference} stops while {left:.0%} of the charge is still in the cell."
    )
    first = "run it at a slower clock, " if least.clock is not None else ""
    if least.verb != "needs":
        first = "set its brown-out level lower, "
    start, end = show(fed.low[0], "V"), show(fed.low[-1], "V")
    return Found(
        bench=bench,
        sum=f"{part.rail} is at {start} with a fresh cell and at {end} with an empty one, and "
        f"{part.reference} {_needs(least)}.{late}",
        fix=f"{first}fit a type that runs down to {end}, or a cell or regulator that keeps "
        f"{part.rail} above {show(least.volts.value, 'V')}",
        numbers=(
            Number("share of charge left", left, "", "computed: from the curve of the cell"),
            _deciding_low(part, fed, least),
            Number(
                f"lowest supply of {part.reference}", least.volts.value, "V", least.volts.source
            ),
        ),
        level=level,
        parts=tuple(dict.fromkeys(fed.sources)),
        state=standing.state.name,
        # The limit that is too high at rest is so for the pulses before: one finding.
        follows=_headroom(circuit, fed) or (None if fresh else _pulled(circuit, part)),
    )


def _pulled(circuit: Circuit, part: SuppliedPart) -> tuple[str, Subject]:
    """Return who says what pulses take off the rail of a part: for a booster another rule."""
    for regulator in Regulator.on(circuit):
        if regulator.reference == part.reference and regulator.conversion.steps_up:
            return "boost-starved", regulator
    return "cell-sag", part


def _headroom(circuit: Circuit, fed: Fed) -> tuple[str, Regulator] | None:
    """Return the last regulator before a part, whose head-room may be what it lacks."""
    for reference in reversed(fed.path):
        for regulator in Regulator.on(circuit):
            if regulator.reference == reference and not regulator.charger:
                return "regulator-headroom", regulator
    return None


def _costs_run_time(circuit: Circuit, used: float) -> bool:
    """Tell whether it stops before the run time wanted, as far as the discharge can be told."""
    try:
        return costs_run_time(circuit, used)
    except (MissingFact, SolverError):
        return False


def _deciding_low(part: SuppliedPart, fed: Fed, least: Limit) -> Number:
    """Return the highest voltage where even that is too low, else what a fresh cell shows."""
    if fed.highest < least.volts.value and fed.because:
        return Number(f"highest voltage of {part.rail}", fed.highest, "V", fed.because[-1])
    return Number(f"voltage of {part.rail}, fresh", fed.low[0], "V", _because(fed))


def _need_dropout(
    circuit: Circuit, feeding: Feeding, part: SuppliedPart, standing: Standing
) -> None:
    """Ask for the drop-out voltage of a regulator where one that can be bought decides."""
    regulator = without_dropout(circuit, standing.fed)
    if regulator is None:
        return
    reached = feeding.in_state[standing.state]
    before = next((reached[node] for node in regulator.inputs if node in reached), None)
    if before is None or before.missing is not None:
        return
    worst = with_dropout(standing.fed, before, WORST_DROPOUT)
    used = first_below(worst, least_supply(circuit, part.reference).volts.value)
    if used is not None and used <= MOMENTS[-1] - TENTH:
        raise circuit.facts.missing(regulator.reference, "dropout")
