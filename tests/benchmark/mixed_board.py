"""A made-up mixed board of any size, written as netlist, BOM, placement file and intent page.

35 % resistors, 30 % capacitors, 10 % LEDs, integrated circuits of 5 to 64 pins, FETs, diodes and
switches, on 12 rails of which three are regulated. Nothing on it is a real design; it only has
the shape and the size.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

RAILS = ("VCELL", "VSW", "+3V3", "+2V5", "+1V8", *(f"VDD_{n}" for n in range(1, 8)))
IC_PINS = (5, 8, 14, 16, 20, 32, 48, 64)
COLOURS = ("RED", "GREEN", "BLUE", "WHITE", "AMBER")


@dataclass
class Mixed:
    """A board being made up."""

    parts: list[tuple[str, str, str, str]] = field(default_factory=list)
    pins: dict[str, list[tuple[str, str, str, str]]] = field(default_factory=dict)

    def add(
        self,
        reference: str,
        value: str,
        symbol: str,
        footprint: str,
        pins: list[tuple[str, str, str, str]],
    ) -> None:
        """Add a part; each pin is (number, function, type, net)."""
        self.parts.append((reference, value, symbol, footprint))
        self.pins[reference] = pins


def make(count: int, seed: int = 7) -> Mixed:
    """Make up a board of `count` parts."""
    chance = random.Random(seed)
    board = Mixed()
    passive = "passive"
    board.add(
        "BT1",
        "CR2450",
        "CELL",
        "HOLDER_2450",
        [("1", "+", passive, "VCELL"), ("2", "-", passive, "GND")],
    )
    board.add(
        "SW1",
        "SLIDE",
        "SW_SPST",
        "SLIDE",
        [("1", "", passive, "VCELL"), ("2", "", passive, "VSW")],
    )
    for number, rail in enumerate(("+3V3", "+2V5", "+1V8"), start=1):
        board.add(
            f"U{number}",
            f"REG-{rail[1:]}",
            "REGULATOR",
            "SOT-23",
            [
                ("1", "VIN", "power_in", "VSW"),
                ("2", "GND", "power_in", "GND"),
                ("3", "VOUT", "power_out", rail),
            ],
        )
    for number in range(1, 8):
        board.add(
            f"FB{number}",
            "600R",
            "FERRITE",
            "L_0603",
            [("1", "", passive, "+3V3"), ("2", "", passive, f"VDD_{number}")],
        )
    _circuits(board, chance, count)
    _rest(board, chance, count)
    _leave_spares_open(board)
    return board


def _leave_spares_open(board: Mixed) -> None:
    """Take pins off nets that lead nowhere: spare pins of circuits are on no net."""
    ends = Counter(net for pins in board.pins.values() for *_, net in pins)
    for reference, pins in board.pins.items():
        board.pins[reference] = [pin for pin in pins if ends[pin[3]] > 1]


def _circuits(board: Mixed, chance: random.Random, count: int) -> None:
    for index in range(max(1, count * 8 // 100)):
        size = chance.choice(IC_PINS)
        rail = chance.choice(RAILS[2:])
        pins = [("1", "VDD", "power_in", rail), ("2", "GND", "power_in", "GND")]
        pins += [(str(n), f"P{n}", "bidirectional", f"S{index}_{n}") for n in range(3, size + 1)]
        board.add(f"U{index + 10}", "ATtiny84A", "CONTROLLER", f"QFN-{size}", pins)


def _rest(board: Mixed, chance: random.Random, count: int) -> None:
    signals = [net for pins in board.pins.values() for *_, net in pins if net.startswith("S")]
    shares = (("R", 35), ("C", 30), ("D", 10), ("Q", 8), ("K", 5), ("SW", 4))
    wanted = {letter: count * share // 100 for letter, share in shares}
    node = 0
    for letter, number in wanted.items():
        for index in range(2 if letter == "SW" else 1, number + 1):
            node += 1
            net = chance.choice(signals)
            _part(board, chance, letter, index, net, f"N{node}")


def _part(
    board: Mixed, chance: random.Random, letter: str, index: int, net: str, inner: str
) -> None:
    passive = "passive"
    if letter == "R":
        value = chance.choice(("100", "330", "1k", "4k7", "10k", "100k"))
        far = chance.choice(("GND", "+3V3", f"N{chance.randrange(1, 400)}"))
        board.add(
            f"R{index}", value, "R", "R_0603", [("1", "", passive, net), ("2", "", passive, far)]
        )
    elif letter == "C":
        rail = chance.choice(RAILS)
        value = chance.choice(("100nF/16V", "1uF/10V", "10uF/6.3V"))
        board.add(
            f"C{index}",
            value,
            "C",
            "C_0603",
            [("1", "", passive, rail), ("2", "", passive, "GND")],
        )
    elif letter == "D":
        board.add(
            f"D{index}",
            chance.choice(COLOURS),
            "LED",
            "LED_0603",
            [("1", "K", passive, "GND"), ("2", "A", passive, inner)],
        )
        board.add(
            f"R{index + 100000}",
            "330",
            "R",
            "R_0603",
            [("1", "", passive, net), ("2", "", passive, inner)],
        )
    elif letter == "Q":
        board.add(
            f"Q{index}",
            "2N7002",
            "NMOS",
            "SOT-23",
            [("1", "G", "input", net), ("2", "S", passive, "GND"), ("3", "D", passive, inner)],
        )
    elif letter == "K":
        board.add(
            f"D{index + 100000}",
            "1N4148W",
            "D",
            "SOD-123",
            [("1", "K", passive, "VSW"), ("2", "A", passive, net)],
        )
    else:
        board.add(
            f"SW{index}",
            "PUSH",
            "SW_PUSH",
            "BUTTON",
            [("1", "", passive, net), ("2", "", passive, "GND")],
        )


def netlist(board: Mixed) -> str:
    """Return the board as an s-expression netlist, version E."""
    return "\n".join(_netlist(board)) + "\n"


def _netlist(board: Mixed) -> Iterator[str]:
    yield '(export (version "E")'
    yield '  (design (source "made up") (date "2026-01-01") (tool "drawn by a script"))'
    yield "  (components"
    for reference, value, symbol, footprint in board.parts:
        yield f'    (comp (ref "{reference}")'
        yield f'      (value "{value}")'
        yield f'      (footprint "made_up:{footprint}")'
        yield '      (datasheet "~")'
        yield f'      (libsource (lib "made_up") (part "{symbol}") (description "made up"))'
        yield '      (sheetpath (names "/") (tstamps "/"))'
        yield f'      (tstamps "{reference}"))'
    yield "  )"
    yield from _libparts(board)
    nets: dict[str, list[tuple[str, tuple[str, str, str, str]]]] = {}
    for reference, pins in board.pins.items():
        for pin in pins:
            nets.setdefault(pin[3], []).append((reference, pin))
    yield "  (nets"
    for code, (name, ends) in enumerate(nets.items(), start=1):
        yield f'    (net (code "{code}") (name "{name}")'
        for reference, (number, function, pin_type, _) in ends:
            named = f' (pinfunction "{function}")' if function else ""
            node = f'(ref "{reference}") (pin "{number}"){named} (pintype "{pin_type}")'
            yield f"      (node {node})"
        yield "    )"
    yield "  ))"


def _libparts(board: Mixed) -> Iterator[str]:
    seen: set[str] = set()
    yield "  (libparts"
    for reference, _, symbol, footprint in board.parts:
        key = f"{symbol}_{footprint}" if symbol == "CONTROLLER" else symbol
        if key in seen:
            continue
        seen.add(key)
        yield f'    (libpart (lib "made_up") (part "{key}")'
        yield "      (pins"
        for number, function, pin_type, _ in board.pins[reference]:
            yield f'        (pin (num "{number}") (name "{function}") (type "{pin_type}"))'
        yield "      ))"
    yield "  )"


def bom(board: Mixed) -> str:
    """Return the BOM, grouped by value and footprint."""
    groups: dict[tuple[str, str], list[str]] = {}
    for reference, value, _, footprint in board.parts:
        groups.setdefault((value, footprint), []).append(reference)
    lines = ["Reference,Qty,Value,Footprint"]
    lines += [
        f'"{",".join(refs)}",{len(refs)},{value},{footprint}'
        for (value, footprint), refs in groups.items()
    ]
    return "\n".join(lines) + "\n"


def placement(board: Mixed) -> str:
    """Return a placement file: the parts in rows, 3 mm apart."""
    lines = ["Designator,Mid X,Mid Y,Rotation,Layer"]
    lines += [
        f"{reference},{3.0 * (n % 60):.2f}mm,{3.0 * (n // 60):.2f}mm,0,top"
        for n, (reference, *_) in enumerate(board.parts)
    ]
    return "\n".join(lines) + "\n"


def intent(board: Mixed) -> str:
    """Return an intent page."""
    lights = [ref for ref, value, symbol, _ in board.parts if symbol == "LED"][:20]
    return f"""board: Made-up mixed board
cell: {{part: BT1, type: CR2450}}
run_time: 10 days
near: []
pattern:
  - {{name: flash, lights: [{", ".join(lights)}], for: 5 ms, every: 2 s}}
parts:
  U1: {{kind: regulator, output: 3.3 V, supply: 2 to 6 V, conversion: step-up}}
  U2: {{kind: regulator, output: 2.5 V, supply: 2 to 6 V, conversion: step-up}}
  U3: {{kind: regulator, output: 1.8 V, supply: 2 to 6 V}}
"""


def write(board: Mixed, folder: Path) -> Path:
    """Write the four files into a folder and return it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "mixed.net").write_text(netlist(board), encoding="utf-8")
    (folder / "mixed-bom.csv").write_text(bom(board), encoding="utf-8")
    (folder / "mixed-positions.csv").write_text(placement(board), encoding="utf-8")
    (folder / "boardvet.yaml").write_text(intent(board), encoding="utf-8")
    return folder
