"""What a file is, told from its content alone, and its text whatever its encoding.

Names say little: netlists are called ``.net``, ``.txt`` or ``.xml``, part lists anything at all.
"""

from __future__ import annotations

import codecs
import re
from typing import Final

from boardvet.board import FileKind
from boardvet.errors import InputError
from boardvet.read.netlist import ROOT
from boardvet.read.table import looks_like

__all__ = ["INTENT_KEYS", "decode", "kind_of_text", "recognise"]

_GIVE = (
    "give a netlist in s-expression form, a BOM or placement file as comma-, semicolon- or "
    "tab-separated text, or an intent page"
)
_SPREADSHEET = "save the sheet as CSV and give that file"
_PICTURE = "a picture cannot be read; " + _GIVE
_BINARY: Final = (
    (b"\x89PNG", "a PNG picture", _PICTURE),
    (b"\xff\xd8\xff", "a JPEG picture", _PICTURE),
    (b"GIF8", "a GIF picture", _PICTURE),
    (b"BM", "a BMP picture", _PICTURE),
    (b"II*\0", "a TIFF picture", _PICTURE),
    (b"MM\0*", "a TIFF picture", _PICTURE),
    (b"RIFF", "a picture or sound", _PICTURE),
    (b"%PDF", "a PDF document", "a PDF cannot be read; " + _GIVE),
    (b"PK\x03\x04", "a spreadsheet or an archive", _SPREADSHEET + ", or unpack the archive"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet of an old form", _SPREADSHEET),
    (b"\x1f\x8b", "a compressed file", "unpack it first"),
    (b"7z\xbc\xaf", "an archive", "unpack it first"),
    (b"\x7fELF", "a program", _GIVE),
)
_CONTROL: Final = bytes(set(range(32)) - set(b"\t\n\v\f\r\x1a\x1b"))

INTENT_KEYS: Final = frozenset(
    {
        "board",
        "boards",
        "cell",
        "columns",
        "exports",
        "facts",
        "house_rules",
        "modes",
        "near",
        "nets",
        "parts",
        "pattern",
        "run_time",
        "settings",
        "sources",
        "temperature",
        "waivers",
    }
)
"""Top-level keys of an intent page; one of them, correctly written, is enough to know one."""

_NETLIST: Final = re.compile(rf"\s*\(\s*{ROOT}[\s()]")
_TEST_POINT: Final = re.compile(
    r"^(?:P  (?:CODE|UNITS|JOB|VER)\b|3[0-9]7.{17,}X[+-]?\d+ ?Y[+-]?\d)", re.MULTILINE
)
_OUTER_LINE: Final = re.compile(r"^[^\s#%}\]].*", re.MULTILINE)
_YAML_KEY: Final = re.compile(r"""["']?([\w-]+)["']?\s*:(?:\s|$)""")
_FACTS_ENTRY: Final = re.compile(r"^-\s+(?:\{\s*)?(?:match|kind|source)\s*:", re.MULTILINE)
_SAMPLE: Final = 200_000


def recognise(data: bytes, path: str) -> FileKind:
    """Return what a file is.

    Parameters
    ----------
    data : bytes
        Its content.
    path : str
        Its path as the user gave it, for errors only.

    Returns
    -------
    FileKind

    Raises
    ------
    InputError
        If it is empty, not text, or a text that is none of the kinds.

    Examples
    --------
    >>> recognise(b"(export (version E))", "any.name")
    <FileKind.NETLIST: 'netlist'>
    """
    return kind_of_text(decode(data, path), path)


def kind_of_text(text: str, path: str) -> FileKind:
    """Return what a decoded text is; see `recognise`."""
    if _NETLIST.match(text):
        return FileKind.NETLIST
    if _TEST_POINT.search(text, 0, _SAMPLE):
        return FileKind.TEST_POINTS
    sample = text[:_SAMPLE]
    lines = [match[0] for match in _OUTER_LINE.finditer(sample) if match[0].strip("-. ")]
    keys = [match[1] for match in map(_YAML_KEY.match, lines) if match]
    known = not INTENT_KEYS.isdisjoint(keys)
    if known and len(keys) == len(lines):
        return FileKind.INTENT
    if _FACTS_ENTRY.search(sample) and all(line.startswith("-") for line in lines):
        return FileKind.FACTS
    table = looks_like(text)
    if table:
        return FileKind(table)
    if known and 2 * len(keys) > len(lines):
        # An intent page with a slip in it: its own reader says where.
        return FileKind.INTENT
    raise _none_of_the_kinds(text, path)


def decode(data: bytes, path: str) -> str:
    """Return the text of a file, lines ended by a line feed, without a byte-order mark.

    UTF-8 and UTF-16 with or without the mark; what is neither is taken as Western 8-bit
    (Windows-1252). A byte without a meaning becomes U+FFFD: that keeps all that is ASCII, and
    designators and values are.

    Parameters
    ----------
    data : bytes
        The file.
    path : str
        Its path as the user gave it, for errors only.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If it is empty or not text.

    Examples
    --------
    >>> decode("0.1 µF".encode("utf-16"), "x"), decode("0.1 µF".encode("cp1252"), "x")
    ('0.1 µF', '0.1 µF')
    """
    text = _decoded(data, path)
    if not text.strip("\ufeff \t\r\n\f\v\x1a"):
        raise InputError(path, "the file is empty", "export it again")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _decoded(data: bytes, path: str) -> str:
    for mark in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        if data.startswith(mark):
            return data.decode("utf-16", "replace")
    wide = _wide(data)
    if wide:
        return data.decode(wide, "replace")
    _refuse_binary(data, path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        damaged = data.decode("utf-8-sig", "replace")
    broken = damaged.count("\ufffd")
    beyond_ascii = len(damaged) - len(damaged.encode("ascii", "ignore"))
    # A few broken bytes among whole UTF-8 letters are damage, not another encoding.
    return damaged if beyond_ascii > 2 * broken else data.decode("cp1252", "replace")


def _wide(data: bytes) -> str | None:
    """Tell UTF-16 without a byte-order mark: in plain text every other byte is zero."""
    head = data[:4096]
    half = len(head) // 2
    if half < 2:
        return None
    first, second = head[0::2].count(0), head[1::2].count(0)
    if second > 0.6 * half and not first:
        return "utf-16-le"
    return "utf-16-be" if first > 0.6 * half and not second else None


def _refuse_binary(data: bytes, path: str) -> None:
    controls = len(data) - len(data.translate(None, _CONTROL))
    for begin, what, do in _BINARY:
        # Two letters may begin a text too; a picture has control characters as well.
        if data.startswith(begin) and (controls or len(begin) > 3):
            raise InputError(path, f"this is {what}, not an export", do)
    if 0 in data or controls * 100 > len(data):
        raise InputError(path, "this is a binary file, not text", _GIVE)


def _none_of_the_kinds(text: str, path: str) -> InputError:
    begin = text.lstrip()
    if begin.startswith("("):
        what = f"this is a bracketed list, but no netlist: it does not begin with ({ROOT}"
        do = "drawings and layouts are not read; export the netlist in s-expression form"
    elif begin.startswith("<"):
        what = "this is XML or HTML, which is not read"
        do = _GIVE
    else:
        what = (
            "this text is none of the files that are read: it does not begin as a netlist, no "
            "line has the headings of a BOM or placement file, and it has no key of an intent page"
        )
        do = (
            _GIVE + "; for a table with other headings, say under `columns` in the intent page "
            "which is which"
        )
    return InputError(path, what, do)
