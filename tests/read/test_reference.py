"""The reference reader as oracle: what both can read, both read alike."""

from __future__ import annotations

import dataclasses
import warnings

import pytest
from tests.read.netlists import BARE, QUOTED

from boardvet.board import Place
from boardvet.errors import InputErrors
from boardvet.read.netlist import Netlist, read_netlist
from boardvet.read.reference import read_netlist_by_reference

# The reference reader demands a design section in any case.
RICH = r"""(export (version "E")
  (design (source "x") (tool "drawn by hand"))
  (components
    (comp (ref "P1") (value "2.4\" panel \\ 0.1 µF") (datasheet "~")
      (fields (field (name "Part No") "X (1)") (field (name "Empty")))
      (libsource (lib "ours") (part "plug") (description "a plug"))
      (property (name "dnp")) (property (name "Sheet") (value "top"))
      (sheetpath (names "/") (tstamps "/")) (tstamps "1"))
    (comp (ref "U1") (value "NA(47uF/6.3V/20%)") (libsource (lib "ours") (part "other")))
    (comp (ref 5.0V/3.3V1) (value two words) (libsource (lib none) (part none))))
  (libparts
    (libpart (lib "ours") (part "plug")
      (pins (pin (num "1") (name "~") (type "passive")) (pin (num "MP") (name "") (type "unspc"))))
    (libpart (lib "ours") (part "chip") (description "a chip") (docs "none")
      (aliases (alias "other") (alias "third"))
      (fields (field (name "Reference") "U"))
      (pins (pin (num "1") (name "VDD") (type "power_in"))
        (pin (num "2") (name "IO_2") (type "BiDi")))))
  (libraries (library (logical "ours") (uri "ours.lib")))
  (nets
    (net (code "1") (name "/GPIO20\\RXD") (class "Default")
      (node (ref "U1") (pin "2") (pinfunction "IO_2") (pintype "bidirectional"))
      (node (ref "P1") (pin "MP") (pintype "passive"))
      (node (ref "P1") (pin "MP") (pintype "passive")))
    (net (code "2") (name "")
      (node (ref "U1") (pin "1") (pinfunction "VDD_1") (pintype "power_in+no_connect")))
    (net (code "3") (name "") (node (ref "P1") (pin "1")))
    (net (code "4") (name +3.3) (node (ref "5.0V/3.3V1") (pin "A1B1")))))
"""


def without_lines(board: Netlist) -> Netlist:
    """The same without lines, which the reference reader does not keep."""
    nowhere = Place("board.net")
    return Netlist(
        {key: dataclasses.replace(part, place=nowhere) for key, part in board.parts.items()},
        {key: dataclasses.replace(net, place=nowhere) for key, net in board.nets.items()},
    )


@pytest.mark.parametrize("text", [BARE, QUOTED, RICH], ids=["bare", "quoted", "rich"])
def test_both_readers_read_the_same(text: str) -> None:
    own = read_netlist(text, "board.net")
    reference = read_netlist_by_reference(text, "board.net")

    assert without_lines(own) == reference
    assert list(own.parts) == list(reference.parts)
    assert list(own.nets) == list(reference.nets)


def test_what_the_reference_reader_refuses_is_a_clear_mistake() -> None:
    newer = BARE.replace("  (nets\n", "  (groups (group one))\n  (nets\n")
    with pytest.raises(InputErrors) as caught:
        read_netlist_by_reference(newer, "board.net")

    (error,) = caught.value.errors
    assert "the reference reader cannot read" in str(error)
    assert "--reader" in error.do
    assert error.line > 0


def test_the_warnings_of_its_libraries_reach_nobody() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        read_netlist_by_reference(BARE, "board.net")
