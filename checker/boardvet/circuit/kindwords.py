"""Words by which kinds of part are told: a module of data for the kind view.

Trade practice from memory, no standard beyond the class letters of IEEE 315 and IEC 81346 that
people still use. Everything is matched in lower case and the first pattern that fits counts, so
the narrow stand before the wide.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from boardvet.vocabulary.kinds import Kind

__all__ = [
    "BY_DESCRIPTION",
    "BY_LETTERS",
    "BY_LIBRARY",
    "BY_SYMBOL",
    "CLASSES_OF_CIRCUITS",
    "NO_HOLDERS",
    "REFINED",
    "first_kind",
]

BY_LETTERS: Mapping[str, Kind] = {
    letters: kind
    for kind, words in {
        Kind.RESISTOR: "R",
        Kind.RESISTOR_NETWORK: "RN RP RM",
        Kind.POTENTIOMETER: "RV POT",
        Kind.THERMISTOR: "RT TH NTC",
        Kind.CAPACITOR: "C CP",
        Kind.INDUCTOR: "L",
        Kind.FERRITE: "FB",
        Kind.FUSE: "F FUSE",
        Kind.DIODE: "D CR VD",
        Kind.ZENER: "ZD DZ",
        Kind.TVS: "TVS ESD",
        Kind.BRIDGE: "BR",
        Kind.LED: "LED",
        Kind.CELL: "BT BAT BATT XBT",
        Kind.SOLAR_CELL: "PV SOLAR",
        Kind.CRYSTAL: "Y XTAL ZQ",
        Kind.OPTOCOUPLER: "OK",
        Kind.SWITCH: "SW S",
        Kind.BUTTON: "PB BTN BUT KEY",
        Kind.CONNECTOR: "J P CN CON CONN HDR TB SK XP XS ST BU",
        Kind.USB_CONNECTOR: "USB",
        Kind.JUMPER: "JP SJ SB",
        Kind.JOINED_GROUND: "NT",
        Kind.TEST_POINT: "TP",
        Kind.HOLE: "H MH",
        Kind.FIDUCIAL: "FID",
        Kind.BUZZER: "BZ BUZ LS SPK",
        Kind.MICROPHONE: "MK MIC",
        Kind.MOTOR: "M",
        Kind.TRANSFORMER: "T",
        Kind.ANTENNA: "AE ANT",
        Kind.RELAY: "RL REL RLY",
        Kind.DISPLAY: "DS DISP LCD OLED",
        Kind.INTEGRATED_CIRCUIT: "U IC DA DD",
        Kind.MODULE: "MOD",
        Kind.GRAPHIC: "LOGO",
    }.items()
    for letters in words.split()
}
"""What a designator's letters say where nothing says more."""

CLASSES_OF_CIRCUITS = frozenset(
    ("U", "IC", "A", "MOD", "VR", "PS", "N", "AMP", "CMP", "ESP", "DA", "DD")
)
"""Letters under which integrated circuits and modules stand."""

NO_HOLDERS = frozenset(
    letters
    for letters, kind in BY_LETTERS.items()
    if kind not in {Kind.CELL, Kind.CONNECTOR, Kind.HOLE, Kind.INTEGRATED_CIRCUIT}
) | {"Q", "VT", "IC"}
"""Letters of parts that are no cell, whatever their symbol or number looks like: a CR0603 is a
resistor, and BATTERY_SWITCH a switch."""


class Words:
    """Patterns in order, each with the kind that it tells."""

    def __init__(self, *rows: tuple[str, Kind]) -> None:
        self._rows = tuple((re.compile(pattern), kind) for pattern, kind in rows)
        # A board repeats few texts many times.
        self.first = cache(self._first)

    def _first(self, text: str) -> Kind | None:
        lowered = text.lower()
        return next((kind for pattern, kind in self._rows if pattern.search(lowered)), None)


def first_kind(table: Words | None, text: str) -> Kind | None:
    """Return the kind of the first pattern that a text fits, None if it fits none."""
    return table.first(text) if table is not None and text else None


BY_SYMBOL = Words(
    (
        r"(conn|header|terminal|socket|plug).*(^|[_-])led|(^|[_-])led.*(conn|header)",
        Kind.CONNECTOR,
    ),
    (r"ws28\d\d|sk68\d\d|apa10\d|neopixel|addressable", Kind.ADDRESSABLE_LED),
    (r"^led|(^|[_-])led([_-]|$)|^ir_?led|dual_?led|rgb_?led", Kind.LED),
    (r"mounting_?hole|^mtg|^hole", Kind.HOLE),
    (r"fiducial", Kind.FIDUCIAL),
    (r"(^|[_-])(logo|graphic)|^sym_", Kind.GRAPHIC),
    (r"net-?_?tie|joined", Kind.JOINED_GROUND),
    (r"jumper|^jp\d?([_-]|$)|^sj(\d|[_-]|$)|solder_?bridge", Kind.JUMPER),
    (r"test_?(point|pad)", Kind.TEST_POINT),
    (r"solar", Kind.SOLAR_CELL),
    (
        r"^(battery|batt?|cell)([_-]|$)|(coin|button)_?cell|batt?(ery)?[_-]?(holder|clip|retainer)"
        r"|(coin|cell)[_-]?holder|(^|[_-])bat-?hld",
        Kind.CELL,
    ),
    (
        r"^usb(?!lc|uf|\d{3})|usb_?[abc]([_-]|$)|usb.*(receptacle|plug|micro|mini|otg)"
        r"|(^|[_-])type-?c([_-]|$)",
        Kind.USB_CONNECTOR,
    ),
    (r"(micro|mini)_?-?sd([_(-]|$)|(^|[_-])(sd|tf|sim)_?card|card_?(slot|socket)", Kind.MEMORY),
    (
        r"^con(n|\d|$)|^b?h[ns]?\d+[sx]|header|(^|[_-])hdr|^socket|receptacle|^jst|terminal|card_?edge"
        r"|barrel|jack|(^|[_-])(rj\d\d|hdmi|coax|f[pf]c|molex|u\.?fl|sma|qwiic|grove)([_-]|$)"
        r"|pin_?(strip|socket)|pogo",
        Kind.CONNECTOR,
    ),
    (r"push|button|(^|[_-])tact([_-]|$)|tactile|tact_?sw|momentary", Kind.BUTTON),
    (r"cherry_?mx|kailh|key_?switch", Kind.BUTTON),
    (r"^sw([_-]|$|\d)|switch_?(sp|dp|slide|dip)?|^sp[sd]t|^dp[sd]t|slide", Kind.SWITCH),
    (r"relay", Kind.RELAY),
    (r"opto", Kind.OPTOCOUPLER),
    (r"d_?photo|photo_?diode|q_photo|photo_?trans", Kind.SENSOR),
    (r"thermistor|^ntc|^ptc", Kind.THERMISTOR),
    (r"varistor|^mov", Kind.VARISTOR),
    (r"^pot([_-]|$)|potentiometer|r_pot|trimmer|^r_var", Kind.POTENTIOMETER),
    (r"r_?(pack|network)|^ra\d|resistor_?(net|pack|array)", Kind.RESISTOR_NETWORK),
    (r"fuse", Kind.FUSE),
    (r"ferrite", Kind.FERRITE),
    (r"buzzer|speaker|piezo", Kind.BUZZER),
    (r"crystal|^xtal", Kind.CRYSTAL),
    (r"resonator", Kind.RESONATOR),
    (r"oscillator|^osc([_-]|$)", Kind.OSCILLATOR),
    (r"zener", Kind.ZENER),
    (r"tvs|^d_?esd|^p?esd[a-z]*\d|transil|esd_?(protection|diode)", Kind.TVS),
    (r"d_?bridge|bridge_?rect", Kind.BRIDGE),
    (r"diode|^d([_-]|$)|schottky|^1n\d{4}", Kind.DIODE),
    (r"mosfet|[np]-?mos|q_[np]_?jfet|^fet", Kind.FET),
    (r"(^|_)(npn|pnp)([_-]|$)|darlington|^q_[np]pn", Kind.TRANSISTOR),
    (r"motor([_-]|$)", Kind.MOTOR),
    (r"microphone|^mic([_-]|$)", Kind.MICROPHONE),
    (r"transformer", Kind.TRANSFORMER),
    (r"antenna|^ant([_-]|$)", Kind.ANTENNA),
    (r"^r([_-]|$)|^res([_-]|\d|$)|^resistor|^resc\d|^rr?_?(us|small)", Kind.RESISTOR),
    (r"^cp?\d?([_-]|$)|^cap([_-]|\d|[cm][a-z]*\d|$)|^capacitor|^c_pol", Kind.CAPACITOR),
    (r"^l([_-]|$)|^ind([_-]|[cm]?\d|$)|inductor|^coil|choke", Kind.INDUCTOR),
)
"""Names of symbols, and of footprints where no symbol says more."""

BY_DESCRIPTION = Words(
    (r"charg(er|e management|ing)", Kind.CHARGER),
    (r"battery protect", Kind.PROTECTOR),
    (r"supervis|reset (ic|generator|circuit)|voltage (detector|monitor)", Kind.SUPERVISOR),
    (
        r"regulator|\bldo\b|low[- ]?drop|dc[-/ ]dc|buck|boost|step[- ](up|down)|switcher",
        Kind.REGULATOR,
    ),
    (r"microcontroller|\bmcu\b|microprocessor|\bsoc\b", Kind.CONTROLLER),
    (r"eeprom|flash memory|sram|\bmemory\b", Kind.MEMORY),
    (r"real[- ]?time clock|\brtc\b", Kind.CLOCK),
    (r"(tvs|esd|transient).*(array|protection|suppress)|esd protection", Kind.TVS),
    (r"\bdriver\b", Kind.DRIVER),
    (r"sensor|accelerometer|gyroscope|magnetometer|thermometer", Kind.SENSOR),
    (
        r"\bmodule\b|devkit|\bpro ?micro\b|\barduino\b|nodemcu|\bteensy|\bxiao\b|raspberry pi"
        r"|\bwemos|\bfeather\b|blue ?pill",
        Kind.MODULE,
    ),
    (r"display|\boled\b|\blcd\b", Kind.DISPLAY),
    (r"oscillator", Kind.OSCILLATOR),
    (r"op(erational)?[- ]?amp|comparator|amplifier", Kind.ANALOGUE),
    (r"\bgate\b|buffer|inverter|flip[- ]?flop|shift register|\blogic\b|multiplexer", Kind.LOGIC),
)
"""What the description of a circuit says; underscores are read as blanks."""

BY_LIBRARY = Words(
    (r"^(mcu|cpu)(_|$)", Kind.CONTROLLER),
    (r"^regulator", Kind.REGULATOR),
    (r"^sensor(_|$)", Kind.SENSOR),
    (r"^memory(_|$)", Kind.MEMORY),
    (r"^(rf_)?module(_|s?$)", Kind.MODULE),
    (r"^display(_|$)", Kind.DISPLAY),
    (r"^driver(_|$)", Kind.DRIVER),
    (r"^(amplifier|comparator|analog)(_|$)", Kind.ANALOGUE),
    (r"^(74x|4xxx|logic(_|$))", Kind.LOGIC),
    (r"^timer_rtc", Kind.CLOCK),
    (r"^power_supervisor", Kind.SUPERVISOR),
    (r"^transistor_fet", Kind.FET),
    (r"^transistor_bjt", Kind.TRANSISTOR),
    (r"(^|_)(buttons?|keys)$", Kind.BUTTON),
    (r"(^|_)switch(es)?$", Kind.SWITCH),
    (r"(^|_)connect(or|ors)?$|^connector(_|$)", Kind.CONNECTOR),
    (r"(^|_)relays?$", Kind.RELAY),
    (r"(^|_)leds?$", Kind.LED),
    (r"(^|_)diodes?$", Kind.DIODE),
)
"""What the name of a library says: only names that sort parts, since projects too name one."""

REFINED: Mapping[Kind, Words] = {
    Kind.DIODE: Words(
        (r"\bws28\d\d|\bsk68\d\d|addressable", Kind.ADDRESSABLE_LED),
        (r"(^|[^a-z])led([^a-z]|c?\d|$)|light.emitting|\bneopixel", Kind.LED),
        (r"zener|\bbzx|\bbzt|\bmm[sz]z?\d", Kind.ZENER),
        (r"\btvs|\bp?esd|transil|\bsm[abcf]j\d|\bp[46]ke", Kind.TVS),
        (r"bridge.?rect", Kind.BRIDGE),
    ),
    Kind.SWITCH: Words(
        (r"(^|[^a-z])tact([^a-z]|$)|tactile|push|button|cherry|kailh|key.?switch", Kind.BUTTON),
    ),
    Kind.INDUCTOR: Words(
        (
            r"ferrite|\bbead|(^|[^a-z])(fb|blm|bk|mpz|upz|hz)\d|^\d+\s?(r|ohm|ω|Ω)(\b|@|/)",
            Kind.FERRITE,
        ),
    ),
    Kind.RESISTOR: Words(
        (r"\bthermistor|\bntc\b|\bptc\b", Kind.THERMISTOR),
    ),
    Kind.POTENTIOMETER: Words(
        (r"varistor|\bmov\b", Kind.VARISTOR),
    ),
    Kind.JUMPER: Words(
        (r"push.?button|tactile", Kind.BUTTON),
    ),
}
"""What value, footprint and description say more of a part whose kind is known in the large."""
