"""The reference reader: the netlist through the library `kinparse`.

Slow and strict, but written by others: what it reads must equal what our own reader reads. The
library is imported when first used only.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable
from typing import Any

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

__all__ = ["parse_by_reference", "read_netlist_by_reference"]


def parse_by_reference(text: str) -> Any:
    """Return what the library makes of a text, untouched.

    Parameters
    ----------
    text : str
        Decoded text; the library itself would open a file as Latin-1.

    Returns
    -------
    pyparsing.ParseResults

    Raises
    ------
    pyparsing.ParseBaseException, RecursionError
        If the library cannot read it.
    """
    import io

    from kinparse import parse_netlist
    from pyparsing import PyparsingDeprecationWarning

    with warnings.catch_warnings():
        # The library calls its parser library by names that are old by now: not ours to mend.
        warnings.simplefilter("ignore", PyparsingDeprecationWarning)
        return parse_netlist(io.StringIO(text))


def read_netlist_by_reference(text: str, file: str) -> Netlist:
    """Read a netlist with the reference reader.

    Parameters
    ----------
    text : str
        Decoded text of the file.
    file : str
        Its path as the user gave it, for places and errors.

    Returns
    -------
    Netlist
        As `boardvet.read.netlist.read_netlist` gives it, without lines: the library keeps none.

    Raises
    ------
    InputErrors
        If the library cannot read the file, or for a mistake that `assemble` finds.
    """
    from pyparsing import ParseBaseException

    try:
        result = parse_by_reference(text.removeprefix("\ufeff"))
    except ParseBaseException as error:
        raise InputErrors([_refused(file, error.lineno, error.column)]) from None
    except RecursionError:
        raise InputErrors([_refused(file, 0, 0)]) from None
    return assemble(
        file,
        [_part(part) for part in result.parts],
        [_symbol(symbol) for symbol in result.libparts],
        [_net(net) for net in result.nets],
    )


def _refused(file: str, line: int, column: int) -> InputError:
    return InputError(
        file,
        "the reference reader cannot read on from here",
        "use the own reader (leave --reader away): the reference reader refuses sections that it "
        "does not know",
        line,
        column,
    )


def _part(part: Any) -> RawPart:
    said = part.asDict()
    fields: dict[str, str] = {}
    for field in said.get("fields", ()):
        fields.setdefault(_text(field, "name"), _text(field, "value"))
    flags = []
    for stated in said.get("properties", ()):
        if "value" in stated:
            fields.setdefault(_text(stated, "name"), _text(stated, "value"))
        else:
            flags.append(_text(stated, "name"))
    if _text(said, "datasheet"):
        fields.setdefault("Datasheet", _text(said, "datasheet"))
    return RawPart(
        _text(said, "ref").strip(),
        _text(said, "value").strip(),
        _text(said, "footprint").strip(),
        _text(said, "lib"),
        _text(said, "name"),
        _text(said, "desc"),
        fields,
        tuple(flags),
        0,
    )


def _symbol(symbol: Any) -> RawSymbol:
    said = symbol.asDict()
    aliases: Iterable[str] = said.get("aliases", ())
    return RawSymbol(
        _text(said, "lib"),
        _text(said, "name"),
        tuple(map(_unescaped, aliases)),
        _text(said, "desc"),
        tuple(
            RawPin(_text(pin, "num").strip(), _pin_name(pin, "name"), _text(pin, "type"))
            for pin in said.get("pins", ())
        ),
    )


def _net(net: Any) -> RawNet:
    said = net.asDict()
    return RawNet(
        _text(said, "code"),
        _text(said, "name"),
        [
            RawNode(
                _text(node, "ref").strip(),
                _text(node, "num").strip(),
                _pin_name(node, "function"),
                _text(node, "type"),
            )
            for node in said.get("pins", ())
        ],
        0,
    )


def _pin_name(said: dict[str, Any], key: str) -> str:
    name = _text(said, key)
    return "" if name == "~" else name


def _text(said: dict[str, Any], key: str) -> str:
    value = said.get(key, "")
    return _unescaped(value) if isinstance(value, str) else ""


def _unescaped(text: str) -> str:
    """Undo the escapes that the library leaves in.

    It does not say which texts stood in quotes; outside them a doubled backslash or a backslash
    before a quote does not occur.
    """
    return re.sub(r'\\(["\\])', r"\1", text) if "\\" in text else text
