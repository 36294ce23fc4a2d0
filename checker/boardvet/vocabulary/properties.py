"""What can be stated of a part and of a net: a module of data.

The intent schema, the facts schema, the JSON schema for editors, the texts of what is missing
and ``explain intent`` are made from it. To add a property, add its line here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from boardvet.errors import MissingFact
from boardvet.known import Known
from boardvet.vocabulary.entries import CELL, GROUPS, PAGE
from boardvet.vocabulary.forms import EVERY, Form, Property, Stated, parse
from boardvet.vocabulary.kinds import INTEGRATED, Kind
from boardvet.vocabulary.roles import Role

__all__ = [
    "EVERY",
    "NET_PROPERTIES",
    "PROPERTIES",
    "Form",
    "Property",
    "as_key",
    "known_property",
    "missing_fact",
    "parse_property",
]

_ANY: frozenset[Kind] = frozenset()
_LED = frozenset({Kind.LED})
_JUNCTION = frozenset({Kind.LED, Kind.DIODE, Kind.ZENER, Kind.BRIDGE, Kind.ADDRESSABLE_LED})
_CAPACITOR = frozenset({Kind.CAPACITOR})
_CONTROLLER = frozenset({Kind.CONTROLLER, Kind.MODULE, Kind.LOGIC})
_CRYSTAL = frozenset({Kind.CRYSTAL, Kind.RESONATOR})
_FET = frozenset({Kind.FET})
_SWITCHED = frozenset({Kind.FET, Kind.TRANSISTOR})
_REGULATOR = frozenset({Kind.REGULATOR})
_CHARGER = frozenset({Kind.CHARGER})
_SETTABLE = frozenset({Kind.CHARGER, Kind.DRIVER})
_POWER = frozenset({Kind.REGULATOR, Kind.CHARGER})
_MODULE = frozenset({Kind.MODULE})
_HEADER = frozenset({Kind.CONNECTOR, Kind.USB_CONNECTOR})
_HOLDER = frozenset({Kind.CELL, Kind.CONNECTOR})
_RATED = frozenset({Kind.RESISTOR, Kind.RESISTOR_NETWORK, Kind.POTENTIOMETER})
_TOLERANCE = frozenset({Kind.RESISTOR, Kind.CAPACITOR, Kind.INDUCTOR, Kind.REGULATOR})
_INSULATED = frozenset({Kind.CAPACITOR, Kind.FET, Kind.DIODE, Kind.TRANSISTOR})

_NUMBER, _SPAN, _POINTS, _SHARE = Form.NUMBER, Form.SPAN, Form.POINTS, Form.SHARE
_FLAG, _TEXT, _CHOICE, _LIST = Form.FLAG, Form.TEXT, Form.CHOICE, Form.LIST
_ROLES = Form.ROLES

_KINDS = tuple(kind.value for kind in Kind if kind is not Kind.UNKNOWN)
_ROLE_WORDS = tuple(role.value for role in Role if role is not Role.UNKNOWN)
_COLOURS = (
    "infrared", "red", "orange", "amber", "yellow", "yellow-green", "green", "cyan", "blue",
    "violet", "ultraviolet", "white", "warm white", "pink", "red-green-blue",
)  # fmt: skip


def _table(properties: Iterable[Property]) -> Mapping[str, Property]:
    return {each.name: each for each in properties}


# fmt: off
PROPERTIES: Mapping[str, Property] = _table([
    # What the part is.
    Property("kind", "", "", _CHOICE, _ANY, "what the part is", "regulator",
             missing="which kind of part {of} is, is not known", choices=_KINDS),
    Property("pins", "", "", _ROLES, _ANY, "what pins are for, by pin number",
             "{3: enable, 7: no connect}", missing="what the pins of {of} are for is not known",
             choices=_ROLE_WORDS),
    Property("fitting", "", "", _CHOICE, _ANY,
             "how it gets on the board, where not by the machine", "by hand",
             choices=("by hand", "not fitted")),
    # Parts with a supply of their own.
    Property("supply", "V", "", _SPAN, INTEGRATED, "lowest and highest supply voltage",
             "1.8 to 5.5 V", missing="supply range of {of} is not known"),
    Property("supply_min", "V", "Hz", _POINTS, _CONTROLLER,
             "lowest supply voltage at each clock, where it depends on the clock",
             "1.8 V at 4 MHz and 2.7 V at 10 MHz"),
    Property("clock", "Hz", "", _NUMBER, _CONTROLLER, "clock that it runs at", "8 MHz"),
    Property("brown_out", "V", "", _NUMBER, _CONTROLLER,
             "supply voltage below which it resets itself", "1.8 V",
             missing="brown-out level of {of} is not known"),
    Property("sleep_current", "A", "", _NUMBER, INTEGRATED, "supply current at rest", "0.6 uA"),
    Property("pin_current_max", "A", "", _NUMBER, _CONTROLLER,
             "most current that one pin may carry (absolute maximum)", "20 mA",
             missing="how much current a pin of {of} may carry is not known", positive=True),
    Property("pin_current_rated", "A", "", _NUMBER, _CONTROLLER,
             "pin current at which its output levels are specified", "4 mA", positive=True),
    Property("chip_current_max", "A", "", _NUMBER, _CONTROLLER,
             "most current that all pins together may carry", "100 mA",
             missing="how much current all pins of {of} together may carry is not known",
             positive=True),
    Property("pin_resistance", "ohm", "V", _POINTS, _CONTROLLER | _CHARGER,
             "resistance of a driving output pin, at its supply voltage", "30 ohm at 3 V"),
    Property("tolerant_to", "V", "", _NUMBER, INTEGRATED,
             "highest voltage that its inputs stand, whatever its supply", "5.5 V",
             missing="what voltage the inputs of {of} stand is not known"),
    Property("fail_safe", "", "", _FLAG, INTEGRATED,
             "whether its inputs stand a voltage while it has no supply", "yes",
             missing="whether the inputs of {of} stand a voltage without supply is not known"),
    Property("pull_inside", "", "", _LIST, INTEGRATED,
             "pins with a pull-up or pull-down inside; yes for all inputs, no for none",
             "[RESET, BOOT]", missing="which pins of {of} have a pull inside is not known",
             yes_too=True),
    Property("bypass_inside", "", "", _FLAG, INTEGRATED,
             "whether it has its bypass capacitors inside", "yes",
             missing="whether {of} has its bypass capacitors inside is not known"),
    Property("programmed", "", "", _CHOICE, _CONTROLLER,
             "when it is programmed, where not on the board", "before fitting",
             choices=("before fitting",)),
    Property("pull_ups", "", "", _LIST, _MODULE, "pins or nets that a module pulls up itself",
             "[SDA, SCL]", missing="which pins {of} pulls up itself is not known", yes_too=True),
    Property("address", "", "", _TEXT, INTEGRATED, "its address on the bus", "0x3C"),
    # Regulators and chargers.
    Property("output", "V", "", _NUMBER, _POWER, "output voltage", "2.5 V",
             missing="output voltage of {of} is not known"),
    Property("reference_voltage", "V", "", _NUMBER, _REGULATOR,
             "voltage that its feedback pin is held at", "0.6 V"),
    Property("conversion", "", "", _CHOICE, _REGULATOR, "how it makes its output", "step-up",
             missing="how {of} makes its output is not known",
             choices=("linear", "step-up", "step-down", "step-up-down")),
    Property("efficiency", "", "A", _POINTS, _REGULATOR,
             "power out over power in, at the output current", "80 % at 1 mA and 90 % at 50 mA"),
    Property("dropout", "V", "A", _POINTS, _REGULATOR,
             "least voltage between input and output, at the output current",
             "120 mV at 50 mA", missing="drop-out voltage of {of} is not known"),
    Property("quiescent_current", "A", "", _NUMBER, _POWER,
             "current that it uses itself while on", "1.5 uA"),
    Property("dropout_current", "A", "", _NUMBER, _REGULATOR,
             "current that it uses itself while its input is too low to regulate", "0.5 mA"),
    Property("start_voltage", "V", "", _NUMBER, _REGULATOR,
             "least input voltage at which it starts", "0.9 V"),
    Property("input_capacitor_min", "F", "", _NUMBER, _POWER,
             "least capacitance at its input", "1 uF",
             missing="least input capacitor of {of} is not known"),
    Property("output_capacitor_min", "F", "", _NUMBER, _POWER,
             "least capacitance at its output", "1 uF",
             missing="least output capacitor of {of} is not known"),
    Property("enable", "", "", _CHOICE, INTEGRATED,
             "what an open enable pin does: pulled to a level inside, or must be left open",
             "pulled", missing="whether {of} pulls its enable pin itself is not known",
             choices=("pulled", "must_float")),
    Property("program_gain", "V", "", _NUMBER, _SETTABLE,
             "set current times set resistor: the current is this over the resistor", "1000 V"),
    Property("charge_voltage", "V", "", _NUMBER, _CHARGER, "voltage that it charges to", "4.2 V"),
    Property("charge_current_min", "A", "", _NUMBER, _CHARGER,
             "least charge current that it can be set to", "15 mA",
             missing="least charge current of {of} is not known"),
    Property("charge_current", "A", "", _NUMBER, _CHARGER,
             "charge current, where no resistor sets it", "100 mA",
             missing="charge current of {of} is not known"),
    Property("charge_current_max", "A", "", _NUMBER, _HOLDER,
             "most current that a cell may be charged with", "500 mA",
             missing="most charge current of {of} is not known"),
    Property("charge_current_standard", "A", "", _NUMBER, _HOLDER,
             "current that the maker of a cell charges it with as a rule", "200 mA"),
    Property("termination", "A", "", _NUMBER, _CHARGER,
             "current at which it ends charging, as such or as a share of the set current",
             "7.5 %", missing="current at which {of} ends charging is not known",
             share_too=True),
    # Heat and ratings.
    Property("thermal_resistance", "K/W", "", _NUMBER, _ANY,
             "heating of its inside above the air, for each watt", "250 K/W"),
    Property("junction_max", "degC", "", _NUMBER, _ANY, "highest temperature of its inside",
             "125 degC", missing="highest junction temperature of {of} is not known",
             least=None),
    Property("current_max", "A", "", _NUMBER, _ANY, "most current that it may carry for good",
             "20 mA", missing="how much current {of} may carry is not known", positive=True),
    Property("current_peak", "A", "", _POINTS, _ANY,
             "most current in short pulses, at the share of the time that it flows",
             "100 mA at 10 %", missing="how much current {of} may carry in pulses is not known"),
    Property("voltage_rating", "V", "", _NUMBER, _INSULATED, "highest voltage across it", "16 V",
             missing="voltage rating of {of} is not known", positive=True),
    Property("power_rating", "W", "", _NUMBER, _RATED, "most power that it may turn into heat",
             "0.1 W", positive=True),
    Property("tolerance", "", "", _SHARE, _TOLERANCE, "how far its value may be off", "5 %"),
    Property("dielectric", "", "", _TEXT, _CAPACITOR,
             "what a capacitor is made of, by code or word", "X7R"),
    # Lights, diodes.
    Property("colour", "", "", _CHOICE, _LED, "colour of its light", "red", choices=_COLOURS),
    Property("forward_voltage", "V", "A", _POINTS, _JUNCTION,
             "voltage across it while it conducts, at the current through it",
             "2.0 V at 10 mA"),
    Property("wanted_current", "A", "", _NUMBER, _LED, "current that it is meant to have",
             "5 mA", positive=True),
    Property("emission", "", "", _NUMBER, _JUNCTION,
             "emission coefficient n of its junction", "2.0", least=0.1),
    Property("series_resistance", "ohm", "", _NUMBER, _JUNCTION | _CAPACITOR,
             "resistance in series with its junction or its plates", "6 ohm"),
    Property("reverse_voltage_max", "V", "", _NUMBER, _JUNCTION,
             "highest voltage backwards across it", "5 V", positive=True),
    Property("reverse_current", "A", "V", _POINTS, _JUNCTION,
             "current that leaks backwards through it at 25 degC, at the voltage across it",
             "0.5 uA at 25 V", missing="reverse current of {of} is not known"),
    # Crystals, transistors, headers.
    Property("load_capacitance", "F", "", _NUMBER, _CRYSTAL,
             "capacitance that a crystal is made to see", "12.5 pF"),
    Property("channel", "", "", _CHOICE, _SWITCHED,
             "n or p for a field-effect transistor, npn or pnp for a bipolar one", "p",
             missing="whether {of} is of the n or p type is not known",
             choices=("n", "p", "npn", "pnp")),
    Property("gate_drive", "V", "", _NUMBER, _FET,
             "lowest gate voltage at which its on-resistance is specified", "2.5 V",
             missing="gate voltage at which {of} is specified is not known"),
    Property("gate_voltage_max", "V", "", _NUMBER, _FET, "highest gate voltage", "8 V",
             missing="highest gate voltage of {of} is not known", positive=True),
    Property("on_resistance", "ohm", "V", _POINTS, _FET,
             "resistance while switched on, at its gate voltage", "84 mohm at 4.5 V"),
    Property("powers_board", "", "", _FLAG, _HEADER, "whether it can feed the board", "yes",
             missing="whether {of} can feed the board is not known"),
])
"""Properties of parts, by key."""

NET_PROPERTIES: Mapping[str, Property] = _table([
    Property("bus", "", "", _CHOICE, _ANY, "which bus it belongs to", "i2c",
             missing="which bus {of} belongs to is not known",
             choices=("i2c", "spi", "uart", "usb", "one-wire", "can", "debug")),
    Property("speed", "Hz", "", _NUMBER, _ANY, "clock of the bus", "400 kHz"),
    Property("capacitance", "F", "", _NUMBER, _ANY, "capacitance of the net to ground", "60 pF"),
    Property("pull", "ohm", "", _NUMBER, _ANY,
             "pull resistor that is not on this board or is inside a part", "4.7 kohm"),
    Property("dip_max", "V", "", _NUMBER, _ANY, "deepest dip that is allowed", "200 mV",
             missing="how far {of} may dip is not known"),
    Property("driven_by", "", "", _LIST, _ANY, "parts, or pins such as U1.3, that drive it", "J2",
             missing="what drives {of} is not known"),
    Property("leaves_board", "", "", _FLAG, _ANY, "whether it goes on outside the board", "yes",
             missing="whether {of} leaves the board is not known"),
])
"""Properties of nets, by key."""
# fmt: on


_PLACES = (
    ("parts: {{of}: {{key}}}", PROPERTIES),
    ("nets: {{of}: {{key}}}", NET_PROPERTIES),
    ("{key}", PAGE),
    ("cell: {part: {of}, {key}}", CELL),
)


def parse_property(key: str, stated: Stated) -> object:
    """Return the value that was stated of a part, in SI units, in the form of the property.

    Raises
    ------
    QuantityError
        If the text is not right.
    KeyError
        If there is no such property.

    Examples
    --------
    >>> parse_property("sleep_current", "0.6 uA")
    6e-07
    """
    return parse(PROPERTIES[key], stated)[0]


def known_property(key: str, stated: Stated, source: str) -> Known[object]:
    """Return what was stated of a part with its unit and source; raises as `parse_property`."""
    value, unit = parse(PROPERTIES[key], stated)
    return Known(value, unit, source)


def missing_fact(of: str, key: str) -> MissingFact:
    """Return the error that says that something is needed and not known.

    Its `how` can be pasted into the intent page.

    Parameters
    ----------
    of : str
        Reference of a part or cell, name of a net, or what else it is about.
    key : str
        A property of parts, nets or cells, or a key of the page.

    Raises
    ------
    KeyError
        If the page has no such key.

    Examples
    --------
    >>> print(missing_fact("D3", "forward_voltage"))
    forward voltage of D3 is not known; parts: {D3: {forward_voltage: 2.0 V at 10 mA}}
    """
    if key in GROUPS:
        group = GROUPS[key]
        missing = group.missing.replace("{of}", of)
        return MissingFact(of, key, missing, f"{key}: {group.example}")
    for place, known in _PLACES:
        if key in known:
            stated = known[key]
            how = place.replace("{of}", as_key(of)).replace("{key}", f"{key}: {stated.example}")
            return MissingFact(of, key, stated.missing_of(of), how)
    raise KeyError(key)


def as_key(name: str) -> str:
    """Return a name as it can stand as a key between braces, quoted where it has to be.

    >>> as_key("Net-(D1-A)"), as_key("a,b")
    ('Net-(D1-A)', '"a,b"')
    """
    if re.fullmatch(r"[\w/+.(][\w/+.()~-]*", name):
        return name
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
