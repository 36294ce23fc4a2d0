"""A family of parts: what its data sheet says, as written in a facts file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from boardvet.board import Place
from boardvet.facts.output import output_voltage
from boardvet.known import Known
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.properties import known_property
from boardvet.vocabulary.roles import Role

__all__ = ["FROM_MEMORY", "Family", "Stated"]

FROM_MEMORY = "from memory"
"""What `source` says where nobody has opened the data sheet."""


class Stated(NamedTuple):
    """A value as it is written, and where."""

    text: str | tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Family:
    """One entry of a facts file.

    Parameters
    ----------
    match : tuple of str
        Prefixes of the names of its parts (see `boardvet.facts.match`); the first is its name.
    kind : Kind
        What its parts are.
    values : mapping of str to Stated
        Properties by their keys, unparsed.
    pins : mapping of str to mapping of str to Role
        For each package ("any" where there is but one), the role of each pin number.
    source : str
        Document, number and revision, or `FROM_MEMORY`.
    from_memory : frozenset of str
        Keys whose values are not from that document.
    not_stated : frozenset of str
        Keys of which the data sheet says nothing.
    output_code : str
        How what follows the literal prefix codes the output voltage, "" where it does not.
    own : bool
        True for a facts file of the repository, False for one that boardvet ships.
    file : str
        Name of the facts file.
    place : Place
        Where the entry begins.
    """

    match: tuple[str, ...]
    kind: Kind
    values: Mapping[str, Stated]
    pins: Mapping[str, Mapping[str, Role]]
    source: str
    from_memory: frozenset[str]
    not_stated: frozenset[str]
    output_code: str
    own: bool
    file: str
    place: Place

    @property
    def name(self) -> str:
        """Its first prefix, without the signs that only matching needs."""
        return self.match[0].rstrip("!").replace("#", "x")

    def source_of(self, key: str) -> str:
        """Return the source text of one property, such as "facts led.yaml: …"."""
        source = FROM_MEMORY if key in self.from_memory else self.source
        return f"facts {self.file}: {source}"

    def known(self, key: str, rest: str = "") -> Known[object] | None:
        """Return what the family states of a property, None if nothing.

        Parameters
        ----------
        key : str
            The property.
        rest : str
            What follows the prefix in the name of the part: it may code the output voltage.
        """
        if key == "output" and key not in self.values:
            coded = output_voltage(self.output_code, rest)
            return None if coded is None else Known(coded, "V", self.source_of(key))
        stated = self.values.get(key)
        if stated is None:
            return None
        return known_property(key, stated.text, self.source_of(key))
