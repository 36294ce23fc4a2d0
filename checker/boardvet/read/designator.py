"""The reference designators of one cell: groups and ranges written out."""

from __future__ import annotations

import re

__all__ = ["LONGEST_RANGE", "RangeTooLong", "looks_like_designator", "read_designators"]

LONGEST_RANGE = 10_000
"""A range of more parts is taken for a mistake."""

_SEPARATORS = re.compile(r"[\s,;]+")
_RANGE_SIGN = re.compile(r"[-–—−~….]|\s(?:to|bis|thru|through)\s")
_LOOSE_RANGE = re.compile(
    r"(?<=\d)(?:\s*(-|–|—|−|~|…|\.{2,3})\s*|\s+(?:to|bis|thru|through)\s+)(?=[^\s\d,;]{1,50}\d)"
)
_RANGE = re.compile(r"(?P<letters>.*[^\W\d]|.*_)(?P<low>\d+)(?:-|\.\.)(?P=letters)(?P<high>\d+)")
_PLAIN = re.compile(r"([A-Za-z]+)\d+")
_USUAL = re.compile(
    r"(?:A|AE|AMP|ANT|B|BAT|BT|BZ|C|CN|CON|CR|D|DA|DD|DS|F|FB|FID|FL|G|H|HL|IC|J|JP|K|KK|L|LCD|LD"
    r"|LED|LS|M|MH|MIC|MK|MOD|MOT|MP|NTC|OSC|P|PCB|Q|R|RE|REL|RN|RT|RV|S|SP|SW|T|TH|TP|TR|U|USB"
    r"|V|VD|VR|VT|W|X|XTAL|Y|Z|ZD)\d{1,4}[A-Za-z]?(?![\w.])"
)
_NONE = frozenset({"", "-", "--", "~", "n/a", "na", "none", "?"})


class RangeTooLong(ValueError):
    """A range of designators beyond `LONGEST_RANGE`; its argument is the text of the range."""


def read_designators(cell: str) -> list[str]:
    """Return the designators of a cell, in its order.

    They are parted by commas, semicolons, white space, or by slashes where every piece has the
    same letters ("R1/R2"). A range needs the same letters at both ends and a number that does
    not fall; anything else with a hyphen is one designator (`USB-UART1`).

    Parameters
    ----------
    cell : str
        "C1, C2", "C1 C3 ", "R1-R4", "R1..R4", "R1 to R4", "C3-C5,C8".

    Returns
    -------
    list of str
        As written; place holders such as ``REF**`` are left out.

    Raises
    ------
    RangeTooLong
        If a range has more than `LONGEST_RANGE` designators.

    Examples
    --------
    >>> read_designators("C3-C5, C8, USB-UART1, ")
    ['C3', 'C4', 'C5', 'C8', 'USB-UART1']
    """
    found: list[str] = []
    if cell.isalnum() and cell.casefold() not in _NONE:
        return [cell]
    if _RANGE_SIGN.search(cell):
        cell = _LOOSE_RANGE.sub(lambda match: ".." if match[1] != "-" else "-", cell)
    for token in _SEPARATORS.split(cell):
        if "*" in token or token.casefold() in _NONE:
            continue
        if token.isalnum():
            found.append(token)
        else:
            found.extend(_compound(token))
    return found


def _compound(token: str) -> list[str]:
    """Write out one token with punctuation in it."""
    if len(token) > 100:
        return [token]
    match = _RANGE.fullmatch(token)
    if match:
        return _written_out(token, match["letters"], match["low"], match["high"])
    pieces = token.split("/")
    plain = [_PLAIN.fullmatch(piece) for piece in pieces]
    if len(pieces) > 1 and len({match and match[1] for match in plain}) == 1 and plain[0]:
        return pieces
    return [token]


def _written_out(token: str, letters: str, low: str, high: str) -> list[str]:
    """Write out a range; leading zeros are kept where both ends have the same width."""
    first, last = int(low), int(high)
    if last < first:
        return [token]
    if last - first >= LONGEST_RANGE:
        raise RangeTooLong(token)
    width = len(low) if len(low) == len(high) else 0
    return [f"{letters}{number:0{width}}" for number in range(first, last + 1)]


def looks_like_designator(cell: str) -> bool:
    """Tell whether a cell begins with a designator of the usual letters.

    Only for telling columns apart: a board may use any letters.

    Examples
    --------
    >>> looks_like_designator("C1, C2"), looks_like_designator("LM358"), looks_like_designator("7")
    (True, False, False)
    """
    return _USUAL.match(cell) is not None
