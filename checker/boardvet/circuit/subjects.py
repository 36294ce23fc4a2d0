"""What most subjects have in common: they are one part, one element of it, or one named node."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from boardvet.circuit.elements import Element

__all__ = ["OfOneElement", "OfOneNode", "OfOnePart"]


class OfOnePart:
    """Name and parts of a subject that is one part, by its `reference`."""

    if TYPE_CHECKING:

        @property
        def reference(self) -> str:
            """Its designator."""

    @property
    def label(self) -> str:
        """Its designator."""
        return self.reference

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.reference,)


class OfOneElement:
    """Name, parts and nets of a subject that is one part between two nodes, by its `element`."""

    if TYPE_CHECKING:

        @property
        def element(self) -> Element:
            """The part, or one of several in it."""

    @property
    def label(self) -> str:
        """Its designator, and which one it is in a part of several."""
        return self.element.label

    @property
    def parts(self) -> tuple[str, ...]:
        """The part."""
        return (self.element.reference,)

    @property
    def nets(self) -> tuple[str, ...]:
        """Its nodes: anode and cathode of a diode."""
        return (self.element.a, self.element.b)


class OfOneNode:
    """Name, parts and nets of a subject that is one rail, by its `node` and `name`."""

    if TYPE_CHECKING:

        @property
        def node(self) -> str:
            """The node."""

        @property
        def name(self) -> str:
            """Its best net name."""

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "rail"

    @property
    def label(self) -> str:
        """Name of the node."""
        return self.name

    @property
    def parts(self) -> tuple[str, ...]:
        """Nothing: a rail is a net."""
        return ()

    @property
    def nets(self) -> tuple[str, ...]:
        """The node."""
        return (self.node,)
