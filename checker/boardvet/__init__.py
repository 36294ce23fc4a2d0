"""boardvet: pre-order review of small battery boards.

`read`, `circuit` and `review` take folders, intent pages or exports; `rule` and `Pack` are for
those who write rules. The heavy modules behind them are loaded when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from boardvet._version import __version__

if TYPE_CHECKING:
    from boardvet.api import circuit, read, review
    from boardvet.review.packs import Pack
    from boardvet.review.rule import rule

__all__ = ["Pack", "__version__", "circuit", "read", "review", "rule"]

_LATE = {
    "circuit": "boardvet.api",
    "read": "boardvet.api",
    "review": "boardvet.api",
    "Pack": "boardvet.review.packs",
    "rule": "boardvet.review.rule",
}


def __getattr__(name: str) -> object:
    if name in _LATE:
        return getattr(import_module(_LATE[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
