"""Facts that the texts of this board state: ratings, dielectric, colour, load capacitance."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache

from boardvet.errors import QuantityError
from boardvet.facts.colour import colour_in
from boardvet.facts.names import Text
from boardvet.known import Known
from boardvet.quantity import ComponentText, case_size, parse_component
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import PROPERTIES

__all__ = ["TEXT_KEYS", "case_in", "read_text"]

_LETTERS: Mapping[Kind, str] = {
    Kind.RESISTOR: "R",
    Kind.RESISTOR_NETWORK: "R",
    Kind.POTENTIOMETER: "R",
    Kind.CAPACITOR: "C",
    Kind.INDUCTOR: "L",
    Kind.FERRITE: "L",
    Kind.FUSE: "",
    Kind.CRYSTAL: "Y",
    Kind.RESONATOR: "Y",
}
_RATED = frozenset({Kind.RESISTOR, Kind.RESISTOR_NETWORK, Kind.POTENTIOMETER})
_CARRIES = frozenset({Kind.INDUCTOR, Kind.FERRITE, Kind.FUSE})
_TOLERANT = frozenset({Kind.RESISTOR, Kind.CAPACITOR, Kind.INDUCTOR})


@lru_cache(maxsize=4096)
def _component(text: str, letter: str) -> ComponentText | None:
    try:
        return parse_component(text, letter)
    except QuantityError:
        return None


def _reader(kinds: frozenset[Kind], attribute: str) -> Callable[[Kind, str], object]:
    def read(kind: Kind, text: str) -> object:
        if kind not in kinds:
            return None
        component = _component(text, _LETTERS[kind])
        return None if component is None else getattr(component, attribute)

    return read


def _colour(kind: Kind, text: str) -> object:
    return colour_in(text) if kind is Kind.LED else None


_READERS: Mapping[str, Callable[[Kind, str], object]] = {
    "voltage_rating": _reader(frozenset({Kind.CAPACITOR}), "voltage"),
    "dielectric": _reader(frozenset({Kind.CAPACITOR}), "dielectric"),
    "tolerance": _reader(_TOLERANT, "tolerance"),
    "power_rating": _reader(_RATED, "power"),
    "current_max": _reader(_CARRIES, "current"),
    "colour": _colour,
}

TEXT_KEYS = frozenset(_READERS)
"""Keys that the text of a board can state."""


def read_text(key: str, kind: Kind, texts: Iterable[Text]) -> Iterator[Known[object]]:
    """Yield what each text states of a property, in the order of the texts.

    Parameters
    ----------
    key : str
        One of `TEXT_KEYS`.
    kind : Kind
        What the part is; a voltage in the text of a resistor, say, is no rating.
    texts : iterable of Text
        Texts with their sources.
    """
    read = _READERS[key]
    unit = PROPERTIES[key].unit
    for text in texts:
        value = read(kind, text.text)
        if value is not None:
            yield Known(value, unit, text.source)


def case_in(kind: Kind, texts: Iterable[Text]) -> str | None:
    """Return the case size (imperial code) that the texts of a part name, None if none does."""
    for text in texts:
        component = _component(text.text, _LETTERS[kind])
        case = component.case if component is not None else None
        case = case or case_size(text.text)
        if case is not None:
            return case
    return None
