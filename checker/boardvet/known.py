"""A value together with where it came from: nothing is judged on a number without a source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["SOURCE_PREFIXES", "Known"]

T_co = TypeVar("T_co", covariant=True)

SOURCE_PREFIXES = (
    "netlist",
    "bom",
    "placement",
    "test points",
    "intent",
    "facts",
    "standard",
    "assumed",
    "computed",
)
"""Every `source` text begins with one of these words."""


@dataclass(frozen=True, slots=True)
class Known(Generic[T_co]):
    """A fact with its unit and source.

    Parameters
    ----------
    value
        A float in SI units, a `Span`, `Points`, a text or a yes/no, by the form of the property.
    unit : str
        SI unit symbol, "" for none.
    source : str
        Begins with one of `SOURCE_PREFIXES`, then says where exactly.
    """

    value: T_co
    unit: str
    source: str

    @property
    def assumed(self) -> bool:
        """True where nothing states the value and a default stands in."""
        return self.source.startswith("assumed")
