"""Parts as other editors draw them: only what the test says of them."""

from __future__ import annotations

from collections.abc import Sequence

from boardvet.board import Board, Net, Node, Part, Pin, PinType, Place
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds, PartKind
from boardvet.facts import FactBook
from boardvet.intent import Intent


def drawn(
    reference: str,
    name: str = "",
    value: str = "",
    footprint: str = "",
    *,
    pins: int | Sequence[str] = 2,
    library: str = "",
    description: str = "",
    fitted: bool = True,
) -> Part:
    """A part of so many unnamed pins, or of pins with these names, each on its own net."""
    names = [""] * pins if isinstance(pins, int) else pins
    ends = tuple(
        Pin(str(number), name, PinType.PASSIVE, f"N{number}")
        for number, name in enumerate(names, start=1)
    )
    place = Place("drawn.net", 7)
    return Part(
        reference, value, footprint, library, name, description, {}, fitted, True, ends, place
    )


def circuit_with(part: Part) -> Circuit:
    """A circuit of nothing but one part."""
    nets = {
        pin.net: Net(pin.net, pin.net, False, (Node(part.reference, pin.number),), part.place)
        for pin in part.pins
        if pin.net is not None
    }
    board = Board("drawn", {part.reference: part}, nets)
    return Circuit(board, Intent.empty(), FactBook(board, Intent.empty()))


def told(part: Part) -> PartKind:
    """The kind of a part that stands alone, with its evidence."""
    return circuit_with(part).view(Kinds).of_part[part.reference]
