"""Compare our netlist reader with the reference library on real exports.

Run as ``python tests/exports_check.py FOLDER``: prints a line for each netlist in the folder and
its subfolders, and a summary. Parts (reference, value, library), nets (name and ends, as a
multiset, since names repeat) and pins (number, name and type, of the symbols) are compared with
what the library itself returns. Where it cannot read a file, it is tried again without the lists
that it does not know. Ends with 1 where one differs. The library is slow: minutes.
"""

from __future__ import annotations

import re
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

from boardvet.board import FileKind
from boardvet.errors import BoardvetError, InputError
from boardvet.read.assembly import Netlist, pin_type
from boardvet.read.exports import Export, open_export
from boardvet.read.netlist import read_netlist
from boardvet.read.reference import parse_by_reference
from boardvet.read.unfitted import split_value

NEW_LISTS = frozenset({"design", "groups", "variants", "units", "component_classes"})


def main(arguments: list[str]) -> int:
    if len(arguments) != 1 or not Path(arguments[0]).is_dir():
        print("usage: python tests/exports_check.py FOLDER", file=sys.stderr)
        return 2
    counts: Counter[str] = Counter()
    times = [0.0, 0.0]
    for path in sorted(Path(arguments[0]).rglob("*")):
        export = _netlist(path)
        if export is None:
            continue
        outcome, why = _compare(export, times)
        counts[outcome] += 1
        print(f"{outcome:<24} {path.name[-50:]:<50} {why}", flush=True)
    print(", ".join(f"{outcome}: {count}" for outcome, count in sorted(counts.items())))
    print(f"own reader {times[0]:.2f} s, reference library {times[1]:.0f} s")
    return 1 if counts["differs"] or counts["we cannot read it"] else 0


def _netlist(path: Path) -> Export | None:
    if not path.is_file():
        return None
    try:
        export = open_export(path)
    except InputError:
        return None
    return export if export.kind is FileKind.NETLIST else None


def _compare(export: Export, times: list[float]) -> tuple[str, str]:
    from pyparsing import ParseBaseException

    start = time.perf_counter()
    try:
        own = read_netlist(export.text, str(export.path))
    except BoardvetError as error:
        return "we cannot read it", str(error)
    times[0] += time.perf_counter() - start
    start = time.perf_counter()
    outcome = "equal"
    try:
        reference = parse_by_reference(export.text)
    except (ParseBaseException, RecursionError) as error:
        try:
            outcome = "equal without new lists"
            reference = parse_by_reference(_without(export.text, NEW_LISTS))
        except (ParseBaseException, RecursionError):
            return "reference cannot read", _place(error, export.text)
    finally:
        times[1] += time.perf_counter() - start
    different = _differences(own, reference)
    size = f"{len(own.parts)} parts, {len(own.nets)} nets"
    return ("differs", "; ".join(different)) if different else (outcome, size)


def _without(text: str, keys: frozenset[str]) -> str:
    """Cut these lists out, brackets counted outside texts in quotes; the design becomes empty."""
    kept, at, depth = [], 0, 0
    for match in re.finditer(r'"(?:[^"\\]|\\.)*"|\(\s*(\w*)|\)', text):
        if depth:
            depth += {"(": 1, ")": -1}.get(match[0][0], 0)
            if not depth:
                at = match.end()
        elif match[1] in keys:
            kept.append(text[at : match.start()])
            depth = 1
    return "".join([*kept, text[at:]]).replace("(components", "(design) (components", 1)


def _place(error: Exception, text: str) -> str:
    line = getattr(error, "lineno", 0)
    shown = " ".join(text.splitlines()[line - 1].split())[:50] if line else ""
    return f"{type(error).__name__} at line {line}: {shown}"


def _differences(own: Netlist, reference: Any) -> list[str]:
    symbols = {}
    for symbol in reference.libparts:
        for name in (*symbol.aliases, symbol.name):
            symbols[_text(symbol.lib), _text(name)] = symbol
    ours: dict[str, Counter[object]] = {"parts": Counter(), "pins": Counter()}
    theirs: dict[str, Counter[object]] = {"parts": Counter(), "pins": Counter()}
    for part in own.parts.values():
        ours["parts"][part.reference, part.value, part.library, part.name] += 1
        ours["pins"].update((part.reference, pin.number) for pin in part.pins)
    for raw in reference.parts:
        said = (_text(raw.ref), split_value(_text(raw.value))[0], _text(raw.lib), _text(raw.name))
        theirs["parts"][said] += 1
    ours["nets"] = Counter(
        (net.name, frozenset((node.reference, node.pin) for node in net.nodes))
        for net in own.nets.values()
    )
    theirs["nets"] = Counter(
        (_text(net.name), frozenset((_text(node.ref), _text(node.num)) for node in net.pins))
        for net in reference.nets
    )
    theirs["pins"] = Counter(_pins(reference, symbols))
    found = []
    for what, mine in ours.items():
        if mine != theirs[what]:
            shown = [*(mine - theirs[what]), *(theirs[what] - mine)][:3]
            found.append(f"{what}: {shown}")
    wrong = [
        f"{part.reference}.{pin.number} is {pin.type.value}"
        for part in own.parts.values()
        for pin in part.pins
        if not _agrees(pin, part, symbols, reference)
    ]
    return found + wrong[:3]


def _pins(reference: Any, symbols: dict[tuple[str, str], Any]) -> set[tuple[str, str]]:
    """Every pin that the library's symbols and nets give a part."""
    pins = set()
    for part in reference.parts:
        symbol = symbols.get((_text(part.lib), _text(part.name)))
        for pin in symbol.pins if symbol else ():
            pins.add((_text(part.ref), _text(pin.num)))
    for net in reference.nets:
        pins.update((_text(node.ref), _text(node.num)) for node in net.pins)
    return pins


def _agrees(pin: Any, part: Any, symbols: dict[tuple[str, str], Any], reference: Any) -> bool:
    """Whether a pin has the type that one of the library's words for it means."""
    words = {
        _text(node.type)
        for net in reference.nets
        for node in net.pins
        if (_text(node.ref), _text(node.num)) == (part.reference, pin.number) and node.type
    }
    symbol = symbols.get((part.library, part.name))
    if not words and symbol:
        words = {_text(own.type) for own in symbol.pins if _text(own.num) == pin.number}
    return pin.type in {pin_type(word)[0] for word in words or {""}}


def _text(text: str) -> str:
    return text.strip().replace('\\"', '"').replace("\\\\", "\\")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
