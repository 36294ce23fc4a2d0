"""The rule type: a function of one subject that gives one verdict.

A rule is one module ``<pack package>/<area>/<rule_id>.py``. Its id is the module's name with
hyphens, its area the folder's name, its page the module's docstring. The type of the first
parameter says which subjects it judges; further parameters name the views it asks, and one may
be the module's own ``Settings``.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Protocol, Self, get_type_hints, runtime_checkable

from boardvet.circuit.handle import Circuit
from boardvet.review.verdict import Clear, Found, Level, Subject

__all__ = ["Rule", "RuleSettings", "SubjectType", "rule"]


@runtime_checkable
class SubjectType(Protocol):
    """A type of subject: it lists its subjects on a board."""

    @classmethod
    def on(cls, circuit: Circuit) -> Sequence[Subject]:
        """Return the subjects of this type, in the order of the board."""


class RuleSettings:
    """Base of a rule's settings: a frozen dataclass whose fields all have a default.

    Annotate each field ``Annotated[float, "m"]`` with its SI unit ("" for a plain number).
    """

    @classmethod
    def default(cls) -> Self:
        """Return the settings with every default."""
        return cls()


@dataclass(frozen=True)
class Rule:
    """A rule, ready to run.

    Parameters
    ----------
    id, area : str
        From the module's path.
    level : Level
        The level it starts at.
    check : callable
        The function, called as ``check(subject, **views)``.
    """

    id: str
    area: str
    level: Level
    check: Callable[..., Found | Clear]

    @property
    def page(self) -> str:
        """The docstring of the module."""
        return inspect.getdoc(sys.modules[self.check.__module__]) or ""

    @property
    def title(self) -> str:
        """The first line of the page."""
        return self.page.partition("\n")[0].rstrip(".")

    def parameters(self) -> tuple[type[SubjectType], dict[str, type[Any]]]:
        """Return the type of the subject and, by name, the types of the further parameters."""
        return _parameters(self.check)


@cache
def _parameters(check: Callable[..., Found | Clear]) -> tuple[type[SubjectType], dict[str, type]]:
    hints = get_type_hints(check)
    names = list(inspect.signature(check).parameters)
    return hints[names[0]], {name: hints[name] for name in names[1:]}


def rule(*, level: Level) -> Callable[[Callable[..., Found | Clear]], Rule]:
    """Make a rule of the function below; id and area come from the module's path."""

    def make(check: Callable[..., Found | Clear]) -> Rule:
        *_, area, name = ("", *check.__module__.split("."))
        return Rule(name.replace("_", "-"), area, level, check)

    return make
