"""What was read of a board: parts, pins, nets, BOM lines and places, as frozen data.

Nothing here is interpreted. What the netlist *means* is asked of `boardvet.circuit`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

__all__ = [
    "Board",
    "Bom",
    "BomLine",
    "FileKind",
    "Net",
    "Node",
    "Part",
    "Pin",
    "PinType",
    "Place",
    "Placement",
    "PlacementEntry",
    "SourceFile",
]


class Place(NamedTuple):
    """A place in a file; line and column count from 1, 0 where unknown."""

    file: str
    line: int = 0
    column: int = 0


class FileKind(StrEnum):
    """What a file was recognised as."""

    NETLIST = "netlist"
    BOM = "bom"
    PLACEMENT = "placement"
    TEST_POINTS = "test_points"
    INTENT = "intent"
    FACTS = "facts"


class SourceFile(NamedTuple):
    """A file that took part in a review."""

    path: str
    kind: FileKind
    sha256: str


class PinType(StrEnum):
    """Electrical type of a pin, in our own words whatever the file called it."""

    PASSIVE = "passive"
    INPUT = "input"
    OUTPUT = "output"
    BIDIRECTIONAL = "bidirectional"
    THREE_STATE = "three-state"
    OPEN_COLLECTOR = "open collector"
    OPEN_EMITTER = "open emitter"
    SUPPLY_IN = "supply in"
    SUPPLY_OUT = "supply out"
    NOT_CONNECTED = "not connected"
    FREE = "free"
    UNKNOWN = "unknown"


class Pin(NamedTuple):
    """One pin of one part.

    Parameters
    ----------
    number : str
        Pin number as on the footprint; text, since ``A1B1`` and ``MP`` occur.
    function : str
        Name of the pin, with the pin number that newest exports append taken off; "" if none.
    type : PinType
        Electrical type, `PinType.UNKNOWN` where the file does not say.
    net : str or None
        Key of its net in `Board.nets`; None where the pin is on no net.
    marked_open : bool
        True where the drawing marks the pin as left open on purpose.
    """

    number: str
    function: str
    type: PinType
    net: str | None
    marked_open: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the netlist.

    Parameters
    ----------
    reference : str
        Reference designator.
    value, footprint, library, name : str
        As exported, "" where absent; `library` and `name` say which symbol was drawn.
    description : str
        What the library says of the symbol.
    fields : mapping of str to str
        Further fields and properties, names as exported.
    fitted : bool
        False where the file marks the part as not fitted.
    in_bom : bool
        False where the file marks the part as not for the BOM.
    pins : tuple of Pin
        Each pin once, in the order of the library or, without one, of the nets.
    place : Place
        Where it stands in the netlist.
    """

    reference: str
    value: str
    footprint: str
    library: str
    name: str
    description: str
    fields: Mapping[str, str]
    fitted: bool
    in_bom: bool
    pins: tuple[Pin, ...]
    place: Place


class Node(NamedTuple):
    """One end of a net: a pin of a part."""

    reference: str
    pin: str


@dataclass(frozen=True, slots=True)
class Net:
    """One net.

    Parameters
    ----------
    key : str
        Unique on the board: the name, or name and code where names repeat.
    name : str
        As exported; may be "".
    named : bool
        True if a person gave the name, False if the editor made it.
    nodes : tuple of Node
        Its ends, each pin once, in the order of the file.
    place : Place
        Where it stands in the netlist.
    """

    key: str
    name: str
    named: bool
    nodes: tuple[Node, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class BomLine:
    """One line of the BOM.

    Parameters
    ----------
    references : tuple of str
        Designators, ranges written out; empty for an item without one.
    value, footprint, part_number, manufacturer, description : str
        Cells of the recognised columns, "" where absent.
    quantity : float or None
        What the quantity column says; None without a column or with an empty cell.
    fitted : bool
        False where value, column or quantity marks the line as not fitted.
    cells : mapping of str to str
        Every cell by its header.
    place : Place
        Where it stands.
    """

    references: tuple[str, ...]
    value: str
    footprint: str
    part_number: str
    manufacturer: str
    description: str
    quantity: float | None
    fitted: bool
    cells: Mapping[str, str]
    place: Place


class Bom(NamedTuple):
    """The lines of a BOM and which columns were recognised (role to header)."""

    lines: tuple[BomLine, ...]
    columns: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PlacementEntry:
    """Where one part sits: middle in metres, rotation in degrees, side top or bottom."""

    reference: str
    x: float
    y: float
    rotation: float
    side: str
    package: str
    value: str
    place: Place


class Placement(NamedTuple):
    """The entries of a placement file, in its order."""

    entries: tuple[PlacementEntry, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """Everything that was read of one board.

    Parameters
    ----------
    name : str
        What the report calls it.
    parts : mapping of str to Part
        By reference, in the order of the netlist.
    nets : mapping of str to Net
        By key, in the order of the netlist.
    bom : Bom or None
        None where no BOM was given.
    placement : Placement or None
        None where no placement file was given.
    files : tuple of SourceFile
        What was read, in a fixed order.
    """

    name: str
    parts: Mapping[str, Part]
    nets: Mapping[str, Net]
    bom: Bom | None = None
    placement: Placement | None = None
    files: tuple[SourceFile, ...] = field(default=())
