"""The same network in ngspice: an independent solver as the oracle of ours.

The diode model of ngspice is the junction of ours, its temperature such that k·T/q is 25.865 mV.
Only what a board file would say goes in (R, V, D cards), nothing of our solver comes back.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest

from boardvet.physics.network import Network

NGSPICE = shutil.which("ngspice")

needs_ngspice = pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")

# k/q = 8.617333e-5 V/K (exact SI constants), so Vt = 25.865 mV lies at 300.1509 K
_TEMPERATURE = 0.025865 / 8.617333e-5 - 273.15


class Reading(NamedTuple):
    """What ngspice found: node voltages and currents in the order of the elements."""

    voltages: list[float]
    sources: list[float]
    junctions: list[float]
    loads: list[float]


def deck(network: Network, row: int = 0) -> str:
    """Return one row of a network as the text of an ngspice circuit."""
    temperature = f"temp={_TEMPERATURE:.6f} tnom={_TEMPERATURE:.6f}"
    lines = [
        "* one row of a network",
        f".options {temperature} reltol=1e-6 abstol=1e-15 vntol=1e-10 gmin=1e-15 numdgt=12",
    ]
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
    assert NGSPICE is not None
    file = folder / "network.cir"
    file.write_text(deck(network, row), encoding="utf-8")
    done = subprocess.run(
        [NGSPICE, "-b", str(file)], capture_output=True, text=True, timeout=60, check=False
    )
    found = {
        name: float(number)
        for name, number in re.findall(r"^(\S+) = (\S+)$", done.stdout, flags=re.MULTILINE)
    }
    try:
        return Reading(
            [0.0] + [found[f"v({node})"] for node in range(1, network.nodes)],
            # ngspice counts the current into the positive terminal of a source
            [-found[f"i(vs{index})"] for index in range(len(network.sources.positive))],
            [found[f"i(vj{index})"] for index in range(len(network.junctions.anode))],
            [found[f"i(vl{index})"] for index in range(len(network.loads.positive))],
        )
    except KeyError as missing:
        message = f"ngspice did not print {missing}:\n{done.stdout}\n{done.stderr}"
        raise AssertionError(message) from missing


def _value(values: object, row: int, index: int) -> str:
    array = values  # shape (1 or B, n)
    return repr(float(array[row % len(array), index]))  # type: ignore[index, arg-type]


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
