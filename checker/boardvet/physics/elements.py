"""What a network is made of: resistors, sources, junctions, loads, capacitors; numbered nodes.

Node 0 is the reference. Which element lies between which nodes is shared by the whole batch; the
values have a leading batch axis, of length 1 where all rows share them. Plain sequences are
taken too. Values are compared with their ranges once, here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boardvet.errors import PhysicsDomainError

__all__ = [
    "Capacitors",
    "Floats",
    "Indices",
    "Junctions",
    "Loads",
    "Network",
    "Resistors",
    "Sources",
]

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False, init=False)
class Resistors:
    """Resistors, and whatever else obeys Ohm's law: closed contacts, switched-on FETs, coils.

    Parameters
    ----------
    a, b : array_like of int, shape (n,)
        The two nodes of each.
    resistance : array_like, shape (n,) or (B, n)
        At least 0. Below 1 µΩ it counts as 1 µΩ; joins are better merged by the caller. [Ω]

    Raises
    ------
    PhysicsDomainError
        If a value is out of its range or there is not one for each element.
    """

    a: Indices
    b: Indices
    resistance: Floats

    def __init__(self, a: ArrayLike = (), b: ArrayLike = (), resistance: ArrayLike = ()) -> None:
        _put_nodes(self, a=a, b=b)
        _put_values(self, "resistance", resistance, "Ω", at_least=0.0)


@dataclass(frozen=True, slots=True, eq=False, init=False)
class Sources:
    """Voltage sources with a series resistance: cells, stated inputs, regulated rails, pins.

    Parameters
    ----------
    positive, negative : array_like of int, shape (n,)
        The two nodes of each.
    voltage : array_like, shape (n,) or (B, n)
        Open-circuit voltage of `positive` over `negative`. [V]
    resistance : array_like, shape (n,) or (B, n)
        At least 0. Below 1 µΩ it counts as 1 µΩ: ideal sources in parallel then share the current
        where they agree, and show an absurd one (1 MA for each 2 V) where they do not. [Ω]

    Raises
    ------
    PhysicsDomainError
        As for `Resistors`.
    """

    positive: Indices
    negative: Indices
    voltage: Floats
    resistance: Floats

    def __init__(
        self,
        positive: ArrayLike = (),
        negative: ArrayLike = (),
        voltage: ArrayLike = (),
        resistance: ArrayLike = (),
    ) -> None:
        _put_nodes(self, positive=positive, negative=negative)
        _put_values(self, "voltage", voltage, "V")
        _put_values(self, "resistance", resistance, "Ω", at_least=0.0)


@dataclass(frozen=True, slots=True, eq=False, init=False)
class Junctions:
    """LEDs and diodes: I = Is·(exp((V − I·Rs)/(n·Vt)) − 1) with Vt = 25.865 mV (27 °C).

    Parameters
    ----------
    anode, cathode : array_like of int, shape (n,)
        The two nodes of each.
    saturation_current : array_like, shape (n,) or (B, n)
        Is, more than 0. [A]
    emission : array_like, shape (n,) or (B, n)
        n, more than 0.
    series_resistance : array_like, shape (n,) or (B, n)
        Rs, at least 0. Below 1 µΩ it counts as 1 µΩ. [Ω]
    breakdown_voltage : array_like, shape (n,) or (B, n), default infinite
        Reverse voltage at 1 mA of a zener diode or a clamp, without the drop over Rs; more than 0.
        Beyond it the current grows exponentially, with n = 1 and behind the same Rs. [V]

    Raises
    ------
    PhysicsDomainError
        As for `Resistors`.
    """

    anode: Indices
    cathode: Indices
    saturation_current: Floats
    emission: Floats
    series_resistance: Floats
    breakdown_voltage: Floats

    def __init__(
        self,
        anode: ArrayLike = (),
        cathode: ArrayLike = (),
        saturation_current: ArrayLike = (),
        emission: ArrayLike = (),
        series_resistance: ArrayLike = (),
        breakdown_voltage: ArrayLike | None = None,
    ) -> None:
        if breakdown_voltage is None:
            breakdown_voltage = np.full(np.shape(anode), np.inf)
        _put_nodes(self, anode=anode, cathode=cathode)
        _put_values(self, "saturation_current", saturation_current, "A", more_than=0.0)
        _put_values(self, "emission", emission, "", more_than=0.0)
        _put_values(self, "series_resistance", series_resistance, "Ω", at_least=0.0)
        _put_values(
            self, "breakdown_voltage", breakdown_voltage, "V", more_than=0.0, infinite=True
        )


@dataclass(frozen=True, slots=True, eq=False, init=False)
class Loads:
    """Loads that draw a constant current, such as a controller or the input of a regulator.

    A load draws all of its current from 0.2 V up and none at or below 0 V; in between the current
    is I·(3·s² − 2·s³) with s = V / 0.2 V. A source too weak for its load would otherwise have no
    solution at all; so its voltage collapses, and the current says how much is left.

    Parameters
    ----------
    positive, negative : array_like of int, shape (n,)
        The current flows from `positive` through the load to `negative`.
    current : array_like, shape (n,) or (B, n)
        At least 0. [A]

    Raises
    ------
    PhysicsDomainError
        As for `Resistors`.
    """

    positive: Indices
    negative: Indices
    current: Floats

    def __init__(
        self, positive: ArrayLike = (), negative: ArrayLike = (), current: ArrayLike = ()
    ) -> None:
        _put_nodes(self, positive=positive, negative=negative)
        _put_values(self, "current", current, "A", at_least=0.0)


@dataclass(frozen=True, slots=True, eq=False, init=False)
class Capacitors:
    """Capacitors with their series resistance (ESR), for `transient`; at rest they carry nothing.

    Parameters
    ----------
    a, b : array_like of int, shape (n,)
        The two nodes of each; it is charged where `a` is above `b`.
    capacitance : array_like, shape (n,) or (B, n)
        More than 0. [F]
    series_resistance : array_like, shape (n,) or (B, n)
        At least 0. Below 1 µΩ it counts as 1 µΩ. [Ω]

    Raises
    ------
    PhysicsDomainError
        As for `Resistors`.
    """

    a: Indices
    b: Indices
    capacitance: Floats
    series_resistance: Floats

    def __init__(
        self,
        a: ArrayLike = (),
        b: ArrayLike = (),
        capacitance: ArrayLike = (),
        series_resistance: ArrayLike = (),
    ) -> None:
        _put_nodes(self, a=a, b=b)
        _put_values(self, "capacitance", capacitance, "F", more_than=0.0)
        _put_values(self, "series_resistance", series_resistance, "Ω", at_least=0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Elements between nodes: one topology, a batch of values.

    Parameters
    ----------
    nodes : int
        How many nodes, the reference (node 0) included; at least 1.
    resistors, sources, junctions, loads
        The elements of each kind; none by default.

    Raises
    ------
    PhysicsDomainError
        If a node number is not below `nodes`, or two batch axes differ and neither is 1 long.
    """

    nodes: int
    resistors: Resistors = field(default_factory=Resistors)
    sources: Sources = field(default_factory=Sources)
    junctions: Junctions = field(default_factory=Junctions)
    loads: Loads = field(default_factory=Loads)

    def __post_init__(self) -> None:
        if self.nodes < 1:
            raise PhysicsDomainError("nodes", self.nodes, "", "at least 1")
        for ends in self._ends():
            if ends.size and (ends.min() < 0 or ends.max() >= self.nodes):
                bad = int(ends.min()) if ends.min() < 0 else int(ends.max())
                raise PhysicsDomainError("node", bad, "", f"0 to {self.nodes - 1}")
        lengths = {len(values) for values in self._values()} - {1}
        if len(lengths) > 1:
            raise PhysicsDomainError("batch", max(lengths), "", "the same for all values, or 1")

    @property
    def batch(self) -> int:
        """Length of the batch axis, B."""
        lengths = {len(values) for values in self._values()}
        return max(lengths - {1}, default=1)

    def _ends(self) -> Iterator[Indices]:
        yield from (self.resistors.a, self.resistors.b)
        yield from (self.sources.positive, self.sources.negative)
        yield from (self.junctions.anode, self.junctions.cathode)
        yield from (self.loads.positive, self.loads.negative)

    def _values(self) -> Iterator[Floats]:
        yield self.resistors.resistance
        yield from (self.sources.voltage, self.sources.resistance)
        yield from (self.junctions.saturation_current, self.junctions.emission)
        yield from (self.junctions.series_resistance, self.junctions.breakdown_voltage)
        yield self.loads.current


def _put_nodes(elements: object, **ends: ArrayLike) -> None:
    """Store the two node arrays of an element kind, which must be equally long."""
    arrays = {name: np.array(nodes, dtype=np.intp).reshape(-1) for name, nodes in ends.items()}
    (first, one), (second, other) = arrays.items()
    if len(one) != len(other):
        raise PhysicsDomainError(second, len(other), "nodes", f"{len(one)}, as many as {first}")
    for name, array in arrays.items():
        array.flags.writeable = False
        object.__setattr__(elements, name, array)


def _put_values(
    elements: Resistors | Sources | Junctions | Loads | Capacitors,
    name: str,
    values: ArrayLike,
    unit: str,
    *,
    more_than: float = -np.inf,
    at_least: float = -np.inf,
    infinite: bool = False,
) -> None:
    """Store one value array with its batch axis, after comparing it with its range."""
    array = np.array(values, dtype=np.float64, ndmin=2)
    count = len(getattr(elements, next(iter(elements.__slots__))))
    if array.ndim != 2 or array.shape[1] != count:
        raise PhysicsDomainError(name, array.shape[-1], "values", f"{count}, one an element")
    good = (array > more_than) & (array >= at_least)
    if not infinite:
        good &= array < np.inf
    if not good.all():
        allowed = f"more than {more_than:g}" if more_than > at_least else f"at least {at_least:g}"
        allowed = "finite" if max(more_than, at_least) == -np.inf else f"finite and {allowed}"
        raise PhysicsDomainError(name, float(array[~good][0]), unit, allowed)
    array.flags.writeable = False
    object.__setattr__(elements, name, array)
