"""View: the nets that a person named, as subjects."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from boardvet.board import Net, PinType, Place
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import plain_net_name
from boardvet.circuit.pins import PinRef, PinRoles
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["NamedNet", "NamedNets"]

ENDS_BY_DESIGN = frozenset(
    {Kind.CONNECTOR, Kind.USB_CONNECTOR, Kind.TEST_POINT, Kind.ANTENNA, Kind.HOLE, Kind.UNKNOWN}
)
"""Kinds on which a net may end: what comes next is off the board, or a person's hand."""

_PORT = re.compile(r"(P[A-K]?\d{1,3}|P\d\d{1,2}|GPIO\d{1,3}|GP\d{1,2}|IO\d{1,3}|[AD]\d{1,2})")
_PLAIN = re.compile(r"[^A-Z0-9]+")


def _letters_and_digits(text: str) -> str:
    return _PLAIN.sub("", text.upper())


@dataclass(frozen=True)
class NamedNet:
    """A net with a name that a person gave, as a subject.

    Parameters
    ----------
    net : Net
        The net.
    pins : tuple of PinRef
        Its pins, those of parts that are not fitted included.
    kinds : tuple of Kind
        The kind of the part of each pin.
    """

    net: Net
    pins: tuple[PinRef, ...]
    kinds: tuple[Kind, ...]

    @property
    def kind(self) -> str:
        """Kind of subject."""
        return "net"

    @property
    def label(self) -> str:
        """Its name."""
        return self.net.name

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts on it."""
        return tuple(dict.fromkeys(pin.reference for pin in self.pins))

    @property
    def nets(self) -> tuple[str, ...]:
        """The net."""
        return (self.net.key,)

    @property
    def place(self) -> Place:
        """Where the net stands in the netlist."""
        return self.net.place

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[NamedNet]:
        """Return the named nets of the board."""
        return circuit.view(NamedNets).all

    @property
    def is_pin_label(self) -> bool:
        """True if its name only repeats what its pin is called: the label of a spare pin."""
        plain = _letters_and_digits(plain_net_name(self.net.name))
        return bool(
            _PORT.fullmatch(plain) or plain in _letters_and_digits(self.pins[0].pin.function)
        )

    @property
    def ends_by_design(self) -> bool:
        """True if its only pin is one on which a net may end, or is marked as left open."""
        pin, kind = self.pins[0], self.kinds[0]
        return (
            kind in ENDS_BY_DESIGN
            or pin.pin.marked_open
            or pin.pin.type is PinType.NOT_CONNECTED
            or pin.role is Role.NO_CONNECT
        )


@dataclass(frozen=True)
class NamedNets:
    """The nets that a person named, in the order of the board."""

    all: tuple[NamedNet, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """Collect the named nets with all their pins."""
        roles, kinds = circuit.view(PinRoles), circuit.view(Kinds)
        pins: dict[str, list[PinRef]] = {}
        for of_part in roles.of_part.values():
            for pin in of_part:
                if pin.pin.net is not None:
                    pins.setdefault(pin.pin.net, []).append(pin)
        return cls(
            tuple(
                NamedNet(net, tuple(found), tuple(kinds.kind(pin.reference) for pin in found))
                for key, net in circuit.board.nets.items()
                if net.named and (found := pins.get(key))
            )
        )
