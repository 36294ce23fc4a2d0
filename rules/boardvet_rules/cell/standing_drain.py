"""A path from the cell to ground takes current all the time.

On the bench
------------
The board sleeps as it was meant to, and still the cell is empty weeks or months too early.

What is judged
--------------
Each path on which current flows from the cells to ground while nothing of the pattern is on: the
board is solved at rest with fresh cells, in each mode in which only cells feed it. Dividers (those
behind each other are one path), pull-ups that a closed contact holds low, lights straight on their
supply, coil and diode of a booster that is off into what hangs behind it. And what capacitors
leak: 0.01 · C · V for aluminium, tantalum and other polarised ones, 0.1 · C · V for polymer ones,
5 µA for each farad of a supercapacitor, all of them assumed. A path counts for the share of the
time of the modes in which it is there, behind a switching regulator as power.

Its mean current is compared with what the cells can give over the run time wanted: query from a
quarter of it, note from a twentieth. Without a run time wanted: note where it alone would empty
the cells within ten years.

Quiet: what the pattern lights or lists as a part (then it is declared, and counts in the run
time); what only USB feeds; what is behind a load switch or a regulator that is off at rest; the
divider that sets the output of a regulator that is needed; without modes, what is behind a hand
switch, and a light with a hand switch: on as long as the hand wants, free in storage. Own
currents of regulators and of addressable LEDs stand among the numbers and are judged by
regulator-idle and addressable-led; a rail joined to ground is rail-shorted.

Left undetermined
-----------------
A value or an output voltage on the way, the cell, its capacity, or for which share of the time a
mode lasts is not known.

Cure
----
Larger resistors in the same ratio; a switch that the controller closes only while it reads; a
booster that disconnects its load; a ceramic capacitor.

Settings
--------
query : share of the mean current from which somebody must answer. Default 25 %.
note : share from which it is worth knowing. Default 5 %.
alone : time within which it may not empty the cells alone, without a run time wanted.
    Default 10 years.

Wrong::

    BT1 CR2032 VBAT GND
    ~ run_time: 200 days
    R1 47k VBAT SENSE
    R2 47k SENSE GND
    U1 mcu VCC+ VBAT GND- GND PA1 SENSE

Wrong (a pull-up that a closed contact holds low)::

    BT1 CR2032 VBAT GND
    ~ run_time: 200 days
    U1 mcu VCC+ VBAT GND- GND PA1 MODE
    R1 47k VBAT MODE
    SW1 switch 1: MODE 2: GND

Right::

    BT1 CR2032 VBAT GND
    ~ run_time: 200 days
    R1 4.7M VBAT SENSE
    R2 4.7M SENSE GND
    U1 mcu VCC+ VBAT GND- GND PA1 SENSE

Right (the controller closes the divider only while it reads; a capacitor leaks a little)::

    BT1 CR2032 VBAT GND
    ~ run_time: 200 days
    R1 47k VBAT SENSE
    R2 47k SENSE LOW
    U1 mcu VCC+ VBAT GND- GND PA1 SENSE PA2 LOW
    C1 47u VBAT GND = dielectric tantalum

Sources
-------
Kirchhoff's laws and the junction equation, solved. Leakage of 0.01 · C · V (with C in µF and V in
V it is in µA): common practice in data sheets of aluminium electrolytic capacitors, at most and
after minutes; of tantalum, polymer and supercapacitors: from memory. A quarter and a twentieth:
the rule book of this project. Ten years: as long as lithium coin cells keep, common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from boardvet.circuit.elements import ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.rails import node_label
from boardvet.circuit.standing import PathKind, StandingPath, StandingPaths
from boardvet.circuit.target import DAY, Target
from boardvet.circuit.values import resistance
from boardvet.known import Known
from boardvet.quantity import show
from boardvet.review.rule import RuleSettings, rule
from boardvet.review.verdict import THIS, Clear, Found, Level, Number

LARGEST = 10e6
"""Above this, moisture on the board and the input's own leakage count: common practice. [ohm]"""


@dataclass(frozen=True)
class Settings(RuleSettings):
    """From which share of the mean current it is worth a word."""

    query: Annotated[float, ""] = 0.25
    note: Annotated[float, ""] = 0.05
    alone: Annotated[float, "s"] = 3650 * DAY


@rule(level=Level.QUERY)
def check(
    path: StandingPath,
    circuit: Circuit,
    standing: StandingPaths,
    target: Target,
    settings: Settings,
) -> Found | Clear:
    """Judge one path by what it takes of the cells."""
    mean = target.mean_current
    if mean is None:
        return _alone(path, circuit, standing, target, settings)
    share = path.mean / mean.value
    numbers = (
        *_numbers(path, circuit),
        Number("mean current for the run time", mean.value, "A", mean.source),
        *_others(standing),
    )
    if share < settings.note:
        return Clear(numbers)
    return Found(
        bench=_bench(share, target, _are(target)),
        sum=f"{_sum(path, circuit)}; over the run time wanted {_names(target)} can give "
        f"{show(mean.value, 'A')} on average.",
        fix=_fix(path, circuit, settings.note * mean.value),
        why=_why(path),
        numbers=numbers,
        level=Level.QUERY if share >= settings.query else Level.NOTE,
        parts=_parts(path, target),
        nets=path.interior,
    )


def _alone(
    path: StandingPath,
    circuit: Circuit,
    standing: StandingPaths,
    target: Target,
    settings: Settings,
) -> Found | Clear:
    """Judge without a run time wanted: how long the cells last with nothing else."""
    capacity = target.need_capacity()
    lasts = target.days_alone(path.mean) * DAY
    numbers = (
        *_numbers(path, circuit),
        Number("charge of the cells", capacity.value, "C", capacity.source),
        *_others(standing),
    )
    if lasts >= settings.alone:
        return Clear(numbers)
    return Found(
        bench=f"{_are(target)} empty after {show(lasts, 's')} even if the board does nothing.",
        sum=f"{_sum(path, circuit)}, out of {show(capacity.value, 'C')}.",
        fix=_fix(path, circuit, capacity.value / settings.alone),
        why=_why(path),
        numbers=numbers,
        level=Level.NOTE,
        parts=_parts(path, target),
        nets=path.interior,
    )


def _names(target: Target) -> str:
    return " and ".join(cell.reference for cell in target.cells.all)


def _are(target: Target) -> str:
    return f"{_names(target)} {'is' if len(target.cells.all) == 1 else 'are'}"


def _parts(path: StandingPath, target: Target) -> tuple[str, ...]:
    booster = (path.booster,) if path.booster else ()
    return (*booster, *(cell.reference for cell in target.cells.all))


def _numbers(path: StandingPath, circuit: Circuit) -> tuple[Number, ...]:
    worst, modes = path.worst, "computed: the modes in which it is there"
    if path.what is PathKind.CONTACT and not circuit.intent.modes:
        modes = "assumed: no modes are stated, so its contact is closed all the time"
    return (
        Number("standing current", _six(worst.current), "A", path.because),
        Number("share of the time", _six(path.share), "", modes),
        Number("mean of it", _six(path.mean), "A", "computed: current · share of the time"),
        Number("voltage on it", _six(worst.volts), "V", "computed: the network at rest, solved"),
    )


def _others(standing: StandingPaths) -> tuple[Number, ...]:
    """Return what others take for themselves meanwhile, which other rules judge."""
    return tuple(
        Number(f"own current of {reference}", own.value, "A", own.source)
        for reference, own in standing.own
    )


def _six(value: float) -> float:
    return float(f"{value:.6g}")


def _bench(share: float, target: Target, cells: str) -> str:
    if share < 1.0 or target.run_time is None:
        return f"{cells} empty early: {share:.0%} of the charge goes through {THIS}, for nothing."
    wanted = target.run_time.value
    after, whole = show(wanted / share, "s", 2), show(wanted, "s", 2)
    return f"{cells} empty after {after} of the {whole} wanted, from {THIS} alone."


def _sum(path: StandingPath, circuit: Circuit) -> str:
    drain = path.worst
    current, volts = show(drain.current, "A"), show(drain.volts, "V")
    feeds = " and ".join(node_label(circuit, node) for node in path.feeds)
    verb = "leak" if path.what is PathKind.LEAKAGE else "flow"
    text = f"{current} {verb} from {feeds}, {volts} with a fresh cell, through {THIS} to ground"
    if path.share > 0.995:
        return text
    return f"{text}, {path.share:.0%} of the time: {show(path.mean, 'A')} on average"


def _why(path: StandingPath) -> str:
    if path.what is PathKind.BOOSTER:
        return (
            f"While {path.booster} is off, its coil and diode still join its supply to what hangs "
            "behind it."
        )
    if path.what is PathKind.CONTACT:
        return "As long as the contact is closed, the whole supply lies across the pull-up."
    if path.what is PathKind.LEAKAGE:
        return "Such capacitors never stop leaking; how much, its maker states."
    return "Nothing switches it off."


def _fix(path: StandingPath, circuit: Circuit, allowed: float) -> str:
    larger = _larger(path, circuit, allowed)
    if path.what is PathKind.BOOSTER:
        return (
            f"fit a type that disconnects its load while it is off in place of {path.booster}, or "
            "a P-channel FET behind it"
        )
    if path.what is PathKind.LEAKAGE:
        return f"fit a ceramic one in its place, or a type that leaks at most {show(allowed, 'A')}"
    if path.what is PathKind.LIGHT:
        return (
            "feed the light from a pin or a switch that is off at rest; if it is meant to be on, "
            "list it under pattern"
        )
    if path.what is PathKind.CONTACT:
        pulled = "use the pull-up inside the controller only while it reads the contact"
        return f"{larger}, or {pulled}" if larger else pulled
    switched = "let a pin or a FET close it only while it is read"
    return f"{larger}, or {switched}" if larger else switched


def _larger(path: StandingPath, circuit: Circuit, allowed: float) -> str:
    """Return the same resistors times ten or a hundred, where that is enough and can be bought."""
    known: dict[str, Known[float] | None] = {
        each: resistance(circuit, each) for each in path.references
    }
    values = {name: one.value for name, one in known.items() if one is not None}
    for factor in (10.0, 100.0):
        if path.mean / factor <= allowed and all(v * factor <= LARGEST for v in values.values()):
            changed = " and ".join(
                f"{name} {show(value * factor, 'ohm')}" for name, value in values.items()
            )
            flow = f"then {show(path.mean / factor, 'A')} flow"
            return f"make {changed}: {flow}{_steady(path, circuit)}" if changed else ""
    return ""


def _steady(path: StandingPath, circuit: Circuit) -> str:
    """Return a word on the capacitor that an input needs behind so large resistors."""
    elements = circuit.view(Elements)
    held = any(elements.at(node, ElementKind.CAPACITOR) for node in path.interior)
    if held or path.what is not PathKind.RESISTORS or len(path.references) == 1:
        return ""
    return ", with 100 nF from the middle to ground where an input measures it"
