"""What the value text of a part says: "22uF/6.3V/20%/X5R/C0603" and all its relatives.

The text of a value field is written by people for people. It is cut into tokens; each token is
a quantity, a tolerance, a dielectric, a case size, or something else, which goes to `rest`.
Nothing is guessed: a token that could mean two values gives none.

Decisions
---------
* A bare number is ohms for a resistor ("100" is 100 Ω), but where the three or four digits are
  also a marking code of another value ("104", "153": two figures of E24 and a number of zeros
  that is not 0) or a case size ("1206") there is no value: 100 kΩ or 104 Ω, who knows.
* For capacitors and inductors three digits are an EIA code, in pF and in µH; a code that ends in
  0 ("100") could as well be the plain number and gives none, and so does any other bare number.
* For an inductor "R47" and "4R7" are µH, as inductors are marked; "600R" with the letter at its
  end is the impedance of a ferrite bead: the value is then in Ω, and `unit` says so.
* "1M" is 1 MΩ and "1m" is 1 mΩ; for a capacitor "1m" is 1 mF and "1M" nothing. Letters that can
  mean one thing only are taken in either case ("100NF", "16mhz").
* An explicit unit is believed over the letter of the reference; `unit` says which it was.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from boardvet.quantity.case import case_of_token
from boardvet.quantity.code import CODE, code_value
from boardvet.quantity.number import decimal, scaled
from boardvet.quantity.preferred import is_two_figures
from boardvet.quantity.unit import LOOKALIKES, PREFIXES

__all__ = ["LONGEST_VALUE_TEXT", "ComponentText", "parse_component"]

LONGEST_VALUE_TEXT = 300
"""A longer value text is not read; it is a note or a picture, not a value."""


class ComponentText(NamedTuple):
    """What a value text says of a part; a field is None where the text does not say it.

    Attributes
    ----------
    value : float or None
        The main quantity, in `unit`: resistance, capacitance, inductance, or the frequency of a
        crystal; the impedance of a ferrite bead.
    unit : str
        "ohm", "F", "H" or "Hz"; "" if there is no value.
    voltage : float or None
        Rated voltage, or the voltage of a zener. [V]
    tolerance : float or None
        As a share: 5 % is 0.05, 20 ppm is 2e-5.
    dielectric : str or None
        A ceramic class such as "X7R" or "C0G", or a technology such as "tantalum".
    case : str or None
        Imperial case code.
    power, current : float or None
        Ratings. [W] [A]
    frequency : float or None
        At which the value is stated, such as 100 MHz of a ferrite bead. [Hz]
    load_capacitance : float or None
        Of a crystal. [F]
    series_resistance : float or None
        Stated as DCR or ESR. [Ω]
    rest : str
        What was not understood, in its order, joined by spaces.
    """

    value: float | None = None
    unit: str = ""
    voltage: float | None = None
    tolerance: float | None = None
    dielectric: str | None = None
    case: str | None = None
    power: float | None = None
    current: float | None = None
    frequency: float | None = None
    load_capacitance: float | None = None
    series_resistance: float | None = None
    rest: str = ""


_WORDS_BESIDE_A_NUMBER = 1
"""With more words beside it a bare number is part of a sentence or an address."""

_UNIT_OF_LETTER = {"R": "ohm", "C": "F", "L": "H", "Y": "Hz"}

_SPLIT = re.compile(r"[\s;/|()\[\]{}@]+|,(?![0-9])|(?<![0-9]),|(?<=[0-9]{4}),|(?<=\b0[0-9]{3}),")
_GROUPED = re.compile(
    r"(?<![0-9.,])[1-9][0-9]{0,2}(?:\x20[0-9]{3})+(?![0-9.,])(?=\s*(?:[kM]?ohms?|[pnumk]?[FHR]?)\s*$)"
)
_SPACED = re.compile(
    r"(?<=[0-9])\s+(?=(?:[fpnumkKMG]|[Mm]eg|MEG)?"
    r"(?:\s?[oO][hH][mM][sS]?|F|H|Hz|HZ|V|VDC|A|W|R|%|ppm)(?![a-zA-Z0-9]))"
    r"|(?<=[0-9])\s+(?=[pnukKM](?:$|[\s,;/]))"
    r"|(?<=[0-9][kKMmG])\s+(?=[oO][hH][mM])"
)
_OHM_AT_POINT = re.compile(r"(?<=[0-9])ohm(?=[0-9])")
_FRACTION = re.compile(r"(?<![\w.,/])([1-3])/([1-9][0-9]?)\s?[wW](?![a-zA-Z])")
_PLAIN = re.compile(
    r"(\N{PLUS-MINUS SIGN})?"
    r"([0-9]{1,12}(?:[.,][0-9]{1,12})?|[.,][0-9]{1,12})"
    r"([Mm][Ee][Gg]|[fpnumkMGPNUKLT])?"
    r"([oO][hH][mM][sS]?|[rR]|[fF]|[hH]|[hH][zZ]|[vV](?:dc|DC)?|[aA]|[wW]|%|ppm)?"
    r"([BCDFGJKMZ])?"
)
_SERIES_RESISTANCE = re.compile(r"(?:DCR|ESR)[<=:]?(.+)", re.I)
_CERAMIC = re.compile(r"[XYZ][24-9][PRSTUV]|[CU][0O2][GJ]|NP[0O]", re.I)
_TECHNOLOGIES = {
    "tantalum": "tantalum",
    "tant": "tantalum",
    "polymer": "polymer",
    "electrolytic": "aluminium",
    "elko": "aluminium",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
    "film": "film",
    "ceramic": "ceramic",
    "mlcc": "ceramic",
}
_TOLERANCES = {
    "B": 0.001,
    "C": 0.0025,
    "D": 0.005,
    "F": 0.01,
    "G": 0.02,
    "J": 0.05,
    "K": 0.10,
    "M": 0.20,
}
"""Share for each letter of IEC 60062 (from memory); B, C and D of a capacitor are in pF."""

_PICOFARADS = {"B": 0.1e-12, "C": 0.25e-12, "D": 0.5e-12}

_PREFIXES_OF = {
    "ohm": {"": 1.0, "u": 1e-6, "m": 1e-3, "L": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9},
    "F": {"": 1.0, "m": 1e-3, **{p: PREFIXES[p.lower()] for p in "fpnuPNU"}},
    "H": {"": 1.0, "m": 1e-3, **{p: PREFIXES[p.lower()] for p in "pnuNU"}},
    "Hz": {"": 1.0, "k": 1e3, "K": 1e3, "m": 1e6, "M": 1e6, "G": 1e9},
    "V": {"": 1.0, "m": 1e-3, "k": 1e3, "K": 1e3},
    "A": {"": 1.0, "n": 1e-9, "u": 1e-6, "m": 1e-3},
    "W": {"": 1.0, "m": 1e-3, "k": 1e3},
}
_UNIT_OF_SPELLING = {"R": "ohm", "F": "F", "H": "H", "HZ": "Hz", "A": "A", "W": "W", "%": "%"} | {
    "OHM": "ohm",
    "OHMS": "ohm",
    "V": "V",
    "VDC": "V",
    "PPM": "ppm",
}
_LEADING_LETTERS = {"F": ("FTM", ("A",)), "Y": ("QXY", ("HZ",))}
_FIELD_OF_UNIT = {"V": "voltage", "A": "current", "W": "power"}


@lru_cache(maxsize=8192)
def parse_component(text: str, letter: str) -> ComponentText:
    """Return what a value text says.

    Parameters
    ----------
    text : str
        The value field of a part, or a cell of a BOM.
    letter : str
        Class letter: "R", "C", "L" (ferrite beads too), "F" fuse, "D" diode or LED, "Y" crystal,
        "" for all else.

    Returns
    -------
    ComponentText
        Fields that the text does not state, or not clearly, are None; never an exception.

    Examples
    --------
    >>> said = parse_component("22uF/6.3V/20%/X5R/C0603", "C")
    >>> said.value, said.voltage, said.tolerance, said.dielectric, said.case
    (2.2e-05, 6.3, 0.2, 'X5R', '0603')
    >>> parse_component("104", "C").value, parse_component("104", "R").value
    (1e-07, None)
    """
    if len(text) > LONGEST_VALUE_TEXT:
        return ComponentText(rest=text)
    reader = _Reader(letter)
    for token in _tokens(text, reader):
        if token and not reader.read(token):
            reader.rest.append(token)
    reader.settle_bare_numbers()
    return ComponentText(**reader.said, rest=" ".join(reader.rest))  # type: ignore[arg-type]


def _tokens(text: str, reader: _Reader) -> list[str]:
    clean = text.translate(LOOKALIKES).replace("+/-", "\N{PLUS-MINUS SIGN}").strip()
    if "ohm" in clean:
        clean = _OHM_AT_POINT.sub("R", clean)
    if " " in clean:
        clean = _GROUPED.sub(lambda match: match[0].replace(" ", ""), clean, count=1)
        clean = _SPACED.sub("", clean)
    if "/" in clean and (fraction := _FRACTION.search(clean)):
        reader.said["power"] = int(fraction[1]) / int(fraction[2])
        clean = clean[: fraction.start()] + " " + clean[fraction.end() :]
    return _SPLIT.split(clean)


class _Reader:
    """Collects what the tokens of one value text say."""

    __slots__ = ("bare", "letter", "rest", "said", "unit")

    def __init__(self, letter: str) -> None:
        self.letter = letter
        self.unit = _UNIT_OF_LETTER.get(letter, "")
        self.said: dict[str, float | str] = {}
        self.bare: list[str] = []
        self.rest: list[str] = []

    def read(self, token: str) -> bool:
        """Take in one token; False if it says nothing that is understood."""
        match = _PLAIN.fullmatch(token)
        if match is not None:
            if token.isdigit():
                self.bare.append(token)
                return True
            return self._plain(match[2], match[3] or "", match[4] or "", match[5] or "")
        match = CODE.fullmatch(token)
        if match is not None:
            if not match[1] and self._take_case(token):
                return True  # "R0603" is a case and not 60.3 mΩ
            if self._code(match):
                return True
        return self._word(token) or self._joined(token)

    def settle_bare_numbers(self) -> None:
        """Decide what the tokens of digits alone are: a case size, a code, a value, or rest."""
        numbers = self.bare
        certain = "value" in self.said or len(numbers) > 1 or not self.unit
        numbers = [
            number
            for number in self.bare
            if not ((certain or number[0] == "0") and self._take_case(number))
        ]
        value = None
        alone = len(numbers) == 1 and len(self.rest) <= _WORDS_BESIDE_A_NUMBER
        if alone and "value" not in self.said and self.unit:
            value = _bare_value(numbers[0], self.letter)
        if value is not None:
            self._set_value(value, self.unit)
        else:
            self.rest += numbers

    def _take_case(self, token: str) -> bool:
        case = case_of_token(token)
        if case is None or "case" in self.said:
            return False
        self.said["case"] = case
        return True

    def _set_value(self, value: float, unit: str) -> bool:
        if self.letter == "Y" and unit == "F":
            return self._set("load_capacitance", value)
        if unit == "Hz" and self.letter in ("L", "R", "C"):
            return self._set("frequency", value)
        if self.letter in ("D", "F") or "value" in self.said:
            return False
        self.said["value"] = value
        self.said["unit"] = unit
        return True

    def _set(self, field: str, value: float) -> bool:
        if field in self.said:
            return False
        self.said[field] = value
        return True

    def _set_tolerance(self, letter: str) -> None:
        value = self.said.get("value")
        if letter in _PICOFARADS and self.said.get("unit") == "F" and isinstance(value, float):
            if value > 0:
                self._set("tolerance", scaled(_PICOFARADS[letter] / value, 1.0))
        elif letter in _TOLERANCES:
            self._set("tolerance", _TOLERANCES[letter])

    def _plain(self, digits: str, prefix: str, spelling: str, suffix: str) -> bool:
        number = decimal(digits)
        if number is None:
            return False
        unit = _UNIT_OF_SPELLING.get(spelling.upper(), self.unit)
        if unit == "F" and spelling and self.unit == "ohm" and prefix in ("k", "K", "M", "G", ""):
            unit, suffix = "ohm", "F"  # "10kF" of a resistor: the letter of 1 %
        if unit in ("%", "ppm"):
            share = scaled(number, 0.01 if unit == "%" else 1e-6)
            return not prefix and not suffix and self._set("tolerance", share)
        if not spelling and not prefix and self.unit != "ohm":
            return False  # "0.1": of which prefix?
        factor = 1e6 if len(prefix) == 3 else _PREFIXES_OF.get(unit, {}).get(prefix)
        if factor is None:
            return False
        if unit in _FIELD_OF_UNIT:
            return not suffix and self._set(_FIELD_OF_UNIT[unit], scaled(number, factor))
        taken = self._set_value(scaled(number, factor), unit)
        if taken and suffix:
            self._set_tolerance(suffix)
        return taken

    def _code(self, match: re.Match[str]) -> bool:
        whole, point, part, spelling, suffix = match.groups()
        unit = _UNIT_OF_SPELLING.get((spelling or "").upper(), self.unit)
        if spelling == "F" and self.unit == "ohm" and not suffix:
            unit, suffix = "ohm", "F"
        if point in "Vv":
            voltage = code_value(whole, point, part, "V")
            return not suffix and voltage is not None and self._set("voltage", voltage)
        if self.letter == "L" and point in "Rr" and not spelling:
            value = code_value(whole, point, part, "ohm")
            unit = "H"
            value = None if value is None else scaled(value, 1e-6)
        else:
            value = code_value(whole, point, part, unit or "ohm")
            unit = unit or "ohm"
        if value is None or not self._set_value(value, unit):
            return False
        if suffix:
            self._set_tolerance(suffix)
        return True

    def _word(self, token: str) -> bool:
        lower = token.lower()
        if _CERAMIC.fullmatch(token):
            name = "C0G" if lower in ("cog", "c0g", "npo", "np0") else token.upper()
        else:
            name = _TECHNOLOGIES.get(lower, "")
        if name:
            return self.said.setdefault("dielectric", name) == name
        if len(token) == 1:
            if token in _TOLERANCES and "value" in self.said:
                self._set_tolerance(token)
                return True
            return False
        return self._take_case(token) or self._series_resistance(token) or self._lettered(token)

    def _series_resistance(self, token: str) -> bool:
        match = _SERIES_RESISTANCE.fullmatch(token)
        value = parse_component(match[1], "R").value if match else None
        return value is not None and self._set("series_resistance", value)

    def _lettered(self, token: str) -> bool:
        """Take in "T500mA" of a fuse, "1.1A-hold" of a resettable one, "Q12MHz" of a crystal."""
        letters, units = _LEADING_LETTERS.get(self.letter, ("", ()))
        bare = token.removesuffix("-hold").lstrip(letters)
        match = _PLAIN.fullmatch(bare) if letters and bare != token else None
        return match is not None and (match[4] or "").upper() in units and self.read(bare)

    def _joined(self, token: str) -> bool:
        """Take in "10uF-25V" or "100nF_50V_X7R": only if each piece is understood."""
        sign = "_" if "_" in token else "-"
        pieces = token.split(sign)
        if len(pieces) < 2 or not all(pieces):
            return False
        trial = _Reader(self.letter)
        trial.said = dict(self.said)
        if not all(trial.read(piece) for piece in pieces):
            return False
        if any(case_of_token(number) is None for number in trial.bare):
            return False
        self.said = trial.said
        self.bare += trial.bare
        return True


def _bare_value(digits: str, letter: str) -> float | None:
    zeros = int(digits[-1])
    coded = len(digits) == 3 and digits[0] != "0"
    if letter == "R":
        if zeros and len(digits) in (3, 4) and is_two_figures(digits[:-1]):
            return None
        if case_of_token(digits) is not None:
            return None
        return float(digits) if digits[0] != "0" or not int(digits) else None
    if letter in ("C", "L") and coded and 1 <= zeros <= 7:
        return scaled(int(digits[:2]) * 10.0**zeros, 1e-12 if letter == "C" else 1e-6)
    return None
