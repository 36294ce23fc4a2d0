"""Chemistries of cells: voltages, curve, and whether they may be charged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from boardvet.known import Known
from boardvet.physics.cell import CellCurve, CurvePoints
from boardvet.quantity import Points, Span, parse_flag, parse_number, parse_points, parse_span

__all__ = [
    "YEAR",
    "Chemistry",
    "NamedCurve",
    "Sources",
    "chemistries",
    "chemistry",
    "curve_named",
    "load",
    "rate_of",
]

YEAR = 8766 * 3600.0
"""A year of 365.25 days. [s]"""


@dataclass(frozen=True, slots=True)
class NamedCurve:
    """A curve of open-circuit voltage and resistance, and where each came from."""

    curve: CellCurve
    curve_source: str
    resistance_source: str


@dataclass(frozen=True, slots=True)
class Chemistry:
    """What can be expected of one cell of a chemistry, whatever its size.

    Parameters
    ----------
    name : str
        The word that a person writes.
    letters : tuple of str
        How designations of it begin ("CR"), in upper case.
    aliases : tuple of str
        Other words for it.
    rechargeable : bool
        Whether it may be charged.
    highest_voltage, nominal_voltage, end_voltage : Known[float]
        Of one cell without load: fresh or just charged, on the name-plate, empty. [V]
    charge_voltage : Known[Span] or None
        At which a charger for it ends. [V]
    curve : CellCurve
        Of the reference cell, over the share of charge used.
    curve_source, resistance_source : str
        Where the two halves of the curve come from.
    reference_diameter : float or None
        Of the cell that the resistance and the ratings belong to, where they scale with the area
        of the face. [m]
    continuous_current, pulse_current : Known[float] or None
        Ratings of the reference cell. [A]
    scaled_source : str
        Where it is said that they scale; "" where they do not.
    one_hour_source : str
        Where the rated current is the capacity in one hour, who says so; else "".
    self_discharge : Known[float]
        Share of the capacity of a full cell that is lost in a second at 20 to 25 °C. [1/s]
    rate : Known[CurvePoints]
        Share of the capacity that is left over a mean current in multiples of the capacity per
        hour; see `boardvet.physics.cell.share_left_at_rate`. Empty where there is no effect.
    """

    name: str
    letters: tuple[str, ...]
    aliases: tuple[str, ...]
    rechargeable: bool
    highest_voltage: Known[float]
    nominal_voltage: Known[float]
    end_voltage: Known[float]
    charge_voltage: Known[Span] | None
    curve: CellCurve
    curve_source: str
    resistance_source: str
    reference_diameter: float | None
    continuous_current: Known[float] | None
    pulse_current: Known[float] | None
    scaled_source: str
    one_hour_source: str
    self_discharge: Known[float]
    rate: Known[CurvePoints]


class Sources:
    """The sources of a data file by their short names."""

    def __init__(self, file: str, texts: Mapping[str, str]) -> None:
        self._file = file
        self._texts = texts

    def text(self, name: str) -> str:
        """Return the source text as `Known.source` wants it."""
        text = " ".join(self._texts[name].split())
        for start in ("assumed", "standard"):
            if text.startswith(start):
                return text
        return f"facts {self._file}: {text.removeprefix('facts ')}"

    def known(self, entry: list[str] | None, unit: str) -> Known[float] | None:
        """Return a number with its source, None where the entry is absent."""
        if entry is None:
            return None
        return Known(parse_number(entry[0], unit), unit, self.text(entry[1]))


def load(name: str) -> Any:
    """Return a data file of facts, its scalars as texts."""
    import yaml

    loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    text = (files("boardvet.facts") / "data" / name).read_text(encoding="utf-8")
    return yaml.load(text, Loader=loader)


def chemistry(name: str) -> Chemistry | None:
    """Return the chemistry of a name, alias or letters ("CR"), None if there is none.

    Parameters
    ----------
    name : str
        Upper or lower case; spaces, hyphens and strokes do not count.

    Examples
    --------
    >>> chemistry("LiPo").name, chemistry("alkaline").rechargeable
    ('lithium-ion', False)
    """
    entry = _entries().get(_key(name))
    return None if entry is None else _chemistry(entry)


def chemistries() -> tuple[Chemistry, ...]:
    """Return all chemistries, in the order of the data file."""
    return tuple(_chemistry(name) for name in dict.fromkeys(_entries().values()))


@cache
def curve_named(name: str) -> NamedCurve:
    """Return a curve of the data file."""
    data, sources = _data()
    entry = data["curves"][name]
    curve = CellCurve(
        voltage_points=_points(entry["voltage"], "V", ""),
        resistance_points=_points(entry["resistance"], "ohm", ""),
        temperature_points=_points(entry.get("temperature", ["1 at 25 degC"]), "", "degC"),
        pulse_points=_points(entry.get("pulse", ["1 at 1 s"]), "", "s"),
    )
    return NamedCurve(
        curve, sources.text(entry["voltage"][1]), sources.text(entry["resistance"][1])
    )


_FILE = "chemistry.yaml"


@cache
def _data() -> tuple[Any, Sources]:
    data = load(_FILE)
    return data, Sources(_FILE, data["sources"])


@cache
def _entries() -> dict[str, str]:
    """Return the name of the chemistry for every word and letters that mean it."""
    return {
        _key(word): entry["name"]
        for entry in _data()[0]["chemistries"]
        for word in (entry["name"], *entry["aliases"], *entry["letters"])
    }


def _key(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter not in " -_/.")


@cache
def _chemistry(name: str) -> Chemistry:
    data, sources = _data()
    entry = next(entry for entry in data["chemistries"] if entry["name"] == name)
    named = curve_named(entry["curve"])
    charge = entry.get("charge")
    return Chemistry(
        name=entry["name"],
        letters=tuple(entry["letters"]),
        aliases=tuple(entry["aliases"]),
        rechargeable=parse_flag(entry["rechargeable"]),
        highest_voltage=_need(sources, entry, "highest"),
        nominal_voltage=_need(sources, entry, "nominal"),
        end_voltage=_need(sources, entry, "end"),
        charge_voltage=charge and Known(parse_span(charge[0], "V"), "V", sources.text(charge[1])),
        curve=named.curve,
        curve_source=named.curve_source,
        resistance_source=named.resistance_source,
        reference_diameter=parse_number(entry["reference"], "m") if "reference" in entry else None,
        continuous_current=sources.known(entry.get("continuous"), "A"),
        pulse_current=sources.known(entry.get("pulse"), "A"),
        scaled_source=sources.text(entry["scaled"]) if "scaled" in entry else "",
        one_hour_source=sources.text(entry["one hour"]) if "one hour" in entry else "",
        self_discharge=_self_discharge(sources, entry["self-discharge"]),
        rate=rate_of(sources, entry["rate"]),
    )


def rate_of(sources: Sources, entry: list[str]) -> Known[CurvePoints]:
    """Return the share of the capacity left over the rate, with its source.

    Parameters
    ----------
    sources : Sources
        Of the data file that the entry stands in.
    entry : list of str
        Points as text and the name of their source; a single value without a rate is no effect.
    """
    points: Points = parse_points(entry[0], "", "")
    curve = tuple((point.at, point.value) for point in points if point.at is not None)
    return Known(curve, "", sources.text(entry[1]))


def _self_discharge(sources: Sources, entry: list[str]) -> Known[float]:
    return Known(parse_number(entry[0], "") / YEAR, "1/s", sources.text(entry[1]))


def _need(sources: Sources, entry: Mapping[str, Any], key: str) -> Known[float]:
    return Known(parse_number(entry[key][0], "V"), "V", sources.text(entry[key][1]))


def _points(entry: list[str], unit: str, at_unit: str) -> CurvePoints:
    points: Points = parse_points(entry[0], unit, at_unit)
    return tuple((point.at or 0.0, point.value) for point in points)
