"""View: the states in which the board can stand.

A state says which contacts are closed, which sources are present and which mode runs. Modes of
the intent page are states. Without modes there are: the cells alone with every switch closed,
the cells alone with every switch open, and each other source together with the cells.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Self

from boardvet.circuit.elements import Element, ElementKind, Elements
from boardvet.circuit.handle import Circuit
from boardvet.circuit.sources import Source, SourceKind, Sources

__all__ = ["State", "States"]


@dataclass(frozen=True, slots=True)
class State:
    """One way the board can stand.

    Parameters
    ----------
    name : str
        In words, as reports print it.
    sources : frozenset of str
        References of the sources that are present.
    closed : frozenset of (reference, pin, pin)
        Contacts that are closed, by part and pin numbers.
    mode : str
        Name of the mode on the intent page, "" where none is stated.
    """

    name: str
    sources: frozenset[str]
    closed: frozenset[tuple[str, str, str]]
    mode: str = ""

    def is_closed(self, contact: Element) -> bool:
        """Tell whether a contact is closed."""
        return (contact.reference, contact.a_pin, contact.b_pin) in self.closed


@dataclass(frozen=True)
class States:
    """The states of a board, the everyday one first."""

    all: tuple[State, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Take the states from the modes, or make the standard ones."""
        sources = circuit.view(Sources)
        contacts = circuit.view(Elements).of_kind(ElementKind.CONTACT)
        if circuit.intent.modes:
            return cls(tuple(_modes(circuit, contacts)))
        return cls(tuple(_standard(circuit, sources, contacts)))

    @property
    def main(self) -> State:
        """The state in which the board does its work."""
        return self.all[0]

    def with_source(self, source: Source) -> tuple[State, ...]:
        """Return the states in which a source is present."""
        return tuple(state for state in self.all if source.reference in state.sources)


def _named(contact: Element) -> tuple[str, str, str]:
    return contact.reference, contact.a_pin, contact.b_pin


def _standard(
    circuit: Circuit, sources: Sources, contacts: tuple[Element, ...]
) -> Iterator[State]:
    cells = frozenset(source.reference for source in sources.of_kind(SourceKind.CELL))
    others = sources.besides_cells
    everyday = cells or frozenset(source.reference for source in others)
    if contacts:
        circuit.assume(
            "switches",
            "every switch closed, then every switch open",
            "",
            "assumed: no modes are stated",
        )
    positions = list(_positions(contacts))
    for words, closed in positions:
        yield State(words or "running", everyday, closed)
    for source in others if cells else ():
        for words, closed in positions:
            # The first position is the usual one and needs no words.
            further = f", {words}" if words and closed != positions[0][1] else ""
            name = f"{source.label} connected{further}"
            yield State(name, cells | {source.reference}, closed)


def _positions(
    contacts: tuple[Element, ...],
) -> Iterator[tuple[str, frozenset[tuple[str, str, str]]]]:
    """Yield how the switches can stand, in words, and the contacts that are closed then."""
    if not contacts:
        yield "", frozenset()
        return
    yield "switches closed", frozenset(_named(c) for c in contacts if c.position == 0)
    for throw in range(1, max(contact.position for contact in contacts) + 1):
        yield (
            "switches in their other position",
            frozenset(
                _named(c)
                for c in contacts
                if c.position == throw or (c.position == 0 and not _throws(c, contacts))
            ),
        )
    yield "switches open", frozenset()


def _throws(contact: Element, contacts: tuple[Element, ...]) -> bool:
    return any(c.reference == contact.reference and c.position for c in contacts)


def _modes(circuit: Circuit, contacts: tuple[Element, ...]) -> Iterator[State]:
    sources = circuit.view(Sources)
    cells = frozenset(source.reference for source in sources.of_kind(SourceKind.CELL))
    first = frozenset(_named(c) for c in contacts if c.position == 0)
    for mode in circuit.intent.modes:
        closed = first if mode.closed is None else frozenset(_closed_by(mode.closed, contacts))
        present = cells | frozenset(mode.sources)
        yield State(f"mode {mode.name}", present, closed, mode.name)


def _closed_by(
    stated: Mapping[str, tuple[tuple[str, ...], ...]], contacts: tuple[Element, ...]
) -> Iterator[tuple[str, str, str]]:
    for contact in contacts:
        for group in stated.get(contact.reference, ()):
            if {contact.a_pin, contact.b_pin} <= set(group):
                yield _named(contact)
