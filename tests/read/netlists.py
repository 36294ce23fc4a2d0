"""Small netlists of our own for the reader tests; parts and libraries are invented."""

from __future__ import annotations

from boardvet.board import Net, Part
from boardvet.read.netlist import Netlist, read_netlist

BARE = """(export (version D)
  (design
    (source lamp.sch)
    (tool "drawn by hand"))
  (components
    (comp (ref R1)
      (value 4k7)
      (footprint ours:chip-0603)
      (libsource (lib ours) (part resistor)))
    (comp (ref D1)
      (value "amber, 20 mA")
      (libsource (lib ours) (part lamp))))
  (libparts
    (libpart (lib ours) (part resistor)
      (pins
        (pin (num 1) (name ~) (type passive))
        (pin (num 2) (name ~) (type passive))))
    (libpart (lib ours) (part lamp)
      (pins
        (pin (num 1) (name K) (type passive))
        (pin (num 2) (name A) (type passive)))))
  (libraries
    (library (logical ours)
      (uri ours.lib)))
  (nets
    (net (code 1) (name +3.3)
      (node (ref R1) (pin 1)))
    (net (code 2) (name "Net-(D1-Pad2)")
      (node (ref R1) (pin 2))
      (node (ref D1) (pin 2)))
    (net (code 3) (name GND)
      (node (ref D1) (pin 1)))))
"""
"""Version D: atoms stand bare where they can."""

QUOTED = (
    BARE.replace("(version D)", '(version "E")')
    .replace("(ref R1)", '(ref "R1")')
    .replace("(ref D1)", '(ref "D1")')
    .replace("(value 4k7)", '(value "4k7")')
    .replace("ours:chip-0603", '"ours:chip-0603"')
    .replace("(lib ours)", '(lib "ours")')
    .replace("+3.3", '"+3.3"')
    .replace("GND", '"GND"')
    .replace("(pin 1)", '(pin "1")')
    .replace("(pin 2)", '(pin "2")')
)
"""Version E: the same board, atoms in quotes."""


def netlist(components: str, nets: str = "", libparts: str = "") -> str:
    """Return a netlist with these entries of its sections."""
    return (
        f'(export (version "E")\n(components\n{components}\n)\n'
        f"(libparts\n{libparts}\n)\n(nets\n{nets}\n))\n"
    )


def part_of(comp: str, nets: str = "", libparts: str = "") -> Part:
    """Read one component and return its part."""
    (part,) = read(netlist(comp, nets, libparts)).parts.values()
    return part


def only_net(nets: str, comp: str = "(comp (ref U1) (value chip))") -> Net:
    """Read one net and return it."""
    (net,) = read(netlist(comp, nets)).nets.values()
    return net


def read(text: str) -> Netlist:
    """Read a text as the file board.net."""
    return read_netlist(text, "board.net")
