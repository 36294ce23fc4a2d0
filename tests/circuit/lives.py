"""Boards on a stated cell whose discharge tests ask for."""

from __future__ import annotations

from tests.circuit.emptied import Sloping

from boardvet.circuit.discharge import Consumption, Discharge
from boardvet.testing import circuit_of

SLOPE = Sloping()
FLAT = Sloping(3.0, 3.0, 0.0, 0.0)
TEN_OHM = Sloping(3.2, 2.0, 10.0, 10.0)

HOUR = 3600.0

REGULATOR = (
    "U2 regulator VIN+ VBAT GND- GND 3:VOUT VOUT = output 2.5 V = dropout 100 mV at 50 mA"
    " = pins {1: regulator input, 3: supply output} = quiescent_current 10 uA"
)
STEP_UP = (
    "U2 regulator VIN+ VBAT GND- GND 3:VOUT VOUT = output 3.3 V = conversion step-up"
    " = efficiency 80 % = pins {1: regulator input, 3: supply output}"
    " = quiescent_current 20 uA = supply 0.5 to 5 V"
)


def discharge(*lines: str, cell: Sloping | None = None, stop: str = "0.1 V") -> Discharge:
    """Return the discharge of a board on one cell, which is a real CR2032 where none is given."""
    holder = (
        ["BT1 cell/holder VBAT GND", f"~ cell: {cell.page(stop)}"]
        if cell
        else ["BT1 CR2032 VBAT GND"]
    )
    return circuit_of("\n".join([*holder, *lines])).view(Discharge)


def controller(supply: str = "1.8 to 3.6 V", *facts: str, node: str = "VBAT") -> str:
    """A controller that draws nothing at rest."""
    more = "".join(f" = {fact}" for fact in facts)
    return f"U1 mcu VCC+ {node} GND- GND = sleep_current 0 A = supply {supply}{more}"


def drawing(*entries: str) -> str:
    """A pattern in which the controller draws something."""
    return "~ pattern: [" + ", ".join(f"{{part: U1, {entry}}}" for entry in entries) + "]"


def taken(found: Discharge, part: str, what: str = "itself") -> Consumption:
    (each,) = (c for c in found.consumers if (c.part, c.what) == (part, what))
    return each
