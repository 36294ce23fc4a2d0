"""What most subjects have in common: they are one part, or one node with a name."""

from __future__ import annotations

from typing import TYPE_CHECKING

__all__ = ["OfOneNode", "OfOnePart"]


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
