"""Parts and nets made from what a netlist reader found, the same for every reader."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

from boardvet.board import Net, Node, Part, Pin, PinType, Place
from boardvet.errors import InputError, InputErrors
from boardvet.read.unfitted import fields_mark_unfitted, split_value

__all__ = [
    "Netlist",
    "RawNet",
    "RawNode",
    "RawPart",
    "RawPin",
    "RawSymbol",
    "assemble",
    "is_named",
    "pin_type",
]


@dataclass(frozen=True, slots=True)
class Netlist:
    """Parts by reference and nets by key, each in the order of the file."""

    parts: Mapping[str, Part]
    nets: Mapping[str, Net]


class RawPin(NamedTuple):
    """A pin as its library symbol states it."""

    number: str
    name: str
    type: str


class RawSymbol(NamedTuple):
    """A library symbol: the pins that parts drawn with it have."""

    library: str
    name: str
    aliases: tuple[str, ...]
    description: str
    pins: tuple[RawPin, ...]


class RawPart(NamedTuple):
    """A part as the file states it; `flags` are properties without a text."""

    reference: str
    value: str
    footprint: str
    library: str
    name: str
    description: str
    fields: dict[str, str]
    flags: tuple[str, ...]
    line: int


class RawNode(NamedTuple):
    """One end of a net as the file states it."""

    reference: str
    pin: str
    function: str
    type: str


class RawNet(NamedTuple):
    """A net as the file states it."""

    code: str
    name: str
    nodes: Sequence[RawNode]
    line: int


class _Contact(NamedTuple):
    """What the nets say of one pin."""

    net: str
    function: str
    type: str


_NO_PIN: Final = RawPin("", "", "")

# Words for pin types, letters and digits only, from all versions of the format.
_TYPES: Final = {
    "passive": PinType.PASSIVE,
    "input": PinType.INPUT,
    "output": PinType.OUTPUT,
    "bidi": PinType.BIDIRECTIONAL,
    "bidirectional": PinType.BIDIRECTIONAL,
    "3state": PinType.THREE_STATE,
    "tristate": PinType.THREE_STATE,
    "opencol": PinType.OPEN_COLLECTOR,
    "opencollector": PinType.OPEN_COLLECTOR,
    "openem": PinType.OPEN_EMITTER,
    "openemitter": PinType.OPEN_EMITTER,
    "powerin": PinType.SUPPLY_IN,
    "powerout": PinType.SUPPLY_OUT,
    "noconnect": PinType.NOT_CONNECTED,
    "notconnected": PinType.NOT_CONNECTED,
    "free": PinType.FREE,
    "unspc": PinType.UNKNOWN,
    "unspecified": PinType.UNKNOWN,
}

# Names that schematic editors make up for nets that nobody named.
_AUTOMATIC: Final = re.compile(
    r"(?:.*/)?(?:Net-\(.*|unconnected-\(.*|no_connect-\(.*|N-\d{5,})"
    r"|N\$\d+|Net[A-Z]{1,4}\d+[A-Z]?_\w+|",
    re.DOTALL,
)


@lru_cache(maxsize=1024)
def pin_type(word: str) -> tuple[PinType, bool]:
    """Return the type that a word of any version of the format means, and whether marked open.

    >>> pin_type("passive+no_connect")
    (<PinType.PASSIVE: 'passive'>, True)
    """
    base, *suffixes = (re.sub(r"[\W_]", "", part).lower() for part in word.split("+"))
    return _TYPES.get(base, PinType.UNKNOWN), "noconnect" in suffixes


def is_named(name: str) -> bool:
    """Return whether a person gave this net name.

    >>> is_named("VBAT"), is_named("Net-(U1-Pad3)"), is_named("N$1")
    (True, False, False)
    """
    return _AUTOMATIC.fullmatch(name) is None


def assemble(
    file: str,
    parts: Sequence[RawPart],
    symbols: Iterable[RawSymbol],
    nets: Sequence[RawNet],
    found: Sequence[InputError] = (),
) -> Netlist:
    """Join parts, symbols and nets.

    Parameters
    ----------
    file : str
        Path, for places.
    parts, symbols, nets
        What a reader found, in the order of the file.
    found : sequence of InputError
        Mistakes found so far, to be reported together with those found here.

    Returns
    -------
    Netlist

    Raises
    ------
    InputErrors
        With all mistakes, if there is one: no parts, a net that names an absent part, a part
        that is listed twice and connected.
    """
    errors = list(found)
    keys = _net_keys(nets)
    contacts: dict[str, dict[str, list[_Contact]]] = {part.reference: {} for part in parts}
    strangers: dict[str, list[RawNet]] = {}
    made: dict[str, Net] = {}
    for key, net in zip(keys, nets, strict=True):
        nodes = []
        for reference, pin, function, kind in net.nodes:
            known = contacts.get(reference)
            if known is None:
                strangers.setdefault(reference, []).append(net)
                continue
            known.setdefault(pin, []).append(_Contact(key, function, kind))
            nodes.append(Node(reference, pin))
        made[key] = Net(
            key, net.name, is_named(net.name), tuple(dict.fromkeys(nodes)), Place(file, net.line)
        )
    errors += [_stranger(file, *stranger) for stranger in strangers.items()]
    errors += _repeated(file, parts, contacts)
    if not parts and not errors:
        errors.append(_empty(file))
    if errors:
        raise InputErrors(sorted(errors, key=lambda error: error.line))
    by_name = _by_name(symbols)
    listed: dict[str, Part] = {}
    for part in parts:
        if part.reference not in listed:
            symbol = by_name.get((part.library, part.name))
            listed[part.reference] = _part(file, part, symbol, contacts[part.reference])
    return Netlist(listed, made)


def _net_keys(nets: Sequence[RawNet]) -> list[str]:
    """Give each net a key of its own: its name, with its code where that is not enough."""
    count = Counter(net.name for net in nets)
    taken = {name for name, times in count.items() if times == 1 and name}
    keys = []
    for position, net in enumerate(nets, 1):
        key = net.name
        if not key or count[key] > 1:
            key = base = f"{net.name}#{net.code or position}"
            again = 1
            while key in taken:
                again += 1
                key = f"{base}#{again}"
            taken.add(key)
        keys.append(key)
    return keys


def _by_name(symbols: Iterable[RawSymbol]) -> dict[tuple[str, str], RawSymbol]:
    """Index symbols by library and name; a name of its own goes before an alias."""
    symbols = list(symbols)
    index = {(s.library, alias): s for s in reversed(symbols) for alias in s.aliases}
    index.update({(s.library, s.name): s for s in reversed(symbols)})
    return index


def _part(
    file: str,
    raw: RawPart,
    symbol: RawSymbol | None,
    contacts: Mapping[str, list[_Contact]],
) -> Part:
    value, fitted = split_value(raw.value)
    return Part(
        reference=raw.reference,
        value=value,
        footprint=raw.footprint,
        library=raw.library,
        name=raw.name,
        description=raw.description or (symbol.description if symbol else ""),
        fields={**raw.fields, **dict.fromkeys(raw.flags, "")} if raw.flags else raw.fields,
        fitted=fitted and not fields_mark_unfitted(raw.fields, raw.flags),
        in_bom="exclude_from_bom" not in raw.flags,
        pins=tuple(_pins(symbol, contacts)),
        place=Place(file, raw.line),
    )


def _pins(symbol: RawSymbol | None, contacts: Mapping[str, list[_Contact]]) -> list[Pin]:
    """Pins in the order of the symbol, then those that only nets know."""
    stated: dict[str, RawPin] = {}
    for pin in symbol.pins if symbol else ():
        stated.setdefault(pin.number, pin)
    pins: list[Pin] = []
    for number in dict.fromkeys([*stated, *contacts]):
        own = stated.get(number, _NO_PIN)
        where = contacts.get(number)
        if where is None:
            pins.append(Pin(number, own.name, pin_type(own.type)[0], None))
            continue
        for contact in where if len(where) == 1 else _merged(where):
            function = _function(contact.function, number, own.name)
            kind, marked_open = pin_type(contact.type or own.type)
            pins.append(Pin(number, function, kind, contact.net, marked_open))
    return pins


def _merged(where: Sequence[_Contact]) -> list[_Contact]:
    """Make several pads of one pin one contact.

    On different nets they stay different conductors: a part that joins two nets must not look
    like a part on one of them.
    """
    by_net: dict[str, list[_Contact]] = {}
    for contact in where:
        by_net.setdefault(contact.net, []).append(contact)
    return [
        _Contact(
            net,
            next((pad.function for pad in pads if pad.function), ""),
            # A mark on one of the pads is a mark on the pin.
            min(
                (pad.type for pad in pads if pad.type),
                key=lambda word: "+" not in word,
                default="",
            ),
        )
        for net, pads in by_net.items()
    ]


def _function(function: str, number: str, stated: str) -> str:
    """Take off the pin number that newest files append, unless the symbol itself has it."""
    if not function:
        return stated
    if function != stated:
        return function.removesuffix(f"_{number}")
    return function


def _stranger(file: str, reference: str, nets: Sequence[RawNet]) -> InputError:
    names = list(dict.fromkeys(repr(net.name or net.code) for net in nets))
    shown = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
    return InputError(
        file,
        f"{reference} stands in net {shown}, but is not among the components",
        f"the file is incomplete: export it again, or remove {reference} from its nets too",
        nets[0].line,
    )


def _repeated(
    file: str, parts: Sequence[RawPart], contacts: Mapping[str, Mapping[str, object]]
) -> list[InputError]:
    """Refuse a connected reference that stands twice: nobody can tell which pin is whose.

    Unconnected ones (logos, holes) share a reference on many real boards, and the first stays.
    """
    lines: dict[str, list[int]] = {}
    for part in parts:
        lines.setdefault(part.reference, []).append(part.line)
    return [
        InputError(
            file,
            f"{reference} is listed {len(at)} times (lines {', '.join(map(str, at))})",
            "give every part its own reference (annotate the schematic) and export again",
            at[1],
        )
        for reference, at in lines.items()
        if len(at) > 1 and contacts[reference]
    ]


def _empty(file: str) -> InputError:
    return InputError(
        file,
        "the netlist has no components",
        "draw or annotate the parts first, then export the netlist again",
    )
