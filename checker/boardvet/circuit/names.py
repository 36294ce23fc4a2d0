"""What names say: designator letters, pin functions, ground and rail names.

Pure text questions, shared by the views. Trade practice, no standard: designer libraries name
supply pins and rails as they like, so these lists are what has been met, from memory.
"""

from __future__ import annotations

import re
from functools import cache

__all__ = [
    "is_ground_name",
    "is_supply_name",
    "natural_key",
    "pin_name",
    "plain_net_name",
    "rail_voltage",
    "reference_letters",
]

_LETTERS = re.compile(r"[^\W\d_]+")
_GROUND = re.compile(
    r"([ADPSCQ]|CHASSIS|EARTH|DIG|ANA|PWR|POWER|USB|BAT|SIG)?_?GND"
    r"(?!_?(SW|EN|CTRL|CTL|SNS|DRV|OFF|ON|LED)\d*$)(_?[A-Z]{1,4})?_?\d*"
    r"|VSS(A|D|IO|_?\w{1,5})?|GROUND|0V|V-|VEE|AVSS|DVSS|COM_GND|MASS|MASSE"
)
_SUPPLY = re.compile(
    r"(?!.*_(EN|SENSE?|SNS|DET|OK|PG|GOOD|LOW|CTRL|CTL|FB|ADC|MON|DIV)$)("
    r"(A|D|P|IO|LV|HV|USB|BAT|CORE|RF|LED)?_?V_?(CC|DD|BUS|SYS|S|M|P|IN|LED|RAW|MAIN)"
    r"(_?(A|D|IO|H|L|RF|BAT|USB|CORE|PLL|ANA|DIG|PA|TX|RX|REF|INT|EXT|MCU|SPI|SDIO|P|I|ESD))?_?\d*"
    r"|V\+|V|V_?BAT[A-Z]?\d*\+?|VBATT|BAT\+?|BATT\+?|V\d[VP._]?\d*|\d+V\d*[A-Z]?|\d+\.\d+(V[A-Z]?)?"
    r"|VDD\w{0,4}|AVCC\d*|AVDD\d*|DVDD\d*|DVCC\d*|IOVDD\d*|VCC\w{0,4}|VPWR|PWR|POWER|VPP_?VDD"
    r"|VDC|VCHG|VUSB|VMOT|3V3\w*|\d+V\d*_(USB|BAT|IN|SW|MCU|IO|EXT|LED)|VBUS_\w{1,4}|V(IN|BAT)_\w{2,4})"
)
_VOLTAGE = re.compile(
    r"(?:^|[^A-Z0-9.]|V(?:CC|DD))\+?V?_?(?:(\d+)V(\d{1,2})|(\d+(?:\.\d+)?)V)A?(?![A-Z0-9])"
    r"|^\+(\d+(?:\.\d+)?)$"
)
_OVERBAR = re.compile(r"[~!{}\\^_*#]+|^/+")
_DIGITS = re.compile(r"(\d+)")


@cache
def reference_letters(reference: str) -> str:
    """Return the class letters of a designator in upper case: "LED" for "LED12", "" if none.

    >>> reference_letters("BT1"), reference_letters("5.0V/3.3V1")
    ('BT', '')
    """
    match = _LETTERS.match(reference)
    return match.group().upper() if match else ""


@cache
def pin_name(function: str) -> str:
    """Return a pin function in upper case without overbars, underscores and blanks.

    >>> pin_name("~{RESET}"), pin_name("V_{BAT}"), pin_name("V+")
    ('RESET', 'VBAT', 'V+')
    """
    return _OVERBAR.sub("", function.strip()).replace(" ", "").upper()


def plain_net_name(name: str) -> str:
    """Return the last part of a hierarchical net name, in upper case.

    >>> plain_net_name("/Power Supply/VBAT"), plain_net_name("GND")
    ('VBAT', 'GND')
    """
    return name.rstrip("/").rpartition("/")[2].strip().upper()


@cache
def is_ground_name(name: str) -> bool:
    """Tell whether a net or pin name says ground.

    >>> [is_ground_name(n) for n in ("GND", "/AGND", "GNDA", "VSS", "GNDET")]
    [True, True, True, True, True]
    """
    return bool(_GROUND.fullmatch(plain_net_name(name)))


@cache
def is_supply_name(name: str) -> bool:
    """Tell whether a pin name says supply.

    >>> [is_supply_name(n) for n in ("VDD", "AVCC", "VDDIO", "V+", "3V3", "PB0")]
    [True, True, True, True, True, False]
    """
    plain = name.upper()
    if plain == "V":
        return False
    if plain.startswith("+"):
        return plain[1:].isdecimal() or bool(_SUPPLY.fullmatch(plain[1:]))
    return bool(_SUPPLY.fullmatch(plain))


@cache
def rail_voltage(name: str) -> float | None:
    """Return the voltage that a net name states, in volts; None if it states none or less than 0.

    >>> rail_voltage("+3V3"), rail_voltage("/VDD_1.8V"), rail_voltage("5V"), rail_voltage("VBAT")
    (3.3, 1.8, 5.0, None)
    """
    plain = plain_net_name(name)
    match = _VOLTAGE.search(plain)
    if match is None or plain.startswith("-"):
        return None
    whole, fraction, plain, bare = match.groups()
    return float(f"{whole}.{fraction}" if whole else plain or bare)


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key by which R2 comes before R10.

    >>> sorted(["R10", "R2", "C1"], key=natural_key)
    ['C1', 'R2', 'R10']
    """
    return tuple(
        (1, int(piece[:18]), piece) if piece.isdecimal() else (0, 0, piece)
        for piece in _DIGITS.split(text)
        if piece
    )
