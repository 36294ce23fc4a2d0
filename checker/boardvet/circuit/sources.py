"""View: everything that can put energy into the board."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from boardvet.circuit.cells import Cells
from boardvet.circuit.grounds import Grounds
from boardvet.circuit.handle import Circuit
from boardvet.circuit.kinds import Kinds
from boardvet.circuit.names import is_supply_name, pin_name, plain_net_name
from boardvet.circuit.nodes import Nodes
from boardvet.circuit.pins import PinRoles
from boardvet.known import Known
from boardvet.quantity.statement import Span
from boardvet.vocabulary.kinds import Kind
from boardvet.vocabulary.roles import Role

__all__ = ["Source", "SourceKind", "Sources"]

USB_VOLTAGE = Known(Span(4.75, 5.25), "V", "standard USB 2.0, 7.2.2: 4.75 to 5.25 V at the port")
USB_HIGHEST = 5.5
"""What USB may show at the highest: vSafe5V of USB Type-C (from memory). [V]"""

_DEBUG_WORDS = (
    "SWDIO SWCLK SWO SWD SWC TMS TCK TDI TDO NTRST UPDI PDI ICSPDAT ICSPCLK PGD PGC PGED PGEC"
    " MISO MOSI SCK DEBUG DEBUGWIRE SBWTDIO SBWTCK TEST RESET NRST RST MCLR SWIM"
)
_PROGRAMMING = frozenset(_DEBUG_WORDS.split())
_SENSING = frozenset({"VTREF", "VTARGET", "VREF", "VTG", "SENSE", "VSENSE"})
"""Names of a header's pin by which a programmer only reads the supply of the board."""

_WORDS = re.compile(r"prog|isp|icsp|swd|jtag|updi|debug|tag-?connect|pgm", re.IGNORECASE)


class SourceKind(StrEnum):
    """What a source is."""

    CELL = "cell"
    USB = "usb"
    STATED = "stated"
    SOLAR = "solar"
    HEADER = "programming header"


@dataclass(frozen=True, slots=True)
class Source:
    """Something that can feed a node.

    Parameters
    ----------
    reference : str
        The part through which it feeds.
    kind : SourceKind
        What it is; a programming header feeds only now and then.
    node : str
        The node that it feeds.
    voltage : Known[Span] or None
        None for a cell (its curve says) and for a voltage that nobody stated. [V]
    highest : float or None
        The highest it may show, for damage. [V]
    """

    reference: str
    kind: SourceKind
    node: str
    voltage: Known[Span] | None = None
    highest: float | None = None

    @property
    def label(self) -> str:
        """Reference and kind in words."""
        words = {SourceKind.USB: "USB", SourceKind.HEADER: "programmer", SourceKind.SOLAR: "solar"}
        return f"{self.reference} ({words[self.kind]})" if self.kind in words else self.reference


@dataclass(frozen=True)
class Sources:
    """The sources of the board: cells first, then what is plugged in."""

    all: tuple[Source, ...]

    @classmethod
    def of(cls, circuit: Circuit) -> Self:
        """List what can feed the board."""
        return cls((*_cells(circuit), *_plugged(circuit)))

    def of_kind(self, *kinds: SourceKind) -> tuple[Source, ...]:
        """Return the sources of these kinds."""
        return tuple(source for source in self.all if source.kind in kinds)

    @property
    def besides_cells(self) -> tuple[Source, ...]:
        """Sources that feed the board in everyday use and are no cells."""
        return self.of_kind(SourceKind.USB, SourceKind.STATED, SourceKind.SOLAR)


def is_programming_header(circuit: Circuit, reference: str) -> bool:
    """Tell whether a connector is there for a programmer: by its words, pins or nets."""
    part = circuit.board.parts[reference]
    if _WORDS.search(f"{part.value} {part.name} {part.footprint}"):
        return True
    names = {pin_name(pin.function) for pin in part.pins}
    for pin in part.pins:
        if pin.net is not None:
            last = re.split(r"[/\\_.-]", circuit.board.nets[pin.net].name.upper())
            names.update(word.lstrip("~!") for word in last)
    return len(names & _PROGRAMMING) >= 2 or "UPDI" in names


def _cells(circuit: Circuit) -> Iterator[Source]:
    for cell in circuit.view(Cells).all:
        if cell.plus is not None:
            yield Source(cell.reference, SourceKind.CELL, cell.plus)


def _plugged(circuit: Circuit) -> Iterator[Source]:
    kinds, nodes = circuit.view(Kinds), circuit.view(Nodes)
    stated = circuit.intent.sources
    for reference, source in stated.items():
        node = _stated_node(circuit, reference, source.net.value if source.net else None)
        if node is not None and reference in kinds.fitted:
            highest = source.voltage.value.high if source.voltage else None
            yield Source(reference, SourceKind.STATED, node, source.voltage, highest)
    for reference in kinds.fitted_of(Kind.USB_CONNECTOR):
        node = _usb_node(circuit, reference)
        if reference not in stated and node is not None:
            yield Source(reference, SourceKind.USB, node, USB_VOLTAGE, USB_HIGHEST)
    cells = {cell.reference for cell in circuit.view(Cells).all}
    for reference in kinds.fitted_of(Kind.SOLAR_CELL):
        pins = circuit.board.parts[reference].pins
        if pins and pins[0].net is not None and reference not in stated:
            yield Source(reference, SourceKind.SOLAR, nodes.node_of[pins[0].net])
    for reference in kinds.fitted_of(Kind.CONNECTOR):
        if reference in stated or reference in cells:
            continue
        if is_programming_header(circuit, reference) and not _only_senses(circuit, reference):
            yield from _header(circuit, reference)


def _stated_node(circuit: Circuit, reference: str, net: str | None) -> str | None:
    nodes, grounds = circuit.view(Nodes), circuit.view(Grounds)
    if net is not None:
        wanted = net.lstrip("/")
        for key, found in circuit.board.nets.items():
            if found.name.lstrip("/") == wanted:
                return nodes.node_of[key]
    pins = circuit.board.parts[reference].pins if reference in circuit.board.parts else ()
    live = (nodes.of_net(pin.net) for pin in pins)
    return next((node for node in live if node is not None and node not in grounds), None)


def _usb_node(circuit: Circuit, reference: str) -> str | None:
    nodes = circuit.view(Nodes)
    for pin in circuit.board.parts[reference].pins:
        if pin.net is not None and pin_name(pin.function) in {"VBUS", "VCC", "+5V", "5V", "VUSB"}:
            return nodes.node_of[pin.net]
    return None


def _only_senses(circuit: Circuit, reference: str) -> bool:
    """Tell whether somebody states that a header does not power the board, or a pin does."""
    stated = circuit.known(reference, "powers_board")
    if stated is not None:
        return stated.value is False
    return any(pin_name(pin.function) in _SENSING for pin in circuit.board.parts[reference].pins)


def _header(circuit: Circuit, reference: str) -> Iterator[Source]:
    """Yield the supply pin of a header: its net feeds supply pins, or is named like a rail."""
    nodes, grounds, roles = circuit.view(Nodes), circuit.view(Grounds), circuit.view(PinRoles)
    for pin in circuit.board.parts[reference].pins:
        if pin.net is None or nodes.node_of[pin.net] in grounds:
            continue
        fed = any(p.role is Role.SUPPLY for p in roles.on_net[pin.net])
        name = plain_net_name(circuit.board.nets[pin.net].name)
        if fed or is_supply_name(name) or is_supply_name(pin_name(pin.function)):
            yield Source(reference, SourceKind.HEADER, nodes.node_of[pin.net])
            return
