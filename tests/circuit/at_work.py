"""A board at work for tests: a cell stated by two points, a controller, and what is on.

The voltage and resistance of the cell at a share of the charge used are known by hand: a cell of
3.2 V to 2.6 V and 12 Ω to 40 Ω has 2.9 V and 26 Ω half used.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.operating import Operating
from boardvet.circuit.running import Running
from boardvet.circuit.schedule import Meeting
from boardvet.circuit.states import States
from boardvet.testing import circuit_of


def cell(
    volts: tuple[float, float] = (3.2, 2.6),
    ohms: tuple[float, float] = (12.0, 40.0),
    kind: str = "CR2032",
) -> str:
    return (
        "BT1 cell/holder + VBAT - GND\n"
        f"~ cell: {{part: BT1, type: {kind}, "
        f"voltage: {volts[0]} V at 0 % and {volts[1]} V at 100 %, "
        f"resistance: {ohms[0]} ohm at 0 % and {ohms[1]} ohm at 100 %}}\n"
    )


MCU = (
    "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 PB2 P2 = pin_resistance 30 ohm = sleep_current 1 uA\n"
)


def solved(
    text: str,
    lights: str = "",
    draws: Mapping[str, float] | None = None,
    used: tuple[float, ...] = (0.0,),
    run: float = math.inf,
    temperature: float | None = None,
) -> tuple[Circuit, Operating]:
    circuit = circuit_of(text)
    meeting = Meeting(frozenset(lights.split()), tuple((draws or {}).items()), 1.0, run)
    state = circuit.view(States).main
    return circuit, circuit.view(Running).at(state, meeting, used, temperature)


def running(text: str, lights: str = "", draws: Mapping[str, float] | None = None) -> Operating:
    """Solve a board whose cell is fresh."""
    return solved(text, lights, draws)[1]


def element(circuit: Circuit, label: str, kind: ElementKind) -> Element:
    return next(e for e in circuit.view(Elements).of_kind(kind) if e.label == label)
