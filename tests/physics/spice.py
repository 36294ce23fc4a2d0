"""The same network in ngspice: an independent solver as the oracle of ours.

The diode model of ngspice is the junction of ours, its temperature such that k·T/q is 25.865 mV.
Only what a board file would say goes in (R, V, D, C cards), nothing of our solver comes back.

In time, whatever changes from step to step follows a control voltage of its own (PWL) through a B
card, and ngspice runs from the given charge through all periods.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest
from tests.physics.pulsed import Pulsed

from boardvet.physics.elements import Floats
from boardvet.physics.network import Network

NGSPICE = shutil.which("ngspice")

needs_ngspice = pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")

# k/q = 8.617333e-5 V/K (exact SI constants), so Vt = 25.865 mV lies at 300.1509 K
_TEMPERATURE = 0.025865 / 8.617333e-5 - 273.15
_OPTIONS = (
    f"temp={_TEMPERATURE:.6f} tnom={_TEMPERATURE:.6f} "
    "reltol=1e-6 abstol=1e-15 vntol=1e-10 gmin=1e-15 numdgt=12"
)


class Reading(NamedTuple):
    """What ngspice found: node voltages and currents in the order of the elements."""

    voltages: list[float]
    sources: list[float]
    junctions: list[float]
    loads: list[float]


def deck(network: Network, row: int = 0) -> str:
    """Return one row of a network as the text of an ngspice circuit."""
    lines = ["* one row of a network", f".options {_OPTIONS}"]
    lines += _resistors(network, row) + _sources(network, row)
    lines += _junctions(network, row) + _loads(network, row)
    # a resistor from every node to ground, as in our network
    lines += [f"Rleak{node} {node} 0 1e12" for node in range(1, network.nodes)]
    wanted = [f"v({node})" for node in range(1, network.nodes)]
    wanted += [f"i(vs{index})" for index in range(len(network.sources.positive))]
    wanted += [f"i(vj{index})" for index in range(len(network.junctions.anode))]
    wanted += [f"i(vl{index})" for index in range(len(network.loads.positive))]
    prints = [f"print {name}" for name in wanted]
    return "\n".join([*lines, ".control", "set numdgt=12", "op", *prints, ".endc", ".end", ""])


def run(network: Network, folder: Path, row: int = 0) -> Reading:
    """Let ngspice find the operating point of one row of a network."""
    file = folder / "network.cir"
    file.write_text(deck(network, row), encoding="utf-8")
    found = _printed(file)
    try:
        return Reading(
            [0.0] + [found[f"v({node})"] for node in range(1, network.nodes)],
            # ngspice counts the current into the positive terminal of a source
            [-found[f"i(vs{index})"] for index in range(len(network.sources.positive))],
            [found[f"i(vj{index})"] for index in range(len(network.junctions.anode))],
            [found[f"i(vl{index})"] for index in range(len(network.loads.positive))],
        )
    except KeyError as missing:
        raise AssertionError(f"ngspice did not print {missing}") from missing


def _printed(file: Path) -> dict[str, float]:
    """Run a deck and return every number that it printed under a name."""
    assert NGSPICE is not None
    done = subprocess.run(
        [NGSPICE, "-b", str(file)], capture_output=True, text=True, timeout=120, check=False
    )
    rows = re.findall(r"^(\S+) += +([-+.\de]+)\b", done.stdout, flags=re.MULTILINE)
    assert rows, f"ngspice printed nothing:\n{done.stdout}\n{done.stderr}"
    return {name: float(number) for name, number in rows}


def _value(values: Floats, row: int, index: int) -> str:
    return repr(float(values[row % len(values), index]))


def _resistors(network: Network, row: int) -> list[str]:
    part = network.resistors
    return [
        f"R{index} {a} {b} {_value(part.resistance, row, index)}"
        for index, (a, b) in enumerate(zip(part.a, part.b, strict=True))
    ]


def _sources(network: Network, row: int) -> list[str]:
    part, lines = network.sources, []
    for index, (plus, minus) in enumerate(zip(part.positive, part.negative, strict=True)):
        voltage = _value(part.voltage, row, index)
        resistance = _value(part.resistance, row, index)
        inner = f"s{index}" if float(resistance) else str(plus)
        lines.append(f"Vs{index} {inner} {minus} {voltage}")
        if float(resistance):
            lines.append(f"Rs{index} {inner} {plus} {resistance}")
    return lines


def _junctions(network: Network, row: int) -> list[str]:
    part, lines = network.junctions, []
    for index, (anode, cathode) in enumerate(zip(part.anode, part.cathode, strict=True)):
        model = [
            f"IS={_value(part.saturation_current, row, index)}",
            f"N={_value(part.emission, row, index)}",
            f"RS={_value(part.series_resistance, row, index)}",
        ]
        breakdown = _value(part.breakdown_voltage, row, index)
        if breakdown != "inf":
            model.append(f"BV={breakdown} IBV=1m NBV=1")
        lines.append(f"Vj{index} {anode} j{index} 0")
        lines.append(f"D{index} j{index} {cathode} model{index}")
        lines.append(f".model model{index} D({' '.join(model)})")
    return lines


def _loads(network: Network, row: int) -> list[str]:
    part, lines = network.loads, []
    for index, (plus, minus) in enumerate(zip(part.positive, part.negative, strict=True)):
        share = f"min(max((v(l{index})-v({minus}))/0.2,0),1)"
        current = f"{_value(part.current, row, index)}*{share}*{share}*(3-2*{share})"
        lines.append(f"Vl{index} {plus} l{index} 0")
        lines.append(f"Bl{index} l{index} {minus} I={current}")
    return lines


# In time


class Course(NamedTuple):
    """What ngspice found in one step of the last period.

    Voltages of the watched nodes and of the plates, currents and charges of the watched junctions
    and of the sources; a peak is the largest value in the step.
    """

    lowest: list[float]
    highest: list[float]
    end: list[float]
    charged: list[float]
    junction_end: list[float]
    junction_peak: list[float]
    junction_charge: list[float]
    source_charge: list[float]


def watched(pulsed: Pulsed) -> tuple[int, ...]:
    """Return the nodes of which voltages are kept."""
    return pulsed.watched or tuple(range(1, pulsed.steps[0][0].nodes))


def watched_lights(pulsed: Pulsed) -> tuple[int, ...]:
    """Return the junctions of which currents are kept."""
    return pulsed.lights or tuple(range(len(pulsed.steps[0][0].junctions.anode)))


def run_in_time(pulsed: Pulsed, folder: Path) -> tuple[Course, ...]:
    """Let ngspice run through all periods and return each step of the last one."""
    file = folder / "pulsed.cir"
    file.write_text(_pulsed_deck(pulsed), encoding="utf-8")
    found = _printed(file)
    try:
        return tuple(
            _course([[found[name] for name, _ in part] for part in _measures(pulsed, index)])
            for index in range(len(pulsed.steps))
        )
    except KeyError as missing:
        raise AssertionError(f"ngspice did not measure {missing}") from missing


def _course(measured: list[list[float]]) -> Course:
    """Count both ends, of which ngspice may leave out some µs, among lowest, highest and peak."""
    first, lights, lowest, highest, peak, *others = measured
    end, charged, junction_end, junction_charge, source_charge = others
    return Course(
        lowest=list(map(min, lowest, first, end)),
        highest=list(map(max, highest, first, end)),
        end=end,
        charged=charged,
        junction_end=junction_end,
        junction_peak=list(map(max, peak, lights, junction_end)),
        junction_charge=junction_charge,
        source_charge=source_charge,
    )


def _pulsed_deck(pulsed: Pulsed) -> str:
    """Return all periods of a circuit as the text of an ngspice circuit."""
    network = pulsed.steps[0][0]
    lines = ["* a circuit in time", f".options {_OPTIONS} chgtol=1e-18 trtol=1"]
    lines += _resistors_in_time(pulsed) + _sources_in_time(pulsed)
    lines += _junctions(network, 0) + _loads_in_time(pulsed) + _capacitors(pulsed)
    lines += [f"Rleak{node} {node} 0 1e12" for node in range(1, network.nodes)]
    durations = [duration for _, duration in pulsed.steps]
    period = sum(durations)
    stop, start = period * pulsed.periods, period * (pulsed.periods - 1)
    finest = min(durations) / 200.0
    plates = [
        f"let plates{index} = v({a})-v(c{index})" for index, a in enumerate(pulsed.capacitors.a)
    ]
    measures = [
        f"meas tran {name} {what}"
        for index in range(len(pulsed.steps))
        for part in _measures(pulsed, index)
        for name, what in part
    ]
    run = f"tran {finest!r} {stop!r} {start!r} {finest!r} uic"
    return "\n".join([*lines, ".control", run, *plates, *measures, ".endc", ".end", ""])


def _ramp(pulsed: Pulsed) -> float:
    """Return how long whatever changes takes to do so. [s]."""
    return 1e-7 * min(duration for _, duration in pulsed.steps)


def _measures(pulsed: Pulsed, step: int) -> list[list[tuple[str, str]]]:
    """Return a name and what to measure for each number of a step's `Course`."""
    network = pulsed.steps[0][0]
    durations = [duration for _, duration in pulsed.steps]
    start = sum(durations) * (pulsed.periods - 1) + sum(durations[:step])
    end = start + durations[step]
    # up to the end, where the next change starts, but inside the run
    whole = f"from={start + _ramp(pulsed)!r} to={end * (1.0 - 1e-9)!r}"
    # the very first instants of a run are not kept
    verb, begin = ("find", f"at={start + _ramp(pulsed)!r}") if start else ("max", whole)
    at = f"at={end * (1.0 - 1e-9)!r}"
    volts = [(f"v{node}", f"v({node})") for node in watched(pulsed)]
    plates = [(f"c{index}", f"plates{index}") for index in range(len(pulsed.capacitors.a))]
    lights = [(f"j{index}", f"i(vj{index})") for index in watched_lights(pulsed)]
    cells = [(f"s{index}", f"i(vs{index})") for index in range(len(network.sources.positive))]
    kinds = (
        ("start", verb, volts, begin),
        ("start", verb, lights, begin),
        ("lo", "min", volts, whole),
        ("hi", "max", volts, whole),
        ("hi", "max", lights, whole),
        ("end", "find", volts, at),
        ("end", "find", plates, at),
        ("end", "find", lights, at),
        ("sum", "integ", lights, whole),
        ("sum", "integ", cells, whole),
    )
    return [
        [(f"{short}_{name}_{step}", f"{verb} {vector} {when}") for name, vector in vectors]
        for short, verb, vectors, when in kinds
    ]


def _control(name: str, pulsed: Pulsed, values: list[float]) -> str:
    """Return a source that takes one value a step, through all periods."""
    points, time, ramp = [f"0 {values[0]!r}"], 0.0, _ramp(pulsed)
    for turn in range(pulsed.periods * len(values)):
        time += pulsed.steps[turn % len(values)][1]
        now, after = (values[(turn + more) % len(values)] for more in (0, 1))
        points += [f"{time!r} {now!r}", f"{time + ramp!r} {after!r}"]
    return "\n".join([f"V{name} {name} 0 PWL(", *(f"+ {point}" for point in points), "+ )"])


def _by_step(pulsed: Pulsed, kind: str, name: str, index: int) -> list[float]:
    """Return a value of an element in each step."""
    return [float(getattr(getattr(net, kind), name)[0, index]) for net, _ in pulsed.steps]


def _resistors_in_time(pulsed: Pulsed) -> list[str]:
    part, lines = pulsed.steps[0][0].resistors, []
    for index, (a, b) in enumerate(zip(part.a, part.b, strict=True)):
        ohms = _by_step(pulsed, "resistors", "resistance", index)
        if len(set(ohms)) == 1:
            lines.append(f"R{index} {a} {b} {ohms[0]!r}")
        else:
            lines.append(_control(f"r{index}", pulsed, [1.0 / value for value in ohms]))
            lines.append(f"Br{index} {a} {b} I=(v({a})-v({b}))*v(r{index})")
    return lines


def _sources_in_time(pulsed: Pulsed) -> list[str]:
    part, lines = pulsed.steps[0][0].sources, []
    for index, (plus, minus) in enumerate(zip(part.positive, part.negative, strict=True)):
        volts = _by_step(pulsed, "sources", "voltage", index)
        ohms = _value(part.resistance, 0, index)
        lines.append(_control(f"e{index}", pulsed, volts))
        # the 0 V source tells the current, as in the other decks
        lines.append(f"Be{index} s{index} {minus} V=v(e{index})")
        lines.append(f"Vs{index} s{index} t{index} 0")
        lines.append(f"Rs{index} t{index} {plus} {ohms}")
    return lines


def _loads_in_time(pulsed: Pulsed) -> list[str]:
    part, lines = pulsed.steps[0][0].loads, []
    for index, (plus, minus) in enumerate(zip(part.positive, part.negative, strict=True)):
        lines.append(_control(f"w{index}", pulsed, _by_step(pulsed, "loads", "current", index)))
        share = f"min(max((v({plus})-v({minus}))/0.2,0),1)"
        lines.append(f"Bl{index} {plus} {minus} I=v(w{index})*{share}*{share}*(3-2*{share})")
    return lines


def _capacitors(pulsed: Pulsed) -> list[str]:
    part, lines = pulsed.capacitors, []
    for index, (a, b) in enumerate(zip(part.a, part.b, strict=True)):
        farads = _value(part.capacitance, 0, index)
        ohms = max(float(part.series_resistance[0, index]), 1e-6)
        lines.append(f"C{index} {a} c{index} {farads} IC={pulsed.charged[index]!r}")
        lines.append(f"Rc{index} c{index} {b} {ohms!r}")
    return lines
