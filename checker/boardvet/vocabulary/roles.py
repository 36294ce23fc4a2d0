"""The roles that a pin can have in its part."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Role"]


class Role(StrEnum):
    """What a pin is for. The value is the word written under ``pins:`` of the intent page."""

    SUPPLY = "supply"
    GROUND = "ground"
    THERMAL = "thermal pad"
    BACKUP_SUPPLY = "back-up supply"
    REFERENCE = "reference"
    SUPPLY_OUTPUT = "supply output"
    REGULATOR_INPUT = "regulator input"
    SWITCH_NODE = "switch node"
    ENABLE = "enable"
    FEEDBACK = "feedback"
    PROGRAM = "program"
    BATTERY = "battery"
    POSITIVE = "positive"
    NEGATIVE = "negative"
    ANODE = "anode"
    CATHODE = "cathode"
    GATE = "gate"
    DRAIN = "drain"
    SOURCE = "source"
    BASE = "base"
    COLLECTOR = "collector"
    EMITTER = "emitter"
    INPUT = "input"
    OUTPUT = "output"
    BIDIRECTIONAL = "input or output"
    OPEN_DRAIN = "open drain"
    RESET = "reset"
    CLOCK_TERMINAL = "crystal"
    PASSIVE = "passive"
    NO_CONNECT = "no connect"
    SHIELD = "shield"
    UNKNOWN = "unknown"
