"""Parts that are drawn but not bought: copper, holes and print of the bare board.

What libraries call such parts is common practice, no source.
"""

from __future__ import annotations

import re

from boardvet.board import Part
from boardvet.vocabulary.kinds import MECHANICAL, Kind

__all__ = ["is_bare_board"]

_NEVER_BOUGHT = MECHANICAL | {Kind.TEST_POINT, Kind.JOINED_GROUND}
_COPPER = re.compile(
    r"touch|cap_?pad|(^|[_\W])pads?([_\W\d]|$)|solder_?(wire|pad|point)|raw_?pins"
    r"|card_?edge|edge_?(conn|card|finger|pad)|(gold_?)?fingers?([_\W]|$)|usb[_\W]?pcb|pcb[_\W]?usb"
    r"|tag[_\W]?connect|tc20[35]0|spark_?gap|printed|castellat",
    re.IGNORECASE,
)
_BOUGHT_CONTACT = re.compile(r"socket|slot|receptacle|switch", re.IGNORECASE)
_BOUGHT_ANTENNA = re.compile(
    r"chip|ceramic|whip|helical|spring|coil|smd|smt|u\.?fl|sma|ipex|[a-z]\d{4}|\d{4}[a-z]", re.I
)
_PIN_HEADER = re.compile(r"header|hdr|pin_?strip|0?[12]x\d|2[.,]54|shunt|dip", re.IGNORECASE)


def is_bare_board(part: Part, kind: Kind) -> bool:
    """Tell whether a part comes with the bare board, so that no BOM has to list it.

    Mounting holes, fiducials, graphics, test points and joined grounds always do. Antennas and
    jumpers do unless their texts name something that is bought (a chip antenna, a pin header).
    Touch pads, card edges and solder pads are told by their texts.
    """
    if kind in _NEVER_BOUGHT:
        return True
    text = " ".join((part.value, part.name, part.footprint.rpartition(":")[2]))
    if kind is Kind.ANTENNA:
        return _BOUGHT_ANTENNA.search(text) is None
    if kind is Kind.JUMPER:
        return _PIN_HEADER.search(text) is None
    if kind in {Kind.CONNECTOR, Kind.USB_CONNECTOR, Kind.BUTTON, Kind.SWITCH, Kind.UNKNOWN}:
        whole = f"{text} {part.footprint}"
        return _COPPER.search(whole) is not None and _BOUGHT_CONTACT.search(text) is None
    return False
