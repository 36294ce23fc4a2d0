"""What forbids cells on a board: too high a voltage, a charger, too much current."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple, cast

from boardvet.circuit.backpaths import BackPaths
from boardvet.circuit.cells import Cell, Cells
from boardvet.circuit.converters import Converters, Regulator
from boardvet.circuit.feeding import Feeding
from boardvet.circuit.glow import lit_in
from boardvet.circuit.handle import Circuit
from boardvet.circuit.led_ratings import led_rating
from boardvet.circuit.operating import Operating
from boardvet.circuit.pattern import Pattern
from boardvet.circuit.rails import SuppliedPart
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.windows import has_own_range
from boardvet.circuit.workload import Workloads
from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.quantity.statement import Span
from boardvet.vocabulary.kinds import Kind

__all__ = [
    "Forbidden",
    "Overload",
    "charged",
    "overloaded",
    "overloads",
    "too_high",
    "unrated",
]

_ROUNDING = 1e-6
_HARDER = 1.05
"""Up to here two currents are the same to a bench."""

_CHARGE_TOLERANCE = 0.015
"""What charge voltages of one chemistry differ by: 4.2 V ±1.5 %, as chargers are sold."""


class Forbidden(NamedTuple):
    """Why cells may not stand on a board: a part and its limit, and what the cells make of it."""

    limit: str
    excess: str


class Overload(NamedTuple):
    """What a light or a pin stands, and what it carries with fresh cells. [A]."""

    allowed: float
    current: float


def too_high(circuit: Circuit) -> Forbidden | None:
    """Return the part that fresh cells harm most by their voltage, if they harm any."""
    worst: tuple[float, Forbidden] | None = None
    for part, volts in _fresh(circuit):
        supply = cast("Known[Span] | None", circuit.known(part.reference, "supply"))
        if supply is None or volts <= supply.value.high * (1.0 + _ROUNDING):
            continue
        ratio = volts / supply.value.high
        if worst is None or ratio > worst[0]:
            limit = f"too high: {part.reference} stands {show(supply.value.high, 'V')}"
            worst = ratio, Forbidden(limit, f"fresh up to {show(volts, 'V')}")
    return worst[1] if worst is not None else None


def unrated(circuit: Circuit) -> tuple[str, ...]:
    """Return the parts that cells feed and of which nobody knows the highest supply."""
    return tuple(
        dict.fromkeys(
            part.reference
            for part, _ in _fresh(circuit)
            if circuit.known(part.reference, "supply") is None
        )
    )


def _fresh(circuit: Circuit) -> Iterator[tuple[SuppliedPart, float]]:
    """Yield the parts that cells feed, with the highest voltage that fresh ones put on them."""
    feeding = circuit.view(Feeding)
    cells = {cell.reference for cell in circuit.view(Cells).all}
    for part in SuppliedPart.on(circuit):
        if part.part_kind is Kind.CHARGER or has_own_range(circuit, part):
            continue
        volts = [
            fed.highest
            for _, fed in feeding.states_of(part.node)
            if set(fed.sources) <= cells and fed.path[-1:] != (part.reference,) and not fed.missing
        ]
        if volts:
            yield part, max(volts)


def charged(circuit: Circuit) -> Forbidden | None:
    """Return the charger that would charge cells that are not made for it, if there is one."""
    paths = circuit.view(BackPaths)
    for charger in circuit.view(Converters).chargers():
        for cell in circuit.view(Cells).all:
            if paths.from_charger(charger, cell) is not None:
                forbidden = _by_charger(charger, cell)
                if forbidden is not None:
                    return forbidden
    return None


def _by_charger(charger: Regulator, cell: Cell) -> Forbidden | None:
    chemistry, output = cell.need_chemistry(), charger.conversion.output
    if not chemistry.rechargeable:
        return Forbidden(f"{charger.reference} would charge it, which it does not stand", "")
    if output is None:
        return None
    volts = output.value.high / cell.series
    most = chemistry.charge_voltage
    if most is not None and volts <= most.value.high * (1.0 + _CHARGE_TOLERANCE):
        low = most.value.low * (1.0 - _CHARGE_TOLERANCE)
        return None if volts >= low else Forbidden(f"{charger.reference} never fills it", "")
    made = f"{charger.reference} would charge it to {show(output.value.high, 'V')}"
    if most is None:
        return Forbidden(f"{made} and is not made for it", "")
    return Forbidden(f"{made}, which is too much", f"made for {show(most.value.high, 'V')} a cell")


def overloads(circuit: Circuit) -> dict[str, Overload]:
    """Return the lights and pins that fresh cells drive harder than they stand, by name.

    Typical parts at 25 °C; a short pulse counts where it is too much whatever the peak rating of
    the light may be. Raises as the view `Workloads`.
    """
    found: dict[str, Overload] = {}
    for workload in circuit.view(Workloads).on_cell():
        for meeting, operating in workload.still:
            for name, load in (*_lights(circuit, meeting, operating), *_pins(circuit, operating)):
                if name not in found or load.current > found[name].current:
                    found[name] = load
    return found


def overloaded(circuit: Circuit, already: Mapping[str, Overload]) -> Forbidden | None:
    """Return the light or pin that cells drive too hard, and harder than those that are fitted.

    Parameters
    ----------
    circuit : Circuit
        The board with the cells.
    already : mapping of str to Overload
        What the fitted cells do: a fault of the board, whatever cell it has.
    """
    for name, load in overloads(circuit).items():
        before = already.get(name)
        if before is None or load.current > _HARDER * before.current:
            return Forbidden(
                f"too much current: {name} stands {show(load.allowed, 'A')}",
                f"{show(load.current, 'A', 2)} fresh",
            )
    return None


def _lights(
    circuit: Circuit, meeting: Meeting, operating: Operating
) -> Iterator[tuple[str, Overload]]:
    pattern = circuit.view(Pattern)
    for element in lit_in(circuit, meeting) & operating.junctions.keys():
        reference, fresh = element.reference, float(operating.junctions[element][0])
        for lit in pattern.lit(reference):
            try:
                rating = led_rating(circuit, reference, lit)
            except MissingFact:
                break
            if rating.surely_exceeded(fresh):
                yield reference, Overload(rating.allowed.value, fresh)


def _pins(circuit: Circuit, operating: Operating) -> Iterator[tuple[str, Overload]]:
    for drive, through in operating.drives.items():
        most = cast("Known[float] | None", circuit.known(drive.reference, "pin_current_max"))
        fresh = abs(float(through[0]))
        if most is not None and fresh > most.value:
            yield f"a pin of {drive.reference}", Overload(most.value, fresh)
