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

_RESETS = frozenset({"RESET", "RESETN", "NRESET", "NRST", "RST", "RSTN", "MCLR", "NMCLR"})
_DATA_LINES = (
    frozenset({"SWDIO", "SWD", "SWDAT", "SDWIO", "SWIO"}),
    frozenset({"TMS"}),
    frozenset({"PGD", "PGED", "ICSPDAT", "SBWTDIO", "DD", "PDI", "SWIM"}),
)
_CLOCK_LINES = (
    frozenset({"SWCLK", "SWDCLK", "SWC", "SWDCK", "SWCK"}),
    frozenset({"TCK"}),
    frozenset({"PGC", "PGEC", "ICSPCLK", "SBWTCK", "DC", *_RESETS}),
)
"""The two lines that a programmer needs, in pairs: serial wire, boundary scan, two-wire."""

_ONE_WIRE = frozenset({"UPDI", "DEBUGWIRE"})
_SERIAL_SHIFT = frozenset({"MISO", "MOSI", "SCK"})
"""Needs a reset beside it: alone it is the bus of a display or a card."""

_PROGRAMMED = frozenset({Kind.CONTROLLER, Kind.MODULE, Kind.INTEGRATED_CIRCUIT})
_MOST_PINS = 20
"""A header with more pins brings the controller's pins out; debug headers end here. (IEEE 1149.1
practice, from memory)"""

_USB_SUPPLY = frozenset({"VBUS", "VBUS1", "VBUS2", "VCC", "+5V", "5V", "VUSB", "USB5V", "V+"})
_USB_SUPPLY_NUMBERS = ("A4", "A9", "B4", "B9", "A4B9", "B4A9", "A4-B9", "1")
"""Pins of VBUS: USB Type-C table 3-4; pin 1 of the older connectors (USB 2.0, table 6-1)."""

_SENSING = frozenset({"VTREF", "VTARGET", "VREF", "VTG", "SENSE", "VSENSE"})
"""Names of a header's pin by which a programmer only reads the supply of the board."""

_WORDS = re.compile(
    r"(?<![a-z])(prog(ramm?(er|ing)?)?|isp|icsp|swd|jtag|updi|debug(ger)?|ftdi|pgm)(?![a-z])"
    r"|tag-?connect",
    re.IGNORECASE,
)
_LIBRARY_WORDS = re.compile(r"tag-?connect", re.IGNORECASE)


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
    if len({pin.number for pin in part.pins}) > _MOST_PINS:
        return False
    if _WORDS.search(f"{part.value} {part.name} {part.footprint.rpartition(':')[2]}"):
        return True
    names = {pin_name(pin.function) for pin in part.pins}
    for pin in part.pins:
        if pin.net is not None:
            names.update(_words_of(circuit.board.nets[pin.net].name))
    paired = any(
        names & data and names & clock
        for data, clock in zip(_DATA_LINES, _CLOCK_LINES, strict=True)
    )
    shifted = names >= _SERIAL_SHIFT and _resets_a_circuit(circuit, reference)
    serial = "DTR" in names and any(name.endswith(("TX", "TXD", "TXO")) for name in names)
    return paired or shifted or serial or bool(names & _ONE_WIRE)


def _resets_a_circuit(circuit: Circuit, reference: str) -> bool:
    """Tell whether a pin of a connector leads to the reset of something that runs a program."""
    kinds, roles = circuit.view(Kinds), circuit.view(PinRoles)
    return any(
        kinds.kind(other.reference) in _PROGRAMMED
        and (other.role is Role.RESET or set(_words_of(other.pin.function)) & _RESETS)
        for pin in circuit.board.parts[reference].pins
        if pin.net is not None
        for other in roles.on_net[pin.net]
    )


def _words_of(name: str) -> Iterator[str]:
    for word in re.split(r"[/\\_.,()\s-]", name.upper()):
        yield word.strip("~!{}")


def _cells(circuit: Circuit) -> Iterator[Source]:
    for cell in circuit.view(Cells).all:
        if cell.plus is not None:
            yield Source(cell.reference, SourceKind.CELL, cell.plus)


def _plugged(circuit: Circuit) -> Iterator[Source]:
    kinds = circuit.view(Kinds)
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
        node = _solar_node(circuit, reference)
        if node is not None and reference not in stated:
            yield Source(reference, SourceKind.SOLAR, node)
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
    """Return the node of the supply of a USB connector: by pin names, else by pin numbers."""
    nodes = circuit.view(Nodes)
    pins = [pin for pin in circuit.board.parts[reference].pins if pin.net is not None]
    for pin in pins:
        if pin.net is not None and pin_name(pin.function) in _USB_SUPPLY:
            return nodes.node_of[pin.net]
    named = any(pin.function and pin_name(pin.function) != pin.number.upper() for pin in pins)
    grounds = circuit.view(Grounds)
    for number in () if named else _USB_SUPPLY_NUMBERS:
        node = next((nodes.of_net(pin.net) for pin in pins if pin.number.upper() == number), None)
        if node is not None and node not in grounds:
            return node
    return None


def _solar_node(circuit: Circuit, reference: str) -> str | None:
    """Return the node of the plus of a solar cell: by name, else its first that is no ground."""
    nodes, grounds, roles = circuit.view(Nodes), circuit.view(Grounds), circuit.view(PinRoles)
    named = roles.net_of(reference, Role.POSITIVE, Role.ANODE)
    if named is not None:
        return nodes.node_of[named]
    live = (nodes.of_net(pin.net) for pin in circuit.board.parts[reference].pins)
    return next((node for node in live if node is not None and node not in grounds), None)


def _only_senses(circuit: Circuit, reference: str) -> bool:
    """Tell whether somebody states that a header does not power the board, or a pin does."""
    stated = circuit.known(reference, "powers_board")
    if stated is not None:
        return stated.value is False
    return any(pin_name(pin.function) in _SENSING for pin in circuit.board.parts[reference].pins)


def _header(circuit: Circuit, reference: str) -> Iterator[Source]:
    """Yield the supplies of a header: nets that feed supply pins, or are named like a rail."""
    nodes, grounds, roles = circuit.view(Nodes), circuit.view(Grounds), circuit.view(PinRoles)
    found: dict[str, None] = {}
    for pin in circuit.board.parts[reference].pins:
        if pin.net is None or nodes.node_of[pin.net] in grounds:
            continue
        fed = any(p.role is Role.SUPPLY for p in roles.on_net[pin.net])
        name = plain_net_name(circuit.board.nets[pin.net].name)
        if fed or is_supply_name(name) or is_supply_name(pin_name(pin.function)):
            found[nodes.node_of[pin.net]] = None
    yield from (Source(reference, SourceKind.HEADER, node) for node in found)
