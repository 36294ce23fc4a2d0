"""Boards with reservoirs, and the same as ngspice circuits in time, each written by hand.

A deck knows what a person reads off the board: the cell as a source behind its resistance, a pin
that drives as a switch, capacitors with their own resistance, what parts draw as current sources.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import NamedTuple

from tests.circuit.decks import THERMAL_VOLTAGE, model
from tests.physics.spice import NGSPICE

RED = " = forward_voltage 1.9 V at 10 mA = emission 2 = series_resistance 6 ohm"
_CELSIUS = THERMAL_VOLTAGE / 8.617333e-5 - 273.15


class Reading(NamedTuple):
    """The lowest voltage of the rail [V], and the mean current of the cell [A]."""

    lowest: float
    mean: float


class PulsedBoard(NamedTuple):
    """A board, its deck, from when to when it is read [s], and the share of charge used."""

    board: str
    cards: tuple[str, ...]
    start: float
    stop: float
    step: float
    used: float = 0.0
    node: str = "vbat"


def cell(ohms: float, empty: float = 2.5) -> str:
    """Return a holder and the entry of a cell of 3.0 V, falling in a straight line."""
    return (
        "BT1 cell/holder VBAT GND\n~ cell: {part: BT1, type: CR2032, capacity: 225 mAh, "
        f"voltage: 3.0 V at 0 % and {empty} V at 100 %, resistance: {ohms} ohm, stop: 0.3 V}}\n"
    )


def source(volts: float, ohms: float) -> tuple[str, ...]:
    """Return the cards of a cell."""
    return f"Vcell e 0 {volts}", f"Rcell e vbat {ohms}"


def capacitor(reference: str, farads: str, ohms: float) -> str:
    """Return a capacitor that keeps its capacitance."""
    return (
        f"{reference} {farads} VBAT GND = kind capacitor = dielectric tantalum"
        f" = series_resistance {ohms} ohm\n"
    )


def pulse(height: str, begin: float, width: float, period: float) -> str:
    """Return a pulse of each period, with edges of 1 µs."""
    return f"PULSE(0 {height} {begin!r} 1u 1u {width - 1e-6!r} {period!r})"


SENSORS = "".join(
    f"U{n} sensor VDD+ VBAT GND- GND = sleep_current 0 A = supply 1.0 to 5 V\n" for n in (1, 2)
)

LIGHT = (
    "S1 vbat p on 0 pin",
    ".model pin SW(VT=0.5 VH=0 RON=30 ROFF=1e10)",
    "R1 p n1 47",
    "D1 n1 0 red",
    model("red", 1.9, 10e-3, 2.0, 6.0),
)
"""D1 behind 47 ohm and a pin of 30 ohm, on while the node `on` is at 1 V."""

BOARDS: dict[str, PulsedBoard] = {
    "a light through a pin, 100 µF tantalum": PulsedBoard(
        cell(100)
        + "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 0 A"
        + " = supply 1.0 to 5 V\nR1 47 P0 N1\nD1 led N1 GND"
        + RED
        + "\n"
        + capacitor("C1", "100u", 1.0)
        + "~ pattern: [{lights: [D1], for: 20 ms, every: 1 s}]\n",
        (
            *source(3.0, 100),
            "C1 vbat k 100u",
            "Rc k 0 1",
            *LIGHT,
            f"Vpin on 0 {pulse('1', 0.5, 20e-3, 1.0)}",
        ),
        2.0,
        3.0,
        5e-5,
    ),
    "the same with half of the charge used": PulsedBoard(
        cell(100)
        + "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 0 A"
        + " = supply 1.0 to 5 V\nR1 47 P0 N1\nD1 led N1 GND"
        + RED
        + "\n"
        + capacitor("C1", "100u", 1.0)
        + "~ pattern: [{lights: [D1], for: 20 ms, every: 1 s}]\n",
        (
            *source(2.75, 100),
            "C1 vbat k 100u",
            "Rc k 0 1",
            *LIGHT,
            f"Vpin on 0 {pulse('1', 0.5, 20e-3, 1.0)}",
        ),
        2.0,
        3.0,
        5e-5,
        used=0.5,
    ),
    "a burst of three steps": PulsedBoard(
        cell(100)
        + SENSORS
        + capacitor("C1", "470u", 0.5)
        + "~ pattern: [{part: U1, draws: 8 mA for 20 ms then 15 mA for 10 ms then 8 mA for 20 ms,"
        + " every: 2 s}]\n",
        (
            *source(3.0, 100),
            "C1 vbat k 470u",
            "Rc k 0 0.5",
            f"I1 vbat 0 {pulse('8m', 0.5, 20e-3, 2.0)}",
            f"I2 vbat 0 {pulse('15m', 0.52, 10e-3, 2.0)}",
            f"I3 vbat 0 {pulse('8m', 0.53, 20e-3, 2.0)}",
        ),
        4.0,
        6.0,
        5e-5,
    ),
    "a recharge that does not finish": PulsedBoard(
        cell(200)
        + SENSORS
        + capacitor("C1", "1000u", 0.5)
        + "~ pattern: [{part: U1, current: 20 mA, for: 20 ms, every: 200 ms}]\n",
        (
            *source(3.0, 200),
            "C1 vbat k 1000u",
            "Rc k 0 0.5",
            f"I1 vbat 0 {pulse('20m', 0.1, 20e-3, 0.2)}",
        ),
        4.0,
        4.2,
        2e-5,
    ),
    "a pulse too long for what is fitted": PulsedBoard(
        cell(100)
        + SENSORS
        + capacitor("C1", "100u", 2.0)
        + "~ pattern: [{part: U1, current: 8 mA, for: 200 ms, every: 1 s}]\n",
        (
            *source(3.0, 100),
            "C1 vbat k 100u",
            "Rc k 0 2",
            f"I1 vbat 0 {pulse('8m', 0.5, 0.2, 1.0)}",
        ),
        2.0,
        3.0,
        1e-4,
    ),
    "two capacitors, of which one is quick": PulsedBoard(
        cell(100)
        + SENSORS
        + capacitor("C1", "47u", 0.01)
        + capacitor("C2", "470u", 10.0)
        + "R9 2.2k VBAT GND\n"
        + "~ pattern: [{part: U1, current: 10 mA, for: 20 ms, every: 1 s}]\n",
        (
            *source(3.0, 100),
            "C1 vbat k 47u",
            "Rc k 0 0.01",
            "C2 vbat l 470u",
            "Rd l 0 10",
            "R9 vbat 0 2.2k",
            f"I1 vbat 0 {pulse('10m', 0.5, 20e-3, 1.0)}",
        ),
        2.0,
        3.0,
        2e-5,
    ),
    "two courses whose periods have nothing to do with each other": PulsedBoard(
        cell(100)
        + SENSORS
        + capacitor("C1", "470u", 0.5)
        + "~ pattern:\n~ - {part: U1, current: 10 mA, for: 20 ms, every: 330 ms}\n"
        + "~ - {part: U2, current: 8 mA, for: 30 ms, every: 470 ms}\n",
        (
            *source(3.0, 100),
            "C1 vbat k 470u",
            "Rc k 0 0.5",
            f"I1 vbat 0 {pulse('10m', 0.0, 20e-3, 0.33)}",
            f"I2 vbat 0 {pulse('8m', 0.0, 30e-3, 0.47)}",
        ),
        15.51,
        31.02,
        2e-4,
    ),
    "bursts behind a regulator, the reservoir before it": PulsedBoard(
        cell(100)
        + "U3 regulator VIN+ VBAT GND- GND 3:VOUT V18 = output 1.8 V = dropout 100 mV at 50 mA"
        + " = pins {1: regulator input, 3: supply output} = quiescent_current 100 uA\n"
        + "U1 sensor VDD+ V18 GND- GND = sleep_current 0 A = supply 1.0 to 5 V\n"
        + capacitor("C1", "220u", 0.5)
        + "~ pattern: [{part: U1, current: 10 mA, for: 20 ms, every: 500 ms}]\n",
        (
            *source(3.0, 100),
            "C1 vbat k 220u",
            "Rc k 0 0.5",
            "Iq vbat 0 100u",
            f"I1 vbat 0 {pulse('10m', 0.2, 20e-3, 0.5)}",
        ),
        2.0,
        2.5,
        5e-5,
    ),
    "bursts behind a booster, which takes a power": PulsedBoard(
        cell(30)
        + "U3 regulator VIN+ VBAT GND- GND 3:VOUT V5 = output 5 V = conversion step-up"
        + " = efficiency 100 % at 1 mA and 100 % at 50 mA = supply 0.7 to 6 V"
        + " = pins {1: regulator input, 3: supply output} = quiescent_current 0 A\n"
        + "U1 sensor VDD+ V5 GND- GND = sleep_current 0 A = supply 1.0 to 6 V\n"
        + capacitor("C1", "470u", 0.5)
        + "~ pattern: [{part: U1, current: 10 mA, for: 20 ms, every: 200 ms}]\n",
        (
            *source(3.0, 30),
            "C1 vbat k 470u",
            "Rc k 0 0.5",
            f"Vg g 0 {pulse('1', 0.1, 20e-3, 0.2)}",
            "B1 vbat 0 I = v(g) * 50m / max(v(vbat), 0.5)",
        ),
        2.0,
        2.2,
        2e-5,
    ),
    "a short course that never recharges, and a long one": PulsedBoard(
        cell(200)
        + SENSORS
        + capacitor("C1", "1000u", 0.5)
        + "~ pattern:\n~ - {part: U1, current: 20 mA, for: 20 ms, every: 200 ms}\n"
        + "~ - {part: U2, current: 10 mA, for: 30 ms, every: 2.74 s}\n",
        (
            *source(3.0, 200),
            "C1 vbat k 1000u",
            "Rc k 0 0.5",
            f"I1 vbat 0 {pulse('20m', 0.0, 20e-3, 0.2)}",
            f"I2 vbat 0 {pulse('10m', 0.0, 30e-3, 2.74)}",
        ),
        27.4,
        54.8,
        2e-4,
    ),
    "a burst of two steps that meets a pulse of another course": PulsedBoard(
        cell(100)
        + SENSORS
        + capacitor("C1", "470u", 0.5)
        + "~ pattern:\n~ - {part: U1, draws: 6 mA for 60 ms then 12 mA for 20 ms, every: 330 ms}\n"
        + "~ - {part: U2, current: 8 mA, for: 30 ms, every: 470 ms}\n",
        (
            *source(3.0, 100),
            "C1 vbat k 470u",
            "Rc k 0 0.5",
            f"I1 vbat 0 {pulse('6m', 0.0, 60e-3, 0.33)}",
            f"I2 vbat 0 {pulse('12m', 60e-3, 20e-3, 0.33)}",
            f"I3 vbat 0 {pulse('8m', 50e-3, 30e-3, 0.47)}",
        ),
        15.51,
        31.02,
        2e-4,
    ),
    "a light and a sensor whose periods have nothing to do with each other": PulsedBoard(
        cell(60)
        + "U1 mcu VCC+ VBAT GND- GND PB0 P0 = pin_resistance 30 ohm = sleep_current 0 A"
        + " = supply 1.0 to 5 V\nR1 47 P0 N1\nD1 led N1 GND"
        + RED
        + "\nU2 sensor VDD+ VBAT GND- GND = sleep_current 50 uA = supply 1.0 to 5 V\n"
        + capacitor("C1", "330u", 0.5)
        + "~ pattern:\n~ - {lights: [D1], for: 20 ms, every: 330 ms}\n"
        + "~ - {part: U2, current: 12 mA, for: 30 ms, every: 470 ms}\n",
        (
            *source(3.0, 60),
            "C1 vbat k 330u",
            "Rc k 0 0.5",
            *LIGHT,
            f"Vpin on 0 {pulse('1', 0.0, 20e-3, 0.33)}",
            f"I2 vbat 0 {pulse('11.95m', 0.0, 30e-3, 0.47)}",
            "I3 vbat 0 50u",
        ),
        15.51,
        31.02,
        2e-4,
    ),
    "a reservoir behind a resistor": PulsedBoard(
        cell(60)
        + "R8 22 VBAT VDD\nR9 3.3k VBAT GND\n"
        + SENSORS.replace("VBAT", "VDD")
        + capacitor("C1", "220u", 0.5).replace("VBAT", "VDD")
        + "~ pattern: [{part: U1, current: 10 mA, for: 20 ms, every: 500 ms}]\n",
        (
            *source(3.0, 60),
            "R8 vbat vdd 22",
            "R9 vbat 0 3.3k",
            "C1 vdd k 220u",
            "Rc k 0 0.5",
            f"I1 vdd 0 {pulse('10m', 0.2, 20e-3, 0.5)}",
        ),
        2.0,
        2.5,
        5e-5,
        node="vdd",
    ),
    "a reservoir behind a diode": PulsedBoard(
        cell(60)
        + "D8 diode/BAT54 VBAT VDD = forward_voltage 0.3 V at 10 mA = emission 1.05"
        + " = series_resistance 1 ohm\n"
        + SENSORS.replace("VBAT", "VDD")
        + capacitor("C1", "220u", 0.5).replace("VBAT", "VDD")
        + "~ pattern: [{part: U1, current: 10 mA, for: 20 ms, every: 500 ms}]\n",
        (
            *source(3.0, 60),
            "D8 vbat vdd schottky",
            model("schottky", 0.3, 10e-3, 1.05, 1.0),
            "C1 vdd k 220u",
            "Rc k 0 0.5",
            "Rleak vdd 0 1e12",
            f"I1 vdd 0 {pulse('10m', 0.2, 20e-3, 0.5)}",
        ),
        4.0,
        4.5,
        5e-5,
        node="vdd",
    ),
    "lights in turn": PulsedBoard(
        cell(60)
        + "U1 mcu VCC+ VBAT GND- GND PB0 P0 PB1 P1 = pin_resistance 30 ohm = sleep_current 0 A"
        + " = supply 1.0 to 5 V\nR1 47 P0 N1\nD1 led N1 GND"
        + RED
        + "\nR2 220 P1 N2\nD2 led N2 GND"
        + RED
        + "\n"
        + capacitor("C1", "330u", 0.5)
        + "~ pattern: [{lights: [D1, D2], in_turn: yes, for: 20 ms, every: 200 ms}]\n",
        (
            *source(3.0, 60),
            "C1 vbat k 330u",
            "Rc k 0 0.5",
            *LIGHT,
            f"Vpin on 0 {pulse('1', 0.1, 20e-3, 0.2)}",
            f"Vpin2 on2 0 {pulse('1', 0.12, 20e-3, 0.2)}",
            "S2 vbat p2 on2 0 pin",
            "R2 p2 n2 220",
            "D2 n2 0 red",
        ),
        2.0,
        2.2,
        2e-5,
    ),
    "no reservoir at all": PulsedBoard(
        cell(100) + SENSORS + "~ pattern: [{part: U1, current: 8 mA, for: 20 ms, every: 1 s}]\n",
        (*source(3.0, 100), f"I1 vbat 0 {pulse('8m', 0.5, 20e-3, 1.0)}"),
        2.0,
        3.0,
        1e-4,
    ),
}

NGSPICE_39: dict[str, Reading] = {
    "a light through a pin, 100 µF tantalum": Reading(2.36396, 0.000162805),
    "the same with half of the charge used": Reading(2.24251, 0.000129741),
    "a burst of three steps": Reading(2.38917, 0.000235),
    "a recharge that does not finish": Reading(2.38991, 0.00199998),
    "bursts behind a booster, which takes a power": Reading(2.57934, 0.00182293),
    "a pulse too long for what is fitted": Reading(2.2, 0.0016),
    "two capacitors, of which one is quick": Reading(2.5192, 0.00149565),
    "two courses whose periods have nothing to do with each other": Reading(2.27301, 0.0011167),
    "bursts behind a regulator, the reservoir before it": Reading(2.39271, 0.000499994),
    "a short course that never recharges, and a long one": Reading(2.12615, 0.00210949),
    "a burst of two steps that meets a pulse of another course": Reading(1.92182, 0.00232882),
    "a light and a sensor whose periods have nothing to do with each other": Reading(
        2.19588, 0.00144377
    ),
    "a reservoir behind a resistor": Reading(2.40052, 0.00128566),
    "a reservoir behind a diode": Reading(2.30021, 0.000399998),
    "lights in turn": Reading(2.59995, 0.00143156),
    "no reservoir at all": Reading(2.2, 0.00016),
}
"""What ngspice 39 found for each board."""


def run(pulsed: PulsedBoard, folder: Path) -> Reading:
    """Let ngspice run a deck."""
    assert NGSPICE is not None
    span = f"from={pulsed.start!r} to={pulsed.stop!r}"
    lines = [
        "* a board in time",
        f".options temp={_CELSIUS:.6f} tnom={_CELSIUS:.6f} reltol=1e-5 vntol=1e-8 trtol=1",
        *pulsed.cards,
        ".control",
        f"tran {pulsed.step!r} {pulsed.stop!r} {pulsed.start!r} {pulsed.step!r}",
        f"meas tran lowest min v({pulsed.node}) {span}",
        f"meas tran charge integ i(vcell) {span}",
        ".endc",
        ".end",
    ]
    file = folder / "pulses.cir"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = subprocess.run(
        [NGSPICE, "-b", str(file)], capture_output=True, text=True, timeout=120, check=False
    )
    found = dict(re.findall(r"^(lowest|charge) += +([-+.\de]+)", done.stdout, flags=re.MULTILINE))
    assert len(found) == 2, f"{done.stdout}\n{done.stderr}"
    # ngspice counts the current into the positive terminal of a source
    mean = -float(found["charge"]) / (pulsed.stop - pulsed.start)
    return Reading(float(found["lowest"]), mean)
