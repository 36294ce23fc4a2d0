"""The kinds of part that boardvet tells apart.

A module of data: the schemas of intent and facts, the texts of reports and the kind view are
made from it. The name of a kind is the word used in ``kind:`` and in reports.
"""

from __future__ import annotations

from enum import StrEnum

__all__ = ["INTEGRATED", "MECHANICAL", "TWO_TERMINAL", "Kind"]


class Kind(StrEnum):
    """What a part is. The value is the word that a person writes and reads."""

    RESISTOR = "resistor"
    RESISTOR_NETWORK = "resistor network"
    POTENTIOMETER = "potentiometer"
    THERMISTOR = "thermistor"
    VARISTOR = "varistor"
    CAPACITOR = "capacitor"
    INDUCTOR = "inductor"
    FERRITE = "ferrite"
    FUSE = "fuse"
    DIODE = "diode"
    ZENER = "zener"
    TVS = "tvs"
    BRIDGE = "bridge rectifier"
    LED = "led"
    ADDRESSABLE_LED = "addressable led"
    TRANSISTOR = "bipolar transistor"
    FET = "fet"
    OPTOCOUPLER = "optocoupler"
    CELL = "cell"
    SOLAR_CELL = "solar cell"
    CRYSTAL = "crystal"
    RESONATOR = "resonator"
    OSCILLATOR = "oscillator"
    SWITCH = "switch"
    BUTTON = "button"
    RELAY = "relay"
    JUMPER = "jumper"
    JOINED_GROUND = "joined nets"
    CONNECTOR = "connector"
    USB_CONNECTOR = "usb connector"
    TEST_POINT = "test point"
    CONTROLLER = "controller"
    REGULATOR = "regulator"
    CHARGER = "charger"
    PROTECTOR = "battery protector"
    SUPERVISOR = "supervisor"
    DRIVER = "driver"
    LOGIC = "logic"
    ANALOGUE = "analogue ic"
    SENSOR = "sensor"
    MEMORY = "memory"
    CLOCK = "clock"
    MODULE = "module"
    DISPLAY = "display"
    INTEGRATED_CIRCUIT = "integrated circuit"
    BUZZER = "buzzer"
    MOTOR = "motor"
    MICROPHONE = "microphone"
    TRANSFORMER = "transformer"
    ANTENNA = "antenna"
    HOLE = "mounting hole"
    FIDUCIAL = "fiducial"
    GRAPHIC = "graphic"
    UNKNOWN = "unknown"


TWO_TERMINAL = frozenset(
    {
        Kind.RESISTOR,
        Kind.THERMISTOR,
        Kind.VARISTOR,
        Kind.CAPACITOR,
        Kind.INDUCTOR,
        Kind.FERRITE,
        Kind.FUSE,
        Kind.DIODE,
        Kind.ZENER,
        Kind.TVS,
        Kind.LED,
    }
)
"""Kinds whose usual form has two terminals."""

INTEGRATED = frozenset(
    {
        Kind.CONTROLLER,
        Kind.REGULATOR,
        Kind.CHARGER,
        Kind.PROTECTOR,
        Kind.SUPERVISOR,
        Kind.DRIVER,
        Kind.LOGIC,
        Kind.ANALOGUE,
        Kind.SENSOR,
        Kind.MEMORY,
        Kind.CLOCK,
        Kind.MODULE,
        Kind.DISPLAY,
        Kind.OSCILLATOR,
        Kind.ADDRESSABLE_LED,
        Kind.INTEGRATED_CIRCUIT,
    }
)
"""Kinds that take a supply of their own."""

MECHANICAL = frozenset({Kind.HOLE, Kind.FIDUCIAL, Kind.GRAPHIC})
"""Kinds that are no parts to buy."""
