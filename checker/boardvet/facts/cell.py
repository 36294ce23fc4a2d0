"""Cells by designation: chemistry, charge, size, ratings and curve, each with its source."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from boardvet.facts.chemistry import Chemistry, Sources, chemistry, curve_named, load, rate_of
from boardvet.facts.designation import capacity_in, designations_in, size_in_name
from boardvet.known import Known
from boardvet.physics.cell import CellCurve, CurvePoints, in_series

__all__ = ["CellType", "capacity_in", "cell_type", "cell_types", "find_cell"]


@dataclass(frozen=True, slots=True)
class CellType:
    """A cell as it is sold; a battery of several cells in one case counts as one.

    Parameters
    ----------
    designation : str
        IEC designation, or the trade's name where there is none.
    chemistry : Chemistry
        Of each cell inside.
    cells : int
        Cells in series inside the case.
    capacity : Known[float] or None
        Typical charge to the end voltage; None where it is not known. [C]
    diameter, height, mass : Known[float] or None
        [m], [m] and [kg].
    continuous_current, pulse_current : Known[float] or None
        Ratings. [A]
    abnormal_charge_current : Known[float] or None
        Most current that may ever charge it in a fault, of primary cells. [A]
    rate : Known[CurvePoints]
        Share of the capacity left over a mean current, as in `Chemistry`.
    curve : CellCurve
        Open-circuit voltage and resistance of the whole case.
    curve_source, resistance_source : str
        Where the two halves of the curve come from.
    """

    designation: str
    chemistry: Chemistry
    cells: int
    capacity: Known[float] | None
    diameter: Known[float] | None
    height: Known[float] | None
    mass: Known[float] | None
    continuous_current: Known[float] | None
    pulse_current: Known[float] | None
    abnormal_charge_current: Known[float] | None
    rate: Known[CurvePoints]
    curve: CellCurve
    curve_source: str
    resistance_source: str

    @property
    def highest_voltage(self) -> Known[float]:
        """Highest voltage of the whole case without load, in V."""
        return self._of_all(self.chemistry.highest_voltage)

    @property
    def nominal_voltage(self) -> Known[float]:
        """Voltage on the name-plate of the whole case, in V."""
        return self._of_all(self.chemistry.nominal_voltage)

    @property
    def end_voltage(self) -> Known[float]:
        """Voltage at which the whole case counts as empty, in V."""
        return self._of_all(self.chemistry.end_voltage)

    def _of_all(self, one: Known[float]) -> Known[float]:
        return one if self.cells == 1 else replace(one, value=round(one.value * self.cells, 9))


def cell_type(designation: str) -> CellType | None:
    """Return the cell of a designation, a trade name or a chemistry, None if there is none.

    Parameters
    ----------
    designation : str
        Such as "CR2032", "LR6", "AAA", "18650" or "LiPo"; case and spaces do not count.

    Returns
    -------
    CellType or None
        A designation that is not in the table but can be decoded has chemistry and size, and no
        capacity; a chemistry alone has no size either.

    Examples
    --------
    >>> cell_type("CR2032").capacity.value, cell_type("AAA").designation
    (810.0, 'LR03')
    >>> cell_type("CR2354").diameter.value, cell_type("CR2354").capacity
    (0.023, None)
    """
    plain = "".join(designation.upper().split()).replace("-", "").replace("_", "")
    listed = _index().get(plain)
    if listed is not None:
        return _listed(listed)
    chemical = chemistry(designation)
    if chemical is not None:
        return _bare(chemical.name, chemical)
    found = find_cell(designation)
    return found[0] if found is not None and found[1] == 1 else None


def find_cell(text: str) -> tuple[CellType, int] | None:
    """Return the cell that a text names and how many, None if it names none.

    Parameters
    ----------
    text : str
        Value, footprint, part number or description of a cell or its holder, of nothing else:
        "AA" and "2032" are cells only there.

    Returns
    -------
    (CellType, int) or None
        The count is that in the text ("2x LR03"), 1 where it says none. The cells stand in
        series in most such holders. None too where the text names two different cells, or a
        chemistry that is not that of the cell.

    Examples
    --------
    >>> find_cell("Battery holder 2xAAA")[0].designation, find_cell("Battery holder 2xAAA")[1]
    ('LR03', 2)
    >>> find_cell("Keystone 3034") is None
    True
    """
    found = {
        (cell.designation, count): cell
        for name, count in designations_in(text)
        if (cell := _named(name)) is not None
    }
    said = {chemistry(word) for word in _CHEMISTRY_WORD.findall(text[:300])}
    if not found:
        chemical = said.pop() if len(said) == 1 else None
        return None if chemical is None else (_bare(chemical.name, chemical), 1)
    cell = next(iter(found.values()))
    if len({name for name, _ in found}) > 1 or not said <= {cell.chemistry}:
        return None
    return cell, max(count for _, count in found)


def cell_types() -> tuple[CellType, ...]:
    """Return every cell of the table, in its order."""
    return tuple(_listed(number) for number in range(len(_data()[0]["cells"])))


_FILE = "cell.yaml"
_NAME_SIZE = "standard IEC 60086 naming: diameter in whole mm, truncated, then height in 0.1 mm"
_CHEMISTRY_WORD = re.compile(
    r"lipo|li-po|li-?ion|lithium[- ]ion|lithium polymer|lifepo4|ni-?mh|alkaline", re.IGNORECASE
)


@cache
def _data() -> tuple[Any, Sources]:
    data = load(_FILE)
    return data, Sources(_FILE, data["sources"])


@cache
def _index() -> dict[str, int]:
    return {
        name.upper(): number
        for number, entry in enumerate(_data()[0]["cells"])
        for name in (entry["designation"], *entry.get("aliases", ()))
    }


def _named(name: str) -> CellType | None:
    number = _index().get(name)
    return _decoded(name) if number is None else _listed(number)


@cache
def _listed(number: int) -> CellType:
    data, sources = _data()
    entry = data["cells"][number]
    chemical = chemistry(entry["chemistry"])
    assert chemical is not None, entry["designation"]
    diameter, height = _size(entry, sources)
    cell = _bare(entry["designation"], chemical)
    cell = replace(
        cell,
        cells=int(entry.get("cells", 1)),
        capacity=sources.known(entry.get("capacity"), "C"),
        diameter=diameter,
        height=height,
        mass=sources.known(entry.get("mass"), "kg"),
        abnormal_charge_current=sources.known(entry.get("abnormal"), "A"),
        rate=rate_of(sources, entry["rate"]) if "rate" in entry else chemical.rate,
    )
    cell = _with_ratings(cell, entry, sources)
    return _with_curve(cell, entry, sources)


@cache
def _decoded(designation: str) -> CellType | None:
    """Return what the name alone says: chemistry and size."""
    size = size_in_name(designation)
    chemical = chemistry(designation.rstrip("0123456789"))
    if size is None or chemical is None:
        return None
    cell = replace(
        _bare(designation, chemical),
        diameter=Known(size.diameter, "m", _NAME_SIZE),
        height=Known(size.height, "m", _NAME_SIZE),
    )
    sources = _data()[1]
    return _with_curve(_with_ratings(cell, {}, sources), {}, sources)


def _bare(designation: str, chemical: Chemistry) -> CellType:
    return CellType(
        designation=designation,
        chemistry=chemical,
        cells=1,
        capacity=None,
        diameter=None,
        height=None,
        mass=None,
        continuous_current=None,
        pulse_current=None,
        abnormal_charge_current=None,
        rate=chemical.rate,
        curve=chemical.curve,
        curve_source=chemical.curve_source,
        resistance_source=chemical.resistance_source,
    )


def _size(
    entry: Mapping[str, Any], sources: Sources
) -> tuple[Known[float] | None, Known[float] | None]:
    if "size" not in entry:
        named = size_in_name(entry["designation"])
        assert named is not None, entry["designation"]
        return Known(named.diameter, "m", _NAME_SIZE), Known(named.height, "m", _NAME_SIZE)
    (across, high), source = entry["size"]
    return (
        sources.known([across, source], "m") if across else None,
        sources.known([high, source], "m"),
    )


def _with_ratings(cell: CellType, entry: Mapping[str, Any], sources: Sources) -> CellType:
    """Return the cell with its own ratings, else those of the chemistry, scaled to its size."""
    chemical = cell.chemistry
    continuous = sources.known(entry.get("continuous"), "A")
    pulse = sources.known(entry.get("pulse"), "A")
    if continuous is None and chemical.one_hour_source and cell.capacity is not None:
        continuous = Known(cell.capacity.value / 3600.0, "A", chemical.one_hour_source)
    area = _area_ratio(cell)
    if area is not None:
        continuous = continuous or _scaled(chemical.continuous_current, area, chemical)
        pulse = pulse or _scaled(chemical.pulse_current, area, chemical)
    return replace(cell, continuous_current=continuous, pulse_current=pulse)


def _with_curve(cell: CellType, entry: Mapping[str, Any], sources: Sources) -> CellType:
    """Return the cell with the curve of its chemistry, the resistance scaled to its own."""
    if "curve" in entry:
        named = curve_named(entry["curve"])
        cell = replace(
            cell,
            curve=named.curve,
            curve_source=named.curve_source,
            resistance_source=named.resistance_source,
        )
    fresh = cell.curve.resistance_points[0][1]
    own, area = sources.known(entry.get("resistance"), "ohm"), _area_ratio(cell)
    curve, source = cell.curve, cell.resistance_source
    if own is not None:
        curve, source = _times_resistance(curve, own.value / fresh), own.source
    elif area is not None and area != 1:
        source = f"{source}; {cell.chemistry.scaled_source.removeprefix('assumed: ')}"
        curve = _times_resistance(curve, 1 / area)
    if cell.cells > 1:
        curve = in_series(curve, cell.cells)
    return replace(cell, curve=curve, resistance_source=source)


def _area_ratio(cell: CellType) -> float | None:
    reference = cell.chemistry.reference_diameter
    if reference is None or cell.diameter is None:
        return None
    return (cell.diameter.value / reference) ** 2


def _scaled(of: Known[float] | None, area: float, chemical: Chemistry) -> Known[float] | None:
    if of is None or area == 1:
        return of
    return Known(of.value * area, of.unit, chemical.scaled_source)


def _times_resistance(curve: CellCurve, factor: float) -> CellCurve:
    points = tuple((used, ohms * factor) for used, ohms in curve.resistance_points)
    return replace(curve, resistance_points=points)
