"""Sizing: the value that gives what is wanted, with its sum, one module a calculation.

A calculation is a module of this package without an underscore in front. It has a
``CALCULATION``: a frozen dataclass of its inputs, each `Annotated` with an `Input`, and a pure
function from them to an `Answer`. Help, reading, messages and tests all come from these. A module
of the same name in `boardvet.sizing.on_board` says which subjects of a board it is for.
"""

from __future__ import annotations

import pkgutil
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from boardvet.sizing._calculation import Calculation

__all__ = ["calculation", "names"]


def names() -> tuple[str, ...]:
    """Return the names of all calculations, sorted.

    Examples
    --------
    >>> "led" in names()
    True
    """
    found = (m.name for m in pkgutil.iter_modules(__path__) if not m.ispkg)
    return tuple(sorted(name for name in found if not name.startswith("_")))


def calculation(name: str) -> Calculation[Any]:
    """Return the calculation of a name; `KeyError` if there is none."""
    if name not in names():
        raise KeyError(name)
    found: Calculation[Any] = import_module(f"{__name__}.{name}").CALCULATION
    return found
