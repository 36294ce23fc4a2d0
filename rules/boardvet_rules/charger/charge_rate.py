"""A charger is set to more current than its cell stands, or to less than it can hold.

On the bench
------------
Too much: the cell gets warm while it charges, swells, and after some tens of charges holds much
less; in the worst case it burns. Too little: charging takes days, stops at once, or never starts.

What is judged
--------------
The current that a charger is set to, gain of the part over the resistance at its set pin, against
the cells that its output reaches. Where switches, transistors or a controller's pins change the
resistance, the lowest that they can make counts for too much, the highest for too little. Above
the most that the cell may be charged with, 1 C where nothing states it: hold. Above what its maker
charges it with as a rule, 0.5 C where nothing states it: query. Below the least that the charger
can be set to, or not above the current at which it ends charging: note. 1 C is the current that
carries the capacity in one hour. A part that no resistor sets is judged by its stated
`charge_current`; its `current_max` is a rating and stands in only where the set pin lies on
ground. A primary cell is the business of another rule.

Left undetermined
-----------------
The gain of the charger, a resistance, the charge current of a part without a set pin, the cell,
or its capacity is not known; so is the most charge current of a rechargeable coin cell of the
lithium manganese or vanadium kind, for which 1 C is far too much.

Cure
----
Fit the set resistor that the finding computes, or a cell of more capacity.

Settings
--------
most : multiple of the capacity per hour that a cell may be charged with where nothing states it.
 Default 1.
gentle : multiple above which somebody has to answer where nothing states it. Default 0.5.

Wrong::

    BT1 cell/LiPo + BAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 100 mAh}
    U1 MCP73831T-2ACI/OT @SOT-23-5 1:STAT . 2:VSS GND 3:VBAT BAT 4:VDD VBUS 5:PROG SET
    R1 2k SET GND

Wrong (less than the part can be set to)::

    BT1 cell/LiPo + BAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 100 mAh}
    U1 MCP73831T-2ACI/OT @SOT-23-5 1:STAT . 2:VSS GND 3:VBAT BAT 4:VDD VBUS 5:PROG SET
    R1 100k SET GND

Right::

    BT1 cell/LiPo + BAT - GND
    ~ cell: {part: BT1, type: LiPo, capacity: 100 mAh}
    U1 MCP73831T-2ACI/OT @SOT-23-5 1:STAT . 2:VSS GND 3:VBAT BAT 4:VDD VBUS 5:PROG SET
    R1 22k SET GND

Sources
-------
1 C as the most and 0.5 C as the usual charge current of lithium-ion and nickel cells: common
practice of cell makers' sheets, from memory; the sheet of the cell fitted counts. Gains: the data
sheet of the charger, named in the finding. Safe charging of portable lithium cells: IEC 62133-2
(scope).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple, cast

from boardvet.circuit.cells import Cell
from boardvet.circuit.charging import Charger, Charging, Setting
from boardvet.circuit.handle import Circuit
from boardvet.known import Known
from boardvet.quantity import preferred, show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

HOUR = 3600.0
BY_CAPACITY = frozenset({"lithium-ion", "LiFePO4", "NiMH"})
"""Chemistries of which cells stand a charge current near 1 C."""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """Charge currents that a cell stands, as multiples of its capacity per hour."""

    most: Annotated[float, ""] = 1.0
    gentle: Annotated[float, ""] = 0.5


class Limits(NamedTuple):
    """What the cells at a charger stand, and are charged with as a rule, in amperes."""

    most: Known[float]
    gentle: Known[float]


class Charge(NamedTuple):
    """One charger with its cells, what it is set to, and what they stand."""

    charger: Charger
    cells: tuple[Cell, ...]
    setting: Setting
    limits: Limits

    @property
    def names(self) -> str:
        """The cells."""
        return " with ".join(cell.reference for cell in self.cells)

    @property
    def parts(self) -> tuple[str, ...]:
        """What sets the current, and the cells."""
        cells = (cell.reference for cell in self.cells)
        return (*self.setting.resistors, *self.setting.switched, *cells)


@rule(level=Level.HOLD)
def check(
    charger: Charger, circuit: Circuit, charging: Charging, settings: Settings
) -> Found | Clear:
    """Judge what one charger is set to."""
    cells = charging.cells(charger)
    if not all(cell.need_chemistry().rechargeable for cell in cells):
        return Clear()
    setting = charging.setting(charger)
    limits = _limits(circuit, cells, settings)
    numbers = (
        Number("charge current", setting.highest.value, "A", setting.highest.source),
        Number("most for the cell", limits.most.value, "A", limits.most.source),
    )
    charge = Charge(charger, cells, setting, limits)
    if setting.highest.value > limits.most.value:
        return _too_much(circuit, charge, numbers)
    if setting.highest.value > limits.gentle.value:
        return _brisk(circuit, charge, numbers)
    return _too_little(circuit, charger, setting) or Clear(numbers)


def _limits(circuit: Circuit, cells: tuple[Cell, ...], settings: Settings) -> Limits:
    """Return the limits of cells side by side: together they take what each takes."""
    most = [_limit(circuit, cell, "charge_current_max", settings.most) for cell in cells]
    gentle = [_limit(circuit, cell, "charge_current_standard", settings.gentle) for cell in cells]
    highest = _sum(most)
    usual = _sum(gentle)
    return Limits(highest, usual if usual.value < highest.value else highest)


def _limit(circuit: Circuit, cell: Cell, key: str, multiple: float) -> Known[float]:
    stated = circuit.known(cell.reference, key)
    if stated is not None:
        return cast("Known[float]", stated)
    if cell.need_chemistry().name not in BY_CAPACITY:
        return cast("Known[float]", circuit.need(cell.reference, "charge_current_max"))
    capacity = cell.need_capacity()
    source = f"{multiple:g} C, common practice, of {show(capacity.value, 'C')}: {capacity.source}"
    return Known(
        capacity.value / HOUR * multiple,
        "A",
        capacity.source if capacity.assumed else f"computed: {source}",
    )


def _sum(limits: list[Known[float]]) -> Known[float]:
    source = next((one.source for one in limits if one.assumed), limits[0].source)
    return Known(sum(one.value for one in limits), "A", source)


def _too_much(circuit: Circuit, charge: Charge, numbers: tuple[Number, ...]) -> Found:
    names, setting, limits = charge.names, charge.setting, charge.limits
    return Found(
        bench=f"{names} gets warm while {THIS} charges it, swells, and may burn.",
        sum=f"{_set_by(setting, setting.highest.value)}; {names} stands "
        f"{show(limits.most.value, 'A')}.",
        fix=_fix(circuit, charge),
        why="Charged faster than it takes the lithium up, a cell plates metal inside and can "
        "short itself. The sheet of the cell counts, and local rules for lithium cells do.",
        numbers=numbers,
        parts=charge.parts,
    )


def _brisk(circuit: Circuit, charge: Charge, numbers: tuple[Number, ...]) -> Found:
    names, setting, limits = charge.names, charge.setting, charge.limits
    return Found(
        bench=f"{names} ages faster than it needs to and gets warm while {THIS} charges it.",
        sum=f"{_set_by(setting, setting.highest.value)}; cells such as {names} are "
        f"charged with {show(limits.gentle.value, 'A')} as a rule.",
        fix=f"{_fix(circuit, charge)}, or state charge_current_max and "
        "charge_current_standard of the cell from its sheet",
        numbers=(
            *numbers,
            Number("usual for the cell", limits.gentle.value, "A", limits.gentle.source),
        ),
        level=Level.QUERY,
        parts=charge.parts,
    )


def _too_little(circuit: Circuit, charger: Charger, setting: Setting) -> Found | None:
    """Find a current that the charger cannot hold, or at which it ends at once."""
    lowest = setting.lowest
    least = cast("Known[float] | None", circuit.known(charger.reference, "charge_current_min"))
    if least is not None and lowest.value < least.value:
        return _low(setting, least, "can be set to no less than", "never charges properly")
    ends = cast("Known[float] | None", circuit.known(charger.reference, "termination"))
    if ends is not None and ends.unit == "A" and lowest.value <= ends.value:
        return _low(setting, ends, "ends charging at", "ends charging at once")
    return None


def _low(setting: Setting, limit: Known[float], what: str, symptom: str) -> Found:
    low = setting._replace(switched=())
    fix = "set it to more"
    if setting.gain is not None and setting.resistors:
        ohms = preferred(setting.gain.value / limit.value, "E24", "down")
        fix = f"bring the set resistance to {show(ohms, 'ohm')} or less"
    return Found(
        bench=f"{THIS} {symptom}.",
        sum=f"{_set_by(low, setting.lowest.value)}, and it {what} {show(limit.value, 'A')}.",
        fix=fix,
        numbers=(
            Number("charge current", setting.lowest.value, "A", setting.lowest.source),
            Number("least charge current", limit.value, "A", limit.source),
        ),
        level=Level.NOTE,
        parts=setting.resistors,
    )


def _set_by(setting: Setting, current: float) -> str:
    """Say what sets the current, and the sum."""
    if setting.gain is None or not setting.resistors:
        return f"It charges with {show(current, 'A')}"
    gain = f"{setting.gain.value:g} V"
    ohms = show(setting.gain.value / current, "ohm")
    on = f" with {' and '.join(setting.switched)} on" if setting.switched else ""
    sets = "sets" if len(setting.resistors) == 1 else "set"
    names = " and ".join(setting.resistors)
    return f"{names} {sets} the charge current{on}: {gain} / {ohms} = {show(current, 'A')}"


def _fix(circuit: Circuit, charge: Charge) -> str:
    charger, setting, limits = charge.charger, charge.setting, charge.limits
    least = cast("Known[float] | None", circuit.known(charger.reference, "charge_current_min"))
    if least is not None and least.value > limits.gentle.value:
        return f"fit a charger for {show(limits.gentle.value, 'A')}, or a larger cell"
    if setting.gain is None or not setting.resistors:
        return f"charge with no more than {show(limits.gentle.value, 'A')}, or fit a larger cell"
    ohms = preferred(setting.gain.value / limits.gentle.value, "E24", "up")
    current = show(setting.gain.value / ohms, "A")
    if len(setting.resistors) == 1:
        return f"make {setting.resistors[0]} {show(ohms, 'ohm')}, which sets {current}"
    return (
        f"bring the resistance at the set pin of {charger.reference} to no less than "
        f"{show(ohms, 'ohm')}, which sets {current}"
    )
