"""What holds for every part of a kind: ratings by case size, and defaults that stand in.

A rating by case size is a fact with a source. A default is an assumption: its source begins with
"assumed" and says why the value is a sensible one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from boardvet.board import Place
from boardvet.errors import InputError, InputErrors
from boardvet.facts.builtin import data_text
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import PROPERTIES, known_property

if TYPE_CHECKING:
    import yaml

__all__ = [
    "DEFAULTS_FILE",
    "RATINGS_FILE",
    "General",
    "default_of",
    "general_entries",
    "rating_of",
]

RATINGS_FILE = "passive.yaml"
DEFAULTS_FILE = "defaults.yaml"
_OWN_KEYS = frozenset({"kind", "when", "because", "source"})


class General(NamedTuple):
    """One entry: the kind, under which conditions, the values, and why or from where."""

    kind: Kind
    when: Mapping[str, str]
    values: Mapping[str, str]
    source: str
    place: Place


@cache
def general_entries(name: str) -> tuple[General, ...]:
    """Read a data file of ratings or defaults; `InputErrors` where it is not of the right form."""
    from boardvet.facts.entries import compose  # brings the YAML library

    node = compose(data_text(name), name)
    if node is None or not isinstance(node.value, list):
        raise InputErrors([InputError(name, "is no list of entries", "write `- kind: …`")])
    return tuple(_entry(name, item) for item in node.value)


def _entry(file: str, node: yaml.Node) -> General:
    place = Place(file, node.start_mark.line + 1, node.start_mark.column + 1)
    fields = {key.value: value for key, value in node.value}
    unknown = set(fields) - _OWN_KEYS - set(PROPERTIES)
    if unknown or "kind" not in fields or ("because" in fields) == ("source" in fields):
        what = f"unknown or missing keys {sorted(unknown)}"
        raise InputErrors([InputError(file, what, "write kind, when, values, source", place.line)])
    when = (
        {key.value: value.value for key, value in fields["when"].value} if "when" in fields else {}
    )
    reason = fields.get("because", fields.get("source"))
    return General(
        kind=Kind(fields["kind"].value),
        when=when,
        values={key: node.value for key, node in fields.items() if key not in _OWN_KEYS},
        source=" ".join(str(reason.value).split()) if reason is not None else "",
        place=place,
    )


def rating_of(kind: Kind, case: str, key: str) -> Known[object] | None:
    """Return a rating of a kind of part in a case size, None where none is known."""
    for entry in _entries(RATINGS_FILE).get((kind, key), ()):
        if entry.when.get("case") == case:
            source = f"facts {RATINGS_FILE}: {entry.source}, case {case}"
            return known_property(key, entry.values[key], source)
    return None


def default_of(kind: Kind, key: str, stated: Callable[[str], object]) -> Known[object] | None:
    """Return the default of a kind, None where there is none.

    Parameters
    ----------
    kind : Kind
        What the part is.
    key : str
        The property.
    stated : callable
        Returns what is known of another property of the same part, for defaults that depend on
        one (the forward voltage of an LED on its colour).
    """
    for entry in _entries(DEFAULTS_FILE).get((kind, key), ()):
        if all(stated(name) == wanted for name, wanted in entry.when.items()):
            return known_property(key, entry.values[key], f"assumed: {entry.source}")
    return None


def is_rated(kind: Kind, key: str) -> bool:
    """Return True if parts of this kind are rated by their case size."""
    return (kind, key) in _entries(RATINGS_FILE)


@cache
def _entries(name: str) -> Mapping[tuple[Kind, str], tuple[General, ...]]:
    """Return the entries of a file by kind and property."""
    found: dict[tuple[Kind, str], list[General]] = {}
    for entry in general_entries(name):
        for key in entry.values:
            found.setdefault((entry.kind, key), []).append(entry)
    return {key: tuple(entries) for key, entries in found.items()}
