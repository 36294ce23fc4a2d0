"""The intent page: what the designer knows, wants and accepts.

Importing this package is cheap: the YAML library is loaded when a page is read, pydantic only for
the JSON schema.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from boardvet.intent.check import check_against, check_settings, net_keys, read_settings
from boardvet.intent.types import (
    Intent,
    Mode,
    PatternEntry,
    StatedCell,
    StatedSource,
    StatedWaiver,
)

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "Intent",
    "Mode",
    "PatternEntry",
    "StatedCell",
    "StatedSource",
    "StatedWaiver",
    "check_against",
    "check_settings",
    "net_keys",
    "parse_intent",
    "read_intent",
    "read_settings",
]


def read_intent(path: Path) -> Intent:
    """Read an intent page from a file; see `boardvet.intent.reader.read_intent`."""
    from boardvet.intent.reader import read_intent as read

    return read(path)


def parse_intent(text: str, file: str = "boardvet.yaml") -> Intent:
    """Read an intent page from a text; see `boardvet.intent.reader.parse_intent`."""
    from boardvet.intent.reader import parse_intent as parse

    return parse(text, file)
