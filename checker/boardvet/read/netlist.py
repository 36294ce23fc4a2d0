"""The s-expression netlist: components, library symbols and nets, in all versions met so far.

Only what a review needs is taken; sections and lists that are not known are passed over, since
newer versions add some and older ones lack others.
"""

from __future__ import annotations

from boardvet.errors import InputError, InputErrors
from boardvet.read.assembly import (
    Netlist,
    RawNet,
    RawNode,
    RawPart,
    RawPin,
    RawSymbol,
    assemble,
)
from boardvet.read.sexpr import Element, Items, elements, text_of

__all__ = ["ROOT", "Netlist", "read_netlist"]

ROOT = "export"
"""Key of the outermost list of every version."""


def read_netlist(text: str, file: str) -> Netlist:
    """Read a netlist.

    Parameters
    ----------
    text : str
        Decoded text of the file.
    file : str
        Its path as the user gave it, for places and errors.

    Returns
    -------
    Netlist
        Parts and nets with the line of each.

    Raises
    ------
    InputErrors
        With every mistake that can be told apart: brackets that do not match, no components, a
        net that names an absent part, a connected part that is listed twice.
    """
    found = _Found(file)
    try:
        for element in elements(text.removeprefix("\ufeff"), file, ROOT):
            found.take(element)
    except InputError as error:
        raise InputErrors([*found.errors, error]) from None
    if "nets" not in found.sections and found.parts:
        found.errors.append(
            InputError(
                file,
                "the netlist has no section (nets",
                "this is only part of a netlist; export it again",
            )
        )
    return assemble(file, found.parts, found.symbols, found.nets, found.errors)


class _Found:
    """What has been found so far; grows as entries of the file close."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.parts: list[RawPart] = []
        self.symbols: list[RawSymbol] = []
        self.nets: list[RawNet] = []
        self.sections: set[str] = set()
        self.errors: list[InputError] = []

    def take(self, element: Element) -> None:
        kind = element[:2]
        if kind == ("nets", "net"):
            self._net(element)
        elif kind == ("components", "comp"):
            self._part(element)
        elif kind == ("libparts", "libpart"):
            self.symbols.append(_symbol(element.items))
        elif not element.section:
            self._section(element)

    def _section(self, section: Element) -> None:
        self.sections.add(section.key)
        if section.key not in ("components", "libparts", "nets"):
            return
        for key, value in section.items[:1]:
            # What a merge of two versions leaves behind, for one, stands outside all entries.
            shown = f"({key} …)" if key else f"{text_of(value)[:30]!r}"
            self._wrong(section.line, f"({section.key} holds {shown}, which is no entry")

    def _part(self, comp: Element) -> None:
        known: dict[str, str] = {}
        fields: dict[str, str] = {}
        flags: list[str] = []
        library = name = drawn = ""
        for key, value in comp.items:
            if isinstance(value, str):
                known.setdefault(key, value)
            elif key == "fields":
                _take_fields(value, fields)
            elif key == "property":
                _take_property(value, fields, flags)
            elif key == "libsource":
                source = _texts(value)
                library, name = source.get("lib", ""), source.get("part", "")
                drawn = source.get("description", "")
            else:
                known.setdefault(key, text_of(value))
        reference = known.get("ref", "").strip()
        if not reference:
            self._wrong(comp.line, "a component has no reference")
            return
        if known.get("datasheet"):
            fields.setdefault("Datasheet", known["datasheet"])
        self.parts.append(
            RawPart(
                reference,
                known.get("value", "").strip(),
                known.get("footprint", "").strip(),
                library,
                name,
                known.get("description") or drawn,
                fields,
                tuple(flags),
                comp.line,
            )
        )

    def _net(self, net: Element) -> None:
        code = name = ""
        nodes: list[RawNode] = []
        for key, value in net.items:
            if key == "node" and not isinstance(value, str):
                node = _texts(value)
                reference, pin = node.get("ref", "").strip(), node.get("pin")
                if reference and pin is not None:
                    function = _unnamed(node.get("pinfunction", ""))
                    nodes.append(
                        RawNode(reference, pin.strip(), function, node.get("pintype", ""))
                    )
                else:
                    self._wrong(net.line, "an end of this net has no part or no pin number")
            elif key == "code":
                code = text_of(value)
            elif key == "name":
                name = text_of(value)
        self.nets.append(RawNet(code, name, nodes, net.line))

    def _wrong(self, line: int, what: str) -> None:
        self.errors.append(
            InputError(self.file, what, "the file is damaged; export it again", line)
        )


def _texts(items: Items) -> dict[str, str]:
    return {
        key: value if isinstance(value, str) else text_of(value) for key, value in items if key
    }


def _unnamed(name: str) -> str:
    """Return the name of a pin; older files write a tilde where there is none."""
    return "" if name == "~" else name


def _take_fields(items: Items, fields: dict[str, str]) -> None:
    for _, value in items:
        if not isinstance(value, str):
            name = _texts(value).get("name", "")
            fields.setdefault(name, text_of(value))


def _take_property(items: Items, fields: dict[str, str], flags: list[str]) -> None:
    """Take one property; without a value its name alone is the statement."""
    known = _texts(items)
    name = known.get("name", "")
    if "value" in known:
        fields.setdefault(name, known["value"])
    else:
        flags.append(name)


def _symbol(items: Items) -> RawSymbol:
    known = _texts(items)
    aliases: tuple[str, ...] = ()
    pins: list[RawPin] = []
    for key, value in items:
        if isinstance(value, str):
            continue
        if key == "aliases":
            aliases = tuple(text_of(alias) for word, alias in value if word == "alias")
        elif key == "pins":
            for word, pin in value:
                if word == "pin" and not isinstance(pin, str):
                    said = _texts(pin)
                    name = _unnamed(said.get("name", ""))
                    pins.append(RawPin(said.get("num", "").strip(), name, said.get("type", "")))
    return RawSymbol(
        known.get("lib", ""),
        known.get("part", ""),
        aliases,
        known.get("description", ""),
        tuple(pins),
    )
