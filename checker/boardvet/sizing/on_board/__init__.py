"""Sizing on a board: which subjects a calculation has there, and what each would need.

One module a calculation, of the same name. It has ``GIVEN``, the inputs that the command line may
state besides what the board says, and ``find(circuit, given)``, which yields a `Sized` or a
`NotSized` a subject. Every value is put back into the board and solved before it is suggested.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from boardvet.circuit.handle import Circuit
    from boardvet.sizing.on_board._outcome import Outcome

__all__ = ["find", "given_on_board", "names"]


def names() -> tuple[str, ...]:
    """Return the calculations that can be done on a board, sorted.

    Examples
    --------
    >>> "led" in names()
    True
    """
    found = (m.name for m in pkgutil.iter_modules(__path__) if not m.name.startswith("_"))
    return tuple(sorted(found))


def given_on_board(name: str) -> tuple[str, ...]:
    """Return the inputs of a calculation that may be stated for a board."""
    found: tuple[str, ...] = import_module(f"{__name__}.{name}").GIVEN
    return found


def find(name: str, circuit: Circuit, given: Mapping[str, object]) -> Iterator[Outcome]:
    """Yield what each subject of a calculation on a board would need.

    Parameters
    ----------
    name : str
        Of the calculation.
    circuit : Circuit
        The board.
    given : mapping of str to value
        What the command line states, as the inputs of the calculation are read.
    """
    found: Iterator[Outcome] = import_module(f"{__name__}.{name}").find(circuit, given)
    yield from found
