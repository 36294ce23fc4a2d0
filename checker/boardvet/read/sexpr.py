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

# Quantifiers are possessive: a long text that does not fit one alternative costs one look, never
# a search of all its cuts. Space is taken with the token before it, or the search for the next
# token would try each alternative at each blank.
_STRING = r'"[^"\\]*+(?:\\.[^"\\]*+)*+"'
_ATOM = rf'{_STRING}|[^\s()"][^\s()]*+'
_LEAF = rf'\(\s*+([^\s()"]++)\s*+({_ATOM})?+\s*+\)\s*+'
# Most of a file is `(key (key text) (key text))` and `(key text)`: one token each.
_TOKEN: Final = re.compile(
    rf'(?:\(\s*+([^\s()"]++)\s*+{_LEAF}(?:{_LEAF})?+(?:{_LEAF})?+(?:{_LEAF})?+({_ATOM})?+\s*+\)'
    rf'|\(\s*+([^\s()"]++)\s*+({_ATOM})?+\s*+\)'
    rf'|\(\s*+([^\s()"]*+)'
    r"|(\))"
    rf"|({_ATOM})"
    r'|("))\s*+',
    re.DOTALL,
)
_LAST_OF_FLAT: Final = 10
_LEAF_KEY, _LEAF_TEXT, _OPEN, _CLOSE, _LONE, _UNENDED = range(11, 17)
_LATE: Final = re.compile(r"\(\s*+(?:components|comp|libparts|libpart|libraries|nets|net|node)\b")
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
        kind = match.lastindex or 0
        depth = len(stack)
        if kind <= _LAST_OF_FLAT and depth > 2:
            frame.append((match[1], _flat(match.groups())))
        elif kind == _LEAF_TEXT:
            frame.append((match[11], _plain(match[12])))
        elif kind == _LEAF_KEY:
            frame.append((match[11], ""))
        elif kind <= _OPEN:
            start, key = match.start(), match[13] or match[1] or ""
            if depth < 3:
                line += text.count("\n", counted, start)
                counted = start
                if not depth and (frame or key != root):
                    raise _not_begun(file, root, line)
            elif depth >= DEEPEST:
                raise _too_deep(text, file, start)
            if kind == _OPEN:
                stack.append(_Open(key, start, line, frame))
                frame = []
            elif depth:
                section = stack[1].key if depth == 2 else ""
                yield Element(section, key, line, _flat(match.groups()))
            else:
                _require_end(text, file, match.start() + len(match[0].rstrip()))
                return
        elif kind == _UNENDED:
            raise _unended(text, file, stack, match.start())
        elif not depth:
            raise _not_begun(file, root, _line(text, match.start()))
        elif kind == _CLOSE:
            key, _, opened, outside = stack.pop()
            if depth > 3:
                outside.append((key, frame))
            elif depth > 1:
                yield Element(stack[1].key if depth == 3 else "", key, opened, frame)
            else:
                yield from (Element("", key, opened, []) for key, _ in frame if key)
                _require_end(text, file, match.start() + len(match[0].rstrip()))
                return
            frame = outside
        else:
            frame.append(("", _plain(match[15])))
    raise _half(text, file, stack) if stack else _not_begun(file, root, 1)


def text_of(value: str | Items) -> str:
    """Return the text of a list: its texts joined by spaces, without the lists inside it.

    >>> text_of([("", "100"), ("name", "x"), ("", "nF")])
    '100 nF'
    """
    if isinstance(value, str):
        return value
    return " ".join(item for key, item in value if not key and isinstance(item, str))


def _flat(groups: tuple[str | None, ...]) -> Items:
    """Return the content of a list of up to four `(key text)` and a text."""
    _, key, text, key2, text2, key3, text3, key4, text4, lone, *_ = groups
    items: Items = [(key or "", _plain(text))]
    if key2:
        items.append((key2, _plain(text2)))
        if key3:
            items.append((key3, _plain(text3)))
            if key4:
                items.append((key4, _plain(text4)))
    if lone:
        items.append(("", _plain(lone)))
    return items


def _plain(text: str | None) -> str:
    """Return what an atom says: without its quotes, escapes undone."""
    if not text:
        return ""
    if text[0] != '"':
        return text
    if "\\" not in text:
        return text[1:-1]
    # Older files leave some backslashes alone; one before another letter is an ordinary one.
    return _ESCAPE.sub(lambda match: _ESCAPED.get(match[1], match[0]), text[1:-1])


def _line(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _require_end(text: str, file: str, end: int) -> None:
    """Refuse sections and entries after the outermost list; other text does no harm there."""
    more = _LATE.search(text, end)
    if more:
        raise InputError(
            file,
            f"the outermost list closes here, but more follows from line "
            f"{_line(text, more.start())}",
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
