"""Nested bracketed lists, read in one pass: each entry of a section is handed on as it closes.

Only three levels of the file are known here: the root list, its sections, and the entries of a
section. What lies inside an entry becomes plain nested pairs and is dropped by the caller when it
has taken what it needs, so that a large file never stands in memory as a whole tree.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, NamedTuple, TypeAlias

from boardvet.errors import InputError

__all__ = ["DEEPEST", "Element", "Items", "elements", "text_of"]

DEEPEST: Final = 60
"""Lists may be nested this deep; real files reach nine."""

Items: TypeAlias = list[tuple[str, "str | Items"]]
"""Content of a list in its order: (key, text) or (key, content); a bare text has the key ""."""

_STRING = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
_BARE = r'[^\s()"][^\s()]*+'
# Most of a file is `(key text)`, so that is one token. Quantifiers are possessive: a long text
# that does not fit one alternative costs one look, never a search of all its cuts.
_TOKEN: Final = re.compile(
    rf'\(\s*+([^\s()"]++)\s*+(?:({_STRING})|({_BARE}))\s*+\)'
    rf'|\(\s*+([^\s()"]*+)'
    r"|(\))"
    rf"|({_STRING})"
    rf"|({_BARE})"
    r'|(")',
    re.DOTALL,
)
_QUOTED_PAIR, _BARE_PAIR, _OPEN, _CLOSE, _QUOTED, _LONE, _UNENDED = range(2, 9)
_ESCAPE: Final = re.compile(r"\\(.)", re.DOTALL)
_ESCAPED: Final = {"n": "\n", "r": "\r", "t": "\t", '"': '"', "\\": "\\"}


class _Open(NamedTuple):
    """A list that is not closed yet; `line` is right for the outer three levels only."""

    key: str
    start: int
    line: int
    outside: Items


class Element(NamedTuple):
    """One entry of a section, or a section that has closed.

    Parameters
    ----------
    section : str
        Key of the section; "" where the element is itself a section.
    key : str
        Key of the list.
    line : int
        Line of its opening bracket, from 1.
    items : Items
        Its content. Of a section: only what was not handed on as an entry.
    """

    section: str
    key: str
    line: int
    items: Items


def elements(text: str, file: str, root: str) -> Iterator[Element]:
    """Yield the entries of each section, then the section, in the order in which they close.

    Parameters
    ----------
    text : str
        The whole file.
    file : str
        Its path, for errors.
    root : str
        Key that the outermost list must have.

    Yields
    ------
    Element

    Raises
    ------
    InputError
        If the brackets or quotes do not match, lists are nested deeper than `DEEPEST`, or the
        outermost list is another one.
    """
    stack: list[_Open] = []
    frame: Items = []
    counted, line = 0, 1
    for match in _TOKEN.finditer(text):
        kind = match.lastindex
        if kind == _QUOTED_PAIR:
            key, quoted = match.group(1, 2)
            frame.append((key, _unquote(quoted)))
        elif kind == _BARE_PAIR:
            frame.append((match[1], match[3]))
        elif kind == _OPEN:
            start, depth = match.start(), len(stack)
            if depth < 3:
                line += text.count("\n", counted, start)
                counted = start
                if not depth and (frame or match[4] != root):
                    raise _not_begun(file, root, line)
            elif depth >= DEEPEST:
                raise _too_deep(text, file, start)
            stack.append(_Open(match[4], start, line, frame))
            frame = []
        elif kind == _UNENDED:
            raise _unended(text, file, stack, match.start())
        elif not stack:
            raise _not_begun(file, root, _line(text, match.start()))
        elif kind == _CLOSE:
            key, _, opened, parent = stack.pop()
            depth = len(stack)
            if depth > 2:
                parent.append((key, frame))
            elif depth:
                yield Element(stack[1].key if depth == 2 else "", key, opened, frame)
            else:
                _require_end(text, file, match.end())
                return
            frame = parent
        else:
            frame.append(("", _unquote(match[6]) if kind == _QUOTED else match[7]))
    raise _half(text, file, stack) if stack else _not_begun(file, root, 1)


def text_of(value: str | Items) -> str:
    """Return the text of a list: its texts joined by spaces, without the lists inside it.

    >>> text_of([("", "100"), ("name", "x"), ("", "nF")])
    '100 nF'
    """
    if isinstance(value, str):
        return value
    return " ".join(item for key, item in value if not key and isinstance(item, str))


def _unquote(quoted: str) -> str:
    if "\\" not in quoted:
        return quoted[1:-1]
    # Older files leave some backslashes alone; one before another letter is an ordinary one.
    return _ESCAPE.sub(lambda match: _ESCAPED.get(match[1], match[0]), quoted[1:-1])


def _line(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _require_end(text: str, file: str, end: int) -> None:
    """Refuse lists after the outermost one; other trailing text occurs and does no harm."""
    more = text.find("(", end)
    if more >= 0:
        raise InputError(
            file,
            f"the outermost list closes here, but more follows from line {_line(text, more)}",
            "there is one closing bracket too many at or above this line; export the file again",
            _line(text, end),
        )


def _too_deep(text: str, file: str, position: int) -> InputError:
    return InputError(
        file,
        f"lists are nested deeper than {DEEPEST} levels",
        "this is no export of a schematic editor, or it is damaged; export it again",
        _line(text, position),
    )


def _not_begun(file: str, root: str, line: int) -> InputError:
    return InputError(
        file,
        f"this is not an s-expression netlist: it does not begin with ({root}",
        "export the netlist from the schematic editor in its s-expression form",
        line,
    )


def _unended(text: str, file: str, stack: list[_Open], position: int) -> InputError:
    """Place a missing quote: an earlier text over two lines is more likely where it is."""
    for match in re.finditer(_STRING, text[:position], re.DOTALL):
        if "\n" in match[0]:
            position = match.start()
            break
    return InputError(
        file,
        f"a text in quotes begins here and never ends{_inside(text, stack, ', inside ')}",
        "the file is cut off, or was edited by hand; export it again",
        _line(text, position),
    )


def _half(text: str, file: str, stack: list[_Open]) -> InputError:
    return InputError(
        file,
        f"the file ends{_inside(text, stack, ' inside ')}: a closing bracket is missing",
        "this is only part of a netlist; export it again",
        _line(text, stack[-1].start),
    )


def _inside(text: str, stack: list[_Open], lead: str) -> str:
    """Name the entry and the section that are open, each with its line."""
    names = [f"({one.key} of line {_line(text, one.start)}" for one in stack[:3]]
    return lead + " in ".join(reversed(names[1:] or names)) if names else ""
